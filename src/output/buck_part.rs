//! The buck, for programs.

use super::joint_part::{JointPart, joints_part};
use super::report::{
    EstimatePart, SegmentPart, StepPart, assembly_part, estimate_part, rounded, segment_part,
};
use super::{BUCK_FOLDER, BUCK_STL, BuckMade};
use crate::buck::{DetailKind, DraftClass};
use crate::math::Vector3;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct BuckPart {
    file: &'static str,
    release_mm: f64,
    laminate_mm: f64,
    filler_mm: f64,
    set_in_mm: f64,
    volume_cm3: f64,
    wall_mm: Option<f64>,
    ribs_mm: Vec<f64>,
    cells: usize,
    cells_left_solid: usize,
    trim_mm: [f64; 2],
    ticks_mm: Vec<f64>,
    lift: [f64; 3],
    least_draft_deg: f64,
    undercut_cm2: f64,
    no_draft_cm2: f64,
    slight_draft_cm2: f64,
    good_draft_cm2: f64,
    pieces: Vec<PiecePart>,
    details: Vec<DetailPart>,
    segments: Vec<SegmentPart>,
    joints: Vec<JointPart>,
    assembly: Vec<StepPart>,
    total: EstimatePart,
}

#[derive(Serialize)]
struct PiecePart {
    from_mm: f64,
    to_mm: f64,
    lift: [f64; 3],
    least_draft_deg: f64,
}

#[derive(Serialize)]
struct DetailPart {
    kind: &'static str,
    station_mm: f64,
    at_mm: [f64; 3],
    size_mm: f64,
}

/// What a detail is called.
pub(super) fn detail_word(kind: DetailKind) -> &'static str {
    match kind {
        DetailKind::BoardDowel => "board dowel",
        DetailKind::RibDowel => "rib dowel",
        DetailKind::Air => "air",
        DetailKind::Clamp => "clamp",
        DetailKind::Wedge => "wedge",
    }
}

fn way(v: Vector3) -> [f64; 3] {
    [v.x, v.y, v.z].map(rounded)
}

pub(super) fn buck_part(made: &BuckMade) -> BuckPart {
    let buck = &made.buck;
    let area = |class| rounded(buck.draft.area(class) / 100.0);
    BuckPart {
        file: BUCK_STL,
        release_mm: rounded(buck.on_top.release_mm),
        laminate_mm: rounded(buck.on_top.laminate_mm),
        filler_mm: rounded(buck.on_top.filler_mm),
        set_in_mm: rounded(buck.on_top.total()),
        volume_cm3: rounded(buck.solid.volume() / 1e3),
        wall_mm: buck.wall_mm.map(rounded),
        ribs_mm: buck.ribs.iter().map(|&s| rounded(s)).collect(),
        cells: buck.cells[0],
        cells_left_solid: buck.cells[1],
        trim_mm: buck.trim.map(rounded),
        ticks_mm: buck.ticks.iter().map(|&s| rounded(s)).collect(),
        lift: way(buck.draft.lift),
        least_draft_deg: rounded(buck.draft.worst.to_degrees()),
        undercut_cm2: area(DraftClass::Undercut),
        no_draft_cm2: area(DraftClass::None),
        slight_draft_cm2: area(DraftClass::Slight),
        good_draft_cm2: area(DraftClass::Good),
        pieces: (buck.pieces.iter())
            .map(|piece| PiecePart {
                from_mm: rounded(piece.along[0]),
                to_mm: rounded(piece.along[1]),
                lift: way(piece.lift),
                least_draft_deg: rounded(piece.worst.to_degrees()),
            })
            .collect(),
        details: (buck.details.iter())
            .map(|detail| DetailPart {
                kind: detail_word(detail.kind),
                station_mm: rounded(detail.s),
                at_mm: [detail.at.x, detail.at.y, detail.at.z].map(rounded),
                size_mm: rounded(detail.size_mm),
            })
            .collect(),
        segments: (made.segments.segments.iter())
            .map(|segment| segment_part(BUCK_FOLDER, segment))
            .collect(),
        joints: joints_part(&made.segments, rounded),
        assembly: assembly_part(&made.segments),
        total: estimate_part(&made.segments.estimate()),
    }
}
