//! What the fit proof has to say. A depth that the doubt explains is named as no fault.

use super::{FitAt, FitProof};
use crate::diag::Finding;
use crate::gap::seal::SHARE;
use crate::panel::Top;

/// A foot that stands off by more than this is not bedded by a thin line of sealant (mm). Common practice,
/// no source.
pub const FOOT_OFF_MM: f64 = 1.5;
/// Two standard uncertainties hold 95 % (GUM 6.3.3).
const SIGMAS: f64 = 2.0;

pub fn judge(proof: &FitProof, top: Top) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(top_finding(proof, top));
    findings.extend(foot_finding(proof));
    findings.extend(body_finding(proof));
    findings.extend(tray_finding(proof));
    findings.extend(residual_finding(proof, top));
    findings
}

/// The station where `value` is worst, by the largest.
fn worst(proof: &FitProof, value: impl Fn(&FitAt) -> Option<f64>) -> Option<(&FitAt, f64)> {
    proof
        .stations
        .iter()
        .filter_map(|at| value(at).map(|v| (at, v)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

fn top_finding(proof: &FitProof, top: Top) -> Option<Finding> {
    let name = match top {
        Top::Butted => "top",
        Top::Tucked | Top::Lapped => "lip",
    };
    // How much further in than the doubt explains.
    let past = |at: &FitAt| Some(-at.top_clearance_mm? - SIGMAS * at.top_sigma_mm);
    if let Some((at, _)) = worst(proof, past).filter(|(_, past)| *past > 0.0) {
        let depth = -at.top_clearance_mm?;
        return Some(
            Finding::warning(
                "top-touches",
                format!(
                    "the panel's {name} stands {depth:.1} mm in the body's scan, more than twice its sigma of {:.1} mm",
                    at.top_sigma_mm
                ),
                "look at the section there; read the gap with a caliper, then ask for more seal_mm or clearance_mm under [panel]",
            )
            .at(at.s)
            .size(depth),
        );
    }
    let (at, depth) = worst(proof, |at| at.top_clearance_mm.map(|c| -c))?;
    (depth > 0.0).then(|| {
        let doubt = SIGMAS * at.top_sigma_mm;
        // A doubt that the seal or the lip does not take up hides a panel that does not go in.
        let takes = proof.room.half();
        let meaning = if doubt > takes {
            format!(
                "that is more than the {takes:.1} mm that {} up, so nothing can be told here: read the gap there \
                 with a caliper before you print",
                match top {
                    Top::Butted => "the seal takes",
                    Top::Tucked | Top::Lapped => "the lip takes",
                }
            )
        } else {
            "fusing views thickens an edge, so this is no fault of the panel".to_owned()
        };
        Finding::note(
            "top-close",
            format!(
                "the body's scan overlaps the panel's {name} by {depth:.1} mm; the gap is known to \u{b1} {doubt:.1} mm \
                 there, and {meaning}"
            ),
        )
        .at(at.s)
        .size(depth)
    })
}

fn foot_finding(proof: &FitProof) -> Option<Finding> {
    let off = |sign: f64| {
        worst(proof, move |at| {
            let foot = at.foot?;
            Some(sign * foot.middle_mm - SIGMAS * foot.sigma_mm)
        })
        .filter(|(_, off)| *off > FOOT_OFF_MM)
    };
    let (at, what, sign) = match (off(1.0), off(-1.0)) {
        (Some((a, up)), Some((_, down))) if up >= down => (a, "stands off the tray by", 1.0),
        (Some((a, _)), None) => (a, "stands off the tray by", 1.0),
        (_, Some((a, _))) => (a, "sinks into the tray's scan by", -1.0),
        (None, None) => return None,
    };
    let size = sign * at.foot?.middle_mm;
    Some(
        Finding::warning(
            "foot-off",
            format!("the foot {what} {size:.1} mm; up to {FOOT_OFF_MM} mm is bedded by sealant"),
            "lay a straight edge on the tray there; if the scan is right, pack the flange or press the tray flat",
        )
        .at(at.s)
        .size(size),
    )
}

fn body_finding(proof: &FitProof) -> Option<Finding> {
    let deepest = proof.body.filter(|d| d.mm > d.explained_mm)?;
    Some(
        Finding::warning(
            "panel-in-body",
            format!(
                "the finished part runs {:.1} mm into the body; {:.1} mm is what noise and doubt explain",
                deepest.mm, deepest.explained_mm
            ),
            "look at the section there; move what hangs down, or change the top under [panel]",
        )
        .at(deepest.station_mm)
        .size(deepest.mm),
    )
}

fn tray_finding(proof: &FitProof) -> Option<Finding> {
    let deepest = proof.tray.filter(|d| d.mm > d.explained_mm)?;
    Some(
        Finding::warning(
            "panel-in-tray",
            format!(
                "the part runs {:.1} mm into the tray or what stands on it; {:.1} mm is what noise explains",
                deepest.mm, deepest.explained_mm
            ),
            "look for a fixing or a step of the tray there: more relief_mm under [panel], or take it away",
        )
        .at(deepest.station_mm)
        .size(deepest.mm),
    )
}

fn residual_finding(proof: &FitProof, top: Top) -> Option<Finding> {
    let off: Vec<&FitAt> = proof
        .stations
        .iter()
        .filter(|at| at.residual_mm != 0.0)
        .collect();
    let share = off.len() as f64 / proof.stations.len().max(1) as f64;
    if share <= 1.0 - SHARE {
        return None;
    }
    let (at, _) = worst(proof, |at| Some(at.residual_mm.abs()))?;
    let what = if at.residual_mm > 0.0 {
        "left open"
    } else {
        "squeezed too far"
    };
    let (named, hint) = match top {
        Top::Butted => (
            "the seal works within its range",
            "a thicker seal_foam_mm under [panel], with seal_mm near two thirds of it, takes up more",
        ),
        Top::Tucked => (
            "the lip laps as it should",
            "ask for a longer tuck_mm under [panel]",
        ),
        Top::Lapped => (
            "the lip laps as it should",
            "ask for a longer lap_mm under [panel]",
        ),
    };
    Some(
        Finding::warning(
            "residual-gap",
            format!(
                "{named} on {:.0} % of the length only; most is {what} by {:.1} mm",
                100.0 * (1.0 - share),
                at.residual_mm.abs()
            ),
            hint,
        )
        .at(at.s)
        .size(at.residual_mm.abs()),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gap::seal::Room;

    /// A lip 1 mm in the scan, the gap known to +- 2 mm: no fault where the lip takes up 5 mm, and nothing
    /// that can be told where it takes up 1.
    #[test]
    fn a_doubt_larger_than_what_is_taken_up_is_no_acquittal() {
        let said = |half: f64| {
            let at = FitAt {
                s: 10.0,
                top_clearance_mm: Some(-1.0),
                top_sigma_mm: 1.0,
                joint_mm: 0.0,
                foot: None,
                residual_mm: 0.0,
            };
            let proof = FitProof {
                stations: vec![at],
                body: None,
                tray: None,
                meant_mm: 0.0,
                room: Room {
                    opens: half,
                    closes: half,
                },
                tray_scatter_mm: 0.0,
                face: Vec::new(),
                findings: Vec::new(),
            };
            let found = judge(&proof, Top::Lapped);
            let note = found.into_iter().find(|f| f.code == "top-close");
            note.map(|f| f.what).unwrap_or_default()
        };
        assert!(said(5.0).contains("no fault of the panel"));
        let unknown = said(1.0);
        assert!(unknown.contains("nothing can be told here") && unknown.contains("caliper"));
        assert!(!unknown.contains("no fault"));
    }
}
