//! Proofs of a finished panel. Answers: is it what was asked, and does it stay on?

pub mod air_load;
#[cfg(test)]
mod air_load_tests;
pub mod fit;
pub mod heat;
#[cfg(test)]
mod heat_tests;
mod hot_source;
mod plate;
pub mod positions;
pub mod removal;
pub mod strip;
pub mod twin;
#[cfg(test)]
mod twin_tests;
pub mod wall;
pub mod walls;

pub use air_load::{AirOptions, LoadProof};
pub use fit::{Deepest, FitAt, FitProof, Foot};
pub use heat::{HeatOptions, HeatProof};
pub use hot_source::{HeatSource, SourceHeat};
pub use twin::{TwinAt, TwinFit};
pub use wall::{Extreme, Thickness, WallProof};
