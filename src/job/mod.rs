//! The job file: read once, typed, all faults told at once, before any work starts.

use crate::gap::GapOptions;
use crate::panel::PanelOptions;
use crate::scan::ScanOptions;
use crate::split::PrinterOptions;
use std::path::PathBuf;

/// Everything the maker decided.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// A short name for the part, used in the report and on the sheet.
    pub name: String,
    /// The scans; paths are resolved against the job file's folder.
    pub scan: ScanOptions,
    /// The survey.
    pub gap: GapOptions,
    /// The panel.
    pub panel: PanelOptions,
    /// The printer and the joints.
    pub printer: PrinterOptions,
    /// Folder the results go to, resolved against the job file's folder.
    pub out: PathBuf,
}
