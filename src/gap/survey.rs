//! The survey from end to end.

use super::edge::{Edge, find_edge, find_slices};
use super::skin::{Expected, SkinSlice};
use super::stations::{build_stations, edge_inboard, edge_line, roll_radius};
use super::strip::{Reach, Strip};
use super::tray::{TrayFit, fit_tray};
use super::{EdgeKind, GapOptions, Quality, Survey};
use crate::diag::{Finding, Problem};
use crate::math::{Point2, Point3, Spine};
use crate::progress::Progress;
use crate::scan::Scene;
use thiserror::Error;

/// Why there is no survey.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SurveyFault {
    /// No skin could be followed along the rim.
    #[error("the body's lower edge could not be followed: its skin is seen on only {0:.0} mm")]
    NoEdge(f64),
    /// The skin is there but its underside is nowhere seen.
    #[error("the underside of the body's edge is not in the scan, so its height cannot be read")]
    NoUnderside,
    /// Too little of the tray lies under the edge.
    #[error("too little of the tray is seen under the body's edge")]
    NoTray,
}

impl From<SurveyFault> for Problem {
    fn from(fault: SurveyFault) -> Self {
        let hint = match fault {
            SurveyFault::NoEdge(_) => {
                "scan the body's side from outside, from the edge up to a hand's breadth or two, in one slow sweep"
            }
            SurveyFault::NoUnderside => {
                "scan again with the phone held low, so that it looks up under the edge as well"
            }
            SurveyFault::NoTray => {
                "scan again with the phone looking down into the gap at the tray"
            }
        };
        Problem::new(fault.to_string(), hint)
    }
}

/// Spine along the coarse rim: span of its knots (mm) and its stiffness.
const COARSE: (f64, f64) = (20.0, 4.0);
/// Spine under the edge. Follows a corner of 25 mm radius and leaves out what a voxel grid does.
const FINE: (f64, f64) = (12.0, 2.0);
/// Shortest edge worth a survey (mm).
const SHORTEST: f64 = 60.0;
/// Height of skin looked at above the tray (mm).
const SKIN_TOP: f64 = 320.0;
/// How far past the coarse rim's ends the edge is looked for (mm).
const BEYOND: f64 = 80.0;

/// Measures the gap of a scene.
///
/// Stations lie at `options.station_mm` from end to end of the edge that was seen; holes up to 60 mm are
/// bridged and marked. The kind of edge is found unless `options.edge` fixes it.
///
/// # Errors
/// [`SurveyFault`] where the edge or the tray is not seen.
pub fn survey(
    scene: &Scene,
    options: &GapOptions,
    watch: &Progress,
) -> Result<Survey, SurveyFault> {
    watch.tell("finding the edge", 0.0);
    let spacing = scene.body.spacing_mm;
    let weights = vec![1.0; scene.rim.len()];
    let level = scene.rim.first().map_or(0.0, |p| p.z);
    let coarse =
        Spine::fit(&scene.rim, &weights, COARSE.0, COARSE.1).ok_or(SurveyFault::NoEdge(0.0))?;
    let strip = unroll(scene, &coarse);
    let slices = find_slices(
        &strip,
        -BEYOND,
        coarse.length() + BEYOND,
        |_| Some(Expected { z: level, x: 0.0 }),
        spacing,
    );
    let along_skin = spine_through(&slices, &coarse, |slice| slice.x_at(slice.low))?;
    watch.tell("finding the edge", 0.4);
    let strip = unroll(scene, &along_skin);
    let lows = expected_from(&slices, &coarse, &along_skin);
    let slices = find_slices(
        &strip,
        -BEYOND,
        along_skin.length() + BEYOND,
        |s| nearest(&lows, s),
        spacing,
    );
    let edge = find_edge(&strip, slices, options.edge, spacing);
    if edge.slices.iter().filter(|s| s.height.is_some()).count() < 3 {
        return Err(SurveyFault::NoUnderside);
    }
    let spine = spine_under(&edge, &along_skin)?;
    watch.tell("fitting the tray", 0.7);
    let tray =
        fit_tray(&scene.tray.mesh, &spine, scene.tray.spacing_mm).ok_or(SurveyFault::NoTray)?;
    let (spine, tray) = end_with_tray(spine, tray, scene)?;
    let spine = lay_on_tray(&spine, &tray.strip)?;
    let line = edge_line(&edge, &along_skin, &spine, spacing);
    let stations = build_stations(&line, &edge, &tray, &spine, options.station_mm, scene);
    watch.tell("fitting the tray", 1.0);
    let findings = judge(&stations, &edge, options);
    Ok(Survey {
        edge_kind: edge.kind,
        edge_radius_mm: roll_radius(&edge),
        spine,
        stations,
        obstacles: tray.obstacles,
        tray: tray.strip,
        findings,
    })
}

