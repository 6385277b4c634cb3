//! What the uncertainty of the gap is made of.

use super::{CLOSE_TABLE, cell, open_table, plain};
use crate::gap::seal::{Footing, choose_lap, choose_seal, needed_room};
use crate::gap::{Budget, Part, Station};
use crate::output::Run;
use crate::panel::Top;
use std::fmt::Write;

/// The budget as a table, what to do about its largest part, and the seal or lap that takes it up.
pub(super) fn table(html: &mut String, run: Run<'_>) {
    let stations = &run.measured.survey.stations;
    if stations.is_empty() {
        return;
    }
    let overall = Budget::overall(stations);
    open_table(html, "What the uncertainty is made of");
    html.push_str("<tr><th>part</th><th>what it is</th><th class=\"n\">standard uncertainty u, mm</th></tr>\n");
    let mut row = |name: &str, what: &str, place: &str, value: f64| {
        let place = format!("/uncertainty_budget/{place}_mm");
        let value = cell(&place, format!("{value:.2}"));
        let _ = writeln!(
            html,
            "<tr><td>{name}</td><td class=\"how\">{what}</td>{value}</tr>"
        );
    };
    for part in Part::ALL {
        let place = format!("parts/{}", part.name());
        row(part.name(), part.meaning(), &place, overall.part(part));
    }
    let sum = "root of the sum of squares";
    row("combined", sum, "combined", overall.combined());
    row(
        "U = 2u",
        "what \u{b1} means on this page: about 95 of 100 places",
        "expanded",
        overall.expanded(),
    );
    html.push_str(CLOSE_TABLE);
    let dominant = overall.dominant();
    let _ = writeln!(
        html,
        "<p>Standard uncertainties, root mean square over the stations well seen (GUM). Registration and scale count \
         where the scans had to be set together or scaled; otherwise both are taken as they come, and two lengths \
         with a tape tell. Most of it is {}: {}.</p>",
        dominant.meaning(),
        plain(dominant.advice())
    );
    html.push_str("<ul>\n");
    for (footing, when) in [
        (Footing::Scans, "From the scans alone"),
        (
            Footing::Readings,
            "Once readings on the vehicle have taken out what is off as a whole",
        ),
    ] {
        let Some(needed) = needed_room(stations, footing) else {
            continue;
        };
        let _ = writeln!(
            html,
            "<li>{when}, 95 % of the edge needs \u{b1} {needed:.1} mm, the print's tolerance included. {}</li>",
            match run.measured.top {
                Top::Butted => seal_text(stations, footing),
                Top::Tucked => lap_text(stations, footing, "behind", "tuck_mm"),
                Top::Lapped => lap_text(stations, footing, "over", "lap_mm"),
            }
        );
    }
    html.push_str("</ul>\n");
}

fn seal_text(stations: &[Station], footing: Footing) -> String {
    match choose_seal(stations, footing) {
        Some(seal) => format!(
            "The thinnest usual foam for that is {0:.0} mm: seal_foam_mm = {0:.1} and seal_mm = {1:.1}, the middle of \
             its range; it seals best at {2:.1} mm, squeezed by 40 %.",
            seal.free_mm, seal.middle_mm, seal.best_mm
        ),
        None => "No usual foam takes that up and fits into the gap.".to_owned(),
    }
}

fn lap_text(stations: &[Station], footing: Footing, way: &str, option: &str) -> String {
    match choose_lap(stations, footing) {
        Some(lap) => {
            format!("A lip for that runs at least {lap:.0} mm up {way} the edge ({option}).")
        }
        None => String::new(),
    }
}
