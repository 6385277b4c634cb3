//! What the uncertainty of the gap is made of.

use super::{CLOSE_TABLE, open_table};
use crate::gap::seal::{Footing, choose_lap, choose_seal, needed_room};
use crate::gap::{Budget, Part, Station};
use crate::output::Run;
use crate::output::svg::escaped;
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
    html.push_str("<tr><th>part</th><th>what it is</th><th class=\"n\">u, mm</th></tr>\n");
    let mut row = |name: &str, what: &str, value: f64| {
        let _ = writeln!(
            html,
            "<tr><td>{name}</td><td>{what}</td><td class=\"n\">{value:.2}</td></tr>"
        );
    };
    for part in Part::ALL {
        row(part.name(), part.meaning(), overall.part(part));
    }
    row("combined", "root of the sum of squares", overall.combined());
    row("U = 2u", "about 95 %", overall.expanded());
    html.push_str(CLOSE_TABLE);
    let dominant = overall.dominant();
    let _ = writeln!(
        html,
        "<p>Standard uncertainties, root mean square over the stations well seen (GUM). Registration and scale count \
         where the scans had to be set together or scaled; otherwise both are taken as they come, and two lengths \
         with a tape tell. Most of it is {}: {}.</p>",
        dominant.meaning(),
        escaped(dominant.advice())
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
                Top::Tucked => lap_text(stations, footing),
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
        None => "No usual foam takes that up.".to_owned(),
    }
}

fn lap_text(stations: &[Station], footing: Footing) -> String {
    match choose_lap(stations, footing) {
        Some(lap) => {
            format!("A lip for that runs at least {lap:.0} mm up behind the edge (tuck_mm).")
        }
        None => String::new(),
    }
}
