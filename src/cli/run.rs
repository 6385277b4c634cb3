//! Does what was asked for.

use super::args::{Command, UnitArg};
use super::messages::Voice;
use super::paper::{manual, shell_words};
use crate::diag::Problem;
use crate::gap::readings::Verdict;
use crate::job::{Job, ScanNote, quoted, starter};
use crate::output;
use crate::pipeline;
use crate::scan::{self, Inspection, Unit, UnitFrom};
use std::io::Write;
use std::path::{Path, PathBuf};

/// How a run that could be made turned out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    /// Made, or the verdict is go.
    Good,
    /// The verdict is shim or rescan.
    NotGood,
}

/// Does it, and says how it went unless it failed.
pub(super) fn run(command: &Command, voice: &Voice) -> Result<Outcome, Vec<Problem>> {
    match command {
        Command::Verify { job, readings } => return verify(job, readings, voice),
        Command::Inspect {
            scans,
            unit,
            no_page,
        } => {
            let pages = if *no_page {
                Pages::Left
            } else {
                Pages::Written
            };
            inspect(scans, unit.map(unit_meant), pages, voice)?;
        }
        Command::New { body, tray, out } => new(body, tray, out, voice)?,
        Command::Measure { job, out } => measure(job, out.as_deref(), voice)?,
        Command::Make { job, out } => make(job, out.as_deref(), voice)?,
        Command::Completions { shell } => voice.printed(&shell_words(*shell)),
        Command::Manual => voice.printed(&manual()?),
    }
    Ok(Outcome::Good)
}

fn unit_meant(unit: UnitArg) -> Unit {
    match unit {
        UnitArg::Mm => Unit::Millimetre,
        UnitArg::Cm => Unit::Centimetre,
        UnitArg::M => Unit::Metre,
        UnitArg::In => Unit::Inch,
    }
}

/// Whether pages to take points on are written.
enum Pages {
    Written,
    Left,
}

fn inspect(
    scans: &[PathBuf],
    unit: Option<Unit>,
    pages: Pages,
    voice: &Voice,
) -> Result<(), Vec<Problem>> {
    let mut seen = Vec::new();
    let mut problems = Vec::new();
    for path in scans {
        match scan::inspect(path, unit) {
            Ok(inspection) => seen.push(inspection),
            Err(problem) => problems.push(problem.at(path.display())),
        }
    }
    let written = match pages {
        Pages::Left => Vec::new(),
        Pages::Written => {
            output::write_points_pages(Path::new(""), &seen).unwrap_or_else(|problem| {
                problems.push(problem);
                Vec::new()
            })
        }
    };
    if problems.is_empty() || !seen.is_empty() {
        voice.inspected(&seen, &written, &problems);
    }
    if problems.is_empty() {
        Ok(())
    } else {
        Err(problems)
    }
}

/// The job, and the folder its results go to, known to be free before any work starts.
fn read_job(path: &Path, out: Option<&Path>) -> Result<Job, Vec<Problem>> {
    let mut job = Job::read(path)?;
    if let Some(out) = out {
        job.out = out.to_owned();
    }
    output::check_folder(&job.out).map_err(|problem| vec![problem])?;
    Ok(job)
}

fn measure(path: &Path, out: Option<&Path>, voice: &Voice) -> Result<(), Vec<Problem>> {
    let job = read_job(path, out)?;
    let (bar, watch) = voice.watch();
    let measured = pipeline::measure(&job, &watch).map_err(|problem| vec![problem])?;
    output::write_survey(&job.out, &measured).map_err(|problem| vec![problem])?;
    drop(bar);
    voice.made((&measured).into(), &job.out);
    Ok(())
}

fn make(path: &Path, out: Option<&Path>, voice: &Voice) -> Result<(), Vec<Problem>> {
    let job = read_job(path, out)?;
    let (bar, watch) = voice.watch();
    let made = pipeline::make(&job, &watch).map_err(|problem| vec![problem])?;
    output::write_all(&job.out, &made).map_err(|problem| vec![problem])?;
    drop(bar);
    voice.made((&made).into(), &job.out);
    Ok(())
}

