//! The joints on the page: what each is, what keeps it from going together wrongly, and in what order they
//! are closed.

use super::{CLOSE_TABLE, cell, figure, open_table, told};
use crate::output::row::{Row, RowOf};
use crate::output::svg::escaped;
use crate::output::views::Views;
use crate::output::words::from_line;
use crate::split::{Joint, JointKind, letter};
use std::fmt::Write;

/// What stands in the table of segments: the joint by its letter and kind.
pub(super) fn in_short(joint: &Joint) -> String {
    format!(
        "{}: {}{}",
        joint.letter,
        joint.kind.trade_name(),
        match joint.kind {
            JointKind::Tab => ", the tab on this one",
            JointKind::Bulkhead => ", the pins on this one",
            JointKind::Butt => "",
        }
    )
}

/// The table of a row's joints.
fn table(html: &mut String, row: Row<'_>) {
    let parts = row.parts;
    open_table(html, &format!("Joints{}", row.of.whose()));
    html.push_str(
        "<tr><th>joint</th><th>segments</th><th class=\"n\">station, mm</th><th>kind</th>\
         <th class=\"n\">room for glue, mm</th><th class=\"n\">glue area, mm\u{b2}</th><th>keys, mm from line 0 of the drawing</th></tr>\n",
    );
    for (i, joint) in parts.joints.iter().enumerate() {
        let at = |key: &str| format!("{}/joints/{i}/{key}", row.of.place());
        let _ = writeln!(
            html,
            "<tr><td><b>{}</b></td><td>{} to {}</td>{}<td>{}</td>{}{}<td class=\"how\">{}</td></tr>",
            joint.letter,
            joint.tab_on,
            joint.tab_on + 1,
            cell(&at("station_mm"), format!("{:.0}", joint.s)),
            held_by(joint),
            cell(&at("fit_mm"), format!("{:.2}", joint.fit_mm)),
            glue(&at("glue_mm2"), joint),
            escaped(&keys(joint)),
        );
    }
    html.push_str(CLOSE_TABLE);
}

fn held_by(joint: &Joint) -> String {
    let kind = joint.kind.trade_name();
    match joint.kind {
        JointKind::Tab => format!("{kind} on {}", joint.tab_on),
        JointKind::Bulkhead => format!("{kind}, pins on {}", joint.tab_on),
        JointKind::Butt => format!("{kind}: glue alone"),
    }
}

fn keys(joint: &Joint) -> String {
    if joint.keys.is_empty() {
        return "none: go by the letters".to_owned();
    }
    let heights: Vec<String> = (joint.keys.iter())
        .map(|key| from_line(key.height_mm))
        .map(|(mm, way)| format!("{mm} {way}"))
        .collect();
    let what = match joint.kind {
        JointKind::Bulkhead => "pins",
        _ if heights.len() > 1 => "tongues",
        _ => "tongue",
    };
    format!("{what} {}", heights.join(" and "))
}

/// What glue holds on besides the faces of the cut.
fn glue(place: &str, joint: &Joint) -> String {
    if joint.glue_mm2 < 0.5 {
        "<td class=\"n\">the cut alone</td>".to_owned()
    } else {
        cell(place, format!("{:.0}", joint.glue_mm2))
    }
}

/// How the joints are made, and which is closed first and where it is clamped.
pub(super) fn joints(html: &mut String, row: Row<'_>, views: &Views) {
    if row.parts.joints.is_empty() {
        return;
    }
    table(html, row);
    html.push_str(
        "<p>The letter of a joint stands on both segments, on the side that it joins. Keys are at a height of \
         their own in each joint as far as there is room, so what does not belong together stops short. Roughen \
         and wipe both faces before gluing, and keep the glue out of the sockets\u{2019} ends. Glue area: what tab or bulkhead add to \
         the faces of the cut.</p>\n",
    );
    // The twin's are the panel's, seen in a mirror.
    for view in views.joints.iter().filter(|(of, _)| *of == row.of) {
        figure(html, &view.1, "");
    }
    order(html, row, views);
}

fn order(html: &mut String, row: Row<'_>, views: &Views) {
    super::heading(html, "Order of assembly");
    if let Some(view) = views.row(row.of).and_then(|row| row.exploded.as_ref()) {
        figure(html, view, "plan");
    }
    html.push_str(match row.of {
        RowOf::Buck => {
            "<p>Set all segments dry on a flat board first. Then join from the middle outward:</p>\n<ol>\n"
        }
        RowOf::Panel | RowOf::Twin => {
            "<p>Try all segments dry on the vehicle first. Then join from the middle outward:</p>\n<ol>\n"
        }
    });
    for (i, step) in row.parts.assembly.iter().enumerate() {
        let at = |key: &str| format!("{}/assembly/{i}/{key}", row.of.place());
        let [a, b] = step.clamp;
        let _ = writeln!(
            html,
            "<li>Joint {}: segment {} to {}, cut at station {} mm: clamp at {} and {} mm.</li>",
            letter(step.joint.saturating_sub(1)),
            told(&at("segments/0"), step.joint),
            told(&at("segments/1"), step.joint + 1),
            told(&at("station_mm"), format!("{:.0}", step.s)),
            told(&at("clamp_mm/0"), format!("{a:.0}")),
            told(&at("clamp_mm/1"), format!("{b:.0}")),
        );
    }
    html.push_str("</ol>\n");
}
