//! Scan files, read into flat arrays in file units. One file a format.

mod fault;
mod gltf;
mod obj;
mod ply;
mod ply_header;
mod stl;
mod text;

pub use fault::ReadFault;

use super::{Removed, Unit};
use crate::diag::Finding;
use crate::math::Point3;
use crate::mesh::TriMesh;
use sha2::{Digest, Sha256};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// A scan as its file holds it.
#[derive(Debug, Clone, PartialEq)]
pub struct RawScan {
    /// Points and triangles in file units and in the file's own axes. Every index points at a point;
    /// points may be not finite, but at least one triangle is.
    pub mesh: TriMesh,
    /// The unit where the format fixes it (glTF: metres), `None` where the file does not say.
    pub unit: Option<Unit>,
    /// SHA-256 of the file, lower-case hexadecimal.
    pub sha256: String,
    /// Triangles in the file, polygons counted as the triangles of their fan.
    pub triangles: usize,
    /// Points in the file; for STL, which repeats them, the distinct ones.
    pub points: usize,
    /// Triangles that could not be kept (counted as degenerate).
    pub removed: Removed,
    /// What is worth knowing about the file.
    pub notes: Vec<Finding>,
}

/// Points, triangles and remarks as one format's reader gives them, indices still unchecked.
#[derive(Debug, Default)]
struct Raw {
    points: Vec<Point3>,
    triangles: Vec<[u32; 3]>,
    /// Faces with fewer than three corners.
    short_faces: usize,
    notes: Vec<Finding>,
}

impl Raw {
    /// Adds a polygon as a fan round its first corner. A corner that is no index at all (negative, or
    /// past 32 bits) becomes one that points nowhere and is counted later.
    fn push_fan(&mut self, corners: impl IntoIterator<Item = u32>) {
        let mut corners = corners.into_iter();
        let (Some(first), Some(mut previous)) = (corners.next(), corners.next()) else {
            self.short_faces += 1;
            return;
        };
        let before = self.triangles.len();
        for corner in corners {
            self.triangles.push([first, previous, corner]);
            previous = corner;
        }
        self.short_faces += usize::from(self.triangles.len() == before);
    }
}

/// File formats, told by content.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Format {
    BinaryStl,
    TextStl,
    Ply,
    Obj,
    Glb,
    GltfText,
}

impl Format {
    fn name(self) -> &'static str {
        match self {
            Self::BinaryStl | Self::TextStl => "STL",
            Self::Ply => "PLY",
            Self::Obj => "OBJ",
            Self::Glb | Self::GltfText => "glTF",
        }
    }

    fn of_extension(path: &Path) -> Option<&'static str> {
        let extension = path.extension()?.to_str()?.to_ascii_lowercase();
        Some(match extension.as_str() {
            "stl" => "STL",
            "ply" => "PLY",
            "obj" => "OBJ",
            "glb" | "gltf" => "glTF",
            _ => return None,
        })
    }
}

/// Reads a scan file: STL (binary or text), PLY (text or binary), OBJ or GLB.
///
/// The content decides the format; an extension of another format is a fault, because one of the two is
/// not what the maker thinks it is, and an extension that names no format is let be. A few triangles with
/// indices that point nowhere (up to one in a hundred) are dropped and counted.
///
/// # Errors
///
/// See [`ReadFault`]; each has a hint. No file content makes this panic.
pub fn read_mesh(path: &Path) -> Result<RawScan, ReadFault> {
    let about = std::fs::metadata(path).map_err(ReadFault::from_io)?;
    if about.is_dir() {
        return Err(ReadFault::Folder);
    }
    let bytes = std::fs::read(path).map_err(ReadFault::from_io)?;
    let told = Format::of_extension(path);
    let (sha256, raw) = rayon::join(
        || hex(&Sha256::digest(&bytes)),
        // The formats' libraries may panic on what their authors did not foresee.
        || {
            catch_unwind(AssertUnwindSafe(|| read_bytes(&bytes, told)))
                .unwrap_or(Err(ReadFault::Unforeseen))
        },
    );
    let (format, raw) = raw?;
    drop(bytes);

    let (points, triangles) = (raw.points.len(), raw.triangles.len());
    let unit = (format.name() == "glTF").then_some(Unit::Metre);
    if let Some(told) = told.filter(|t| *t != format.name()) {
        return Err(ReadFault::WrongName {
            told,
            holds: format.name(),
        });
    }
    let mut mesh = TriMesh {
        points: raw.points,
        triangles: raw.triangles,
    };
    let dropped = drop_bad_indices(&mut mesh)?;
    if mesh.triangles.is_empty() {
        return Err(ReadFault::NoTriangles { points });
    }
    let finite = |p: &Point3| p.iter().all(|c| c.is_finite());
    if !(0..mesh.triangles.len()).any(|t| mesh.corners(t).iter().all(finite)) {
        return Err(ReadFault::NotFinite);
    }
    Ok(RawScan {
        mesh,
        unit,
        sha256,
        triangles,
        points,
        removed: Removed {
            degenerate: dropped + raw.short_faces,
            ..Removed::default()
        },
        notes: raw.notes,
    })
}

