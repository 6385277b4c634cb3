//! Files for the bench: solids, tables, drawings, the report, the sheet. Written whole or not at all.

mod csv;
pub mod drawing;
mod folder;
mod points;
mod report;
mod sheet;
mod stl;
mod summary;
pub mod svg;
pub mod viewer;
mod views;

pub use folder::check_folder;
pub use points::write_points_pages;
pub use report::{inspection_json, problems_json, run_json};
pub use summary::GapSummary;

use crate::diag::{Finding, Problem, Weight};
use crate::gap::Survey;
use crate::panel::Panel;
use crate::scan::Scene;
use crate::split::Segments;
use std::path::{Path, PathBuf};

/// What a survey run has to show.
#[derive(Debug, Clone)]
pub struct Measured {
    /// The job's name for the part.
    pub name: String,
    /// The scans in the shop frame.
    pub scene: Scene,
    /// The gap.
    pub survey: Survey,
}

/// What a full run has to show.
#[derive(Debug, Clone)]
pub struct Made {
    /// The scans and the gap.
    pub measured: Measured,
    /// The panel.
    pub panel: Panel,
    /// Its segments.
    pub segments: Segments,
}

/// A run's results, as far as the run went.
#[derive(Debug, Clone, Copy)]
pub struct Run<'a> {
    /// The scans and the gap.
    pub measured: &'a Measured,
    /// The panel and its segments, where they were made.
    pub made: Option<(&'a Panel, &'a Segments)>,
}

impl<'a> From<&'a Measured> for Run<'a> {
    fn from(measured: &'a Measured) -> Self {
        Self {
            measured,
            made: None,
        }
    }
}

impl<'a> From<&'a Made> for Run<'a> {
    fn from(made: &'a Made) -> Self {
        Self {
            measured: &made.measured,
            made: Some((&made.panel, &made.segments)),
        }
    }
}

impl<'a> Run<'a> {
    /// Everything found on the way, each once, warnings first, otherwise in the order of the stages.
    /// A stage may hand on what an earlier one found.
    #[must_use]
    pub fn findings(&self) -> Vec<&'a Finding> {
        let mut all: Vec<&Finding> = self.measured.scene.findings.iter().collect();
        all.extend(&self.measured.survey.findings);
        if let Some((panel, segments)) = self.made {
            all.extend(&panel.findings);
            all.extend(&segments.findings);
        }
        let mut once: Vec<&Finding> = Vec::new();
        for finding in all {
            if !once.contains(&finding) {
                once.push(finding);
            }
        }
        once.sort_by_key(|finding| std::cmp::Reverse(finding.weight));
        once
    }

    /// The warnings alone.
    #[must_use]
    pub fn warnings(&self) -> Vec<&'a Finding> {
        let mut all = self.findings();
        all.retain(|finding| finding.weight == Weight::Warning);
        all
    }
}

/// A file of a run: its path in the folder, with forward slashes, and its bytes.
struct OutFile {
    path: String,
    bytes: Vec<u8>,
}

impl OutFile {
    fn new(path: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        Self {
            path: path.into(),
            bytes: bytes.into(),
        }
    }
}

/// Name of a segment's solid inside `segments/` and `print/`.
fn segment_file(number: usize) -> String {
    format!("segment_{number:02}.stl")
}

/// Writes a full run: everything `docs/formats.md` lists. The same run gives the same bytes.
///
/// # Errors
/// A [`Problem`] if the folder holds something that is not an earlier run, or cannot be written. Then
/// nothing is left behind and an earlier run is untouched.
pub fn write_all(folder: &Path, made: &Made) -> Result<Vec<PathBuf>, Problem> {
    folder::write_whole(folder, files_of(made.into()))
}

/// Writes a survey run: the report, the gap table, the drawings and the sheet.
///
/// # Errors
/// As [`write_all`].
pub fn write_survey(folder: &Path, measured: &Measured) -> Result<Vec<PathBuf>, Problem> {
    folder::write_whole(folder, files_of(measured.into()))
}

fn files_of(run: Run<'_>) -> Vec<OutFile> {
    let mut files = vec![OutFile::new("gap.csv", csv::gap_csv(&run.measured.survey))];
    let views = views::draw(run);
    for view in views.all() {
        files.push(OutFile::new(
            format!("{}.svg", view.name),
            svg::document(&view.drawing),
        ));
    }
    if let Some((panel, segments)) = run.made {
        let name = &run.measured.name;
        files.push(OutFile::new(
            "panel.stl",
            stl::binary(&panel.solid, &format!("{name}, panel")),
        ));
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
    }
    let mut names: Vec<String> = files.iter().map(|file| file.path.clone()).collect();
    names.extend(["report.json".to_owned(), "sheet.html".to_owned()]);
    names.sort();
    files.push(OutFile::new("report.json", report::report(run, &names)));
    files.push(OutFile::new("sheet.html", sheet::page(run, &views, &names)));
    files
}

#[cfg(test)]
pub(crate) mod sample;
#[cfg(test)]
mod tests;
