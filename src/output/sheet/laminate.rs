//! The laminate on the page: which way, the schedule, what to buy, and what to mind.

use super::{figure, told};
use crate::buck::{Layup, MOST_SHEAR, MOST_STRETCH, SHEAR_SHOWS, Way};
use crate::output::cloth_pattern::{piece_file, plies_word};
use crate::output::laminate_part::part_mass;
use crate::output::views::Views;
use crate::output::words::span;
use crate::output::{Run, paper_word};
use std::fmt::Write;

pub(super) fn laminate(html: &mut String, run: Run<'_>, views: &Views) {
    let Some(layup) = run.layup else {
        return;
    };
    way(html, layup);
    for view in views
        .layup
        .iter()
        .filter(|view| view.name == "core_section")
    {
        figure(html, view, "plan");
    }
    schedule(html, layup);
    amounts(html, run, layup);
    edges(html, layup);
    cloth(html, run, layup, views);
    cautions(html, layup);
}

fn way(html: &mut String, layup: &Layup) {
    let (options, coats) = (&layup.options, &layup.options.coats);
    let thick = options.laminate.thickness_mm();
    let left = coats.left_mm().max(0.0);
    let sum = format!(
        "{thick:.2} mm of laminate and {left:.2} mm of finish ({:.2} mm of filler and {:.2} mm of primer and paint, less {:.2} mm \
         that is sanded away)",
        coats.filler_mm, coats.primer_mm, coats.sanding_mm
    );
    let words = match options.way {
        Way::Core => format!(
            "The print <b>stays in</b> as the core and the cloth goes on its <b>outside</b>. The finished outside is the true \
             surface. The print is offset: its outside lies {:.2} mm inside of the true surface, for {sum}. Nothing is tooled: \
             the outside is as good as you fill and sand it.",
            options.overlay_mm()
        ),
        Way::Buck | Way::None => format!(
            "The cloth goes on the <b>buck</b> and the part is <b>lifted off</b> it. The finished outside is the true surface; the \
             part\u{2019}s inside is tooled by the buck. The buck is offset: it lies {:.2} mm inside of the true surface, for \
             {:.2} mm of release, {sum}.",
            options.on_top().total(),
            coats.release_mm
        ),
    };
    let _ = writeln!(html, "<p>{words}</p>");
}

fn schedule(html: &mut String, layup: &Layup) {
    let laminate = &layup.options.laminate;
    html.push_str(
        "<h3>Plies, from the print up</h3>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Plies\"><table>\n<tr><th class=\"n\">ply</th><th>fibre</th><th>cloth</th>\
         <th class=\"n\">dry, g/m\u{b2}</th><th class=\"n\">warp, degrees</th><th class=\"n\">cured, mm</th>\
         <th class=\"n\">resin, g/m\u{b2}</th></tr>\n",
    );
    for (i, ply) in laminate.plies.iter().enumerate() {
        let _ = writeln!(
            html,
            "<tr><td class=\"n\">{}</td><td>{}</td><td>{}</td><td class=\"n\">{:.0}</td><td class=\"n\">{:.0}</td>\
             <td class=\"n\">{:.3}</td><td class=\"n\">{:.0}</td></tr>",
            i + 1,
            ply.fibre.name(),
            ply.cloth.name(),
            ply.g_m2,
            ply.turn.to_degrees(),
            ply.thickness_mm(laminate.fibre_share),
            ply.resin_g_m2(laminate.fibre_share, laminate.resin_kg_m3)
        );
    }
    let yes = |is: bool| if is { "yes" } else { "no" };
    let _ = writeln!(
        html,
        "</table></div>\n<p>Warp 0 runs along the gap to your right, positive turns up, seen from outside. {:.0} % of the volume is \
         fibre. Together {:.2} mm and {:.0} g/m\u{b2}. Reads the same from both faces: {}. Balanced: {}.</p>",
        100.0 * laminate.fibre_share,
        laminate.thickness_mm(),
        laminate.g_m2(),
        yes(laminate.is_symmetric()),
        yes(laminate.is_balanced())
    );
}

fn amounts(html: &mut String, run: Run<'_>, layup: &Layup) {
    let (bill, options) = (&layup.bill, &layup.options);
    let _ = writeln!(
        html,
        "<h3>To buy, {:.0} % of waste included</h3>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"To buy for the laminate\"><table>\n<tr><th>what</th><th class=\"n\">how much</th></tr>",
        100.0 * options.cut.waste
    );
    let strip_too = match bill.strip {
        Some(_) => ", the flange\u{2019}s strip with it",
        None => "",
    };
    let mut line = |what: String, amount: String| {
        let _ = writeln!(
            html,
            "<tr><td>{what}</td><td class=\"n\">{amount}</td></tr>"
        );
    };
    for need in &bill.cloths {
        line(
            format!(
                "{}, {}, {:.0} g/m\u{b2}, for {} {}{strip_too}",
                need.fibre.name(),
                need.cloth.name(),
                need.g_m2,
                need.plies,
                if need.plies == 1 { "ply" } else { "plies" }
            ),
            format!("{:.2} m\u{b2} ({:.0} g)", need.buy_m2, need.buy_g()),
        );
    }
    line(
        format!("resin and hardener together, mixed as their data sheet says{strip_too}"),
        format!("{:.0} g", bill.resin_g),
    );
    if let Some(strip) = bill.strip {
        let at = |key: &str, value: f64, decimals: usize| {
            let place = format!("/laminate/flange_strip/{key}");
            told(&place, format!("{value:.decimals$}"))
        };
        line(
            format!(
                "of that for <a href=\"#fitting\">the flange\u{2019}s strip</a>, {} mm wide and {} mm long, {} {}",
                at("width_mm", strip.size.width_mm(), 0),
                at("length_mm", strip.size.length_mm, 0),
                at("plies", strip.plies as f64, 0),
                if strip.plies == 1 { "ply" } else { "plies" }
            ),
            format!(
                "{} m\u{b2}, {} g of resin",
                at("buy_m2", strip.buy_m2, 2),
                at("resin_g", strip.resin_g, 0)
            ),
        );
    }
    line(
        "peel ply".to_owned(),
        format!("{:.2} m\u{b2}", bill.peel_ply_m2),
    );
    line(
        "release film, if it goes under a bag".to_owned(),
        format!("{:.2} m\u{b2}", bill.release_film_m2),
    );
    line(
        "film for the bag, with its seal and pleats".to_owned(),
        format!("{:.2} m\u{b2}", bill.bag_m2),
    );
    html.push_str("</table></div>\n");
    let _ = writeln!(
        html,
        "<p>The part under the laminate measures {:.3} m\u{b2}; the laminate on it weighs {:.0} g, and the part {:.0} g{} without \
         filler and paint. A bleeder, and cloth that is hand laid wet, take up more resin.</p>",
        bill.part_m2,
        bill.laminate_g,
        part_mass(run).unwrap_or(bill.laminate_g),
        if bill.strip.is_some() {
            " with its flange"
        } else {
            ""
        }
    );
}

