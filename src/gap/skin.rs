//! The body's outer skin, slice by slice: a straight line up from its lower end.

use super::strip::{Face, Strip};
use crate::math::robust::{biweight, median, quantile, sigma_about_zero};

/// A slice of the skin about one arc length.
#[derive(Debug, Clone, Copy)]
pub struct SkinSlice {
    /// Arc length (mm).
    pub s: f64,
    /// Height of the lower end of what is seen of the skin (mm).
    pub low: f64,
    /// Offset of the skin's line at height `low` (mm).
    pub x: f64,
    /// Slope of the line, outward per height; negative where it leans inboard going up.
    pub slope: f64,
    /// Scatter of the faces about the line (mm).
    pub scatter: f64,
}

impl SkinSlice {
    /// Offset of the skin's line at a height (mm).
    #[must_use]
    pub fn x_at(&self, z: f64) -> f64 {
        self.x + self.slope * (z - self.low)
    }
}

/// Half the length of a slice (mm).
pub const HALF_SLICE: f64 = 5.0;
/// Height of a bin when the skin is followed down (mm).
const BIN: f64 = 4.0;
/// Height of skin above its lower end that the line is fitted to (mm).
const LINE_HEIGHT: f64 = 60.0;
/// Widest hole in the skin that is stepped over on the way down, in bins.
const HOLE_BINS: usize = 16;
/// A face belongs to the skin if it lies this near to where the skin is expected (mm).
const NEAR: f64 = 7.0;

/// What is known of the skin before a slice is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Expected {
    /// A height at which the skin is likely to be there (mm).
    pub z: f64,
    /// Its offset there (mm).
    pub x: f64,
}

/// Follows the skin down from where it is expected and fits a line above its lower end.
///
/// `spacing` is the scan's edge length: what is nearer to the lower end than two and a half of these is
/// rounded by the fusion and left out of the line. `None` where no skin is seen.
#[must_use]
pub fn find_skin(strip: &Strip, s: f64, expected: Expected, spacing: f64) -> Option<SkinSlice> {
    let faces: Vec<Face> = strip
        .between(s - HALF_SLICE, s + HALF_SLICE)
        .iter()
        .filter(|f| f.nx > 0.5)
        .copied()
        .collect();
    let bins = bin_up(&faces);
    let start = first_bin(&bins, expected)?;
    let lowest = follow_down(&bins, start);
    let mut low = lowest as f64 * BIN;
    let mut slice = SkinSlice {
        s,
        low,
        x: bins[lowest].x,
        slope: 0.0,
        scatter: BIN,
    };
    for _ in 0..3 {
        let (line, scatter) = fit_line(&faces, &slice, low + 2.5 * spacing)?;
        slice = SkinSlice {
            s,
            low,
            x: line.0 + line.1 * low,
            slope: line.1,
            scatter,
        };
        let mut heights: Vec<f64> = faces
            .iter()
            .filter(|f| {
                (f.x - slice.x_at(f.z)).abs() < NEAR
                    && f.z > low - 2.0 * BIN
                    && f.z < low + 3.0 * BIN
            })
            .map(|f| f.z)
            .collect();
        low = quantile(&mut heights, 0.02)?;
    }
    Some(SkinSlice {
        low,
        x: slice.x_at(low),
        ..slice
    })
}

struct Bin {
    area: f64,
    x: f64,
}

fn bin_up(faces: &[Face]) -> Vec<Bin> {
    let top = faces.iter().map(|f| f.z).fold(0.0, f64::max);
    let count = (top / BIN) as usize + 1;
    let mut inside: Vec<Vec<&Face>> = vec![Vec::new(); count];
    for f in faces {
        if f.z >= 0.0 {
            inside[((f.z / BIN) as usize).min(count - 1)].push(f);
        }
    }
    inside
        .iter()
        .map(|faces| {
            let mut xs: Vec<f64> = faces.iter().map(|f| f.x).collect();
            let x = median(&mut xs).unwrap_or(f64::NAN);
            let area = faces
                .iter()
                .filter(|f| (f.x - x).abs() < NEAR)
                .map(|f| f.area)
                .sum();
            Bin { area, x }
        })
        .collect()
}

/// Area of a bin that is wholly seen (mm2).
const FULL: f64 = 2.0 * HALF_SLICE * BIN;

fn is_skin(bin: &Bin) -> bool {
    bin.area > 0.3 * FULL
}

fn first_bin(bins: &[Bin], expected: Expected) -> Option<usize> {
    let at = (expected.z / BIN).max(0.0) as usize;
    let near = |k: usize| {
        bins.get(k).is_some_and(|b| {
            // A skin may lean by 35 degrees between the height expected and this one.
            let lean = 0.7 * (k as f64 * BIN - expected.z).abs();
            is_skin(b) && (b.x - expected.x).abs() < 2.0 * NEAR + lean
        })
    };
    (0..25).find_map(|d| {
        let up = at + d;
        let down = at.checked_sub(d);
        near(up).then_some(up).or_else(|| down.filter(|&k| near(k)))
    })
}

/// Steps down from bin to bin, over holes, as long as the skin goes on where it points.
fn follow_down(bins: &[Bin], start: usize) -> usize {
    let mut at = start;
    let mut slope = 0.0;
    let (mut seen_from, mut x_from) = (start, bins[start].x);
    while let Some(next) = (1..=HOLE_BINS).find_map(|d| {
        let k = at.checked_sub(d)?;
        let expected = bins[at].x + slope * d as f64;
        let tolerance = NEAR * if d > 1 { 0.7 } else { 1.0 };
        (is_skin(&bins[k]) && (bins[k].x - expected).abs() < tolerance).then_some(k)
    }) {
        at = next;
        if seen_from - at >= 6 {
            slope = (bins[at].x - x_from) / (seen_from - at) as f64;
        }
        if seen_from - at > 15 {
            seen_from -= 1;
            while !is_skin(&bins[seen_from]) && seen_from > at {
                seen_from -= 1;
            }
            x_from = bins[seen_from].x;
        }
    }
    at
}

/// A robust line `x = a + b z` through the skin from `from` up.
fn fit_line(faces: &[Face], guess: &SkinSlice, from: f64) -> Option<((f64, f64), f64)> {
    let part: Vec<&Face> = faces
        .iter()
        .filter(|f| f.z > from && f.z < from + LINE_HEIGHT)
        .filter(|f| (f.x - guess.x_at(f.z)).abs() < NEAR + 0.4 * (f.z - guess.low).abs())
        .collect();
    if part.len() < 6 {
        return None;
    }
    let mut xs: Vec<f64> = part.iter().map(|f| f.x).collect();
    let mut line = (median(&mut xs)?, 0.0);
    let mut scatter = 2.0 * NEAR;
    for _ in 0..8 {
        let mut m = [0.0; 5];
        for f in &part {
            let w = f.area * biweight((f.x - line.0 - line.1 * f.z) / scatter);
            m[0] += w;
            m[1] += w * f.z;
            m[2] += w * f.z * f.z;
            m[3] += w * f.x;
            m[4] += w * f.x * f.z;
        }
        let spread = m[2] * m[0] - m[1] * m[1];
        if m[0] <= 0.0 || spread <= 0.0 {
            return None;
        }
        let slope = (m[4] * m[0] - m[1] * m[3]) / spread;
        line = ((m[3] - slope * m[1]) / m[0], slope);
        let mut residuals: Vec<f64> = part.iter().map(|f| f.x - line.0 - line.1 * f.z).collect();
        scatter = sigma_about_zero(&mut residuals)?.max(0.1);
    }
    Some((line, scatter))
}
