//! Which overhanging faces need support, and how much: not those on the bed or closer to it than a layer is
//! thick, and not ceilings too narrow to sag.

use super::estimate::{SUPPORT_FILL, overhang_limit};
use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;

/// A ceiling narrower than this (mm) is bridged by the first bead across it: a groove, a letter. Common
/// practice, no source.
const BRIDGED_MM: f64 = 1.5;
/// At least this share of a narrow ceiling's rim must hang on a wall that goes on down: lets a groove that
/// is open at one side through and stops the underside of what hangs in the air.
const HELD_SHARE: f64 = 0.25;
/// Thickness of a layer (mm). What hangs lower than that over the bed has no room for support: it comes down
/// to the bed. And the last layer of a support is laid full, for the face to lie on. Common practice, no
/// source.
pub const LAYER_MM: f64 = 0.2;
/// No triangle beyond the edge.
const NONE: u32 = u32::MAX;

/// What faces that need support ask for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Support {
    /// Area of the faces (mm2).
    pub(super) area_mm2: f64,
    /// Plastic under them, down to the bed (mm3).
    pub(super) plastic_mm3: f64,
}

impl Support {
    /// Adds a triangle, each corner with its height over the bed: what of it hangs higher than a layer.
    pub(super) fn add(&mut self, corners: &[(Point3, f64); 3], up: &Vector3) {
        let mut above: Vec<(Point3, f64)> = Vec::with_capacity(4);
        for k in 0..3 {
            let (a, b) = (&corners[k], &corners[(k + 1) % 3]);
            if a.1 >= LAYER_MM {
                above.push(*a);
            }
            if (a.1 >= LAYER_MM) != (b.1 >= LAYER_MM) {
                let share = (LAYER_MM - a.1) / (b.1 - a.1);
                above.push((a.0 + (b.0 - a.0) * share, LAYER_MM));
            }
        }
        let Some(first) = above.first() else {
            return;
        };
        for pair in above.windows(2).skip(1) {
            let twice = (pair[0].0 - first.0).cross(&(pair[1].0 - first.0));
            let shadow = twice.dot(up).abs() / 2.0;
            let high = (first.1 + pair[0].1 + pair[1].1) / 3.0;
            self.area_mm2 += twice.norm() / 2.0;
            self.plastic_mm3 += shadow * (LAYER_MM + SUPPORT_FILL * (high - LAYER_MM));
        }
    }
}

/// The triangles of a closed mesh with those across their edges.
pub(super) struct Overhangs<'a> {
    mesh: &'a TriMesh,
    across: Vec<[u32; 3]>,
}

impl<'a> Overhangs<'a> {
    pub(super) fn new(mesh: &'a TriMesh) -> Self {
        let mut edges: Vec<([u32; 2], usize, usize)> = Vec::with_capacity(3 * mesh.triangles.len());
        for (i, t) in mesh.triangles.iter().enumerate() {
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                edges.push(([a.min(b), a.max(b)], i, k));
            }
        }
        edges.sort_unstable();
        let mut across = vec![[NONE; 3]; mesh.triangles.len()];
        for pair in edges.chunk_by(|x, y| x.0 == y.0) {
            if let [(_, i, k), (_, j, l)] = *pair {
                across[i][k] = j as u32;
                across[j][l] = i as u32;
            }
        }
        Self { mesh, across }
    }

    /// Marks the triangles that need support with `up` to the top and the bed at the height `bed` along it.
    pub(super) fn find(&self, up: &Vector3, bed: f64) -> Vec<bool> {
        let limit = overhang_limit();
        let mesh = self.mesh;
        let normal = |i: usize| mesh.area_vector(i);
        let mut marked: Vec<bool> = (0..mesh.triangles.len())
            .map(|i| {
                let n = normal(i);
                let above = || {
                    let corners = mesh.corners(i);
                    corners.iter().any(|p| p.coords.dot(up) - bed > LAYER_MM)
                };
                -n.dot(up) > limit * n.norm() && above()
            })
            .collect();
        let mut seen = vec![false; marked.len()];
        for first in 0..marked.len() {
            if !marked[first] || seen[first] {
                continue;
            }
            seen[first] = true;
            let mut patch = vec![first];
            let (mut next, mut area, mut rim, mut held) = (0, 0.0, 0.0, 0.0);
            while let Some(&i) = patch.get(next) {
                next += 1;
                let n = normal(i);
                area += n.norm() / 2.0;
                let corners = mesh.corners(i);
                for k in 0..3 {
                    let other = self.across[i][k] as usize;
                    if marked.get(other) == Some(&true) {
                        if !seen[other] {
                            seen[other] = true;
                            patch.push(other);
                        }
                        continue;
                    }
                    let length = (corners[(k + 1) % 3] - corners[k]).norm();
                    rim += length;
                    if other < marked.len() {
                        let beyond = mesh.corners(other);
                        let off = beyond.iter().map(|p| (p - corners[k]).dot(&n));
                        // The face across the edge goes down from the ceiling.
                        if off.fold(f64::NEG_INFINITY, f64::max) > 1e-3 * n.norm() {
                            held += length;
                        }
                    }
                }
            }
            // A strip's area over half of its rim is its width.
            if 2.0 * area < BRIDGED_MM * rim && held >= HELD_SHARE * rim {
                for i in patch {
                    marked[i] = false;
                }
            }
        }
        marked
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Point3;
    use crate::mesh::samples::block;
    use crate::mesh::{Solid, boolean};

    fn bar(at: [f64; 3], size: [f64; 3]) -> Solid {
        Solid::new(block(Point3::from(at), Vector3::from(size))).unwrap()
    }

    fn area(solid: &Solid) -> f64 {
        let mesh = solid.mesh();
        let marked = Overhangs::new(mesh).find(&Vector3::z(), 0.0);
        (0..marked.len())
            .filter(|&i| marked[i])
            .map(|i| mesh.area_vector(i).norm() / 2.0)
            .sum()
    }

    /// A groove across the front of a block, level: its ceiling is its depth wide.
    #[test]
    fn the_ceiling_of_a_shallow_groove_is_bridged_and_that_of_a_deep_one_is_not() {
        let whole = bar([0.0; 3], [30.0, 20.0, 30.0]);
        for (deep, want) in [(1.2, 0.0), (5.0, 150.0)] {
            let groove = bar([-1.0, -1.0, 10.0], [40.0, 1.0 + deep, 4.0]);
            let made = boolean::subtract(&whole, &[&groove]).unwrap().unwrap();
            assert!((area(&made) - want).abs() < 0.01, "{deep} {}", area(&made));
        }
    }

    /// A plate 1 mm thick that hangs from an arm begins in the air.
    #[test]
    fn a_narrow_edge_in_the_air_needs_support() {
        let post = bar([0.0; 3], [10.0, 10.0, 50.0]);
        let arm = bar([5.0, 0.0, 40.0], [35.0, 10.0, 10.0]);
        let plate = bar([39.0, 0.0, 20.0], [1.0, 10.0, 25.0]);
        let made = boolean::unite(&[&post, &arm, &plate]).unwrap().unwrap();
        assert!((area(&made) - 300.0).abs() < 0.01, "{}", area(&made));
    }
}
