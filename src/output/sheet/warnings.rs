//! Warnings with their place on the vehicle and a picture of it, then notes.

use super::{heading, plain};
use crate::diag::{Finding, Weight};
use crate::output::Run;
use crate::output::place::{Tape, places};
use crate::output::svg;
use crate::output::views::Views;
use std::fmt::Write;

/// Warnings, numbered as on the long section, then notes.
pub(super) fn warnings(html: &mut String, run: Run<'_>, views: &Views) {
    let all = run.findings();
    let (warnings, notes): (Vec<&Finding>, Vec<&Finding>) =
        all.into_iter().partition(|f| f.weight == Weight::Warning);
    let tape = Tape::lay(run);
    if warnings.is_empty() {
        html.push_str("<p>None.</p>\n");
    } else {
        html.push_str(
            "<p>Numbers as under the <a href=\"#gap\">long section</a>, where a warning has a station. Distances are by a soft \
             tape along the body\u{2019}s edge.</p>\n<ol class=\"findings\">\n",
        );
        for (i, finding) in warnings.iter().enumerate() {
            let place = format!("/warnings/{i}");
            one(html, finding, tape.as_ref(), &place, |html| {
                for (_, view) in views.warned.iter().filter(|(number, _)| *number == i + 1) {
                    let _ = writeln!(html, "<figure>\n{}</figure>", svg::figure(&view.drawing));
                }
            });
        }
        html.push_str("</ol>\n");
    }
    if !notes.is_empty() {
        heading(html, "Notes");
        html.push_str("<ul class=\"findings\">\n");
        for (i, finding) in notes.iter().enumerate() {
            one(html, finding, tape.as_ref(), &format!("/notes/{i}"), |_| {});
        }
        html.push_str("</ul>\n");
    }
}

fn one(
    html: &mut String,
    finding: &Finding,
    tape: Option<&Tape<'_>>,
    report: &str,
    picture: impl FnOnce(&mut String),
) {
    let _ = write!(
        html,
        "<li><div class=\"said\"><b>{}</b>",
        plain(&finding.what)
    );
    if let Some(mm) = finding.size_mm {
        let place = format!("{report}/size_mm");
        let _ = write!(
            html,
            "<br>How much: {} mm.",
            super::told(&place, format!("{:.1}", mm + 0.0))
        );
    }
    if let Some(places) = places(finding, tape) {
        let _ = write!(html, "<br>Where: {places}.");
    }
    if !finding.hint.is_empty() {
        let _ = write!(html, "<br>To do: {}.", plain(&finding.hint));
    }
    html.push_str("</div>\n");
    picture(html);
    html.push_str("</li>\n");
}
