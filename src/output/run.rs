//! What a run has to show: the results of all stages, as far as it went.

use crate::buck::{Buck, Layup};
use crate::diag::{Finding, Weight};
use crate::gap::pattern::Paper;
use crate::gap::position::Setting;
use crate::gap::readings::{Check, Correction, Judgement, ShimList};
use crate::gap::verdict::Outlook;
use crate::gap::{Front, Survey};
use crate::panel::proof::positions::PositionsProof;
use crate::panel::proof::removal::RemovalProof;
use crate::panel::proof::{FitProof, HeatProof, LoadProof, TwinFit};
use crate::panel::{Panel, Top, Twin};
use crate::scan::Scene;
use crate::split::pieces::PieceProof;
use crate::split::{Coupon, Segments};

/// What a survey run has to show.
#[derive(Debug, Clone)]
pub struct Measured {
    /// The job's name for the part.
    pub name: String,
    /// The scans in the shop frame.
    pub scene: Scene,
    /// The gap.
    pub survey: Survey,
    /// Short name of the survey.
    pub survey_id: String,
    /// The gap in the tray's further positions.
    pub positions: Vec<Setting>,
    /// What to read on the vehicle.
    pub checks: Vec<Check>,
    /// What is to be expected of the fit; `None` for a survey without stations.
    pub outlook: Option<Outlook>,
    /// How the panel's top meets the body.
    pub top: Top,
    /// Where the vehicle's front lies, where the job says.
    pub front: Option<Front>,
    /// The paper that templates are printed on.
    pub paper: Paper,
}

/// What readings said about a survey.
#[derive(Debug, Clone)]
pub struct Verified {
    /// The job's name for the part.
    pub name: String,
    /// Short name of the survey as the scans give it.
    pub survey_id: String,
    /// The answer on lengths and gaps, where any were read.
    pub judgement: Option<Judgement>,
    /// Shims, where the fitted panel was read.
    pub shims: Option<ShimList>,
    /// The correction of the survey as the scans give it, where one explains the readings.
    pub correction: Option<Correction>,
    /// Rows that were left blank.
    pub blank: usize,
}

/// A panel of one position's own, and its segments.
#[derive(Debug, Clone)]
pub struct OwnMade {
    /// Which of the further positions it is for.
    pub setting: usize,
    /// The panel.
    pub panel: Panel,
    /// Its segments.
    pub segments: Segments,
}

/// What serves the tray's further positions.
#[derive(Debug, Clone)]
pub struct PositionsMade {
    /// What is left in each.
    pub proof: PositionsProof,
    /// Panels of their own; none where one serves in all.
    pub own: Vec<OwnMade>,
}

/// What a full run has to show.
#[derive(Debug, Clone)]
pub struct Made {
    /// The scans and the gap.
    pub measured: Measured,
    /// The panel.
    pub panel: Panel,
    /// Whether and how the tray comes off.
    pub removal: RemovalProof,
    /// The finished part against both scans.
    pub fit: FitProof,
    /// Air and heat against it.
    pub staying_on: StayingOn,
    /// Its segments.
    pub segments: Segments,
    /// Slices of it to print first.
    pub coupons: Vec<Coupon>,
    /// What serves the tray's further positions, where the job names some.
    pub positions: Option<PositionsMade>,
    /// The panel of the vehicle's other side, where one was asked for.
    pub twin: Option<TwinMade>,
    /// What the part is laid up on, where a buck was asked for.
    pub buck: Option<BuckMade>,
    /// The laminate, where one was asked for.
    pub layup: Option<Layup>,
    /// The proof of every solid; see [`prove_pieces`](super::prove_pieces).
    pub pieces: Vec<PieceProof>,
}

/// A buck and its segments.
#[derive(Debug, Clone)]
pub struct BuckMade {
    /// The buck.
    pub buck: Buck,
    /// Its segments.
    pub segments: Segments,
}

/// What air and heat do to the panel: estimates.
#[derive(Debug, Clone)]
pub struct StayingOn {
    /// The air.
    pub air: LoadProof,
    /// Heat and cold.
    pub heat: HeatProof,
}

