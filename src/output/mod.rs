//! Files for the bench: solids, tables, drawings, the report, the sheet. Written whole or not at all.

mod base64;
mod buck_part;
mod budget;
mod cloth_pattern;
mod correction;
mod csv;
pub mod drawing;
mod drilling;
mod fit_part;
mod fixings_part;
mod folder;
mod holes;
mod joint_part;
mod laminate_part;
mod lettering;
mod paging;
mod panel_part;
mod pdf;
mod picture;
mod pieces_part;
mod place;
mod placing;
mod points;
mod pose_part;
mod positions_part;
mod readings;
mod removal_part;
mod report;
mod row;
mod run;
mod seen_from;
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
mod words;
mod written;

pub use correction::{WrittenCorrection, write_correction};
pub use folder::check_folder;
pub use place::{Tape, places};
pub use readings::{Readings, read_readings};
pub use seen_from::seen_from;
pub mod viewer;
pub use points::write_points_pages;
pub use report::{inspection_json, problems_json, run_json};
pub use run::{
    BuckMade, Made, Measured, OwnMade, PositionsMade, Run, StayingOn, TwinMade, Verified,
};
pub use summary::GapSummary;
pub use verdict::verified_json;
pub use written::prove_pieces;

use crate::diag::Problem;
use crate::gap::Front;
use crate::gap::pattern::Paper;
use crate::math::Spine;
use crate::panel::Panel;
use crate::split::Segments;
use drawing::Drawing;
use rayon::prelude::*;
use std::path::{Path, PathBuf};

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
pub(crate) fn own_panel_file(word: &str) -> String {
    format!("panel_{word}.stl")
}

/// The gap in the further positions, and the panels of their own with their segments.
fn position_files(run: Run<'_>) -> Result<Vec<OutFile>, Problem> {
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
        let mut row = segment_files(&title, &own.segments)?;
        for file in &mut row {
            file.path.insert_str(0, &format!("positions/{word}/"));
        }
        files.extend(row);
    }
    Ok(files)
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
    files.extend(threemf::segment_files(name, segments)?);
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
    both_ways("templates/gap", measured, &drawing).into()
}

/// Every piece of cloth at 1:1, whole and on sheets.
fn cloth_files(run: Run<'_>) -> Vec<OutFile> {
    let measured = run.measured;
    let sets = run.layup.map_or(&[][..], |layup| &layup.sets);
    let mut files = Vec::new();
    for set in sets {
        for (i, piece) in set.pieces.iter().enumerate() {
            let Some(drawing) = cloth_pattern::draw(measured, set, piece, i + 1) else {
                continue;
            };
            let name = cloth_pattern::piece_file(set, i + 1);
            files.extend(both_ways(&name, measured, &drawing));
        }
    }
    files
}

/// A drawing at 1:1 as SVG, and on sheets of the job's paper.
fn both_ways(name: &str, measured: &Measured, drawing: &drawing::Drawing) -> [OutFile; 2] {
    let note = format!("Survey {}.", measured.survey_id);
    tiled(name, drawing, measured.paper, &note)
}

/// What a paper is called in the names of files.
fn paper_word(paper: Paper) -> &'static str {
    match paper {
        Paper::A4 => "A4",
        Paper::A3 => "A3",
        Paper::Letter => "Letter",
    }
}

/// A drawing at 1:1 whole, and on sheets of paper.
fn tiled(name: &str, drawing: &Drawing, paper: Paper, note: &str) -> [OutFile; 2] {
    let tiling = paging::Tiling::new(drawing, paper.size_mm(), note);
    let paper = paper_word(paper);
    [
        OutFile::new(format!("{name}.svg"), svg::document(drawing)),
        OutFile::new(
            format!("{name}_{paper}.pdf"),
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
        files.extend(tiled(
            &format!("templates/drilling{of}"),
            &drawing,
            paper,
            "",
        ));
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

/// Writes a survey run: the report, the gap table, the drawings and the sheet.
///
/// # Errors
/// As [`write_all`].
pub fn write_survey(folder: &Path, measured: &Measured) -> Result<Vec<PathBuf>, Problem> {
    folder::write_whole(folder, files_of(measured.into())?)
}

fn files_of(run: Run<'_>) -> Result<Vec<OutFile>, Problem> {
    // Solids and pictures have nothing to do with each other, and both take long.
    let ((solids, papers), views) = rayon::join(
        || rayon::join(|| solid_files(run), || paper_files(run)),
        || views::draw(run),
    );
    let mut files = papers;
    let all: Vec<_> = views.all().collect();
    files.par_extend(all.into_par_iter().map(|view| {
        let path = format!("{}.svg", view.name);
        OutFile::new(path, svg::document(&view.drawing))
    }));
    files.extend(solids?);
    let mut names: Vec<String> = files.iter().map(|file| file.path.clone()).collect();
    names.extend(["report.json".to_owned(), "sheet.html".to_owned()]);
    names.sort();
    let (report, page) = rayon::join(
        || report::report(run, &names),
        || sheet::page(run, &views, &names),
    );
    files.push(OutFile::new("report.json", report));
    files.push(OutFile::new("sheet.html", page));
    Ok(files)
}

/// Tables, and what is cut from paper.
fn paper_files(run: Run<'_>) -> Vec<OutFile> {
    let mut files = vec![OutFile::new("gap.csv", csv::gap_csv(&run.measured.survey))];
    let blank = readings::readings_csv(&run.measured.survey_id, &run.measured.checks);
    files.push(OutFile::new(readings::READINGS_FILE, blank));
    files.extend(template_files(run.measured));
    if let Some((panel, _)) = run.made {
        let spine = &run.measured.survey.spine;
        let (name, front, paper) = (&run.measured.name, run.measured.front, run.measured.paper);
        files.extend(fixing_files("", name, panel, spine, front, paper));
    }
    files.extend(cloth_files(run));
    files
}

/// What is printed.
fn solid_files(run: Run<'_>) -> Result<Vec<OutFile>, Problem> {
    let name = &run.measured.name;
    let mut files = Vec::new();
    if let Some((panel, segments)) = run.made {
        let title = format!("{name}, panel");
        files.push(OutFile::new("panel.stl", stl::binary(&panel.solid, &title)));
        files.extend(segment_files(name, segments)?);
    }
    files.extend(position_files(run)?);
    if let Some(made) = run.twin {
        files.extend(twin_files(name, made, run.measured.paper)?);
    }
    if let Some(made) = run.buck {
        files.extend(buck_files(name, made)?);
    }
    for coupon in run.coupons {
        let title = format!("{name}, coupon {}", coupon.number);
        files.push(OutFile::new(
            coupon_file(coupon.number),
            stl::binary(&coupon.on_bed, &title),
        ));
    }
    Ok(files)
}

#[cfg(test)]
mod fixing_tests;
#[cfg(test)]
pub(crate) mod sample;
#[cfg(test)]
mod tests;
