//! The segments on the page: size, joints, what their prints take, and the order of assembly.

use crate::output::svg::escaped;
use crate::output::{Run, print_3mf, segment_file};
use crate::split::{Estimate, OVERHANG_DEG, SUPPORT_FILL, Segments};
use std::fmt::Write;

/// The segments, in the order they stand on the vehicle.
pub(super) fn segments(html: &mut String, run: Run<'_>) {
    let Some((_, parts)) = run.made else {
        return;
    };
    html.push_str(
        "<h2>Segments, from the maker's left</h2>\n<div class=\"scroll\"><table>\n\
         <tr><th class=\"n\">no.</th><th class=\"n\">from, mm</th><th class=\"n\">to, mm</th>\
         <th class=\"n\">on the bed, mm</th><th class=\"n\">volume, cm\u{b3}</th>\
         <th class=\"n\">mass, g</th><th class=\"n\">filament, m</th><th class=\"n\">hours</th>\
         <th>joint to the next</th><th>print</th></tr>\n",
    );
    for (i, segment) in parts.segments.iter().enumerate() {
        // Adding zero keeps "-0" off the page.
        let [a, b] = segment.along.map(|s| s.round() + 0.0);
        let [w, d, h] = segment.size_mm;
        let volume = segment.on_bed.mesh().signed_volume() / 1e3;
        let joint = parts.joints.get(i);
        let joint = joint.map_or_else(String::new, |j| {
            format!("tab on {}, {:.2} mm of room", j.tab_on, j.fit_mm)
        });
        let (stl, threemf) = (segment_file(segment.number), print_3mf(segment.number));
        let _ = writeln!(
            html,
            "<tr><td class=\"n\">{}</td><td class=\"n\">{a:.0}</td><td class=\"n\">{b:.0}</td>\
             <td class=\"n\">{w:.0} \u{d7} {d:.0} \u{d7} {h:.0}</td><td class=\"n\">{volume:.1}</td>{}\
             <td>{joint}</td><td><a href=\"print/{stl}\">STL</a> <a href=\"{threemf}\">3MF</a></td></tr>",
            segment.number,
            amounts(&segment.estimate)
        );
    }
    let _ = writeln!(
        html,
        "<tr><th>all</th><td></td><td></td><td></td><td></td>{}<td></td><td></td></tr>\n</table></div>",
        amounts(&parts.estimate())
    );
    assumptions(html, parts);
    poses(html, parts);
    assembly(html, parts);
}

/// How each segment lies on the bed, and why so.
fn poses(html: &mut String, parts: &Segments) {
    html.push_str(
        "<h2>How they lie on the bed</h2>\n<p>The files under print/ lie so already: do not turn them.</p>\n<ol>\n",
    );
    for segment in &parts.segments {
        let why = escaped(&segment.pose.why);
        let mut letters = why.chars();
        let first = letters.next().map(|c| c.to_uppercase().to_string());
        let _ = writeln!(
            html,
            "<li>{}{}</li>",
            first.unwrap_or_default(),
            letters.as_str()
        );
    }
    html.push_str("</ol>\n");
}

fn amounts(estimate: &Estimate) -> String {
    format!(
        "<td class=\"n\">{:.0}</td><td class=\"n\">{:.1}</td><td class=\"n\">{:.1}</td>",
        estimate.mass_g,
        estimate.filament_mm / 1e3,
        estimate.hours
    )
}

fn assumptions(html: &mut String, parts: &Segments) {
    let print = &parts.print;
    let _ = write!(
        html,
        "<p>Mass, filament of 1.75 mm and hours are estimates: {} at {} g/cm\u{b3}, solid walls, {} mm\u{b3} laid in a second \
         without a stop; heating up and moves come on top. At most {:.0} % of it is support, reckoned at {:.0} % filling down to the \
         bed under all that leans out more than {OVERHANG_DEG:.0}\u{b0}.",
        print.material.name(),
        print.material.density_g_cm3(),
        print.flow_mm3_s,
        100.0 * parts.estimate().support_share(),
        100.0 * SUPPORT_FILL
    );
    if print.shrink_percent > 0.0 {
        let _ = write!(
            html,
            " Everything under print/ and coupons/ is made larger for {} % of shrinking: leave that off in the printer's settings.",
            print.shrink_percent
        );
    }
    html.push_str("</p>\n");
}

fn assembly(html: &mut String, parts: &Segments) {
    if parts.assembly.is_empty() {
        return;
    }
    html.push_str(
        "<h2>Order of assembly</h2>\n<p>Try all segments dry on the vehicle first. Then join from the middle outward:</p>\n<ol>\n",
    );
    for step in &parts.assembly {
        let [a, b] = step.clamp;
        let _ = writeln!(
            html,
            "<li>Segment {} to {}, cut at station {:.0} mm: clamp at {a:.0} and {b:.0} mm.</li>",
            step.joint,
            step.joint + 1,
            step.s
        );
    }
    html.push_str("</ol>\n");
}
