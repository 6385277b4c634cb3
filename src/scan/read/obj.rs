//! OBJ: points and faces; everything else in the file (texture, normals, groups, materials) is passed
//! over.

use super::{Raw, ReadFault, text};
use crate::diag::Finding;
use crate::math::Point3;

/// Whether a text has a line that an OBJ mesh begins with.
pub(super) fn looks_like(head: &[u8]) -> bool {
    text::lines(head).any(|(_, line)| {
        let mut words = text::words(line);
        words.next() == Some(b"v") && text::three_numbers(words).is_some()
    })
}

/// Reads points and faces. Polygons become fans, negative indices count back from the last point.
pub(super) fn read(bytes: &[u8]) -> Result<Raw, ReadFault> {
    let mut raw = Raw::default();
    let mut joined = Vec::new();
    for (number, line) in text::lines(bytes) {
        // A backslash at the end carries the line on.
        if let Some(part) = line.strip_suffix(b"\\") {
            joined.extend_from_slice(part);
            joined.push(b' ');
            continue;
        }
        let whole = if joined.is_empty() {
            None
        } else {
            joined.extend_from_slice(line);
            Some(std::mem::take(&mut joined))
        };
        let mut words = text::words(whole.as_deref().unwrap_or(line));
        match words.next() {
            Some(b"v") => {
                let p = text::three_numbers(words)
                    .ok_or_else(|| ReadFault::line(number, "a point needs three numbers"))?;
                raw.points.push(Point3::from(p));
            }
            Some(b"f") => {
                let so_far = raw.points.len();
                let mut bad = false;
                raw.push_fan(words.map(|word| {
                    index(word, so_far).unwrap_or_else(|| {
                        bad = true;
                        u32::MAX
                    })
                }));
                if bad {
                    return Err(ReadFault::line(number, "a face needs whole numbers"));
                }
            }
            _ => {}
        }
    }
    if u32::try_from(raw.points.len()).is_err() {
        return Err(ReadFault::TooLarge);
    }
    if !bytes.ends_with(b"\n") {
        raw.notes.push(Finding::note(
            "no-last-line-end",
            "the file does not end with a line end, so its last lines may be missing",
        ));
    }
    Ok(raw)
}

/// The point a face's word such as `7`, `7/1/2` or `-1` names, `u32::MAX` where there is none, `None`
/// where it is no number.
fn index(word: &[u8], so_far: usize) -> Option<u32> {
    let first = word.split(|&b| b == b'/').next()?;
    let named: i64 = std::str::from_utf8(first).ok()?.parse().ok()?;
    let from_zero = match named {
        0 => -1,
        1.. => named - 1,
        _ => i64::try_from(so_far).ok()?.saturating_add(named),
    };
    Some(u32::try_from(from_zero).unwrap_or(u32::MAX))
}