fn read_bytes(bytes: &[u8], told: Option<&str>) -> Result<(Format, Raw), ReadFault> {
    let format = tell_format(bytes, told)?;
    let raw = match format {
        Format::BinaryStl => stl::read_binary(bytes),
        Format::TextStl => stl::read_text(bytes),
        Format::Ply => ply::read(bytes),
        Format::Obj => obj::read(bytes),
        Format::Glb => gltf::read_glb(bytes),
        Format::GltfText => Err(ReadFault::GltfInPieces),
    }?;
    Ok((format, raw))
}

/// Tells the format by content. The extension is asked only about a binary STL, which has no mark of
/// its own, when its length does not fit its count.
fn tell_format(bytes: &[u8], told: Option<&str>) -> Result<Format, ReadFault> {
    if bytes.is_empty() {
        return Err(ReadFault::Empty);
    }
    if bytes.starts_with(b"glTF") {
        return Ok(Format::Glb);
    }
    if bytes.starts_with(b"ply\n") || bytes.starts_with(b"ply\r") || bytes == b"ply" {
        return Ok(Format::Ply);
    }
    // A binary STL may begin with "solid" like a text: its length settles it (84 + 50 n bytes).
    if stl::has_binary_length(bytes) {
        return Ok(Format::BinaryStl);
    }
    let head = &bytes[..bytes.len().min(4096)];
    if head.starts_with(&[0xff, 0xfe]) || head.starts_with(&[0xfe, 0xff]) {
        return Err(ReadFault::WideText);
    }
    if head.contains(&0) {
        return if told == Some("STL") || head.starts_with(b"solid") {
            Ok(Format::BinaryStl)
        } else {
            Err(ReadFault::UnknownFormat)
        };
    }
    let word = text::first_word(head);
    if word.eq_ignore_ascii_case(b"solid") {
        return Ok(Format::TextStl);
    }
    if word.starts_with(b"{") && told == Some("glTF") {
        return Ok(Format::GltfText);
    }
    if obj::looks_like(head) {
        return Ok(Format::Obj);
    }
    match told {
        Some("STL") if !head.is_ascii() => Ok(Format::BinaryStl),
        Some("OBJ") if head.is_ascii() => Ok(Format::Obj),
        _ => Err(ReadFault::UnknownFormat),
    }
}

/// Drops triangles with an index that points nowhere and counts them.
fn drop_bad_indices(mesh: &mut TriMesh) -> Result<usize, ReadFault> {
    let of = mesh.triangles.len();
    let points = mesh.points.len();
    mesh.triangles
        .retain(|t| t.iter().all(|&i| (i as usize) < points));
    let bad = of - mesh.triangles.len();
    // One in a hundred passes: an exporter's slip. More means that the file is not what it seems.
    if bad * 100 > of {
        return Err(ReadFault::BadIndices { bad, of });
    }
    Ok(bad)
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::with_capacity(64), |mut s, b| {
        // Writing to a String cannot fail.
        let _ = write!(s, "{b:02x}");
        s
    })
}
