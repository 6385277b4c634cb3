//! The panel: as it sits, how thick its wall came out, and whether it fits.

use super::{CLOSE_TABLE, cell, figure, fit, heading, model, open_table, told};
use crate::output::Run;
use crate::output::views::Views;
use crate::panel::proof::{Thickness, WallProof};
use crate::panel::{End, EndZone, Panel};
use std::fmt::Write;

pub(super) fn panel(html: &mut String, run: Run<'_>, views: &Views) {
    let Some((panel, _)) = run.made else {
        return;
    };
    if run.buck.is_some() {
        html.push_str(
            "<p>The part is a laminate off <a href=\"#buck\">the buck</a>. Its outside, top and foot are where this panel has \
             them; the pictures and walls are those of the same shape in plastic, which you print for trying only.</p>\n",
        );
    }
    model::model(html, run);
    for view in &views.in_place {
        figure(html, view, "");
    }
    shape(html, panel);
    wall(html, &panel.wall);
    if run.fit.is_some() {
        heading(html, "Does it fit");
        fit::fit(html, run, views);
    }
}

fn shape(html: &mut String, panel: &Panel) {
    let [left, right] = panel.ends.map(|zone| end_words(&zone));
    let _ = writeln!(
        html,
        "<p>Volume {} cm\u{b3}. Left end {left}, right end {right}. Its lines are drawn fair and leave the measured edge by at \
         most {} mm, at station {}.</p>",
        format_args!("{:.0}", panel.solid.mesh().signed_volume() / 1e3),
        told(
            "/panel/fairness/most_mm",
            format!("{:.1}", panel.fairness.most_mm)
        ),
        told(
            "/panel/fairness/at_mm",
            format!("{:.0}", panel.fairness.at_mm + 0.0)
        ),
    );
    if panel.reliefs.is_empty() {
        return;
    }
    html.push_str("<p>The flange is cut away round what stands on the tray:</p>\n<ul>\n");
    for (i, relief) in panel.reliefs.iter().enumerate() {
        let at = |key: &str| format!("/panel/reliefs/{i}/{key}");
        let [from, to] = relief.along;
        let _ = writeln!(
            html,
            "<li>station {} to {} mm, round something {} mm high</li>",
            told(&at("along_mm/0"), format!("{from:.0}")),
            told(&at("along_mm/1"), format!("{to:.0}")),
            told(&at("height_mm"), format!("{:.1}", relief.height)),
        );
    }
    html.push_str("</ul>\n");
}

fn end_words(zone: &EndZone) -> &'static str {
    match zone.end {
        End::Closed => "cut off flat",
        End::Returned => "closed by a wall that turns inboard",
        End::Faded => "falling onto the tray",
    }
}

fn wall(html: &mut String, wall: &WallProof) {
    let parts: [(&str, &Option<Thickness>); 4] = [
        ("face", &wall.face),
        ("lip", &wall.lip),
        ("flange", &wall.flange),
        ("end", &wall.end),
    ];
    if parts.iter().all(|(_, part)| part.is_none()) {
        return;
    }
    let _ = writeln!(
        html,
        "<p>Wall asked for: {} mm. As measured on the finished solid, through the wall:</p>",
        told("/panel/wall/asked_mm", wall.asked_mm)
    );
    let measured = parts.iter().filter_map(|(_, part)| part.as_ref());
    let asked = measured.flat_map(|part| [part.least.asked_mm, part.most.asked_mm]);
    let changes = asked.clone().any(|mm| (mm - wall.asked_mm).abs() > 1e-6);
    if changes {
        html.push_str(
            "<p>The wall tapers or changes along the gap, so each place is held to what was asked there: thinnest and thickest \
             are the places furthest under and over that.</p>\n",
        );
    }
    let of = if changes { " (asked there)" } else { "" };
    open_table(html, "Wall thickness as measured");
    let _ = writeln!(
        html,
        "<tr><th>part</th><th class=\"n\">thinnest, mm{of}</th><th class=\"n\">station</th><th class=\"n\">thickest, mm{of}</th>\
         <th class=\"n\">station</th></tr>",
    );
    let asked = |mm: f64| {
        if changes {
            format!(" ({mm:.2})")
        } else {
            String::new()
        }
    };
    for (name, part) in parts {
        let Some(part) = part else { continue };
        let at = |key: &str| format!("/panel/wall/{name}/{key}");
        let _ = writeln!(
            html,
            "<tr><td>{name}</td><td class=\"n\">{}{}</td>{}<td class=\"n\">{}{}</td>{}</tr>",
            told(&at("least/mm"), format!("{:.2}", part.least.mm)),
            asked(part.least.asked_mm),
            cell(
                &at("least/station_mm"),
                format!("{:.0}", part.least.station_mm)
            ),
            told(&at("most/mm"), format!("{:.2}", part.most.mm)),
            asked(part.most.asked_mm),
            cell(
                &at("most/station_mm"),
                format!("{:.0}", part.most.station_mm)
            ),
        );
    }
    html.push_str(CLOSE_TABLE);
}
