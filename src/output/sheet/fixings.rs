//! The fixings on the sheet: what is drilled where, what to buy, and whether the tray's own are reached.

use super::{CLOSE_TABLE, cell, figure, heading, open_table, told, told_bare};
use crate::output::holes::{kind_word, set_in};
use crate::output::svg::escaped;
use crate::output::views::Views;
use crate::output::{Run, paper_word};
use crate::panel::fixings::{Bore, Fixing, FixingKind, to_buy};
use crate::panel::{Mount, Panel};
use std::fmt::Write;

/// Hole table, drawings, hardware, and the tray's own fixings.
pub(super) fn fixings(html: &mut String, run: Run<'_>, views: &Views) {
    let Some((panel, _)) = run.made else {
        return;
    };
    if panel.fixings.is_empty() && panel.tray_fixings.is_empty() {
        return;
    }
    if !panel.fixings.is_empty() {
        if run.buck.is_some() {
            html.push_str(
                "<p>The places hold for the laminated part as well: drill them in it, and in the flange that is bonded to it \
                 (<a href=\"#fitting\">trimming and fitting</a>). Bosses are on the plastic panel alone: on the laminate bond \
                 studs or nuts in their place.</p>\n",
            );
        }
        own(html, panel, run);
        for view in &views.fixings {
            figure(html, view, "plan");
        }
        hardware(html, panel);
    }
    trays(html, panel);
}

fn own(html: &mut String, panel: &Panel, run: Run<'_>) {
    let Some(first) = panel.fixings.first() else {
        return;
    };
    let _ = writeln!(html, "<p>{}</p>", how(first, run));
    open_table(html, "Holes");
    html.push_str(
        "<tr><th class=\"n\">fixing</th><th class=\"n\">station, mm</th><th>in</th><th>what</th>\
         <th class=\"n\">size, mm</th><th class=\"n\">from its middle, mm</th><th class=\"n\">from face, mm</th>\
         <th class=\"n\">to edge, mm</th><th class=\"n\">free over it, mm</th></tr>\n",
    );
    for (i, fixing) in panel.fixings.iter().enumerate() {
        for (k, bore) in fixing.bores().iter().enumerate() {
            row(html, &format!("/fixings/all/{i}"), (fixing, bore), k);
        }
    }
    html.push_str(CLOSE_TABLE);
    let _ = writeln!(
        html,
        "<p>From its middle: where in a slot the fastener is set, as you face the panel from outside. Free over it: \
         how high it is clear over the washer's seat, and how much of that head or nut take. The same with axes: <a \
         href=\"holes.csv\">holes.csv</a>; the places at 1:1: <a href=\"templates/drilling_{paper}.pdf\">templates/drilling_{paper}.pdf</a> \
         or <a href=\"templates/drilling.svg\">templates/drilling.svg</a>.</p>",
        paper = paper_word(run.measured.paper)
    );
}

/// A bore: what holds for the whole fixing stands beside its first alone.
fn row(html: &mut String, place: &str, (fixing, bore): (&Fixing, &Bore), k: usize) {
    let of =
        |key: &str, value: f64| told(&format!("{place}/bores/{k}/{key}"), format!("{value:.1}"));
    let width = of("width_mm", bore.width_mm);
    let size = match bore.depth_mm {
        Some(depth) => format!("{width}, {} deep", of("depth_mm", depth)),
        None if bore.length_mm > bore.width_mm => {
            format!("{width} \u{d7} {}", of("length_mm", bore.length_mm))
        }
        None => width,
    };
    let set = set_in(fixing, bore);
    let set = if set.abs() < 0.05 {
        "in the middle".to_owned()
    } else {
        let side = if set < 0.0 { "left" } else { "right" };
        format!("{:.1} to the {side}", set.abs())
    };
    let _ = write!(
        html,
        "<tr{}><td class=\"n\">{}</td>{}<td>{}</td><td>{}</td><td class=\"n\">{size}</td><td class=\"n\">{set}</td>",
        // On paper a fixing's bores stay together.
        if k > 0 { " class=\"with\"" } else { "" },
        fixing.number,
        cell(&format!("{place}/station_mm"), format!("{:.1}", fixing.s)),
        bore.into.word(),
        bore.word(),
    );
    if k > 0 {
        html.push_str("<td></td><td></td><td></td></tr>\n");
        return;
    }
    let room = match fixing.room_mm {
        Some(room) => format!(
            "{}, head {}",
            told(&format!("{place}/room_mm"), format!("{room:.1}")),
            told(
                &format!("{place}/head_mm"),
                format!("{:.1}", fixing.head_mm)
            )
        ),
        None => "open".to_owned(),
    };
    let _ = writeln!(
        html,
        "{}{}<td class=\"n\">{room}</td></tr>",
        cell(
            &format!("{place}/from_face_mm"),
            format!("{:.1}", fixing.from_face_mm)
        ),
        cell(
            &format!("{place}/to_edge_mm"),
            format!("{:.1}", fixing.to_edge_mm)
        ),
    );
}