fn verify(path: &Path, readings: &Path, voice: &Voice) -> Result<Outcome, Vec<Problem>> {
    let ends_in = |path: &Path, ending| path.extension().is_some_and(|e| e == ending);
    if ends_in(path, "csv") && ends_in(readings, "toml") {
        let (job, table) = (readings.display(), path.display());
        return Err(vec![
            Problem::new(
                "the job and the readings are the wrong way round",
                format!("gapwright verify {job} {table}"),
            )
            .at(table),
        ]);
    }
    let job = Job::read(path)?;
    let written = job.out.join("readings.csv");
    if !readings.exists() && written.is_file() {
        return Err(vec![
            Problem::new(
                "there are no readings under this name",
                format!("gapwright verify {} {}", path.display(), written.display()),
            )
            .at(readings.display()),
        ]);
    }
    // Read before the long work, so that a slip in the table is told at once.
    let taken = output::read_readings(readings)?;
    let (bar, watch) = voice.watch();
    let verified = pipeline::verify(&job, &taken, &watch)
        .map_err(|problem| vec![problem.at(readings.display())])?;
    drop(bar);
    let written = verified
        .correction
        .as_ref()
        .map(|c| output::write_correction(path, readings, &verified.survey_id, c, quoted))
        .transpose()
        .map_err(|problem| vec![problem])?;
    voice.verified(&verified, written.as_ref());
    Ok(match verified.verdict() {
        Verdict::Go => Outcome::Good,
        Verdict::Shim | Verdict::Rescan => Outcome::NotGood,
    })
}

fn new(body: &Path, tray: &Path, out: &Path, voice: &Voice) -> Result<(), Vec<Problem>> {
    let exists = || {
        Problem::new(
            "this file exists, and is left alone",
            "name another with --out, or delete it yourself",
        )
        .at(out.display())
    };
    if out.exists() {
        return Err(vec![exists()]);
    }
    let seen = match (scan::inspect(body, None), scan::inspect(tray, None)) {
        (Ok(body), Ok(tray)) => [body, tray],
        (seen_body, seen_tray) => {
            let faults = [(seen_body, body), (seen_tray, tray)];
            let told = faults
                .into_iter()
                .filter_map(|(seen, path)| seen.err().map(|p| p.at(path.display())));
            return Err(told.collect());
        }
    };
    let folder = out.parent().unwrap_or(Path::new(""));
    let note = |path: &Path, seen: &Inspection| ScanNote {
        path: output::seen_from(folder, path),
        found: found_lines(seen),
        guessed: (seen.source.unit_from == UnitFrom::Guess).then_some(seen.source.unit),
    };
    let [seen_body, seen_tray] = &seen;
    let name = out
        .file_stem()
        .map_or_else(|| "closeout panel".into(), |stem| stem.to_string_lossy());
    let name = match &*name {
        "job" => "closeout panel",
        other => other,
    };
    let text = starter(name, &note(body, seen_body), &note(tray, seen_tray));
    let barred = |error: std::io::Error| {
        let what = format!("the job cannot be written ({error})");
        let hint = "check that you may write there, or choose another place with --out";
        vec![Problem::new(what, hint).at(out.display())]
    };
    let failed = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => vec![exists()],
        _ => barred(error),
    };
    if !folder.as_os_str().is_empty() {
        std::fs::create_dir_all(folder).map_err(barred)?;
    }
    // Written in one go, and only where there was no file: `create_new` leaves no gap between the two.
    let mut file = std::fs::File::create_new(out).map_err(failed)?;
    if let Err(error) = file.write_all(text.as_bytes()) {
        let _ = std::fs::remove_file(out);
        return Err(failed(error));
    }
    voice.started(out, &seen);
    Ok(())
}

fn found_lines(seen: &Inspection) -> Vec<String> {
    let [a, b, c] = seen.source.size_mm;
    let mut lines = vec![
        format!(
            "{} triangles, {a:.0} x {b:.0} x {c:.0} mm",
            seen.source.triangles
        ),
        format!(
            "noise {:.2} mm, triangle edges {:.1} mm",
            seen.noise_mm, seen.spacing_mm
        ),
    ];
    if seen.holes > 0 {
        lines.push(format!(
            "{} holes, the widest {:.0} mm",
            seen.holes, seen.longest_hole_mm
        ));
    }
    lines
}