fn edges(html: &mut String, layup: &Layup) {
    let _ = writeln!(
        html,
        "<p>Where pieces of cloth meet, one laps the next by {:.0} mm; do not lay laps of two plies on each other.</p>",
        layup.options.cut.overlap_mm
    );
    if let Some(core) = &layup.core {
        let _ = writeln!(
            html,
            "<p>Before the cloth goes on: abrade the core all over and wipe it clean. Round its outside corners to {:.0} mm. \
             Chamfer its free edges on the hidden side over {:.1} mm (30 degrees), so that a ply laid over from behind \
             runs down without a step. Fill the joints between segments flush.</p>",
            core.round_mm, core.chamfer_mm
        );
    }
}

fn cloth(html: &mut String, run: Run<'_>, layup: &Layup, views: &Views) {
    let _ = writeln!(
        html,
        "<h3>Cloth, cut flat</h3>\n<p>Cut by the patterns at 1:1, with the arrow along the warp. The ticks are the same stations as \
         {}. Stretch is along the fibres, which give {:.0} % at the most; shear is how far the \
         weave closes: from {:.0} degrees on watch it, past {:.0} it creases. Wet cloth down from the middle of a piece outward.</p>",
        match layup.options.way {
            Way::Core => "those on the paper template",
            Way::Buck | Way::None => "the buck\u{2019}s grooves and those on the paper template",
        },
        100.0 * MOST_STRETCH,
        SHEAR_SHOWS.to_degrees(),
        MOST_SHEAR.to_degrees()
    );
    html.push_str(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Pieces of cloth\"><table>\n<tr><th>for</th><th class=\"n\">piece</th><th class=\"n\">from, mm</th><th class=\"n\">to, mm</th>\
         <th class=\"n\">stretch, %</th><th class=\"n\">shear, degrees</th><th>pattern</th></tr>\n",
    );
    for set in &layup.sets {
        for (i, piece) in set.pieces.iter().enumerate() {
            let [from, to] = piece.along.map(|s| s.round() + 0.0);
            let strip = piece
                .strip()
                .map_or(String::new(), |strip| format!(", {strip}"));
            let stretch = span(piece.stretch.map(|share| 100.0 * share), 1);
            let _ = writeln!(
                html,
                "<tr><td>{}</td><td class=\"n\">{}{strip}</td><td class=\"n\">{from:.0}</td><td class=\"n\">{to:.0}</td><td class=\"n\">{stretch}</td><td class=\"n\">{:.0}</td><td><a href=\"{file}.svg\">SVG</a> <a href=\"{file}_{paper}.pdf\">PDF</a></td></tr>",
                plies_word(set),
                i + 1,
                piece.shear.0.to_degrees(),
                file = piece_file(set, i + 1),
                paper = paper_word(run.measured.paper)
            );
        }
    }
    html.push_str("</table></div>\n");
    for view in views
        .layup
        .iter()
        .filter(|view| view.name != "core_section")
    {
        figure(html, view, "plan");
    }
}

fn cautions(html: &mut String, layup: &Layup) {
    let options = &layup.options;
    let _ = writeln!(
        html,
        "<h3>Before you start</h3>\n<ul>\n\
         <li>Resin and hardener burn and sensitise skin, and their vapour harms lungs: gloves, goggles and air as their data \
         sheets say. Once sensitised you stay so.</li>\n\
         <li>Mix by weight, in the share the data sheet gives, in small shallow pots. A full pot heats itself, smokes and can \
         catch fire: spread it out or stand it outside on stone. Rags and offcuts with resin, too.</li>\n\
         <li>It cures at {:.0} \u{b0}C at the most. A printed {} that gets hotter than it stands sags, and the part with it; thick \
         laminates and the sun heat it more than the room does. Measure the print\u{2019}s own temperature.</li>\n\
         <li>Dust from cut and sanded fibre harms lungs, eyes and skin, and carbon dust shorts out tools and sockets: wet \
         sand, mask and suction.</li>\n\
         <li>A trimmed edge is as sharp as a saw: break it with paper at once, and seal it.</li>\n\
         <li>Lay up a flat test piece from the same pots first, and weigh it: its thickness is what the offset counts on.</li>\n\
         <li>Data sheets of cloth, resin and release come before this page, and so do local rules and the manufacturers\u{2019} advice.</li>\n\
         </ul>",
        options.cure_c,
        match options.way {
            Way::Core => "core",
            Way::Buck | Way::None => "buck",
        }
    );
}
