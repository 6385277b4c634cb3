//! The fixings and the tray's own, for programs.

use super::holes::{kind_word, set_in};
use super::report::rounded;
use crate::panel::Panel;
use crate::panel::fixings::{Bore, Fixing, TrayFixing, to_buy};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct FixingsPart {
    all: Vec<FixingPart>,
    to_buy: Vec<BuyPart>,
}

#[derive(Serialize)]
struct FixingPart {
    number: usize,
    kind: &'static str,
    screw: &'static str,
    station_mm: f64,
    from_face_mm: f64,
    to_edge_mm: f64,
    washer_mm: f64,
    room_mm: Option<f64>,
    head_mm: f64,
    screw_length_mm: Option<f64>,
    stud_length_mm: Option<f64>,
    under_tray_mm: f64,
    bores: Vec<BorePart>,
}

#[derive(Serialize)]
struct BorePart {
    part: &'static str,
    shape: &'static str,
    at_mm: [f64; 3],
    axis: [f64; 3],
    width_mm: f64,
    length_mm: f64,
    depth_mm: Option<f64>,
    set_mm: f64,
}

#[derive(Serialize)]
struct BuyPart {
    count: usize,
    what: String,
}

/// A fixing of the tray and whether it is reached with the panel fitted.
#[derive(Serialize)]
pub(super) struct TrayFixingPart<'a> {
    name: Option<&'a str>,
    station_mm: f64,
    across_mm: f64,
    tool_mm: f64,
    from_above: bool,
    from_below: bool,
    clear_above_mm: f64,
    clear_below_mm: f64,
    reason: String,
}

pub(super) fn fixings_part(panel: &Panel) -> FixingsPart {
    FixingsPart {
        all: panel.fixings.iter().map(fixing_part).collect(),
        to_buy: to_buy(&panel.fixings)
            .into_iter()
            .map(|(count, what)| BuyPart { count, what })
            .collect(),
    }
}

fn fixing_part(fixing: &Fixing) -> FixingPart {
    FixingPart {
        number: fixing.number,
        kind: kind_word(fixing.kind),
        screw: fixing.screw.name(),
        station_mm: rounded(fixing.s),
        from_face_mm: rounded(fixing.from_face_mm),
        to_edge_mm: rounded(fixing.to_edge_mm),
        washer_mm: rounded(fixing.washer_mm),
        room_mm: fixing.room_mm.map(rounded),
        head_mm: rounded(fixing.head_mm),
        screw_length_mm: fixing.screw_length().map(rounded),
        stud_length_mm: fixing.stud_length().map(rounded),
        under_tray_mm: rounded(fixing.under_tray_mm()),
        bores: fixing
            .bores()
            .iter()
            .map(|bore| bore_part(fixing, bore))
            .collect(),
    }
}

fn bore_part(fixing: &Fixing, bore: &Bore) -> BorePart {
    BorePart {
        part: bore.into.word(),
        shape: bore.word(),
        at_mm: [bore.at.x, bore.at.y, bore.at.z].map(rounded),
        axis: [bore.axis.x, bore.axis.y, bore.axis.z].map(rounded),
        width_mm: rounded(bore.width_mm),
        length_mm: rounded(bore.length_mm),
        depth_mm: bore.depth_mm.map(rounded),
        set_mm: rounded(set_in(fixing, bore)),
    }
}

pub(super) fn tray_fixings_part(panel: &Panel) -> Vec<TrayFixingPart<'_>> {
    panel.tray_fixings.iter().map(tray_fixing_part).collect()
}

fn tray_fixing_part(fixing: &TrayFixing) -> TrayFixingPart<'_> {
    TrayFixingPart {
        name: fixing.name.as_deref(),
        station_mm: rounded(fixing.s),
        across_mm: rounded(fixing.across),
        tool_mm: rounded(fixing.tool_mm),
        from_above: fixing.from_above(),
        from_below: fixing.from_below(),
        clear_above_mm: rounded(fixing.clear_above_mm),
        clear_below_mm: rounded(fixing.clear_below_mm),
        reason: fixing.reason(),
    }
}
