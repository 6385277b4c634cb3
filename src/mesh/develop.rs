//! Laying a strip of triangles flat without stretching any.

use super::TriMesh;
use crate::math::{Point2, Point3, Vector2};

/// A strip laid flat: its two long edges, point by point.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FlatStrip {
    /// The first edge.
    pub lower: Vec<Point2>,
    /// The second edge, to the left of the first.
    pub upper: Vec<Point2>,
}

/// Lays the strip between two polylines flat, one rung for each pair of points, and turns it so that the
/// first edge runs from its first to its last point along x, starting at the origin.
///
/// Each quadrilateral between rungs is split from the lower point of the first rung to the upper point
/// of the next, and every triangle is laid down beside the one before it with its own three lengths, so
/// a developable surface keeps all lengths as far as its triangles do. `None` with fewer than two rungs,
/// a different number of points, or a triangle that has no length where the next one joins it.
#[must_use]
pub fn develop_strip(lower: &[Point3], upper: &[Point3]) -> Option<FlatStrip> {
    if lower.len() != upper.len() || lower.len() < 2 {
        return None;
    }
    let rung = (upper[0] - lower[0]).norm();
    let mut flat = FlatStrip {
        lower: vec![Point2::origin()],
        upper: vec![Point2::new(0.0, rung)],
    };
    for i in 1..lower.len() {
        let (a, b) = (flat.lower[i - 1], flat.upper[i - 1]);
        // Both new points lie to the right of the rung they are laid down beside.
        let up = apex(
            (b, a),
            (upper[i] - upper[i - 1]).norm(),
            (upper[i] - lower[i - 1]).norm(),
        )?;
        let low = apex(
            (up, a),
            (lower[i] - upper[i]).norm(),
            (lower[i] - lower[i - 1]).norm(),
        )?;
        flat.upper.push(up);
        flat.lower.push(low);
    }
    let way = flat.lower.last()? - flat.lower[0];
    let along = way.try_normalize(1e-12)?;
    let turn = |p: &Point2| {
        let v = p.coords;
        Point2::new(v.dot(&along), along.perp(&v))
    };
    flat.lower = flat.lower.iter().map(turn).collect();
    flat.upper = flat.upper.iter().map(turn).collect();
    let finite = |p: &Point2| p.coords.iter().all(|v| v.is_finite());
    let whole = flat.lower.iter().all(finite) && flat.upper.iter().all(finite);
    whole.then_some(flat)
}

/// The point at distances `from_first` and `from_second` from two points, to the left of the way from the
/// first to the second.
fn apex((first, second): (Point2, Point2), from_first: f64, from_second: f64) -> Option<Point2> {
    let way: Vector2 = second - first;
    let base = way.norm();
    if !(base > 1e-9 && base.is_finite()) {
        return None;
    }
    let x = (from_first * from_first - from_second * from_second + base * base) / (2.0 * base);
    // A flat triangle may come out a rounding below zero.
    let y = (from_first * from_first - x * x).max(0.0).sqrt();
    let along = way / base;
    let left = Vector2::new(-along.y, along.x);
    Some(first + along * x + left * y)
}

