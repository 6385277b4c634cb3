//! The closeout panel: section, loft, ends and proofs. Answers: what shape closes the gap?

mod design;
#[cfg(test)]
mod end_tests;
mod ends;
mod face;
mod fade;
mod fair;
mod fairness;
mod fault;
pub mod fixings;
mod foot;
mod keep_out;
#[cfg(test)]
mod keep_out_tests;
mod lines;
pub(crate) mod loft;
mod opening;
#[cfg(test)]
mod option_tests;
mod outboard;
mod profile;
pub mod proof;
mod relief;
mod relief_words;
#[cfg(test)]
pub(crate) mod samples;
mod section;
mod setback;
mod shape;
mod stance;
mod stays;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tight_tests;
pub mod twin;
mod zone;

pub use design::{MOST_FLANGE_MM, design};
pub use ends::EndZone;
pub use fairness::Fairness;
pub use fault::PanelFault;
pub use fixings::{Fixing, FixingOptions};
pub use keep_out::{Access, Done, KeepOut, KeepOutKind, KeptOut};
pub(crate) use lines::hold_slope;
pub use proof::WallProof;
pub use shape::{PanelChange, Shape};
pub use stance::least_flange;
pub use twin::Twin;

use crate::diag::Finding;
use crate::gap::seal::Room;
use crate::gap::{EdgeKind, Survey};
use crate::math::Point2;
use crate::mesh::Solid;
use std::borrow::Cow;

/// How the panel's top meets the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Top {
    /// A lip that runs up behind a cut edge.
    Tucked,
    /// A land that stands under a rolled edge with room for a seal.
    Butted,
    /// A lip that runs up outside of the skin, over its edge.
    Lapped,
}

impl Top {
    /// Whether a lip stands above the face.
    #[must_use]
    pub fn has_lip(self) -> bool {
        self != Self::Butted
    }
}

/// How the visible face runs from its foot to its top.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum FaceStyle {
    /// Straight.
    #[default]
    Straight,
    /// On an arc.
    Bowed,
    /// On the arc that runs into the body's skin without a corner.
    Tangent,
}

/// What the panel stands on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum FootKind {
    /// A flange that runs inboard on the tray.
    #[default]
    Inboard,
    /// A flange that runs outboard on the tray, in sight.
    Outboard,
    /// Its wall alone.
    None,
}

/// What the outside of the face is lined up with.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum LineUp {
    /// The body's lower edge: the top stands right under it.
    #[default]
    Edge,
    /// The outermost of the body's skin, as far as the top still reaches under the edge.
    Silhouette,
}

/// What the panel is fixed to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Mount {
    /// The undertray: the panel comes off with it.
    #[default]
    Tray,
    /// The body: the tray comes off past the panel, whose flange is then only a foot.
    Body,
}

/// How the panel stops at one of its ends.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum End {
    /// Cut off flat, square to the spine.
    #[default]
    Closed,
    /// Closed off by a wall that turns inboard.
    Returned,
    /// Falling smoothly down onto the tray.
    Faded,
}

/// Whether the vehicle's other side gets a panel too.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum TwinKind {
    /// It does not.
    #[default]
    None,
    /// It gets this one's mirror image.
    Mirrored,
}

