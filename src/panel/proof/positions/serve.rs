//! Chooses how the positions are served: as designed, by one panel for the least gap, or one each.

use super::{Held, PositionProof, PositionsProof, Served, envelope, judge, measure};
use crate::diag::Finding;
use crate::gap::Survey;
use crate::gap::position::Setting;
use crate::panel::{Panel, PanelFault, PanelOptions, design};
use crate::progress::Progress;

/// A panel of one position's own.
#[derive(Debug, Clone)]
pub struct Own {
    /// Which of the settings it is for.
    pub setting: usize,
    /// The panel.
    pub panel: Panel,
}

/// What serves the positions.
#[derive(Debug, Clone)]
pub struct Serving {
    /// The panel for all of them, or for the scanned one where each has its own.
    pub panel: Panel,
    /// The further positions' own panels; none where one serves in all.
    pub own: Vec<Own>,
    /// What it leaves in each.
    pub proof: PositionsProof,
}

/// Finds what serves in the scanned position and the further `settings`.
///
/// A position for which no panel can be made has a finding instead of one.
///
/// # Errors
/// [`PanelFault::Cancelled`] alone.
pub fn serve(
    panel: Panel,
    scanned: &Survey,
    settings: &[Setting],
    options: &PanelOptions,
    held: Held,
    watch: &Progress,
) -> Result<Serving, PanelFault> {
    let here = Setting {
        name: "as scanned".to_owned(),
        word: "as_scanned".to_owned(),
        way: crate::math::Vector3::zeros(),
        survey: scanned.clone(),
    };
    let all: Vec<Setting> = [here].into_iter().chain(settings.iter().cloned()).collect();
    let leaves = |panel: &Panel| measure(panel, scanned, &all, options, held);
    let told = |served, positions: Vec<PositionProof>| PositionsProof {
        held,
        served,
        findings: judge(served, &positions, held),
        positions,
    };
    let as_designed = leaves(&panel);
    if as_designed.iter().all(PositionProof::serves) {
        return Ok(Serving {
            panel,
            own: Vec::new(),
            proof: told(Served::AsDesigned, as_designed),
        });
    }
    match design(&envelope(scanned, &all, held), options, watch) {
        Err(PanelFault::Cancelled) => return Err(PanelFault::Cancelled),
        Ok(lowered) => {
            let left = leaves(&lowered);
            if left.iter().all(PositionProof::serves) {
                return Ok(Serving {
                    panel: lowered,
                    own: Vec::new(),
                    proof: told(Served::ForTheLeastGap, left),
                });
            }
        }
        // Where the least gap has no room for a panel, none serves in all positions.
        Err(_) => {}
    }
    let mut proof = told(Served::OneEach, as_designed);
    let mut own = Vec::new();
    for (i, setting) in settings.iter().enumerate() {
        match design(&setting.survey, options, watch) {
            Ok(panel) => own.push(Own { setting: i, panel }),
            Err(PanelFault::Cancelled) => return Err(PanelFault::Cancelled),
            Err(fault) => proof.findings.push(Finding::warning(
                "position-without-panel",
                format!(
                    "no panel can be made for position \"{}\": {fault}",
                    setting.name
                ),
                fault.hint(),
            )),
        }
    }
    Ok(Serving { panel, own, proof })
}
