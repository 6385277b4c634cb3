//! The strip chart of the fit: what is clear over the top and how the foot lies on the tray, all along.

use super::strip::{LEFT_MM, RIGHT_MM, Strip, letter};
use super::{WIDTH_MM, forward};
use crate::gap::Front;
use crate::math::Point2;
use crate::output::drawing::{Anchor, Drawing, Ink, Line, TITLE_MM};
use crate::panel::Top;
use crate::panel::proof::fit::{FOOT_OFF_MM, FitProof};

/// Heights of the two charts and the paper round them (mm).
const TOP_TALL_MM: f64 = 42.0;
const FOOT_TALL_MM: f64 = 26.0;
const BELOW_MM: f64 = 15.0;
const BETWEEN_MM: f64 = 12.0;
const ABOVE_MM: f64 = 23.0;
/// Largest value that widens a chart beyond what seal or lap take up (mm); what goes further is drawn at its
/// rim.
const WIDEST_MM: f64 = 12.0;

/// `None` where nothing could be measured.
pub(super) fn draw(proof: &FitProof, top: Top, front: Option<Front>) -> Option<Drawing> {
    let (first, last) = (proof.stations.first()?, proof.stations.last()?);
    let along = Strip::scale(last.s - first.s);
    let foot = Strip {
        first_s: first.s,
        last_s: last.s,
        along,
        range: foot_range(proof),
        bottom: BELOW_MM,
        tall: FOOT_TALL_MM,
    };
    let over = Strip {
        range: top_range(proof),
        bottom: BELOW_MM + FOOT_TALL_MM + BETWEEN_MM,
        tall: TOP_TALL_MM,
        ..foot
    };
    let height = over.bottom + over.tall + ABOVE_MM;
    let mut drawing = Drawing::new("Fit along the gap", [WIDTH_MM, height]);
    let title = drawing.title.clone();
    let at = Point2::new(LEFT_MM, height - 5.0);
    drawing.text(at, Anchor::Start, TITLE_MM, Ink::Plain, title);
    let note = "finished part against the scans, mm, over station, mm; shaded: 95 of 100 places";
    drawing.note(Point2::new(LEFT_MM, height - 9.5), Anchor::Start, note);
    draw_top(&mut drawing, &over, proof, top);
    draw_foot(&mut drawing, &foot, proof);
    foot.stations(&mut drawing);
    drawing.scale_bar(Point2::new(LEFT_MM, 3.0), along, 30.0);
    let at = Point2::new(WIDTH_MM - RIGHT_MM, 4.0);
    forward::mark(&mut drawing, at, front, forward::from_outside());
    Some(drawing)
}

fn top_range(proof: &FitProof) -> [f64; 2] {
    let room = proof.room;
    let mut range = [
        (proof.meant_mm - room.closes).min(0.0),
        proof.meant_mm + room.opens,
    ];
    // A thick seal's own limits stay on the chart.
    let widest = WIDEST_MM.max(range[1] + 1.0);
    for at in &proof.stations {
        for value in [
            at.joint_mm - 2.0 * at.top_sigma_mm,
            at.joint_mm + 2.0 * at.top_sigma_mm,
            at.top_clearance_mm.map_or(0.0, |mm| mm.min(0.0)),
        ] {
            range = [range[0].min(value), range[1].max(value)];
        }
    }
    [range[0] - 0.5, range[1] + 0.5].map(|v| v.clamp(-WIDEST_MM, widest))
}

fn foot_range(proof: &FitProof) -> [f64; 2] {
    let most = proof
        .stations
        .iter()
        .filter_map(|at| at.foot)
        .map(|foot| foot.most_mm.max(-foot.least_mm))
        .fold(FOOT_OFF_MM + 0.5, f64::max)
        .min(WIDEST_MM / 2.0);
    [-most, most]
}

