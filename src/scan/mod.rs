//! Scans: read, cleaned, judged and set into the shop frame. Answers: can I trust this scan?

pub mod align;
pub mod clean;
pub mod conditions;
pub mod control;
pub mod datum;
mod inspect;
pub mod noise;
pub mod pairs;
mod placing;
pub mod read;
mod rim;
mod rim_heights;
pub mod scale;
mod scene;
pub mod separate;
mod surface;
mod tray_heights;
pub mod unit;
mod unit_doubt;

pub use control::Control;
pub use inspect::{Inspection, inspect};
pub use placing::{Placing, Registration};
pub use scene::read_scene;
pub use unit_doubt::doubt_unit;

pub use conditions::Conditions;

use crate::diag::Finding;
use crate::math::Point3;
use crate::mesh::TriMesh;
use nalgebra::Matrix4;
use std::path::PathBuf;

/// A length unit a scan file may be in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Millimetres.
    Millimetre,
    /// Centimetres.
    Centimetre,
    /// Metres.
    Metre,
    /// Inches of 25.4 mm.
    Inch,
}

impl Unit {
    /// Millimetres in one of this unit.
    #[must_use]
    pub fn millimetres(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => 25.4,
        }
    }

    /// The unit's symbol, as the job file writes it.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::Inch => "in",
        }
    }

    /// The unit in a sentence, where its symbol could be a word of another kind.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Millimetre => "millimetres",
            Self::Centimetre => "centimetres",
            Self::Metre => "metres",
            Self::Inch => "inches",
        }
    }
}

/// Where a scan's unit was learnt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitFrom {
    /// The file format fixes it.
    Format,
    /// The job names it.
    Job,
    /// Guessed from the size; always reported.
    Guess,
}

/// What the job says about the scans.
#[derive(Debug, Clone, PartialEq)]
pub struct ScanOptions {
    /// File with the body's lower edge.
    pub body: PathBuf,
    /// File with the undertray's top; the same file as the body's where one scan holds both.
    pub tray: PathBuf,
    /// Unit of the body's file; `None` where the job leaves it open.
    pub body_unit: Option<Unit>,
    /// Unit of the tray's file; `None` where the job leaves it open.
    pub tray_unit: Option<Unit>,
    /// Named points, known distances and seeds.
    pub control: Control,
    /// How the vehicle stood.
    pub conditions: Conditions,
}

/// What cleaning took out of a scan.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Removed {
    /// Triangles with a corner that is not finite or absurdly far off.
    pub not_finite: usize,
    /// Triangles without area, or with an index that points nowhere.
    pub degenerate: usize,
    /// Triangles that stand in the file more than once.
    pub duplicate: usize,
    /// Loose pieces too small to be part of a surface.
    pub floaters: usize,
    /// Triangles in those pieces.
    pub floater_triangles: usize,
    /// Triangles far from the gap: floor, stands, the rest of the vehicle.
    pub surroundings: usize,
}

/// Where a scan came from.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// The file as the job names it.
    pub path: PathBuf,
    /// SHA-256 of the file, lower-case hexadecimal.
    pub sha256: String,
    /// Unit used.
    pub unit: Unit,
    /// Where the unit was learnt.
    pub unit_from: UnitFrom,
    /// Triangles in the file.
    pub triangles: usize,
    /// Points in the file.
    pub points: usize,
    /// Size of the box round the scan as read (mm).
    pub size_mm: [f64; 3],
}

/// One scan in the shop frame.
#[derive(Debug, Clone)]
pub struct Scan {
    /// What is left after cleaning (shop frame, mm).
    pub mesh: TriMesh,
    /// File units to shop millimetres, row by row, scale folded in.
    pub to_shop: Matrix4<f64>,
    /// Standard deviation of the surface's local noise (mm).
    pub noise_mm: f64,
    /// Median edge length of the triangles (mm): what detail the scan can hold.
    pub spacing_mm: f64,
    /// Loose pieces that were kept.
    pub pieces: usize,
    /// Where it came from.
    pub source: Source,
    /// What was taken out.
    pub removed: Removed,
}

impl Scan {
    /// The same scan with every length times `factor` about the shop frame's origin.
    fn scaled(&self, factor: f64) -> Self {
        let mut made = self.clone();
        for p in &mut made.mesh.points {
            *p *= factor;
        }
        made.to_shop = Matrix4::new_scaling(factor) * self.to_shop;
        made.noise_mm *= factor;
        made.spacing_mm *= factor;
        made
    }
}

impl Scene {
    /// The same scene with every length times `factor` about the shop frame's origin, the matrices to the
    /// shop frame included.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            conditions: self.conditions,
            body: self.body.scaled(factor),
            tray: self.tray.scaled(factor),
            rim: self.rim.iter().map(|p| p * factor).collect(),
            tray_flatness_mm: self.tray_flatness_mm * factor,
            placing: self.placing.clone(),
            findings: self.findings.clone(),
        }
    }
}

/// Body and tray in the shop frame.
#[derive(Debug, Clone)]
pub struct Scene {
    /// The body, its lower edge above the tray.
    pub body: Scan,
    /// The tray, on z = 0 on average.
    pub tray: Scan,
    /// Coarse rim: the body's skin in plan just above its lower edge, to the maker's right (mm).
    /// Good to a few millimetres; `gap` refines it.
    pub rim: Vec<Point3>,
    /// How far the tray departs from its plane, root mean square (mm).
    pub tray_flatness_mm: f64,
    /// How the vehicle stood when it was scanned, as the job says.
    pub conditions: Conditions,
    /// How the scans were brought to scale and into one frame.
    pub placing: Placing,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}
