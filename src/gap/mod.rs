//! The gap: the body's lower edge, the spine under it, and the height between, with its uncertainty.
//! Answers: what is the gap, and how sure are we?

mod corner;
mod drift;
mod edge;
mod front;
mod obstacles;
pub mod pattern;
pub mod position;
pub mod readings;
pub mod seal;
mod skin;
mod stations;
mod strip;
mod survey;
mod tray;
mod uncertainty;
mod underside;
pub mod verdict;

pub use front::Front;
pub use survey::{SurveyFault, survey};
pub use tray::OBSTACLE_HEIGHT;
pub use uncertainty::{Budget, Part};

use crate::diag::Finding;
use crate::math::{Point3, Spine, Vector3};

/// What the job says about the survey.
#[derive(Debug, Clone, PartialEq)]
pub struct GapOptions {
    /// Spacing of the stations (mm).
    pub station_mm: f64,
    /// The kind of edge, or `None` to find it from the scan.
    pub edge: Option<EdgeKind>,
}

impl Default for GapOptions {
    fn default() -> Self {
        Self {
            station_mm: 5.0,
            edge: None,
        }
    }
}

/// How the body's skin ends at the bottom.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeKind {
    /// Cut off: the skin simply stops.
    Cut,
    /// Rolled inboard with a radius; the return runs inboard from it.
    Rolled,
}

/// How well a station is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quality {
    /// Enough of the edge and tray is seen here.
    Good,
    /// Little is seen here; the uncertainty is larger.
    Sparse,
    /// Nothing is seen here; carried across from both sides.
    Bridged,
}

/// The gap at one station plane. Points are in the shop frame (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// Lowest point of the true skin in the station plane.
    pub edge: Point3,
    /// Outermost point of the skin near the edge, where the visible face must meet the body.
    pub silhouette: Point3,
    /// Foot of the gap on the tray: the edge lies on the tray's normal through this point.
    pub tray: Point3,
    /// Unit normal of the tray there, upward.
    pub tray_normal: Vector3,
    /// Angle of the skin above the edge from the vertical (rad), positive where it leans inboard going up.
    pub lean: f64,
    /// Gap along the tray's normal (mm).
    pub gap: f64,
    /// Standard uncertainty of the gap, random and systematic parts together (mm).
    pub sigma: f64,
    /// What that is made of; its parts combined are `sigma`.
    pub budget: Budget,
    /// How well it is seen.
    pub quality: Quality,
}

/// Something that stands on the tray inside the strip where a flange would lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Obstacle {
    /// First and last arc length along the spine (mm).
    pub along: [f64; 2],
    /// Innermost and outermost offset from the spine (mm, outward positive).
    pub across: [f64; 2],
    /// Height above the tray's fitted surface (mm).
    pub height: f64,
}

/// The tray's fitted surface in a strip along the spine: what is well seen, smoothed, with whatever
/// stands on it left out.
#[derive(Debug, Clone, PartialEq)]
pub struct TrayStrip {
    /// Arc lengths of the rows (mm), rising.
    pub along: Vec<f64>,
    /// Coefficients of `z = c0 + c1 x + c2 x^2` for each row, x the outward offset from the spine (mm).
    pub rows: Vec<[f64; 3]>,
}

impl TrayStrip {
    /// Least and greatest offset from the spine the fit looks at (mm): beyond them nothing holds a row.
    pub const ACROSS: [f64; 2] = [-70.0, 45.0];

    /// Height of the tray (mm above the shop plane) at arc length `s` and outward offset `x` (mm).
    /// Rows are joined linearly; past the ends the last row holds.
    #[must_use]
    pub fn height(&self, s: f64, x: f64) -> f64 {
        let last = self.rows.len().saturating_sub(1);
        let value = |i: usize| {
            self.rows
                .get(i)
                .map_or(0.0, |c| c[0] + c[1] * x + c[2] * x * x)
        };
        let k = self.along.partition_point(|&a| a <= s);
        if k == 0 || k > last {
            return value(k.min(last));
        }
        let (a, b) = (self.along[k - 1], self.along[k]);
        let share = if b > a { (s - a) / (b - a) } else { 0.0 };
        value(k - 1) * (1.0 - share) + value(k) * share
    }
}

/// The gap all along, and what it rests on.
#[derive(Debug, Clone)]
pub struct Survey {
    /// Fair curve on the tray under the body's edge.
    pub spine: Spine,
    /// The gap at each station, in order.
    pub stations: Vec<Station>,
    /// How the body's skin ends.
    pub edge_kind: EdgeKind,
    /// Radius of a rolled edge's outside (mm); zero for a cut edge.
    pub edge_radius_mm: f64,
    /// The tray's fitted surface.
    pub tray: TrayStrip,
    /// What stands on the tray near the spine.
    pub obstacles: Vec<Obstacle>,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}
