//! Air and heat against the panel, on the sheet.

use super::{cell, figure, told, told_bare};
use crate::output::Run;
use crate::output::svg::escaped;
use crate::output::views::Views;
use crate::output::words::span;
use crate::panel::proof::air_load::{FaceHeld, LoadProof, Planned};
use crate::panel::proof::heat::HeatProof;
use std::fmt::Write;

/// Loads, bending, growth, slots and heat sources, and how little that proves.
pub(super) fn staying_on(html: &mut String, run: Run<'_>, views: &Views) {
    let Some(made) = run.staying_on else {
        return;
    };
    html.push_str(
        "<p><b>An estimate for choosing, not a certificate.</b> It knows a steady wind and steady heat, and the class of \
         plastic; not gusts, flutter, stones, fatigue, creep, poor bonding between layers, nor your glue. What the rules of a race \
         series or of the road ask for comes first, and so does an inspection by someone qualified.</p>\n",
    );
    laminate(html, run, &made.air);
    air(html, &made.air);
    heat(html, &made.heat);
    slots(html, &made.air, &made.heat);
    if let Some(view) = &views.slot {
        figure(html, view, "plan");
    }
    gaps(html, &made.heat);
    sources(html, &made.heat);
    html.push_str(
        "<p>Before every drive pull at the panel all along by hand. Look it over again after the first kilometres and after \
         the first hot day: cracks at fixings, slots that have run out, nuts that have turned. If it flutters, slow down and stop.</p>\n",
    );
}

/// How a laminate that is lifted off its buck stands to the plastic that the numbers are for.
fn laminate(html: &mut String, run: Run<'_>, proof: &LoadProof) {
    let Some(bends) = run.layup.and_then(|layup| layup.bends) else {
        return;
    };
    let at = |key: &str, value: f64, decimals: usize| {
        let place = format!("/laminate/bending/{key}");
        told(&place, format!("{value:.decimals$}"))
    };
    let laminate = told(
        "/laminate/thickness_mm",
        format!("{:.2}", bends.laminate_mm),
    );
    let mut words = format!(
        "<p>The numbers below are those of the panel in <b>plastic</b>. The laminate of {laminate} mm bends about \
         <b>{} times</b> as much as that wall of {} mm (stiffness times thickness cubed, the plastic\u{2019}s stiffness where it is \
         hottest, {} MPa, and low ones of hand-laid cloth, from memory)",
        at("times_the_plastic", bends.times, 2),
        at("wall_mm", bends.wall_mm, 1),
        at("plastic_mpa", bends.plastic_mpa, 0)
    );
    if let Some(worst) = proof.worst.as_ref().map(|w| w.deflection_mm()) {
        let _ = write!(
            words,
            ": at its worst about {} mm, and {:.1} mm are allowed",
            span(worst.map(|mm| mm * bends.times), 1),
            proof.options.limit_mm
        );
    }
    words.push_str(". ");
    if bends.times > 1.0 {
        let _ = write!(
            words,
            "It is <b>softer</b> than the plastic: fixings have to stand closer than is said below. Lay more plies ({} mm of the same \
             bends no more than the plastic), or stiffen it behind with a core or a rib. ",
            at("enough_mm", bends.enough_mm(), 1)
        );
    }
    words.push_str(
        "It grows less with heat. A resin that cured in a room softens itself from about 50 to 60 \u{b0}C (from memory), which is not in \
         this: its data sheet comes first. Bend a test strip of yours before you trust it.</p>\n",
    );
    html.push_str(&words);
}