fn unroll(scene: &Scene, spine: &Spine) -> Strip {
    let reach = Reach {
        across: [-90.0, 60.0],
        height: [-10.0, SKIN_TOP],
        beyond: BEYOND + 10.0,
    };
    Strip::unroll(&scene.body.mesh, spine, &reach)
}

/// A spine through one point of each slice, taken from the spine the slices were found along.
fn spine_through(
    slices: &[SkinSlice],
    along: &Spine,
    offset: impl Fn(&SkinSlice) -> f64,
) -> Result<Spine, SurveyFault> {
    let length = slices
        .last()
        .zip(slices.first())
        .map_or(0.0, |(b, a)| b.s - a.s);
    if length < SHORTEST {
        return Err(SurveyFault::NoEdge(length));
    }
    let points: Vec<Point3> = slices
        .iter()
        .map(|slice| {
            along
                .frame_at(slice.s)
                .to_shop(Point2::new(offset(slice), 0.0))
        })
        .collect();
    let weights: Vec<f64> = slices
        .iter()
        .map(|s| 1.0 / (0.25 + s.scatter * s.scatter))
        .collect();
    Spine::fit(&points, &weights, FINE.0, FINE.1).ok_or(SurveyFault::NoEdge(length))
}

/// The final spine: under the edge all along.
fn spine_under(edge: &Edge, along: &Spine) -> Result<Spine, SurveyFault> {
    let inboard = edge_inboard(edge);
    // Skin without an underside past either end is a wheel, a sill or the body's own end wall.
    let seen = |s: &super::edge::EdgeSlice| s.height.is_some();
    let first = edge.slices.iter().position(seen).unwrap_or(0);
    let last = edge.slices.iter().rposition(seen).unwrap_or(0);
    let slices: Vec<SkinSlice> = edge.slices[first..=last].iter().map(|s| s.skin).collect();
    spine_through(&slices, along, |slice| slice.x_at(slice.low) - inboard)
}

/// The spine cut back to where there is tray under it; what goes on past that is a wheel or a sill.
fn end_with_tray(
    spine: Spine,
    tray: TrayFit,
    scene: &Scene,
) -> Result<(Spine, TrayFit), SurveyFault> {
    const SLACK: f64 = 12.0;
    let seen: Vec<f64> = tray
        .strip
        .along
        .iter()
        .zip(&tray.seen)
        .filter(|&(_, &seen)| seen > 0.3)
        .map(|(&s, _)| s)
        .collect();
    let (Some(&first), Some(&last)) = (seen.first(), seen.last()) else {
        return Err(SurveyFault::NoTray);
    };
    if first <= SLACK && last >= spine.length() - SLACK {
        return Ok((spine, tray));
    }
    if last - first < SHORTEST {
        return Err(SurveyFault::NoTray);
    }
    let count = ((last - first) / 4.0).ceil() as usize;
    let points: Vec<Point3> = (0..=count)
        .map(|i| {
            spine
                .frame_at(first + (last - first) * i as f64 / count as f64)
                .origin
        })
        .collect();
    let shorter = Spine::fit(&points, &vec![1.0; points.len()], FINE.0, 0.01)
        .ok_or(SurveyFault::NoEdge(last - first))?;
    let tray =
        fit_tray(&scene.tray.mesh, &shorter, scene.tray.spacing_mm).ok_or(SurveyFault::NoTray)?;
    Ok((shorter, tray))
}

