//! A scan as a station plane cuts it, for drawing only: loose pieces of line, not joined up.

use crate::math::{Point2, StationFrame};
use crate::mesh::TriMesh;

/// Pieces of line where the plane of `frame` cuts the mesh, in section coordinates, as far as they reach
/// into the window from `least` to `most`. Whatever the plane misses or touches only at a corner gives
/// nothing.
pub(super) fn cut(
    mesh: &TriMesh,
    frame: &StationFrame,
    least: Point2,
    most: Point2,
) -> Vec<[Point2; 2]> {
    let sides: Vec<f64> = mesh
        .points
        .iter()
        .map(|p| (p - frame.origin).dot(&frame.along))
        .collect();
    let mut pieces = Vec::new();
    for corners in &mesh.triangles {
        let side = corners.map(|i| sides.get(i as usize).copied().unwrap_or(f64::NAN));
        let mut ends = Vec::with_capacity(2);
        for k in 0..3 {
            let (a, b) = (side[k], side[(k + 1) % 3]);
            // Zero counts as the far side, so that neighbours agree on a shared corner.
            if (a < 0.0) == (b < 0.0) || !(a - b).is_finite() {
                continue;
            }
            let [p, q] = [corners[k], corners[(k + 1) % 3]].map(|i| mesh.points[i as usize]);
            ends.push(frame.to_section(p + (q - p) * (a / (a - b))));
        }
        if let [a, b] = ends[..]
            && let Some(piece) = clip([a, b], least, most)
        {
            pieces.push(piece);
        }
    }
    pieces
}

/// The part of a line inside a box (Liang and Barsky 1984).
fn clip([a, b]: [Point2; 2], least: Point2, most: Point2) -> Option<[Point2; 2]> {
    let d = b - a;
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for axis in 0..2 {
        for (slope, room) in [
            (-d[axis], a[axis] - least[axis]),
            (d[axis], most[axis] - a[axis]),
        ] {
            if slope == 0.0 {
                if room < 0.0 {
                    return None;
                }
            } else if slope < 0.0 {
                from = from.max(room / slope);
            } else {
                to = to.min(room / slope);
            }
        }
    }
    (from < to).then(|| [a + d * from, a + d * to])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::{Point3, Vector3};

    #[test]
    fn a_square_is_cut_along_its_middle_and_clipped_to_the_window() {
        let points = [(0.0, -1.0), (10.0, -1.0), (10.0, 1.0), (0.0, 1.0)];
        let mesh = TriMesh {
            points: points
                .iter()
                .map(|&(x, y)| Point3::new(x, y, 5.0))
                .collect(),
            triangles: vec![[0, 1, 2], [0, 2, 3]],
        };
        let frame = StationFrame {
            origin: Point3::origin(),
            along: Vector3::y(),
            outward: Vector3::x(),
        };
        let pieces = cut(&mesh, &frame, Point2::new(2.0, 0.0), Point2::new(20.0, 9.0));
        let length: f64 = pieces.iter().map(|[a, b]| (b - a).norm()).sum();
        assert!((length - 8.0).abs() < 1e-12, "{pieces:?}");
        assert!(pieces.iter().flatten().all(|p| p.y == 5.0));
        let above = cut(&mesh, &frame, Point2::new(2.0, 6.0), Point2::new(20.0, 9.0));
        assert!(above.is_empty());
    }
}
