//! A foot flange that runs outboard on the tray, in sight, for a tray that reaches out past the body.
//!
//! The wall stands on the tray alone, and the flange is joined to its outside with the fillet between
//! them: ten more corners between the foot and the rest of the face.

use super::foot::tray_height;
use super::lines::hold_slope;
use super::relief;
use super::section::{Corners, fillet_arc};
use super::setback::stretch;
use super::stance::{FLANGE_TAPER, Stance, TIP_RADIUS_MM, least_flange};
use super::{PanelFault, PanelOptions, Section, loft::Loft};
use crate::diag::Finding;
use crate::gap::Survey;
use crate::math::{Point2, Vector2, Vector3};
use crate::mesh::Solid;

/// Corners of the flange: foot, middle and tip below, tip and middle above, five of the fillet.
const CORNERS: usize = 10;
/// First corner of the flange's top, from its tip.
const TOP: usize = 3;
/// Shares of the flange's depth and of the face's lowest edge that a fillet takes at most.
const FILLET_SHARE: f64 = 0.4;
const FACE_SHARE: f64 = 0.9;
/// A fillet keeps this much of the face above it straight (mm).
const FACE_ABOVE_MM: f64 = 2.0;
/// The tray is surveyed for what stands on it this far outboard of the spine (mm).
const SURVEYED_MM: f64 = 30.0;
/// A cut goes this far past the flange's tip and under it, and stays this far off the face (mm).
const PAST_MM: f64 = 3.0;
const BESIDE_FACE_MM: f64 = 0.3;

/// What the flange is to be at one section (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Toe {
    /// Its depth, from the outside of the face.
    pub depth: f64,
    /// Radius between it and the face.
    pub fillet: f64,
}

/// Gives every section its flange.
pub(super) fn shape(
    sections: &mut [Section],
    stances: &[Stance],
    survey: &Survey,
    findings: &mut Vec<Finding>,
) {
    let depths = depths(stances, survey, findings);
    let middles: Vec<_> = stances
        .iter()
        .zip(&depths)
        .map(|(stance, depth)| {
            let x = stance.outside.foot.x + 0.5 * depth;
            let z = tray_height(&survey.tray, stance.s, x);
            stance.frame.to_shop(Point2::new(x, z))
        })
        .collect();
    for (i, (section, stance)) in sections.iter_mut().zip(stances).enumerate() {
        let Some(toe) = stance.toe else { continue };
        let before = middles[i.saturating_sub(1)];
        let after = middles[(i + 1).min(middles.len() - 1)];
        let toe = Toe {
            depth: depths[i],
            ..toe
        };
        section.outboard = Some(corners(stance, toe, survey, after - before));
    }
    let furthest = stances
        .iter()
        .zip(&depths)
        .map(|(stance, depth)| (stance.s, stance.outside.foot.x + depth))
        .max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((s, x)) = furthest.filter(|(_, x)| *x > SURVEYED_MM) {
        findings.push(
            Finding::warning(
                "flange-past-survey",
                format!(
                    "the outboard flange reaches {:.0} mm further out than the tray was searched for what \
                     stands on it",
                    x - SURVEYED_MM
                ),
                "see that the tray reaches that far and that nothing stands there, or ask for less flange_mm under [panel]",
            )
            .at(s)
            .size(x - SURVEYED_MM),
        );
    }
}

/// Depths that do not fold where the gap bends round a place outboard of it.
fn depths(stances: &[Stance], survey: &Survey, findings: &mut Vec<Finding>) -> Vec<f64> {
    let asked = |stance: &Stance| stance.toe.map_or(0.0, |toe| toe.depth);
    let mut depths: Vec<f64> = stances
        .iter()
        .map(|stance| {
            let curvature = survey.spine.curvature_at(stance.s);
            let room = if curvature < -1e-9 {
                -1.0 / curvature - stance.outside.foot.x - TIP_RADIUS_MM
            } else {
                f64::INFINITY
            };
            asked(stance).min(room).max(least_flange(stance.shape.wall))
        })
        .collect();
    let along: Vec<f64> = stances.iter().map(|stance| stance.s).collect();
    hold_slope(&along, &mut depths, FLANGE_TAPER);
    let short = |(stance, depth): (&Stance, &f64)| (stance.s, *depth, asked(stance) - depth);
    let shortest = stances.iter().zip(&depths).map(short);
    let shortest = shortest.max_by(|a, b| a.2.total_cmp(&b.2));
    if let Some((s, depth, short)) = shortest.filter(|worst| worst.2 > 1.0) {
        findings.push(
            Finding::warning(
                "flange-shortened",
                format!(
                    "the flange is shortened to {depth:.1} mm where the gap bends too tightly for {:.0} mm",
                    depth + short
                ),
                "there is less to glue or screw down there",
            )
            .at(s)
            .size(short),
        );
    }
    depths
}

