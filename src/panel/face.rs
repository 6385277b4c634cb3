//! The course of a face between its foot and its knee.

use super::section::FACE_EDGES;
use crate::math::{Point2, Vector2};

/// Sagitta as a share of the face's height that is not passed: beyond it the face hangs over.
const MOST_SHARE: f64 = 0.3;
/// The first edge takes no more than this share of what the last one leaves, and the last one no more than
/// that of the whole: what `STEEPEST` leaves them.
const MOST_FIRST: f64 = 0.395;
const MOST_LAST: f64 = 0.13;
/// How many times as long as its neighbour an edge may be.
const STEEPEST: f64 = 2.5;
/// The top of a hollow face leans outward no further than moves the inside by this share of the face: the
/// last edge has room for it.
const MOST_OUTWARD: f64 = 0.1;

/// The sagitta (mm, positive outward) of the arc from `foot` to `knee` that meets a skin leaned by `lean`
/// (rad, positive inboard going up) without a corner at the knee. The angle between chord and tangent is
/// half of the arc's own (Euclid III.32), so the sagitta is half the chord times the tangent of half of it.
pub fn tangent_bow(foot: Point2, knee: Point2, lean: f64) -> f64 {
    let chord = knee - foot;
    let turn = lean - (-chord.x).atan2(chord.y);
    0.5 * chord.norm() * (0.5 * turn.clamp(-1.2, 1.2)).tan()
}

/// The sagitta that can be had of a face with a wall of `depth` mm inside of it: the inside keeps a radius
/// of half of that, and the face neither hangs over nor leans out too far at its top.
pub fn held_bow(foot: Point2, knee: Point2, bow: f64, depth: f64) -> f64 {
    let chord = (knee - foot).norm();
    let mut most = MOST_SHARE * chord;
    let least_radius = 1.5 * depth;
    if 2.0 * least_radius > chord {
        let half = 0.5 * chord;
        let radius = least_radius;
        most = most.min(radius - (radius * radius - half * half).max(0.0).sqrt());
    }
    let run = knee - foot;
    let lean = (-run.x).atan2(run.y);
    let outward = (MOST_OUTWARD * chord / depth.max(1e-9)).atan() + lean;
    let hollow = 0.5 * chord * (0.5 * outward.max(0.0)).tan();
    bow.clamp(-most.min(hollow), most)
}

/// Corners between foot and knee of an arc with a sagitta of `bow` mm, positive outward. The first and the
/// last edge are at least `ends` mm long, as far as the face is high enough: a fillet lies against the one,
/// and the corner at the knee takes up some of the inside of the other.
pub fn arc(foot: Point2, knee: Point2, bow: f64, ends: [f64; 2]) -> Vec<Point2> {
    let chord = knee - foot;
    let length = chord.norm().max(1e-9);
    let right = Vector2::new(chord.y, -chord.x) / length;
    let even = 1.0 / FACE_EDGES as f64;
    let [first, last] = ends.map(|end| end / length);
    let last = last.clamp(even, MOST_LAST);
    let first = first.clamp(even, MOST_FIRST * (1.0 - last));
    // No edge is more than 2.5 times as long as its neighbour: set back by two thirds of the radius, which
    // is the most there is, the shorter one would be turned about by the corner between them.
    let left = 1.0 - first - last;
    let second = (first / STEEPEST).max(left / (FACE_EDGES - 2) as f64);
    let rest = (left - second) / (FACE_EDGES - 3) as f64;
    std::iter::once(first)
        .chain((0..FACE_EDGES - 2).map(|k| first + second + rest * k as f64))
        .map(|share| {
            if bow.abs() < 1e-6 {
                return foot + chord * share;
            }
            let half = 0.5 * length;
            let radius = (half * half + bow * bow) / (2.0 * bow.abs());
            // Half of the arc's angle; shares are of the arc's length.
            let whole = 2.0 * (2.0 * bow.abs() / length).atan();
            let angle = whole * (2.0 * share - 1.0);
            let along = half + radius * angle.sin();
            let out = radius * (angle.cos() - whole.cos());
            foot + chord * (along / length) + right * (out * bow.signum())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arc_has_the_sagitta_that_was_asked_and_one_radius() {
        let (foot, knee) = (Point2::new(3.0, 1.0), Point2::new(-2.0, 41.0));
        for bow in [-6.0, 1.5, 9.0] {
            let corners = arc(foot, knee, bow, [0.0; 2]);
            let chord = (knee - foot).normalize();
            let off = |p: &Point2| -chord.perp(&(p - foot));
            // Nine corners: the middle one lies in the middle of the arc but for the first edge's share.
            let most = corners
                .iter()
                .map(off)
                .fold(0.0f64, |a, b| if b.abs() > a.abs() { b } else { a });
            assert!((most - bow).abs() < 1e-9, "{bow}: {most}");
            let half: f64 = 0.5 * (knee - foot).norm();
            let radius = (half * half + bow * bow) / (2.0 * bow.abs());
            let right = Vector2::new(chord.y, -chord.x);
            let centre = nalgebra::center(&foot, &knee) + right * (bow - radius * bow.signum());
            for p in &corners {
                assert!(((p - centre).norm() - radius).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn a_tangent_face_runs_into_the_skin_without_a_corner() {
        let (foot, knee) = (Point2::new(0.0, 0.0), Point2::new(0.0, 40.0));
        for lean in [-0.3f64, 0.2, 0.5] {
            let bow = tangent_bow(foot, knee, lean);
            // Radius R and half angle a of an arc on a chord c: sin a = c / 2R, and the tangent at its end
            // leaves the chord by a.
            let radius = (400.0 + bow * bow) / (2.0 * bow.abs());
            let turn = (20.0 / radius).asin() * bow.signum();
            assert!((turn - lean).abs() < 1e-9, "{lean}: {turn}");
        }
    }

    #[test]
    fn a_bow_is_held_to_what_the_height_can_have() {
        let (foot, knee) = (Point2::new(0.0, 0.0), Point2::new(0.0, 40.0));
        assert_eq!(held_bow(foot, knee, 4.0, 3.0), 4.0);
        assert_eq!(held_bow(foot, knee, 40.0, 3.0), 12.0);
        assert_eq!(held_bow(foot, knee, -3.0, 3.0), -3.0);
        // Leans out by atan(4 / 3) at its top: half the chord times the tangent of half of that.
        assert!((held_bow(foot, knee, -40.0, 3.0) + 10.0).abs() < 1e-9);
        assert!(held_bow(foot, Point2::new(0.0, 8.0), 4.0, 4.0) < 2.0);
    }
}