fn air(html: &mut String, proof: &LoadProof) {
    let at = |key: &str, value: f64, decimals: usize| {
        let place = format!("/staying_on/air/{key}");
        told(&place, format!("{value:.decimals$}"))
    };
    let _ = writeln!(
        html,
        "<ul>\n<li>Air: at {} km/h it {} the panel with {} Pa (a pressure coefficient of {}, as the job has it). {} at {} \u{b0}C has a \
         stiffness of {} MPa; the wall is {} mm thick.</li>",
        at("speed_kmh", proof.options.speed_kmh, 0),
        if proof.options.pressure_coefficient < 0.0 {
            "sucks outward on"
        } else {
            "presses inward on"
        },
        at("pressure_pa", proof.pressure_pa, 0),
        at(
            "pressure_coefficient",
            proof.options.pressure_coefficient,
            2
        ),
        proof.material.name(),
        at("hot_c", proof.hot_c, 0),
        at("stiffness_mpa", proof.stiffness_mpa, 0),
        proof.wall_mm
    );
    if let Planned::Assumed(pitch) = proof.planned {
        let _ = writeln!(
            html,
            "<li>The job plans no fixings; one at least every {pitch:.0} mm is assumed.</li>"
        );
    }
    let held = match proof.held {
        FaceHeld::OneEdge => "stands on one edge; a seal holds nothing",
        FaceHeld::BothEdges => "is held at its foot and leans on its lip",
    };
    if let Some(worst) = &proof.worst {
        let _ = writeln!(
            html,
            "<li>It bends most between stations {:.0} and {:.0} mm, where the face is {:.0} mm tall: by {} mm; \
             {:.1} mm are allowed. Of that {} mm between fixings, the wall taken alone, and {} mm from foot to top, \
             where the face {held}. The stress is {:.1} MPa.</li>",
            worst.along[0],
            worst.along[1],
            worst.height_mm,
            span(worst.deflection_mm(), 1),
            proof.options.limit_mm,
            span([worst.between.least_mm, worst.between.most_mm], 1),
            span([worst.face.least_mm, worst.face.most_mm], 1),
            worst.stress_mpa()
        );
    }
    if let Some(pitch) = proof.widest_pitch_mm {
        let _ = writeln!(
            html,
            "<li>Fixings no further apart than {pitch:.0} mm keep that all along.</li>"
        );
    }
    html.push_str("</ul>\n");
}

/// A length in the report under a key, and whether it is longer or shorter by that.
fn longer(key: &str, mm: f64) -> String {
    let way = if mm < 0.0 { "shorter" } else { "longer" };
    let place = format!("/staying_on/heat/{key}");
    format!("{} mm {way}", told_bare(&place, format!("{:.1}", mm.abs())))
}

fn heat(html: &mut String, proof: &HeatProof) {
    let thermal = &proof.thermal;
    let at = |key: &str, text: String| told(&format!("/staying_on/heat/{key}"), text);
    let _ = writeln!(
        html,
        "<ul>\n<li>Heat: it is set at {:.0} \u{b0}C. At its hottest, with the panel at {:.0} \u{b0}C and the {} it is fixed to at {:.0} \u{b0}C, \
         the panel has become {} than that from end to end; in the cold, with both at {:.0} \u{b0}C, it is {}.</li>",
        thermal.fitted_c,
        thermal.hot_c,
        proof.fixed_to.name(),
        thermal.fixed_to_hot_c,
        longer("growth_hot_mm", proof.growth_mm[0]),
        thermal.cold_c,
        longer("growth_cold_mm", proof.growth_mm[1])
    );
    let _ = writeln!(
        html,
        "<li>Hold it fast at one place, station {} mm, and let it slide everywhere else.</li>",
        at("fixed_at_mm", format!("{:.0}", proof.fixed_at))
    );
    if let Some(bowing) = proof.bowing.filter(|b| b.bow_mm > 0.0) {
        let _ = writeln!(
            html,
            "<li>Held tight at every fixing it would bow out by about {:.1} mm between stations {:.0} and {:.0} mm.</li>",
            bowing.bow_mm, bowing.along[0], bowing.along[1]
        );
    }
    let _ = writeln!(
        html,
        "<li>{} should get no hotter than {:.0} \u{b0}C under load.</li>\n</ul>",
        proof.material.name(),
        proof.material.service_c()
    );
}

