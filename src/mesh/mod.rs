//! Triangle meshes: topology, sections, measures, closed solids and their booleans. No units, frame
//! names or files in here.

pub(crate) mod first_seen;
pub mod pieces;
pub mod boolean;
mod box_tree;
pub mod measure;
mod nesting;
pub mod plane_section;
pub mod nearest;
#[cfg(test)]
pub(crate) mod samples;
pub mod self_cross;
pub mod solid;
pub mod topology;
pub mod tri_mesh;
pub mod weld;

pub use solid::{Solid, SolidFault};
pub use tri_mesh::TriMesh;
