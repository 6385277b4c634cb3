//! Where the fixings go: the wall that carries them drawn out straight in rows, and one of them in section.

use super::WIDTH_MM;
use crate::math::{Point2, Spine, Vector2};
use crate::output::drawing::{Anchor, Drawing, Ink, Line, NOTE_MM, Scale, TITLE_MM, hatch};
use crate::panel::fixings::{Fixing, FixingKind, FlatFixings, lay_flat};
use crate::panel::{Panel, Relief, Section};
use std::f64::consts::{PI, TAU};

/// Paper beside the rows, above and under them (mm).
const SIDE_MM: f64 = 8.0;
const ABOVE_MM: f64 = 22.0;
const BELOW_MM: f64 = 12.0;
/// Most of the panel in a row (mm), and paper from one row to the next beside the wall itself (mm).
const ROW_MM: f64 = 500.0;
const BETWEEN_MM: f64 = 15.0;
/// How far an axis is drawn past what sits on it (mm).
const AXIS_MM: f64 = 2.0;
/// Paper of the section (mm).
const SECTION_MM: [f64; 2] = [110.0, 75.0];

/// Both drawings; none for a panel without fixings.
pub(super) fn draw(panel: &Panel, spine: &Spine, joints: &[f64]) -> Vec<(&'static str, Drawing)> {
    let mut found = Vec::new();
    if let Some(flat) = lay_flat(panel, spine) {
        found.push(("fixings", rows(panel, &flat, joints)));
    }
    if let Some(fixing) = panel.fixings.get(panel.fixings.len() / 2) {
        found.push(("fixing_section", in_section(panel, spine, fixing)));
    }
    found
}

/// How wide the wall is at an arc length (mm).
fn width(flat: &FlatFixings, s: f64) -> f64 {
    flat.rung(s).map_or(0.0, |[near, far]| (far - near).norm())
}

/// From the near edge of the wall to the middle of a fixing (mm).
fn across(flat: &FlatFixings, fixing: &Fixing) -> f64 {
    match fixing.kind {
        FixingKind::StudOnPanel => width(flat, fixing.s) - fixing.from_face_mm,
        _ => fixing.from_face_mm,
    }
}

struct Row {
    from: f64,
    to: f64,
    scale: Scale,
    /// Where its near edge begins on paper.
    at: Point2,
}

impl Row {
    fn place(&self, s: f64, across: f64) -> Point2 {
        self.at
            + Vector2::new(
                self.scale.to_paper(s - self.from),
                self.scale.to_paper(across),
            )
    }

    fn holds(&self, s: f64) -> bool {
        (self.from..=self.to).contains(&s)
    }
}

fn rows(panel: &Panel, flat: &FlatFixings, joints: &[f64]) -> Drawing {
    let title = "Fixings along the panel";
    let (Some(&first), Some(&last)) = (flat.along.first(), flat.along.last()) else {
        return Drawing::new(title, [WIDTH_MM, ABOVE_MM]);
    };
    let count = ((last - first) / ROW_MM).ceil().max(1.0);
    let long = (last - first) / count;
    let scale = Scale::fitting(long, WIDTH_MM - 2.0 * SIDE_MM);
    let widest = flat
        .along
        .iter()
        .map(|&s| width(flat, s))
        .fold(1.0, f64::max);
    let pitch = scale.to_paper(widest) + BETWEEN_MM;
    let height = ABOVE_MM + BELOW_MM + pitch * count;
    let mut drawing = Drawing::new(title, [WIDTH_MM, height]);
    let left = |y: f64| Point2::new(SIDE_MM, y);
    drawing.text(
        left(height - 5.0),
        Anchor::Start,
        TITLE_MM,
        Ink::Plain,
        title,
    );
    let seen = match panel.fixings.first().map(|f| f.kind) {
        Some(FixingKind::ScrewIntoTray | FixingKind::StudInTray) => {
            "The flange seen from above, drawn out straight; outside of the panel below, your left at the left."
        }
        _ => "The wall that carries them seen from outside, drawn out straight; its foot below.",
    };
    drawing.note(left(height - 9.5), Anchor::Start, seen);
    let key = "Over each its number, under it its station; dash-dot: cuts between segments; hatched: cut away.";
    drawing.note(left(height - 13.5), Anchor::Start, key);
    for k in 0..count as usize {
        let from = first + long * k as f64;
        let row = Row {
            from,
            to: from + long,
            scale,
            at: left(height - ABOVE_MM - pitch * (k + 1) as f64 + 0.5 * BETWEEN_MM),
        };
        draw_row(&mut drawing, panel, flat, joints, &row);
    }
    drawing.scale_bar(left(3.0), scale, 40.0);
    drawing
}