fn slots(html: &mut String, air: &LoadProof, heat: &HeatProof) {
    if heat.slots.is_empty() {
        return;
    }
    let _ = writeln!(
        html,
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Slots and loads of the fixings\"><table>\n<tr><th class=\"n\">fixing</th><th class=\"n\">station, mm</th><th class=\"n\">slot ({} mm wide), length, mm</th>\
         <th class=\"n\">needed, mm</th><th class=\"n\">sideways on it, N</th><th class=\"n\">pull out on it, N</th></tr>",
        heat.hole_mm
    );
    for (k, at) in heat.slots.iter().enumerate() {
        let place = |key: &str| format!("/staying_on/heat/slots/{k}/{key}");
        let load = air.fixings.iter().find(|load| load.s == at.held.s);
        let newton = |value: Option<f64>| value.map_or(String::new(), |n| format!("{n:.1}"));
        let _ = writeln!(
            html,
            "<tr><td class=\"n\">{}</td>{}{}{}\
             <td class=\"n\">{}</td><td class=\"n\">{}</td></tr>",
            k + 1,
            cell(&place("station_mm"), format!("{:.0}", at.held.s + 0.0)),
            cell(
                &place("made_mm"),
                format!("{:.1}", at.made_mm(heat.hole_mm))
            ),
            cell(&place("length_mm"), format!("{:.1}", at.slot.length_mm)),
            newton(load.map(|load| load.across_n)),
            newton(load.and_then(|load| load.pull_n))
        );
    }
    let _ = writeln!(
        html,
        "</table></div>\n<p>The slots are made in whole tenths, so a little longer than needed. Where in them the fixings are set at {:.0} \u{b0}C \
         is in the table of <a href=\"#fixings\">fixings and drilling</a>. Tighten so that it still slides: a shouldered screw or a nut that locks, on a washer.</p>",
        heat.thermal.fitted_c
    );
}

fn gaps(html: &mut String, proof: &HeatProof) {
    let most = |of: fn(&crate::panel::proof::heat::EndGap) -> f64| {
        proof.gaps.iter().map(of).fold(0.0, f64::max)
    };
    if proof.gaps.is_empty() {
        return;
    }
    let _ = writeln!(
        html,
        "<p>Segments glued into one grow as one. If they stay apart, each held fast in its own middle, leave up to {:.1} mm between \
         them; the gap opens by up to {:.1} mm more in the cold.</p>",
        most(|gap| gap.leave_mm),
        most(|gap| gap.opens_mm)
    );
}

fn sources(html: &mut String, proof: &HeatProof) {
    if proof.sources.is_empty() {
        return;
    }
    super::open_table(html, "Heat sources");
    html.push_str("<tr><th>heat source</th><th class=\"n\">station, mm</th><th class=\"n\">\u{b0}C</th><th class=\"n\">distance, mm</th><th class=\"n\">keep, mm</th><th class=\"n\">panel there, \u{b0}C</th></tr>\n");
    for heat in &proof.sources {
        let keep = heat
            .keep_mm
            .map_or("no distance does".to_owned(), |mm| format!("{mm:.0}"));
        let _ = writeln!(
            html,
            "<tr><td>{}</td><td class=\"n\">{:.0}</td><td class=\"n\">{:.0}</td><td class=\"n\">{:.0}</td><td class=\"n\">{keep}</td><td class=\"n\">{:.0}</td></tr>",
            escaped(&heat.source.name),
            heat.source.at_mm,
            heat.source.temperature_c,
            heat.source.distance_mm,
            heat.panel_c
        );
    }
    html.push_str(
        "</table></div>\n<p>Radiation alone: hot air that blows or rises from a source is not in it. Hot exhausts set plastic, resin and paint \
         on fire; measure with a strip that changes colour before you trust this.</p>\n",
    );
}
