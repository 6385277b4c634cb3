//! The drilling template: the wall that carries the fixings, laid flat at 1:1 with the place of each hole.

use super::drawing::{Anchor, Drawing, Ink, Line, NOTE_MM, TITLE_MM, hatch};
use super::paging::check_bar;
use crate::gap::Front;
use crate::math::{Point2, Spine, Vector2};
use crate::panel::Panel;
use crate::panel::fixings::{BoreIn, FixingKind, FlatFixings, lay_flat};
use std::f64::consts::TAU;

/// Paper left round the shape (mm): sides and top, and under it for the lettering.
const SIDE: f64 = 16.0;
const UNDER: f64 = 46.0;
/// Room the lettering takes, and the arrows beside it (mm).
const BLOCK: f64 = 165.0;
const ARROWS: f64 = 32.0;
/// Spacing of the station ticks (mm), and their length.
const TICK: f64 = 50.0;
const TICK_LONG: f64 = 4.0;
/// Half the length of a centre mark's lines (mm), and the free middle for a punch.
const CROSS: f64 = 7.0;

/// What the template is of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Subject<'a> {
    pub name: &'a str,
    pub panel: &'a Panel,
    pub spine: &'a Spine,
    pub front: Option<Front>,
}

/// The template; `None` where nothing is drilled beside the panel.
pub(super) fn draw(of: Subject<'_>) -> Option<Drawing> {
    let first = of.panel.fixings.first()?;
    let mate = first.bores().into_iter().find(|b| b.into != BoreIn::Panel);
    let flat = lay_flat(of.panel, of.spine)?;
    let all = || flat.near.iter().chain(&flat.far);
    let low = all().fold(Vector2::repeat(f64::INFINITY), |a, p| a.inf(&p.coords));
    let high = all().fold(Vector2::repeat(f64::NEG_INFINITY), |a, p| a.sup(&p.coords));
    let size = high - low + Vector2::new(2.0 * SIDE, SIDE + UNDER);
    let width = size.x.max(BLOCK + ARROWS);
    let mut drawing = Drawing::new(format!("{}: drilling template", of.name), [width, size.y]);
    let move_by = Vector2::new(SIDE, UNDER) - low;
    reliefs(&mut drawing, of.panel, &flat, move_by);
    let mut outline: Vec<Point2> = flat.near.iter().map(|p| p + move_by).collect();
    outline.extend(flat.far.iter().rev().map(|p| p + move_by));
    drawing.outline(outline, Line::Wide, Ink::Plain);
    ticks(&mut drawing, &flat, move_by);
    for (hole, fixing) in flat.holes.iter().zip(&of.panel.fixings) {
        let drilled = fixing.bores().into_iter().find(|b| b.into != BoreIn::Panel);
        let round = drilled.filter(|b| b.word() == "hole").map(|b| b.width_mm);
        let outline = hole.outline.iter().map(|p| p + move_by).collect();
        let slot = if fixing.kind.slots_the_panel() {
            Line::Dashed
        } else {
            Line::Wide
        };
        drawing.outline(outline, slot, Ink::Plain);
        centre(&mut drawing, hole.set + move_by, round);
        let at = hole.set + move_by + Vector2::new(4.5, 4.5);
        drawing.text(
            at,
            Anchor::Start,
            NOTE_MM,
            Ink::Accent,
            fixing.number.to_string(),
        );
    }
    let heading = heading(&of, &flat);
    arrows(&mut drawing, heading, width);
    lettering(&mut drawing, &of, first.kind, mate.map(|b| b.width_mm));
    Some(drawing)
}

/// A cross with a free middle and the circle to drill, where there is a round one.
fn centre(drawing: &mut Drawing, at: Point2, width: Option<f64>) {
    for way in [Vector2::x(), Vector2::y()] {
        for end in [way, -way] {
            drawing.stroke(
                vec![at + end * 0.5, at + end * CROSS],
                Line::Narrow,
                Ink::Accent,
            );
        }
    }
    if let Some(width) = width {
        let circle = (0..48)
            .map(|k| TAU * f64::from(k) / 48.0)
            .map(|a| at + Vector2::new(a.cos(), a.sin()) * (0.5 * width));
        drawing.outline(circle.collect(), Line::Narrow, Ink::Accent);
    }
}

/// Where the flange is cut away, something stands on the tray: the paper is cut away too.
fn reliefs(drawing: &mut Drawing, panel: &Panel, flat: &FlatFixings, move_by: Vector2) {
    if !matches!(
        panel.fixings.first().map(|f| f.kind),
        Some(FixingKind::ScrewIntoTray | FixingKind::StudInTray)
    ) {
        return;
    }
    for relief in &panel.reliefs {
        let [a, b] = relief.along;
        let inner = flat.along.iter().copied().filter(|s| *s > a && *s < b);
        let rungs: Vec<[Point2; 2]> = std::iter::once(a)
            .chain(inner)
            .chain(std::iter::once(b))
            .filter_map(|s| flat.rung(s))
            .collect();
        let mut outline: Vec<Point2> = rungs.iter().map(|[near, _]| near + move_by).collect();
        outline.extend(rungs.iter().rev().map(|[_, far]| far + move_by));
        for line in hatch(&outline, 3.0) {
            drawing.stroke(line.to_vec(), Line::Narrow, Ink::Faint);
        }
        drawing.outline(outline, Line::Dashed, Ink::Plain);
    }
}

