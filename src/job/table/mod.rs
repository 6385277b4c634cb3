//! The tables of a job, one file each: keys, bounds, a sentence on each, and rules between them.

mod gap;
mod out;
mod panel;
mod printer;
mod scan;
mod top;

use super::Job;
use super::entry::Entry;
use crate::gap::GapOptions;
use crate::panel::PanelOptions;
use crate::split::PrinterOptions;
use scan::ScanDraft;
use std::path::{Path, PathBuf};

/// A job while it is being filled: defaults everywhere, paths as the text writes them.
pub(super) struct Draft {
    name: String,
    scan: ScanDraft,
    gap: GapOptions,
    panel: PanelOptions,
    printer: PrinterOptions,
    out: PathBuf,
}

impl Default for Draft {
    fn default() -> Self {
        Self {
            name: "closeout panel".to_owned(),
            scan: ScanDraft::default(),
            gap: GapOptions::default(),
            panel: PanelOptions::default(),
            printer: PrinterOptions::default(),
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
            top::table(&mut self.name),
            scan::table(&mut self.scan),
            gap::table(&mut self.gap),
            panel::table(&mut self.panel),
            printer::table(&mut self.printer),
            out::table(&mut self.out),
        ]
    }

    /// What does not go together.
    pub fn clashes(&self) -> Vec<Clash> {
        let mut all = panel::clashes(&self.panel);
        all.extend(printer::clashes(&self.printer));
        all
    }

    /// The finished job, its paths resolved against the job file's folder.
    pub fn finish(self, folder: &Path) -> Job {
        Job {
            name: self.name,
            scan: self.scan.finish(folder),
            gap: self.gap,
            panel: self.panel,
            printer: self.printer,
            out: folder.join(self.out),
        }
    }
}