fn draw_row(drawing: &mut Drawing, panel: &Panel, flat: &FlatFixings, joints: &[f64], row: &Row) {
    let inner = flat
        .along
        .iter()
        .copied()
        .filter(|s| *s > row.from && *s < row.to);
    let places: Vec<f64> = std::iter::once(row.from)
        .chain(inner)
        .chain(std::iter::once(row.to))
        .collect();
    let near: Vec<Point2> = places.iter().map(|&s| row.place(s, 0.0)).collect();
    let far: Vec<Point2> = places
        .iter()
        .map(|&s| row.place(s, width(flat, s)))
        .collect();
    let level = |s: f64, over: f64| row.place(s, width(flat, s)) + Vector2::new(0.0, over);
    let on_tray = panel
        .fixings
        .iter()
        .any(|f| matches!(f.kind, FixingKind::ScrewIntoTray | FixingKind::StudInTray));
    for relief in panel.reliefs.iter().filter(|_| on_tray) {
        cut_away(drawing, flat, row, relief);
    }
    drawing.stroke(near, Line::Wide, Ink::Plain);
    drawing.stroke(far, Line::Wide, Ink::Plain);
    for s in [row.from, row.to] {
        let ends = flat.along.first() == Some(&s)
            || flat.along.last().is_some_and(|l| (l - s).abs() < 1e-6);
        let line = if ends { Line::Wide } else { Line::Narrow };
        drawing.stroke(vec![row.place(s, 0.0), level(s, 0.0)], line, Ink::Plain);
    }
    for &s in joints.iter().filter(|s| row.holds(**s)) {
        let cut = vec![row.place(s, 0.0) - Vector2::new(0.0, 2.0), level(s, 2.0)];
        drawing.stroke(cut, Line::Chain, Ink::Plain);
    }
    for fixing in panel.fixings.iter().filter(|f| row.holds(f.s)) {
        let middle = row.place(fixing.s, across(flat, fixing));
        let set = middle + Vector2::new(row.scale.to_paper(fixing.set_mm), 0.0);
        let width = if fixing.kind.slots_the_panel() {
            fixing.hole_mm
        } else {
            fixing.mate_hole_mm
        };
        let radius = row.scale.to_paper(0.5 * width);
        let half = row.scale.to_paper(0.5 * (fixing.slot_mm - width));
        drawing.outline(capsule(middle, half, radius), Line::Narrow, Ink::Plain);
        for way in [Vector2::x(), Vector2::y()] {
            let reach = way * (radius + 1.2);
            drawing.stroke(vec![set - reach, set + reach], Line::Narrow, Ink::Accent);
        }
        let over = level(fixing.s, 1.2);
        drawing.text(
            over,
            Anchor::Middle,
            NOTE_MM,
            Ink::Accent,
            fixing.number.to_string(),
        );
        let under = row.place(fixing.s, 0.0) - Vector2::new(0.0, NOTE_MM + 1.2);
        drawing.note(under, Anchor::Middle, format!("{:.0}", fixing.s));
    }
}

fn cut_away(drawing: &mut Drawing, flat: &FlatFixings, row: &Row, relief: &Relief) {
    let [a, b] = relief.along;
    let (a, b) = (a.max(row.from), b.min(row.to));
    if a >= b {
        return;
    }
    let corners = vec![
        row.place(a, 0.0),
        row.place(b, 0.0),
        row.place(b, width(flat, b)),
        row.place(a, width(flat, a)),
    ];
    for line in hatch(&corners, 1.0) {
        drawing.stroke(line.to_vec(), Line::Narrow, Ink::Faint);
    }
}

