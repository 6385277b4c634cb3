//! Where the scale comes from, and how two scans came into one frame.

use super::{CLOSE_TABLE, cell, figure, open_table, told};
use crate::output::Run;
use crate::output::placing::scale_check_percent;
use crate::output::svg::escaped;
use crate::output::views::Views;
use crate::scan::Registration;
use crate::scan::scale::ScaleFit;
use std::fmt::Write;

pub(super) fn placing(html: &mut String, run: Run<'_>, views: &Views) {
    let placing = &run.measured.scene.placing;
    match (&placing.body_scale, &placing.tray_scale) {
        (None, None) => unchecked_scale(html, run),
        (body, tray) => {
            for (fit, name) in [(body, "body"), (tray, "tray")] {
                if let Some(fit) = fit {
                    scale(html, fit, name);
                }
            }
        }
    }
    match &placing.alignment {
        None if placing.separated => html.push_str(
            "<p><b>Frame</b>: one scan held both; what was taken for body and what for tray is drawn below. Look at it before \
             you trust the rest.</p>\n",
        ),
        None => html.push_str(
            "<p><b>Frame</b>: both scans are taken to be in one frame, as they came: scanned in one go, or exported from one \
             project. If they were not, the gap is wrong by whatever lies between them.</p>\n",
        ),
        Some(found) => registration(html, found),
    }
    let _ = writeln!(
        html,
        "<p>The tray departs from a plane by {} mm, root mean square; the gap is measured to its real surface, not to \
         the plane.</p>",
        told(
            "/survey/tray_flatness_mm",
            format!("{:.1}", run.measured.scene.tray_flatness_mm)
        )
    );
    if let Some(parting) = &views.parting {
        figure(html, parting, "plan");
    }
}

fn unchecked_scale(html: &mut String, run: Run<'_>) {
    html.push_str(
        "<p><b>Scale</b>: taken as the scans give it. No distance measured on the vehicle was put into the job, so a scan \
         that is half a per cent too large makes a panel that is too, and nothing here can tell.",
    );
    if let Some(percent) = scale_check_percent(run.measured) {
        let _ = write!(
            html,
            " The lengths under <a href=\"#checks\">check with tape and caliper</a> find an error of {} % or more: they \
             begin and end where the edge does, and that is known no better. ",
            told(
                "/placing/lengths_check_scale_percent",
                format!("{percent:.1}")
            )
        );
    }
    html.push_str(
        "Two marks on the body, far apart, with their distance taped and put into the job as <code>[[distance]]</code>, \
         find a smaller one.</p>\n",
    );
}

fn scale(html: &mut String, fit: &ScaleFit, name: &str) {
    let place = format!("/placing/{name}_scale");
    let _ = writeln!(
        html,
        "<p><b>Scale of the {name}\u{2019}s scan</b>: multiplied by {} \u{b1} {:.5} (two standard uncertainties), by least \
         squares over the distances below. Left over is the scaled scan less the tape.</p>",
        told(&format!("{place}/factor"), format!("{:.5}", fit.factor)),
        2.0 * fit.sigma
    );
    open_table(html, &format!("Distances that set the scale of the {name}"));
    html.push_str(
        "<tr><th>distance</th><th class=\"n\">by tape, mm</th><th class=\"n\">left over, mm</th>\
         <th class=\"n\">in sigmas</th></tr>\n",
    );
    for (i, reference) in fit.references.iter().enumerate() {
        let at = |key: &str| format!("{place}/distances/{i}/{key}");
        let _ = writeln!(
            html,
            "<tr><td>{}</td>{}{}{}</tr>",
            escaped(&reference.label),
            cell(&at("mm"), format!("{:.1}", reference.true_mm)),
            cell(&at("residual_mm"), format!("{:+.1}", reference.residual_mm)),
            cell(&at("in_sigmas"), format!("{:+.1}", reference.in_sigmas)),
        );
    }
    html.push_str(CLOSE_TABLE);
}

fn registration(html: &mut String, found: &Registration) {
    let at = |key: &str| format!("/placing/alignment/{key}");
    let _ = writeln!(
        html,
        "<p><b>Frame</b>: the two scans were set together by {} pairs of named points (left over {} mm, root mean square), \
         then surface to surface where they overlap: {} % of the surface, left over {} mm.</p>",
        told(&at("pairs"), found.pairs),
        told(
            &at("pairs_residual_mm"),
            format!("{:.1}", found.pairs_residual_mm)
        ),
        // The report has a share.
        format_args!("{:.0}", 100.0 * found.overlap),
        told(&at("residual_mm"), format!("{:.2}", found.residual_mm)),
    );
    if !found.weak.is_empty() {
        let _ = writeln!(
            html,
            "<p class=\"look\">Held weakly: {}. Check a gap there before you build.</p>",
            escaped(&found.weak.join("; "))
        );
    }
}
