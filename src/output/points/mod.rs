//! A page to take points from a scan: one file, no network, opens from disk.

mod page;

use super::viewer;
use crate::diag::Problem;
use crate::math::robust::quantile;
use crate::mesh::TriMesh;
use crate::mesh::nearest::Nearest;
use crate::mesh::thin::thin;
use crate::scan::Inspection;
use std::ffi::OsString;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Triangles a page shows, at most: a phone still turns them.
const MOST_TRIANGLES: usize = 150_000;

/// Points of a thinned scan whose distance from what is shown is measured.
const SAMPLE: usize = 4000;

/// What of a scan is shown, in the file's unit and axes.
struct Shown {
    mesh: TriMesh,
    /// 95 of 100 points of the scan lie within this of `mesh` (mm); `None` where all of it is shown.
    deviation_mm: Option<f64>,
    /// What the page rounds coordinates by, at most (mm).
    rounding_mm: f64,
}

impl Shown {
    fn of(seen: &Inspection) -> Self {
        let mut mesh = thin(&seen.mesh, MOST_TRIANGLES);
        let thinned = mesh.triangles.len() < seen.mesh.triangles.len();
        let deviation_mm = thinned.then(|| deviation(&seen.mesh, &mesh)).flatten();
        let rounding_mm = viewer::rounding(&mesh);
        for p in &mut mesh.points {
            p.coords /= seen.source.unit.millimetres();
        }
        Self {
            mesh,
            deviation_mm,
            rounding_mm,
        }
    }
}

fn deviation(full: &TriMesh, thinned: &TriMesh) -> Option<f64> {
    let near = Nearest::new(thinned)?;
    let stride = full.points.len().div_ceil(SAMPLE).max(1);
    let points = full.points.iter().step_by(stride);
    let mut all: Vec<f64> = points.map(|&p| near.distance(p)).collect();
    quantile(&mut all, 0.95)
}

/// Writes a page for each scan into `folder`, named after the scan's file, and gives their paths.
///
/// An earlier page of ours is replaced, whole or not at all.
///
/// # Errors
/// A [`Problem`] if something else has the page's name, or `folder` cannot be written.
pub fn write_points_pages(folder: &Path, seen: &[Inspection]) -> Result<Vec<PathBuf>, Problem> {
    let mut written: Vec<PathBuf> = Vec::new();
    for scan in seen {
        let path = &scan.source.path;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        // Two scans in different folders may have one name.
        let target = (1..)
            .map(|n| folder.join(page_name(path, n)))
            .find(|target| !written.contains(target))
            .unwrap_or_default();
        check_ours(&target)?;
        write(&target, &page::page(&name, scan, &Shown::of(scan))).map_err(|error| {
            Problem::new(
                format!("the page to take points on cannot be written ({error})"),
                "run the command in a folder where you may write, or leave the page out with --no-page",
            )
            .at(target.display())
        })?;
        written.push(target);
    }
    Ok(written)
}

fn page_name(scan: &Path, number: usize) -> OsString {
    let mut name = scan.file_stem().unwrap_or_default().to_owned();
    if number > 1 {
        name.push(format!("-{number}"));
    }
    name.push(".points.html");
    name
}

/// That the place is free or holds a page of ours.
fn check_ours(target: &Path) -> Result<(), Problem> {
    let mut head = Vec::new();
    let ours = match fs::File::open(target) {
        Err(error) => error.kind() == io::ErrorKind::NotFound,
        Ok(file) => {
            file.take(1000).read_to_end(&mut head).is_ok()
                && String::from_utf8_lossy(&head).contains(page::MARK)
        }
    };
    if ours {
        return Ok(());
    }
    Err(Problem::new(
        "this was not written by gapwright, and is left alone",
        "move or rename it, run the command in another folder, or leave the page out with --no-page",
    )
    .at(target.display()))
}

/// Under another name first, so that a page is never half written.
fn write(target: &Path, text: &str) -> io::Result<()> {
    let mut name = OsString::from(".");
    name.push(target.file_name().unwrap_or_default());
    name.push(format!(".{}", std::process::id()));
    let draft = target.with_file_name(name);
    fs::write(&draft, text)
        .and_then(|()| fs::rename(&draft, target))
        .inspect_err(|_| {
            let _ = fs::remove_file(&draft);
        })
}

#[cfg(test)]
mod tests;
