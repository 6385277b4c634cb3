//! Files for the bench: solids, tables, drawings, the report, the sheet. Written whole or not at all.

mod base64;
mod buck_part;
mod budget;
mod csv;
pub mod drawing;
mod drilling;
mod fit_part;
mod fixings_part;
mod folder;
mod holes;
mod joint_part;
mod laminate_part;
mod paging;
mod panel_part;
mod pdf;
mod picture;
mod pieces_part;
mod placing;
mod points;
mod pose_part;
mod positions_part;
mod readings;
mod removal_part;
mod report;
mod sheet;
mod staying_part;
mod stl;
mod summary;
pub mod svg;
mod template;
mod threemf;
mod twin_part;
mod verdict;
mod views;
mod written;

pub use folder::check_folder;
pub use readings::{Readings, read_readings, write_correction};
pub mod viewer;
pub use points::write_points_pages;
pub use report::{inspection_json, problems_json, run_json};
pub use summary::GapSummary;
pub use verdict::verified_json;
pub use written::prove_pieces;

use crate::buck::{Buck, Layup};
use crate::diag::{Finding, Problem, Weight};
use crate::gap::pattern::Paper;
use crate::gap::position::Setting;
use crate::gap::readings::{Check, Correction, Judgement, ShimList};
use crate::gap::verdict::Outlook;
use crate::gap::{Front, Survey};
use crate::math::Spine;
use crate::panel::proof::positions::PositionsProof;
use crate::panel::proof::removal::RemovalProof;
use crate::panel::proof::{FitProof, HeatProof, LoadProof, TwinFit};
use crate::panel::{Panel, Top, Twin};
use crate::scan::Scene;
use crate::split::pieces::PieceProof;
use crate::split::{Coupon, Segment, Segments};
use drawing::Drawing;
use rayon::prelude::*;
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
    /// Short name of the survey.
    pub survey_id: String,
    /// The gap in the tray's further positions.
    pub positions: Vec<Setting>,
    /// What to read on the vehicle.
    pub checks: Vec<Check>,
    /// What is to be expected of the fit; `None` for a survey without stations.
    pub outlook: Option<Outlook>,
    /// How the panel's top meets the body.
    pub top: Top,
    /// Where the vehicle's front lies, where the job says.
    pub front: Option<Front>,
    /// The paper that templates are printed on.
    pub paper: Paper,
}

/// What readings said about a survey.
#[derive(Debug, Clone)]
pub struct Verified {
    /// The job's name for the part.
    pub name: String,
    /// Short name of the survey as the scans give it.
    pub survey_id: String,
    /// The answer on lengths and gaps, where any were read.
    pub judgement: Option<Judgement>,
    /// Shims, where the fitted panel was read.
    pub shims: Option<ShimList>,
    /// The correction of the survey as the scans give it, where one explains the readings.
    pub correction: Option<Correction>,
    /// Rows that were left blank.
    pub blank: usize,
}

/// A panel of one position's own, and its segments.
#[derive(Debug, Clone)]
pub struct OwnMade {
    /// Which of the further positions it is for.
    pub setting: usize,
    /// The panel.
    pub panel: Panel,
    /// Its segments.
    pub segments: Segments,
}

/// What serves the tray's further positions.
#[derive(Debug, Clone)]
pub struct PositionsMade {
    /// What is left in each.
    pub proof: PositionsProof,
    /// Panels of their own; none where one serves in all.
    pub own: Vec<OwnMade>,
}

/// What a full run has to show.
#[derive(Debug, Clone)]
pub struct Made {
    /// The scans and the gap.
    pub measured: Measured,
    /// The panel.
    pub panel: Panel,
    /// Whether and how the tray comes off.
    pub removal: RemovalProof,
    /// The finished part against both scans.
    pub fit: FitProof,
    /// Air and heat against it.
    pub staying_on: StayingOn,
    /// Its segments.
    pub segments: Segments,
    /// Slices of it to print first.
    pub coupons: Vec<Coupon>,
    /// What serves the tray's further positions, where the job names some.
    pub positions: Option<PositionsMade>,
    /// The panel of the vehicle's other side, where one was asked for.
    pub twin: Option<TwinMade>,
    /// What the part is laid up on, where a buck was asked for.
    pub buck: Option<BuckMade>,
    /// The laminate, where one was asked for.
    pub layup: Option<Layup>,
    /// The proof of every solid; see [`prove_pieces`].
    pub pieces: Vec<PieceProof>,
}

