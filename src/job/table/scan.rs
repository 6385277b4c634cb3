//! `[scan]`: the two scans and their units.

use super::Table;
use crate::job::entry::Entry;
use crate::scan::{ScanOptions, Unit};
use std::path::{Path, PathBuf};

const UNITS: &[(&str, Option<Unit>)] = &[
    ("mm", Some(Unit::Millimetre)),
    ("cm", Some(Unit::Centimetre)),
    ("m", Some(Unit::Metre)),
    ("in", Some(Unit::Inch)),
];

/// The table as the text writes it: one unit for both scans, or one each.
#[derive(Default)]
pub(super) struct ScanDraft {
    body: PathBuf,
    tray: PathBuf,
    unit: Option<Unit>,
    body_unit: Option<Unit>,
    tray_unit: Option<Unit>,
}

impl ScanDraft {
    pub fn finish(self, folder: &Path) -> ScanOptions {
        ScanOptions {
            body: folder.join(self.body),
            tray: folder.join(self.tray),
            body_unit: self.body_unit.or(self.unit),
            tray_unit: self.tray_unit.or(self.unit),
        }
    }
}

pub(super) fn table(o: &mut ScanDraft) -> Table<'_> {
    Table {
        name: "scan",
        says: "The two scans; paths are seen from this file.",
        entries: vec![
            Entry::file(
                "body",
                &mut o.body,
                "Scan of the body's lower edge: STL, PLY, OBJ or GLB.",
            ),
            Entry::file(
                "tray",
                &mut o.tray,
                "Scan of the undertray's top: STL, PLY, OBJ or GLB.",
            ),
            Entry::choice(
                "unit",
                &mut o.unit,
                UNITS,
                "Unit of both scans; left out, it is read from the file or guessed from the size, and the guess is reported.",
            ),
            Entry::choice(
                "body_unit",
                &mut o.body_unit,
                UNITS,
                "Unit of the body's scan, where the two differ.",
            ),
            Entry::choice(
                "tray_unit",
                &mut o.tray_unit,
                UNITS,
                "Unit of the tray's scan, where the two differ.",
            ),
        ],
    }
}
