//! Geometry without meshes: curves, fits, robust statistics.

pub mod bspline;
pub mod chi_square;
pub mod locator;
pub mod piecewise;
pub mod plane_fit;
pub mod rigid_fit;
pub mod robust;
pub mod spine;

pub use spine::{Spine, StationFrame};

/// A point in the plane (mm).
pub type Point2 = nalgebra::Point2<f64>;
/// A vector in the plane (mm).
pub type Vector2 = nalgebra::Vector2<f64>;
/// A point in space (mm).
pub type Point3 = nalgebra::Point3<f64>;
/// A vector in space (mm).
pub type Vector3 = nalgebra::Vector3<f64>;
