//! The plate of a lapped joint: it grows from one segment's hidden side and lies along the next one's.

use super::super::cut::sweep;
use super::super::{PrinterOptions, Workpiece};
use super::hidden::{HiddenSide, inset};
use super::key::Keyway;
use super::{CLEAR_OF_CUT_MM, Form, grown_by};
use crate::mesh::{Solid, SolidFault};

/// How deep a tab's root reaches into its own wall (mm), so that both become one: less than half of any
/// wall that prints, so that it never shows outside.
pub(super) const EMBED_MM: f64 = 0.3;
/// Along the last bit before the cut the near side leaves the wall (mm before the cut, from and to).
const LEAVE_MM: [f64; 2] = [0.5, 0.2];
/// Length of the lead-in at the free end and how far the near side draws back there (mm).
pub const LEAD_IN_MM: f64 = 3.0;
const DRAW_BACK_MM: f64 = 1.0;

/// Where a tab lies along its height at a place past the cut: how far its lower and upper edge stand from
/// the face's lower end (mm). The lower edge rises at 45 degrees, down to half of its height, so that it
/// prints without support.
pub(super) fn edges(printer: &PrinterOptions, height: f64, past: f64) -> [f64; 2] {
    let (foot, top) = (inset(printer), height - inset(printer));
    [foot + past.clamp(0.0, (top - foot).max(0.0) / 2.0), top]
}

/// A tab at a cut: a plate along the hidden face. Its underside rises away from the cut and away from the
/// wall, so that it prints without support.
pub(super) fn make_tab(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    cut: f64,
    form: Form,
) -> Option<Result<Solid, SolidFault>> {
    let tab = printer.tab_mm;
    let lead_in = LEAD_IN_MM.min(tab / 2.0);
    let draw_back = DRAW_BACK_MM.min(printer.tab_wall_mm / 2.0);
    let far = printer.fit_mm + printer.tab_wall_mm;
    let (begin, grown) = match form {
        Form::Whole => (-tab, 0.0),
        Form::Grown => (CLEAR_OF_CUT_MM, grown_by(printer.fit_mm)),
    };
    let mut places = vec![begin, tab - lead_in, tab];
    if matches!(form, Form::Whole) {
        places.extend([-LEAVE_MM[0], -LEAVE_MM[1], 0.0]);
    }
    places.extend(
        hidden
            .rows
            .iter()
            .map(|r| r.s - cut)
            .filter(|d| *d > begin && *d < tab),
    );
    places.sort_by(f64::total_cmp);
    places.dedup_by(|b, a| *b - *a < 0.05);
    let mut rows = Vec::with_capacity(places.len());
    for d in places {
        let face = hidden.face_at(work, cut + d)?;
        let leaving = ((d + LEAVE_MM[0]) / (LEAVE_MM[0] - LEAVE_MM[1])).clamp(0.0, 1.0);
        let leading = ((d - (tab - lead_in)) / lead_in).clamp(0.0, 1.0);
        let near =
            -EMBED_MM * (1.0 - leaving) + printer.fit_mm * leaving + draw_back * leading - grown;
        let [low, high] = edges(printer, face.height, d);
        let (low, high) = (low - grown, high + grown);
        let low_far = low + (far - near).min((high - low) / 2.0);
        rows.push([
            face.at(low_far, far),
            face.at(low, near),
            face.at(high, near),
            face.at(high, far),
        ]);
    }
    Some(Solid::new(sweep(&rows)))
}

/// Area of a tab that lies against the neighbour (mm2): where the glue goes, the lead-in left out, the
/// sides of the keys included.
pub(super) fn glue_area(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    cut: f64,
    keys: Option<&Keyway>,
) -> f64 {
    const STEPS: usize = 20;
    let long = printer.tab_mm - LEAD_IN_MM.min(printer.tab_mm / 2.0);
    let step = long / STEPS as f64;
    let plate: f64 = (0..STEPS)
        .filter_map(|i| {
            let past = (i as f64 + 0.5) * step;
            let face = hidden.face_at(work, cut + past)?;
            let [low, high] = edges(printer, face.height, past);
            Some((high - low).max(0.0) * step)
        })
        .sum();
    plate + keys.map_or(0.0, Keyway::side_area)
}
