//! The proof of fit on the page.

use crate::output::Run;
use crate::output::views::Views;
use crate::panel::Top;
use crate::panel::proof::Deepest;
use std::fmt::Write;

pub(super) fn fit(html: &mut String, run: Run<'_>, views: &Views) {
    let Some(proof) = run.fit else {
        return;
    };
    html.push_str("<ul>\n");
    let top = match run.measured.top {
        Top::Butted => "Top to the body's scan, paint taken off",
        Top::Tucked => "Lip to the back of the skin, paint taken off",
    };
    if let Some((mm, at)) = proof.least_clearance() {
        let _ = writeln!(
            html,
            "<li>{top}: least {mm:.1} \u{b1} {:.1} mm, at station {:.0}. The scan sags where it was fused round an edge; \
             the survey has taken that out, and by it the least is {:.1} mm.</li>",
            2.0 * at.top_sigma_mm,
            at.s,
            proof
                .stations
                .iter()
                .map(|at| at.joint_mm)
                .fold(f64::INFINITY, f64::min),
        );
    }
    let feet = proof
        .stations
        .iter()
        .filter_map(|at| at.foot.map(|foot| (foot, at.s)));
    let far = |foot: &crate::panel::proof::Foot| foot.middle_mm.abs();
    if let Some((foot, s)) = feet.max_by(|a, b| far(&a.0).total_cmp(&far(&b.0))) {
        let way = if foot.middle_mm < 0.0 { "into" } else { "off" };
        let _ = writeln!(
            html,
            "<li>Foot to the tray's scan: at most {:.1} \u{b1} {:.1} mm {way} it, at station {s:.0}.</li>",
            foot.middle_mm.abs(),
            2.0 * foot.sigma_mm
        );
    }
    deepest(html, "body", proof.body.as_ref());
    deepest(html, "tray or what stands on it", proof.tray.as_ref());
    html.push_str("</ul>\n");
    for view in &views.fit {
        super::figure(html, view, "plan");
    }
}

fn deepest(html: &mut String, what: &str, deepest: Option<&Deepest>) {
    let _ = match deepest {
        None => writeln!(html, "<li>Nothing of the part is inside the {what}.</li>"),
        Some(d) => writeln!(
            html,
            "<li>Deepest inside the {what}: {:.1} mm at station {:.0}; {:.1} mm is what noise and doubt explain at one place \
             of many, so this is {}.</li>",
            d.mm,
            d.station_mm,
            d.explained_mm,
            if d.mm > d.explained_mm {
                "a fault"
            } else {
                "no fault"
            }
        ),
    };
}
