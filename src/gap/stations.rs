//! From slices to faired stations with their uncertainty.

use super::drift::measure_drift;
use super::edge::{ASSUMED_SKIN, Edge};
use super::tray::{BANDWIDTH, TrayFit};
use super::uncertainty::{Known, budget};
use super::{EdgeKind, Quality, Station};
use crate::math::locator::Locator;
use crate::math::piecewise::{Sample, find_steps, smooth_between};
use crate::math::robust::sigma_about_zero;
use crate::math::{Point2, Point3, Spine, Vector3};
use crate::scan::Scene;

/// Bandwidth of the edge's height along the spine (mm): longer than the steps a voxel grid leaves, shorter
/// than the bends of a body.
const HEIGHT_BANDWIDTH: f64 = 22.0;
/// Bandwidth of the skin's offset (mm).
const OFFSET_BANDWIDTH: f64 = 20.0;
/// Bandwidth of the skin's lean (mm).
const LEAN_BANDWIDTH: f64 = 60.0;
/// Reach on each side over which a step is judged (mm), and the least step that is kept (mm).
const STEP_REACH: f64 = 30.0;
const LEAST_STEP: f64 = 4.0;
/// Area of underside that makes a slice well seen (mm2): a quarter of a slice ten long and eight deep.
const WELL_SEEN: f64 = 20.0;
/// Slices this near to an end are rounded by the end itself (mm per edge length of the scan).
const END_ROUNDING: f64 = 2.5;

/// Finds the edge's height in the given slices, in shop coordinates.
pub struct EdgeLine {
    /// Edge points by arc length along the spine: `(s, x, z, lean)`.
    pub samples: Vec<EdgeSample>,
    /// Places of real steps along the spine (mm).
    pub steps: Vec<f64>,
}

/// One slice's edge in the coordinates of the final spine.
#[derive(Debug, Clone, Copy)]
pub struct EdgeSample {
    /// Arc length (mm).
    pub s: f64,
    /// Outward offset of the edge (mm).
    pub x: f64,
    /// Height of the edge and the area it rests on, where seen.
    pub z: Option<(f64, f64)>,
    /// Lean of the skin (rad, inboard going up positive).
    pub lean: f64,
}

/// Distance inboard of the skin's line (mm) at which the edge lies.
#[must_use]
pub fn edge_inboard(edge: &Edge) -> f64 {
    match edge.kind {
        EdgeKind::Cut => ASSUMED_SKIN,
        // The skin's line is tangent to the roll; the lowest point lies under the roll's centre.
        EdgeKind::Rolled => {
            let lean = mean_lean(edge);
            let radius = roll_radius(edge);
            radius / lean.cos() + radius * lean.tan()
        }
    }
}

/// Outside radius of a rolled edge (mm), zero for a cut one.
#[must_use]
pub fn roll_radius(edge: &Edge) -> f64 {
    match edge.kind {
        EdgeKind::Rolled => edge.radius.unwrap_or(3.0).max(1.0),
        EdgeKind::Cut => 0.0,
    }
}

fn mean_lean(edge: &Edge) -> f64 {
    let n = edge.slices.len().max(1) as f64;
    edge.slices
        .iter()
        .map(|s| -s.skin.slope.atan())
        .sum::<f64>()
        / n
}

/// Takes the edge's slices from the spine they were found along to the final one.
#[must_use]
pub fn edge_line(edge: &Edge, found_along: &Spine, spine: &Spine, spacing: f64) -> EdgeLine {
    let inboard = edge_inboard(edge);
    let locator = Locator::new(spine, 60.0, 40.0);
    let mut samples: Vec<EdgeSample> = edge
        .slices
        .iter()
        .filter_map(|slice| {
            let z = slice.height.map_or(slice.skin.low, |h| h.0);
            let frame = found_along.frame_at(slice.skin.s);
            let p = frame.to_shop(Point2::new(slice.skin.x_at(z) - inboard, z));
            let (s, x) = locator.locate(p.xy())?;
            Some(EdgeSample {
                s,
                x,
                z: slice.height,
                lean: -slice.skin.slope.atan(),
            })
        })
        .collect();
    samples.sort_by(|a, b| a.s.total_cmp(&b.s));
    let trim = END_ROUNDING * spacing;
    let length = spine.length();
    for sample in &mut samples {
        if sample.s < trim || sample.s > length - trim {
            sample.z = None;
        }
    }
    let heights = height_samples(&samples);
    let steps = find_steps(&heights, STEP_REACH, LEAST_STEP);
    EdgeLine { samples, steps }
}

