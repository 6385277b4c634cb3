//! Splitting a long solid into segments that fit a printer, with joints. Answers: can I print it, and
//! how does it go together?

use crate::diag::Finding;
use crate::math::{Point2, Spine};
use crate::mesh::Solid;
use nalgebra::Isometry3;

/// What the job says about the printer and the joints. Lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct PrinterOptions {
    /// Build volume: width, depth, height.
    pub build_mm: [f64; 3],
    /// Left free on every side of the build volume.
    pub margin_mm: f64,
    /// How far a tab laps the neighbour.
    pub tab_mm: f64,
    /// Thickness of a tab.
    pub tab_wall_mm: f64,
    /// Room between a tab and the face it lies against.
    pub fit_mm: f64,
}

impl Default for PrinterOptions {
    fn default() -> Self {
        Self {
            build_mm: [220.0, 220.0, 250.0],
            margin_mm: 5.0,
            tab_mm: 20.0,
            tab_wall_mm: 3.0,
            fit_mm: 0.25,
        }
    }
}

/// A long solid to be split: from a panel or a buck, this stage knows neither.
#[derive(Debug, Clone)]
pub struct Workpiece<'a> {
    /// The solid (shop frame, mm).
    pub solid: &'a Solid,
    /// The curve it runs along.
    pub spine: &'a Spine,
    /// The hidden side, where tabs may sit, in order along the spine.
    pub hidden: Vec<HiddenFace>,
}

/// The hidden side of a workpiece in one station plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HiddenFace {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// Lower and upper end of the straight face in (x outward, z up), mm. The material lies outward of
    /// it (to the right going up); a tab grows away from it to the left.
    pub face: [Point2; 2],
}

/// One printable piece.
#[derive(Debug, Clone)]
pub struct Segment {
    /// Place in the row, counted from 1 at the maker's left.
    pub number: usize,
    /// First and last arc length, tabs not counted (mm).
    pub along: [f64; 2],
    /// The piece where it sits on the vehicle (shop frame, mm).
    pub in_place: Solid,
    /// The piece on its bed: z = 0 at the bottom, centred in plan.
    pub on_bed: Solid,
    /// Shop frame to bed.
    pub to_bed: Isometry3<f64>,
    /// Size on the bed (mm), tabs included.
    pub size_mm: [f64; 3],
}

/// A joint between a segment and the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Arc length of the cut (mm).
    pub s: f64,
    /// Number of the segment that carries the tab.
    pub tab_on: usize,
    /// What the tab adds to the volume (mm3).
    pub tab_volume_mm3: f64,
    /// Room left between the tab and the neighbour (mm).
    pub fit_mm: f64,
}

/// All pieces and joints.
#[derive(Debug, Clone)]
pub struct Segments {
    /// The pieces, from the maker's left to right.
    pub segments: Vec<Segment>,
    /// The joints between them, one fewer.
    pub joints: Vec<Joint>,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}
