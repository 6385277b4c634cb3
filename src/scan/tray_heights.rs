//! The tray's own surface as heights over its plane, place by place in plan.

use crate::math::plane_fit::Patch;
use crate::math::robust::quantile;
use crate::math::{Point2, Vector2};

/// Side of a cell (mm).
const CELL: f64 = 25.0;
/// A tray departs from its plane by less than this (mm).
const MOST: f64 = 16.0;
/// Of the patches in a cell the tray's are the low ones: what lies on it comes above.
const LOW: f64 = 0.4;
/// Rounds of filling empty cells from their neighbours: 250 mm.
const REACH: usize = 10;

/// Heights on a raster; 0, the plane, where nothing of the tray is near.
pub(super) struct TrayHeights {
    origin: Point2,
    columns: usize,
    rows: usize,
    cells: Vec<f64>,
}

impl TrayHeights {
    /// From patches in the shop frame that face up.
    pub fn new(patches: &[Patch]) -> Self {
        let near: Vec<&Patch> = patches.iter().filter(|p| p.at.z.abs() < MOST).collect();
        let start = near.first().map_or(Point2::origin(), |p| p.at.xy());
        let (lo, hi) = near.iter().fold((start, start), |(l, h), p| {
            (l.inf(&p.at.xy()), h.sup(&p.at.xy()))
        });
        let [columns, rows] = [hi.x - lo.x, hi.y - lo.y].map(|d| (d / CELL) as usize + 1);
        // A scan is cut to within 100 m, so the raster stays small.
        let mut held: Vec<Vec<f64>> = vec![Vec::new(); columns.saturating_mul(rows)];
        for p in &near {
            let d = (p.at.xy() - lo) / CELL;
            let k = (d.y as usize).min(rows - 1) * columns + (d.x as usize).min(columns - 1);
            held[k].push(p.at.z);
        }
        let mut cells: Vec<Option<f64>> = held.iter_mut().map(|h| quantile(h, LOW)).collect();
        for _ in 0..REACH {
            cells = grown(&cells, columns, rows);
        }
        Self {
            origin: lo,
            columns,
            rows,
            cells: cells.into_iter().map(|c| c.unwrap_or(0.0)).collect(),
        }
    }

    /// Height of the tray's surface over its plane, between the cells' middles.
    pub fn at(&self, p: Point2) -> f64 {
        let d = (p - self.origin) / CELL - Vector2::repeat(0.5);
        let place = |v: f64, count: usize| {
            let v = v.clamp(0.0, (count - 1) as f64);
            let i = (v as usize).min(count.saturating_sub(2));
            (i, (i + 1).min(count - 1), v - i as f64)
        };
        let (c0, c1, u) = place(d.x, self.columns);
        let (r0, r1, v) = place(d.y, self.rows);
        let cell = |r: usize, c: usize| self.cells[r * self.columns + c];
        (1.0 - v) * ((1.0 - u) * cell(r0, c0) + u * cell(r0, c1))
            + v * ((1.0 - u) * cell(r1, c0) + u * cell(r1, c1))
    }
}

/// The raster with each empty cell that has a filled neighbour filled with the neighbours' mean.
fn grown(cells: &[Option<f64>], columns: usize, rows: usize) -> Vec<Option<f64>> {
    let mut out = cells.to_vec();
    for r in 0..rows {
        for c in 0..columns {
            if cells[r * columns + c].is_some() {
                continue;
            }
            let (mut sum, mut count) = (0.0, 0.0);
            for y in r.saturating_sub(1)..=(r + 1).min(rows - 1) {
                for x in c.saturating_sub(1)..=(c + 1).min(columns - 1) {
                    if let Some(h) = cells[y * columns + x] {
                        sum += h;
                        count += 1.0;
                    }
                }
            }
            if count > 0.0 {
                out[r * columns + c] = Some(sum / count);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::{Point3, Vector3};

    #[test]
    fn a_crowned_tray_is_followed_under_what_stands_on_it() {
        let crown = |x: f64, y: f64| 8.0 - 4e-5 * (x * x + y * y);
        let mut patches = Vec::new();
        for i in -40..=40 {
            for j in -40..=40 {
                let (x, y) = (10.0 * f64::from(i), 10.0 * f64::from(j));
                // A hole of 100 mm, and a plate 5 mm thick on it.
                if x.abs() < 50.0 && y.abs() < 50.0 {
                    continue;
                }
                let on = if (100.0..110.0).contains(&x) {
                    5.0
                } else {
                    0.0
                };
                patches.push(Patch {
                    at: Point3::new(x, y, crown(x, y) + on),
                    normal: Vector3::z(),
                    area: 100.0,
                });
            }
        }
        let tray = TrayHeights::new(&patches);
        for (x, y) in [(0.0, 0.0), (105.0, 20.0), (-300.0, 250.0), (201.0, -99.0)] {
            let off = (tray.at(Point2::new(x, y)) - crown(x, y)).abs();
            assert!(off < 1.0, "{off} at {x}, {y}");
        }
        let nothing = TrayHeights::new(&[]);
        assert_eq!(nothing.at(Point2::new(50.0, -1e6)), 0.0);
    }
}
