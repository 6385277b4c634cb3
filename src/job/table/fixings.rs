//! `[fixings]` and `[[keep_out]]`: what holds the panel, and what it must leave free.

use super::{Clash, Table};
use crate::job::entry::Entry;
use crate::panel::fixings::{FixingOptions, Screw, Style};
use crate::panel::{Access, KeepOut, KeepOutKind, Mount, PanelOptions};

const STYLES: &[(&str, Style)] = &[
    ("none", Style::None),
    ("screws", Style::Screws),
    ("inserts", Style::Inserts),
    ("studs", Style::Studs),
];

const SCREWS: &[(&str, Screw)] = &[("M4", Screw::M4), ("M5", Screw::M5), ("M6", Screw::M6)];

const KINDS: &[(&str, KeepOutKind)] = &[
    ("tray fixing", KeepOutKind::TrayFixing),
    ("drain", KeepOutKind::Drain),
    ("jacking point", KeepOutKind::JackingPoint),
    ("towing point", KeepOutKind::TowingPoint),
    ("cable", KeepOutKind::Cable),
    ("duct", KeepOutKind::Duct),
    ("other", KeepOutKind::Other),
];

const ACCESSES: &[(&str, Access)] = &[("around", Access::Around), ("full", Access::Full)];

pub(super) const LIST: &str = "keep_out";
pub(super) const LIST_SAYS: &str = "Something the panel must leave free.";

pub(super) fn table(o: &mut FixingOptions) -> Table<'_> {
    Table {
        name: "fixings",
        says: "What holds the panel to the tray or the body.",
        entries: vec![
            Entry::choice(
                "style",
                &mut o.style,
                STYLES,
                "What kind: screws from above into the tray's rivet nuts or from outside through skin and lip, inserts in bosses behind the lip, or studs with nuts.",
            ),
            Entry::length(
                "pitch_mm",
                &mut o.pitch_mm,
                [20.0, 1000.0],
                "Greatest distance from one to the next.",
            ),
            Entry::choice("screw", &mut o.screw, SCREWS, "Their thread."),
            Entry::length(
                "slot_extra_mm",
                &mut o.slot_extra_mm,
                [0.0, 20.0],
                "How much longer than wide the slots are at the least; the growth that [heat] works out may ask for more. One hole near the middle stays round.",
            ),
        ],
    }
}

/// Entries of one `[[keep_out]]`.
pub(super) fn keep_out(o: &mut KeepOut) -> Vec<Entry<'_>> {
    const PLACE: [f64; 2] = [-20_000.0, 20_000.0];
    const SIZE: [f64; 2] = [1.0, 2000.0];
    vec![
        Entry::text("name", &mut o.name, "A name, for the sheet.").required(),
        Entry::choice("kind", &mut o.kind, KINDS, "What it is."),
        Entry::maybe_length(
            "at_mm",
            &mut o.at_mm,
            PLACE,
            "Where its middle lies along the gap, from the left end of the line on the tray under the edge.",
        ),
        Entry::length(
            "across_mm",
            &mut o.across_mm,
            [-1000.0, 1000.0],
            "How far outward of that line its middle lies; negative inboard.",
        ),
        Entry::point(
            "point",
            &mut o.point,
            "In place of those two: a point of it in the tray's scan, in that file's units and axes.",
        ),
        Entry::maybe_length(
            "up_mm",
            &mut o.up_mm,
            [0.0, 1000.0],
            "Height of its middle above the tray, where it runs out through the face; left out for what stands on the tray.",
        ),
        Entry::maybe_length(
            "size_mm",
            &mut o.size_mm,
            SIZE,
            "Its diameter, if it is round.",
        ),
        Entry::maybe_length(
            "length_mm",
            &mut o.length_mm,
            SIZE,
            "Its length along the gap, if it is not round.",
        ),
        Entry::maybe_length(
            "width_mm",
            &mut o.width_mm,
            SIZE,
            "Its width across the gap, if it is not round.",
        ),
        Entry::length(
            "height_mm",
            &mut o.height_mm,
            [0.5, 1000.0],
            "Its height above the tray; of what runs out through the face and is not round, its own height.",
        ),
        Entry::maybe_length(
            "margin_mm",
            &mut o.margin_mm,
            [0.0, 100.0],
            "Room round it; left out, 5 mm round a tray fixing and 3 mm round all else.",
        ),
        Entry::choice(
            "access",
            &mut o.access,
            ACCESSES,
            "How much of the face gives way: as much as it needs, or all that can go, to get at it from outside, up to a band of two walls at the top, which keeps the panel in one piece.",
        ),
    ]
}

pub(super) fn clashes(panel: &PanelOptions, o: &FixingOptions) -> Vec<Clash> {
    let mut found = Vec::new();
    if panel.mount == Mount::Tray && o.style == Style::Inserts {
        found.push(Clash {
            table: "fixings",
            key: "style",
            what: "inserts in a flange on the tray take screws from below, whose heads grind away under the tray"
                .to_owned(),
            hint: "write style = \"studs\" or \"screws\", or mount = \"body\" under [panel]",
        });
    }
    found
}
