//! The underside near the edge: its common shape across, and its height slice by slice.
//!
//! A fused scan rounds the edge, and carries on under and behind it with a surface that is not there.
//! Slice by slice that is too noisy to read. But its shape across is nearly the same all along, so shape
//! and heights are found together: the shape as the median over many slices once their heights are taken
//! off, each height as the median over its faces once the shape is taken off.

use super::skin::{HALF_SLICE, SkinSlice};
use super::strip::{Face, Strip};
use crate::math::robust::weighted_median;

/// Width of a bin of the shape (mm).
const BIN: f64 = 1.0;
/// How far inboard of the skin's line the shape reaches (mm).
const DEPTH: usize = 24;
/// Faces count as underside if they face down by this much.
const FACING_DOWN: f64 = -0.35;
/// How far above and below the skin's lower end the underside is looked for (mm).
const ABOVE: f64 = 5.0;
const BELOW: f64 = 9.0;

/// Height of the underside over distance inboard of the skin's line, up to a constant.
#[derive(Debug, Clone)]
pub struct Shape {
    heights: [f64; DEPTH],
    /// Share of slices that see the underside at each distance.
    pub seen: [f64; DEPTH],
}

/// A face of the underside, relative to its slice.
#[derive(Debug, Clone, Copy)]
struct Below {
    slice: usize,
    inboard: f64,
    z: f64,
    area: f64,
}

/// The height of the underside's shape in each slice, `None` where it is not seen.
#[derive(Debug, Clone)]
pub struct Underside {
    /// Common shape across.
    pub shape: Shape,
    /// Height to add to the shape in each slice, and the area it rests on (mm, mm2).
    pub heights: Vec<Option<(f64, f64)>>,
}

/// Whether a face can belong to the underside of a slice; gives its distance inboard of the skin's line.
#[must_use]
pub fn inboard_of(slice: &SkinSlice, face: &Face) -> Option<f64> {
    let inboard = slice.x_at(face.z) - face.x;
    let near = face.z > slice.low - BELOW && face.z < slice.low + ABOVE;
    (near && face.nz < FACING_DOWN && (0.0..DEPTH as f64 * BIN).contains(&inboard))
        .then_some(inboard)
}

/// Finds shape and heights together. The shape is free by a constant: it is zero at its lowest seen bin.
#[must_use]
pub fn find_underside(strip: &Strip, slices: &[SkinSlice]) -> Underside {
    let mut faces: Vec<Below> = Vec::new();
    for (i, slice) in slices.iter().enumerate() {
        for f in strip.between(slice.s - HALF_SLICE, slice.s + HALF_SLICE) {
            if let Some(inboard) = inboard_of(slice, f) {
                faces.push(Below {
                    slice: i,
                    inboard,
                    z: f.z,
                    area: f.area,
                });
            }
        }
    }
    let mut heights: Vec<Option<(f64, f64)>> = slices.iter().map(|s| Some((s.low, 1.0))).collect();
    let mut shape = Shape {
        heights: [0.0; DEPTH],
        seen: [0.0; DEPTH],
    };
    for _ in 0..8 {
        shape = common_shape(&faces, &heights, slices.len());
        heights = slice_heights(&faces, &shape, slices.len());
    }
    Underside { shape, heights }
}

fn common_shape(faces: &[Below], heights: &[Option<(f64, f64)>], slices: usize) -> Shape {
    let mut bins: Vec<Vec<(f64, f64)>> = vec![Vec::new(); DEPTH];
    let mut seen = vec![vec![false; slices]; DEPTH];
    for f in faces {
        if let Some((height, _)) = heights[f.slice] {
            let k = (f.inboard / BIN) as usize;
            if let Some(bin) = bins.get_mut(k) {
                bin.push((f.z - height, f.area));
                seen[k][f.slice] = true;
            }
        }
    }
    let mut shape = Shape {
        heights: [f64::NAN; DEPTH],
        seen: [0.0; DEPTH],
    };
    for k in 0..DEPTH {
        shape.seen[k] = seen[k].iter().filter(|&&s| s).count() as f64 / slices.max(1) as f64;
        shape.heights[k] = weighted_median(&mut bins[k]).unwrap_or(f64::NAN);
    }
    let lowest = shape.lowest().map_or(0.0, |k| shape.heights[k]);
    for h in &mut shape.heights {
        *h -= lowest;
    }
    shape
}

/// Bins this near to the skin's line are in the rounding and too steep to give a height (mm).
const ROUNDED: f64 = 2.5;

fn slice_heights(faces: &[Below], shape: &Shape, slices: usize) -> Vec<Option<(f64, f64)>> {
    let mut per_slice: Vec<Vec<(f64, f64)>> = vec![Vec::new(); slices];
    for f in faces {
        if f.inboard > ROUNDED
            && let Some(h) = shape.at(f.inboard)
        {
            per_slice[f.slice].push((f.z - h, f.area));
        }
    }
    per_slice
        .iter_mut()
        .map(|values| {
            let area: f64 = values.iter().map(|v| v.1).sum();
            // Ten millimetres of slice and two of depth make a height.
            (area > 10.0)
                .then(|| weighted_median(values).map(|z| (z, area)))
                .flatten()
        })
        .collect()
}

impl Shape {
    /// A bin is trusted if this share of the slices sees it.
    const TRUSTED: f64 = 0.25;

    /// Height at a distance inboard (mm), linear between bins; `None` where too little is seen.
    #[must_use]
    pub fn at(&self, inboard: f64) -> Option<f64> {
        let u = (inboard / BIN - 0.5).max(0.0);
        let k = u as usize;
        let share = u - k as f64;
        let here = self.bin(k)?;
        Some(
            self.bin(k + 1)
                .map_or(here, |next| here * (1.0 - share) + next * share),
        )
    }

    /// Height at a distance inboard or, where that is not seen, at the nearest place within 3 mm that is.
    #[must_use]
    pub fn near(&self, inboard: f64) -> Option<f64> {
        (0..=6).find_map(|i| {
            let d = 0.5 * f64::from(i);
            self.at(inboard - d).or_else(|| self.at(inboard + d))
        })
    }

    fn bin(&self, k: usize) -> Option<f64> {
        let h = *self.heights.get(k)?;
        (h.is_finite() && self.seen[k] >= Self::TRUSTED).then_some(h)
    }

    /// The lowest bin that is trusted.
    fn lowest(&self) -> Option<usize> {
        (0..DEPTH)
            .filter(|&k| self.bin(k).is_some())
            .min_by(|&a, &b| self.heights[a].total_cmp(&self.heights[b]))
    }
}
