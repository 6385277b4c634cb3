//! What the command line says, and how.

use super::args::Args;
use super::progress_bar::Bar;
use super::verdict;
use crate::diag::{Finding, Problem, Weight};
use crate::gap::readings::Verdict;
use crate::gap::seal::{Footing, Seal, choose_seal};
use crate::output::{self, GapSummary, Run, Tape, Verified, WrittenCorrection};
use crate::panel::Top;
use crate::progress::Progress;
use crate::scan::{Inspection, UnitFrom};
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

/// Who is listening.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Manner {
    /// A person.
    Plain,
    /// A person who wants errors only.
    Quiet,
    /// A program.
    Json,
}

/// Says things the way the listener wants them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Voice {
    manner: Manner,
}

/// Whether colour is welcome on this stream: on a terminal that knows it, unless it is declined
/// (<https://no-color.org>).
fn in_colour(stream: &impl IsTerminal) -> bool {
    let set = |name| std::env::var_os(name).filter(|value| !value.is_empty());
    stream.is_terminal() && set("NO_COLOR").is_none() && set("TERM").is_none_or(|t| t != "dumb")
}

fn painted(word: &str, code: &str, stream: &impl IsTerminal) -> String {
    if in_colour(stream) {
        format!("\u{1b}[{code}m{word}\u{1b}[0m")
    } else {
        word.to_owned()
    }
}

/// Writes to standard output. A reader that has gone away is no fault of the run.
fn out(text: &str) {
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
}

impl Voice {
    pub fn of(args: &Args) -> Self {
        let manner = match (args.json, args.quiet) {
            (true, _) => Manner::Json,
            (false, true) => Manner::Quiet,
            (false, false) => Manner::Plain,
        };
        Self { manner }
    }

    /// A bar where a person watches a terminal, silence elsewhere.
    pub fn watch(&self) -> (Option<Bar>, Progress) {
        if self.manner == Manner::Plain && std::io::stderr().is_terminal() {
            let (bar, watch) = Bar::shown();
            (Some(bar), watch)
        } else {
            (None, Progress::silent())
        }
    }

    /// Why nothing was made.
    pub fn problems(&self, problems: &[Problem]) {
        if self.manner == Manner::Json {
            out(&output::problems_json(problems));
        }
        let stderr = std::io::stderr();
        let word = painted("error:", "1;31", &stderr);
        let mut stderr = stderr.lock();
        for problem in problems {
            let _ = writeln!(stderr, "{word} {problem}");
        }
        if problems.len() > 1 {
            let _ = writeln!(stderr, "{} errors; nothing was written", problems.len());
        }
    }

    /// What a run made, and what to read first.
    pub fn made(&self, run: Run<'_>, folder: &Path) {
        match self.manner {
            Manner::Json => out(&output::run_json(run, folder)),
            Manner::Quiet => {}
            Manner::Plain => out(&made_text(run, folder)),
        }
    }

    /// What readings said about a survey.
    pub fn verified(&self, verified: &Verified, written: Option<&WrittenCorrection>) {
        match self.manner {
            Manner::Json => out(&output::verified_json(verified, written)),
            Manner::Quiet => {}
            Manner::Plain => out(&verdict::text(verified, written)),
        }
    }

    /// What was asked for itself, whoever is listening.
    pub fn printed(&self, text: &[u8]) {
        let _ = std::io::stdout().lock().write_all(text);
    }

    /// The job file that was written.
    pub fn started(&self, job: &Path, seen: &[Inspection; 2]) {
        match self.manner {
            Manner::Json => out(&output::inspection_json(seen, &[], &[])),
            Manner::Quiet => {}
            Manner::Plain => {
                let mut text: String = seen.iter().map(scan_text).collect();
                text += &format!("\nWrote {}.\n", job.display());
                text += &format!("Next: read it, then gapwright measure {}\n", job.display());
                out(&text);
            }
        }
    }

    /// What is in some scan files, and where the pages to take points on are.
    pub fn inspected(&self, seen: &[Inspection], pages: &[PathBuf], problems: &[Problem]) {
        match self.manner {
            Manner::Json => out(&output::inspection_json(seen, pages, problems)),
            Manner::Quiet => {}
            Manner::Plain => {
                let mut text: String = seen.iter().map(scan_text).collect();
                for page in pages {
                    text += &format!("To take points: open {}\n", page.display());
                }
                out(&text);
            }
        }
    }
}