/// The strip between two polylines as a mesh, split as [`develop_strip`] splits it.
#[must_use]
pub fn strip_mesh(lower: &[Point3], upper: &[Point3]) -> TriMesh {
    let mut mesh = TriMesh::default();
    for (i, (l, u)) in lower.iter().zip(upper).enumerate() {
        mesh.points.extend([*l, *u]);
        if i > 0 {
            let k = 2 * i as u32;
            mesh.triangles
                .extend([[k - 2, k + 1, k - 1], [k - 2, k, k + 1]]);
        }
    }
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn ring(radius: f64, height: f64, turn: f64, count: usize) -> Vec<Point3> {
        (0..=count)
            .map(|i| turn * i as f64 / count as f64)
            .map(|a| Point3::new(radius * a.cos(), radius * a.sin(), height))
            .collect()
    }

    /// Radius and angle of the circle through three points.
    fn sector(points: &[Point2]) -> (f64, f64) {
        let (a, b, c) = (
            points[0],
            points[points.len() / 2],
            points[points.len() - 1],
        );
        let (p, q) = (b - a, c - a);
        let d = 2.0 * p.perp(&q);
        let centre = a + Vector2::new(
            q.y * p.norm_squared() - p.y * q.norm_squared(),
            p.x * q.norm_squared() - q.x * p.norm_squared(),
        ) / d;
        let radius = (a - centre).norm();
        let length: f64 = points.windows(2).map(|w| (w[1] - w[0]).norm()).sum();
        (radius, length / radius)
    }

    /// Cone of radius 3 and height 4: a sector of 216 degrees and radius 5; of radius 100 and height 240:
    /// slant 260, 138.4615 degrees, arc 628.3185; frustum 150 to 100 over 120: radii 390 and 260 (exact).
    #[test]
    fn cones_and_frusta_develop_to_their_sectors() {
        for (r, h, slant, degrees) in [(3.0, 4.0, 5.0, 216.0), (100.0, 240.0, 260.0, 138.4615)] {
            // The cone without the last hundredth at its tip, where rungs would meet.
            let (low, high) = (ring(r, 0.0, TAU, 4000), ring(0.01 * r, 0.99 * h, TAU, 4000));
            let flat = develop_strip(&low, &high).unwrap();
            let (radius, angle) = sector(&flat.lower);
            assert!((radius / slant - 1.0).abs() < 5e-4, "{radius}");
            assert!(
                (angle.to_degrees() / degrees - 1.0).abs() < 5e-4,
                "{}",
                angle.to_degrees()
            );
            let arc: f64 = flat.lower.windows(2).map(|w| (w[1] - w[0]).norm()).sum();
            assert!((arc / (TAU * r) - 1.0).abs() < 5e-4);
        }
        let flat =
            develop_strip(&ring(150.0, 0.0, TAU, 4000), &ring(100.0, 120.0, TAU, 4000)).unwrap();
        for (line, want) in [(&flat.lower, 390.0), (&flat.upper, 260.0)] {
            let (radius, _) = sector(line);
            assert!((radius / want - 1.0).abs() < 5e-4, "{radius}");
        }
    }

    /// A quarter of a cylinder of radius 80, 83 and 77: 125.6637, 130.3761 and 120.9513 (exact).
    #[test]
    fn a_bend_of_a_right_angle_has_its_arc() {
        for (radius, arc) in [(80.0, 125.6637), (83.0, 130.3761), (77.0, 120.9513)] {
            let quarter = TAU / 4.0;
            let flat = develop_strip(
                &ring(radius, 0.0, quarter, 200),
                &ring(radius, 30.0, quarter, 200),
            )
            .unwrap();
            let end = flat.lower[200];
            assert!(
                (end.x / arc - 1.0).abs() < 5e-4 && end.y.abs() < 1e-9,
                "{end}"
            );
            let top = flat.upper[200];
            assert!((top - Point2::new(end.x, 30.0)).norm() < 1e-6, "{top}");
        }
    }

    #[test]
    fn every_triangle_keeps_its_lengths_on_a_twisted_strip() {
        let low: Vec<Point3> = (0..50)
            .map(|i| f64::from(i) * 0.13)
            .map(|t| Point3::new(100.0 * t.cos(), 90.0 * t.sin(), 5.0 * (3.0 * t).sin()))
            .collect();
        let high: Vec<Point3> = low
            .iter()
            .enumerate()
            .map(|(i, p)| {
                let lean = 6.0 * (i as f64 * 0.4).sin();
                Point3::new(p.x + lean, p.y, p.z + 30.0 + lean)
            })
            .collect();
        let flat = develop_strip(&low, &high).unwrap();
        let mesh = strip_mesh(&low, &high);
        let at = |i: u32| {
            let line = if i.is_multiple_of(2) {
                &flat.lower
            } else {
                &flat.upper
            };
            line[i as usize / 2]
        };
        for t in &mesh.triangles {
            for k in 0..3 {
                let (i, j) = (t[k], t[(k + 1) % 3]);
                let space = (mesh.points[j as usize] - mesh.points[i as usize]).norm();
                assert!(((at(j) - at(i)).norm() - space).abs() < 1e-6);
            }
            let (a, b, c) = (at(t[0]), at(t[1]), at(t[2]));
            assert!((b - a).perp(&(c - a)) > 0.0, "laid down on the same side");
        }
    }

    #[test]
    fn what_is_no_strip_is_refused() {
        let line = ring(10.0, 0.0, 1.0, 4);
        assert_eq!(develop_strip(&[], &[]), None);
        assert_eq!(develop_strip(&line, &line[1..]), None);
        assert_eq!(develop_strip(&line, &line), None);
        let nan = vec![Point3::new(f64::NAN, 0.0, 0.0); 5];
        assert_eq!(develop_strip(&line, &nan), None);
    }
}
