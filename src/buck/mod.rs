//! What is laid up: the laminate, the buck it is laid on, and the cloth cut flat. Answers: what do I lay
//! up on, and how much cloth do I cut?

mod bill;
mod cloth;
mod corner;
mod course;
mod covered;
mod creases;
mod cutter;
mod draft;
mod fault;
pub mod form;
#[cfg(test)]
mod form_tests;
mod holes;
pub mod laminate;
mod layout;
mod layup;
mod marks;
mod moulded;
mod net;
mod patch;
mod plan;
mod ribs;
mod stiffness;
mod strip;

pub use bill::{Areas, Bill, ClothNeed};
pub use cloth::{ClothPiece, ClothSet, ClothTick, MOST_SHEAR, MOST_STRETCH, SHEAR_SHOWS};
pub use covered::{Covered, Stretch};
pub use draft::{Draft, DraftClass, Lifted};
pub use fault::BuckFault;
pub use form::{Buck, BuckOptions, BuckSection, Lift, OnTop};
pub use holes::{Detail, DetailKind};
pub use laminate::{Cloth, Fibre, Laminate, Ply};
pub use layup::{Coats, CureRule, CutOptions, LayupOptions, Way, usual_plies};
pub use moulded::Piece;
pub use plan::{CoreEdge, Layup, LayupSection, Under, plan};
pub use stiffness::{Bends, bending_n_mm};
pub use strip::{Strip, StripSize};