/// The flange's corners in one station plane, anticlockwise from the foot.
fn corners(stance: &Stance, toe: Toe, survey: &Survey, chord: Vector3) -> Vec<Point2> {
    let on_tray = |x: f64| Point2::new(x, tray_height(&survey.tray, stance.s, x));
    let [foot, up] = stance.outside.first_edge();
    let tip = on_tray(foot.x + toe.depth);
    let middle = on_tray(foot.x + 0.6 * toe.depth);
    let run = tip - foot;
    let askew = stretch(&stance.frame, run, chord);
    let across = Vector2::new(
        0.0,
        stance.shape.wall * askew * run.norm() / run.x.max(1e-9),
    );
    // Where the top of the flange meets the face.
    let (back, face) = (middle - foot, up - foot);
    let turn = back.perp(&face);
    let corner = if turn.abs() < 1e-9 {
        foot + across
    } else {
        foot + face * (back.perp(&across) / turn)
    };
    let half = 0.5 * back.angle(&face);
    let room = (up - corner).norm();
    let fillet = toe
        .fillet
        .min(FILLET_SHARE * toe.depth)
        .min((FACE_SHARE * room).min((room - FACE_ABOVE_MM).max(0.3 * room)) * half.tan())
        .max(0.05);
    let mut line = vec![foot, middle, tip, tip + across, middle + across];
    line.extend(fillet_arc(corner, face, back, fillet).into_iter().rev());
    line
}

/// A corner of a section's outline in its outline with the flange.
fn moved(corner: usize) -> usize {
    if corner > Corners::FOOT {
        corner + CORNERS - 1
    } else {
        corner
    }
}

/// A section's outline with its flange.
pub(super) fn whole(outline: &[Point2], flange: &[Point2]) -> Vec<Point2> {
    let (wall, rest) = outline.split_at(Corners::FOOT.min(outline.len()));
    let rest = rest.get(1..).unwrap_or_default();
    wall.iter().chain(flange).chain(rest).copied().collect()
}

/// Triangles that close an outline with its flange, from those that close it without.
pub(super) fn cap(corners: Corners) -> Vec<[u32; 3]> {
    let (foot, fillet) = (Corners::FOOT, corners.fillet());
    let last = foot + CORNERS - 1;
    let mut cap: Vec<[u32; 3]> = (corners.cap().into_iter())
        .map(|t| {
            // The strip of the wall starts where the fillet ends; what fans from the foot stays.
            let of_strip = t.contains(&(foot as u32 + 1)) || t.contains(&(fillet as u32 - 1));
            t.map(|i| match i as usize {
                i if i == foot && of_strip => last as u32,
                i => moved(i) as u32,
            })
        })
        .collect();
    let at = |k: usize| (foot + k) as u32;
    cap.push([at(0), last as u32, moved(fillet) as u32]);
    cap.extend([[1, 2, 3], [1, 3, 4], [0, 1, 4], [0, 4, 5]].map(|t| t.map(at)));
    cap.extend((5..CORNERS - 1).map(|k| [0, k, k + 1].map(at)));
    cap
}

/// Underside and top of the flange, by the corner an edge starts at in the outline with the flange.
pub(super) fn edges() -> [std::ops::Range<usize>; 2] {
    let foot = Corners::FOOT;
    [foot..foot + 2, foot + TOP..foot + TOP + 2]
}

/// Something that stands on the tray where the flange goes: arc lengths and offsets, with room (mm).
pub(super) struct InTheWay {
    pub along: [f64; 2],
    pub inner: f64,
    pub outer: f64,
}

impl InTheWay {
    /// Whether it stands where the flange of some section goes.
    pub fn meets(&self, sections: &[Section]) -> bool {
        let reach = |section: &Section| {
            let flange = section.outboard.as_deref()?;
            Some([flange.first()?.x, flange.get(2)?.x])
        };
        let near = sections.iter().filter(|section| {
            let [from, to] = self.along;
            section.s >= from && section.s <= to
        });
        near.filter_map(reach)
            .any(|[face, tip]| self.outer > face && self.inner < tip)
    }

    /// The body to take away for it: open outboard, and as high as flange and fillet.
    ///
    /// # Errors
    /// [`PanelFault::Relief`] where it is no solid.
    pub fn cutter(
        &self,
        survey: &Survey,
        face: &dyn Fn(f64) -> f64,
        options: &PanelOptions,
    ) -> Result<Solid, PanelFault> {
        let height = relief::over_flange(options);
        let changes = options.changes.iter().filter_map(|change| change.flange_mm);
        let deepest = changes.fold(options.flange_mm, f64::max);
        let outline = |s: f64| {
            let inner = self.inner.max(face(s) + BESIDE_FACE_MM);
            let outer = face(s) + deepest + PAST_MM;
            let outer = outer.max(inner + PAST_MM);
            let [a, b] = [inner, outer].map(|x| tray_height(&survey.tray, s, x));
            [
                Point2::new(inner, a - PAST_MM),
                Point2::new(outer, b - PAST_MM),
                Point2::new(outer, b + height),
                Point2::new(inner, a + height),
            ]
        };
        let outlines: Vec<(f64, [Point2; 4])> = relief::places(self.along)
            .map(|s| (s, outline(s)))
            .collect();
        let placed = outlines.iter().map(|(s, corners)| (*s, corners.as_slice()));
        let loft = Loft::new(&survey.spine, placed, &[[0, 1, 2], [0, 2, 3]]);
        Solid::new(loft.mesh().clone()).map_err(|e| PanelFault::Relief {
            station_mm: 0.5 * (self.along[0] + self.along[1]),
            reason: e.to_string(),
        })
    }
}