fn made_text(run: Run<'_>, folder: &Path) -> String {
    let mut text = format!("{}\n", run.measured.name);
    let tape = Tape::lay(run);
    if let Some(gap) = GapSummary::of(&run.measured.survey) {
        text += &format!(
            "  gap          {:.1} mm (station {:.0}) to {:.1} mm (station {:.0}), mean {:.1} mm\n",
            gap.least.gap, gap.least.s, gap.most.gap, gap.most.s, gap.mean_mm
        );
        text += &format!(
            "  uncertainty  \u{b1} {:.1} mm (2 sigma, median), \u{b1} {:.1} mm where least is known\n",
            2.0 * gap.sigma_median_mm,
            2.0 * gap.sigma_most_mm
        );
        text += &format!(
            "  stations     {} over {:.0} mm: {} good, {} sparse, {} bridged\n",
            gap.stations(),
            gap.length_mm,
            gap.good,
            gap.sparse,
            gap.bridged
        );
    }
    if let Some(outlook) = &run.measured.outlook {
        let stretch = outlook.stretch.map_or_else(String::new, |[from, to]| {
            let words = tape.as_ref().map(|tape| tape.stretch([from, to]));
            let words = words.unwrap_or_else(|| format!("station {from:.0} to {to:.0} mm"));
            format!(" ({words})")
        });
        let (word, reason) = (outlook.verdict.word(), outlook.reason());
        text += &format!("  verdict      {word}: {reason}{stretch}\n");
        if let Some(advice) = seal_advice(&run) {
            text += &format!("  seal         {advice}\n");
        }
    }
    text += &buck_text(&run);
    if let Some((panel, parts)) = run.made {
        let volume = panel.solid.mesh().signed_volume() / 1e3;
        text += &format!("  panel        {volume:.0} cm3\n");
        text += &format!("  segments     {}\n", parts.segments.len());
        if run.buck.is_some() {
            text += "               panel.stl, segments/ and print/ are that panel in plastic, for trying only: they are not the part\n";
        }
    }
    text += &positions_text(&run);
    text += &findings_text(&run.findings(), tape.as_ref());
    let page = folder.join("sheet.html");
    text += &format!("\nOpen {}\n", page.display());
    text
}

/// What is printed where the part is laid up on a buck.
fn buck_text(run: &Run<'_>) -> String {
    run.buck.map_or_else(String::new, |made| {
        let estimate = made.segments.estimate();
        let count = made.segments.segments.len();
        format!(
            "  buck         print this: {count} segment{}, {:.0} h, {:.1} kg, in buck/print/\n",
            if count == 1 { "" } else { "s" },
            estimate.hours,
            estimate.mass_g / 1e3
        )
    })
}

/// The panels of further positions, and whose panel the sheet is about.
fn positions_text(run: &Run<'_>) -> String {
    let Some(made) = run.positions.filter(|made| !made.own.is_empty()) else {
        return String::new();
    };
    let mut text = String::new();
    for own in &made.own {
        if let Some(setting) = run.measured.positions.get(own.setting) {
            text += &format!(
                "  panel for    {}: {}, {} segments\n",
                setting.name,
                output::own_panel_file(&setting.word),
                own.segments.segments.len()
            );
        }
    }
    text += "               the sheet's first chapters are about panel.stl, the panel of the scanned position\n";
    text
}

/// The lines of the job that would turn a verdict into go, where a thicker seal does.
fn seal_advice(run: &Run<'_>) -> Option<String> {
    let outlook = run.measured.outlook.as_ref()?;
    if outlook.verdict == Verdict::Go || run.measured.top != Top::Butted {
        return None;
    }
    let stations = &run.measured.survey.stations;
    let options = |seal: Seal| {
        let (free, middle) = (seal.free_mm, seal.middle_mm);
        format!(
            "{free:.0} mm foam (seal_foam_mm = {free:.1} and seal_mm = {middle:.1} under [panel])"
        )
    };
    let [read, scanned] = [Footing::Readings, Footing::Scans].map(|on| choose_seal(stations, on));
    if let Some(scanned) = scanned.filter(|_| scanned == read) {
        return Some(format!("{} would make it go as it is", options(scanned)));
    }
    let read = read?;
    let chosen = outlook.room.half() >= read.half_mm - 1e-9;
    let first = if chosen {
        "the one you chose".to_owned()
    } else {
        options(read)
    };
    let alone = scanned.map_or_else(String::new, |seal| {
        format!("; without a reading it takes {:.0} mm foam", seal.free_mm)
    });
    Some(format!(
        "{first} does once a few gaps are read and verified{alone}"
    ))
}

