//! A survey held against the truth of a simulated scan.

#![allow(clippy::unwrap_used)]

use super::sim::{SimScan, write_ply};
use gapwright::diag::Problem;
use gapwright::gap::seal::Room;
use gapwright::gap::verdict::Verdict;
use gapwright::gap::{self, GapOptions, Quality, Survey};
use gapwright::math::Point3;
use gapwright::progress::Progress;
use gapwright::scan::{self, ScanOptions, Scene, Unit};
use nalgebra::Matrix4;
use serde_json::Value;
use std::path::Path;

/// Gap errors (found less true, mm) and what goes with them.
#[derive(Debug, Clone, Default)]
pub struct Errors {
    /// Error at each station of good quality.
    pub good: Vec<f64>,
    /// Arc length and error of every station near the true edge, in order.
    pub along: Vec<(f64, f64)>,
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
pub fn survey_of(scan: &SimScan) -> Result<(Scene, Survey), Problem> {
    let folder = tempfile::tempdir().unwrap();
    write_ply(&folder.path().join("body.ply"), &scan.body).unwrap();
    write_ply(&folder.path().join("tray.ply"), &scan.tray).unwrap();
    survey_files(folder.path(), Some(scan.unit))
}

/// Surveys `body.ply` and `tray.ply` of a folder with nothing decided but, perhaps, the unit.
pub fn survey_files(folder: &Path, unit: Option<Unit>) -> Result<(Scene, Survey), Problem> {
    let options = ScanOptions {
        conditions: gapwright::scan::Conditions::default(),
        body: folder.join("body.ply"),
        tray: folder.join("tray.ply"),
        body_unit: unit,
        tray_unit: unit,
        control: scan::Control::default(),
    };
    let scene = scan::read_scene(&options, &Progress::silent())?;
    let survey = gap::survey(&scene, &GapOptions::default(), &Progress::silent())?;
    Ok((scene, survey))
}

/// The true edge, with the gap at each point, in a frame of its own.
pub struct TrueEdge {
    /// Edge and gap, in order (mm).
    pub points: Vec<(Point3, f64)>,
    /// File units to the frame of the points.
    pub from_scan: Matrix4<f64>,
}

impl TrueEdge {
    /// Of a simulated scan.
    pub fn of(scan: &SimScan) -> Self {
        let points = scan
            .truth
            .stations
            .iter()
            .map(|s| (s.edge, s.gap))
            .collect();
        Self {
            points,
            from_scan: scan.truth.scan_to_vehicle,
        }
    }

    /// Of a folder with a `truth.json`: a shared case, or one of the repository's own samples.
    pub fn of_folder(folder: &Path) -> Self {
        if folder.join("scan_truth.json").exists() {
            return Self::of_shared(folder);
        }
        Self::read(folder, |json| json("truth.json")["scan_to_vehicle"].clone())
    }

    /// Of a shared case: `truth.json` and `scan_truth.json` in its folder.
    pub fn of_shared(folder: &Path) -> Self {
        Self::read(folder, |json| {
            json("scan_truth.json")["scans"]["body"]["scan_to_vehicle"].clone()
        })
    }

    fn read(folder: &Path, pose: impl Fn(&dyn Fn(&str) -> Value) -> Value) -> Self {
        let json = |name: &str| -> Value {
            serde_json::from_slice(&std::fs::read(folder.join(name)).unwrap()).unwrap()
        };
        let numbers = |v: &Value| -> Vec<f64> {
            v.as_array()
                .unwrap()
                .iter()
                .map(|n| n.as_f64().unwrap())
                .collect()
        };
        let points = json("truth.json")["stations"]
            .as_array()
            .unwrap()
            .iter()
            .map(|s| {
                let e = numbers(&s["edge"]);
                (
                    Point3::new(e[0], e[1], e[2]),
                    s["gap_tray_normal"].as_f64().unwrap(),
                )
            })
            .collect();
        let rows = pose(&json);
        let rows: Vec<f64> = rows.as_array().unwrap().iter().flat_map(numbers).collect();
        Self {
            points,
            from_scan: Matrix4::from_row_slice(&rows),
        }
    }

    /// Six times finer.
    fn finer(&self) -> Vec<(Point3, f64)> {
        self.points
            .windows(2)
            .flat_map(|w| {
                (0..6).map(move |i| {
                    let t = f64::from(i) / 6.0;
                    (
                        w[0].0 + (w[1].0 - w[0].0) * t,
                        w[0].1 + (w[1].1 - w[0].1) * t,
                    )
                })
            })
            .collect()
    }
}

/// The verdict that the true errors (arc length, found less true gap) deserve: go if 95 % of them are
/// within the room, shim if they are once the best straight line is taken out and the room is shared
/// evenly, else rescan.
pub fn judge_errors(errors: &[(f64, f64)], room: Room) -> Verdict {
    let fits = |values: &[f64], opens: f64, closes: f64| {
        let inside = values.iter().filter(|&&e| -e <= opens && e <= closes);
        inside.count() as f64 >= 0.95 * values.len() as f64
    };
    let off: Vec<f64> = errors.iter().map(|e| e.1).collect();
    if fits(&off, room.opens, room.closes) {
        return Verdict::Go;
    }
    let n = errors.len().max(1) as f64;
    let mean = |value: &dyn Fn(&(f64, f64)) -> f64| errors.iter().map(value).sum::<f64>() / n;
    let (s, e) = (mean(&|p| p.0), mean(&|p| p.1));
    let spread = mean(&|p| (p.0 - s).powi(2)).max(1e-9);
    let slope = mean(&|p| (p.0 - s) * (p.1 - e)) / spread;
    let left: Vec<f64> = errors.iter().map(|p| p.1 - e - slope * (p.0 - s)).collect();
    if fits(&left, room.half(), room.half()) {
        Verdict::Shim
    } else {
        Verdict::Rescan
    }
}

/// Compares in the truth's frame: each station with the true edge nearest to it in plan.
pub fn compare(scene: &Scene, survey: &Survey, truth: &TrueEdge) -> Errors {
    let shop_to_scan = scene.body.to_shop.try_inverse().unwrap();
    let to_vehicle = truth.from_scan * shop_to_scan;
    let fine = truth.finer();
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
        errors.along.push((station.s, error));
        errors.in_sigmas.push(error / station.sigma);
        if station.quality == Quality::Good {
            errors.good.push(error);
            errors.edge.push((edge - true_edge).norm());
        }
    }
    let near = |p: &Point3| places.iter().any(|q| (q.xy() - p.xy()).norm() < 8.0);
    let seen = truth.points.iter().filter(|s| near(&s.0)).count();
    errors.covered = seen as f64 / truth.points.len() as f64;
    errors
}
