//! Holds the finished part against both scans. Answers: does it clear the body, and does it lie on the tray?
//!
//! A scan is open, noisy and seen from one side, so no side of a triangle is trusted to say what is inside.
//! The sides come from the section instead, in each station plane:
//!
//! - **Under an edge** the body is what lies above the lowest surface that faces down, over the breadth of
//!   the panel's top. The clearance is the way up along the tray's normal.
//! - **Behind a skin** the body is a slab: from the skin's outside, which a scan sees, inboard by the skin's
//!   thickness, which the job says. What the scan shows behind it is the fusion's own. The clearance is the
//!   way from the lip out to the slab's back; it is negative as well where the lip stands outside.
//! - **The tray** is what lies below the highest surface that faces up.
//!
//! The finished part is the print with whatever goes over its outside: the laminate and the paint. The
//! body's paint is taken off every clearance. The land under a seal and the flange's underside carry none.

mod deepest;
mod face;
mod finished;
mod judge;
mod scans;
#[cfg(test)]
mod tests;

pub use face::{FaceColumn, FacePoint};
pub use judge::FOOT_OFF_MM;
pub use scans::Scanned;

use self::deepest::find_deepest;
pub(super) use self::finished::Finished;
use self::scans::Scans;
use crate::diag::Finding;
use crate::gap::seal::Room;
use crate::gap::{Station, Survey};
use crate::math::robust::{median, sigma_about_zero};
use crate::math::{Point2, Point3, StationFrame, Vector3};
use crate::mesh::nearest::Nearest;
use crate::panel::{Panel, PanelOptions, Top};
use rayon::prelude::*;

/// How far into a surface the proof still finds its way out (mm).
const REACH_IN_MM: f64 = 15.0;
/// How far off a surface is still looked for (mm).
const REACH_OFF_MM: f64 = 45.0;
/// Distance between the places measured across the top and along the foot (mm).
const ACROSS_MM: f64 = 1.0;

/// How the flange's underside lies on the tray in one station plane. Square to the tray; positive where
/// it stands off, negative where the two overlap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foot {
    /// Median over the flange's depth (mm).
    pub middle_mm: f64,
    /// Least (mm).
    pub least_mm: f64,
    /// Most (mm).
    pub most_mm: f64,
    /// Standard uncertainty of the median, from the scatter of the tray's scan (mm).
    pub sigma_mm: f64,
}

/// The fit at one station. `None` is what the scan does not show there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitAt {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// Least clearance of the top to the body's scan (mm), negative where they overlap.
    pub top_clearance_mm: Option<f64>,
    /// Clear height between the top of the visible face and the surveyed edge (mm). The survey has taken
    /// out what fusing views does to an edge; the scan has not.
    pub joint_mm: f64,
    /// Standard uncertainty of both (mm).
    pub top_sigma_mm: f64,
    /// Contact with the tray; `None` also where the flange is cut away.
    pub foot: Option<Foot>,
    /// What the seal leaves open (mm), or by how much it is squeezed too far (negative); zero while it
    /// works. For a lip: how much its lap is off.
    pub residual_mm: f64,
}

/// The deepest place of the part inside one of the scans.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deepest {
    /// Depth: the least way out (mm).
    pub mm: f64,
    /// Depth that the doubt about scan and survey explains at this one place out of many (mm).
    pub explained_mm: f64,
    /// Arc length along the spine (mm).
    pub station_mm: f64,
    /// Where (shop frame, mm).
    pub at: Point3,
}

/// The finished part against both scans.
#[derive(Debug, Clone)]
pub struct FitProof {
    /// At each station within the panel.
    pub stations: Vec<FitAt>,
    /// Deepest place inside the body; `None` where nothing touches.
    pub body: Option<Deepest>,
    /// Deepest place inside the tray or what stands on it; `None` where nothing touches.
    pub tray: Option<Deepest>,
    /// Clear height meant over the visible face (mm), and how far it may be off.
    pub meant_mm: f64,
    /// Room of the seal or the lip round that.
    pub room: Room,
    /// Scatter of the tray's scan under the flange (mm).
    pub tray_scatter_mm: f64,
    /// The outside laid flat: underside, face and top, with the distance to the scans.
    pub face: Vec<FaceColumn>,
    /// What is to be looked at.
    pub findings: Vec<Finding>,
}

impl FitProof {
    /// The least clearance of the top to the body's scan (mm), and where.
    #[must_use]
    pub fn least_clearance(&self) -> Option<(f64, &FitAt)> {
        let seen = self.stations.iter();
        seen.filter_map(|at| at.top_clearance_mm.map(|mm| (mm, at)))
            .min_by(|a, b| a.0.total_cmp(&b.0))
    }
}

