//! Whether points fit a rectangle once turned in plan, and in which turn they fit best.

use crate::math::{Point2, Vector2};
use std::f64::consts::{FRAC_PI_2, PI};

/// A turn about z and the size in plan it gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Turn {
    /// Anticlockwise (rad).
    pub(super) angle: f64,
    /// The larger of width and depth, each as a share of the room: fits at 1 or less.
    pub(super) share: f64,
}

/// Corners of the convex hull, anticlockwise (Andrew's chain, 1979). Points that are not finite must not
/// come.
pub(super) fn find_hull(points: &[Point2]) -> Vec<Point2> {
    let mut sorted = points.to_vec();
    // Stable, for that is quick with points that come in rows.
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull: Vec<Point2> = Vec::new();
    let mut chain = |points: &mut dyn Iterator<Item = &Point2>| {
        let base = hull.len();
        for p in points {
            while hull.len() >= base + 2 {
                let (a, b) = (hull[hull.len() - 2], hull[hull.len() - 1]);
                if (b - a).perp(&(p - b)) > 0.0 {
                    break;
                }
                hull.pop();
            }
            hull.push(*p);
        }
        hull.pop();
    };
    chain(&mut sorted.iter());
    chain(&mut sorted.iter().rev());
    hull
}

/// Whether, and how far (mm), a point lies inside of a hull: the least distance to an edge, negative
/// outside, where it is no distance to the corners. Minus infinity where the hull has no area.
pub(super) fn depth_inside(hull: &[Point2], p: Point2) -> f64 {
    if hull.len() < 3 {
        return f64::NEG_INFINITY;
    }
    (0..hull.len())
        .map(|i| {
            let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
            let edge = b - a;
            edge.perp(&(p - a)) / edge.norm().max(1e-12)
        })
        .fold(f64::INFINITY, f64::min)
}

/// Farthest apart that two corners lie along one axis of the turned frame, as the vector between them.
fn span(hull: &[Point2], axis: Vector2) -> Vector2 {
    let [low, high] = outermost(hull, axis);
    hull[high] - hull[low]
}

/// The corners that lie lowest and highest along an axis.
fn outermost(hull: &[Point2], axis: Vector2) -> [usize; 2] {
    let (mut low, mut high) = ((f64::INFINITY, 0), (f64::NEG_INFINITY, 0));
    for (i, p) in hull.iter().enumerate() {
        let t = p.coords.dot(&axis);
        if t < low.0 {
            low = (t, i);
        }
        if t > high.0 {
            high = (t, i);
        }
    }
    [low.1, high.1]
}

/// The two corners of a hull that lie outermost along an axis that turns clockwise: they move on from corner
/// to corner the same way, so that a whole turn looks at each corner once (Shamos 1978; Toussaint 1983).
struct Caliper<'a> {
    hull: &'a [Point2],
    ends: [usize; 2],
}

impl<'a> Caliper<'a> {
    fn new(hull: &'a [Point2], axis: Vector2) -> Self {
        Self {
            hull,
            ends: outermost(hull, axis),
        }
    }

    /// The vector between them once the axis has turned on to this one.
    fn span(&mut self, axis: Vector2) -> Vector2 {
        let hull = self.hull;
        for (end, way) in self.ends.iter_mut().zip([-axis, axis]) {
            // A hull has no more corners to move on to than it has.
            for _ in 0..hull.len() {
                let before = end.checked_sub(1).unwrap_or(hull.len() - 1);
                if (hull[before] - hull[*end]).dot(&way) <= 0.0 {
                    break;
                }
                *end = before;
            }
        }
        hull[self.ends[1]] - hull[self.ends[0]]
    }
}

/// The axes of the room in the points' own frame, once those are turned by an angle.
fn axes(angle: f64) -> [Vector2; 2] {
    let (sin, cos) = angle.sin_cos();
    [Vector2::new(cos, -sin), Vector2::new(sin, cos)]
}

/// The best turn of a hull, or the first found with a share of no more than `enough`.
///
/// Exact: between two turns that lay an edge of the hull along an axis, width and depth each are the
/// span of one pair of corners, so both are concave there and the larger share is least at one of the
/// turns or where the shares cross (compare Freeman and Shapira, CACM 18(7), 1975).
fn best_turn(hull: &[Point2], room: [f64; 2], enough: f64) -> Turn {
    let share = |angle: f64| {
        let [x, y] = axes(angle);
        (span(hull, x).dot(&x) / room[0]).max(span(hull, y).dot(&y) / room[1])
    };
    let mut best = Turn {
        angle: 0.0,
        share: if hull.is_empty() { 0.0 } else { share(0.0) },
    };
    let mut square: Vec<f64> = (0..hull.len())
        .map(|i| {
            let edge = hull[(i + 1) % hull.len()] - hull[i];
            (-edge.y.atan2(edge.x)).rem_euclid(FRAC_PI_2)
        })
        .collect();
    square.sort_by(f64::total_cmp);
    square.dedup();
    let turns: Vec<f64> = (square.iter().copied())
        .chain(square.iter().map(|t| t + FRAC_PI_2))
        .chain(square.first().map(|t| t + PI))
        .collect();
    let first = axes(turns.first().copied().unwrap_or_default());
    let [mut across, mut along] = first.map(|axis| Caliper::new(hull, axis));
    for pair in turns.windows(2) {
        if best.share <= enough {
            return best;
        }
        let [x, y] = axes(f64::midpoint(pair[0], pair[1]));
        let (wide, deep) = (across.span(x), along.span(y));
        // wide . (cos, -sin) / W = deep . (sin, cos) / D
        let crossing = (wide.x / room[0] - deep.y / room[1])
            .atan2(wide.y / room[0] + deep.x / room[1])
            .rem_euclid(PI);
        let inside = [crossing, crossing + PI]
            .into_iter()
            .find(|t| (pair[0]..pair[1]).contains(t));
        for angle in [Some(pair[0]), inside].into_iter().flatten() {
            let [x, y] = axes(angle);
            let share = (wide.dot(&x) / room[0]).max(deep.dot(&y) / room[1]);
            if share < best.share {
                best = Turn {
                    angle: angle.rem_euclid(PI),
                    share,
                };
            }
        }
    }
    best
}

