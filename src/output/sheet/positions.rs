//! The tray's positions on the page.

use crate::output::svg::escaped;
use crate::output::views::Views;
use crate::output::{Run, own_panel_file, position_csv};
use crate::panel::proof::positions::{Held, Served};
use std::fmt::Write;

pub(super) fn positions(html: &mut String, run: Run<'_>, views: &Views) {
    if run.measured.positions.is_empty() {
        return;
    }
    if let Some(view) = &views.positions {
        super::figure(html, view, "hero");
    }
    let Some(made) = run.positions else {
        gap_files(html, run);
        return;
    };
    let where_left = match made.proof.held {
        Held::OnTray => {
            "over the top, paint taken off, with the panel set under the edge and pressed down on the tray in each position"
        }
        Held::OnBody => "under the foot, with the panel where it is and the tray moved under it",
    };
    let said = match (made.proof.served, made.proof.held) {
        (Served::AsDesigned, _) => {
            "One panel, made for the scanned position, serves in all of them."
        }
        (Served::ForTheLeastGap, Held::OnTray) => {
            "One panel serves in all of them. It is made lower than the scanned position asks for: for the least gap of all positions at each station."
        }
        (Served::ForTheLeastGap, Held::OnBody) => {
            "One panel serves in all of them. Its foot stands on the highest tray of all positions at each station."
        }
        (Served::OneEach, _) => {
            "No one panel serves in all of them: each position has its own. The table says what the panel for the scanned position would leave."
        }
    };
    let _ = writeln!(
        html,
        "<p class=\"lead\">{said}</p>\n<p>Left: {where_left}. Aside: how far the top would stand from under the edge, or past its \
         end, if the panel stayed fastened to the tray as that moves; more than half a wall, and it has to be set anew.</p>\n\
         <div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"What each position leaves\"><table>\n<tr><th>position</th><th class=\"n\">least left, mm</th><th class=\"n\">at station</th>\
         <th class=\"n\">most left, mm</th><th class=\"n\">at station</th><th class=\"n\">taken up, %</th><th class=\"n\">aside, mm</th>\
         <th>gap</th><th>panel</th></tr>"
    );
    for (i, proof) in made.proof.positions.iter().enumerate() {
        let cells = |met: Option<(f64, f64)>| {
            met.map_or_else(
                || "<td></td><td></td>".to_owned(),
                |(mm, s)| format!("<td class=\"n\">{mm:.1}</td><td class=\"n\">{s:.0}</td>"),
            )
        };
        let own = i
            .checked_sub(1)
            .filter(|i| made.own.iter().any(|own| own.setting == *i));
        let gap = if i == 0 {
            "gap.csv".to_owned()
        } else {
            position_csv(&proof.word)
        };
        let panel = match own {
            Some(_) => own_panel_file(&proof.word),
            None if i == 0 || proof.serves() => "panel.stl".to_owned(),
            None => String::new(),
        };
        let aside = proof
            .aside
            .map_or_else(String::new, |(mm, _)| format!("{mm:.1}"));
        let _ = writeln!(
            html,
            "<tr><td>{}</td>{}{}<td class=\"n\">{:.0}</td><td class=\"n\">{aside}</td><td><a href=\"{gap}\">{gap}</a></td>\
             <td><a href=\"{panel}\">{panel}</a></td></tr>",
            escaped(&proof.name),
            cells(proof.least()),
            cells(proof.most()),
            100.0 * proof.covered
        );
    }
    html.push_str("</table></div>\n");
}

/// After a survey alone: the tables of the gap.
fn gap_files(html: &mut String, run: Run<'_>) {
    html.push_str("<ul>\n");
    for setting in &run.measured.positions {
        let file = position_csv(&setting.word);
        let _ = writeln!(
            html,
            "<li>{}: <a href=\"{file}\">{file}</a></li>",
            escaped(&setting.name)
        );
    }
    html.push_str("</ul>\n");
}
