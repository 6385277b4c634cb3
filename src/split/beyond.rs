//! What joints add to a workpiece.

use super::Segments;
use crate::math::Point3;
use crate::mesh::nearest::Nearest;
use crate::mesh::weld::drop_unused_points;
use crate::mesh::{Solid, TriMesh};
use rayon::prelude::*;

/// Nearer to the workpiece's surface than this a point belongs to it (mm).
const ON_IT_MM: f64 = 0.05;

impl Segments {
    /// The triangles of the joined segments that are not on the surface of the workpiece they were cut
    /// from (shop frame, mm): tabs, webs and pins, and what lies within it.
    #[must_use]
    pub fn beyond(&self, workpiece: &Solid) -> TriMesh {
        let Some(surface) = Nearest::new(workpiece.mesh()) else {
            return TriMesh::default();
        };
        let mut all = TriMesh::default();
        for segment in &self.segments {
            let mesh = segment.in_place.mesh();
            let off = |p: &Point3| surface.distance(*p) > ON_IT_MM;
            let off: Vec<bool> = mesh.points.par_iter().map(off).collect();
            let first = all.points.len() as u32;
            all.points.extend(&mesh.points);
            let beyond = mesh
                .triangles
                .iter()
                .filter(|t| t.iter().any(|&i| off.get(i as usize) == Some(&true)));
            all.triangles.extend(beyond.map(|t| t.map(|i| i + first)));
        }
        drop_unused_points(all)
    }
}
