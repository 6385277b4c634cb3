//! The vehicle as it stood, and the gap: all along, from above, and in section.

use super::{figure, heading};
use crate::output::Run;
use crate::output::svg::escaped;
use crate::output::views::Views;
use std::fmt::Write;

pub(super) fn vehicle(html: &mut String, run: Run<'_>, views: &Views) {
    let _ = writeln!(
        html,
        "<p>As scanned: {}. The panel fits the vehicle as it stood then: a body settles by millimetres between stands and \
         wheels, empty and loaded.</p>",
        escaped(&run.measured.scene.conditions.in_words())
    );
    figure(html, &views.long_section, "hero");
    html.push_str(
        "<p>How to read it: you stand outside and face the vehicle. The bold line at the bottom is the tray, the one above it \
         the body\u{2019}s lower edge, laid out flat along the gap. The shaded band holds the true gap in 95 of 100 places. \
         Where the line is dashed, little or nothing was seen. A station is a distance along the gap from its left end.</p>\n",
    );
    heading(html, "Plan");
    figure(html, &views.plan, "plan");
    heading(html, "Sections to scale");
    html.push_str(
        "<p>Thin lines: the scans, cut through at that station. Hatched: the panel. Dash-dot: the surface fitted to the tray. \
         The arrow is the gap; in 95 of 100 places its tip lies within the bar. The outside of the vehicle is at the right.</p>\n<div class=\"row\">\n",
    );
    for view in &views.sections {
        figure(html, view, "");
    }
    html.push_str("</div>\n");
}