/// The panel of the vehicle's other side, split as a workpiece of its own.
#[derive(Debug, Clone)]
pub struct TwinMade {
    /// The panel and its spine, in that side's own shop frame.
    pub twin: Twin,
    /// Its segments.
    pub segments: Segments,
    /// How it fits the other side, where that has a survey of its own.
    pub fit: Option<TwinFit>,
}

/// A run's results, as far as the run went.
#[derive(Debug, Clone, Copy)]
pub struct Run<'a> {
    /// The scans and the gap.
    pub measured: &'a Measured,
    /// The panel and its segments, where they were made.
    pub made: Option<(&'a Panel, &'a Segments)>,
    /// How the tray comes off, where a panel was made.
    pub removal: Option<&'a RemovalProof>,
    /// The finished part against both scans.
    pub fit: Option<&'a FitProof>,
    /// Air and heat against it.
    pub staying_on: Option<&'a StayingOn>,
    /// Slices of the panel to print first.
    pub coupons: &'a [Coupon],
    /// The panel of the vehicle's other side.
    pub twin: Option<&'a TwinMade>,
    /// What serves the tray's further positions.
    pub positions: Option<&'a PositionsMade>,
    /// What the part is laid up on.
    pub buck: Option<&'a BuckMade>,
    /// The laminate.
    pub layup: Option<&'a Layup>,
    /// The proof of every solid.
    pub pieces: &'a [PieceProof],
}

impl<'a> From<&'a Measured> for Run<'a> {
    fn from(measured: &'a Measured) -> Self {
        Self {
            measured,
            made: None,
            removal: None,
            fit: None,
            staying_on: None,
            coupons: &[],
            twin: None,
            positions: None,
            buck: None,
            layup: None,
            pieces: &[],
        }
    }
}

impl<'a> From<&'a Made> for Run<'a> {
    fn from(made: &'a Made) -> Self {
        Self {
            measured: &made.measured,
            made: Some((&made.panel, &made.segments)),
            removal: Some(&made.removal),
            fit: Some(&made.fit),
            staying_on: Some(&made.staying_on),
            coupons: &made.coupons,
            twin: made.twin.as_ref(),
            positions: made.positions.as_ref(),
            buck: made.buck.as_ref(),
            layup: made.layup.as_ref(),
            pieces: &made.pieces,
        }
    }
}

impl<'a> Run<'a> {
    /// Everything found on the way, each once, warnings first, otherwise in the order of the stages.
    /// A stage may hand on what an earlier one found.
    #[must_use]
    pub fn findings(&self) -> Vec<&'a Finding> {
        let mut all: Vec<&Finding> = self.measured.scene.findings.iter().collect();
        all.extend(&self.measured.survey.findings);
        if let Some((panel, segments)) = self.made {
            all.extend(&panel.findings);
            all.extend(self.removal.iter().flat_map(|proof| &proof.findings));
            all.extend(&segments.findings);
        }
        if let Some(made) = self.twin {
            all.extend(&made.segments.findings);
            all.extend(made.fit.iter().flat_map(|fit| &fit.findings));
        }
        if let Some(made) = self.buck {
            all.extend(&made.buck.findings);
            all.extend(&made.segments.findings);
        }
        if let Some(layup) = self.layup {
            all.extend(&layup.findings);
        }
        if let Some(fit) = self.fit {
            all.extend(&fit.findings);
        }
        if let Some(made) = self.staying_on {
            all.extend(made.air.findings.iter().chain(&made.heat.findings));
        }
        let further = self.measured.positions.iter();
        all.extend(further.flat_map(|setting| &setting.survey.findings));
        if let Some(positions) = self.positions {
            all.extend(&positions.proof.findings);
            let own = positions.own.iter();
            all.extend(own.flat_map(|own| own.panel.findings.iter().chain(&own.segments.findings)));
        }
        all.extend(self.pieces.iter().flat_map(|piece| &piece.findings));
        let mut once: Vec<&Finding> = Vec::new();
        for finding in all {
            if !once.contains(&finding) {
                once.push(finding);
            }
        }
        once.sort_by_key(|finding| std::cmp::Reverse(finding.weight));
        once
    }

    /// The warnings alone.
    #[must_use]
    pub fn warnings(&self) -> Vec<&'a Finding> {
        let mut all = self.findings();
        all.retain(|finding| finding.weight == Weight::Warning);
        all
    }
}
