//! From prints to a panel that sits: cleaning up, trying dry, trimming, sealing. The trade's own practice,
//! no source.

use super::{heading, told};
use crate::output::Run;
use crate::panel::{Panel, Top};
use std::fmt::Write;

pub(super) fn fitting(html: &mut String, run: Run<'_>) {
    let Some((panel, parts)) = run.made else {
        return;
    };
    if run.buck.is_some() {
        laminated(html, run, panel);
        return;
    }
    heading(html, "Before glue");
    html.push_str(
        "<ol>\n<li>Let each print cool on its bed. Take off brim and support, scrape the foot of the print square, and leave \
         tabs and what they lie against alone: they are made to size.</li>\n",
    );
    if parts.segments.len() > 1 {
        html.push_str(
            "<li>Put all segments on the vehicle dry, held with tape, from the middle outward. A joint that stays open \
             usually has a thread of plastic in it.</li>\n",
        );
    }
    html.push_str(
        "<li>Look along the face from one end: one line, no knees. Look at the flange against the light: it lies on the tray \
         all along.</li>\n",
    );
    html.push_str(too_tall(panel.top));
    let stands_in_it = panel.findings.iter().any(|f| f.code == "face-blocked");
    if !panel.reliefs.is_empty() && !stands_in_it {
        let _ = writeln!(
            html,
            "<li>Nothing on the tray touches it: the flange is cut away in {} (<a href=\"#panel\">the panel</a>).</li>",
            match panel.reliefs.len() {
                1 => "one place".to_owned(),
                n => format!("{n} places"),
            }
        );
    }
    html.push_str("</ol>\n");
    heading(html, "After glue");
    html.push_str(
        "<ol>\n<li>Let it set in its place on the vehicle, not on the bench: it takes the shape it sets in. Film between panel \
         and paint keeps the two apart.</li>\n\
         <li>Fill and fair the seams outside; the face is drawn fair, so a long board finds what is high. Wet, with a mask.</li>\n\
         <li>Paint is counted in the shape. Several thick coats more are not.</li>\n",
    );
    html.push_str(last(panel.top));
    html.push_str("</ol>\n");
}

/// From the buck to a part that sits.
fn laminated(html: &mut String, run: Run<'_>, panel: &Panel) {
    heading(html, "Off the buck");
    html.push_str(
        "<ol>\n<li>Let it cure on the buck as long as the resin\u{2019}s data sheet says. Drive wedges in at their places a little at a \
         time, from one end to the other, and lift the part as <a href=\"#buck\">the buck</a> says.</li>\n\
         <li>Trim: the groove of the trim line stands out on the part\u{2019}s inside. Cut a little outside of it, wet, with mask, \
         glasses and gloves, then sand down to the line. Break the sharp edge and seal it with resin.</li>\n\
         <li>Put it on the vehicle dry, held with tape. Look along the face from one end: one line, no knees.</li>\n",
    );
    html.push_str(too_tall(panel.top));
    html.push_str("</ol>\n");
    if let Some(strip) = run.layup.and_then(|layup| layup.bill.strip) {
        heading(html, "The flange");
        let at = |key: &str, mm: f64| {
            let place = format!("/laminate/flange_strip/{key}");
            told(&place, format!("{mm:.0}"))
        };
        let _ = writeln!(
            html,
            "<ol>\n<li>The buck has no flange. With the part in its place on the vehicle, film on the tray and the hidden side \
             roughened and wiped, lay up a strip of laminate into the corner between tray and part: as many plies as the part \
             has, {} mm deep on the tray and {} mm up the hidden side, {} mm long. Its cloth and resin are counted \
             (<a href=\"#laminate\">to buy</a>).</li>",
            at("flange_mm", strip.size.flange_mm),
            at("lap_mm", strip.size.lap_mm),
            at("length_mm", strip.size.length_mm)
        );
        if !panel.reliefs.is_empty() {
            html.push_str(
                "<li>Leave it off where something stands on the tray (<a href=\"#panel\">the panel</a> has the stations).</li>\n",
            );
        }
        html.push_str(
            "<li>Let it cure there, then mark holes and slots on it from the drilling template.</li>\n</ol>\n",
        );
    }
    if let (Top::Butted, Some(layup)) = (panel.top, run.layup) {
        heading(html, "The top");
        let _ = writeln!(
            html,
            "<ol>\n<li>The top of a lifted laminate is a bare edge, {} mm thick: no seal stands on that. Before the part goes on for good, \
             give it a ledge as wide as the seal, on the hidden side, flush with the trimmed top: bond on a strip of plastic or \
             of a laminate\u{2019}s offcut, or lay up a return over a waxed batten clamped along the top. It is not in the amounts of cloth.</li>\n\
             <li>Roughen and wipe both sides, clamp it every 100 mm until it is cured, and fair ledge and edge together with a \
             sanding board. Try that the part still goes on and off with it.</li>\n</ol>",
            told(
                "/laminate/thickness_mm",
                format!("{:.2}", layup.options.laminate.thickness_mm())
            )
        );
    }
    heading(html, "To finish");
    html.push_str(
        "<ol>\n<li>Fill, sand wet and prime the outside to the thickness that <a href=\"#laminate\">laminate and cloth</a> counts on; \
         several thick coats more are not in the shape.</li>\n",
    );
    html.push_str(match panel.top {
        Top::Butted => SEAL_ON_LEDGE,
        top => last(top),
    });
    html.push_str("</ol>\n");
}

/// A seal on a lifted part stands on the ledge that was bonded to it.
const SEAL_ON_LEDGE: &str = "<li>Seal last: on the ledge behind the top, from the middle to the ends, laid down and not stretched, its \
     ends butted. A stretched seal creeps back and leaves a hole.</li>\n";

/// What to do where it does not go in.
fn too_tall(top: Top) -> &'static str {
    match top {
        Top::Butted => {
            "<li>Too tall: the edge lifts or the seal is crushed. Take it off the top with a sanding board, a little at a time, \
             never off the foot. Too low: pack under the flange.</li>\n"
        }
        Top::Lapped => {
            "<li>The lip goes up over the skin by hand. Where it stands off, look for a bump in the skin behind it. Where its \
             upper edge runs off from level, pack under the flange at the low end.</li>\n"
        }
        Top::Tucked => {
            "<li>The lip goes up behind the skin by hand. Where it jams, ease the lip, not the skin. Where the face shows a gap \
             that grows to one end, pack under the flange there.</li>\n"
        }
    }
}

/// What comes last of all.
fn last(top: Top) -> &'static str {
    match top {
        Top::Butted => {
            "<li>Seal last: on the panel\u{2019}s top, from the middle to the ends, laid down and not stretched, its ends butted. \
             A stretched seal creeps back and leaves a hole.</li>\n"
        }
        Top::Lapped => {
            "<li>A strip of felt or clear film between lip and skin keeps the lip from wearing through the paint.</li>\n"
        }
        Top::Tucked => {
            "<li>A strip of felt or tape on the lip keeps it from rattling and from wearing through the paint behind the edge.</li>\n"
        }
    }
}
