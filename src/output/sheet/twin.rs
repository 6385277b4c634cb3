//! The panel for the vehicle's other side on the page: what it is, its segments, joints and fixings.

use super::{beds, joints, segments, told};
use crate::output::row::{Row, RowOf};
use crate::output::views::Views;
use crate::output::{Run, TWIN_FOLDER, TWIN_STL, paper_word};
use crate::panel::proof::TwinFit;
use std::fmt::Write;

pub(super) fn twin(html: &mut String, run: Run<'_>, views: &Views) {
    let (Some(made), Some(row)) = (run.twin, Row::find(run, RowOf::Twin)) else {
        return;
    };
    let _ = writeln!(
        html,
        "<p>The panel above serves the side that was scanned. This one is its mirror image for the vehicle\u{2019}s other \
         side: <a href=\"{TWIN_STL}\">{TWIN_STL}</a>. It is cut for the printer by itself, and its files lie under \
         {TWIN_FOLDER}. Stations, left and right are as you stand outside and face that side: its station 0 is at your left \
         there, which is this side\u{2019}s right end.</p>"
    );
    let folder = |text: &str| format!("<a href=\"{text}\">{text}</a>");
    if !made.twin.panel.fixings.is_empty() {
        let _ = writeln!(
            html,
            "<p>Its holes: {}; its drilling template: {} or {}.</p>",
            folder("holes_twin.csv"),
            folder(&format!(
                "templates/drilling_twin_{}.pdf",
                paper_word(run.measured.paper)
            )),
            folder("templates/drilling_twin.svg"),
        );
    }
    match &made.fit {
        Some(fit) => other_side(html, fit),
        None => html.push_str(
            "<p class=\"look\">The other side was not measured. Vehicles are seldom the same on both sides: hold the paper \
             template to it turned over, or scan it and name its job with <code>twin_job</code>, before you print.</p>\n",
        ),
    }
    super::heading(html, "Its segments");
    segments::table(html, row);
    beds::beds(html, row, views);
    super::heading(html, "Its joints");
    joints::joints(html, row, views);
}

/// How the mirror image fits the vehicle's other side by that side's own survey.
fn other_side(html: &mut String, fit: &TwinFit) {
    let at = |key: &str| format!("/twin/other_side/{key}");
    let percent = |share: f64| format!("{:.0}", 100.0 * share);
    let _ = writeln!(
        html,
        "<p>Held against the other side's own survey, set under its edge and down on its tray: seal or lap take up what is \
         left along {} % of it, and its edge stands within {} mm of where it should along {} %. That edge is {} mm longer \
         than this side's (less than nothing: shorter).</p>",
        percent(fit.covered),
        told(&at("aside_limit_mm"), format!("{:.1}", fit.aside_limit_mm)),
        percent(fit.under),
        told(&at("longer_mm"), format!("{:.1}", fit.longer_mm + 0.0)),
    );
}
