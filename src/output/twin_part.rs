//! What the report says about the panel of the vehicle's other side.

use super::report::{SegmentPart, rounded, segment_part};
use super::{TWIN_FOLDER, TWIN_STL, TwinMade};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct TwinPart {
    file: &'static str,
    triangles: usize,
    volume_mm3: f64,
    segments: Vec<SegmentPart>,
}

pub(super) fn twin_part(made: &TwinMade) -> TwinPart {
    let mesh = made.twin.panel.solid.mesh();
    let row = made.segments.segments.iter();
    TwinPart {
        file: TWIN_STL,
        triangles: mesh.triangles.len(),
        volume_mm3: rounded(mesh.signed_volume()),
        segments: row.map(|s| segment_part(TWIN_FOLDER, s)).collect(),
    }
}
