//! From prints to a panel that sits: cleaning up, trying dry, trimming, sealing. The trade's own practice,
//! no source.

use super::heading;
use crate::output::Run;
use crate::panel::{Panel, Section, Top};
use std::fmt::Write;

pub(super) fn fitting(html: &mut String, run: Run<'_>) {
    let Some((panel, parts)) = run.made else {
        return;
    };
    if run.buck.is_some() {
        laminated(html, panel);
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
fn laminated(html: &mut String, panel: &Panel) {
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
    let flanged = |section: &Section| section.flange_top().is_some() || section.outboard.is_some();
    if panel.sections.iter().any(flanged) {
        heading(html, "The flange");
        html.push_str(
            "<ol>\n<li>The buck has no flange. With the part in its place on the vehicle, film on the tray and the hidden side \
             roughened and wiped, lay up a strip of laminate into the corner between tray and part: as many plies as the part \
             has, as deep as the panel\u{2019}s flange, and as far up the hidden side again.</li>\n",
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
    heading(html, "To finish");
    html.push_str(
        "<ol>\n<li>Fill, sand wet and prime the outside to the thickness that <a href=\"#laminate\">laminate and cloth</a> counts on; \
         several thick coats more are not in the shape.</li>\n",
    );
    html.push_str(last(panel.top));
    html.push_str("</ol>\n");
}

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