/// What the proof works with.
struct Context<'a> {
    panel: &'a Panel,
    survey: &'a Survey,
    options: &'a PanelOptions,
    scans: Scans,
    solid: Option<Nearest>,
}

/// Measures the finished part against the scans it was designed from, or against others in the same frame.
///
/// `panel` must have been designed along the spine of `survey`. Distances are good to 0.05 mm on exact
/// surfaces; on scans they carry the scan's noise, which the sigmas tell.
#[must_use]
pub fn prove(
    panel: &Panel,
    survey: &Survey,
    scanned: Scanned<'_>,
    options: &PanelOptions,
) -> FitProof {
    let context = Context {
        panel,
        survey,
        options,
        scans: Scans::near(panel, survey, scanned),
        solid: Nearest::new(panel.solid.mesh()),
    };
    let measured: Vec<(FitAt, Vec<f64>)> = survey
        .stations
        .par_iter()
        .filter_map(|station| context.fit_at(station))
        .collect();
    let tray_scatter_mm = scatter(&measured);
    let independent = (options.flange_mm / scanned.tray_spacing_mm.max(0.1)).max(1.0);
    let stations: Vec<FitAt> = measured
        .into_iter()
        .map(|(mut at, _)| {
            if let Some(foot) = &mut at.foot {
                foot.sigma_mm = tray_scatter_mm / independent.sqrt();
            }
            at
        })
        .collect();
    let deepest = find_deepest(&context, scanned.body_noise_mm, tray_scatter_mm);
    let mut proof = FitProof {
        stations,
        body: deepest.body,
        tray: deepest.tray,
        meant_mm: meant(panel.top, options),
        room: options.room(survey.edge_kind),
        tray_scatter_mm,
        face: face::lay_flat(&context),
        findings: Vec::new(),
    };
    proof.findings = judge::judge(&proof, panel.top);
    proof
}

/// Robust scatter of the foot's places about the tray's fitted surface, which is where the underside lies
/// (mm). A tray that stands off as a whole is no scatter, so the middle of all places is taken off.
fn scatter(measured: &[(FitAt, Vec<f64>)]) -> f64 {
    let mut off: Vec<f64> = measured
        .iter()
        .flat_map(|(_, places)| places.iter().copied())
        .collect();
    let middle = median(&mut off).unwrap_or(0.0);
    for place in &mut off {
        *place -= middle;
    }
    sigma_about_zero(&mut off).unwrap_or(0.0)
}

/// Clear height meant between the top of the visible face and the edge, the body's paint taken off (mm).
pub(super) fn meant(top: Top, options: &PanelOptions) -> f64 {
    match top {
        Top::Butted => options.seal_mm,
        Top::Tucked | Top::Lapped => crate::panel::lines::KNEE_ROOM_MM,
    }
}

