//! The outside of the finished part laid flat, with its distance to the scans, for the picture.

use super::{Context, Finished};
use crate::math::{Point2, StationFrame, Vector3};
use crate::panel::Top;
use rayon::prelude::*;

/// Distance between places along the outside (mm).
const STEP_MM: f64 = 1.5;
/// Stations of the picture lie no closer than this share of the panel's length.
const COLUMNS: f64 = 170.0;

/// A place of the outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FacePoint {
    /// Way along the outside from the foot (mm): up the face positive, along the underside to the
    /// flange's tip negative.
    pub up_mm: f64,
    /// Distance to the nearer of body and tray (mm), negative inside one; `None` where neither is near.
    pub off_mm: Option<f64>,
}

/// The outside at one station, from the flange's tip to the top.
#[derive(Debug, Clone, PartialEq)]
pub struct FaceColumn {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// Way along the outside to the top of the visible face (mm).
    pub knee_mm: f64,
    /// Places in order.
    pub points: Vec<FacePoint>,
}

pub fn lay_flat(context: &Context<'_>) -> Vec<FaceColumn> {
    let sections = &context.panel.sections;
    let (Some(first), Some(last)) = (sections.first(), sections.last()) else {
        return Vec::new();
    };
    let count = ((last.s - first.s) / 4.0).ceil().clamp(1.0, COLUMNS) as usize;
    (0..=count)
        .into_par_iter()
        .filter_map(|k| {
            let s = first.s + (last.s - first.s) * k as f64 / count as f64;
            column(context, s.min(last.s))
        })
        .collect()
}

fn column(context: &Context<'_>, s: f64) -> Option<FaceColumn> {
    let inside = context.within(s)?;
    let finished = Finished::at(context.panel, context.options, inside)?;
    let frame = context.survey.spine.frame_at(inside);
    let mut points = Vec::new();
    let depth = length(&finished.underside);
    walk(&finished.underside, |p, way| {
        points.push(FacePoint {
            up_mm: way - depth,
            off_mm: context.off_the_tray(frame.to_shop(p), Vector3::z()),
        });
    });
    // A ray at the foot's own corner may pass it by: there the place beside it speaks.
    if let [.., beside, last] = points.as_mut_slice() {
        last.off_mm = last.off_mm.or(beside.off_mm);
    }
    let face = finished.outside.iter().position(|p| *p == finished.knee)?;
    let knee_mm = length(finished.outside.get(..=face)?);
    walk(&finished.outside, |p, way| {
        points.push(FacePoint {
            up_mm: way,
            off_mm: off_the_scans(context, p, &frame, way > knee_mm + 1e-9),
        });
    });
    Some(FaceColumn { s, knee_mm, points })
}

/// Distance of a place of the face or lip to the nearer scan.
fn off_the_scans(
    context: &Context<'_>,
    p: Point2,
    frame: &StationFrame,
    on_lip: bool,
) -> Option<f64> {
    let at = frame.to_shop(p);
    let paint = context.options.paint_mm;
    let tray = context
        .scans
        .to_tray(at)
        .map(|way| match context.scans.height_over_tray(at) {
            Some(height) if height < 0.0 => -way,
            _ => way,
        });
    let body = if on_lip && context.panel.top == Top::Tucked {
        context
            .scans
            .behind(at, frame.outward)
            .map(|way| way - context.options.skin_mm - paint)
    } else if on_lip && context.panel.top == Top::Lapped {
        let behind = context.scans.behind(at, frame.outward);
        behind.map(|way| -way - paint)
    } else {
        let under = context.scans.under.as_ref();
        under.map(|mesh| {
            let way = mesh.distance(at);
            let up = Vector3::z();
            let inside = mesh.ray(at, up, super::REACH_OFF_MM).is_none()
                && mesh.ray(at, -up, super::REACH_IN_MM).is_some();
            (if inside { -way } else { way }) - paint
        })
    };
    [tray, body].into_iter().flatten().min_by(f64::total_cmp)
}

fn length(line: &[Point2]) -> f64 {
    line.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum()
}

/// Calls `each` with places along a line and the way to them.
fn walk(line: &[Point2], mut each: impl FnMut(Point2, f64)) {
    let mut gone = 0.0;
    for (i, pair) in line.windows(2).enumerate() {
        let [from, to] = [pair[0], pair[1]];
        let run = (to - from).norm();
        for p in super::along([from, to], STEP_MM).skip(usize::from(i > 0)) {
            each(p, gone + (p - from).norm());
        }
        gone += run;
    }
}
