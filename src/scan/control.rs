//! What the maker knows about the scans: named points, distances between them, seeds.

use super::separate::Seeds;
use crate::math::Point3;

/// Which scan a point or a distance belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The body's scan.
    Body,
    /// The tray's scan.
    Tray,
}

/// A point picked in a scan.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedPoint {
    /// Its name.
    pub name: String,
    /// Where it is, in the file's own units and axes.
    pub at: Point3,
}

/// A distance measured on the vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownDistance {
    /// The scan whose points it joins.
    pub scan: Part,
    /// Name of the point it starts at.
    pub from: String,
    /// Name of the point it ends at.
    pub to: String,
    /// Its length (mm).
    pub mm: f64,
}

/// Everything the maker knows about the scans.
#[derive(Debug, Clone, PartialEq)]
pub struct Control {
    /// Points named in the body's scan.
    pub body_points: Vec<NamedPoint>,
    /// Points named in the tray's scan. A name that both have stands for one point of the vehicle.
    pub tray_points: Vec<NamedPoint>,
    /// Distances between points of one scan.
    pub distances: Vec<KnownDistance>,
    /// Standard uncertainty of a picked point along any direction (mm).
    pub pick_sigma_mm: f64,
    /// Points on body and tray in a scan that holds both, in the file's units.
    pub seeds: Seeds,
}

impl Default for Control {
    fn default() -> Self {
        Self {
            body_points: Vec::new(),
            tray_points: Vec::new(),
            distances: Vec::new(),
            // A triangle edge of a phone's scan is 3 to 5 mm. Common practice, no source.
            pick_sigma_mm: 2.0,
            seeds: Seeds::default(),
        }
    }
}

impl Control {
    /// The points named in one scan.
    #[must_use]
    pub fn points(&self, part: Part) -> &[NamedPoint] {
        match part {
            Part::Body => &self.body_points,
            Part::Tray => &self.tray_points,
        }
    }
}
