//! The panel's face against the raw edge of scans: how much quieter, and how true to what is really there.

#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::expect_used)]

mod common;

use common::against_truth::{TrueEdge, survey_files};
use gapwright::gap::{EdgeKind, Survey};
use gapwright::math::Point3;
use gapwright::mesh::TriMesh;
use gapwright::panel::{self, Panel, PanelOptions};
use gapwright::progress::Progress;
use gapwright::scan::Scene;
use std::path::Path;

/// Distance between the places looked at (mm).
const STEP: f64 = 5.0;

/// The lowest point of the scan itself in the station plane near the edge: what a ruler under the raw mesh
/// would find, with nothing of the survey but the place to look.
fn raw_edge(body: &TriMesh, survey: &Survey, s: f64) -> Option<(f64, f64)> {
    let frame = survey.spine.frame_at(s);
    let near = |a: f64| (a - s).abs();
    let station = survey.stations.iter().min_by(|a, b| near(a.s).total_cmp(&near(b.s)))?;
    let edge = frame.to_section(station.edge);
    let mut lowest: Option<(f64, f64)> = None;
    for t in 0..body.triangles.len() {
        let corners = body.corners(t);
        if corners.iter().all(|p| (p - station.edge).norm() > 40.0) {
            continue;
        }
        let off = corners.map(|p| (p - frame.origin).dot(&frame.along));
        for k in 0..3 {
            let (a, b) = (off[k], off[(k + 1) % 3]);
            if (a > 0.0) == (b > 0.0) {
                continue;
            }
            let p: Point3 = corners[k] + (corners[(k + 1) % 3] - corners[k]) * (a / (a - b));
            let flat = frame.to_section(p);
            if (flat.x - edge.x).abs() < 12.0 && (flat.y - edge.y).abs() < 15.0 {
                lowest = Some(match lowest {
                    Some(low) if low.1 <= flat.y => low,
                    _ => (flat.x, flat.y),
                });
            }
        }
    }
    lowest
}

fn rms(values: &[f64]) -> f64 {
    (values.iter().map(|v| v * v).sum::<f64>() / values.len().max(1) as f64).sqrt()
}

/// Root mean square of second differences over equal steps, of the stretches that have values.
fn second_difference(values: &[Option<f64>], keep: impl Fn(usize) -> bool) -> f64 {
    let bends: Vec<f64> = values
        .windows(3)
        .enumerate()
        .filter(|(i, _)| keep(i + 1))
        .filter_map(|(_, w)| Some(w[0]? - 2.0 * w[1]? + w[2]?))
        .collect();
    rms(&bends)
}

/// Height of the panel's knee or land and offset of its face at an arc length, between its sections.
fn line_of(panel: &Panel, s: f64) -> Option<(f64, f64)> {
    let k = panel.sections.partition_point(|section| section.s < s);
    let (a, b) = (panel.sections.get(k.checked_sub(1)?)?, panel.sections.get(k)?);
    let share = (s - a.s) / (b.s - a.s);
    let p = a.outline[4] + (b.outline[4] - a.outline[4]) * share;
    Some((p.x, p.y))
}

fn made(folder: &Path) -> (Scene, Survey, Panel) {
    let (scene, survey) = survey_files(folder, None).unwrap();
    let panel = panel::design(&survey, &PanelOptions::default(), &Progress::silent()).unwrap();
    (scene, survey, panel)
}

#[test]
fn the_face_is_ten_times_quieter_than_the_raw_edge() {
    let Some(shared) = common::shared_folder() else {
        println!("skipped: no shared cases beside the repository");
        return;
    };
    for name in ["nose", "skirt", "tail"] {
        let (scene, survey, panel) = made(&shared.join("cases").join(name));
        let count = (survey.spine.length() / STEP) as usize;
        let at = |i: usize| STEP * i as f64;
        let raw: Vec<_> = (0..=count).map(|i| raw_edge(&scene.body.mesh, &survey, at(i))).collect();
        let line: Vec<_> = (0..=count).map(|i| line_of(&panel, at(i))).collect();
        // Real steps and notches: where the stations 10 mm to either side differ by over 4 mm in height.
        let height = |s: f64| {
            let near = |a: f64| (a - s).abs();
            let station = survey.stations.iter().min_by(|a, b| near(a.s).total_cmp(&near(b.s)));
            station.unwrap().edge.z
        };
        let steps: Vec<f64> = (0..=count)
            .map(at)
            .filter(|s| (height(s - 10.0) - height(s + 10.0)).abs() > 4.0)
            .collect();
        let keep = |i: usize| {
            let s = at(i);
            s > 15.0 && s < at(count) - 15.0 && steps.iter().all(|step| (step - s).abs() > 40.0)
        };
        let pick = |values: &[Option<(f64, f64)>], axis: fn((f64, f64)) -> f64| {
            let column: Vec<_> = values.iter().map(|v| v.map(axis)).collect();
            second_difference(&column, keep)
        };
        for (axis, pick_axis) in [("across", (|p| p.0) as fn((f64, f64)) -> f64), ("height", |p| p.1)] {
            let (a, b) = (pick(&raw, pick_axis), pick(&line, pick_axis));
            println!("{name} {axis}: raw {a:.3} mm, face {b:.4} mm, {:.1} times; {:?}; {} steps", a / b, panel.fairness, steps.len());
        }
        let worst = (0..=count).filter(|&i| keep(i)).filter_map(|i| {
            Some(((line.get(i-1)?.as_ref()?.1 - 2.0*line[i].as_ref()?.1 + line.get(i+1)?.as_ref()?.1).abs(), at(i)))
        }).max_by(|a,b| a.0.total_cmp(&b.0));
        println!("  worst {worst:?}");
    }
}

#[test]
fn steps_and_notches_are_kept() {
    let Some(shared) = common::shared_folder() else {
        println!("skipped: no shared cases beside the repository");
        return;
    };
    let folders = [shared.join("cases/skirt"), Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes/skirt")];
    for folder in folders {
        let (scene, survey, panel) = made(&folder);
        assert_eq!(survey.edge_kind, EdgeKind::Cut);
        let truth = TrueEdge::of_shared(&folder);
        let to_vehicle = truth.from_scan * scene.body.to_shop.try_inverse().unwrap();
        let to_shop = to_vehicle.try_inverse().unwrap();
        let points: Vec<(f64, f64)> = truth.points.iter().map(|(p, _)| {
            let q = to_shop.transform_point(p);
            (survey.spine.locate(q.xy()).0, q.z)
        }).collect();
        // print the run
        let mut rows = Vec::new();
        for s in (10..survey.spine.length() as usize - 10).step_by(5) {
            let s = s as f64;
            let Some((_, z)) = line_of(&panel, s) else { continue };
            let k = points.partition_point(|p| p.0 < s);
            if k == 0 || k >= points.len() { continue; }
            let st = survey.stations.iter().min_by(|a,b| (a.s-s).abs().total_cmp(&(b.s-s).abs())).unwrap();
            rows.push((s, z + 1.0, points[k].1, st.edge.z));
        }
        for w in &rows { println!("{:.0} line+1 {:.2} truth {:.2} station {:.2} d {:.2}", w.0, w.1, w.2, w.3, w.1-w.2); }
    }
}
