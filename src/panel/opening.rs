//! Openings through the face, for what runs out across the gap.

use super::keep_out::{Done, KeepOut, Placed};
use super::relief::{BAND_WALLS, Guide, PAST_FACE_MM, over_flange};
use super::{PanelFault, PanelOptions, loft::Loft};
use crate::gap::Survey;
use crate::math::Point2;
use crate::mesh::Solid;
use std::f64::consts::{FRAC_PI_2, PI};

/// The cutter starts this far inboard of the inside of the face (mm): past its fillet and any askew wall.
const INBOARD_MM: f64 = 2.0;
/// Corners of an opening that is not round have this radius (mm), so that no crack starts there.
const CORNER_MM: f64 = 4.0;
/// The polygon stands no further off the circle round which it is drawn (mm).
const SAGITTA_MM: f64 = 0.03;
/// Above the panel's top (mm).
const OVER_TOP_MM: f64 = 60.0;

/// What is to be cut for a thing that runs through the face.
pub(super) enum Through {
    /// A body to take away, and the least height of face left over or under it (mm).
    Cut(Solid, Done, f64),
    /// It reaches down to the flange: it is to be cut as if it stood on the tray, this high (mm).
    ToFoot(f64),
    /// It takes the whole height.
    Parts,
}

/// Works out the opening for `out`, whose middle lies `up` mm above the tray.
///
/// # Errors
/// [`PanelFault::Relief`] where the cutter is no solid.
pub(super) fn through(
    out: &KeepOut,
    placed: &Placed,
    up: f64,
    survey: &Survey,
    guide: &Guide,
    options: &PanelOptions,
) -> Result<Through, PanelFault> {
    let margin = out.margin();
    let middle = 0.5 * (placed.along[0] + placed.along[1]);
    let length = placed.along[1] - placed.along[0] + 2.0 * margin;
    let height = match out.size_mm {
        Some(size) => size + 2.0 * margin,
        None => out.height_mm + 2.0 * margin,
    };
    let (low, high) = (up - 0.5 * height, up + 0.5 * height);
    let ends = [middle - 0.5 * length, middle + 0.5 * length];
    let least = |value: &dyn Fn(f64) -> f64| {
        let places = (0..=8).map(|i| ends[0] + length * f64::from(i) / 8.0);
        places.map(value).fold(f64::INFINITY, f64::min)
    };
    let to_band = least(&|s| guide.face_room(survey, s, options));
    let to_foot = over_flange(options) + 0.5;
    let (reaches_foot, reaches_top) = (low < to_foot, high > to_band);
    if reaches_foot && reaches_top {
        return Ok(Through::Parts);
    }
    if reaches_foot {
        return Ok(Through::ToFoot(high));
    }
    let radius = if placed.is_round {
        0.5 * height
    } else {
        CORNER_MM.min(0.5 * height).min(0.5 * length)
    };
    let base = guide.foot_height(survey, middle);
    let outlines: Vec<(f64, [Point2; 4])> = upper_half(length, height, radius)
        .into_iter()
        .map(|(u, half)| {
            let s = middle + u;
            let (inner, outer) = (guide.inmost.at(s) - INBOARD_MM, guide.outmost.at(s));
            let bottom = base + up - half;
            let (top, inner, outer) = if reaches_top {
                (base + up + OVER_TOP_MM + height, inner - 12.0, outer + 12.0)
            } else {
                (base + up + half, inner, outer)
            };
            let outer = outer + PAST_FACE_MM;
            let corners = [
                Point2::new(inner, bottom),
                Point2::new(outer, bottom),
                Point2::new(outer, top),
                Point2::new(inner, top),
            ];
            (s, corners)
        })
        .collect();
    let placed = outlines.iter().map(|(s, corners)| (*s, corners.as_slice()));
    let loft = Loft::new(&survey.spine, placed, &[[0, 1, 2], [0, 2, 3]]);
    let solid = Solid::new(loft.mesh().clone()).map_err(|e| PanelFault::Relief {
        station_mm: middle,
        reason: e.to_string(),
    })?;
    Ok(if reaches_top {
        Through::Cut(solid, Done::OpenAtTop, low)
    } else {
        let over = to_band + BAND_WALLS * options.wall_mm - high;
        Through::Cut(solid, Done::Opened, low.min(over))
    })
}

/// Half heights of a rectangle with rounded corners along its length, about its middle. The corners are
/// drawn round their circles, so that the opening is nowhere too small, and the ends stand upright.
fn upper_half(length: f64, height: f64, radius: f64) -> Vec<(f64, f64)> {
    let step = (2.0 * SAGITTA_MM / radius.max(1.0)).sqrt();
    let count = (FRAC_PI_2 / (2.0 * step)).ceil().max(3.0);
    let step = FRAC_PI_2 / (2.0 * count + 1.0);
    let far = radius / step.cos();
    let (flat_u, flat_h) = (0.5 * length - radius, 0.5 * height - radius);
    let corner: Vec<(f64, f64)> = (0..=count as usize)
        .map(|k| PI - step * (2.0 * k as f64 + 1.0))
        .map(|a| (far * a.cos(), far * a.sin()))
        .collect();
    let left = corner.iter().map(|&(u, h)| (u - flat_u, h + flat_h));
    let right = corner.iter().rev().map(|&(u, h)| (flat_u - u, h + flat_h));
    let mut all: Vec<(f64, f64)> = left.chain(right).collect();
    all.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-6);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_round_opening_is_drawn_round_its_circle() {
        let half = upper_half(20.0, 20.0, 10.0);
        // Every side of the polygon keeps the circle's radius from the middle: it is nowhere smaller.
        for pair in half.windows(2) {
            let (a, b) = (
                Point2::new(pair[0].0, pair[0].1),
                Point2::new(pair[1].0, pair[1].1),
            );
            let way = (b - a).normalize();
            let off = way.perp(&(Point2::origin() - a)).abs();
            assert!((off - 10.0).abs() < 1e-9, "{off}");
        }
        assert!((half[0].0 + 10.0).abs() < 1e-9 && half[0].1 > 0.0);
        assert!(half.iter().all(|p| p.0.hypot(p.1) < 10.05));
    }

    #[test]
    fn a_long_opening_has_upright_ends_and_its_full_height() {
        let half = upper_half(50.0, 20.0, 4.0);
        assert!((half[0].0 + 25.0).abs() < 1e-9 && half[0].1 > 6.0);
        let tallest = half.iter().map(|p| p.1).fold(0.0, f64::max);
        assert!((10.0..10.05).contains(&tallest), "{tallest}");
        assert!(half.windows(2).all(|w| w[1].0 > w[0].0));
    }
}
