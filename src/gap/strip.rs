//! A scan unrolled along the spine: every small face with its station, offset, height and direction.

use crate::math::locator::Locator;
use crate::math::{Point3, Spine};
use crate::mesh::TriMesh;
use rayon::prelude::*;

/// A face of a scan in spine coordinates.
#[derive(Debug, Clone, Copy)]
pub struct Face {
    /// Arc length (mm).
    pub s: f64,
    /// Outward offset from the spine (mm).
    pub x: f64,
    /// Height above the shop plane (mm).
    pub z: f64,
    /// Part of the unit normal that points outward.
    pub nx: f64,
    /// Part of the unit normal that points up.
    pub nz: f64,
    /// Area (mm2).
    pub area: f64,
}

/// What part of space around the spine is unrolled (mm).
#[derive(Debug, Clone, Copy)]
pub struct Reach {
    /// Least and greatest outward offset.
    pub across: [f64; 2],
    /// Least and greatest height above the shop plane.
    pub height: [f64; 2],
    /// How far past the spine's ends.
    pub beyond: f64,
}

/// Faces of a scan near the spine, in order of their arc length.
#[derive(Debug, Clone)]
pub struct Strip {
    faces: Vec<Face>,
}

impl Strip {
    /// Unrolls the faces of `mesh` within reach of the spine.
    #[must_use]
    pub fn unroll(mesh: &TriMesh, spine: &Spine, reach: &Reach) -> Self {
        let widest = reach.across[0].abs().max(reach.across[1].abs());
        let locator = Locator::new(spine, widest, reach.beyond);
        let mut faces: Vec<Face> = (0..mesh.triangles.len())
            .into_par_iter()
            .filter_map(|t| face_of(mesh, t, &locator, reach))
            .collect();
        // The order within one place must not depend on the threads: `collect` keeps that of the mesh
        // and a stable sort keeps it too.
        faces.par_sort_by(|a, b| a.s.total_cmp(&b.s));
        Self { faces }
    }

    /// Faces with an arc length from `from` up to `to` (mm).
    #[must_use]
    pub fn between(&self, from: f64, to: f64) -> &[Face] {
        let a = self.faces.partition_point(|f| f.s < from);
        let b = self.faces.partition_point(|f| f.s < to).max(a);
        &self.faces[a..b]
    }
}

fn face_of(mesh: &TriMesh, t: usize, locator: &Locator, reach: &Reach) -> Option<Face> {
    let [a, b, c] = mesh.corners(t);
    let z = (a.z + b.z + c.z) / 3.0;
    if z < reach.height[0] || z > reach.height[1] {
        return None;
    }
    let centre = Point3::from((a.coords + b.coords + c.coords) / 3.0);
    let (s, x, outward) = locator.locate_facing(centre.xy())?;
    if x < reach.across[0] || x > reach.across[1] {
        return None;
    }
    let area = mesh.area_vector(t);
    let normal = area.try_normalize(1e-12)?;
    Some(Face {
        s,
        x,
        z,
        nx: normal.dot(&outward),
        nz: normal.z,
        area: 0.5 * area.norm(),
    })
}
