//! A mesh with fewer triangles, for pictures and picking.

use super::TriMesh;
use super::weld::with_points_used;
use crate::math::{Point3, Vector3};
use rayon::prelude::*;

/// Times the cells may be made larger.
const MOST_TRIES: usize = 24;

/// Thins `mesh` to at most `most` triangles by clustering its points in a grid of cubes; a mesh that is
/// small enough comes back as it is.
///
/// Each cube's points become one: not their mean but the given point nearest to the mean, so that every
/// point of the result is a point of `mesh`, to the last bit. Triangles with two corners in one cube go,
/// and so do repeats. After J. Rossignac and P. Borrel, Multi-resolution 3D approximations for rendering
/// complex scenes (1993), who take the mean or the weightiest point.
///
/// Triangles must have finite corners. The triangles come back in another order, facing as before. The
/// surface may move by up to a cube's diagonal; two sheets nearer than that may grow together. Measure it
/// where that matters.
#[must_use]
pub fn thin(mesh: &TriMesh, most: usize) -> TriMesh {
    let count = mesh.triangles.len();
    let Some((low, high)) = mesh.bounds().filter(|_| count > most) else {
        return mesh.clone();
    };
    let area: f64 = (0..count).map(|t| mesh.area_vector(t).norm() / 2.0).sum();
    // A flat sheet square to the grid leaves two triangles a cell, a slanting one more.
    let mut cell = (2.5 * area / most.max(1) as f64).sqrt();
    let size = high - low;
    // No index may pass 2^20 cells.
    cell = cell.max(size.max() / f64::from(1 << 20));
    if cell.is_nan() || cell <= 0.0 {
        return TriMesh::default();
    }
    let mut triangles = Vec::new();
    for _ in 0..MOST_TRIES {
        triangles = joined(mesh, &nearest_to_mean(mesh, low, cell));
        if triangles.len() <= most {
            break;
        }
        cell *= (triangles.len() as f64 / most.max(1) as f64)
            .sqrt()
            .max(1.03);
    }
    with_points_used(&mesh.points, triangles)
}

/// For each point the one that stands for its cell.
fn nearest_to_mean(mesh: &TriMesh, low: Point3, cell: f64) -> Vec<u32> {
    let mut order: Vec<(u64, u32)> = mesh
        .points
        .par_iter()
        .enumerate()
        .map(|(i, p)| {
            let [x, y, z]: [u64; 3] = ((p - low) / cell).map(|c| c as u64).into();
            ((x << 42) | (y << 21) | z, i as u32)
        })
        .collect();
    order.par_sort_unstable();
    let mut stands: Vec<u32> = vec![0; mesh.points.len()];
    for group in order.chunk_by(|a, b| a.0 == b.0) {
        let at = |i: u32| mesh.points[i as usize] - low;
        let sum: Vector3 = group.iter().map(|&(_, i)| at(i)).sum();
        let mean = sum / group.len() as f64;
        let nearest = group.iter().map(|&(_, i)| i).min_by(|&a, &b| {
            let far = |i: u32| (at(i) - mean).norm_squared();
            far(a).total_cmp(&far(b)).then(a.cmp(&b))
        });
        for &(_, i) in group {
            stands[i as usize] = nearest.unwrap_or(i);
        }
    }
    stands
}

/// The triangles between the standing points, each once, lowest corner first, in order.
fn joined(mesh: &TriMesh, stands: &[u32]) -> Vec<[u32; 3]> {
    let mut triangles: Vec<[u32; 3]> = mesh
        .triangles
        .iter()
        .map(|t| t.map(|i| stands[i as usize]))
        .filter(|[a, b, c]| a != b && b != c && c != a)
        .map(|[a, b, c]| match a.min(b).min(c) {
            least if least == a => [a, b, c],
            least if least == b => [b, c, a],
            _ => [c, a, b],
        })
        .collect();
    triangles.par_sort_unstable();
    triangles.dedup();
    triangles
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::nearest::Nearest;
    use std::f64::consts::PI;

    /// A quarter of a tube of radius 100 and length 200, facing outward.
    fn quarter_tube(n: u32) -> TriMesh {
        let at = |i: u32, k: u32| {
            let turn = PI / 2.0 * f64::from(i) / f64::from(n);
            let along = 200.0 * f64::from(k) / f64::from(n);
            Point3::new(100.0 * turn.cos(), 100.0 * turn.sin(), along)
        };
        let points = (0..=n).flat_map(|i| (0..=n).map(move |k| at(i, k)));
        let number = |i: u32, k: u32| i * (n + 1) + k;
        let triangles = (0..n)
            .flat_map(|i| (0..n).map(move |k| (i, k)))
            .flat_map(|(i, k)| {
                let [a, b, c, d] =
                    [(i, k), (i + 1, k), (i + 1, k + 1), (i, k + 1)].map(|(i, k)| number(i, k));
                [[a, b, c], [a, c, d]]
            });
        TriMesh {
            points: points.collect(),
            triangles: triangles.collect(),
        }
    }

    #[test]
    fn the_points_are_the_scans_own_and_the_surface_stays_near() {
        let full = quarter_tube(200);
        let thinned = thin(&full, 4000);
        let count = thinned.triangles.len();
        assert!((2000..=4000).contains(&count), "{count}");
        assert!(thinned.points.iter().all(|p| full.points.contains(p)));
        // Cells of about 5 mm: a chord across two of them leaves the tube by 10 * 10 / (8 * 100) mm.
        let near = Nearest::new(&thinned).unwrap();
        let inner = full.points.iter().filter(|p| {
            let turn = p.y.atan2(p.x);
            (10.0..190.0).contains(&p.z) && (0.1..PI / 2.0 - 0.1).contains(&turn)
        });
        let farthest = inner.map(|&p| near.distance(p)).fold(0.0, f64::max);
        assert!(farthest < 0.3, "{farthest}");
    }

    #[test]
    fn triangles_still_face_outward() {
        let thinned = thin(&quarter_tube(100), 2000);
        let inward = (0..thinned.triangles.len()).filter(|&t| {
            let [a, b, c] = thinned.corners(t);
            let out = (a.coords + b.coords + c.coords).component_mul(&Vector3::new(1.0, 1.0, 0.0));
            thinned.area_vector(t).dot(&out) < 0.0
        });
        assert_eq!(inward.count(), 0);
    }

    #[test]
    fn small_flat_and_empty_meshes_are_safe() {
        let small = quarter_tube(4);
        assert_eq!(thin(&small, 32), small);
        assert_eq!(thin(&TriMesh::default(), 0), TriMesh::default());
        assert!(thin(&small, 0).triangles.is_empty());
        let dot = TriMesh {
            points: vec![Point3::origin(); 3],
            triangles: vec![[0, 1, 2]; 5],
        };
        assert!(thin(&dot, 2).triangles.is_empty());
    }
}