fn height_samples(samples: &[EdgeSample]) -> Vec<Sample> {
    samples
        .iter()
        .filter_map(|e| {
            let (z, area) = e.z?;
            Some(Sample {
                at: e.s,
                value: z,
                weight: (area / WELL_SEEN).min(1.0),
            })
        })
        .collect()
}

/// Faired stations at even spacing along the whole spine.
#[must_use]
pub fn build_stations(
    line: &EdgeLine,
    edge: &Edge,
    tray: &TrayFit,
    spine: &Spine,
    spacing_along: f64,
    scene: &Scene,
) -> Vec<Station> {
    let scan_spacing = scene.body.spacing_mm.max(scene.tray.spacing_mm);
    let count = (spine.length() / spacing_along).round().max(1.0) as usize;
    let places: Vec<f64> = (0..=count)
        .map(|i| spine.length() * i as f64 / count as f64)
        .collect();
    let heights = height_samples(&line.samples);
    let of = |value: fn(&EdgeSample) -> f64| -> Vec<Sample> {
        line.samples
            .iter()
            .map(|e| Sample {
                at: e.s,
                value: value(e),
                weight: 1.0,
            })
            .collect()
    };
    let z = fill(&places, &smooth_heights(&heights, &line.steps, &places));
    let x = fill(
        &places,
        &values(&smooth_between(
            &of(|e| e.x),
            &[],
            &places,
            OFFSET_BANDWIDTH,
        )),
    );
    let lean = fill(
        &places,
        &values(&smooth_between(
            &of(|e| e.lean),
            &[],
            &places,
            LEAN_BANDWIDTH,
        )),
    );
    let scatter = edge_scatter(&heights, line);
    let waviness = measure_drift(&tray.strip, &tray.seen, spine);
    let radius = roll_radius(edge);
    places
        .iter()
        .enumerate()
        .map(|(i, &s)| {
            let frame = spine.frame_at(s);
            let edge_point = frame.to_shop(Point2::new(x[i], z[i]));
            let (foot, normal) = foot_on_tray(tray, &frame, s, x[i], z[i]);
            let silhouette = match edge.kind {
                EdgeKind::Rolled => Point2::new(x[i] + radius, z[i] + radius),
                EdgeKind::Cut => Point2::new(
                    x[i] + ASSUMED_SKIN * lean[i].cos(),
                    z[i] + ASSUMED_SKIN * lean[i].sin(),
                ),
            };
            let edge_distance = nearest(&heights, s);
            let jump = jump_near(&line.steps, &places, &z, s);
            let tray_distance = tray_distance(tray, s);
            let row = ((s / spine.length()) * (tray.scatter.len() - 1) as f64).round() as usize;
            let gap = (edge_point - foot).dot(&normal);
            let u = budget(&Known {
                gap,
                edge_scatter: scatter,
                tray_scatter: tray.scatter.get(row).copied().unwrap_or(0.0),
                tray_reach: BANDWIDTH,
                edge_distance,
                tray_distance,
                doubt: edge.doubt,
                jump,
                spacing: scan_spacing,
                waviness,
                registration: scene.placing.registration_mm(),
                scale: scene.placing.scale_relative(),
            });
            Station {
                s,
                edge: edge_point,
                silhouette: frame.to_shop(silhouette),
                tray: foot,
                tray_normal: normal,
                lean: lean[i],
                gap,
                sigma: u.combined(),
                budget: u,
                quality: match quality(&heights, s, edge_distance, tray_distance, scan_spacing) {
                    Quality::Good if jump > 0.0 => Quality::Sparse,
                    other => other,
                },
            }
        })
        .collect()
}

fn smooth_heights(heights: &[Sample], steps: &[f64], places: &[f64]) -> Vec<Option<f64>> {
    values(&smooth_between(heights, steps, places, HEIGHT_BANDWIDTH))
}

fn values(smoothed: &[Option<crate::math::piecewise::Smoothed>]) -> Vec<Option<f64>> {
    smoothed.iter().map(|v| v.map(|v| v.value)).collect()
}