/// A buck and its segments.
#[derive(Debug, Clone)]
pub struct BuckMade {
    /// The buck.
    pub buck: Buck,
    /// Its segments.
    pub segments: Segments,
}

/// What air and heat do to the panel: estimates.
#[derive(Debug, Clone)]
pub struct StayingOn {
    /// The air.
    pub air: LoadProof,
    /// Heat and cold.
    pub heat: HeatProof,
}

/// The panel of the vehicle's other side, split as a workpiece of its own.
#[derive(Debug, Clone)]
pub struct TwinMade {
    /// The panel and its spine, in that side's own shop frame.
    pub twin: Twin,
    /// Its segments.
    pub segments: Segments,
    /// How it fits the other side, where that has a survey of its own.
    pub fit: Option<TwinFit>,
}

/// A run's results, as far as the run went.
#[derive(Debug, Clone, Copy)]
pub struct Run<'a> {
    /// The scans and the gap.
    pub measured: &'a Measured,
    /// The panel and its segments, where they were made.
    pub made: Option<(&'a Panel, &'a Segments)>,
    /// How the tray comes off, where a panel was made.
    pub removal: Option<&'a RemovalProof>,
    /// The finished part against both scans.
    pub fit: Option<&'a FitProof>,
    /// Air and heat against it.
    pub staying_on: Option<&'a StayingOn>,
    /// Slices of the panel to print first.
    pub coupons: &'a [Coupon],
    /// The panel of the vehicle's other side.
    pub twin: Option<&'a TwinMade>,
    /// What serves the tray's further positions.
    pub positions: Option<&'a PositionsMade>,
    /// What the part is laid up on.
    pub buck: Option<&'a BuckMade>,
    /// The laminate.
    pub layup: Option<&'a Layup>,
    /// The proof of every solid.
    pub pieces: &'a [PieceProof],
}

impl<'a> From<&'a Measured> for Run<'a> {
    fn from(measured: &'a Measured) -> Self {
        Self {
            measured,
            made: None,
            removal: None,
            fit: None,
            staying_on: None,
            coupons: &[],
            twin: None,
            positions: None,
            buck: None,
            layup: None,
            pieces: &[],
        }
    }
}

