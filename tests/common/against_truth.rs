//! A survey held against the truth of a simulated scan.

#![allow(clippy::unwrap_used)]

use super::sim::{SimScan, write_ply};
use gapwright::gap::{self, GapOptions, Quality, Survey};
use gapwright::math::Point3;
use gapwright::progress::Progress;
use gapwright::scan::{self, ScanOptions, Scene};

/// Gap errors (found less true, mm) and what goes with them.
#[derive(Debug, Clone, Default)]
pub struct Errors {
    /// Error at each station of good quality.
    pub good: Vec<f64>,
    /// Error over sigma at every station near the true edge.
    pub in_sigmas: Vec<f64>,
    /// Distance of the edge point from the nearest true one, stations of good quality.
    pub edge: Vec<f64>,
    /// Stations.
    pub stations: usize,
    /// Stations further than 25 mm in plan from the true edge.
    pub stray: usize,
    /// Share of the true edge with a station within 8 mm in plan.
    pub covered: f64,
}

impl Errors {
    pub fn bias(&self) -> f64 {
        self.good.iter().sum::<f64>() / self.good.len().max(1) as f64
    }

    pub fn rms(&self) -> f64 {
        (self.good.iter().map(|e| e * e).sum::<f64>() / self.good.len().max(1) as f64).sqrt()
    }

    pub fn p95(&self) -> f64 {
        quantile(self.good.iter().map(|e| e.abs()), 0.95)
    }

    pub fn edge_p95(&self) -> f64 {
        quantile(self.edge.iter().copied(), 0.95)
    }

    pub fn good_share(&self) -> f64 {
        self.good.len() as f64 / self.stations.max(1) as f64
    }

    pub fn within_two_sigma(&self) -> f64 {
        let inside = self.in_sigmas.iter().filter(|e| e.abs() <= 2.0).count();
        inside as f64 / self.in_sigmas.len().max(1) as f64
    }
}

pub fn quantile(values: impl Iterator<Item = f64>, q: f64) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    if values.is_empty() {
        return f64::NAN;
    }
    values[((values.len() - 1) as f64 * q).round() as usize]
}

/// Writes a simulated scan to a folder of its own and surveys it as a user would, with nothing decided.
pub fn survey_of(scan: &SimScan) -> Result<(Scene, Survey), gapwright::diag::Problem> {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    write_ply(&path("body.ply"), &scan.body).unwrap();
    write_ply(&path("tray.ply"), &scan.tray).unwrap();
    let options = ScanOptions {
        body: path("body.ply"),
        tray: path("tray.ply"),
        body_unit: Some(scan.unit),
        tray_unit: Some(scan.unit),
    };
    let scene = scan::read_scene(&options, &Progress::silent())?;
    let survey = gap::survey(&scene, &GapOptions::default(), &Progress::silent())?;
    Ok((scene, survey))
}

/// Compares in the vehicle frame: each station with the true edge nearest to it in plan.
pub fn compare(scene: &Scene, survey: &Survey, scan: &SimScan) -> Errors {
    let shop_to_scan = scene.body.to_shop.try_inverse().unwrap();
    let to_vehicle = scan.truth.scan_to_vehicle * shop_to_scan;
    let fine = finer(scan);
    let mut errors = Errors {
        stations: survey.stations.len(),
        ..Errors::default()
    };
    let mut places = Vec::new();
    for station in &survey.stations {
        let edge = to_vehicle.transform_point(&station.edge);
        let (off, true_edge, true_gap) = fine
            .iter()
            .map(|(p, gap)| ((p.xy() - edge.xy()).norm(), *p, *gap))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap();
        places.push(edge);
        if off > 25.0 {
            errors.stray += 1;
            continue;
        }
        let error = station.gap - true_gap;
        errors.in_sigmas.push(error / station.sigma);
        if station.quality == Quality::Good {
            errors.good.push(error);
            errors.edge.push((edge - true_edge).norm());
        }
    }
    let near = |p: &Point3| places.iter().any(|q| (q.xy() - p.xy()).norm() < 8.0);
    let truth = &scan.truth.stations;
    errors.covered = truth.iter().filter(|s| near(&s.edge)).count() as f64 / truth.len() as f64;
    errors
}

/// The true edge and gap, six times finer.
fn finer(scan: &SimScan) -> Vec<(Point3, f64)> {
    scan.truth
        .stations
        .windows(2)
        .flat_map(|w| {
            (0..6).map(move |i| {
                let t = f64::from(i) / 6.0;
                (
                    w[0].edge + (w[1].edge - w[0].edge) * t,
                    w[0].gap + (w[1].gap - w[0].gap) * t,
                )
            })
        })
        .collect()
}
