//! What is laid up: the laminate, the buck it is laid on, and the cloth cut flat. Answers: what do I lay
//! up on, and how much cloth do I cut?

mod corner;
mod course;
mod draft;
mod fault;
pub mod form;
#[cfg(test)]
mod form_tests;
mod holes;
pub mod laminate;
mod layout;
mod marks;
mod moulded;
mod ribs;

pub use draft::{Draft, DraftClass, Lifted};
pub use fault::BuckFault;
pub use form::{Buck, BuckOptions, BuckSection, Lift, OnTop};
pub use holes::{Detail, DetailKind};
pub use laminate::{Cloth, Fibre, Laminate, Ply};
pub use moulded::Piece;
