//! How a segment lies on its bed, in the report.

use crate::split::Segment;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct PosePart {
    lies: String,
    why: String,
    steady_poses_that_fit: usize,
    overhang_mm2: f64,
    contact_mm2: f64,
    height_mm: f64,
    steady_mm: f64,
    layers_to_pull_deg: f64,
    scarred_share: f64,
    stepped_share: f64,
    to_bed: [[f64; 4]; 4],
}

/// `rounded` is how the report rounds. The move onto the bed keeps all its digits: it turns points that
/// lie far from the origin.
pub(super) fn pose_part(segment: &Segment, rounded: fn(f64) -> f64) -> PosePart {
    let pose = &segment.pose;
    let scores = &pose.scores;
    let matrix = segment.to_bed.to_homogeneous();
    PosePart {
        lies: pose.lies.to_string(),
        why: pose.why.clone(),
        steady_poses_that_fit: pose.fitting,
        overhang_mm2: rounded(scores.overhang_mm2),
        contact_mm2: rounded(scores.contact_mm2),
        height_mm: rounded(scores.height_mm),
        steady_mm: rounded(scores.steady_mm),
        layers_to_pull_deg: rounded(scores.layers_to_pull.to_degrees()),
        scarred_share: rounded(scores.scarred_share),
        stepped_share: rounded(scores.stepped_share),
        to_bed: [0, 1, 2, 3].map(|r| [0, 1, 2, 3].map(|c| matrix[(r, c)] + 0.0)),
    }
}
