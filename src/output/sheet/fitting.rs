//! From prints to a panel that sits: cleaning up, trying dry, trimming, sealing. The trade's own practice,
//! no source.

use super::heading;
use crate::output::Run;
use crate::panel::Top;
use std::fmt::Write;

pub(super) fn fitting(html: &mut String, run: Run<'_>) {
    let Some((panel, parts)) = run.made else {
        return;
    };
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
    html.push_str(match panel.top {
        Top::Butted => {
            "<li>Too tall: the edge lifts or the seal is crushed. Take it off the top with a sanding board, a little at a time, \
             never off the foot. Too low: pack under the flange.</li>\n"
        }
        Top::Tucked => {
            "<li>The lip goes up behind the skin by hand. Where it jams, ease the lip, not the skin. Where the face shows a gap \
             that grows to one end, pack under the flange there.</li>\n"
        }
    });
    if !panel.reliefs.is_empty() {
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
    html.push_str(match panel.top {
        Top::Butted => {
            "<li>Seal last: on the panel\u{2019}s top, from the middle to the ends, laid down and not stretched, its ends butted. \
             A stretched seal creeps back and leaves a hole.</li>\n"
        }
        Top::Tucked => {
            "<li>A strip of felt or tape on the lip keeps it from rattling and from wearing through the paint behind the edge.</li>\n"
        }
    });
    html.push_str("</ol>\n");
}
