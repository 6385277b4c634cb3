//! Volume, area, centroid and box of a closed mesh, by the divergence theorem.

use super::TriMesh;
use crate::math::{Point3, Vector3};

/// What a closed mesh measures, in its own unit of length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measures {
    /// Volume, positive where the mesh faces outward.
    pub volume: f64,
    /// Area of the surface.
    pub area: f64,
    /// Centre of the volume; of the box, where the volume vanishes.
    pub centroid: Point3,
    /// Least and greatest corner of the box.
    pub bounds: (Point3, Point3),
}

/// Measures a closed mesh; `None` without triangles.
///
/// Sums run from a corner of the mesh, so that a small part far from the origin keeps its digits.
#[must_use]
pub fn measure(mesh: &TriMesh) -> Option<Measures> {
    let bounds = mesh.bounds()?;
    let origin = mesh.corners_of_first()?;
    let (mut six_volumes, mut two_areas, mut moment) = (0.0, 0.0, Vector3::zeros());
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t).map(|p| p - origin);
        let six = a.dot(&b.cross(&c));
        six_volumes += six;
        moment += (a + b + c) * six;
        two_areas += (b - a).cross(&(c - a)).norm();
    }
    let centroid = if six_volumes.abs() > f64::MIN_POSITIVE {
        origin + moment / (4.0 * six_volumes)
    } else {
        nalgebra::center(&bounds.0, &bounds.1)
    };
    Some(Measures {
        volume: six_volumes / 6.0,
        area: two_areas / 2.0,
        centroid,
        bounds,
    })
}

impl TriMesh {
    /// First corner of the first triangle.
    fn corners_of_first(&self) -> Option<Point3> {
        let first = self.triangles.first()?;
        self.points.get(first[0] as usize).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::samples::{block, octasphere, right_tetrahedron, torus};

    /// Volume and area of the right tetrahedron from the definition: 1/6 and 3/2 + sqrt(3)/2.
    #[test]
    fn right_tetrahedron_measures_as_defined() {
        let m = measure(&right_tetrahedron()).unwrap();
        assert!((m.volume - 1.0 / 6.0).abs() < 1e-15);
        assert!((m.area - 2.366_025_403_784_439).abs() < 1e-14);
        assert!((m.centroid - Point3::new(0.25, 0.25, 0.25)).norm() < 1e-15);
    }

    #[test]
    fn a_small_block_far_away_keeps_its_digits() {
        let at = Point3::new(1e4, 1e4, 1e4);
        let mut mesh = block(at, Vector3::new(1.0, 1.0, 1.0));
        assert!((measure(&mesh).unwrap().volume - 1.0).abs() < 1e-12);
        for t in &mut mesh.triangles {
            t.swap(1, 2);
        }
        assert!((measure(&mesh).unwrap().volume + 1.0).abs() < 1e-12);
    }

    /// Volumes of the subdivided octahedron, recomputed from the definition.
    #[test]
    fn octahedra_grow_into_a_sphere() {
        let volumes = [
            1.333_333_3,
            2.942_809_0,
            3.817_729_6,
            4.091_600_6,
            4.164_203_6,
            4.182_625_3,
        ];
        for (level, volume) in volumes.into_iter().enumerate() {
            let m = measure(&octasphere(level)).unwrap();
            assert!((m.volume - volume).abs() < 6e-8, "{level}: {}", m.volume);
        }
    }

    /// Pappus: volume 2 pi^2 R r^2, area 4 pi^2 R r; 64 by 64 quads split: recomputed from the definition.
    #[test]
    fn torus_measures_as_pappus_says() {
        let m = measure(&torus(3.0, 1.0, 64, 64)).unwrap();
        assert!((m.volume - 59.027_619).abs() < 1e-6, "{}", m.volume);
        assert!((m.area - 118.268_895).abs() < 1e-6, "{}", m.area);
        let fine = measure(&torus(3.0, 1.0, 1024, 512)).unwrap();
        assert!((fine.volume - 59.217_626).abs() < 3e-3, "{}", fine.volume);
        assert!((fine.area - 118.435_253).abs() < 3e-3, "{}", fine.area);
    }

    #[test]
    fn nothing_measures_nothing() {
        assert_eq!(measure(&TriMesh::default()), None);
    }
}
