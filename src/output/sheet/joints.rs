//! The joints on the page: what each is, what keeps it from going together wrongly, and in what order they
//! are closed.

use super::{CLOSE_TABLE, cell, figure, open_table, told};
use crate::output::Run;
use crate::output::svg::escaped;
use crate::output::views::Views;
use crate::split::{Joint, JointKind, Segments, letter};
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

/// The table of a row's joints; `at` is where the report has them.
pub(super) fn table(html: &mut String, parts: &Segments, at: &str) {
    if parts.joints.is_empty() {
        return;
    }
    open_table(html, "Joints");
    html.push_str(
        "<tr><th>joint</th><th>segments</th><th class=\"n\">station, mm</th><th>kind</th>\
         <th class=\"n\">room, mm</th><th class=\"n\">glue on, mm\u{b2}</th><th>keys</th></tr>\n",
    );
    for (i, joint) in parts.joints.iter().enumerate() {
        let at = |key: &str| format!("{at}/{i}/{key}");
        let _ = writeln!(
            html,
            "<tr><td><b>{}</b></td><td>{} to {}</td>{}<td>{}</td>{}{}<td>{}</td></tr>",
            joint.letter,
            joint.tab_on,
            joint.tab_on + 1,
            cell(&at("station_mm"), format!("{:.0}", joint.s)),
            held_by(joint),
            cell(&at("fit_mm"), format!("{:.2}", joint.fit_mm)),
            cell(&at("glue_mm2"), format!("{:.0}", joint.glue_mm2)),
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
        .map(|key| format!("{:.1}", key.height_mm))
        .collect();
    let what = match joint.kind {
        JointKind::Bulkhead => "pins",
        _ if heights.len() > 1 => "tongues",
        _ => "tongue",
    };
    format!("{what} {} mm up the face", heights.join(" and "))
}

/// How the joints are made, and which is closed first and where it is clamped.
pub(super) fn joints(html: &mut String, run: Run<'_>, views: &Views) {
    let Some((_, parts)) = run.made.filter(|(_, parts)| !parts.joints.is_empty()) else {
        return;
    };
    table(html, parts, "/joints");
    html.push_str(
        "<p>The letter of a joint stands on both segments, on the side that it joins. Keys are at a height of \
         their own in each joint as far as there is room, so what does not belong together stops short. Roughen \
         and wipe both faces before gluing, and keep the glue out of the sockets\u{2019} ends.</p>\n",
    );
    for view in &views.joints {
        figure(html, view, "");
    }
    order(html, parts, views);
}

fn order(html: &mut String, parts: &Segments, views: &Views) {
    super::heading(html, "Order of assembly");
    if let Some(view) = &views.exploded {
        figure(html, view, "");
    }
    html.push_str(
        "<p>Try all segments dry on the vehicle first. Then join from the middle outward:</p>\n<ol>\n",
    );
    for (i, step) in parts.assembly.iter().enumerate() {
        let at = |key: &str| format!("/assembly/{i}/{key}");
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
