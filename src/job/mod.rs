//! The job file: read once, typed, all faults told at once, before any work starts.
//!
//! One file in `table` for each table of the job. A table is a list of entries, and the reader, the
//! starter and the list of options in `docs/formats.md` all walk that same list, so an option added
//! there is known everywhere.

mod check;
mod control;
mod correction;
mod entry;
mod near;
mod raw;
mod starter;
mod table;

pub use correction::CorrectionFile;
pub use starter::{ScanNote, options_table, quoted, starter};

use crate::buck::{BuckOptions, LayupOptions};
use crate::diag::Problem;
use crate::gap::pattern::Paper;
use crate::gap::position::Position;
use crate::gap::{Front, GapOptions};
use crate::panel::PanelOptions;
use crate::panel::proof::{AirOptions, HeatOptions, removal};
use crate::scan::ScanOptions;
use crate::split::PrinterOptions;
use std::path::{Path, PathBuf};

/// Everything the maker decided.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// A short name for the part, used in the report and on the sheet.
    pub name: String,
    /// Where the vehicle's front lies, where the job says.
    pub front: Option<Front>,
    /// The scans; paths are resolved against the job file's folder.
    pub scan: ScanOptions,
    /// The survey.
    pub gap: GapOptions,
    /// What readings on the vehicle changed about an earlier survey.
    pub correction: Option<CorrectionFile>,
    /// The panel.
    pub panel: PanelOptions,
    /// The other side's own job, where its twin is to be held against that side's survey.
    pub twin_job: Option<PathBuf>,
    /// What is laid up, where anything is.
    pub laminate: Option<LayupOptions>,
    /// The buck, where one is to be made.
    pub buck: Option<BuckOptions>,
    /// What the air does to the panel.
    pub air: AirOptions,
    /// What heat does to it.
    pub heat: HeatOptions,
    /// Ways for the tray to come off; none stands for the usual ones.
    pub ways_off: Vec<removal::Path>,
    /// Further positions of the tray.
    pub positions: Vec<Position>,
    /// The printer and the joints.
    pub printer: PrinterOptions,
    /// The paper that templates are printed on.
    pub paper: Paper,
    /// Folder the results go to, resolved against the job file's folder.
    pub out: PathBuf,
}

impl Job {
    /// Reads a job file (TOML 1.0, UTF-8) and checks every value.
    ///
    /// # Errors
    /// All faults of the file at once, in the order of the text, each with line and column.
    pub fn read(path: &Path) -> Result<Self, Vec<Problem>> {
        let text = raw::read_text(path).map_err(|problem| vec![problem])?;
        let folder = path.parent().unwrap_or(Path::new(""));
        check::read_job(&text, &path.display().to_string(), folder)
    }
}