/// Fills what is not known on a straight line between neighbours, or level past the last.
fn fill(places: &[f64], values: &[Option<f64>]) -> Vec<f64> {
    let known: Vec<(f64, f64)> = places
        .iter()
        .zip(values)
        .filter_map(|(&s, v)| v.map(|v| (s, v)))
        .collect();
    places
        .iter()
        .map(|&s| {
            let k = known.partition_point(|p| p.0 <= s);
            match (k.checked_sub(1).and_then(|k| known.get(k)), known.get(k)) {
                (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (s - a.0) / (b.0 - a.0),
                (Some(a), None) | (None, Some(a)) => a.1,
                (None, None) => 0.0,
            }
        })
        .collect()
}

/// The foot of the gap: the point of the tray whose normal passes through the edge.
pub fn foot_on_tray(
    tray: &TrayFit,
    frame: &crate::math::StationFrame,
    s: f64,
    x: f64,
    z: f64,
) -> (Point3, Vector3) {
    const STEP: f64 = 5.0;
    let slope = |x: f64| {
        let across =
            (tray.strip.height(s, x + STEP) - tray.strip.height(s, x - STEP)) / (2.0 * STEP);
        let along =
            (tray.strip.height(s + STEP, x) - tray.strip.height(s - STEP, x)) / (2.0 * STEP);
        (across, along)
    };
    let (mut across, mut along) = slope(x);
    let mut foot = Vector3::zeros();
    for _ in 0..4 {
        let h = z - tray.strip.height(s, x);
        let share = 1.0 / (1.0 + across * across + along * along);
        // Moves up the slope from below the edge to where the normal through the foot meets it.
        foot = Vector3::new(h * across * share, h * along * share, 0.0);
        (across, along) = slope(x + foot.x);
    }
    let base = frame.to_shop(Point2::new(x + foot.x, 0.0)) + frame.along * foot.y;
    let height = tray.strip.height(s + foot.y, x + foot.x);
    let normal = (Vector3::z() - frame.outward * across - frame.along * along).normalize();
    (Point3::new(base.x, base.y, height), normal)
}

fn edge_scatter(heights: &[Sample], line: &EdgeLine) -> f64 {
    let places: Vec<f64> = heights.iter().map(|h| h.at).collect();
    let smooth = smooth_heights(heights, &line.steps, &places);
    let mut off: Vec<f64> = heights
        .iter()
        .zip(&smooth)
        .filter_map(|(h, v)| v.map(|v| h.value - v))
        .collect();
    sigma_about_zero(&mut off).unwrap_or(0.0)
}

fn nearest(heights: &[Sample], s: f64) -> f64 {
    heights
        .iter()
        .map(|h| (h.at - s).abs())
        .fold(f64::INFINITY, f64::min)
        .min(1e3)
}

fn tray_distance(tray: &TrayFit, s: f64) -> f64 {
    tray.strip
        .along
        .iter()
        .zip(&tray.seen)
        .filter(|&(_, &seen)| seen > 0.15)
        .map(|(a, _)| (a - s).abs())
        .fold(f64::INFINITY, f64::min)
        .min(1e3)
}

/// How much the edge jumps at a step right beside a station (mm): there a millimetre along the edge is
/// many in height.
fn jump_near(steps: &[f64], places: &[f64], z: &[f64], s: f64) -> f64 {
    const BESIDE: f64 = 7.0;
    let at = |s: f64| z[places.partition_point(|&p| p < s).min(places.len() - 1)];
    steps
        .iter()
        .filter(|&&step| (step - s).abs() < BESIDE)
        .map(|&step| (at(step + 2.0 * BESIDE) - at(step - 2.0 * BESIDE)).abs())
        .fold(0.0, f64::max)
}

fn quality(
    heights: &[Sample],
    s: f64,
    edge_distance: f64,
    tray_distance: f64,
    spacing: f64,
) -> Quality {
    // Right at an end the edge's own rounding hides its height for a few edge lengths.
    if edge_distance > (3.5 * spacing).max(12.0) || tray_distance > 25.0 {
        return Quality::Bridged;
    }
    let (mut seen, mut all) = (0.0, 0.0);
    for h in heights.iter().filter(|h| (h.at - s).abs() <= 12.0) {
        seen += h.weight;
        all += 1.0;
    }
    if all >= 3.0 && seen >= 0.5 * all {
        Quality::Good
    } else {
        Quality::Sparse
    }
}
