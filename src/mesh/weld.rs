//! Welding: points that are the same place become one point, so that triangles share corners.

use super::TriMesh;
use super::first_seen::FirstSeen;
use crate::math::{Point3, Vector3};

/// Collects points one by one and numbers each place once.
///
/// Two points are the same place where all three coordinates are equal to the last bit (`-0.0` counts
/// as `0.0`). Numbers follow the order of first sight, so the result does not depend on hashing.
#[derive(Debug, Default)]
pub struct Welder {
    points: Vec<Point3>,
    seen: FirstSeen,
}

impl Welder {
    /// The number of the point's place, a new one where it was not seen before.
    pub fn add(&mut self, point: Point3) -> u32 {
        // Adding zero turns -0.0 into 0.0 and leaves everything else as it is.
        let point = point.map(|c| c + 0.0);
        let next = u32::try_from(self.points.len()).unwrap_or(u32::MAX);
        let points = &self.points;
        let key = point.coords.map(f64::to_bits);
        let same = |i: u32| points[i as usize].coords.map(f64::to_bits) == key;
        let hash_of = |i: u32| hash_bits(points[i as usize]);
        let index = self
            .seen
            .find_or_insert(hash_bits(point), next, same, hash_of);
        if index == next {
            self.points.push(point);
        }
        index
    }

    /// The places in the order of first sight.
    #[must_use]
    pub fn into_points(self) -> Vec<Point3> {
        self.points
    }
}

fn hash_bits(point: Point3) -> u64 {
    super::first_seen::mix([point.x.to_bits(), point.y.to_bits(), point.z.to_bits()])
}

/// Makes one point of all points that lie within `tolerance` of each other, equal ones included.
///
/// A point joins the first kept point within the tolerance, so no point moves further than that.
/// Triangles keep their number and order; corners that were joined leave triangles without area, which
/// the caller drops. Points that are not finite are left alone. The order of the points that stay is
/// kept.
#[must_use]
pub fn weld_near(mesh: TriMesh, tolerance: f64) -> TriMesh {
    // Sorting along a skew direction and looking only a tolerance ahead finds all close pairs. The
    // direction is skew because scans are often sampled on a grid along the axes, where a sweep along
    // an axis would meet whole planes of points at once.
    let direction = Vector3::new(0.732_050_8, 0.527_046_3, 0.431_662_4).normalize();
    let mut order: Vec<(f64, u32)> = mesh
        .points
        .iter()
        .zip(0u32..)
        .map(|(p, i)| (p.coords.dot(&direction), i))
        .filter(|(d, _)| d.is_finite())
        .collect();
    order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));

    let mut joins: Vec<u32> = (0u32..).take(mesh.points.len()).collect();
    let mut any = false;
    let squared = tolerance * tolerance;
    for (k, &(at, i)) in order.iter().enumerate() {
        if joins[i as usize] != i {
            continue;
        }
        let here = mesh.points[i as usize];
        for &(_, j) in order[k + 1..].iter().take_while(|o| o.0 - at <= tolerance) {
            if joins[j as usize] == j && (mesh.points[j as usize] - here).norm_squared() <= squared
            {
                joins[j as usize] = i;
                any = true;
            }
        }
    }
    if !any {
        return mesh;
    }
    let triangles = mesh
        .triangles
        .iter()
        .map(|t| t.map(|i| joins.get(i as usize).copied().unwrap_or(i)))
        .collect();
    drop_unused_points(TriMesh {
        points: mesh.points,
        triangles,
    })
}

/// Drops the points no triangle uses; the others keep their order.
#[must_use]
pub fn drop_unused_points(mesh: TriMesh) -> TriMesh {
    with_points_used(&mesh.points, mesh.triangles)
}

/// A mesh of these triangles over `points`, with the points they use in the order given.
#[must_use]
pub fn with_points_used(points: &[Point3], mut triangles: Vec<[u32; 3]>) -> TriMesh {
    let mut number = vec![u32::MAX; points.len()];
    for i in triangles.iter().flatten() {
        if let Some(n) = number.get_mut(*i as usize) {
            *n = 0;
        }
    }
    let mut used = Vec::new();
    for (n, point) in number.iter_mut().zip(points).filter(|(n, _)| **n == 0) {
        *n = used.len() as u32;
        used.push(*point);
    }
    for i in triangles.iter_mut().flatten() {
        *i = number.get(*i as usize).copied().unwrap_or(u32::MAX);
    }
    TriMesh {
        points: used,
        triangles,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn welder_numbers_places_in_the_order_of_first_sight() {
        let mut w = Welder::default();
        let p = |x| Point3::new(x, 0.0, 0.0);
        let got: Vec<u32> = [3.0, 1.0, 3.0, -0.0, 0.0, 1.0]
            .map(|x| w.add(p(x)))
            .to_vec();
        assert_eq!(got, [0, 1, 0, 2, 2, 1]);
        assert_eq!(w.into_points(), [p(3.0), p(1.0), p(0.0)]);
    }

    #[test]
    fn near_points_join_and_far_points_do_not() {
        let p = |x, y| Point3::new(x, y, 0.0);
        let mesh = TriMesh {
            points: vec![
                p(0.0, 0.0),
                p(1.0, 0.0),
                p(0.0, 1.0),
                p(1.0005, 0.0),
                p(0.0, 1.002),
                p(2.0, 2.0),
            ],
            triangles: vec![[0, 1, 2], [3, 5, 4]],
        };
        let got = weld_near(mesh, 1e-3);
        assert_eq!(
            got.points.len(),
            5,
            "only the pair half a tolerance apart joins"
        );
        let shared: Vec<u32> = got.triangles[0]
            .iter()
            .filter(|i| got.triangles[1].contains(i))
            .copied()
            .collect();
        assert_eq!(shared.len(), 1);
    }

    #[test]
    fn points_that_are_not_finite_and_empty_meshes_pass() {
        assert_eq!(weld_near(TriMesh::default(), 1.0), TriMesh::default());
        let mesh = TriMesh {
            points: vec![
                Point3::new(f64::NAN, 0.0, 0.0),
                Point3::origin(),
                Point3::origin(),
            ],
            triangles: vec![[0, 1, 2]],
        };
        let got = weld_near(mesh, 0.0);
        assert_eq!(got.points.len(), 2);
        assert_eq!(got.triangles[0][1], got.triangles[0][2]);
    }

    proptest! {
        /// Welding a soup of a grid's triangles gives the grid's points back, whatever the jitter below
        /// the tolerance.
        #[test]
        fn soup_of_a_grid_welds_to_the_grid(n in 1usize..6, jitter in proptest::collection::vec(-1.0f64..1.0, 6 * 36 * 3)) {
            let mut soup = TriMesh::default();
            let mut k = 0;
            for x in 0..n {
                for y in 0..n {
                    for (dx, dy) in [(0, 0), (1, 0), (1, 1), (0, 0), (1, 1), (0, 1)] {
                        let j = |k: usize| 1e-4 * jitter[k % jitter.len()];
                        soup.points.push(Point3::new((x + dx) as f64 + j(k), (y + dy) as f64 + j(k + 1), j(k + 2)));
                        k += 3;
                    }
                }
            }
            soup.triangles = (0..soup.points.len() as u32 / 3).map(|t| [3 * t, 3 * t + 1, 3 * t + 2]).collect();
            let got = weld_near(soup, 1e-3);
            prop_assert_eq!(got.points.len(), (n + 1) * (n + 1));
        }
    }
}