fn ticks(drawing: &mut Drawing, flat: &FlatFixings, move_by: Vector2) {
    let (Some(first), Some(last)) = (flat.along.first(), flat.along.last()) else {
        return;
    };
    let from = (first / TICK).ceil() as i64;
    let to = (last / TICK).floor() as i64;
    for k in from..=to {
        let s = k as f64 * TICK;
        let Some([near, far]) = flat.rung(s).map(|pair| pair.map(|p| p + move_by)) else {
            continue;
        };
        let Some(up) = (far - near).try_normalize(1e-9) else {
            continue;
        };
        for (end, way) in [(near, up), (far, -up)] {
            drawing.stroke(vec![end, end + way * TICK_LONG], Line::Narrow, Ink::Plain);
        }
        let at = near - up * (NOTE_MM + 1.5) - Vector2::new(0.0, 0.5 * NOTE_MM);
        drawing.text(at, Anchor::Middle, 2.0, Ink::Plain, format!("{s:.0}"));
    }
}

/// The ways to the outside and to the front on the paper, at the middle of the pattern. A wall that stands
/// upright shows the front only where it runs along the gap.
fn heading(of: &Subject<'_>, flat: &FlatFixings) -> [Option<Vector2>; 2] {
    let middle = flat.along.get(flat.along.len() / 2).copied().unwrap_or(0.0);
    let frame = of.spine.frame_at(middle);
    let Some(up) = flat
        .rung(middle)
        .and_then(|[near, far]| (far - near).try_normalize(1e-9))
    else {
        return [None, None];
    };
    let right = Vector2::new(up.y, -up.x);
    let ahead = of.front.map(Front::direction);
    let lies_flat = of
        .panel
        .fixings
        .first()
        .is_some_and(|fixing| fixing.axis.z.abs() > 0.5);
    if lies_flat {
        let front = ahead.map(|way| right * way.dot(&frame.along) - up * way.dot(&frame.outward));
        [Some(-up), front]
    } else {
        let front = ahead
            .map(|way| way.dot(&frame.along))
            .filter(|share| share.abs() > 0.7)
            .map(|share| right * share.signum());
        [None, front]
    }
}

fn arrows(drawing: &mut Drawing, [outside, front]: [Option<Vector2>; 2], width: f64) {
    let middles = [(outside, "OUTSIDE"), (front, "FRONT")];
    for (k, (way, word)) in middles.into_iter().enumerate() {
        let Some(way) = way.and_then(|way| way.try_normalize(1e-9)) else {
            continue;
        };
        let at = Point2::new(width - 10.0 - 18.0 * k as f64, 18.0);
        drawing.arrow(at - way * 6.0, at + way * 6.0, Ink::Accent);
        let under = Point2::new(at.x, 5.0);
        drawing.text(under, Anchor::Middle, 2.0, Ink::Accent, word);
    }
}

fn lettering(drawing: &mut Drawing, of: &Subject<'_>, kind: FixingKind, drill: Option<f64>) {
    let lines = words(kind, drill);
    let base = UNDER - 18.0;
    let at = |line: usize| Point2::new(SIDE, base - 4.5 * line as f64);
    let title = format!("{}: drilling template, 1:1", of.name);
    drawing.text(at(0), Anchor::Start, TITLE_MM, Ink::Plain, title);
    for (k, line) in lines.iter().enumerate() {
        drawing.note(at(k + 1), Anchor::Start, line.as_str());
    }
    check_bar(drawing, at(lines.len() + 1) - Vector2::new(0.0, 1.5));
}

/// How the paper lies, what its marks are, and how to print it.
fn words(kind: FixingKind, drill: Option<f64>) -> [String; 3] {
    let lies = match kind {
        FixingKind::ScrewIntoTray | FixingKind::StudInTray => {
            "Lay it on the tray, this side up: outside of the panel's foot along the lower line. Hatched: cut the paper out."
        }
        FixingKind::ScrewThroughSkin | FixingKind::InsertInLip | FixingKind::StudOnSkin => {
            "Hold it to the skin over the fitted panel, this side out: lower line along the panel's shoulder."
        }
        FixingKind::StudOnPanel => {
            "Lay it on the outside of the face, this side out: foot along the lower line."
        }
    };
    let marks = match (kind, drill) {
        (FixingKind::ScrewIntoTray | FixingKind::StudInTray, Some(mm)) => {
            format!(
                "Cross: drill {mm} mm for the rivet nut or stud, by its own data sheet. Dashed: the panel's slot."
            )
        }
        (FixingKind::ScrewThroughSkin, Some(mm)) => {
            format!("Cross: drill {mm} mm. Dashed: the slot in the panel's lip.")
        }
        (FixingKind::InsertInLip, Some(mm)) => {
            format!("Thick: slot in the skin, {mm} mm wide. Cross: the screw as set.")
        }
        (FixingKind::StudOnSkin, _) => {
            "Cross: stud on the skin's back. Dashed: the slot in the panel's lip.".to_owned()
        }
        _ => "Cross: stud on the hidden side. Thick: slot in the bracket.".to_owned(),
    };
    let print =
        "Numbers: fixings. Ticks: stations, mm. Print at actual size (100 %); this bar is 100 mm:";
    [lies.to_owned(), marks, print.to_owned()]
}