impl<'a> From<&'a Made> for Run<'a> {
    fn from(made: &'a Made) -> Self {
        Self {
            measured: &made.measured,
            made: Some((&made.panel, &made.segments)),
            removal: Some(&made.removal),
            fit: Some(&made.fit),
            staying_on: Some(&made.staying_on),
            coupons: &made.coupons,
            twin: made.twin.as_ref(),
            positions: made.positions.as_ref(),
            buck: made.buck.as_ref(),
            layup: made.layup.as_ref(),
            pieces: &made.pieces,
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
            all.extend(self.removal.iter().flat_map(|proof| &proof.findings));
            all.extend(&segments.findings);
        }
        if let Some(made) = self.twin {
            all.extend(&made.segments.findings);
            all.extend(made.fit.iter().flat_map(|fit| &fit.findings));
        }
        if let Some(made) = self.buck {
            all.extend(&made.buck.findings);
            all.extend(&made.segments.findings);
        }
        if let Some(layup) = self.layup {
            all.extend(&layup.findings);
        }
        if let Some(fit) = self.fit {
            all.extend(&fit.findings);
        }
        if let Some(made) = self.staying_on {
            all.extend(made.air.findings.iter().chain(&made.heat.findings));
        }
        let further = self.measured.positions.iter();
        all.extend(further.flat_map(|setting| &setting.survey.findings));
        if let Some(positions) = self.positions {
            all.extend(&positions.proof.findings);
            let own = positions.own.iter();
            all.extend(own.flat_map(|own| own.panel.findings.iter().chain(&own.segments.findings)));
        }
        all.extend(self.pieces.iter().flat_map(|piece| &piece.findings));
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

/// Table of the gap in a further position.
fn position_csv(word: &str) -> String {
    format!("gap_{word}.csv")
}

/// The panel of a position's own.
fn own_panel_file(word: &str) -> String {
    format!("panel_{word}.stl")
}

/// The gap in the further positions, and the panels of their own with their segments.
fn position_files(run: Run<'_>) -> Vec<OutFile> {
    let settings = &run.measured.positions;
    let mut files: Vec<OutFile> = settings
        .iter()
        .map(|s| OutFile::new(position_csv(&s.word), csv::gap_csv(&s.survey)))
        .collect();
    for own in run.positions.iter().flat_map(|made| &made.own) {
        let Some(setting) = settings.get(own.setting) else {
            continue;
        };
        let (word, name) = (&setting.word, &run.measured.name);
        files.push(OutFile::new(
            own_panel_file(word),
            stl::binary(&own.panel.solid, &format!("{name}, panel, {word}")),
        ));
        let title = format!("{name}, {word}");
        let (front, paper) = (run.measured.front, run.measured.paper);
        let spine = &run.measured.survey.spine;
        files.extend(fixing_files(
            &format!("_{word}"),
            &title,
            &own.panel,
            spine,
            front,
            paper,
        ));
        for segment in &own.segments.segments {
            let file = segment_file(segment.number);
            let title = format!("{name}, {word}, segment {}", segment.number);
            files.extend([
                OutFile::new(
                    format!("positions/{word}/segments/{file}"),
                    stl::binary(&segment.in_place, &title),
                ),
                OutFile::new(
                    format!("positions/{word}/print/{file}"),
                    stl::binary(&segment.on_bed, &title),
                ),
            ]);
        }
    }
    files
}

/// Path of a segment on its bed as 3MF.
fn print_3mf(number: usize) -> String {
    format!("print/segment_{number:02}.3mf")
}

/// The whole panel of the vehicle's other side, and the folder of its segments.
const TWIN_STL: &str = "panel_twin.stl";
const TWIN_FOLDER: &str = "twin/";

/// The whole buck, and the folder of its segments.
const BUCK_STL: &str = "buck/buck.stl";
const BUCK_FOLDER: &str = "buck/";

/// Path of all segments in place as 3MF.
const ALL_IN_PLACE: &str = "segments/all_in_place.3mf";

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
fn segment_files(name: &str, segments: &Segments) -> Result<Vec<OutFile>, Problem> {
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

/// The panel of the vehicle's other side and its segments.
fn twin_files(name: &str, made: &TwinMade, paper: Paper) -> Result<Vec<OutFile>, Problem> {
    let name = format!("{name}, other side");
    let whole = stl::binary(&made.twin.panel.solid, &format!("{name}, panel"));
    let mut files = segment_files(&name, &made.segments)?;
    for file in &mut files {
        file.path.insert_str(0, TWIN_FOLDER);
    }
    files.push(OutFile::new(TWIN_STL, whole));
    files.extend(fixing_files(
        "_twin",
        &name,
        &made.twin.panel,
        &made.twin.spine,
        None,
        paper,
    ));
    Ok(files)
}

/// The buck and its segments.
fn buck_files(name: &str, made: &BuckMade) -> Result<Vec<OutFile>, Problem> {
    let name = format!("{name}, buck");
    let mut files = segment_files(&name, &made.segments)?;
    for file in &mut files {
        file.path.insert_str(0, BUCK_FOLDER);
    }
    files.push(OutFile::new(BUCK_STL, stl::binary(&made.buck.solid, &name)));
    Ok(files)
}

/// The paper template, whole and on sheets.
fn template_files(measured: &Measured) -> Vec<OutFile> {
    let Some(drawing) = template::draw(measured) else {
        return Vec::new();
    };
    let note = format!("Survey {}.", measured.survey_id);
    tiled("gap", &drawing, measured.paper, &note)
}

/// A template whole, and on sheets of paper.
fn tiled(word: &str, drawing: &Drawing, paper: Paper, note: &str) -> Vec<OutFile> {
    let tiling = paging::Tiling::new(drawing, paper.size_mm(), note);
    let paper = match paper {
        Paper::A4 => "A4",
        Paper::A3 => "A3",
        Paper::Letter => "Letter",
    };
    vec![
        OutFile::new(format!("templates/{word}.svg"), svg::document(drawing)),
        OutFile::new(
            format!("templates/{word}_{paper}.pdf"),
            pdf::document(&drawing.title, &tiling.pages(drawing)),
        ),
    ]
}

/// The hole table of a panel's fixings and the drilling template; nothing for a panel without any.
fn fixing_files(
    of: &str,
    name: &str,
    panel: &Panel,
    spine: &Spine,
    front: Option<Front>,
    paper: Paper,
) -> Vec<OutFile> {
    if panel.fixings.is_empty() {
        return Vec::new();
    }
    let mut files = vec![OutFile::new(
        format!("holes{of}.csv"),
        holes::holes_csv(&panel.fixings),
    )];
    let subject = drilling::Subject {
        name,
        panel,
        spine,
        front,
    };
    if let Some(drawing) = drilling::draw(subject) {
        files.extend(tiled(&format!("drilling{of}"), &drawing, paper, ""));
    }
    files
}

/// Name of a coupon's solid in the folder.
fn coupon_file(number: usize) -> String {
    format!("coupons/coupon_{number}.stl")
}

/// Writes a full run: everything `docs/formats.md` lists. The same run gives the same bytes.
///
/// # Errors
/// A [`Problem`] if the folder holds something that is not an earlier run, or cannot be written. Then
/// nothing is left behind and an earlier run is untouched.
pub fn write_all(folder: &Path, made: &Made) -> Result<Vec<PathBuf>, Problem> {
    folder::write_whole(folder, files_of(made.into())?)
}

/// Writes a survey run: the report, the gap table, the drawings and the sheet.
///
/// # Errors
/// As [`write_all`].
pub fn write_survey(folder: &Path, measured: &Measured) -> Result<Vec<PathBuf>, Problem> {
    folder::write_whole(folder, files_of(measured.into())?)
}

fn files_of(run: Run<'_>) -> Result<Vec<OutFile>, Problem> {
    let mut files = vec![OutFile::new("gap.csv", csv::gap_csv(&run.measured.survey))];
    let blank = readings::readings_csv(&run.measured.survey_id, &run.measured.checks);
    files.push(OutFile::new(readings::READINGS_FILE, blank));
    files.extend(template_files(run.measured));
    files.extend(position_files(run));
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
        files.extend(segment_files(name, segments)?);
        let spine = &run.measured.survey.spine;
        let (front, paper) = (run.measured.front, run.measured.paper);
        files.extend(fixing_files("", name, panel, spine, front, paper));
    }
    if let Some(made) = run.twin {
        files.extend(twin_files(&run.measured.name, made, run.measured.paper)?);
    }
    if let Some(made) = run.buck {
        files.extend(buck_files(&run.measured.name, made)?);
    }
    for coupon in run.coupons {
        let title = format!("{}, coupon {}", run.measured.name, coupon.number);
        files.push(OutFile::new(
            coupon_file(coupon.number),
            stl::binary(&coupon.on_bed, &title),
        ));
    }
    let mut names: Vec<String> = files.iter().map(|file| file.path.clone()).collect();
    names.extend(["report.json".to_owned(), "sheet.html".to_owned()]);
    names.sort();
    files.push(OutFile::new("report.json", report::report(run, &names)));
    files.push(OutFile::new("sheet.html", sheet::page(run, &views, &names)));
    Ok(files)
}

#[cfg(test)]
mod fixing_tests;
#[cfg(test)]
pub(crate) mod sample;
#[cfg(test)]
mod tests;