impl Context<'_> {
    /// The arc length, a breath inside the panel where it is an end of it; `None` past the ends.
    fn within(&self, s: f64) -> Option<f64> {
        const BREATH_MM: f64 = 0.02;
        let (first, last) = (
            self.panel.sections.first()?.s,
            self.panel.sections.last()?.s,
        );
        let inside = s >= first && s <= last && last - first > 2.0 * BREATH_MM;
        inside.then(|| s.clamp(first + BREATH_MM, last - BREATH_MM))
    }

    /// Whether a place is so near an end of the spine that fusion has rounded the skin's end there.
    fn is_at_end(&self, s: f64) -> bool {
        let rounded = self.scans.rounding_mm;
        s < rounded || s > self.survey.spine.length() - rounded
    }

    /// `None` past the panel's ends.
    fn fit_at(&self, station: &Station) -> Option<(FitAt, Vec<f64>)> {
        let s = self.within(station.s)?;
        let finished = Finished::at(self.panel, self.options, s)?;
        let frame = self.survey.spine.frame_at(s);
        let up = station.tray_normal;
        let top_clearance_mm = match self.panel.top {
            Top::Butted => self.under_the_edge(&finished, &frame, up),
            Top::Tucked | Top::Lapped if self.is_at_end(station.s) => None,
            Top::Lapped => self.over_the_skin(&finished, &frame, station),
            Top::Tucked => self.behind_the_skin(&finished, &frame, station),
        };
        let knee = frame.to_shop(finished.knee);
        let joint_mm = (station.edge - knee).dot(&up) / up.z.max(0.5) - self.options.paint_mm;
        let (foot, places) = self.foot(&finished, &frame, up);
        let at = FitAt {
            s: station.s,
            top_clearance_mm,
            joint_mm,
            top_sigma_mm: station.sigma,
            foot,
            residual_mm: self.residual(joint_mm),
        };
        Some((at, places))
    }

    /// What is left of a deviation from what was meant once the seal or the lap has taken up its share.
    fn residual(&self, joint_mm: f64) -> f64 {
        let room = self.options.room(self.survey.edge_kind);
        let off = joint_mm - meant(self.panel.top, self.options);
        room.residual(off)
    }

    /// Least way up from the land to the body.
    fn under_the_edge(
        &self,
        finished: &Finished,
        frame: &StationFrame,
        up: Vector3,
    ) -> Option<f64> {
        let under = self.scans.under.as_ref()?;
        let ways = along(finished.land, ACROSS_MM).filter_map(|p| {
            let from = frame.to_shop(p) - up * REACH_IN_MM;
            under.ray(from, up, REACH_IN_MM + REACH_OFF_MM)
        });
        let least = ways.min_by(f64::total_cmp)?;
        Some(least - REACH_IN_MM - self.options.paint_mm)
    }

    /// Least way from the lip out to the skin's back, measured where the fusion has not rounded the edge,
    /// or at the lip's top where it has rounded all of it.
    fn behind_the_skin(
        &self,
        finished: &Finished,
        frame: &StationFrame,
        station: &Station,
    ) -> Option<f64> {
        let (lean, edge) = (station.lean, frame.to_section(station.edge));
        let clear_of_edge = edge.y + self.scans.rounding_mm;
        let above = |p: &Point2| p.y >= clear_of_edge.min(finished.top.y - 1e-9);
        let ways = along([finished.knee, finished.top], ACROSS_MM)
            .filter(above)
            .filter_map(|p| self.scans.behind(frame.to_shop(p), frame.outward))
            .map(|way| way * lean.cos());
        let least = ways.min_by(f64::total_cmp)?;
        Some(least - self.options.skin_mm - self.options.paint_mm)
    }

    /// Least way from the inside of a lip in to the skin's outside, where the skin stands behind it.
    fn over_the_skin(
        &self,
        finished: &Finished,
        frame: &StationFrame,
        station: &Station,
    ) -> Option<f64> {
        let edge = frame.to_section(station.edge);
        let [low, high] = finished.lap?;
        let clear_of_edge = (edge.y + self.scans.rounding_mm).min(high.y - 1e-9);
        let least = along([low, high], ACROSS_MM)
            .filter(|p| p.y >= clear_of_edge)
            .filter_map(|p| self.scans.behind(frame.to_shop(p), frame.outward))
            .map(|way| -way * station.lean.cos())
            .min_by(f64::total_cmp)?;
        Some(least - self.options.paint_mm)
    }

    /// Contact of the flange's underside, and each place of it. The underside is read off the solid, so
    /// that what was cut away is not there.
    fn foot(
        &self,
        finished: &Finished,
        frame: &StationFrame,
        up: Vector3,
    ) -> (Option<Foot>, Vec<f64>) {
        let mut places: Vec<f64> = finished
            .underside
            .windows(2)
            .flat_map(|pair| along([pair[0], pair[1]], ACROSS_MM))
            .filter_map(|p| self.off_the_tray(frame.to_shop(p), up))
            .collect();
        let given = places.clone();
        let Some(middle_mm) = median(&mut places) else {
            return (None, Vec::new());
        };
        let foot = Foot {
            middle_mm,
            least_mm: given.iter().copied().fold(f64::INFINITY, f64::min),
            most_mm: given.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            sigma_mm: 0.0,
        };
        (Some(foot), given)
    }

    /// How far a place of the underside stands off the tray's scan (mm, square to the tray).
    fn off_the_tray(&self, p: Point3, up: Vector3) -> Option<f64> {
        // Half a millimetre lower than the section says, for a loft's chord.
        const BELOW_MM: f64 = 0.5;
        let underside = self
            .solid
            .as_ref()?
            .ray(p - up * BELOW_MM, up, 2.0 * BELOW_MM)?;
        let below = self.scans.height_over_tray(p)?;
        Some((below + underside - BELOW_MM) * up.z)
    }
}

/// Places from one point to another, ends included, no further apart than `step`.
fn along([from, to]: [Point2; 2], step: f64) -> impl Iterator<Item = Point2> {
    let parts = ((to - from).norm() / step).ceil().clamp(1.0, 500.0) as usize;
    (0..=parts).map(move |k| from + (to - from) * (k as f64 / parts as f64))
}