/// The same spine with its height on the tray's surface.
fn lay_on_tray(spine: &Spine, tray: &super::TrayStrip) -> Result<Spine, SurveyFault> {
    let count = (spine.length() / 5.0).ceil() as usize;
    let points: Vec<Point3> = (0..=count)
        .map(|i| {
            let s = spine.length() * i as f64 / count as f64;
            let p = spine.frame_at(s).origin;
            Point3::new(p.x, p.y, tray.height(s, 0.0))
        })
        .collect();
    Spine::fit(&points, &vec![1.0; points.len()], FINE.0, 0.01)
        .ok_or(SurveyFault::NoEdge(spine.length()))
}

/// Where the skin should be along a new spine, from slices along an old one: well above the lower end.
fn expected_from(slices: &[SkinSlice], old: &Spine, new: &Spine) -> Vec<(f64, Expected)> {
    const ABOVE: f64 = 35.0;
    let locator = crate::math::locator::Locator::new(new, 60.0, BEYOND);
    let mut expected: Vec<(f64, Expected)> = slices
        .iter()
        .filter_map(|slice| {
            let z = slice.low + ABOVE;
            let p = old.frame_at(slice.s).to_shop(Point2::new(slice.x_at(z), z));
            let (s, x) = locator.locate(p.xy())?;
            Some((s, Expected { z, x }))
        })
        .collect();
    expected.sort_by(|a, b| a.0.total_cmp(&b.0));
    expected
}

fn nearest(expected: &[(f64, Expected)], s: f64) -> Option<Expected> {
    let k = expected.partition_point(|e| e.0 < s);
    let candidates = [k.checked_sub(1), Some(k)];
    candidates
        .into_iter()
        .flatten()
        .filter_map(|k| expected.get(k))
        .min_by(|a, b| (a.0 - s).abs().total_cmp(&(b.0 - s).abs()))
        .map(|e| e.1)
}

/// What the survey says about itself.
fn judge(stations: &[super::Station], edge: &Edge, options: &GapOptions) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (from, to) in runs(stations, Quality::Bridged) {
        if to - from < 8.0 {
            continue;
        }
        findings.push(
            Finding::warning(
                "bridged",
                format!("the edge or the tray is not seen from {from:.0} to {to:.0} mm; the gap is carried across"),
                "measure the gap there with a caliper, or scan that stretch again",
            )
            .at(0.5 * (from + to))
            .size(to - from),
        );
    }
    if options.edge.is_none() {
        findings.push(kind_found(edge));
    }
    findings
}

/// Below and above these odds of a roll the scan is taken to tell the kind of edge.
const SURE: (f64, f64) = (0.02, 0.98);

fn kind_found(edge: &Edge) -> Finding {
    let what = match (edge.kind, edge.radius) {
        (EdgeKind::Rolled, Some(radius)) => {
            format!("rolled inboard, with an outside radius of about {radius:.0} mm")
        }
        (EdgeKind::Rolled, None) => "rolled inboard".into(),
        (EdgeKind::Cut, _) => "cut off".into(),
    };
    let what = format!("the body's edge was taken as {what}");
    if edge.rolled > SURE.0 && edge.rolled < SURE.1 {
        return Finding::warning(
            "edge-kind",
            format!("{what}, but in this scan a cut edge and a small roll look alike"),
            "feel the edge with a finger and set `edge` under [gap] in the job to \"cut\" or \"rolled\"",
        )
        .size(edge.doubt);
    }
    Finding::note("edge-kind", what)
}

/// Stretches of one quality, as first and last arc length.
fn runs(stations: &[super::Station], quality: Quality) -> Vec<(f64, f64)> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    let mut open = false;
    for station in stations {
        if station.quality == quality {
            match runs.last_mut().filter(|_| open) {
                Some(run) => run.1 = station.s,
                None => runs.push((station.s, station.s)),
            }
        }
        open = station.quality == quality;
    }
    runs
}
