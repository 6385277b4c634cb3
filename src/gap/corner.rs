//! How the skin turns into the underside: the radius of the corner.

use super::skin::{HALF_SLICE, SkinSlice};
use super::strip::Strip;
use super::underside::Underside;
use rayon::prelude::*;

/// Radii tried (mm): first, step, count.
const RADII: (f64, f64, usize) = (0.5, 0.5, 34);
/// Slopes of the underside tried (up per distance inboard).
const SLOPES: (f64, f64, usize) = (-0.6, 0.05, 17);
/// Heights of the underside tried, relative to the height found for the slice (mm).
const HEIGHTS: (f64, f64, usize) = (-2.5, 0.25, 37);
/// A face further than this from the model does not count more (mm).
const FAR: f64 = 2.0;
/// Fusion rounds a sharp edge to a radius of up to about this many edge lengths of the scan (noise and
/// drift add to the grid's own blur). Measured on simulated scans of cut edges at voxels of 2.5 to 5 mm.
const FUSION_ROUNDING: f64 = 1.9;
/// Cells the faces of all slices are gathered in (mm).
const CELL: f64 = 0.5;
/// Part of the cross-section looked at: inboard of the skin's line, above the underside (mm).
const INBOARD: [f64; 2] = [-3.0, 12.0];
const ABOVE: [f64; 2] = [-4.0, 18.0];

/// Faces of the cross-section, gathered in cells: inboard, up, area.
type Cell = (f64, f64, f64);

/// Fits the arc and the underside that best join up with the skin's line, over all slices together, and
/// gives the arc's radius with the fusion's rounding taken off (mm); zero if nothing is left.
///
/// The three numbers are found together because they trade against each other: a cut seen from above has
/// a sloping underside and a small arc, a roll a level one and a large arc, and in the steep part both
/// look alike.
#[must_use]
pub fn fit_radius(
    strip: &Strip,
    slices: &[SkinSlice],
    underside: &Underside,
    spacing: f64,
) -> Option<f64> {
    let cells = gather(strip, slices, underside);
    if cells.len() < 20 {
        return None;
    }
    let value = |(first, step, _): (f64, f64, usize), i: usize| first + step * i as f64;
    let tries = RADII.2 * SLOPES.2;
    let best = (0..tries)
        .into_par_iter()
        .map(|k| {
            let (radius, slope) = (value(RADII, k / SLOPES.2), value(SLOPES, k % SLOPES.2));
            let cost = (0..HEIGHTS.2)
                .map(|i| misfit(&cells, radius, slope, value(HEIGHTS, i)))
                .fold(f64::INFINITY, f64::min);
            (cost, k, radius)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))?;
    let scanned = best.2;
    let rounding = FUSION_ROUNDING * spacing;
    Some((scanned * scanned - rounding * rounding).max(0.0).sqrt())
}

fn gather(strip: &Strip, slices: &[SkinSlice], underside: &Underside) -> Vec<Cell> {
    let columns = ((INBOARD[1] - INBOARD[0]) / CELL) as usize;
    let rows = ((ABOVE[1] - ABOVE[0]) / CELL) as usize;
    let mut cells: Vec<Cell> = vec![(0.0, 0.0, 0.0); columns * rows];
    for (slice, height) in slices.iter().zip(&underside.heights) {
        let Some((height, _)) = height else { continue };
        let cosine = 1.0 / slice.slope.hypot(1.0);
        for f in strip.between(slice.s - HALF_SLICE, slice.s + HALF_SLICE) {
            let (u, v) = ((slice.x_at(f.z) - f.x) * cosine, f.z - height);
            // The ragged back of the skin faces inboard.
            let inside = (INBOARD[0]..INBOARD[1]).contains(&u) && (ABOVE[0]..ABOVE[1]).contains(&v);
            if f.nx < -0.4 || !inside {
                continue;
            }
            let (c, r) = (
                ((u - INBOARD[0]) / CELL) as usize,
                ((v - ABOVE[0]) / CELL) as usize,
            );
            let cell = &mut cells[r.min(rows - 1) * columns + c.min(columns - 1)];
            cell.0 += f.area * u;
            cell.1 += f.area * v;
            cell.2 += f.area;
        }
    }
    let all: f64 = cells.iter().map(|c| c.2).sum();
    cells
        .into_iter()
        .filter(|c| c.2 > 1e-5 * all)
        .map(|(u, v, area)| (u / area, v / area, area))
        .collect()
}

/// Sum of the distances from the model, each held to [`FAR`], weighted by area.
fn misfit(cells: &[Cell], radius: f64, slope: f64, base: f64) -> f64 {
    let norm = slope.hypot(1.0);
    // The arc's centre is one radius from both lines.
    let centre = (radius, base + slope * radius + radius * norm);
    cells
        .iter()
        .map(|&(u, v, area)| {
            let (du, dv) = (u - centre.0, v - centre.1);
            let d = if dv > 0.0 {
                u
            } else if du + slope * dv > 0.0 {
                (v - base - slope * u) / norm
            } else {
                radius - du.hypot(dv)
            };
            area * d.abs().min(FAR)
        })
        .sum()
}
