//! `[gap]`: how the gap is surveyed.

use super::Table;
use crate::gap::{EdgeKind, GapOptions};
use crate::job::entry::Entry;
use std::path::PathBuf;

const EDGES: &[(&str, Option<EdgeKind>)] = &[
    ("auto", None),
    ("cut", Some(EdgeKind::Cut)),
    ("rolled", Some(EdgeKind::Rolled)),
];

pub(super) fn table<'a>(o: &'a mut GapOptions, correction: &'a mut Option<PathBuf>) -> Table<'a> {
    Table {
        name: "gap",
        says: "How the gap is surveyed.",
        entries: vec![
            Entry::length(
                "station_mm",
                &mut o.station_mm,
                [1.0, 50.0],
                "Spacing of the stations along the gap.",
            ),
            Entry::choice(
                "edge",
                &mut o.edge,
                EDGES,
                "How the body's skin ends at the bottom: cut off, or rolled inboard; auto finds it from the scan.",
            ),
            Entry::maybe_file(
                "correction",
                correction,
                "The correction that `gapwright verify` wrote from readings on the vehicle.",
            ),
        ],
    }
}
