//! Which way the front of the vehicle lies on a drawing, or which side is the outside where the job does not
//! say.

use super::shaded::arrow;
use crate::gap::Front;
use crate::math::{Point2, StationFrame, Vector2, Vector3};
use crate::output::drawing::{Anchor, Drawing, Fill, Ink, Line};

/// Length of the arrow, radius of the ring that stands for one seen from its end (mm).
const LONG_MM: f64 = 10.0;
const RING_MM: f64 = 1.6;

/// Draws an arrow whose right end or foot is at `at`, its name before it, on a drawing whose right and up
/// are these directions of the shop frame. A way that points out of the paper is a ring with a dot, one
/// that points into it a ring with a cross.
pub(in crate::output) fn mark(
    drawing: &mut Drawing,
    at: Point2,
    front: Option<Front>,
    [right, up]: [Vector3; 2],
) {
    let (way, name) = arrow(front);
    let seen = Vector2::new(way.dot(&right), way.dot(&up));
    let words = at - Vector2::new(LONG_MM + 2.0, 0.9);
    if let Some(seen) = seen.try_normalize(0.4) {
        let middle = at - Vector2::new(LONG_MM / 2.0, 0.0);
        let half = seen * (LONG_MM / 2.0);
        drawing.arrow(middle - half, middle + half, Ink::Plain);
        drawing.note(words, Anchor::End, name);
        return;
    }
    let middle = at - Vector2::new(RING_MM, 0.0);
    let ring = |radius: f64| -> Vec<Point2> {
        let angle = |k: u32| f64::from(k) * std::f64::consts::TAU / 24.0;
        (0..24)
            .map(|k| middle + Vector2::new(angle(k).cos(), angle(k).sin()) * radius)
            .collect()
    };
    drawing.outline(ring(RING_MM), Line::Narrow, Ink::Plain);
    let toward = way.dot(&right.cross(&up)) > 0.0;
    let whither = if toward {
        drawing.area(ring(0.4), Fill::Solid);
        "toward you"
    } else {
        for turn in [1.0, -1.0] {
            let arm = Vector2::new(1.0, turn) * (RING_MM * std::f64::consts::FRAC_1_SQRT_2);
            drawing.stroke(vec![middle - arm, middle + arm], Line::Narrow, Ink::Plain);
        }
        "away from you"
    };
    let words = middle - Vector2::new(RING_MM + 1.5, 0.9);
    drawing.note(words, Anchor::End, format!("{name} {whither}"));
}

/// Right and up of a drawing along the gap, seen from outside.
pub(super) fn from_outside() -> [Vector3; 2] {
    [Vector3::y(), Vector3::z()]
}

/// What stands at the arrow to the outside of a section seen along the spine: where the front lies from it.
pub(super) fn beside_outside(front: Option<Front>, frame: &StationFrame) -> String {
    match of_section(front, frame) {
        Some(words) => format!("outside; {words}"),
        None => "outside".to_owned(),
    }
}

/// Where the front lies from a section seen along the spine, its outside to the right.
pub(super) fn of_section(front: Option<Front>, frame: &StationFrame) -> Option<&'static str> {
    let way = front?.direction();
    Some(match (way.dot(&frame.outward), way.dot(&frame.along)) {
        (out, _) if out > 0.7 => "front at right",
        (out, _) if out < -0.7 => "front at left",
        (_, along) if along < 0.0 => "front out of the paper",
        _ => "front into the paper",
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::drawing::Item;

    fn words(front: Option<Front>) -> String {
        let mut drawing = Drawing::new("", [100.0, 20.0]);
        mark(&mut drawing, Point2::new(90.0, 5.0), front, from_outside());
        let texts = drawing.items.iter().filter_map(|item| match item {
            Item::Text { text, .. } => Some(text.clone()),
            _ => None,
        });
        texts.collect()
    }

    /// The maker faces the vehicle: the front of a nose points at them, that of a tail away.
    #[test]
    fn a_way_out_of_the_paper_is_told_from_one_into_it() {
        assert_eq!(words(Some(Front::Toward)), "front toward you");
        assert_eq!(words(Some(Front::Away)), "front away from you");
        assert_eq!(words(Some(Front::Left)), "front");
        assert_eq!(words(None), "outside toward you");
    }
}
