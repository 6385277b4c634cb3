//! `holes.csv`: every hole, slot and pocket of the fixings, in the panel and in what it is fixed to.

use super::report::rounded;
use crate::panel::fixings::{Bore, Fixing, FixingKind};
use std::fmt::Write;

/// The first line of `holes.csv`.
const COLUMNS: &str = "fixing,part,station_mm,x_mm,y_mm,z_mm,axis_x,axis_y,axis_z,kind,shape,width_mm,length_mm,depth_mm,set_mm,screw";

/// How a kind of fixing is written.
pub(super) fn kind_word(kind: FixingKind) -> &'static str {
    match kind {
        FixingKind::ScrewIntoTray => "screw into tray",
        FixingKind::StudInTray => "stud in tray",
        FixingKind::ScrewThroughSkin => "screw through skin",
        FixingKind::StudOnSkin => "stud on skin",
        FixingKind::InsertInLip => "insert in lip",
        FixingKind::StudOnPanel => "stud on panel",
    }
}

/// Where in a bore the fastener is set, from its middle to the maker's right (mm).
pub(super) fn set_in(fixing: &Fixing, bore: &Bore) -> f64 {
    (fixing.fastener() - bore.at).dot(&fixing.along)
}

/// The table in the shop frame: three decimals, a row for each bore in the order of the fixings, an empty
/// depth for what goes right through.
pub(super) fn holes_csv(fixings: &[Fixing]) -> String {
    let mut text = format!("{COLUMNS}\n");
    for fixing in fixings {
        for bore in fixing.bores() {
            let _ = write!(text, "{},{}", fixing.number, bore.into.word());
            let (at, axis) = (bore.at, bore.axis);
            for value in [fixing.s, at.x, at.y, at.z, axis.x, axis.y, axis.z] {
                let _ = write!(text, ",{:.3}", thousandths(value));
            }
            let _ = write!(
                text,
                ",{},{},{:.3},{:.3},",
                kind_word(fixing.kind),
                bore.word(),
                thousandths(bore.width_mm),
                thousandths(bore.length_mm)
            );
            if let Some(depth) = bore.depth_mm {
                let _ = write!(text, "{:.3}", thousandths(depth));
            }
            let set = thousandths(rounded(set_in(fixing, &bore)));
            let _ = writeln!(text, ",{set:.3},{}", fixing.screw.name());
        }
    }
    text
}

/// Rounded first, and zero added: no "-0.000" in the file.
fn thousandths(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0 + 0.0
}
