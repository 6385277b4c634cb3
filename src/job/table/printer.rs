//! `[printer]`: the build volume and the joints between segments.

use super::{Clash, List, Table};
use crate::job::entry::Entry;
use crate::material::Material;
use crate::split::{CutRule, CutWish, JointWish, MOST_SHRINK_PERCENT, PrinterOptions};

/// Less than this (mm) of a build volume is no use to a panel.
const LEAST_ROOM_MM: f64 = 30.0;

pub(super) fn table(o: &mut PrinterOptions) -> Table<'_> {
    Table {
        name: "printer",
        says: "The printer, and the joints between segments.",
        entries: vec![
            Entry::size(
                "build_mm",
                &mut o.build_mm,
                [50.0, 3000.0],
                "Build volume: width, depth, height.",
            ),
            Entry::length(
                "margin_mm",
                &mut o.margin_mm,
                [0.0, 100.0],
                "Left free on every side of the build volume.",
            ),
            Entry::choice(
                "joint",
                &mut o.joint,
                &JointWish::NAMES,
                "How segments are joined: a tab on the hidden side, or a bulkhead with pins and a screw; auto takes a tab, and a bulkhead where the hidden face is over 120 mm high.",
            ),
            Entry::length(
                "tab_mm",
                &mut o.tab_mm,
                [5.0, 100.0],
                "How far a joint's tab laps the next segment.",
            ),
            Entry::length(
                "tab_wall_mm",
                &mut o.tab_wall_mm,
                [0.8, 20.0],
                "Thickness of a tab.",
            ),
            Entry::length(
                "fit_mm",
                &mut o.fit_mm,
                [0.0, 2.0],
                "Room between a tab and the face it lies against.",
            ),
            Entry::choice(
                "material",
                &mut o.material,
                &Material::NAMES,
                "Plastic, for mass, stiffness, growth, and a warning where it gets hotter than it stands.",
            ),
            Entry::number(
                "flow_mm3_s",
                &mut o.flow_mm3_s,
                ([0.5, 100.0], "mm3/s"),
                "Plastic the printer lays in a second, for the hours: bead's width times height times speed.",
            ),
            Entry::number(
                "shrink_percent",
                &mut o.shrink_percent,
                ([0.0, MOST_SHRINK_PERCENT], "%"),
                "How much prints shrink; they are made larger by that. Leave it 0 if the printer's own settings see to it.",
            ),
        ],
    }
}

pub(super) fn cuts(into: &mut Vec<CutWish>) -> List<'_> {
    List::new(
        "cut",
        into,
        |wish| {
            vec![
                Entry::length(
                    "at_mm",
                    &mut wish.at_mm,
                    [-1000.0, 20_000.0],
                    "Where along the panel, as station on the sheet.",
                )
                .required(),
                Entry::choice(
                    "how",
                    &mut wish.rule,
                    &CutRule::NAMES,
                    "Whether there must be a cut, or must be none.",
                ),
                Entry::length(
                    "reach_mm",
                    &mut wish.reach_mm,
                    [0.0, 2000.0],
                    "How far to each side cuts are forbidden; a pin does not look at it.",
                ),
            ]
        },
        "A cut between segments that is pinned or forbidden; the others find their places about it.",
    )
}

pub(super) fn clashes(o: &PrinterOptions) -> Vec<Clash> {
    let least = o.build_mm.into_iter().fold(f64::INFINITY, f64::min);
    let mut found = Vec::new();
    if least - 2.0 * o.margin_mm < LEAST_ROOM_MM {
        found.push(Clash {
            table: "printer",
            key: "margin_mm",
            what: format!(
                "a margin of {} mm on every side leaves {} mm of a build volume of {least} mm",
                o.margin_mm,
                least - 2.0 * o.margin_mm
            ),
            hint: "make margin_mm smaller or build_mm larger",
        });
    }
    found
}
