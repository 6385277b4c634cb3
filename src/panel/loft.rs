//! From outlines in station planes to a closed mesh.

use crate::math::{Point2, Spine};
use crate::mesh::TriMesh;
use std::ops::Range;

/// Outlines with the same number of corners, placed along a spine.
#[derive(Debug)]
pub struct Loft {
    /// Arc length of each outline (mm), rising.
    pub along: Vec<f64>,
    /// Corners of an outline.
    pub count: usize,
    /// All points, outline after outline.
    mesh: TriMesh,
}

/// Which of the two triangles of a side, its outline and its edge.
#[derive(Debug, Clone, Copy)]
pub struct Side {
    /// Corners in the mesh.
    pub triangle: [u32; 3],
    /// The outline it starts from.
    pub outline: usize,
}

impl Loft {
    /// Sweeps `outlines` (anticlockwise, all with as many corners as the first) along the spine and
    /// closes both ends with `cap`, triangles of one outline's corners. The result faces outward.
    pub fn new<'a>(
        spine: &Spine,
        outlines: impl IntoIterator<Item = (f64, &'a [Point2])>,
        cap: &[[u32; 3]],
    ) -> Self {
        let mut mesh = TriMesh::default();
        let mut along = Vec::new();
        let mut count = 0;
        for (s, outline) in outlines {
            let frame = spine.frame_at(s);
            along.push(s);
            count = outline.len();
            mesh.points
                .extend(outline.iter().map(|&p| frame.to_shop(p)));
        }
        let mut loft = Self { along, count, mesh };
        let mut triangles: Vec<[u32; 3]> = cap.to_vec();
        triangles.extend(loft.sides(0..count).map(|side| side.triangle));
        let last = (loft.along.len().saturating_sub(1) * count) as u32;
        triangles.extend(cap.iter().map(|&[a, b, c]| [last + a, last + c, last + b]));
        loft.mesh.triangles = triangles;
        loft
    }

    /// The closed mesh.
    pub fn mesh(&self) -> &TriMesh {
        &self.mesh
    }

    /// The open surface swept by some edges of the outline, numbered by the corner they start at.
    pub fn strip(&self, edges: Range<usize>) -> TriMesh {
        TriMesh {
            points: self.mesh.points.clone(),
            triangles: self.sides(edges).map(|side| side.triangle).collect(),
        }
    }

    /// Triangles swept by some edges of the outline. Each four-sided patch is parted along its shorter
    /// diagonal.
    pub fn sides(&self, edges: Range<usize>) -> impl Iterator<Item = Side> + '_ {
        let bays = self.along.len().saturating_sub(1);
        (0..bays).flat_map(move |outline| {
            edges.clone().flat_map(move |edge| {
                let next = (edge + 1) % self.count;
                let at = |outline: usize, corner: usize| outline * self.count + corner;
                let patch = [
                    at(outline, edge),
                    at(outline, next),
                    at(outline + 1, next),
                    at(outline + 1, edge),
                ];
                let point = |i: usize| self.mesh.points[patch[i]];
                let [a, b, c, d] = patch.map(|i| i as u32);
                let straight = (point(2) - point(0)).norm() <= (point(3) - point(1)).norm() + 1e-9;
                let pair = if straight {
                    [[a, d, c], [a, c, b]]
                } else {
                    [[a, d, b], [b, d, c]]
                };
                pair.map(|triangle| Side { triangle, outline })
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Point3;

    #[test]
    fn a_bar_round_a_bend_has_the_volume_of_its_path() {
        // Pappus: area times the path of the centroid; the centroid runs 10 mm outside a radius of 50.
        let points: Vec<Point3> = (0..=90)
            .map(|d| {
                let a = f64::from(d).to_radians();
                Point3::new(50.0 * a.cos(), 50.0 * a.sin(), 0.0)
            })
            .collect();
        let spine = Spine::fit(&points, &vec![1.0; points.len()], 5.0, 0.0).unwrap();
        let square: Vec<Point2> = [(8.0, 1.0), (12.0, 1.0), (12.0, 5.0), (8.0, 5.0)]
            .map(|(x, z)| Point2::new(x, z))
            .to_vec();
        let n = 60;
        let outlines = (0..=n).map(|i| {
            (
                spine.length() * f64::from(i) / f64::from(n),
                square.as_slice(),
            )
        });
        let loft = Loft::new(&spine, outlines, &[[0, 1, 2], [0, 2, 3]]);
        let path = 16.0 * 60.0 * std::f64::consts::FRAC_PI_2;
        assert!((loft.mesh().signed_volume() / path - 1.0).abs() < 1e-3);
        assert_eq!(loft.mesh().triangles.len(), 2 * 2 + 8 * n as usize);
    }

    #[test]
    fn nothing_makes_nothing() {
        let points = [Point3::origin(), Point3::new(0.0, 100.0, 0.0)];
        let spine = Spine::fit(&points, &[1.0; 2], 20.0, 0.0).unwrap();
        let loft = Loft::new(&spine, [], &[]);
        assert!(loft.mesh().triangles.is_empty());
    }
}
