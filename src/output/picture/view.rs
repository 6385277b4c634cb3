//! Which way a picture looks.

use crate::math::{Point3, Vector3};

/// Directions of a picture, square to each other and of length one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    right: Vector3,
    up: Vector3,
    toward: Vector3,
}

impl View {
    /// Looks from the direction `from` with `up` upward; directions that do not make a view give one from
    /// above.
    #[must_use]
    pub fn from(from: Vector3, up: Vector3) -> Self {
        let toward = from.try_normalize(1e-9);
        let right = toward.and_then(|t| up.cross(&t).try_normalize(1e-9));
        match (toward, right) {
            (Some(toward), Some(right)) => Self {
                right,
                up: toward.cross(&right),
                toward,
            },
            _ => Self {
                right: Vector3::x(),
                up: Vector3::y(),
                toward: Vector3::z(),
            },
        }
    }

    /// As a maker sees it who stands outside, a step to the right, and looks down on it. Shop frame.
    #[must_use]
    pub fn from_outside() -> Self {
        Self::from(Vector3::new(1.0, 0.55, 0.6), Vector3::z())
    }

    /// From inside the vehicle, a step to the left: the hidden side. Shop frame.
    #[must_use]
    pub fn from_inside() -> Self {
        Self::from(Vector3::new(-1.0, 0.45, 0.7), Vector3::z())
    }

    /// Right, up and nearness of a point.
    pub(super) fn turned(&self, p: Point3) -> [f64; 3] {
        [self.right, self.up, self.toward].map(|way| way.dot(&p.coords))
    }

    /// A direction seen in the picture: right, up, and toward the eye.
    #[must_use]
    pub fn seen(&self, way: Vector3) -> Vector3 {
        Vector3::new(
            self.right.dot(&way),
            self.up.dot(&way),
            self.toward.dot(&way),
        )
    }
}
