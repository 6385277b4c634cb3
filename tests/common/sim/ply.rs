//! Binary PLY files.

use gapwright::mesh::TriMesh;
use std::io::{BufWriter, Result, Write};
use std::path::Path;

/// Writes little-endian binary PLY with 32-bit coordinates, as scanners do.
pub fn write_ply(path: &Path, mesh: &TriMesh) -> Result<()> {
    let mut out = BufWriter::new(std::fs::File::create(path)?);
    write!(
        out,
        "ply\nformat binary_little_endian 1.0\ncomment simulated scan\nelement vertex {}\n\
         property float x\nproperty float y\nproperty float z\nelement face {}\n\
         property list uchar int vertex_indices\nend_header\n",
        mesh.points.len(),
        mesh.triangles.len()
    )?;
    for p in &mesh.points {
        for c in p.iter() {
            out.write_all(&(*c as f32).to_le_bytes())?;
        }
    }
    for t in &mesh.triangles {
        out.write_all(&[3])?;
        for i in t {
            out.write_all(&i.to_le_bytes())?;
        }
    }
    out.flush()
}
