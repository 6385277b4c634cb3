//! The proof of every solid that is written: its walls, and that it does not run through itself.

use super::{CLOSE_TABLE, cell, heading, open_table, plain};
use crate::output::Run;
use crate::split::pieces::ThickAt;
use std::fmt::Write;

/// A row for each solid.
pub(super) fn pieces(html: &mut String, run: Run<'_>) {
    if run.pieces.is_empty() {
        return;
    }
    heading(html, "Every solid, as it is written");
    html.push_str(
        "<p>Each is closed, faces outward, and was measured at many places: through the wall along a ray, and by the largest \
         ball that fits between its faces. Grooves of labels and keys and the lead-in of tabs are its thinnest places.</p>\n",
    );
    open_table(html, "Every solid");
    html.push_str(
        "<tr><th>solid</th><th class=\"n\">wall asked, mm</th><th class=\"n\">ray: least, mm</th><th class=\"n\">station</th>\
         <th class=\"n\">ball: least, mm</th><th class=\"n\">station</th><th>runs through itself</th></tr>\n",
    );
    for (i, proof) in run.pieces.iter().enumerate() {
        let asked = proof.asked_mm.map_or_else(
            || "<td></td>".to_owned(),
            |mm| cell(&format!("/pieces/{i}/asked_mm"), format!("{mm:.1}")),
        );
        let crosses = match proof.crossing {
            None => "no".to_owned(),
            Some(p) => format!("at {:.0}, {:.0}, {:.0} mm", p.x, p.y, p.z),
        };
        let _ = writeln!(
            html,
            "<tr><td>{}</td>{asked}{}{}<td>{crosses}</td></tr>",
            plain(&proof.name),
            range(&format!("/pieces/{i}/by_ray"), proof.ray),
            range(&format!("/pieces/{i}/to_closest"), proof.closest),
        );
    }
    html.push_str(CLOSE_TABLE);
}

/// The thinnest place, and where. The thickest is where walls meet, and tells nothing.
fn range(place: &str, range: Option<[ThickAt; 2]>) -> String {
    let Some([least, _]) = range else {
        return "<td></td><td></td>".to_owned();
    };
    let at = |key: &str| format!("{place}/{key}");
    [
        cell(&at("least/mm"), format!("{:.2}", least.mm)),
        // Adding zero keeps "-0" off the page.
        cell(
            &at("least/station_mm"),
            format!("{:.0}", least.s.round() + 0.0),
        ),
    ]
    .concat()
}
