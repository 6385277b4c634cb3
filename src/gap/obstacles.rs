//! What stands on the tray where a flange would lie.

use super::strip::Strip;
use super::tray::OBSTACLE_HEIGHT;
use super::{Obstacle, TrayStrip};
use crate::math::robust::quantile;

/// Size of a cell in which faces are judged together (mm).
const CELL: f64 = 5.0;
/// Strip looked at, inboard and outboard of the spine (mm).
const ACROSS: [f64; 2] = [-60.0, 30.0];
/// Cells of a fastener head: smaller heaps are noise.
const LEAST_CELLS: usize = 3;
/// Nothing higher than this is looked at: it is the body (mm).
const HIGHEST: f64 = 40.0;

/// Finds heaps of faces that stand off the tray's fitted surface by more than
/// [`OBSTACLE_HEIGHT`] over more than noise: at least three cells of 5 mm that touch.
#[must_use]
pub fn find_obstacles(strip: &Strip, tray: &TrayStrip, length: f64, spacing: f64) -> Vec<Obstacle> {
    let columns = (length / CELL).ceil().max(1.0) as usize;
    let rows = ((ACROSS[1] - ACROSS[0]) / CELL) as usize;
    let mut heights: Vec<Vec<f64>> = vec![Vec::new(); columns * rows];
    let mut areas = vec![0.0; columns * rows];
    for f in strip.between(0.0, length) {
        let (c, r) = ((f.s / CELL) as usize, ((f.x - ACROSS[0]) / CELL).floor());
        if r < 0.0 || r as usize >= rows || c >= columns {
            continue;
        }
        let h = f.z - tray.height(f.s, f.x);
        let k = r as usize * columns + c;
        if h.abs() < HIGHEST && f.nz > -0.2 {
            heights[k].push(h);
            areas[k] += f.area;
        }
    }
    // A fused surface is smooth over a few edge lengths, so a cell's upper quartile is already quiet.
    let least_area = (spacing * spacing).min(0.4 * CELL * CELL);
    let tall: Vec<Option<f64>> = heights
        .iter_mut()
        .zip(&areas)
        .map(|(h, &area)| {
            let level = quantile(h, 0.6)?;
            let top = quantile(h, 0.95)?;
            (level > OBSTACLE_HEIGHT && area > least_area).then_some(top)
        })
        .collect();
    heaps(&tall, columns, rows)
}

/// Cells that touch, as boxes.
fn heaps(tall: &[Option<f64>], columns: usize, rows: usize) -> Vec<Obstacle> {
    let mut seen = vec![false; tall.len()];
    let mut found = Vec::new();
    for c0 in 0..columns {
        for r0 in 0..rows {
            let k0 = r0 * columns + c0;
            if seen[k0] || tall[k0].is_none() {
                continue;
            }
            seen[k0] = true;
            let mut stack = vec![(c0, r0)];
            let (mut c_range, mut r_range, mut height, mut cells) = ([c0, c0], [r0, r0], 0f64, 0);
            while let Some((c, r)) = stack.pop() {
                cells += 1;
                c_range = [c_range[0].min(c), c_range[1].max(c)];
                r_range = [r_range[0].min(r), r_range[1].max(r)];
                height = height.max(tall[r * columns + c].unwrap_or(0.0));
                for nc in c.saturating_sub(1)..=(c + 1).min(columns - 1) {
                    for nr in r.saturating_sub(1)..=(r + 1).min(rows - 1) {
                        let k = nr * columns + nc;
                        if !seen[k] && tall[k].is_some() {
                            seen[k] = true;
                            stack.push((nc, nr));
                        }
                    }
                }
            }
            if cells >= LEAST_CELLS {
                found.push(Obstacle {
                    along: [c_range[0] as f64 * CELL, (c_range[1] + 1) as f64 * CELL],
                    across: [
                        ACROSS[0] + r_range[0] as f64 * CELL,
                        ACROSS[0] + (r_range[1] + 1) as f64 * CELL,
                    ],
                    height,
                });
            }
        }
    }
    found
}
