//! `[scan]`: the two scans and their units.

use super::Table;
use crate::job::entry::Entry;
use crate::math::Point3;
use crate::scan::conditions::{Load, StoodOn, TrayHeld};
use crate::scan::separate::Seeds;
use crate::scan::{Conditions, Control, ScanOptions, Unit};
use std::path::{Path, PathBuf};

const UNITS: &[(&str, Option<Unit>)] = &[
    ("mm", Some(Unit::Millimetre)),
    ("cm", Some(Unit::Centimetre)),
    ("m", Some(Unit::Metre)),
    ("in", Some(Unit::Inch)),
];

const STOOD_ON: &[(&str, Option<StoodOn>)] = &[
    ("wheels", Some(StoodOn::Wheels)),
    ("stands", Some(StoodOn::Stands)),
];
const LOADS: &[(&str, Option<Load>)] =
    &[("empty", Some(Load::Empty)), ("loaded", Some(Load::Loaded))];
const TRAY_HELD: &[(&str, Option<TrayHeld>)] = &[
    ("bolted", Some(TrayHeld::Bolted)),
    ("hanging", Some(TrayHeld::Hanging)),
];

/// The table as the text writes it: one unit for both scans, or one each.
#[derive(Default)]
pub(super) struct ScanDraft {
    body: PathBuf,
    tray: PathBuf,
    unit: Option<Unit>,
    body_unit: Option<Unit>,
    tray_unit: Option<Unit>,
    body_seed: Option<[f64; 3]>,
    tray_seed: Option<[f64; 3]>,
    pub control: Control,
    conditions: Conditions,
}

impl ScanDraft {
    pub fn is_one_file(&self) -> bool {
        self.body == self.tray
    }

    pub fn finish(mut self, folder: &Path) -> ScanOptions {
        self.control.seeds = Seeds {
            body: self.body_seed.map(Point3::from),
            tray: self.tray_seed.map(Point3::from),
        };
        ScanOptions {
            body: folder.join(self.body),
            tray: folder.join(self.tray),
            body_unit: self.body_unit.or(self.unit),
            tray_unit: self.tray_unit.or(self.unit),
            control: self.control,
            conditions: self.conditions,
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
                "Scan of the undertray's top: STL, PLY, OBJ or GLB; the same file as body where one scan holds both.",
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
            Entry::choice(
                "stood_on",
                &mut o.conditions.stood_on,
                STOOD_ON,
                "What carried the vehicle when it was scanned.",
            ),
            Entry::choice(
                "load",
                &mut o.conditions.load,
                LOADS,
                "What was in it: nobody, or driver and load as in use.",
            ),
            Entry::choice(
                "tray_held",
                &mut o.conditions.tray_held,
                TRAY_HELD,
                "How the tray was held: bolted up as in use, or hanging from some of its fixings.",
            ),
            Entry::length(
                "pick_sigma_mm",
                &mut o.control.pick_sigma_mm,
                [0.1, 20.0],
                "Standard uncertainty of a point picked in a scan, along any direction.",
            ),
            Entry::point(
                "body_seed",
                &mut o.body_seed,
                "A point on the body in a scan that holds both, in the file's units; only needed if they are not told apart.",
            ),
            Entry::point(
                "tray_seed",
                &mut o.tray_seed,
                "A point on the tray in such a scan.",
            ),
        ],
    }
}
