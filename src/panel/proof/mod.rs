//! Proofs of a finished panel. Answers: is it what was asked?

pub mod removal;
pub mod wall;

pub use wall::{Extreme, Thickness, WallProof};
