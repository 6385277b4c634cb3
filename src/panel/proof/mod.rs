//! Proofs of a finished panel. Answers: is it what was asked?

pub mod fit;
pub mod positions;
pub mod wall;

pub use fit::{Deepest, FitAt, FitProof, Foot};
pub use wall::{Extreme, Thickness, WallProof};
