//! The one gate every solid passes: closed, edge-manifold, outward, at the precision a file stores.

use super::TriMesh;
use thiserror::Error;

/// A mesh that is proved to be one or more closed, edge-manifold, outward-facing bodies.
#[derive(Debug, Clone, PartialEq)]
pub struct Solid {
    mesh: TriMesh,
}

/// Why a mesh is not a [`Solid`].
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SolidFault {
    /// There is nothing there.
    #[error("the mesh has no triangles")]
    Empty,
}

impl Solid {
    /// The checked mesh.
    #[must_use]
    pub fn mesh(&self) -> &TriMesh {
        &self.mesh
    }
}
