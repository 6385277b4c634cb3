//! A scan simulator: an exact vehicle, a hand-held depth camera, fusion, and the truth kept.
//!
//! The surfaces are exact to 0.02 mm; what is wrong with a scan comes from how it was taken.

// Each test program uses a part of it; a failed simulation may stop a test.
#![allow(dead_code, unused_imports, clippy::expect_used)]

mod camera;
mod case;
mod fusion;
mod gap_law;
mod marching_cubes;
mod plan;
mod ply;
mod random;
mod scan;
mod section;
mod solids;
mod truth;
mod vehicle;

pub use case::{Case, UpAxis};
pub use gap_law::{Feature, GapLaw};
pub use plan::{Bend, Plan};
pub use ply::write_ply;
pub use random::Random;
pub use scan::{ScanQuality, SimScan, to_parry};
pub use section::{Edge, Section};
pub use truth::{EdgeKind, Truth, TruthStation};
pub use vehicle::{Fastener, Tray, Tyre, Vehicle};
