//! Where a face has room for a label: looked at once in a grid, however many labels are tried on it.

use super::words::Layout;
use super::{DEEP_MM, LEAST_DEEP_MM, ROUND_MM};
use crate::mesh::nearest::Nearest;
use crate::split::Workpiece;
use crate::split::joint::{FaceHere, HiddenSide};
use std::cell::OnceCell;

/// The face is looked at so far apart (mm): a hole of 3 mm cannot lie between. On the outside of a tight bend
/// the places stand a little farther apart.
const LOOK_MM: f64 = 1.25;
/// Places tried for a label stand so far apart, along and up (mm).
const STEP_MM: f64 = 2.0;
/// Nothing may stand on the face within this (mm) over a label.
const OVER_MM: f64 = 4.0;
/// How far the surface may lie off the face (mm).
const FLUSH_MM: f64 = 0.05;
/// How far a ray looks for the other side of the wall (mm); what is thicker is thick enough.
const MOST_WALL_MM: f64 = 60.0;
/// No length along a face takes up less than this share of itself along the spine.
const LEAST_SHRINK: f64 = 0.2;

/// Where a label can be cut.
pub(super) struct Place {
    /// Arc length of its middle (mm).
    pub(super) s: f64,
    /// Height of its lower edge over the face's lower end (mm).
    pub(super) low: f64,
    /// How deep its strokes may be (mm).
    pub(super) deep: f64,
}

/// The free stretch of one face of a segment.
pub(super) struct Room<'a> {
    work: &'a Workpiece<'a>,
    side: &'a HiddenSide<'a>,
    surface: &'a Nearest,
    /// Free of joints (arc length, mm).
    free: [f64; 2],
    /// Stretches where no label goes.
    shut: &'a [[f64; 2]],
    columns: Vec<OnceCell<Option<Column>>>,
}

/// The face at one arc length.
struct Column {
    face: FaceHere,
    /// How deep a label may be cut (mm) from the foot up; zero where there is no room for one.
    deep: Vec<OnceCell<f64>>,
}

impl<'a> Room<'a> {
    pub(super) fn new(
        work: &'a Workpiece<'a>,
        side: &'a HiddenSide<'a>,
        surface: &'a Nearest,
        free: [f64; 2],
        shut: &'a [[f64; 2]],
    ) -> Self {
        let count = ((free[1] - free[0]) / LOOK_MM).clamp(0.0, 1e5) as usize;
        Self {
            work,
            side,
            surface,
            free,
            shut,
            columns: (0..count).map(|_| OnceCell::new()).collect(),
        }
    }

    /// The place nearest to the middle where a label goes, clear of what stands there.
    pub(super) fn find(&self, layout: &Layout) -> Option<Place> {
        let [width, height] = layout.size();
        let [from, to] = self.free;
        outward_from(f64::midpoint(from, to), to - from).find_map(|s| {
            let half = (width / 2.0 + ROUND_MM) / shrink(self.work, self.side, s)?;
            let along = [s - half, s + half];
            let clear = |[a, b]: &[f64; 2]| along[1] < a.min(*b) || along[0] > a.max(*b);
            if along[0] < from || along[1] > to || !self.shut.iter().all(clear) {
                return None;
            }
            let high = self.least_height(along)?;
            let spare = high - height - 2.0 * ROUND_MM;
            if spare < 0.0 {
                return None;
            }
            let middle = (self.side.face_at(self.work, s)?.height.min(high) - height) / 2.0;
            outward_from(middle, 2.0 * spare)
                .filter(|low| *low >= ROUND_MM && low + height + ROUND_MM <= high)
                .find_map(|low| {
                    let deep = self.deep(along, [low - ROUND_MM, low + height + ROUND_MM])?;
                    Some(Place { s, low, deep })
                })
        })
    }

    /// Columns whose middles lie in a stretch.
    fn columns_in(&self, [from, to]: [f64; 2]) -> std::ops::Range<usize> {
        let first = ((from - self.free[0]) / LOOK_MM - 0.5).ceil().max(0.0) as usize;
        let past = ((to - self.free[0]) / LOOK_MM + 0.5).floor().max(0.0) as usize;
        first.min(self.columns.len())..past.min(self.columns.len())
    }

    fn column(&self, i: usize) -> Option<&Column> {
        let made = self.columns.get(i)?.get_or_init(|| {
            let s = self.free[0] + LOOK_MM * (i as f64 + 0.5);
            let face = self.side.face_at(self.work, s)?;
            let cells = (face.height / LOOK_MM).clamp(0.0, 1e4) as usize;
            let deep = (0..cells).map(|_| OnceCell::new()).collect();
            Some(Column { face, deep })
        });
        made.as_ref()
    }

    /// How high the face is where it is lowest in a stretch (mm).
    fn least_height(&self, along: [f64; 2]) -> Option<f64> {
        let mut least = f64::INFINITY;
        for i in self.columns_in(along) {
            least = least.min(self.column(i)?.face.height);
        }
        least.is_finite().then_some(least)
    }

    /// How deep a label may be in a stretch, between two heights over the face's lower end (mm).
    fn deep(&self, along: [f64; 2], [low, high]: [f64; 2]) -> Option<f64> {
        let first = (low / LOOK_MM - 0.5).ceil().max(0.0) as usize;
        let past = (high / LOOK_MM + 0.5).floor().max(0.0) as usize;
        let mut deep = DEEP_MM;
        for i in self.columns_in(along) {
            let column = self.column(i)?;
            for k in first..past.min(column.deep.len()) {
                let cell = column.deep.get(k)?;
                deep = deep.min(*cell.get_or_init(|| {
                    let here = self.deep_at(&column.face, LOOK_MM * (k as f64 + 0.5));
                    here.unwrap_or(0.0)
                }));
                if deep < LEAST_DEEP_MM {
                    return None;
                }
            }
        }
        Some(deep)
    }

    /// A third of the wall at one place of the face; `None` where the surface does not lie in the face, for a
    /// hole or for what stands on it.
    fn deep_at(&self, face: &FaceHere, up: f64) -> Option<f64> {
        let ray = |off: f64, reach: f64| self.surface.ray(face.at(up, off), -face.away, reach);
        let proud = OVER_MM - ray(OVER_MM, OVER_MM + 2.0 * FLUSH_MM)?;
        if proud.abs() > FLUSH_MM {
            return None;
        }
        let inside = proud - 2.0 * FLUSH_MM;
        let through = ray(inside, MOST_WALL_MM).unwrap_or(MOST_WALL_MM);
        Some((through + 2.0 * FLUSH_MM) / 3.0 - proud.max(0.0))
    }
}

/// Places from a middle outward, to one side and the other in turn, over a span.
fn outward_from(middle: f64, span: f64) -> impl Iterator<Item = f64> {
    let steps = (span / STEP_MM).clamp(0.0, 1e4) as i32;
    (0..=steps).map(move |i| {
        let off = if i % 2 == 0 { i / 2 } else { -(i / 2) - 1 };
        middle + STEP_MM * f64::from(off)
    })
}

/// How much of an arc length a length along a face takes up.
pub(super) fn shrink(work: &Workpiece, side: &HiddenSide, s: f64) -> Option<f64> {
    let face = side.face_at(work, s)?;
    let frame = work.spine.frame_at(s);
    let x = frame.to_section(face.at(face.height / 2.0, 0.0)).x;
    Some((1.0 + work.spine.curvature_at(s) * x).max(LEAST_SHRINK))
}
