//! `gap.csv`: the gap at every station, for programs and spreadsheets.

use crate::gap::{Quality, Survey};
use std::fmt::Write;

/// The first line of `gap.csv`.
const COLUMNS: &str = "station_mm,edge_x_mm,edge_y_mm,edge_z_mm,tray_x_mm,tray_y_mm,tray_z_mm,gap_mm,sigma_mm,quality";

/// How a quality is written in files.
pub(super) fn quality_word(quality: Quality) -> &'static str {
    match quality {
        Quality::Good => "good",
        Quality::Sparse => "sparse",
        Quality::Bridged => "bridged",
    }
}

/// The gap in the shop frame, three decimals, decimal points, one line feed a row.
pub(super) fn gap_csv(survey: &Survey) -> String {
    let mut text = format!("{COLUMNS}\n");
    for st in &survey.stations {
        let (e, t) = (st.edge, st.tray);
        for value in [st.s, e.x, e.y, e.z, t.x, t.y, t.z, st.gap, st.sigma] {
            // Rounding first and adding zero keeps "-0.000" out of the file.
            let _ = write!(text, "{:.3},", (value * 1000.0).round() / 1000.0 + 0.0);
        }
        let _ = writeln!(text, "{}", quality_word(st.quality));
    }
    text
}
