//! The wall that carries the fixings, laid flat with its holes: what a drilling template shows.

use super::FixingKind;
use super::holes::stadium;
use crate::math::{Point2, Point3, Spine, Vector2};
use crate::mesh::develop::develop_strip;
use crate::panel::section::Corners;
use crate::panel::{Panel, Section, Top};

/// A hole laid flat (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct FlatHole {
    /// Number of the fixing.
    pub number: usize,
    /// Middle of the hole or slot.
    pub at: Point2,
    /// Where the fastener is set.
    pub set: Point2,
    /// Outline of the hole or slot, in the panel or in what it is fixed to.
    pub outline: Vec<Point2>,
}

/// A wall of the panel laid flat (mm): the maker's right to the right, its near edge below, running along
/// x from end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct FlatFixings {
    /// Arc lengths of the sections.
    pub along: Vec<f64>,
    /// The edge nearer to the maker or lower down: the outside of the face at the foot of a flange, the
    /// foot of a lip or face.
    pub near: Vec<Point2>,
    /// The other edge: the flange's tip, the top of a lip or face.
    pub far: Vec<Point2>,
    /// The holes.
    pub holes: Vec<FlatHole>,
}

impl FlatFixings {
    /// The line across at an arc length, held to the ends.
    #[must_use]
    pub fn rung(&self, s: f64) -> Option<[Point2; 2]> {
        let last = self.along.len().checked_sub(1)?;
        let k = self
            .along
            .partition_point(|&a| a <= s)
            .clamp(1, last.max(1));
        let (a, b) = (*self.along.get(k - 1)?, *self.along.get(k)?);
        let share = ((s - a) / (b - a)).clamp(0.0, 1.0);
        let on =
            |line: &[Point2]| Some(line.get(k - 1)? + (line.get(k)? - line.get(k - 1)?) * share);
        Some([on(&self.near)?, on(&self.far)?])
    }
}

/// Edges of the wall that carries the fixings, in one section: near, far.
fn edges(section: &Section, kind: FixingKind, top: Top) -> Option<[Point2; 2]> {
    let corners = Corners::read(top, section);
    let corner = |k: usize| section.outline.get(k).copied();
    match kind {
        FixingKind::ScrewIntoTray | FixingKind::StudInTray => {
            let tip = match &section.outboard {
                Some(flange) => flange.get(2).copied(),
                None => corner(0),
            };
            Some([corner(Corners::FOOT)?, tip?])
        }
        FixingKind::StudOnPanel => Some([corner(Corners::FOOT)?, corner(corners.knee())?]),
        _ => Some([corner(corners.knee())?, corner(corners.top())?]),
    }
}

/// Lays the wall that carries a panel's fixings flat, a rung at every section. `None` without fixings, or
/// where the wall has no surface.
#[must_use]
pub fn lay_flat(panel: &Panel, spine: &Spine) -> Option<FlatFixings> {
    let kind = panel.fixings.first()?.kind;
    let mut lines: [Vec<Point3>; 2] = [Vec::new(), Vec::new()];
    let mut along = Vec::new();
    for section in &panel.sections {
        let frame = spine.frame_at(section.s);
        let pair = edges(section, kind, panel.top)?.map(|p| frame.to_shop(p));
        along.push(section.s);
        lines
            .iter_mut()
            .zip(pair)
            .for_each(|(line, p)| line.push(p));
    }
    let flat = develop_strip(&lines[0], &lines[1])?;
    let mut laid = FlatFixings {
        along,
        near: flat.lower,
        far: flat.upper,
        holes: Vec::new(),
    };
    for fixing in &panel.fixings {
        let k = laid
            .along
            .partition_point(|&a| a <= fixing.s)
            .clamp(1, laid.along.len() - 1);
        // The same triangle in space and flat: corner, way along, way across.
        let space = [lines[0][k - 1], lines[0][k], lines[1][k - 1]];
        let plane = [laid.near[k - 1], laid.near[k], laid.far[k - 1]];
        let flat = |p: Point3| {
            let (u, v, p) = (space[1] - space[0], space[2] - space[0], p - space[0]);
            let (uu, uv, vv) = (u.dot(&u), u.dot(&v), v.dot(&v));
            let (pu, pv) = (p.dot(&u), p.dot(&v));
            let whole = uu * vv - uv * uv;
            let (a, b) = ((pu * vv - pv * uv) / whole, (pv * uu - pu * uv) / whole);
            plane[0] + (plane[1] - plane[0]) * a + (plane[2] - plane[0]) * b
        };
        let at = flat(fixing.at);
        let right = (flat(fixing.at + fixing.along) - at)
            .try_normalize(1e-9)
            .unwrap_or_else(Vector2::x);
        let up = Vector2::new(-right.y, right.x);
        let width = if fixing.kind.slots_the_panel() {
            fixing.hole_mm
        } else {
            fixing.mate_hole_mm
        };
        // A slot that is not in the panel lies round the fastener the other way.
        let (middle, set) = if fixing.kind.slots_the_panel() {
            (at, at + right * fixing.set_mm)
        } else {
            (at - right * fixing.set_mm, at)
        };
        laid.holes.push(FlatHole {
            number: fixing.number,
            at: middle,
            set,
            outline: stadium(0.5 * width, 0.5 * (fixing.slot_mm - width))
                .into_iter()
                .map(|[u, v]| middle + right * u + up * v)
                .collect(),
        });
    }
    Some(laid)
}