/// Warnings first, as they come: what, where a tape finds it, how much, and what to do.
fn findings_text(findings: &[&Finding], tape: Option<&Tape<'_>>) -> String {
    let stdout = std::io::stdout();
    let mut text = String::new();
    for finding in findings {
        let (word, code) = match finding.weight {
            Weight::Warning => ("warning:", "1;33"),
            Weight::Note => ("note:", "1"),
        };
        text += &format!("{} {}\n", painted(word, code, &stdout), finding.what);
        if let Some(places) = output::places(finding, tape) {
            text += &format!("  where: {places}\n");
        }
        // A note's words hold what number it has.
        if let Some(mm) = finding
            .size_mm
            .filter(|_| finding.weight == Weight::Warning)
        {
            // Adding zero keeps "-0" away.
            text += &format!("  how much: {:.1} mm\n", mm + 0.0);
        }
        if !finding.hint.is_empty() {
            text += &format!("  to do: {}\n", finding.hint);
        }
    }
    text
}

fn scan_text(scan: &Inspection) -> String {
    let source = &scan.source;
    let [a, b, c] = source.size_mm;
    let from = match source.unit_from {
        UnitFrom::Format => "the file says so",
        UnitFrom::Job => "you said so",
        UnitFrom::Guess => "a guess from the size: check it",
    };
    let mut text = format!("{}\n", source.path.display());
    text += &format!("  size       {a:.0} x {b:.0} x {c:.0} mm\n");
    text += &format!("  unit       {} ({from})\n", source.unit.symbol());
    text += &format!(
        "  triangles  {}, points {}, edges {:.1} mm long (median)\n",
        source.triangles, source.points, scan.spacing_mm
    );
    text += &format!("  noise      {:.2} mm (sigma)\n", scan.noise_mm);
    text += &format!("  pieces     {}\n", scan.pieces);
    text += &match scan.holes {
        0 => "  holes      none\n".to_owned(),
        n => format!(
            "  holes      {n}, the widest {:.0} mm\n",
            scan.longest_hole_mm
        ),
    };
    let gone = &scan.removed;
    text += &format!(
        "  taken out  {} broken, {} double, {} in {} loose pieces\n",
        gone.not_finite + gone.degenerate,
        gone.duplicate,
        gone.floater_triangles,
        gone.floaters
    );
    text += &format!("  good for   {}\n", good_for(scan));
    text += &findings_text(&scan.findings.iter().collect::<Vec<_>>(), None);
    text
}

/// What a scan with such triangles and such noise can carry, in a line. The words go by surveys of simulated scans held
/// against their truth: 2.5 mm triangles with 0.2 mm noise gave the gap to about 1.5 mm at 95 %, phone
/// scans of 3 to 4.5 mm to about 2 to 3 mm.
fn good_for(scan: &Inspection) -> String {
    if scan.findings.iter().any(|f| f.code == "small") {
        return "nothing yet: settle its size first".to_owned();
    }
    let grain = scan.spacing_mm.max(6.0 * scan.noise_mm);
    let (what, next) = if grain <= 2.7 {
        ("a close fit: expect the gap to about \u{b1} 1.5 mm", "")
    } else if grain <= 5.0 {
        (
            "a fit with a seal or a tucked lip: expect the gap to about \u{b1} 2 to 3 mm",
            ", less once readings with a tape have been held to it",
        )
    } else {
        (
            "a first look: expect the gap to \u{b1} 4 mm or worse",
            "; scan again from nearer before anything is printed",
        )
    };
    format!("{what}{next}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_station_of_a_finding_is_shown() {
        let finding = Finding::warning("w", "it touches", "move it").at_all([10.0, 250.0, 400.0]);
        let text = findings_text(&[&finding], None);
        assert!(
            text.contains("where: station 10 mm; station 250 mm; station 400 mm"),
            "{text}"
        );
    }
}
