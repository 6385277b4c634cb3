//! What the report says about the panel of the vehicle's other side.

use super::joint_part::{JointPart, joints_part};
use super::report::{
    EstimatePart, SegmentPart, StepPart, assembly_part, estimate_part, rounded, segment_part,
};
use super::{TWIN_FOLDER, TWIN_STL, TwinMade};
use crate::panel::proof::TwinFit;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct TwinPart {
    file: &'static str,
    triangles: usize,
    volume_mm3: f64,
    segments: Vec<SegmentPart>,
    joints: Vec<JointPart>,
    assembly: Vec<StepPart>,
    total: EstimatePart,
    other_side: Option<OtherSidePart>,
}

/// The twin against the other side's own survey.
#[derive(Serialize)]
struct OtherSidePart {
    covered_share: f64,
    under_share: f64,
    aside_limit_mm: f64,
    longer_mm: f64,
    stations: Vec<StationPart>,
}

#[derive(Serialize)]
struct StationPart {
    station_mm: f64,
    left_mm: f64,
    residual_mm: f64,
    aside_mm: f64,
    sigma_mm: f64,
}

fn other_side(fit: &TwinFit) -> OtherSidePart {
    let stations = fit.stations.iter().map(|at| StationPart {
        station_mm: rounded(at.s),
        left_mm: rounded(at.left_mm),
        residual_mm: rounded(at.residual_mm),
        aside_mm: rounded(at.aside_mm),
        sigma_mm: rounded(at.sigma_mm),
    });
    OtherSidePart {
        covered_share: rounded(fit.covered),
        under_share: rounded(fit.under),
        aside_limit_mm: rounded(fit.aside_limit_mm),
        longer_mm: rounded(fit.longer_mm),
        stations: stations.collect(),
    }
}

pub(super) fn twin_part(made: &TwinMade) -> TwinPart {
    let mesh = made.twin.panel.solid.mesh();
    let (parts, row) = (&made.segments, made.segments.segments.iter());
    TwinPart {
        file: TWIN_STL,
        triangles: mesh.triangles.len(),
        volume_mm3: rounded(mesh.signed_volume()),
        segments: row.map(|s| segment_part(TWIN_FOLDER, s)).collect(),
        joints: joints_part(parts, rounded),
        assembly: assembly_part(parts),
        total: estimate_part(&parts.estimate()),
        other_side: made.fit.as_ref().map(other_side),
    }
}
