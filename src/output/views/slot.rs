//! The slots at both ends and what is held fast between them, with each fixing where it is set.

use super::{WIDTH_MM, forward};
use crate::gap::Front;
use crate::math::Point2;
use crate::output::drawing::{Anchor, Drawing, Fill, Ink, Line, NOTE_MM, Scale};
use crate::panel::proof::heat::{HeatProof, SlotAt};
use std::f64::consts::{PI, TAU};

const HEIGHT_MM: f64 = 58.0;
/// Height on paper at which the slots lie (mm).
const LEVEL_MM: f64 = 30.0;
/// Widest slot on paper (mm).
const SLOT_MM: f64 = 40.0;
/// Corners of half a circle.
const CORNERS: u32 = 24;

/// Draws the slots of the first and the last fixing as seen from outside.
pub(super) fn draw(proof: &HeatProof, front: Option<Front>) -> Drawing {
    let mut drawing = Drawing::new(
        "Slots, and where the fixings are set",
        [WIDTH_MM, HEIGHT_MM],
    );
    let ends: Vec<&SlotAt> = match &proof.slots[..] {
        [] => Vec::new(),
        [only] => vec![only],
        [first, .., last] => vec![first, last],
    };
    let longest = ends
        .iter()
        .map(|at| at.made_mm(proof.hole_mm))
        .fold(proof.hole_mm.max(1.0), f64::max);
    let scale = Scale::fitting(longest, SLOT_MM);
    for at in ends {
        let share = if at.held.s < proof.fixed_at { 1.0 } else { 5.0 };
        let middle = Point2::new(WIDTH_MM * share / 6.0, LEVEL_MM);
        slot(&mut drawing, proof, at, middle, scale);
    }
    let middle = Point2::new(0.5 * WIDTH_MM, LEVEL_MM);
    let radius = scale.to_paper(0.5 * proof.hole_mm);
    drawing.outline(capsule(middle, 0.0, radius), Line::Wide, Ink::Plain);
    drawing.area(capsule(middle, 0.0, 0.72 * radius), Fill::Wash);
    let under = Point2::new(middle.x, middle.y - radius - 6.0);
    drawing.note(
        under,
        Anchor::Middle,
        format!("held fast, station {:.0} mm", proof.fixed_at),
    );
    let note = Point2::new(4.0, 3.0);
    drawing.note(
        note,
        Anchor::Start,
        format!(
            "Slots in the panel, seen from outside; fixings where they are set at {:.0} \u{b0}C.",
            proof.thermal.fitted_c
        ),
    );
    drawing.scale_bar(Point2::new(WIDTH_MM - 55.0, 3.0), scale, 25.0);
    let mark = Point2::new(WIDTH_MM - 4.0, HEIGHT_MM - 5.0);
    forward::mark(&mut drawing, mark, front, forward::from_outside());
    drawing
}

fn slot(drawing: &mut Drawing, proof: &HeatProof, at: &SlotAt, fixing: Point2, scale: Scale) {
    let radius = scale.to_paper(0.5 * proof.hole_mm);
    let half = scale.to_paper(0.5 * (at.made_mm(proof.hole_mm) - proof.hole_mm));
    let middle = Point2::new(fixing.x + scale.to_paper(at.middle_mm), fixing.y);
    drawing.outline(capsule(middle, half, radius), Line::Wide, Ink::Plain);
    drawing.area(capsule(fixing, 0.0, 0.72 * radius), Fill::Wash);
    for x in [middle.x, fixing.x] {
        let line = vec![
            Point2::new(x, fixing.y - radius - 2.0),
            Point2::new(x, fixing.y + radius + 2.0),
        ];
        let kind = if x == fixing.x {
            Line::Chain
        } else {
            Line::Dashed
        };
        drawing.stroke(line, kind, Ink::Plain);
    }
    // The way the panel grows.
    let outward = if at.held.s < proof.fixed_at {
        -1.0
    } else {
        1.0
    };
    let grows = outward * proof.thermal.hot_strain().signum();
    let high = fixing.y + radius + 8.0;
    drawing.arrow(
        Point2::new(fixing.x - 8.0 * grows, high),
        Point2::new(fixing.x + 8.0 * grows, high),
        Ink::Accent,
    );
    let note = |drawing: &mut Drawing, y: f64, text: String| {
        drawing.note(Point2::new(fixing.x, y), Anchor::Middle, text);
    };
    note(drawing, high + 2.5, "panel when hot".to_owned());
    let low = fixing.y - radius - 6.0;
    note(
        drawing,
        low,
        format!(
            "slot {:.1} by {:.1} mm, station {:.0} mm",
            at.made_mm(proof.hole_mm),
            proof.hole_mm,
            at.held.s
        ),
    );
    note(
        drawing,
        low - 1.8 * NOTE_MM,
        format!(
            "fixing {:.1} mm to the {} of its middle",
            at.middle_mm.abs(),
            // The middle lies off the fixing one way, the fixing off the middle the other.
            if at.middle_mm > 0.0 { "left" } else { "right" }
        ),
    );
}

/// A slot's outline on paper: two half circles, their middles `half` either way.
fn capsule(middle: Point2, half: f64, radius: f64) -> Vec<Point2> {
    let arc = |from: f64, x: f64| {
        (0..=CORNERS).map(move |k| {
            let a = from + PI * f64::from(k) / f64::from(CORNERS);
            Point2::new(middle.x + x + radius * a.cos(), middle.y + radius * a.sin())
        })
    };
    arc(-0.25 * TAU, half)
        .chain(arc(0.25 * TAU, -half))
        .collect()
}
