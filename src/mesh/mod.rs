//! Triangle meshes: topology, sections, measures, closed solids and their booleans. No units, frame
//! names or files in here.

pub(crate) mod first_seen;
pub mod pieces;
pub mod plane_section;
pub mod solid;
pub mod tri_mesh;
pub mod weld;

pub use solid::{Solid, SolidFault};
pub use tri_mesh::TriMesh;
