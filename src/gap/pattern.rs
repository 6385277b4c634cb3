//! The gap as a flat pattern: the surface from the tray up to the body's edge, developed.

use super::Survey;
use super::readings::{Check, CheckKind};
use crate::math::{Point2, Point3};
use crate::mesh::develop::develop_strip;

/// Paper that a pattern is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
    A4,
    /// 297 x 420 mm (ISO 216).
    A3,
    /// 215.9 x 279.4 mm.
    Letter,
}

impl Paper {
    /// Short and long side (mm).
    #[must_use]
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::A3 => [297.0, 420.0],
            Self::Letter => [215.9, 279.4],
        }
    }
}

/// A mark across the pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What stands beside it.
    pub label: String,
    /// Its foot, on the tray.
    pub foot: Point2,
    /// Its head, on the edge.
    pub head: Point2,
}

/// The gap laid flat (mm), outside toward the eye, left end at the left, the tray's line running along x
/// from end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    /// The line on the tray.
    pub foot: Vec<Point2>,
    /// The body's edge.
    pub edge: Vec<Point2>,
    /// Stations at round arc lengths.
    pub ticks: Vec<Mark>,
    /// Where the gap is read.
    pub reads: Vec<Mark>,
}

/// Spacing of the station ticks (mm).
const TICK: f64 = 50.0;
/// Room between a tick and an end (mm).
const CLEAR: f64 = 4.0;

/// Develops the gap of a survey: a ruled surface from the tray's foot line to the body's edge, a rung at
/// every station, laid flat triangle by triangle. `None` where the survey has no such surface.
#[must_use]
pub fn develop_gap(survey: &Survey, checks: &[Check]) -> Option<Pattern> {
    let foot: Vec<Point3> = survey.stations.iter().map(|st| st.tray).collect();
    let edge: Vec<Point3> = survey.stations.iter().map(|st| st.edge).collect();
    let flat = develop_strip(&foot, &edge)?;
    let stations: Vec<f64> = survey.stations.iter().map(|st| st.s).collect();
    let mark = |label: String, s: f64| {
        let last = stations.len().checked_sub(1)?;
        let k = stations.partition_point(|&a| a <= s).clamp(1, last);
        let (a, b) = (stations[k - 1], stations[k]);
        let share = if b > a {
            ((s - a) / (b - a)).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let on = |line: &[Point2]| line[k - 1] + (line[k] - line[k - 1]) * share;
        Some(Mark {
            label,
            foot: on(&flat.lower),
            head: on(&flat.upper),
        })
    };
    let (first, last) = (*stations.first()?, *stations.last()?);
    // No tick where the end's own line stands.
    let from = ((first + CLEAR) / TICK).ceil() as i64;
    let to = ((last - CLEAR) / TICK).floor() as i64;
    let ticks = (from..=to)
        .filter_map(|k| {
            let s = k as f64 * TICK;
            mark(format!("{s:.0}"), s)
        })
        .collect();
    let reads = checks
        .iter()
        .filter(|c| c.kind == CheckKind::Gap)
        .filter_map(|c| mark(c.name.clone(), c.s))
        .collect();
    Some(Pattern {
        foot: flat.lower,
        edge: flat.upper,
        ticks,
        reads,
    })
}
