//! How the scans were brought to scale and into one frame, for the report.

use super::Measured;
use super::report::rounded;
use crate::gap::readings::scale_check;
use crate::scan::Registration;
use crate::scan::scale::ScaleFit;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct PlacingPart<'a> {
    body_scale: Option<ScalePart<'a>>,
    tray_scale: Option<ScalePart<'a>>,
    alignment: Option<AlignmentPart<'a>>,
    separated: bool,
    lengths_check_scale_percent: Option<f64>,
}

/// What the lengths among the checks would know the scale to: two standard uncertainties, in per cent.
pub(super) fn scale_check_percent(measured: &Measured) -> Option<f64> {
    let spacing = measured.scene.body.spacing_mm;
    scale_check(&measured.survey, spacing, &measured.checks).map(|share| rounded(100.0 * share))
}

#[derive(Serialize)]
struct ScalePart<'a> {
    factor: f64,
    sigma: f64,
    distances: Vec<DistancePart<'a>>,
}

#[derive(Serialize)]
struct DistancePart<'a> {
    between: &'a str,
    mm: f64,
    residual_mm: f64,
    in_sigmas: f64,
}

#[derive(Serialize)]
struct AlignmentPart<'a> {
    pairs: usize,
    pairs_residual_mm: f64,
    overlap: f64,
    residual_mm: f64,
    weak: &'a [String],
}

fn scale_part(fit: &ScaleFit) -> ScalePart<'_> {
    ScalePart {
        factor: fit.factor,
        sigma: fit.sigma,
        distances: fit
            .references
            .iter()
            .map(|r| DistancePart {
                between: &r.label,
                mm: r.true_mm,
                residual_mm: rounded(r.residual_mm),
                in_sigmas: rounded(r.in_sigmas),
            })
            .collect(),
    }
}

fn alignment_part(registration: &Registration) -> AlignmentPart<'_> {
    AlignmentPart {
        pairs: registration.pairs,
        pairs_residual_mm: rounded(registration.pairs_residual_mm),
        overlap: rounded(registration.overlap),
        residual_mm: rounded(registration.residual_mm),
        weak: &registration.weak,
    }
}

pub(super) fn placing_part(measured: &Measured) -> PlacingPart<'_> {
    let placing = &measured.scene.placing;
    PlacingPart {
        body_scale: placing.body_scale.as_ref().map(scale_part),
        tray_scale: placing.tray_scale.as_ref().map(scale_part),
        alignment: placing.alignment.as_ref().map(alignment_part),
        separated: placing.separated,
        lengths_check_scale_percent: scale_check_percent(measured),
    }
}
