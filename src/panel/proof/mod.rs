//! Proofs of a finished panel. Answers: is it what was asked, and does it stay on?

pub mod fit;
pub mod heat;
#[cfg(test)]
mod heat_tests;
mod hot_source;
pub mod positions;
pub mod removal;
pub mod strip;
pub mod wall;

pub use fit::{Deepest, FitAt, FitProof, Foot};
pub use heat::{HeatOptions, HeatProof};
pub use hot_source::{HeatSource, SourceHeat};
pub use wall::{Extreme, Thickness, WallProof};
