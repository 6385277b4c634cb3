//! The proof of fit on the page.

use super::{told, told_bare};
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
        Top::Lapped => "Lip to the outside of the skin, paint taken off",
        Top::Tucked => "Lip to the back of the skin, paint taken off",
    };
    if let Some((mm, at)) = proof.least_clearance() {
        let by_survey = (proof.stations.iter())
            .map(|at| at.joint_mm)
            .fold(f64::INFINITY, f64::min);
        let _ = writeln!(
            html,
            "<li>{top}: at the tightest {} (\u{b1} {:.1} mm), at station {}. {} {}.</li>",
            clear(mm, |text| told_bare("/fit/least_clearance/mm", text)),
            2.0 * at.top_sigma_mm,
            told(
                "/fit/least_clearance/station_mm",
                format!("{:.0}", at.s + 0.0)
            ),
            why_other(mm, by_survey),
            clear(by_survey, |text| text),
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
    deepest(html, "body", "/fit/deepest_in_body", proof.body.as_ref());
    let tray = "/fit/deepest_in_tray";
    deepest(html, "tray or what stands on it", tray, proof.tray.as_ref());
    html.push_str("</ul>\n");
    for view in &views.fit {
        super::figure(html, view, "plan");
    }
}

/// Why the surveyed edge leaves other room than the raw scan does.
fn why_other(scan_mm: f64, survey_mm: f64) -> &'static str {
    if survey_mm >= scan_mm {
        "The scan sags where it was fused round an edge; the survey has taken that out, and by it there is"
    } else {
        "By the surveyed edge, which the panel is made to and which is somewhere lower than the raw scan, there is, at the tightest,"
    }
}

/// How far two things are clear of each other, or how deep one is in the other, the number as `told` writes it.
fn clear(mm: f64, told: impl Fn(String) -> String) -> String {
    let number = told(format!("{:.1}", mm.abs()));
    if mm < 0.0 {
        format!("an overlap of {number} mm")
    } else {
        format!("{number} mm of room")
    }
}

fn deepest(html: &mut String, what: &str, place: &str, deepest: Option<&Deepest>) {
    let at = |key: &str, text: String| told(&format!("{place}/{key}"), text);
    let _ = match deepest {
        None => writeln!(html, "<li>Nothing of the part is inside the {what}.</li>"),
        Some(d) => writeln!(
            html,
            "<li>Deepest inside the {what}: {} mm at station {}; {} mm is what noise and doubt explain at one place \
             of many, so this is {}.</li>",
            at("mm", format!("{:.1}", d.mm)),
            at("station_mm", format!("{:.0}", d.station_mm + 0.0)),
            at("explained_mm", format!("{:.1}", d.explained_mm)),
            if d.mm > d.explained_mm {
                "a fault"
            } else {
                "no fault"
            }
        ),
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_survey_with_less_room_than_the_scan_is_not_put_down_to_a_sagging_scan() {
        assert!(why_other(-3.5, -1.0).contains("sags"));
        let less = why_other(-3.5, -5.0);
        assert!(!less.contains("sags") && less.contains("lower than the raw scan"));
    }
}