/// What the job says about the panel. Lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelOptions {
    /// Wall thickness, measured normal to the face.
    pub wall_mm: f64,
    /// Wall at the top of a tapered face and of its lip, or `None` for the same all over.
    pub wall_top_mm: Option<f64>,
    /// How the face runs from foot to top.
    pub face: FaceStyle,
    /// Sagitta of a bowed face, positive outward.
    pub bow_mm: f64,
    /// Lean of the face (degrees), positive where its top lies further inboard than its foot.
    pub lean_deg: f64,
    /// What it stands on.
    pub foot: FootKind,
    /// What the outside is lined up with.
    pub line_up: LineUp,
    /// How much further inboard the outside stands.
    pub setback_mm: f64,
    /// What is laid over the outside of the face; the print is drawn back by it.
    pub overlay_mm: f64,
    /// Height of a lip that laps the skin outside.
    pub lap_mm: f64,
    /// Where the section changes along the spine.
    pub changes: Vec<PanelChange>,
    /// Depth of the foot flange on the tray, inboard from the outside of the face.
    pub flange_mm: f64,
    /// Radius of the fillet between flange and face, on the hidden side.
    pub fillet_mm: f64,
    /// Height of a compressed seal between the top and a rolled edge.
    pub seal_mm: f64,
    /// Free height of that seal, before it is squeezed.
    pub seal_foam_mm: f64,
    /// Height of the tucked lip behind a cut edge.
    pub tuck_mm: f64,
    /// Thickness of the body's skin, which a scan from outside cannot see.
    pub skin_mm: f64,
    /// Paint on each painted face, body and panel.
    pub paint_mm: f64,
    /// Room between the tucked lip and the back of the skin, beyond paint.
    pub clearance_mm: f64,
    /// Room round whatever stands on the tray.
    pub relief_mm: f64,
    /// How the top meets the body, or `None` to choose by the kind of edge.
    pub top: Option<Top>,
    /// What the panel is fixed to.
    pub mount: Mount,
    /// The end at the maker's left.
    pub end_left: End,
    /// The end at the maker's right.
    pub end_right: End,
    /// How far a returned end reaches inboard of the face's outside, or `None` for as far as the flange.
    pub return_mm: Option<f64>,
    /// Length over which a faded end falls.
    pub fade_mm: f64,
    /// The panel of the vehicle's other side.
    pub twin: TwinKind,
    /// Its fixings.
    pub fixings: FixingOptions,
    /// What it must leave free.
    pub keep_outs: Vec<KeepOut>,
}

impl Default for PanelOptions {
    fn default() -> Self {
        Self {
            wall_mm: 3.0,
            wall_top_mm: None,
            face: FaceStyle::Straight,
            bow_mm: 0.0,
            lean_deg: 0.0,
            foot: FootKind::Inboard,
            line_up: LineUp::Edge,
            setback_mm: 0.0,
            overlay_mm: 0.0,
            lap_mm: 15.0,
            changes: Vec::new(),
            flange_mm: 25.0,
            fillet_mm: 3.0,
            seal_mm: 1.8,
            seal_foam_mm: 3.0,
            tuck_mm: 10.0,
            skin_mm: 3.0,
            paint_mm: 0.3,
            clearance_mm: 1.0,
            relief_mm: 2.0,
            top: None,
            mount: Mount::Tray,
            end_left: End::Closed,
            end_right: End::Closed,
            return_mm: None,
            fade_mm: 60.0,
            twin: TwinKind::None,
            fixings: FixingOptions::default(),
            keep_outs: Vec::new(),
        }
    }
}

impl PanelOptions {
    /// How the top meets an edge of this kind.
    #[must_use]
    pub fn top_for(&self, kind: EdgeKind) -> Top {
        self.top.unwrap_or(match kind {
            EdgeKind::Cut => Top::Tucked,
            EdgeKind::Rolled => Top::Butted,
        })
    }

    /// How far the clear height over the top may be from what is meant, for an edge of this kind.
    #[must_use]
    pub fn room(&self, kind: EdgeKind) -> Room {
        match self.top_for(kind) {
            Top::Tucked => Room::of_lip(self.tuck_mm),
            Top::Lapped => Room::of_lip(self.lap_mm),
            Top::Butted => Room::of_foam(self.seal_foam_mm, self.seal_mm),
        }
    }
}

/// The panel's outline in one station plane, before anything is cut from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// Closed outline, anticlockwise in (x outward from the spine, z above the shop plane), mm. The same
    /// number of corners at every station.
    pub outline: Vec<Point2>,
    /// Straight hidden side of the face, from its lower to its upper usable end: where a joint may sit.
    pub hidden_face: [Point2; 2],
    /// The outside from the foot on the tray up to the top, with the laminate that goes over it, without
    /// paint: what the finished part is to be. The same number of corners at every station.
    pub finished: Vec<Point2>,
    /// Corners of a flange that runs outboard, anticlockwise from the foot; `None` where there is none.
    pub outboard: Option<Vec<Point2>>,
}

