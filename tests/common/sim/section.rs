//! The body's section square to its lower edge: a thin skin, cut off or rolled inboard.
//!
//! Coordinates are (outboard, up) in mm from the section's lowest point.

use super::truth::EdgeKind;
use std::f64::consts::FRAC_PI_2;

/// Steps of the arc of a rolled lip; a chord strays less than 0.01 mm at 10 mm radius.
const ARC_STEPS: usize = 24;

/// Shape of the skin near its lower edge.
#[derive(Clone, Copy)]
pub struct Section {
    pub thickness: f64,
    /// How far the skin leans inboard as it rises (rad).
    pub lean: f64,
    pub edge: Edge,
}

/// How the skin ends.
#[derive(Clone, Copy)]
pub enum Edge {
    /// Cut square to the skin.
    Cut,
    /// Rolled inboard: outside radius, length of the straight return, its rise inboard (rad).
    Lip { radius: f64, length: f64, rise: f64 },
}

impl Section {
    /// The kind of edge.
    pub fn kind(&self) -> EdgeKind {
        match self.edge {
            Edge::Cut => EdgeKind::Cut,
            Edge::Lip { .. } => EdgeKind::Lip,
        }
    }

    /// The outermost point of the section.
    pub fn silhouette(&self) -> [f64; 2] {
        match self.edge {
            Edge::Cut => self.normal().map(|c| c * self.thickness),
            Edge::Lip { radius, .. } => [radius, radius],
        }
    }

    /// The closed outline up to `height` above the lowest point: outer skin from the top down,
    /// then the inner skin back up, point against point.
    pub fn outline(&self, height: f64) -> Vec<[f64; 2]> {
        let (outer, inner) = self.sides(height);
        outer.into_iter().chain(inner.into_iter().rev()).collect()
    }

    fn normal(&self) -> [f64; 2] {
        [self.lean.cos(), self.lean.sin()]
    }

    fn sides(&self, height: f64) -> (Vec<[f64; 2]>, Vec<[f64; 2]>) {
        let n = self.normal();
        let wall = |outer: [f64; 2]| {
            // Four equal lengths, so that triangles do not get needle thin.
            let top = (height - outer[1]) / n[0];
            (0..4).map(move |k| {
                let d = top * f64::from(4 - k) / 4.0;
                [outer[0] - d * n[1], outer[1] + d * n[0]]
            })
        };
        match self.edge {
            Edge::Cut => {
                let corner = self.silhouette();
                let outer = wall(corner).chain([corner]).collect();
                let inner = wall([0.0, 0.0]).chain([[0.0, 0.0]]).collect();
                (outer, inner)
            }
            Edge::Lip {
                radius,
                length,
                rise,
            } => {
                let turn = self.lean + FRAC_PI_2 + rise;
                // The lowest point of the circle is one of the points.
                let to_lowest = ((self.lean + FRAC_PI_2) / turn * ARC_STEPS as f64).round();
                let angle = |k: usize| {
                    let k = k as f64;
                    if k <= to_lowest {
                        self.lean - (self.lean + FRAC_PI_2) * k / to_lowest
                    } else {
                        -FRAC_PI_2 - rise * (k - to_lowest) / (ARC_STEPS as f64 - to_lowest)
                    }
                };
                let side = |r: f64| {
                    let at = |phi: f64| [r * phi.cos(), radius + r * phi.sin()];
                    let last = at(angle(ARC_STEPS));
                    let end = [last[0] - length * rise.cos(), last[1] + length * rise.sin()];
                    wall(at(self.lean))
                        .chain((0..=ARC_STEPS).map(|k| at(angle(k))))
                        .chain([end])
                        .collect()
                };
                (side(radius), side(radius - self.thickness))
            }
        }
    }
}
