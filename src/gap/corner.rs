//! How the skin turns into the underside: the radius of the corner, and so the kind of edge.

use super::skin::{HALF_SLICE, SkinSlice};
use super::strip::Strip;
use super::underside::Underside;

/// Radius tried, from, to and step (mm).
const RADII: (f64, f64, f64) = (0.5, 18.0, 0.25);
/// A face further than this from the model does not count more (mm).
const FAR: f64 = 2.5;
/// Fusion rounds a sharp edge to about this many edge lengths of the scan. Measured on our simulated
/// scans of cut edges; it must pass a cut edge at 4 mm voxels as sharp and stop a 6 mm roll there.
const FUSION_ROUNDING: f64 = 1.9;
/// Least radius of the true corner that is called a roll (mm).
const LEAST_ROLL: f64 = 3.5;

/// A corner in the common cross-section.
#[derive(Debug, Clone, Copy)]
pub struct Corner {
    /// Radius as scanned (mm).
    pub scanned_mm: f64,
    /// Radius with the fusion's rounding taken off, zero if nothing is left (mm).
    pub true_mm: f64,
}

impl Corner {
    /// Whether the corner is large enough to be a roll rather than a rounded cut.
    #[must_use]
    pub fn is_rolled(&self) -> bool {
        self.true_mm >= LEAST_ROLL
    }
}

/// Fits the radius that best joins the skin's line and the underside, over all slices together.
#[must_use]
pub fn fit_corner(
    strip: &Strip,
    slices: &[SkinSlice],
    underside: &Underside,
    spacing: f64,
) -> Option<Corner> {
    let (base, tilt) = underside
        .shape
        .line(4.0, 12.0)
        .or_else(|| underside.shape.line(2.0, 16.0))?;
    // Distance in from the skin, height over the underside, area.
    let mut points: Vec<(f64, f64, f64)> = Vec::new();
    let stride = (slices.len() / 150).max(1);
    for (slice, height) in slices.iter().zip(&underside.heights).step_by(stride) {
        let Some((height, _)) = height else { continue };
        let cosine = 1.0 / slice.slope.hypot(1.0);
        for f in strip.between(slice.s - HALF_SLICE, slice.s + HALF_SLICE) {
            let inboard = slice.x_at(f.z) - f.x;
            let up = f.z - height - base - tilt * inboard;
            if (-3.0..20.0).contains(&up)
                && (-4.0..12.0).contains(&inboard)
                && f.nx > 0.2 - 2.0 * f64::from(f.nz < -0.2)
            {
                points.push((inboard * cosine, up * cosine, f.area));
            }
        }
    }
    if points.len() < 50 {
        return None;
    }
    let misfit = |radius: f64| -> f64 {
        points
            .iter()
            .map(|&(u, v, area)| {
                let d = if v > radius {
                    u
                } else if u > radius {
                    v
                } else {
                    radius - (u - radius).hypot(v - radius)
                };
                area * (d * d).min(FAR * FAR)
            })
            .sum()
    };
    let (from, to, step) = RADII;
    let count = ((to - from) / step) as usize;
    let scanned = (0..=count)
        .map(|i| from + i as f64 * step)
        .map(|r| (misfit(r), r))
        .min_by(|a, b| a.0.total_cmp(&b.0))?
        .1;
    let rounding = FUSION_ROUNDING * spacing;
    Some(Corner {
        scanned_mm: scanned,
        true_mm: (scanned * scanned - rounding * rounding).max(0.0).sqrt(),
    })
}