impl Section {
    /// The whole outline: with the flange that runs outboard, where there is one.
    #[must_use]
    pub fn whole(&self) -> Cow<'_, [Point2]> {
        match &self.outboard {
            None => Cow::Borrowed(&self.outline),
            Some(flange) => Cow::Owned(outboard::whole(&self.outline, flange)),
        }
    }

    /// The outside of the print, from the foot on the tray up to the top: corner by corner under
    /// [`Self::finished`].
    #[must_use]
    pub fn outside(&self) -> &[Point2] {
        let foot = section::Corners::FOOT;
        self.outline
            .get(foot..foot + self.finished.len())
            .unwrap_or_default()
    }

    /// The straight top of an inboard flange, from its tip toward the fillet; `None` where there is none.
    #[must_use]
    pub fn flange_top(&self) -> Option<[Point2; 2]> {
        /// Bent by less than this (mm) it is straight.
        const STRAIGHT_MM: f64 = 0.05;
        let [.., by_fillet, middle, tip] = self.outline.as_slice() else {
            return None;
        };
        // Without a flange the last corners stand over each other.
        if by_fillet.x - tip.x < 2.0 || self.outline.first()?.x - tip.x > 1.0 {
            return None;
        }
        let run = by_fillet - tip;
        let off = run.perp(&(middle - tip)) / run.norm();
        Some(if off.abs() < STRAIGHT_MM {
            [*tip, *by_fillet]
        } else if (middle - tip).norm() > (by_fillet - middle).norm() {
            [*tip, *middle]
        } else {
            [*middle, *by_fillet]
        })
    }

    /// What is laid over the outside, as an outline; `None` where nothing is.
    #[must_use]
    pub fn overlay(&self) -> Option<Vec<Point2>> {
        let printed = self.outside();
        let mut pairs = printed.iter().zip(&self.finished);
        pairs.any(|(a, b)| (a - b).norm() > 1e-6).then(|| {
            let back = printed.iter().rev();
            self.finished.iter().chain(back).copied().collect()
        })
    }
}

/// Where the flange was cut away, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Relief {
    /// First and last arc length (mm).
    pub along: [f64; 2],
    /// Height of what stands there (mm).
    pub height: f64,
}

/// The closeout panel.
#[derive(Debug, Clone)]
pub struct Panel {
    /// The finished solid (shop frame, mm).
    pub solid: Solid,
    /// Its outline at every station.
    pub sections: Vec<Section>,
    /// How its top meets the body.
    pub top: Top,
    /// Where the flange was cut away.
    pub reliefs: Vec<Relief>,
    /// Every keep-out of the job and what was done about it.
    pub kept_out: Vec<KeptOut>,
    /// What holds it.
    pub fixings: Vec<Fixing>,
    /// The tray's own fixings, and whether they can be got at with the panel fitted.
    pub tray_fixings: Vec<fixings::TrayFixing>,
    /// Stretches of arc length (mm) that no cut between segments may enter for a keep-out was cut there, in
    /// order, none touching another. For those at fixings see [`Fixing::keep_clear`].
    pub keep_clear: Vec<[f64; 2]>,
    /// What was made of its left and its right end.
    pub ends: [EndZone; 2],
    /// How far its lines leave the measured edge.
    pub fairness: Fairness,
    /// Its wall as measured on the solid.
    pub wall: WallProof,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}

impl Panel {
    /// Whether a fade takes the top away at an arc length of the spine (mm).
    #[must_use]
    pub fn is_faded(&self, s: f64) -> bool {
        self.ends
            .iter()
            .any(|zone| zone.end == End::Faded && s >= zone.along[0] && s <= zone.along[1])
    }

    /// Clear height meant between the top of the panel's outside and the body's edge at an arc length of
    /// the spine (mm): room for the seal under a rolled edge, the joint in sight under a cut one.
    ///
    /// `None` where a fade takes the top away.
    #[must_use]
    pub fn left_open(&self, survey: &Survey, s: f64) -> Option<f64> {
        if self.is_faded(s) {
            return None;
        }
        let near = |a: f64, b: f64| (a - s).abs().total_cmp(&(b - s).abs());
        let section = self.sections.iter().min_by(|a, b| near(a.s, b.s))?;
        let station = survey.stations.iter().min_by(|a, b| near(a.s, b.s))?;
        let top = section
            .finished
            .get(section::Corners::read(self.top, section).knee() - section::Corners::FOOT)?;
        Some(station.edge.z - top.y)
    }
}