/// A slot's outline on paper: two half circles, their middles `half` either way.
fn capsule(middle: Point2, half: f64, radius: f64) -> Vec<Point2> {
    let arc = |from: f64, x: f64| {
        (0..=16).map(move |k| {
            let a = from + PI * f64::from(k) / 16.0;
            middle + Vector2::new(x + radius * a.cos(), radius * a.sin())
        })
    };
    arc(-0.25 * TAU, half)
        .chain(arc(0.25 * TAU, -half))
        .collect()
}

/// A part of a fixing along its axis: from and to over the panel's side that lies against tray or body,
/// half its width (mm), and its name.
struct Part {
    span: [f64; 2],
    half: f64,
    name: &'static str,
}

/// What a fixing is made of, from what the panel is fixed to into the panel.
fn parts(fixing: &Fixing) -> Vec<Part> {
    let screw = fixing.screw;
    let (wall, washer) = (fixing.wall_mm, screw.washer_thickness());
    let thread = 0.5 * screw.diameter();
    let part = |from: f64, to: f64, half: f64, name| Part {
        span: [from, to],
        half,
        name,
    };
    let nut = |from: f64| {
        let end = from + screw.nut_height();
        part(from, end, 0.5 * screw.nut_width(), "locking nut")
    };
    let head_from = |from: f64| {
        let end = from + screw.head_height();
        part(from, end, 0.5 * screw.head_diameter(), "head")
    };
    let disc = |from: f64| part(from, from + washer, 0.5 * fixing.washer_mm, "washer");
    let proud = wall + washer + screw.nut_height() + screw.two_threads();
    match fixing.kind {
        FixingKind::ScrewIntoTray => {
            let under = wall + washer;
            let tip = under - fixing.screw_length().unwrap_or(under);
            vec![
                part(
                    -screw.blind_end(),
                    0.0,
                    0.5 * screw.rivet_hole(),
                    "rivet nut",
                ),
                part(tip, under, thread, "screw"),
                disc(wall),
                head_from(under),
            ]
        }
        FixingKind::StudInTray => vec![
            part(
                -screw.blind_end(),
                0.0,
                0.5 * screw.rivet_hole(),
                "rivet stud",
            ),
            part(0.0, proud, thread, "stud"),
            disc(wall),
            nut(wall + washer),
        ],
        FixingKind::ScrewThroughSkin => {
            let head = -fixing.mate_mm - washer;
            let length = fixing.screw_length().unwrap_or_default();
            vec![
                head_from(head - screw.head_height()),
                part(head, head + length, thread, "screw"),
                disc(wall),
                nut(wall + washer),
            ]
        }
        FixingKind::StudOnSkin => {
            let back = fixing.skin_mm - fixing.mate_mm;
            vec![
                part(back - 1.0, back, 10.0, "plate, bonded"),
                part(back, proud, thread, "stud"),
                disc(wall),
                nut(wall + washer),
            ]
        }
        FixingKind::InsertInLip => {
            let head = -fixing.mate_mm - washer;
            let length = fixing.screw_length().unwrap_or_default();
            vec![
                head_from(head - screw.head_height()),
                part(
                    0.0,
                    screw.insert_length(),
                    0.5 * screw.insert_hole(),
                    "insert",
                ),
                part(head, head + length, thread, "screw"),
            ]
        }
        FixingKind::StudOnPanel => vec![
            part(wall, wall + 1.5, 0.5 * fixing.washer_mm, "plate, bonded"),
            part(wall + 1.5, wall + fixing.head_mm, thread, "stud"),
        ],
    }
}