fn draw_top(drawing: &mut Drawing, chart: &Strip, proof: &FitProof, top: Top) {
    chart.ruler(drawing, "clear over the top");
    let rows = proof.stations.iter();
    let band: Vec<(f64, [f64; 2])> = rows
        .map(|at| {
            let spread = 2.0 * at.top_sigma_mm;
            (at.s, [at.joint_mm - spread, at.joint_mm + spread])
        })
        .collect();
    chart.band(drawing, &band);
    let (room, meant) = (proof.room, proof.meant_mm);
    let taker = match top {
        Top::Butted => "seal",
        Top::Tucked | Top::Lapped => "lap",
    };
    let (least, most) = (meant - room.closes, meant + room.opens);
    let mut limits = vec![
        (0.0, Line::Chain, Ink::Accent),
        (most, Line::Dashed, Ink::Plain),
    ];
    let mut names = vec![
        "touches".to_owned(),
        format!("{taker} reaches no further than {most:.1}"),
    ];
    if least > 0.0 {
        limits.push((least, Line::Dashed, Ink::Plain));
        names.push(format!("{taker} closes no further than {least:.1}"));
    }
    chart.limits(drawing, &limits);
    let keys = names.iter().enumerate();
    let keys: Vec<String> = keys.map(|(i, n)| format!("{}: {n}", letter(i))).collect();
    let at = Point2::new(LEFT_MM, drawing.size_mm[1] - 13.5);
    drawing.note(at, Anchor::Start, keys.join("; "));
    let scan = proof.stations.iter().map(|at| (at.s, at.top_clearance_mm));
    chart.line(drawing, scan, (Line::Narrow, Ink::Plain));
    let surveyed = proof.stations.iter().map(|at| (at.s, Some(at.joint_mm)));
    chart.line(drawing, surveyed, (Line::Wide, Ink::Plain));
    let at = Point2::new(LEFT_MM + 32.0, chart.bottom + chart.tall + 2.0);
    let narrow = match top {
        Top::Butted => "thin: top to the body's scan",
        Top::Tucked => "thin: lip to the back of the skin",
        Top::Lapped => "thin: lip to the outside of the skin",
    };
    let text = format!("thick: face to the surveyed edge; {narrow}");
    drawing.text(at, Anchor::Start, 2.5, Ink::Faint, text);
}

fn draw_foot(drawing: &mut Drawing, chart: &Strip, proof: &FitProof) {
    chart.ruler(drawing, "foot off the tray");
    let mut run: Vec<(f64, [f64; 2])> = Vec::new();
    for at in &proof.stations {
        match at.foot {
            Some(foot) => {
                let spread = 2.0 * foot.sigma_mm;
                run.push((at.s, [foot.middle_mm - spread, foot.middle_mm + spread]));
            }
            None => chart.band(drawing, &std::mem::take(&mut run)),
        }
    }
    chart.band(drawing, &run);
    for (value, line) in [
        (0.0, Line::Chain),
        (FOOT_OFF_MM, Line::Dashed),
        (-FOOT_OFF_MM, Line::Dashed),
    ] {
        chart.level(drawing, value, line);
    }
    let of = |value: fn(&crate::panel::proof::Foot) -> f64| {
        proof
            .stations
            .iter()
            .map(move |at| (at.s, at.foot.as_ref().map(value)))
    };
    chart.line(
        drawing,
        of(|foot| foot.least_mm),
        (Line::Narrow, Ink::Faint),
    );
    chart.line(drawing, of(|foot| foot.most_mm), (Line::Narrow, Ink::Faint));
    chart.line(drawing, of(|foot| foot.middle_mm), (Line::Wide, Ink::Plain));
    let at = Point2::new(LEFT_MM + 32.0, chart.bottom + chart.tall + 2.0);
    let text = format!(
        "thick: middle of the flange; faint: its least and most; dashed: sealant beds {FOOT_OFF_MM} mm"
    );
    drawing.text(at, Anchor::Start, 2.5, Ink::Faint, text);
}
