//! `sheet.html`: the page a person opens first. One file, no network, prints on A4.

mod buck;
mod budget;
mod checks;
mod fit;
mod fixings;
mod parts;
mod positions;
mod removal;
mod segments;
mod staying_on;
mod style;

pub(in crate::output) use style::PAGE as STYLE;

use super::Run;
use super::svg::{self, escaped};
use super::views::Views;
use std::fmt::Write;

/// The page.
pub(super) fn page(run: Run<'_>, views: &Views, files: &[String]) -> String {
    let name = escaped(&run.measured.name);
    let mut html = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{name}: build sheet</title>\n<style>\n{}{}</style>\n</head>\n<body>\n<main>\n",
        style::PAGE,
        svg::style()
    );
    parts::heading(&mut html, run);
    figure(&mut html, &views.long_section, "hero");
    for view in &views.in_place {
        figure(&mut html, view, "plan");
    }
    section(&mut html, "Plan");
    figure(&mut html, &views.plan, "plan");
    section(&mut html, "Sections to scale");
    html.push_str(
        "<p>Narrow: the scans as the station plane cuts them. Hatched: the panel. Chain: the tray's fitted surface. \
         The arrow is the gap, the bar at its tip two sigma each way. Outside of the vehicle to the right.</p>\n<div class=\"row\">\n",
    );
    for view in &views.sections {
        figure(&mut html, view, "");
    }
    html.push_str("</div>\n");
    fit::fit(&mut html, run, views);
    positions::positions(&mut html, run, views);
    budget::table(&mut html, run);
    checks::checks(&mut html, run);
    segments::segments(&mut html, run);
    html.push_str("<div class=\"row\">\n");
    for view in &views.on_bed {
        figure(&mut html, view, "");
    }
    html.push_str("</div>\n");
    fixings::fixings(&mut html, run, views);
    buck::buck(&mut html, run, views);
    staying_on::staying_on(&mut html, run, views);
    removal::removal(&mut html, run, views);
    parts::findings(&mut html, run);
    parts::scans(&mut html, run);
    if let Some(parting) = &views.parting {
        figure(&mut html, parting, "plan");
    }
    parts::cautions(&mut html, run);
    parts::files(&mut html, files);
    html.push_str("</main>\n</body>\n</html>\n");
    html
}

fn section(html: &mut String, title: &str) {
    let _ = writeln!(html, "<h2>{title}</h2>");
}

fn figure(html: &mut String, view: &super::views::View, class: &str) {
    let _ = writeln!(
        html,
        "<figure class=\"{class}\">\n{}</figure>",
        svg::figure(&view.drawing)
    );
}
