//! Points and triangles in flat arrays.

use crate::math::{Point3, Vector3};

/// A triangle mesh. Corners run anticlockwise seen from the side a triangle faces.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TriMesh {
    /// Points.
    pub points: Vec<Point3>,
    /// Corner indices into `points`.
    pub triangles: Vec<[u32; 3]>,
}

impl TriMesh {
    /// The three corners of a triangle.
    #[must_use]
    pub fn corners(&self, triangle: usize) -> [Point3; 3] {
        self.triangles[triangle].map(|i| self.points[i as usize])
    }

    /// Twice the area of a triangle along its normal.
    #[must_use]
    pub fn area_vector(&self, triangle: usize) -> Vector3 {
        let [a, b, c] = self.corners(triangle);
        (b - a).cross(&(c - a))
    }

    /// Puts another mesh beside this one; nothing is joined.
    pub fn append(&mut self, other: &Self) {
        let first = self.points.len() as u32;
        self.points.extend(&other.points);
        let moved = other.triangles.iter().map(|t| t.map(|i| i + first));
        self.triangles.extend(moved);
    }

    /// Volume by the divergence theorem: positive where a closed mesh faces outward.
    #[must_use]
    pub fn signed_volume(&self) -> f64 {
        let Some(&origin) = self.points.first() else {
            return 0.0;
        };
        (0..self.triangles.len())
            .map(|t| {
                let [a, b, c] = self.corners(t).map(|p| p - origin);
                a.dot(&b.cross(&c)) / 6.0
            })
            .sum()
    }

    /// Least and greatest corner of the box round the points, `None` without points.
    #[must_use]
    pub fn bounds(&self) -> Option<(Point3, Point3)> {
        let first = *self.points.first()?;
        Some(
            self.points
                .iter()
                .fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p))),
        )
    }
}
