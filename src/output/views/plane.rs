//! A plane that a solid is cut in, for a drawing of the cut.

use crate::math::{Point2, Point3, Vector3};
use crate::mesh::TriMesh;
use crate::mesh::plane_section::level_section;

/// A plane and how it lies on paper.
pub(super) struct Plane {
    /// What lies at nought of the paper (shop frame, mm).
    pub middle: Point3,
    /// Right on paper, up on paper, toward the reader.
    pub axes: [Vector3; 3],
}

impl Plane {
    /// The closed lines in which a mesh is cut.
    pub fn lines(&self, mesh: &TriMesh) -> Vec<Vec<Point2>> {
        let turned = TriMesh {
            points: mesh
                .points
                .iter()
                .map(|p| {
                    let d = p - self.middle;
                    Point3::from(Vector3::from_fn(|k, _| d.dot(&self.axes[k])))
                })
                .collect(),
            triangles: mesh.triangles.clone(),
        };
        // A little off the plane, so that no point of the solid lies in it.
        level_section(&turned, 0.0137)
            .into_iter()
            .map(|line| line.points.iter().map(|p| p.xy()).collect())
            .filter(|line: &Vec<Point2>| line.len() > 2)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::samples::block;

    #[test]
    fn a_block_is_cut_in_its_own_rectangle() {
        let mesh = block(Point3::new(1.0, 2.0, 3.0), Vector3::new(4.0, 5.0, 6.0));
        let plane = Plane {
            middle: Point3::new(1.0, 4.0, 3.0),
            axes: [Vector3::x(), Vector3::z(), -Vector3::y()],
        };
        let lines = plane.lines(&mesh);
        assert_eq!(lines.len(), 1);
        let low = lines[0].iter().copied().reduce(|a, p| a.inf(&p)).unwrap();
        let high = lines[0].iter().copied().reduce(|a, p| a.sup(&p)).unwrap();
        assert!(low.coords.norm() < 1e-12);
        assert!((high - Point2::new(4.0, 6.0)).norm() < 1e-12);
    }
}
