//! The segments on the page: size, joints, and what their prints take.

use super::{cell, joints, open_table};
use crate::output::row::Row;
use crate::output::{print_3mf, segment_file};
use crate::split::{Estimate, LAYER_MM, OVERHANG_DEG, SUPPORT_FILL, Segments};
use std::fmt::Write;

/// The segments of a row, in the order they stand on the vehicle.
pub(super) fn table(html: &mut String, row: Row<'_>) {
    let (parts, folder, at) = (row.parts, row.of.folder(), row.of.place());
    html.push_str("<p>From your left to your right as you face the vehicle.</p>\n");
    open_table(html, &format!("Segments{}", row.of.whose()));
    html.push_str(
        "<tr><th class=\"n\">no.</th><th class=\"n\">from, mm</th><th class=\"n\">to, mm</th>\
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
        let joint = joint.map_or_else(String::new, joints::in_short);
        let (stl, threemf) = (segment_file(segment.number), print_3mf(segment.number));
        let _ = writeln!(
            html,
            "<tr><td class=\"n\">{}</td>{}{}\
             <td class=\"n\">{w:.0} \u{d7} {d:.0} \u{d7} {h:.0}</td><td class=\"n\">{volume:.1}</td>{}\
             <td class=\"how\">{joint}</td><td><a href=\"{folder}print/{stl}\">STL</a> <a href=\"{folder}{threemf}\">3MF</a></td></tr>",
            segment.number,
            cell(&format!("{at}/segments/{i}/along_mm/0"), format!("{a:.0}")),
            cell(&format!("{at}/segments/{i}/along_mm/1"), format!("{b:.0}")),
            amounts(&segment.estimate, &format!("{at}/segments/{i}/estimate"))
        );
    }
    let _ = writeln!(
        html,
        "<tr><th>all</th><td></td><td></td><td></td><td></td>{}<td></td><td></td></tr>\n</table></div>",
        amounts(&parts.estimate(), row.of.total())
    );
    assumptions(html, parts);
}

fn amounts(estimate: &Estimate, place: &str) -> String {
    let at = |key: &str| format!("{place}/{key}");
    [
        cell(&at("mass_g"), format!("{:.0}", estimate.mass_g)),
        cell(
            &at("filament_m"),
            format!("{:.1}", estimate.filament_mm / 1e3),
        ),
        cell(&at("hours"), format!("{:.1}", estimate.hours)),
    ]
    .concat()
}

fn assumptions(html: &mut String, parts: &Segments) {
    let print = &parts.print;
    let _ = write!(
        html,
        "<p>Mass, filament of 1.75 mm and hours are estimates: {} at {} g/cm\u{b3}, solid walls, {} mm\u{b3} laid in a second \
         without a stop; heating up and moves come on top. At most {:.1} % of it is support, under {:.0}\u{a0}cm\u{b2}: {:.0} % filling down to the \
         bed and a full layer of {LAYER_MM} mm on top, under all that leans out more than {OVERHANG_DEG:.0}\u{b0} from the vertical and \
         hangs higher than a layer.",
        print.material.name(),
        print.material.density_g_cm3(),
        print.flow_mm3_s,
        100.0 * parts.estimate().support_share(),
        parts.estimate().overhang_mm2 / 100.0,
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
