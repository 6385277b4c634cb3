//! What to read on the vehicle and what to print before the long print, with room to write.

use crate::gap::readings::{Check, CheckKind};
use crate::output::readings::{READINGS_FILE, edge_length, how, instrument_word};
use crate::output::svg::escaped;
use crate::output::{Run, coupon_file};
use crate::panel::Top;
use std::fmt::Write;

/// Readings before the print, the paper template, coupons, and readings after fitting.
pub(super) fn checks(html: &mut String, run: Run<'_>) {
    let all = &run.measured.checks;
    let (after, before): (Vec<&Check>, Vec<&Check>) =
        all.iter().partition(|c| c.kind == CheckKind::Fitted);
    let whole = edge_length(all);
    if !before.is_empty() {
        let _ = writeln!(
            html,
            "<h2>Read on the vehicle before you print</h2>\n<p>Survey {}. Left and right are yours as you face the vehicle. \
             Lengths tell the scan's scale, gaps its height and tilt. Write the readings in the column reading_mm of \
             <a href=\"{READINGS_FILE}\">{READINGS_FILE}</a>, then: gapwright verify JOB {READINGS_FILE}. \
             It says go, shim or rescan.</p>",
            escaped(&run.measured.survey_id)
        );
        table(html, &before, whole);
        html.push_str(
            "<p>Then cut out the paper template in templates/, its 100 mm bar measured first, and hold it into the gap: \
             its lower line on the tray, its upper line along the edge. A sliver of light that comes and goes is \
             paper; one that grows toward an end is tilt, and one all along is height.</p>\n",
        );
    }
    coupons(html, run);
    if !after.is_empty() {
        let _ = writeln!(
            html,
            "<h2>Read again on the fitted panel</h2>\n<p>Clear height between the panel's top and the body's edge, with a \
             stepped gauge or feelers, in the same {READINGS_FILE}. The same command then lists the shims: packing under \
             the flange, or what to take off the top.</p>"
        );
        table(html, &after, whole);
    }
}

fn table(html: &mut String, checks: &[&Check], whole: f64) {
    html.push_str(
        "<div class=\"scroll\"><table>\n<tr><th>check</th><th>where and how</th><th>with</th>\
         <th class=\"n\">should be, mm</th><th class=\"n\">\u{b1}, mm</th><th>reading, mm</th></tr>\n",
    );
    for check in checks {
        let _ = writeln!(
            html,
            "<tr><td>{}</td><td class=\"how\">{}</td><td>{}</td><td class=\"n\">{:.1}</td><td class=\"n\">{:.1}</td>\
             <td class=\"write\"></td></tr>",
            escaped(&check.name),
            escaped(&how(check, whole)),
            instrument_word(check.instrument),
            check.predicted,
            check.tolerance
        );
    }
    html.push_str("</table></div>\n");
}

fn coupons(html: &mut String, run: Run<'_>) {
    let Some((panel, _)) = run.made.filter(|_| !run.coupons.is_empty()) else {
        return;
    };
    html.push_str("<h2>Coupons: print these first</h2>\n<p>Slices of the real panel, each under an hour to print. Offer each up at its station.</p>\n<ul>\n");
    for coupon in run.coupons {
        let file = coupon_file(coupon.number);
        let [a, b] = coupon.along.map(|s| s.round() + 0.0);
        let [w, d, h] = coupon.size_mm;
        let _ = writeln!(
            html,
            "<li><a href=\"{file}\">{file}</a>: station {a:.0} to {b:.0} mm, {w:.0} \u{d7} {d:.0} \u{d7} {h:.0} mm on the bed.</li>"
        );
    }
    html.push_str("</ul>\n<p>Look for:</p>\n<ul>\n<li>The flange lies flat on the tray and does not rock: else the tray's slope is off there.</li>\n");
    html.push_str(match panel.top {
        Top::Tucked => "<li>The lip slides up behind the skin by hand, without force and without rattling: too tight says that skin_mm is too small, too loose that it is too large.</li>\n<li>The joint in sight between face and edge is even and as wide at every coupon: a change from end to end is tilt.</li>\n",
        Top::Lapped => "<li>The lip slides up over the skin by hand, without force, and lies close to it all along: where light shows behind it, look for a dent or a step in the skin.</li>\n<li>The lip's upper edge keeps an even height on the body at every coupon: a change from end to end is tilt.</li>\n",
        Top::Butted => "<li>The seal fits between top and edge and is squeezed alike at every coupon: a change from end to end is tilt, the same everywhere is height.</li>\n",
    });
    html.push_str("<li>The face runs on from the body above it, neither proud nor sunk by more than you can fair.</li>\n<li>Nothing on the tray touches it.</li>\n</ul>\n");
}
