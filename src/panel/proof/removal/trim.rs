//! How much of the panel's top would have to go for a way to be clear.

use crate::math::Point3;
use crate::math::locator::Locator;
use crate::mesh::TriMesh;
use crate::panel::{Panel, Section};
use std::cmp::Ordering;

/// The panel's top along the spine.
pub(super) struct Tops {
    locator: Locator,
    /// Arc length, height of the top and of the foot (mm).
    rows: Vec<(f64, f64, f64)>,
}

/// How finely the height to take off is found (mm).
const FINE_MM: f64 = 0.1;
/// Share of the panel's height that can be taken off at most: past that nothing closes the gap.
const MOST_SHARE: f64 = 0.75;

impl Tops {
    pub(super) fn new(panel: &Panel, locator: Locator) -> Self {
        let rows = panel.sections.iter().map(|section: &Section| {
            let heights = section.outline.iter().map(|p| p.y);
            (
                section.s,
                heights.clone().fold(f64::NEG_INFINITY, f64::max),
                heights.fold(f64::INFINITY, f64::min),
            )
        });
        Self {
            locator,
            rows: rows.collect(),
        }
    }

    /// Height of the panel's top less that of a point of the panel (mm).
    fn depth(&self, p: Point3) -> f64 {
        let s = self.locator.locate(p.xy()).map_or(0.0, |found| found.0);
        self.top(s) - p.z
    }

    fn top(&self, s: f64) -> f64 {
        let k = self.rows.partition_point(|row| row.0 <= s);
        let last = self.rows.len().saturating_sub(1);
        let row = |k: usize| self.rows.get(k.min(last)).copied().unwrap_or_default();
        let (a, b) = (row(k.saturating_sub(1)), row(k));
        let share = match b.0.partial_cmp(&a.0) {
            Some(Ordering::Greater) => ((s - a.0) / (b.0 - a.0)).clamp(0.0, 1.0),
            _ => 0.0,
        };
        a.1 + (b.1 - a.1) * share
    }

    /// Most that can be taken off (mm).
    fn most(&self) -> f64 {
        let least = self
            .rows
            .iter()
            .map(|(_, top, foot)| top - foot)
            .fold(f64::INFINITY, f64::min);
        MOST_SHARE * least
    }

    /// Height to take off the top so that none of `touching` (triangles of the panel as it stands) still
    /// touches; `fouls` says whether some of a mesh does. `None` where no height within reach helps.
    pub(super) fn needed(
        &self,
        touching: &[[Point3; 3]],
        fouls: impl Fn(&TriMesh) -> bool,
    ) -> Option<f64> {
        let deep: Vec<([Point3; 3], [f64; 3])> = touching
            .iter()
            .map(|corners| (*corners, corners.map(|p| self.depth(p))))
            .collect();
        let left = |off: f64| {
            let mut mesh = TriMesh::default();
            for (corners, depths) in &deep {
                add_below(&mut mesh, corners, depths, off);
            }
            mesh
        };
        let (mut short, mut clear) = (0.0, self.most());
        if !clear.is_finite() || clear <= 0.0 || fouls(&left(clear)) {
            return None;
        }
        while clear - short > FINE_MM {
            let half = 0.5 * (short + clear);
            if fouls(&left(half)) {
                short = half;
            } else {
                clear = half;
            }
        }
        Some(clear)
    }
}

/// Adds what of a triangle lies deeper than `off`.
fn add_below(mesh: &mut TriMesh, corners: &[Point3; 3], depths: &[f64; 3], off: f64) {
    let mut kept: Vec<Point3> = Vec::with_capacity(4);
    for k in 0..3 {
        let (j, l) = (k, (k + 1) % 3);
        let (a, b) = (depths[j] - off, depths[l] - off);
        if a >= 0.0 {
            kept.push(corners[j]);
        }
        if (a >= 0.0) != (b >= 0.0) {
            kept.push(corners[j] + (corners[l] - corners[j]) * (a / (a - b)));
        }
    }
    let first = mesh.points.len() as u32;
    for k in 2..kept.len() as u32 {
        mesh.triangles.push([first, first + k - 1, first + k]);
    }
    mesh.points.extend(kept);
}
