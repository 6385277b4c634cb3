//! The body's lower edge: the lowest point of the true skin, slice by slice, seen through the rounding
//! that a fused scan puts on it.

use super::EdgeKind;
use super::corner::fit_radius;
use super::skin::{Expected, HALF_SLICE, SkinSlice, find_skin};
use super::strip::Strip;
use super::underside::{Underside, find_underside};
use crate::math::robust::weighted_median;
use rayon::prelude::*;

/// Skin thickness assumed where the inner corner of a cut edge is placed (mm): glass or sheet bodies are
/// 2 to 4 mm. Common practice, no source.
pub const ASSUMED_SKIN: f64 = 3.0;
/// Where a fused scan of a cut edge has the cut's own height, inboard of the skin's line, in edge lengths
/// of the scan: nearer it is rounded up, further it sags or rises with the lines of sight. Measured on
/// simulated scans; good for voxels of 2.5 to 5 mm.
const CUT_INBOARD: f64 = 1.5;
/// How far that may be off (mm, standard).
const CUT_DOUBT: f64 = 1.0;
/// Distance between slices (mm).
pub const SLICE_STEP: f64 = 5.0;
/// Longest stretch without skin that an edge runs across (mm).
const LONGEST_BRIDGE: f64 = 85.0;
/// Largest change of the edge's height between neighbouring slices (mm): notches and steps of 20 mm.
const LARGEST_JUMP: f64 = 23.0;

/// The edge in one slice.
#[derive(Debug, Clone, Copy)]
pub struct EdgeSlice {
    /// Skin above it.
    pub skin: SkinSlice,
    /// Height of the edge (mm) and the area of underside it rests on (mm2); `None` where no underside is
    /// seen.
    pub height: Option<(f64, f64)>,
}

/// The edge all along, not yet faired.
#[derive(Debug, Clone)]
pub struct Edge {
    /// Slices in order.
    pub slices: Vec<EdgeSlice>,
    /// Kind of edge.
    pub kind: EdgeKind,
    /// Radius of the corner with the fusion's rounding taken off (mm), where it could be fitted.
    pub radius: Option<f64>,
    /// Standard uncertainty of the edge's height all along from not knowing whether it is cut or rolled,
    /// and where behind a cut the inner corner lies (mm).
    pub doubt: f64,
    /// How likely it is rolled, 0 to 1; one or none where the job says.
    pub rolled: f64,
}

/// Skin slices between two arc lengths that belong together, in order. `expected` says where the skin
/// should be.
#[must_use]
pub fn find_slices(
    strip: &Strip,
    from: f64,
    to: f64,
    expected: impl Fn(f64) -> Option<Expected> + Sync,
    spacing: f64,
) -> Vec<SkinSlice> {
    let count = ((to - from) / SLICE_STEP).floor().max(0.0) as usize + 1;
    let found: Vec<SkinSlice> = (0..count)
        .into_par_iter()
        .filter_map(|i| {
            let s = from + i as f64 * SLICE_STEP;
            find_skin(strip, s, expected(s)?, spacing)
        })
        .collect();
    longest_run(&found)
}

/// The longest chain of slices in which neighbours fit together; what stands out is left out. A tyre or a
/// stand beside the body ends the chain, a hole is stepped over.
fn longest_run(slices: &[SkinSlice]) -> Vec<SkinSlice> {
    let fits = |a: &SkinSlice, b: &SkinSlice| {
        let d = b.s - a.s;
        d <= LONGEST_BRIDGE
            && (b.low - a.low).abs() < LARGEST_JUMP + 0.15 * d
            && (b.x_at(a.low + 40.0) - a.x_at(a.low + 40.0)).abs() < 3.0 + 0.2 * d
            && (b.slope - a.slope).abs() < 0.25
    };
    // Length of the best chain that ends at each slice, and the one before it.
    let mut best: Vec<(f64, Option<usize>)> = Vec::with_capacity(slices.len());
    for (j, b) in slices.iter().enumerate() {
        let mut mine = (1.0, None);
        for (i, a) in slices[..j].iter().enumerate().rev() {
            if b.s - a.s > LONGEST_BRIDGE {
                break;
            }
            // Changes of height cost a little, so that the chain does not climb into a hole and out again.
            let length = best[i].0 + 1.0 - 0.05 * (b.low - a.low).abs().min(15.0);
            if fits(a, b) && length > mine.0 {
                mine = (length, Some(i));
            }
        }
        best.push(mine);
    }
    let mut at = (0..slices.len()).max_by(|&a, &b| best[a].0.total_cmp(&best[b].0));
    let mut run = Vec::new();
    while let Some(i) = at {
        run.push(slices[i]);
        at = best[i].1;
    }
    run.reverse();
    run
}

