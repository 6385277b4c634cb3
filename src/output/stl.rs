//! Binary STL, the format of stereolithography since 1989: an 80-byte title, a count, and 50 bytes for
//! each triangle, little-endian, f32.

use crate::math::{Point3, Vector3};
use crate::mesh::Solid;

/// Bytes of the title.
const TITLE: usize = 80;

/// Writes a solid. The title must not begin with "solid", which readers take for the text form, so it
/// begins with our name; what is not ASCII is written as "?".
pub(super) fn binary(solid: &Solid, title: &str) -> Vec<u8> {
    let mesh = solid.mesh();
    let mut bytes = Vec::with_capacity(TITLE + 4 + 50 * mesh.triangles.len());
    let title = format!("gapwright, mm: {title}");
    bytes.extend(
        title
            .chars()
            .map(|c| {
                if (' '..='~').contains(&c) {
                    c as u8
                } else {
                    b'?'
                }
            })
            .chain(std::iter::repeat(b' '))
            .take(TITLE),
    );
    bytes.extend((mesh.triangles.len() as u32).to_le_bytes());
    for triangle in 0..mesh.triangles.len() {
        // The normal is that of the corners as stored, so that a reader finds no contradiction.
        let corners = mesh.corners(triangle).map(|p| p.map(|v| v as f32));
        let [a, b, c]: [Point3; 3] = corners.map(|p| p.map(f64::from));
        let normal = (b - a)
            .cross(&(c - a))
            .try_normalize(0.0)
            .unwrap_or_else(Vector3::zeros);
        for value in normal.iter() {
            bytes.extend((*value as f32).to_le_bytes());
        }
        for corner in corners {
            for value in corner.iter() {
                bytes.extend(value.to_le_bytes());
            }
        }
        bytes.extend([0, 0]);
    }
    bytes
}
