//! What is laid up: the laminate, the buck it is laid on, and the cloth cut flat. Answers: what do I lay
//! up on, and how much cloth do I cut?

pub mod laminate;

pub use laminate::{Cloth, Fibre, Laminate, Ply};