fn in_section(panel: &Panel, spine: &Spine, fixing: &Fixing) -> Drawing {
    let title = format!(
        "Fixing {} in section, station {:.0} mm",
        fixing.number, fixing.s
    );
    let frame = spine.frame_at(fixing.s);
    let near = |a: f64, b: f64| (a - fixing.s).abs().total_cmp(&(b - fixing.s).abs());
    let outline = panel
        .sections
        .iter()
        .min_by(|a, b| near(a.s, b.s))
        .map(Section::whole)
        .unwrap_or_default();
    let foot = frame.to_section(fixing.fastener());
    let axis = Vector2::new(fixing.axis.dot(&frame.outward), fixing.axis.z);
    let side = Vector2::new(axis.y, -axis.x);
    let parts = parts(fixing);
    let corners = |part: &Part| {
        let [a, b] = part.span;
        let half = side * part.half;
        [
            foot + axis * a - half,
            foot + axis * a + half,
            foot + axis * b + half,
            foot + axis * b - half,
        ]
    };
    let mut held: Vec<Point2> = outline.to_vec();
    held.extend(parts.iter().flat_map(corners));
    let (low, high) = held
        .iter()
        .fold((foot, foot), |(low, high), p| (low.inf(p), high.sup(p)));
    let size = high - low;
    let scale = Scale::fitting_both(size.add_scalar(6.0), SECTION_MM);
    let height = scale.to_paper(size.y + 6.0) + 28.0;
    let mut drawing = Drawing::new(title.clone(), [WIDTH_MM, height]);
    let at = |p: Point2| {
        let from = p - low + Vector2::new(3.0, 3.0);
        Point2::new(
            SIDE_MM + scale.to_paper(from.x),
            12.0 + scale.to_paper(from.y),
        )
    };
    drawing.text(
        Point2::new(SIDE_MM, height - 5.0),
        Anchor::Start,
        TITLE_MM,
        Ink::Plain,
        title,
    );
    let panel_paper: Vec<Point2> = outline.iter().map(|&p| at(p)).collect();
    for line in hatch(&panel_paper, 2.0) {
        drawing.stroke(line.to_vec(), Line::Narrow, Ink::Faint);
    }
    drawing.outline(panel_paper, Line::Wide, Ink::Plain);
    // The side of the tray or the skin that the panel lies against.
    let against = |h: f64| {
        let base = foot + axis * h;
        [base - side * 14.0, base + side * 14.0].map(at).to_vec()
    };
    if fixing.mate_mm > 0.0 {
        for h in [-fixing.mate_mm, fixing.skin_mm - fixing.mate_mm] {
            drawing.stroke(against(h), Line::Narrow, Ink::Plain);
        }
    } else if fixing.kind != FixingKind::StudOnPanel {
        drawing.stroke(against(0.0), Line::Chain, Ink::Plain);
    }
    let words = Point2::new(at(high).x + 14.0, height - 14.0);
    for (k, part) in parts.iter().enumerate() {
        let corners = corners(part).map(at);
        drawing.outline(corners.to_vec(), Line::Wide, Ink::Accent);
        let middle = nalgebra::center(&corners[1], &corners[2]);
        let word = words - Vector2::new(0.0, 7.0 * (parts.len() - 1 - k) as f64);
        drawing.stroke(
            vec![middle, word + Vector2::new(-1.5, 0.9)],
            Line::Narrow,
            Ink::Faint,
        );
        drawing.note(word, Anchor::Start, part.name);
    }
    let spans = parts.iter().map(|part| part.span);
    let [from, to] = spans.fold([-fixing.mate_mm, fixing.wall_mm], |[from, to], [a, b]| {
        [from.min(a).min(b), to.max(a).max(b)]
    });
    let axis_line = [from - AXIS_MM, to + AXIS_MM].map(|h| at(foot + axis * h));
    drawing.stroke(axis_line.to_vec(), Line::Chain, Ink::Plain);
    drawing.scale_bar(Point2::new(SIDE_MM, 3.0), scale, 30.0);
    drawing.note(
        Point2::new(WIDTH_MM - SIDE_MM, 3.0),
        Anchor::End,
        "outside of the vehicle to the right",
    );
    drawing
}
