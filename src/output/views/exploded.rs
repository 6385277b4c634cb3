//! The row pulled apart, seen from the hidden side where the tabs are: which segment meets which, and in
//! what order the joints are closed.

use super::shaded::{ABOVE_MM, BELOW_MM, PANEL, arrow, framed};
use super::{View as Named, WIDTH_MM};
use crate::math::{Point2, Vector2, Vector3};
use crate::output::drawing::{Anchor, Drawing, Fill, Ink, Line, NOTE_MM, TITLE_MM};
use crate::output::picture::{Form, Picture, Shown, View};
use crate::output::row::{Row, RowOf};

/// Dots of the picture: 200 to the inch on paper.
const DOTS: [usize; 2] = [1400, 900];
/// How far a number stands from its segment's foot (mm).
const BESIDE_MM: f64 = 10.0;
/// Numbers keep this far from the picture's edge (mm).
const EDGE_MM: f64 = 3.0;
/// Radius of the ring round the number of a step (mm).
const RING_MM: f64 = 3.2;

/// `None` where nothing was split.
pub(super) fn draw(row: Row<'_>) -> Option<Named> {
    let parts = row.parts;
    if parts.segments.len() < 2 {
        return None;
    }
    let away = |i: usize| parts.exploded.away.get(i).copied().unwrap_or_default();
    let shown: Vec<Shown<'_>> = (parts.segments.iter().enumerate())
        .map(|(i, segment)| Shown {
            moved: away(i),
            ..Shown::new(segment.in_place.mesh(), PANEL, Form::Sharp)
        })
        .collect();
    let view = View::from_inside();
    let picture = Picture::take(&shown, view, DOTS)?;
    let title = match row.of {
        RowOf::Panel => "Pulled apart, from inside: the hidden side",
        RowOf::Twin => "The other side\u{2019}s, pulled apart, from inside: the hidden side",
        RowOf::Buck => "The buck pulled apart, from behind",
    };
    let arrow = Some(arrow(row.front));
    let mut drawing = framed(title, &picture, &view, WIDTH_MM, arrow);
    steps(&mut drawing, &picture, row, away);
    numbers(&mut drawing, &picture, row, away);
    let at = Point2::new(0.6 * WIDTH_MM, 2.5);
    let note = "in rings: the order of the joints";
    drawing.note(at, Anchor::Middle, note);
    Some(Named {
        name: format!("{}exploded", row.of.folder()),
        drawing,
    })
}

/// Each segment's number beside it, inboard of its middle and inside of the picture.
fn numbers(
    drawing: &mut Drawing,
    picture: &Picture,
    row: Row<'_>,
    away: impl Fn(usize) -> Vector3,
) {
    let low = Point2::new(EDGE_MM, BELOW_MM + EDGE_MM);
    let high = Point2::new(WIDTH_MM - EDGE_MM, drawing.size_mm[1] - ABOVE_MM - TITLE_MM);
    for (i, segment) in row.parts.segments.iter().enumerate() {
        let [from, to] = segment.along;
        let frame = row.spine.frame_at(f64::midpoint(from, to));
        let middle = frame.origin + away(i);
        let [foot, inboard] =
            [middle, middle - frame.outward * 50.0].map(|p| picture.on_paper(p, WIDTH_MM));
        let aside = (inboard - foot).try_normalize(1e-6).unwrap_or_default() * BESIDE_MM;
        let at = foot + aside + Vector2::new(0.0, BELOW_MM - TITLE_MM / 2.0);
        let number = segment.number.to_string();
        let at = at.sup(&low).inf(&high);
        drawing.text(at, Anchor::Middle, TITLE_MM, Ink::Plain, number);
    }
}

/// The step of each joint between its two segments.
fn steps(drawing: &mut Drawing, picture: &Picture, row: Row<'_>, away: impl Fn(usize) -> Vector3) {
    for (i, step) in row.parts.assembly.iter().enumerate() {
        let frame = row.spine.frame_at(step.s);
        let between = (away(step.joint.saturating_sub(1)) + away(step.joint)) / 2.0;
        let mut middle =
            picture.on_paper(frame.origin + between, WIDTH_MM) + Vector2::new(0.0, BELOW_MM - 5.0);
        middle.x = middle.x.clamp(RING_MM + 0.5, WIDTH_MM - RING_MM - 0.5);
        let ring: Vec<Point2> = (0..32)
            .map(|k| f64::from(k) * std::f64::consts::TAU / 32.0)
            .map(|angle| middle + Vector2::new(angle.cos(), angle.sin()) * RING_MM)
            .collect();
        drawing.area(ring.clone(), Fill::Paper);
        drawing.outline(ring, Line::Narrow, Ink::Accent);
        let at = middle - Vector2::new(0.0, NOTE_MM / 2.0);
        drawing.text(
            at,
            Anchor::Middle,
            NOTE_MM,
            Ink::Accent,
            (i + 1).to_string(),
        );
    }
}
