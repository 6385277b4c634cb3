//! Triangle meshes: topology, sections, measures, closed solids and their booleans. No units, frame
//! names or files in here.

mod banded;
pub mod boolean;
pub mod boundary;
mod box_tree;
mod convex_gap;
pub mod develop;
pub(crate) mod first_seen;
pub mod flatten;
pub mod measure;
pub mod nearest;
mod nesting;
pub mod pieces;
pub mod plane_section;
#[cfg(test)]
pub(crate) mod samples;
pub mod self_cross;
pub mod solid;
pub mod sweep;
#[cfg(test)]
mod sweep_tests;
pub mod thickness;
pub mod thin;
pub mod topology;
pub mod tri_mesh;
pub mod weld;

pub use solid::{Solid, SolidFault};
pub use tri_mesh::TriMesh;
