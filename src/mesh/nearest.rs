//! Closest points and rays against a triangle mesh.

use super::TriMesh;
use crate::math::{Point3, Vector3};
use parry3d_f64::math::Vector;
use parry3d_f64::query::{PointQuery, PointQueryWithLocation, Ray, RayCast};
use parry3d_f64::shape;

/// A mesh made ready for closest points and rays.
pub struct Nearest {
    mesh: shape::TriMesh,
}

impl Nearest {
    /// Makes `mesh` ready. Gives `None` where it has no triangles or points that are not finite.
    #[must_use]
    pub fn new(mesh: &TriMesh) -> Option<Self> {
        let count = mesh.points.len() as u32;
        let sound = mesh.points.iter().all(|p| p.iter().all(|v| v.is_finite()))
            && mesh.triangles.iter().flatten().all(|&i| i < count);
        if !sound {
            return None;
        }
        let points = mesh.points.iter().map(|&p| vector(p)).collect();
        let mesh = shape::TriMesh::new(points, mesh.triangles.clone()).ok()?;
        Some(Self { mesh })
    }

    /// Distance from `point` to the closest point of the surface.
    #[must_use]
    pub fn distance(&self, point: Point3) -> f64 {
        let p = vector(point);
        (self.mesh.project_local_point(p, false).point - p).length()
    }

    /// Closest point of the surface.
    #[must_use]
    pub fn closest(&self, point: Point3) -> Point3 {
        let p = self.mesh.project_local_point(vector(point), false).point;
        Point3::new(p.x, p.y, p.z)
    }

    /// Distance from `origin` along the unit vector `way` to the first triangle within `reach`, from
    /// either side of it.
    #[must_use]
    pub fn ray(&self, origin: Point3, way: Vector3, reach: f64) -> Option<f64> {
        let ray = Ray::new(vector(origin), Vector::new(way.x, way.y, way.z));
        self.mesh.cast_local_ray(&ray, reach, false)
    }

    /// Closest point of the surface and the triangle it lies on.
    #[must_use]
    pub fn closest_on(&self, point: Point3) -> (Point3, usize) {
        let (found, (triangle, _)) = self
            .mesh
            .project_local_point_and_get_location(vector(point), false);
        let p = found.point;
        (Point3::new(p.x, p.y, p.z), triangle as usize)
    }

    /// As [`Self::ray`], with the triangle that is met.
    #[must_use]
    pub fn ray_to(&self, origin: Point3, way: Vector3, reach: f64) -> Option<(f64, usize)> {
        let distance = self.ray(origin, way, reach)?;
        let (_, triangle) = self.closest_on(origin + way * distance);
        Some((distance, triangle))
    }
}

#[cfg(test)]
impl Nearest {
    /// Distance of this mesh, moved by `pose`, to another, as the library finds it.
    pub(crate) fn distance_when_moved(&self, pose: &nalgebra::Isometry3<f64>, other: &Self) -> f64 {
        use parry3d_f64::math::Pose;
        let axis = pose.rotation.scaled_axis();
        let moved = Pose::new(
            vector(pose.translation.vector.into()),
            Vector::new(axis.x, axis.y, axis.z),
        );
        parry3d_f64::query::distance(&moved, &self.mesh, &Pose::identity(), &other.mesh)
            .unwrap()
            .distance
    }
}

fn vector(p: Point3) -> Vector {
    Vector::new(p.x, p.y, p.z)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn floor() -> Nearest {
        let points = [(0.0, 0.0), (4.0, 0.0), (0.0, 4.0)];
        Nearest::new(&TriMesh {
            points: points
                .iter()
                .map(|&(x, y)| Point3::new(x, y, 1.0))
                .collect(),
            triangles: vec![[0, 1, 2]],
        })
        .unwrap()
    }

    #[test]
    fn finds_distance_over_face_and_past_a_corner() {
        assert!((floor().distance(Point3::new(1.0, 1.0, 3.5)) - 2.5).abs() < 1e-12);
        assert!((floor().distance(Point3::new(-3.0, -4.0, 1.0)) - 5.0).abs() < 1e-12);
        assert_eq!(
            floor().closest(Point3::new(1.0, 1.0, 9.0)),
            Point3::new(1.0, 1.0, 1.0)
        );
    }

    #[test]
    fn a_ray_hits_from_either_side_within_reach() {
        let up = floor().ray(Point3::new(1.0, 1.0, 0.0), Vector3::z(), 5.0);
        let down = floor().ray(Point3::new(1.0, 1.0, 3.0), -Vector3::z(), 5.0);
        assert_eq!((up, down), (Some(1.0), Some(2.0)));
        assert_eq!(
            floor().ray(Point3::new(1.0, 1.0, 3.0), -Vector3::z(), 1.0),
            None
        );
        assert_eq!(
            floor().ray(Point3::new(9.0, 9.0, 3.0), -Vector3::z(), 5.0),
            None
        );
    }

    #[test]
    fn the_triangle_that_is_met_is_named() {
        let mesh = crate::mesh::samples::block(Point3::origin(), Vector3::repeat(2.0));
        let near = Nearest::new(&mesh).unwrap();
        for way in [Vector3::x(), -Vector3::x(), Vector3::z(), -Vector3::z()] {
            let from = Point3::new(1.0, 0.9, 1.2);
            let (distance, met) = near.ray_to(from, way, 5.0).unwrap();
            let facing = mesh.area_vector(met).normalize();
            assert!((facing - way).norm() < 1e-12);
            let (closest, on) = near.closest_on(from + way * (distance - 0.1));
            assert!((closest - (from + way * distance)).norm() < 1e-12);
            assert!((mesh.area_vector(on).normalize() - way).norm() < 1e-12);
        }
    }

    #[test]
    fn nothing_and_nonsense_are_refused() {
        assert!(Nearest::new(&TriMesh::default()).is_none());
        let mut bad = TriMesh {
            points: vec![Point3::origin(); 3],
            triangles: vec![[0, 1, 7]],
        };
        assert!(Nearest::new(&bad).is_none());
        bad.triangles = vec![[0, 1, 2]];
        bad.points[1].x = f64::NAN;
        assert!(Nearest::new(&bad).is_none());
    }
}
