//! The tray's surface along the spine: smooth, without what stands on it.

use super::strip::{Face, Reach, Strip};
use super::{Obstacle, TrayStrip};
use crate::math::Spine;
use crate::math::robust::{biweight, sigma_about_zero};
use crate::mesh::TriMesh;
use rayon::prelude::*;

/// Distance between the rows of the fit (mm).
const ROW_STEP: f64 = 10.0;
/// Distance along the spine at which a face's weight falls to a third (mm): long enough to pass over a
/// bracket, short enough for a tray that twists by 10 mm in half a metre.
pub const BANDWIDTH: f64 = 45.0;
/// Faces a row is fitted to, at most: more say nothing new.
const ENOUGH: usize = 6000;
/// Faces further than this from the plane are not tray (mm).
const BAND: f64 = 25.0;
/// A face is tray only if it faces up by this much.
const FACING_UP: f64 = 0.8;
/// What stands higher than this is an obstacle (mm).
pub const OBSTACLE_HEIGHT: f64 = 1.5;

/// The tray's fitted surface and how well it is known.
#[derive(Debug, Clone)]
pub struct TrayFit {
    /// The surface.
    pub strip: TrayStrip,
    /// Robust scatter of the faces about it in each row (mm).
    pub scatter: Vec<f64>,
    /// Area seen in each row within 20 mm of the spine, as a share of all of it.
    pub seen: Vec<f64>,
    /// What stands on it.
    pub obstacles: Vec<Obstacle>,
}

/// Fits the tray's surface along the spine. `None` where too little of it is seen.
#[must_use]
pub fn fit_tray(mesh: &TriMesh, spine: &Spine, spacing: f64) -> Option<TrayFit> {
    let reach = Reach {
        across: TrayStrip::ACROSS,
        height: [-BAND, 2.0 * BAND],
        beyond: 60.0,
    };
    let strip = Strip::unroll(mesh, spine, &reach);
    let rows = (spine.length() / ROW_STEP).ceil() as usize;
    let along: Vec<f64> = (0..=rows)
        .map(|i| spine.length() * i as f64 / rows as f64)
        .collect();
    let fitted: Vec<Option<Row>> = along.par_iter().map(|&s| fit_row(&strip, s)).collect();
    let known: Vec<(usize, Row)> = fitted
        .iter()
        .enumerate()
        .filter_map(|(i, r)| r.map(|r| (i, r)))
        .collect();
    if known.is_empty() {
        return None;
    }
    let filled: Vec<Row> = (0..along.len()).map(|i| carry(&known, i)).collect();
    let surface = TrayStrip {
        rows: filled.iter().map(|r| r.surface).collect(),
        along,
    };
    let obstacles = super::obstacles::find_obstacles(&strip, &surface, spine.length(), spacing);
    Some(TrayFit {
        scatter: filled.iter().map(|r| r.scatter).collect(),
        seen: fitted.iter().map(|r| r.map_or(0.0, |r| r.seen)).collect(),
        strip: surface,
        obstacles,
    })
}

#[derive(Debug, Clone, Copy)]
struct Row {
    surface: [f64; 3],
    scatter: f64,
    seen: f64,
}

/// A row that was fitted, or one between its neighbours, or the nearest.
fn carry(known: &[(usize, Row)], i: usize) -> Row {
    let k = known.partition_point(|r| r.0 < i);
    let (after, before) = (known.get(k), k.checked_sub(1).and_then(|k| known.get(k)));
    match (before, after) {
        (_, Some(&(j, row))) if j == i => row,
        (Some(&(a, p)), Some(&(b, q))) => {
            let t = (i - a) as f64 / (b - a) as f64;
            Row {
                surface: std::array::from_fn(|c| p.surface[c] * (1.0 - t) + q.surface[c] * t),
                scatter: p.scatter.max(q.scatter),
                seen: 0.0,
            }
        }
        (Some(&(_, row)), None) | (None, Some(&(_, row))) => Row { seen: 0.0, ..row },
        (None, None) => Row {
            surface: [0.0; 3],
            scatter: BAND,
            seen: 0.0,
        },
    }
}

/// A robust surface `z = c0 + c1 x + c2 x^2 + c3 d + c4 d x` about one row, d along the spine.
fn fit_row(strip: &Strip, s: f64) -> Option<Row> {
    let window = strip.between(s - 2.0 * BANDWIDTH, s + 2.0 * BANDWIDTH);
    let seen_area: f64 = window
        .iter()
        .filter(|f| f.nz > FACING_UP && (f.s - s).abs() < ROW_STEP && f.x.abs() < 20.0)
        .map(|f| f.area)
        .sum();
    let stride = (window.len() / ENOUGH).max(1);
    let near: Vec<&Face> = window
        .iter()
        .step_by(stride)
        .filter(|f| f.nz > FACING_UP)
        .collect();
    let seen = (seen_area / (2.0 * ROW_STEP * 40.0)).min(1.0);
    // Start from the mode, not the mean: on a tray crowded with brackets the mean is none of it.
    let mut c = nalgebra::SVector::<f64, 5>::zeros();
    c[0] = densest_height(&near)?;
    let mut scatter = 4.0;
    for _ in 0..8 {
        let mut m = nalgebra::SMatrix::<f64, 5, 5>::zeros();
        let mut r = nalgebra::SVector::<f64, 5>::zeros();
        for f in &near {
            let d = (f.s - s) / BANDWIDTH;
            let x = f.x / 50.0;
            let row = nalgebra::SVector::<f64, 5>::new(1.0, x, x * x, d, d * x);
            let off = f.z - row.dot(&c);
            let w = f.area * (-d * d).exp() * biweight(off / scatter);
            if w > 0.0 {
                m += w * row * row.transpose();
                r += w * f.z * row;
            }
        }
        let weight = m[(0, 0)];
        if weight * (stride as f64) < 200.0 {
            return None;
        }
        // A breath of stiffness keeps bends that are not seen flat.
        for (k, stiff) in [0.0, 1e-4, 1e-2, 1e-4, 1e-2].into_iter().enumerate() {
            m[(k, k)] += stiff * weight;
        }
        c = m.cholesky()?.solve(&r);
        let mut offs: Vec<f64> = near
            .iter()
            .filter(|f| (f.s - s).abs() < BANDWIDTH)
            .map(|f| {
                let (d, x) = ((f.s - s) / BANDWIDTH, f.x / 50.0);
                f.z - (c[0] + c[1] * x + c[2] * x * x + c[3] * d + c[4] * d * x)
            })
            .filter(|off| off.abs() < 3.0 * scatter.max(1.0))
            .collect();
        scatter = sigma_about_zero(&mut offs)?.max(0.1);
    }
    Some(Row {
        surface: [c[0], c[1] / 50.0, c[2] / 2500.0],
        scatter,
        seen,
    })
}

/// Middle of the 4 mm band of heights that holds the most area.
fn densest_height(faces: &[&Face]) -> Option<f64> {
    let mut bins = [0.0; 80];
    for f in faces {
        let k = (f.z + BAND) as isize;
        if (0..80).contains(&k) {
            bins[k as usize] += f.area;
        }
    }
    let (k, area) = bins
        .windows(4)
        .map(|w| w.iter().sum::<f64>())
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))?;
    (area > 0.0).then_some(k as f64 + 2.0 - BAND)
}
