//! Distances along the body's edge, as a soft tape lies on it.

use crate::gap::{Station, Survey};
use crate::math::Point3;

/// The edge as a soft tape measures it, from its left end.
#[derive(Debug, Clone)]
pub struct Ruler<'a> {
    stations: &'a [Station],
    /// Distance of each station from the first (mm).
    along: Vec<f64>,
    /// How well the edge's ends are known (mm, standard).
    end: f64,
}

/// Steeper than this (rise over run) the edge steps, and a tape lies across the step.
const STEEPEST: f64 = 0.5;

impl<'a> Ruler<'a> {
    /// Lays the tape; `None` with fewer than two stations or no length. `spacing` is the edge length of
    /// the body's scan (mm): where an edge ends is known no better.
    #[must_use]
    pub fn new(survey: &'a Survey, spacing: f64) -> Option<Self> {
        let stations = survey.stations.as_slice();
        let mut along = Vec::with_capacity(stations.len());
        let mut sum = 0.0;
        along.push(sum);
        for pair in stations.windows(2) {
            let way = pair[1].edge - pair[0].edge;
            let run = way.xy().norm();
            sum += if way.z.abs() > STEEPEST * run {
                run
            } else {
                way.norm()
            };
            along.push(sum);
        }
        (stations.len() > 1 && sum > 0.0 && sum.is_finite()).then_some(Self {
            stations,
            along,
            end: spacing,
        })
    }

    /// Length of the edge (mm).
    #[must_use]
    pub fn length(&self) -> f64 {
        self.along.last().copied().unwrap_or(0.0)
    }

    /// Distance of a station, by its place in the survey (mm).
    #[must_use]
    pub fn at_index(&self, index: usize) -> f64 {
        self.along.get(index).copied().unwrap_or(self.length())
    }

    /// What lies at a distance along the edge; distances past an end are held to it.
    #[must_use]
    pub fn at(&self, along: f64) -> Place {
        let last = self.stations.len() - 1;
        let k = self.along.partition_point(|&a| a <= along).clamp(1, last);
        let (a, b) = (self.along[k - 1], self.along[k]);
        let share = if b > a {
            ((along - a) / (b - a)).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let (p, q) = (&self.stations[k - 1], &self.stations[k]);
        let mix = |a: f64, b: f64| a + (b - a) * share;
        Place {
            s: mix(p.s, q.s),
            edge: p.edge + (q.edge - p.edge) * share,
            gap: mix(p.gap, q.gap),
            sigma: mix(p.sigma, q.sigma),
            common: mix(p.budget.common(), q.budget.common()),
            slope: (q.gap - p.gap) / (b - a).max(1e-9),
        }
    }

    /// How well the edge's ends are known (mm, standard).
    #[must_use]
    pub fn end(&self) -> f64 {
        self.end
    }

    /// How far the edge bows out from the straight between two of its places (mm, in plan).
    #[must_use]
    pub fn bow(&self, from: f64, to: f64) -> f64 {
        const STEPS: u32 = 32;
        let (a, b) = (self.at(from).edge.xy(), self.at(to).edge.xy());
        let Some(along) = (b - a).try_normalize(1e-9) else {
            return 0.0;
        };
        (0..=STEPS)
            .map(|k| from + (to - from) * f64::from(k) / f64::from(STEPS))
            .map(|at| along.perp(&(self.at(at).edge.xy() - a)).abs())
            .fold(0.0, f64::max)
    }

    /// Straight from one place of the edge to another (mm).
    #[must_use]
    pub fn chord(&self, from: f64, to: f64) -> f64 {
        (self.at(to).edge - self.at(from).edge).norm()
    }
}

/// The survey at one distance along the edge.
#[derive(Debug, Clone, Copy)]
pub struct Place {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// The edge (shop frame, mm).
    pub edge: Point3,
    /// The gap (mm).
    pub gap: f64,
    /// Its standard uncertainty (mm).
    pub sigma: f64,
    /// The part of that which lifts, lowers or tilts the gap as a whole (mm).
    pub common: f64,
    /// Change of the gap for each millimetre along the edge.
    pub slope: f64,
}
