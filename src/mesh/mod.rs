//! Triangle meshes: topology, sections, measures, closed solids and their booleans. No units, frame
//! names or files in here.

pub mod boolean;
mod box_tree;
pub mod measure;
pub mod nearest;
mod nesting;
#[cfg(test)]
pub(crate) mod samples;
pub mod self_cross;
pub mod solid;
pub mod topology;
pub mod tri_mesh;

pub use solid::{Solid, SolidFault};
pub use tri_mesh::TriMesh;