/// Reads the edge from skin slices. `asked` fixes the kind of edge, otherwise it is found.
///
/// Where the scan cannot tell a cut from a roll, the height is weighed between both and the difference
/// goes into the doubt.
#[must_use]
pub fn find_edge(
    strip: &Strip,
    slices: Vec<SkinSlice>,
    asked: Option<EdgeKind>,
    spacing: f64,
) -> Edge {
    let ((underside, radius), back) = rayon::join(
        || {
            let underside = find_underside(strip, &slices);
            let radius = fit_radius(strip, &slices, &underside, spacing);
            (underside, radius)
        },
        || asked.is_none().then(|| skin_back(strip, &slices)).flatten(),
    );
    let rolled = match asked {
        Some(EdgeKind::Rolled) => 1.0,
        Some(EdgeKind::Cut) => 0.0,
        None => odds_of_roll(back, &underside, spacing),
    };
    // Zero of the shape is its lowest point, which is where a roll ends. A cut is where the shape comes out
    // of the rounding; further inboard it follows the lines of sight that graze the edge.
    let inboard = CUT_INBOARD * spacing;
    let cut = underside.shape.at(inboard).unwrap_or(0.0);
    let offset = (1.0 - rolled) * cut;
    let slope = underside.shape.at(inboard - 1.0).unwrap_or(cut) - cut;
    let doubt = ((rolled * (1.0 - rolled)).sqrt() * cut).hypot((1.0 - rolled) * slope * CUT_DOUBT);
    let slices = slices
        .into_iter()
        .zip(&underside.heights)
        .map(|(skin, height)| EdgeSlice {
            skin,
            height: height.map(|(z, area)| (z + offset, area)),
        })
        .collect();
    let kind = if rolled > 0.5 {
        EdgeKind::Rolled
    } else {
        EdgeKind::Cut
    };
    Edge {
        slices,
        kind,
        radius,
        doubt,
        rolled,
    }
}

/// Fusion thickens a thin skin inboard to its truncation; where the skin's back is not seen, it is taken to
/// lie at this many edge lengths.
const USUAL_BACK: f64 = 3.85;
/// Share of the skin's height on which its back has to be seen.
const BACK_SEEN: f64 = 0.05;
/// Rise of the underside at the depth of the skin's back, in edge lengths, at which a roll is as likely as a
/// cut, and the width of the doubt. Measured on simulated scans: cuts rise by 0.65 to 1.1, rolls of 5 to
/// 10 mm radius by 0 to 0.5.
const EVEN_ODDS: (f64, f64) = (0.58, 0.05);

/// How likely the edge is rolled. Under a cut the underside comes up again where the thickened skin ends;
/// the return of a roll goes on past that.
fn odds_of_roll(back: Option<f64>, underside: &Underside, spacing: f64) -> f64 {
    let depth = back.unwrap_or(USUAL_BACK * spacing);
    let Some(rise) = underside.shape.near(depth) else {
        return 0.5;
    };
    1.0 / (1.0 + ((rise / spacing - EVEN_ODDS.0) / EVEN_ODDS.1).exp())
}

/// Distance inboard of the skin's line at which its back lies in the scan (mm), above the edge.
fn skin_back(strip: &Strip, slices: &[SkinSlice]) -> Option<f64> {
    const ABOVE: [f64; 2] = [15.0, 60.0];
    let mut backs: Vec<(f64, f64)> = Vec::new();
    for slice in slices {
        for f in strip.between(slice.s - HALF_SLICE, slice.s + HALF_SLICE) {
            let inboard = slice.x_at(f.z) - f.x;
            let up = f.z - slice.low;
            if f.nx < -0.5 && up > ABOVE[0] && up < ABOVE[1] && (2.0..35.0).contains(&inboard) {
                backs.push((inboard, f.area));
            }
        }
    }
    let whole = slices.len() as f64 * 2.0 * HALF_SLICE * (ABOVE[1] - ABOVE[0]);
    let seen: f64 = backs.iter().map(|b| b.1).sum();
    if seen > BACK_SEEN * whole {
        weighted_median(&mut backs)
    } else {
        None
    }
}
