//! How a segment lies on the bed: z stays up, turned in plan so that it fits best.

use crate::math::{Point2, Vector3};
use crate::mesh::{Solid, SolidFault, TriMesh};
use nalgebra::{Isometry3, Translation3, UnitQuaternion};

/// A turn about z and the size in plan it gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Turn {
    /// Anticlockwise (rad).
    pub(super) angle: f64,
    /// Width and depth (mm).
    pub(super) size: [f64; 2],
    /// The larger of width and depth, each as a share of the room: fits at 1 or less.
    pub(super) share: f64,
}

/// Corners of the convex hull, anticlockwise (Andrew's chain). Points that are not finite must not come.
fn find_hull(points: &[Point2]) -> Vec<Point2> {
    let mut sorted = points.to_vec();
    sorted.sort_unstable_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
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

/// Spacing of the turns that are tried before the best are refined (degrees).
const STEP_DEG: u32 = 1;

fn turned(hull: &[Point2], room: [f64; 2], angle: f64) -> Turn {
    let (sin, cos) = angle.sin_cos();
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for p in hull {
        let q = [cos * p.x - sin * p.y, sin * p.x + cos * p.y];
        for k in 0..2 {
            low[k] = low[k].min(q[k]);
            high[k] = high[k].max(q[k]);
        }
    }
    let size = [0, 1].map(|k| (high[k] - low[k]).max(0.0));
    Turn {
        angle,
        size,
        share: (size[0] / room[0]).max(size[1] / room[1]),
    }
}

/// Refines a turn between its two neighbours by ternary search.
fn refine(hull: &[Point2], room: [f64; 2], around: f64) -> Turn {
    let step = f64::from(STEP_DEG).to_radians();
    let (mut a, mut b) = (around - step, around + step);
    for _ in 0..40 {
        let (l, r) = (a + (b - a) / 3.0, b - (b - a) / 3.0);
        if turned(hull, room, l).share <= turned(hull, room, r).share {
            b = r;
        } else {
            a = l;
        }
    }
    turned(hull, room, 0.5 * (a + b))
}

/// Turns tried before refining, over half a turn: the rest repeats them.
fn coarse_turns(hull: &[Point2], room: [f64; 2]) -> impl Iterator<Item = Turn> {
    (0..180 / STEP_DEG).map(move |d| turned(hull, room, f64::from(d * STEP_DEG).to_radians()))
}

/// How many of the coarse turns are refined.
const REFINED: usize = 4;

fn best_turn(hull: &[Point2], room: [f64; 2]) -> Turn {
    let mut coarse: Vec<Turn> = coarse_turns(hull, room).collect();
    coarse.sort_by(|a, b| a.share.total_cmp(&b.share));
    let mut best = coarse[0];
    for start in coarse.iter().take(REFINED) {
        let fine = refine(hull, room, start.angle);
        if fine.share < best.share {
            best = fine;
        }
    }
    best
}

/// The turn in which points (mm) fit a rectangle (mm) best.
pub(super) fn find_turn(points: &[Point2], room: [f64; 2]) -> Turn {
    best_turn(&find_hull(points), room)
}

/// Whether points fit a rectangle in some turn; stops at the first that does.
pub(super) fn fits_turned(points: &[Point2], room: [f64; 2]) -> bool {
    let hull = find_hull(points);
    coarse_turns(&hull, room).any(|t| t.share <= 1.0) || best_turn(&hull, room).share <= 1.0
}

/// Sets a solid on its bed: turned to fit the room (mm in plan) best, centred in plan, bottom at z = 0,
/// then made larger by the factor `swell` about the bed's origin. Gives the solid and the move that took
/// it there. Nothing else changes the size of a print.
///
/// # Errors
/// When rounding after the turn pinches the solid in every turn tried.
pub(super) fn set_on_bed(
    solid: &Solid,
    room: [f64; 2],
    swell: f64,
) -> Result<(Solid, Isometry3<f64>), SolidFault> {
    /// Turns (rad) added when the first pinches a sliver: far too small to change the fit.
    const NUDGES: [f64; 4] = [0.0, 1e-5, -1e-5, 3e-5];
    let mesh = solid.mesh();
    let plan: Vec<Point2> = mesh.points.iter().map(|p| p.xy()).collect();
    let turn = find_turn(&plan, room);
    let mut fault = SolidFault::Empty;
    for nudge in NUDGES {
        let spin = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), turn.angle + nudge);
        let (mut low, mut high) = (
            Vector3::repeat(f64::INFINITY),
            Vector3::repeat(f64::NEG_INFINITY),
        );
        for p in &mesh.points {
            let q = (spin * p).coords;
            low = low.inf(&q);
            high = high.sup(&q);
        }
        let middle = (low + high) / 2.0;
        let to_bed = Isometry3::from_parts(Translation3::new(-middle.x, -middle.y, -low.z), spin);
        let on_bed = Solid::new(TriMesh {
            points: mesh.points.iter().map(|p| to_bed * p * swell).collect(),
            triangles: mesh.triangles.clone(),
        });
        match on_bed {
            Ok(on_bed) => return Ok((on_bed, to_bed)),
            Err(why) => fault = why,
        }
    }
    Err(fault)
}

#[cfg(test)]
mod tests {
    use super::*;

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
            assert!(fits_turned(&bar(longest - 0.01, 10.0, angle), [200.0; 2]));
            assert!(!fits_turned(&bar(longest + 0.01, 10.0, angle), [200.0; 2]));
        }
    }

    #[test]
    fn a_bar_that_just_fits_a_narrow_bed_is_turned_to_it() {
        let turn = find_turn(&bar(300.0, 40.0, 0.777), [41.0, 301.0]);
        assert!(turn.share < 1.0, "{turn:?}");
        assert!(!fits_turned(&bar(302.0, 40.0, 0.777), [41.0, 301.0]));
    }

    #[test]
    fn few_points_have_a_hull() {
        assert!(find_hull(&[]).is_empty());
        let p = Point2::new(1.0, 2.0);
        assert_eq!(find_hull(&[p, p]), vec![p]);
        let square = bar(1.0, 1.0, 0.0);
        let mut more = square.clone();
        more.extend([Point2::new(0.5, 0.5), Point2::new(0.5, 0.0)]);
        assert_eq!(find_hull(&more).len(), 4);
    }
}