/// The turn in which points (mm) fit a rectangle (mm) best.
pub(super) fn find_turn(points: &[Point2], room: [f64; 2]) -> Turn {
    best_turn(&find_hull(points), room, 0.0)
}

/// Whether points fit a rectangle in some turn.
pub(super) fn fits_turned(points: &[Point2], room: [f64; 2]) -> bool {
    best_turn(&find_hull(points), room, 1.0).share <= 1.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::robust::Draws;

    fn bar(length: f64, width: f64, angle: f64) -> Vec<Point2> {
        [[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]]
            .map(|[x, y]| nalgebra::Rotation2::new(angle) * Point2::new(x, y))
            .to_vec()
    }

    /// A bar of length l and width w fits a square of side a on its diagonal if (l + w)/sqrt 2 <= a:
    /// plane geometry.
    #[test]
    fn a_bar_fits_on_the_diagonal_and_not_beyond() {
        let longest = 200.0 * 2f64.sqrt() - 10.0;
        for angle in [0.0, 0.3, 1.234, 3.0] {
            assert!(fits_turned(&bar(longest - 1e-6, 10.0, angle), [200.0; 2]));
            assert!(!fits_turned(&bar(longest + 1e-6, 10.0, angle), [200.0; 2]));
        }
    }

    #[test]
    fn a_bar_that_just_fits_a_narrow_bed_is_turned_to_it() {
        let turn = find_turn(&bar(300.0, 40.0, 0.777), [41.0, 301.0]);
        assert!(turn.share < 1.0, "{turn:?}");
        assert!(!fits_turned(&bar(302.0, 40.0, 0.777), [41.0, 301.0]));
    }

    /// Held against 36 000 turns, each measured by itself.
    #[test]
    fn no_turn_of_many_is_better() {
        let mut draws = Draws::seeded(7);
        let mut any = |most: usize| draws.below(most * 100) as f64 / 100.0;
        for round in 0..40 {
            let count = 1 + round % 9;
            let points: Vec<Point2> = (0..count).map(|_| Point2::new(any(300), any(90))).collect();
            let room = [50.0 + any(200), 50.0 + any(200)];
            let turn = find_turn(&points, room);
            let share = |angle: f64| {
                let spin = nalgebra::Rotation2::new(angle);
                let (mut low, mut high) = (Vector2::repeat(1e9), Vector2::repeat(-1e9));
                for p in &points {
                    let q = spin * p.coords;
                    (low, high) = (low.inf(&q), high.sup(&q));
                }
                ((high.x - low.x) / room[0]).max((high.y - low.y) / room[1])
            };
            assert!((share(turn.angle) - turn.share).abs() < 1e-9, "{turn:?}");
            let tried = (0..36_000).map(|i| share(f64::from(i) * PI / 36_000.0));
            let least = tried.fold(f64::INFINITY, f64::min);
            assert!(turn.share <= least + 1e-9, "{} {least}", turn.share);
            assert!(turn.share > least - 2e-3, "{} {least}", turn.share);
            assert_eq!(fits_turned(&points, room), turn.share <= 1.0);
        }
    }

    #[test]
    fn few_points_have_a_hull() {
        assert!(find_hull(&[]).is_empty());
        assert_eq!(find_turn(&[], [1.0; 2]).share, 0.0);
        let p = Point2::new(1.0, 2.0);
        assert_eq!(find_hull(&[p, p]), vec![p]);
        let square = bar(1.0, 1.0, 0.0);
        let mut more = square.clone();
        more.extend([Point2::new(0.5, 0.5), Point2::new(0.5, 0.0)]);
        let hull = find_hull(&more);
        assert_eq!(hull.len(), 4);
        assert!((depth_inside(&hull, Point2::new(0.5, 0.25)) - 0.25).abs() < 1e-12);
        assert!(depth_inside(&hull, Point2::new(1.5, 0.25)) < 0.0);
        assert!(depth_inside(&hull[..2], p) < 0.0);
    }
}