/// How they are set, and what is under the tray.
fn how(first: &Fixing, run: Run<'_>) -> String {
    let mut text = format!("{}, {}: ", first.screw.name(), kind_word(first.kind));
    text.push_str(match first.kind {
        FixingKind::ScrewIntoTray => {
            "from above through the flange into rivet nuts in the tray. Set them with the tray off the vehicle; the flanges of rivet \
             nuts stand proud of the tray, so take countersunk ones or file the slots' undersides free."
        }
        FixingKind::StudInTray => {
            "blind rivet studs set from above stand up from the tray; washers and locking nuts go on the flange."
        }
        FixingKind::ScrewThroughSkin => {
            "from outside through skin and lip, washer and locking nut behind. The skin has round holes, the lip slots."
        }
        FixingKind::StudOnSkin => {
            "studs on plates, bonded to the back of the skin, go through slots in the lip; washer and locking nut behind."
        }
        FixingKind::InsertInLip => {
            "inserts set with heat in bosses behind the lip take screws from outside. The slots are in the skin, one hole near the \
             middle is round."
        }
        FixingKind::StudOnPanel => {
            "studs on plates, bonded to the hidden side of the face, for brackets on the body that you make to suit, with the slots in \
             them. Roughen and degrease both faces."
        }
    });
    let under = first.under_tray_mm();
    if under > 0.0 {
        let _ = write!(
            text,
            " No head or nut is under the tray. Blind ends stand out there by about {under:.0} mm: see that nothing touches the ground \
             with them, wheels at full bump."
        );
    } else {
        text.push_str(" Nothing of them is under the tray.");
    }
    if run.removal.is_some_and(|proof| proof.mount == Mount::Body) {
        text.push_str(" The tray comes off past the panel and needs none of these undone.");
    }
    text
}

fn hardware(html: &mut String, panel: &Panel) {
    heading(html, "To buy, and a few to spare");
    html.push_str("<ul>\n");
    for (i, (count, what)) in to_buy(&panel.fixings).into_iter().enumerate() {
        let count = told(&format!("/fixings/to_buy/{i}/count"), count);
        let _ = writeln!(html, "<li>{count} \u{d7} {}</li>", escaped(&what));
    }
    html.push_str(
        "</ul>\n<p>Stainless in aluminium corrodes where it stays wet: use plated steel or a barrier paste. Drill at low speed with eye \
         protection, catch and wash off the chips, and never drill where you have not looked behind. Sizes of rivet nuts, studs and \
         inserts differ by manufacturer: their data sheets come before this table.</p>\n",
    );
}

/// How far a place lies off the line that stations are counted along, and which way.
fn aside(place: &str, across: f64) -> String {
    let way = if across < 0.0 { "inboard" } else { "outward" };
    let mm = across.abs().round();
    if mm == 0.0 {
        "<td class=\"n\">on it</td>".to_owned()
    } else {
        format!(
            "<td class=\"n\">{} {way}</td>",
            told_bare(place, format!("{mm:.0}"))
        )
    }
}

fn trays(html: &mut String, panel: &Panel) {
    heading(html, "The tray's own fixings");
    if panel.tray_fixings.is_empty() {
        html.push_str(
            "<p>None is named in the job and none was seen under the panel, so whether they stay reachable is \
             not known. Name them under <code>[[keep_out]]</code>, kind \"tray fixing\".</p>\n",
        );
        return;
    }
    html.push_str("<p>With the panel fitted, a straight tool held over and under each. Aside: how far it lies from the line that stations are counted \
         along.</p>\n");
    open_table(html, "The tray's own fixings");
    html.push_str(
        "<tr><th>tray fixing</th><th class=\"n\">station, mm</th><th class=\"n\">aside, mm</th><th>reached</th></tr>\n",
    );
    for (i, seen) in panel.tray_fixings.iter().enumerate() {
        let name = seen
            .name
            .as_deref()
            .map_or("seen on the tray".into(), escaped);
        let place = format!("/tray_fixings/{i}");
        let _ = writeln!(
            html,
            "<tr><td>{name}</td>{}{}<td class=\"how\">{}</td></tr>",
            cell(&format!("{place}/station_mm"), format!("{:.0}", seen.s)),
            aside(&format!("{place}/across_mm"), seen.across),
            seen.reason()
        );
    }
    html.push_str(CLOSE_TABLE);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_far_aside_is_said_with_the_way() {
        let cell = aside("/a", -55.2);
        assert!(cell.contains(">55</span> inboard<") && cell.contains("\"-/a\""));
        assert!(aside("/a", 22.0).contains(">22</span> outward<"));
        assert_eq!(aside("/a", -0.2), "<td class=\"n\">on it</td>");
    }
}
