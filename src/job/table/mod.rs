//! The tables of a job, one file each: keys, bounds, a sentence on each, and rules between them.

mod buck;
mod fixings;
mod gap;
mod laminate;
mod list;
mod moves;
mod out;
mod panel;
mod position;
mod printer;
mod scan;
mod staying_on;
mod template;
mod top;

use super::Job;
use super::correction::read_correction;
use super::entry::Entry;
use crate::buck::Way;
use crate::diag::Problem;
use crate::gap::pattern::Paper;
use crate::gap::position::Position;
use crate::gap::{Front, GapOptions};
use crate::panel::fixings::Style;
use crate::panel::proof::{AirOptions, HeatOptions, HeatSource};
use crate::panel::{FixingOptions, KeepOut, PanelChange, PanelOptions};
use crate::scan::Control;
use crate::split::PrinterOptions;
pub(super) use list::List;
use moves::MoveDraft;
use scan::ScanDraft;
use std::path::{Path, PathBuf};

/// A job while it is being filled: defaults everywhere, paths as the text writes them.
pub(super) struct Draft {
    name: String,
    front: Option<Front>,
    scan: ScanDraft,
    gap: GapOptions,
    correction: Option<PathBuf>,
    panel: PanelOptions,
    twin_job: Option<PathBuf>,
    moves: Vec<MoveDraft>,
    fixings: FixingOptions,
    keep_outs: Vec<KeepOut>,
    laminate: laminate::LaminateDraft,
    plies: Vec<laminate::PlyDraft>,
    changes: Vec<PanelChange>,
    buck: buck::BuckDraft,
    air: AirOptions,
    heat: HeatOptions,
    heat_sources: Vec<HeatSource>,
    positions: Vec<Position>,
    printer: PrinterOptions,
    paper: Paper,
    out: PathBuf,
}

impl Default for Draft {
    fn default() -> Self {
        Self {
            name: "closeout panel".to_owned(),
            front: None,
            scan: ScanDraft::default(),
            gap: GapOptions::default(),
            correction: None,
            panel: PanelOptions::default(),
            twin_job: None,
            moves: Vec::new(),
            // A stage without a job plans none; a maker who says nothing gets a panel that can be put on.
            fixings: FixingOptions {
                style: Style::Screws,
                ..FixingOptions::default()
            },
            keep_outs: Vec::new(),
            laminate: laminate::LaminateDraft::default(),
            plies: Vec::new(),
            changes: Vec::new(),
            buck: buck::BuckDraft::default(),
            air: AirOptions::default(),
            heat: HeatOptions::default(),
            heat_sources: Vec::new(),
            positions: Vec::new(),
            printer: PrinterOptions::default(),
            paper: Paper::A4,
            out: PathBuf::from("out"),
        }
    }
}

/// One table of the job; the one without a name holds the keys before the first table.
pub(super) struct Table<'a> {
    pub name: &'static str,
    pub says: &'static str,
    pub entries: Vec<Entry<'a>>,
}

/// Two values that are right by themselves and wrong together; told at the key.
pub(super) struct Clash {
    pub table: &'static str,
    pub key: &'static str,
    pub what: String,
    pub hint: &'static str,
}

impl Draft {
    /// Every table, in the order the starter writes them.
    pub fn tables(&mut self) -> Vec<Table<'_>> {
        vec![
            top::table(&mut self.name, &mut self.front),
            scan::table(&mut self.scan),
            gap::table(&mut self.gap, &mut self.correction),
            panel::table(&mut self.panel, &mut self.twin_job),
            fixings::table(&mut self.fixings),
            laminate::table(&mut self.laminate),
            buck::table(&mut self.buck),
            staying_on::air(&mut self.air),
            staying_on::heat(&mut self.heat),
            printer::table(&mut self.printer),
            template::table(&mut self.paper),
            out::table(&mut self.out),
        ]
    }

    /// Every table that may stand in a job any number of times, in the order the starter writes them.
    pub fn lists(&mut self) -> Vec<List<'_>> {
        vec![
            List::new(
                fixings::LIST,
                &mut self.keep_outs,
                fixings::keep_out,
                fixings::LIST_SAYS,
            ),
            laminate::plies(&mut self.plies),
            panel::changes(&mut self.changes),
            staying_on::sources(&mut self.heat_sources),
            position::list(&mut self.positions),
            moves::list(&mut self.moves),
            printer::cuts(&mut self.printer.cuts),
        ]
    }

    /// Whether one file stands for body and tray.
    pub fn is_one_file(&self) -> bool {
        self.scan.is_one_file()
    }

    /// Named points and distances, which stand in tables of their own.
    pub fn control(&mut self) -> &mut Control {
        &mut self.scan.control
    }

    /// What does not go together.
    pub fn clashes(&self) -> Vec<Clash> {
        let mut all = panel::clashes(&self.panel, &self.changes, self.twin_job.as_deref());
        all.extend(fixings::clashes(&self.panel, &self.fixings));
        all.extend(laminate::clashes(
            &self.laminate,
            &self.plies,
            self.printer.material,
            &self.panel,
        ));
        all.extend(staying_on::clashes(&self.heat));
        all.extend(position::clashes(&self.positions, self.front));
        all.extend(printer::clashes(&self.printer));
        all.extend(moves::clashes(&self.moves, self.front));
        all
    }

    /// The finished job, its paths resolved against the job file's folder.
    ///
    /// # Errors
    /// If the correction it names is none.
    pub fn finish(self, folder: &Path) -> Result<Job, Problem> {
        let correction = self
            .correction
            .map(|path| read_correction(&folder.join(path)))
            .transpose()?;
        let laminate = self.laminate.finish(&self.plies);
        let buck = (laminate.as_ref())
            .filter(|options| options.way == Way::Buck)
            .map(|options| self.buck.finish(options.on_top()));
        let overlay_mm = match &laminate {
            Some(options) if options.way == Way::Core => options.overlay_mm(),
            _ => self.panel.overlay_mm,
        };
        Ok(Job {
            name: self.name,
            front: self.front,
            scan: self.scan.finish(folder),
            gap: self.gap,
            correction,
            panel: PanelOptions {
                fixings: self.fixings,
                keep_outs: self.keep_outs,
                changes: self.changes,
                overlay_mm,
                ..self.panel
            },
            twin_job: self.twin_job.map(|path| folder.join(path)),
            laminate,
            buck,
            air: self.air,
            heat: HeatOptions {
                sources: self.heat_sources,
                ..self.heat
            },
            ways_off: moves::finish(self.moves, self.front),
            positions: self.positions,
            printer: self.printer,
            paper: self.paper,
            out: folder.join(self.out),
        })
    }
}
