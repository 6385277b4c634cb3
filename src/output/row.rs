//! The files of one row of segments: each where it sits and on its bed, and all in place in one.

use super::{OutFile, folder, stl, threemf};
use crate::diag::Problem;
use crate::split::{Segment, Segments};
use rayon::prelude::*;
use std::path::{Path, PathBuf};

/// Name of a segment's solid inside `segments/` and `print/`.
pub(super) fn segment_file(number: usize) -> String {
    format!("segment_{number:02}.stl")
}

/// Path of a segment on its bed as 3MF.
pub(super) fn print_3mf(number: usize) -> String {
    format!("print/segment_{number:02}.3mf")
}

/// Path of all segments in place as 3MF.
pub(super) const ALL_IN_PLACE: &str = "segments/all_in_place.3mf";

/// Every segment on its bed, and all of them in place, as 3MF.
fn threemf_files(name: &str, segments: &Segments) -> Result<Vec<OutFile>, Problem> {
    let count = segments.segments.len();
    let object = |segment: &Segment, solid| threemf::Object {
        name: format!("{name}, segment {} of {count}", segment.number),
        solid,
    };
    let in_place = || -> Result<OutFile, Problem> {
        let row = segments.segments.iter();
        let objects: Vec<_> = row.map(|s| object(s, &s.in_place)).collect();
        let bytes = threemf::package(name, &objects)?;
        Ok(OutFile::new(ALL_IN_PLACE, bytes))
    };
    let on_beds = || {
        let row = segments.segments.par_iter();
        row.map(|s| {
            let on_bed = object(s, &s.on_bed);
            let bytes = threemf::package(&on_bed.name.clone(), &[on_bed])?;
            Ok(OutFile::new(print_3mf(s.number), bytes))
        })
        .collect::<Result<Vec<_>, Problem>>()
    };
    let (in_place, on_beds) = rayon::join(in_place, on_beds);
    let mut files = on_beds?;
    files.push(in_place?);
    Ok(files)
}

/// Every segment where it sits and on its bed.
pub(super) fn segment_files(name: &str, segments: &Segments) -> Result<Vec<OutFile>, Problem> {
    let mut files = Vec::new();
    for segment in &segments.segments {
        let file = segment_file(segment.number);
        let title = format!("{name}, segment {}", segment.number);
        files.push(OutFile::new(
            format!("segments/{file}"),
            stl::binary(&segment.in_place, &title),
        ));
        files.push(OutFile::new(
            format!("print/{file}"),
            stl::binary(&segment.on_bed, &title),
        ));
    }
    files.extend(threemf_files(name, segments)?);
    Ok(files)
}

/// Writes the segments of one row alone: each where it sits and on its bed, and all in place in one file.
///
/// # Errors
/// As [`write_all`].
pub fn write_segments(
    folder: &Path,
    name: &str,
    segments: &Segments,
) -> Result<Vec<PathBuf>, Problem> {
    folder::write_whole(folder, segment_files(name, segments)?)
}
