//! Where the front of the vehicle lies, seen from the gap.

use crate::math::Vector3;

/// Where the vehicle's front lies for a maker who stands outside, faces the vehicle and looks at the gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Front {
    /// Toward the maker: the gap runs across the nose.
    Toward,
    /// Away from the maker: the gap runs across the tail.
    Away,
    /// At the maker's left: the vehicle's left side is looked at.
    Left,
    /// At the maker's right: the vehicle's right side is looked at.
    Right,
}

impl Front {
    /// Unit vector to the front (shop frame: x toward the maker, y to the maker's right).
    #[must_use]
    pub fn direction(self) -> Vector3 {
        match self {
            Self::Toward => Vector3::x(),
            Self::Away => -Vector3::x(),
            Self::Left => -Vector3::y(),
            Self::Right => Vector3::y(),
        }
    }

    /// Where it lies for one who faces the vehicle's other side, or the gap's mirror image.
    #[must_use]
    pub fn mirrored(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
            Self::Toward | Self::Away => self,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beside_a_vehicle_its_front_lies_along_the_gap() {
        // Facing the left flank of a vehicle that points to the left hand: y runs to the right, so the front
        // lies at -y (the design's frame).
        assert_eq!(Front::Left.direction(), -Front::Right.direction());
        assert_eq!(Front::Toward.direction(), Vector3::x());
        // A mirror image in the plane y = 0.
        for front in [Front::Toward, Front::Away, Front::Left, Front::Right] {
            let (here, there) = (front.direction(), front.mirrored().direction());
            assert_eq!((here.x, here.y), (there.x, -there.y));
        }
        assert_eq!(Front::Left.direction().dot(&Vector3::y()), -1.0);
    }
}
