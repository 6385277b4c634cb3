//! What to read on the vehicle and what to print before the long print, with room to write.

use super::{CLOSE_TABLE, cell, heading, open_table, told};
use crate::gap::readings::{Check, CheckKind};
use crate::output::readings::{READINGS_FILE, edge_length, how, instrument_word};
use crate::output::svg::escaped;
use crate::output::{Run, coupon_file, paper_word};
use crate::panel::Top;
use std::fmt::Write;

/// Readings before the print, with room to write.
pub(super) fn before(html: &mut String, run: Run<'_>) {
    let all = &run.measured.checks;
    if !all.iter().any(|c| c.kind != CheckKind::Fitted) {
        return;
    }
    let _ = writeln!(
        html,
        "<p>Survey {}. Left and right are yours as you face the vehicle. Lengths tell the scan\u{2019}s scale, gaps its \
         height and tilt. Write the readings in the column reading_mm of <a href=\"{READINGS_FILE}\">{READINGS_FILE}</a>, \
         then, in the job\u{2019}s folder: gapwright verify job.toml out/{READINGS_FILE}, with your names for job and \
         results (the table is beside this sheet). It says go, shim or rescan. A reading that is off by no more than the \
         \u{b1} agrees with the scans; whether the seal or lip takes up what it is off by, verify says.</p>",
        escaped(&run.measured.survey_id)
    );
    html.push_str(
        "<p class=\"blanks\"><span>Read by</span><span>on</span><span>stood on (wheels, stands)</span></p>\n",
    );
    table(html, "Readings before the print", all, |check| {
        check.kind != CheckKind::Fitted
    });
}

/// The paper that is held into the gap, and the slices that are printed first.
pub(super) fn template_and_coupons(html: &mut String, run: Run<'_>) {
    if run.measured.checks.is_empty() {
        return;
    }
    let file = format!("templates/gap_{}.pdf", paper_word(run.measured.paper));
    let _ = writeln!(
        html,
        "<p>Print the paper template at 100 % (<a href=\"{file}\">{file}</a>, or whole: <a \
         href=\"templates/gap.svg\">templates/gap.svg</a>), measure its 100 mm bar first, cut it out and hold it into the gap: its lower line \
         on the tray, its upper line along the edge. A sliver of light that comes and goes is paper; one that grows toward \
         an end is tilt, and one all along is height.</p>"
    );
    coupons(html, run);
}

/// Readings on the fitted panel.
pub(super) fn after(html: &mut String, run: Run<'_>) {
    let all = &run.measured.checks;
    if !all.iter().any(|c| c.kind == CheckKind::Fitted) {
        return;
    }
    let _ = writeln!(
        html,
        "<p>Clear height between the panel\u{2019}s top and the body\u{2019}s edge, with a stepped gauge or feelers, in the same \
         {READINGS_FILE}. The same command then lists the shims: packing under the flange, or what to take off the top. The numbers hold \
         {}: paint on its top takes its own thickness off them.</p>",
        if run.layup.is_some() {
            "for the part with its laminate on, before paint"
        } else {
            "for the panel as printed, before paint"
        }
    );
    table(html, "Readings on the fitted panel", all, |check| {
        check.kind == CheckKind::Fitted
    });
}

fn table(html: &mut String, what: &str, checks: &[Check], wanted: impl Fn(&Check) -> bool) {
    let whole = edge_length(checks);
    open_table(html, what);
    html.push_str(
        "<tr><th>check</th><th>where and how</th><th>with</th>\
         <th class=\"n\">should be, mm</th><th class=\"n\">\u{b1}, mm</th><th>reading, mm</th></tr>\n",
    );
    for (i, check) in checks.iter().enumerate().filter(|(_, check)| wanted(check)) {
        let at = |key: &str| format!("/checks/{i}/{key}");
        let _ = writeln!(
            html,
            "<tr><td>{}</td><td class=\"how\">{}</td><td>{}</td>{}{}<td class=\"write\"></td></tr>",
            escaped(&check.name),
            escaped(&how(check, whole)),
            instrument_word(check.instrument),
            cell(&at("predicted_mm"), format!("{:.1}", check.predicted)),
            cell(&at("tolerance_mm"), format!("{:.1}", check.tolerance)),
        );
    }
    html.push_str(CLOSE_TABLE);
}

fn coupons(html: &mut String, run: Run<'_>) {
    let Some((panel, _)) = run.made.filter(|_| !run.coupons.is_empty()) else {
        return;
    };
    html.push_str("<div class=\"keep\">\n");
    heading(html, "Coupons: print these first");
    html.push_str("<p>Slices of the real panel, each under an hour to print. Offer each up at its station.</p>\n<ul>\n");
    for (i, coupon) in run.coupons.iter().enumerate() {
        let at = |key: &str| format!("/coupons/{i}/{key}");
        let file = coupon_file(coupon.number);
        let [a, b] = coupon.along.map(|s| s.round() + 0.0);
        let [w, d, h] = coupon.size_mm;
        let _ = writeln!(
            html,
            "<li><a href=\"{file}\">{file}</a>: station {} to {} mm, {w:.0} \u{d7} {d:.0} \u{d7} {h:.0} mm on the bed.</li>",
            told(&at("along_mm/0"), format!("{a:.0}")),
            told(&at("along_mm/1"), format!("{b:.0}")),
        );
    }
    html.push_str("</ul>\n<p>Look for:</p>\n<ul>\n<li>The flange lies flat on the tray and does not rock: else the tray's slope is off there.</li>\n");
    html.push_str(match panel.top {
        Top::Tucked => "<li>The lip slides up behind the skin by hand, without force and without rattling: too tight says that skin_mm is too small, too loose that it is too large.</li>\n<li>The joint in sight between face and edge is even and as wide at every coupon: a change from end to end is tilt.</li>\n",
        Top::Lapped => "<li>The lip slides up over the skin by hand, without force, and lies close to it all along: where light shows behind it, look for a dent or a step in the skin.</li>\n<li>The lip's upper edge keeps an even height on the body at every coupon: a change from end to end is tilt.</li>\n",
        Top::Butted => "<li>The seal fits between top and edge and is squeezed alike at every coupon: a change from end to end is tilt, the same everywhere is height.</li>\n",
    });
    html.push_str("<li>The face runs on from the body above it, neither proud nor sunk by more than you can fair.</li>\n<li>Nothing on the tray touches it.</li>\n</ul>\n</div>\n");
}
