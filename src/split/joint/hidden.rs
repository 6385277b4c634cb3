//! The hidden face of a workpiece anywhere along its spine: where a joint's tab lies and its keys go in.

use super::super::{HiddenFace, JointWish, PrinterOptions, Workpiece};
use super::bulkhead::web_reach;
use crate::math::{Point2, Point3, Vector3};

/// The hidden face must be at least this high for a tab (mm).
pub(super) const LEAST_FACE_MM: f64 = 6.0;
/// A tab stays this far from the ends of the hidden face (mm), or the fit if that is more.
const INSET_MM: f64 = 1.0;

/// The hidden face anywhere along the spine.
pub(in crate::split) struct HiddenSide<'a> {
    pub(super) rows: &'a [HiddenFace],
    /// Ends of the face in the shop frame.
    ends: Vec<[Point3; 2]>,
}

/// The hidden face in one station plane (shop frame).
#[derive(Debug, Clone, Copy)]
pub(in crate::split) struct FaceHere {
    /// Lower end of the straight face.
    pub(in crate::split) foot: Point3,
    /// Unit, up along the face.
    pub(in crate::split) up: Vector3,
    /// Unit, away from the material.
    pub(in crate::split) away: Vector3,
    /// Length of the straight face (mm).
    pub(in crate::split) height: f64,
}

impl FaceHere {
    /// The point so far up the face and so far off it (mm).
    pub(in crate::split) fn at(&self, up: f64, off: f64) -> Point3 {
        self.foot + self.up * up + self.away * off
    }
}

impl<'a> HiddenSide<'a> {
    pub(in crate::split) fn new(work: &'a Workpiece) -> Self {
        Self::of(work, &work.hidden)
    }

    /// A face of the workpiece.
    pub(in crate::split) fn of(work: &Workpiece, rows: &'a [HiddenFace]) -> Self {
        let ends = rows
            .iter()
            .map(|row| {
                let frame = work.spine.frame_at(row.s);
                row.face.map(|p| frame.to_shop(p))
            })
            .collect();
        Self { rows, ends }
    }

    /// Row before an arc length, and how far on the way to the next it is.
    fn between(&self, s: f64) -> Option<(usize, f64)> {
        let k = self.rows.partition_point(|r| r.s <= s);
        let last = self.rows.len().checked_sub(1)?;
        // At the very last row the place is at the end of the interval before it.
        let k = if k == last + 1 && s <= self.rows[last].s {
            last
        } else {
            k
        };
        if k == 0 || k > last {
            return None;
        }
        let (a, b) = (self.rows[k - 1].s, self.rows[k].s);
        Some((k - 1, (s - a) / (b - a).max(1e-12)))
    }

    fn section_at(&self, s: f64) -> Option<[Point2; 2]> {
        let (k, share) = self.between(s)?;
        let (a, b) = (&self.rows[k].face, &self.rows[k + 1].face);
        Some([0, 1].map(|i| a[i] + (b[i] - a[i]) * share))
    }

    /// Interpolated in space, because the workpiece's surface runs straight from row to row.
    pub(in crate::split) fn face_at(&self, work: &Workpiece, s: f64) -> Option<FaceHere> {
        let (k, share) = self.between(s)?;
        let [foot, top] = [0, 1].map(|i| {
            let (a, b) = (self.ends[k][i], self.ends[k + 1][i]);
            a + (b - a) * share
        });
        let outward = work.spine.outward_at(s);
        let up = top - foot;
        // Only the part in the station plane: the ends of the face need not run level.
        let (x, z) = (up.dot(&outward), up.z);
        let height = x.hypot(z);
        if !(height > 0.0 && height.is_finite()) {
            return None;
        }
        let (x, z) = (x / height, z / height);
        Some(FaceHere {
            foot,
            up: outward * x + Vector3::z() * z,
            away: outward * -z + Vector3::z() * x,
            height,
        })
    }

    /// Innermost and outermost offset of a tab in a station plane (mm), `None` where there is no room.
    pub(in crate::split) fn tab_across(
        &self,
        s: f64,
        printer: &PrinterOptions,
    ) -> Option<[f64; 2]> {
        let [a, b] = self.section_at(s)?;
        let up = b - a;
        let height = up.norm();
        if height.is_nan() || height < LEAST_FACE_MM.max(2.0 * inset(printer) + 2.0) {
            return None;
        }
        let off = match printer.joint {
            JointWish::Bulkhead => web_reach(printer, height),
            JointWish::Tab | JointWish::Auto => 0.0,
        }
        .max(printer.fit_mm + printer.tab_wall_mm);
        let away = -up.y / height * off;
        let xs = [a.x, b.x, a.x + away, b.x + away];
        Some([
            xs.iter().copied().fold(f64::INFINITY, f64::min),
            xs.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ])
    }
}

/// How far a tab stays from the ends of the hidden face (mm).
pub(super) fn inset(printer: &PrinterOptions) -> f64 {
    INSET_MM.max(printer.fit_mm)
}
