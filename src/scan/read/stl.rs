//! STL, binary and text.
//!
//! The text form is read here and not by `stl_io`, which refuses upper case, a nameless solid and a
//! normal that is not finite, and ignores every solid after the first; phones and converters write all
//! of these.

use super::{Raw, ReadFault, text};
use crate::diag::Finding;
use crate::math::Point3;
use crate::mesh::weld::Welder;
use std::io::{self, Read, Seek, SeekFrom};

/// Bytes before the triangle count.
const HEADER: usize = 80;
/// Bytes before the first triangle.
const PREAMBLE: usize = 84;
/// Bytes of a triangle.
const RECORD: usize = 50;

/// Triangles a binary STL promises, `None` where the file is too short to say.
fn promised(bytes: &[u8]) -> Option<u32> {
    bytes
        .get(HEADER..PREAMBLE)?
        .try_into()
        .ok()
        .map(u32::from_le_bytes)
}

/// Whether the length is that of a binary STL with the count it states.
pub(super) fn has_binary_length(bytes: &[u8]) -> bool {
    promised(bytes)
        .is_some_and(|n| bytes.len() as u64 == PREAMBLE as u64 + RECORD as u64 * u64::from(n))
}

/// Reads a binary STL; equal corners become one point.
pub(super) fn read_binary(bytes: &[u8]) -> Result<Raw, ReadFault> {
    let Some(count) = promised(bytes) else {
        return Err(ReadFault::truncated(
            format!("an STL header of {PREAMBLE} bytes"),
            format!("{} bytes", bytes.len()),
        ));
    };
    let room = bytes.len() - PREAMBLE;
    let held = room / RECORD;
    if count as usize > held {
        return Err(ReadFault::truncated(
            format!("{count} triangles"),
            format!("{held}"),
        ));
    }
    let rest = &bytes[PREAMBLE + RECORD * count as usize..];
    let mut notes = Vec::new();
    if !rest.iter().all(|b| matches!(b, 0 | b'\r' | b'\n' | b' ')) {
        // Either the count or the length of the header is wrong, and then every triangle is.
        return Err(ReadFault::HeaderLies(format!(
            "it states {count} triangles, after which {} bytes are left over",
            rest.len()
        )));
    }
    if !rest.is_empty() {
        notes.push(Finding::note(
            "bytes-after-the-end",
            format!(
                "{} blank bytes follow the last triangle and were passed over",
                rest.len()
            ),
        ));
    }
    let mut source = BlankHeader { bytes, at: 0 };
    let reader = stl_io::create_stl_reader(&mut source).map_err(damaged)?;
    let mut welder = Welder::default();
    let mut triangles = Vec::with_capacity(held);
    for triangle in reader {
        let corners = triangle.map_err(damaged)?.vertices;
        triangles.push(corners.map(|c| welder.add(Point3::from(c.0.map(f64::from)))));
    }
    Ok(Raw {
        points: welder.into_points(),
        triangles,
        notes,
        ..Raw::default()
    })
}

fn damaged(error: io::Error) -> ReadFault {
    ReadFault::Malformed {
        place: "a triangle".into(),
        what: error.to_string(),
    }
}

/// The file with zeros for its header, because `stl_io` takes a binary file whose header begins with
/// "solid" for a text.
struct BlankHeader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Read for BlankHeader<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let end = if self.at < HEADER {
            HEADER
        } else {
            self.bytes.len()
        };
        let rest = self.bytes.get(self.at..end).unwrap_or_default();
        let n = rest.len().min(out.len());
        out[..n].copy_from_slice(&rest[..n]);
        if self.at < HEADER {
            out[..n].fill(0);
        }
        self.at += n;
        Ok(n)
    }
}

impl Seek for BlankHeader<'_> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let SeekFrom::Start(at) = to else {
            return Err(io::ErrorKind::Unsupported.into());
        };
        self.at = usize::try_from(at)
            .unwrap_or(usize::MAX)
            .min(self.bytes.len());
        Ok(at)
    }
}

/// Reads a text STL: any case, named or not, one solid or several, quads and larger loops as fans.
pub(super) fn read_text(bytes: &[u8]) -> Result<Raw, ReadFault> {
    let mut welder = Welder::default();
    let mut raw = Raw::default();
    let mut corners: Vec<u32> = Vec::with_capacity(4);
    let mut open_solid = false;
    for (number, line) in text::lines(bytes) {
        let mut words = text::words(line);
        let Some(key) = words.next() else { continue };
        let key = key.to_ascii_lowercase();
        match key.as_slice() {
            b"vertex" => {
                let p = text::three_numbers(words)
                    .ok_or_else(|| ReadFault::line(number, "a vertex needs three numbers"))?;
                corners.push(welder.add(Point3::from(p)));
            }
            b"endfacet" => {
                if corners.len() < 3 {
                    return Err(ReadFault::line(
                        number,
                        format!("a facet with {} corners", corners.len()),
                    ));
                }
                raw.push_fan(corners.drain(..));
            }
            b"facet" if !corners.is_empty() => {
                return Err(ReadFault::line(number, "a facet begins inside another"));
            }
            b"facet" | b"outer" | b"endloop" => {}
            b"solid" => open_solid = true,
            b"endsolid" | b"end" => open_solid = false,
            _ => return Err(ReadFault::line(number, "this is no line of an STL text")),
        }
    }
    if open_solid || !corners.is_empty() {
        return Err(ReadFault::truncated(
            "a solid with its end",
            format!("{} triangles and no end", raw.triangles.len()),
        ));
    }
    raw.points = welder.into_points();
    Ok(raw)
}
