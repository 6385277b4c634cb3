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

/// What is read off a line along the spine.
type Measure<'a> = dyn Fn(&dyn Fn(f64) -> f64) -> f64 + 'a;

/// Distance between the places looked at (mm).
const STEP: f64 = 5.0;

/// The lowest point of the scan itself in the station plane near the edge: what a ruler under the raw mesh
/// would find, with nothing of the survey but the place to look.
fn raw_edge(body: &TriMesh, survey: &Survey, s: f64) -> Option<(f64, f64)> {
    let frame = survey.spine.frame_at(s);
    let near = |a: f64| (a - s).abs();
    let station = survey
        .stations
        .iter()
        .min_by(|a, b| near(a.s).total_cmp(&near(b.s)))?;
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

/// The largest second difference over equal steps.
fn worst_bend(
    values: &[Option<(f64, f64)>],
    of: fn((f64, f64)) -> f64,
    keep: &impl Fn(usize) -> bool,
) -> f64 {
    values
        .windows(3)
        .enumerate()
        .filter(|(i, _)| keep(i + 1))
        .filter_map(|(_, w)| Some(of(w[0]?) - 2.0 * of(w[1]?) + of(w[2]?)))
        .fold(0.0, |worst, bend| worst.max(bend.abs()))
}

/// Height of the panel's knee or land and offset of its face at an arc length, between its sections.
fn line_of(panel: &Panel, s: f64) -> Option<(f64, f64)> {
    let k = panel.sections.partition_point(|section| section.s < s);
    let (a, b) = (
        panel.sections.get(k.checked_sub(1)?)?,
        panel.sections.get(k)?,
    );
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
        let raw: Vec<_> = (0..=count)
            .map(|i| raw_edge(&scene.body.mesh, &survey, at(i)))
            .collect();
        let line: Vec<_> = (0..=count).map(|i| line_of(&panel, at(i))).collect();
        // Real steps and notches: where the stations 10 mm to either side differ by over 4 mm in height.
        let height = |s: f64| {
            let near = |a: f64| (a - s).abs();
            let station = survey
                .stations
                .iter()
                .min_by(|a, b| near(a.s).total_cmp(&near(b.s)));
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
        for (axis, of) in [
            ("across", (|p| p.0) as fn((f64, f64)) -> f64),
            ("height", |p| p.1),
        ] {
            let (rough, fair) = (pick(&raw, of), pick(&line, of));
            println!("{name} {axis}: raw {rough:.3} mm, face {fair:.4} mm");
            assert!(
                rough > 0.1 && 10.0 * fair < rough,
                "{name} {axis}: {rough} {fair}"
            );
            // Nor is there one place where it kinks: the worst single bend stays under a tenth as well.
            let kink = worst_bend(&line, of, &keep);
            println!("{name} {axis}: worst bend of the face {kink:.4} mm");
            assert!(10.0 * kink < rough, "{name} {axis}: {rough} {kink}");
        }
        println!("{name}: {:?}", panel.fairness);
        assert!(panel.fairness.rms_mm < 1.3 && panel.fairness.most_mm > 0.0);
    }
}

/// A feature of a line of heights: the arc length it begins and ends at, and how much higher it is than
/// what lies beside it.
fn rise(heights: &dyn Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    let level = |from: f64, to: f64| {
        (0..=20)
            .map(|i| heights(from + (to - from) * f64::from(i) / 20.0))
            .sum::<f64>()
            / 21.0
    };
    let beside = 0.5 * (level(from - 45.0, from - 15.0) + level(to + 15.0, to + 45.0));
    level(from + 15.0, to - 15.0) - beside
}

/// How much a line of heights steps up at an arc length: the difference of its means from 12 to 50 mm to
/// either side.
fn step(heights: &dyn Fn(f64) -> f64, at: f64) -> f64 {
    let mean = |from: f64| (0..=38).map(|i| heights(from + f64::from(i))).sum::<f64>() / 39.0;
    mean(at + 12.0) - mean(at - 50.0)
}

/// Where heights pass halfway between those 12 mm to either side of a place, within that.
fn crossing(heights: &dyn Fn(f64) -> f64, at: f64) -> f64 {
    let half = 0.5 * (heights(at - 12.0) + heights(at + 12.0));
    let up = heights(at + 12.0) > heights(at - 12.0);
    (-120..=120)
        .map(|i| at + 0.1 * f64::from(i))
        .find(|&s| (heights(s) > half) == up)
        .unwrap_or(f64::NAN)
}

#[test]
fn steps_and_notches_are_kept() {
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes/skirt")];
    match common::shared_folder() {
        Some(shared) => folders.push(shared.join("cases/skirt")),
        None => println!("shared case skipped: none beside the repository"),
    }
    for folder in folders {
        let (scene, survey, panel) = made(&folder);
        assert_eq!(survey.edge_kind, EdgeKind::Cut);
        let truth = TrueEdge::of_folder(&folder);
        let to_vehicle = truth.from_scan * scene.body.to_shop.try_inverse().unwrap();
        let to_shop = to_vehicle.try_inverse().unwrap();
        let points: Vec<(f64, f64)> = truth
            .points
            .iter()
            .map(|(p, _)| {
                let q = to_shop.transform_point(p);
                (survey.spine.locate(q.xy()).0, q.z)
            })
            .collect();
        let real = |s: f64| {
            let pair = points
                .windows(2)
                .find(|w| (w[0].0 - s) * (w[1].0 - s) <= 0.0);
            let w = pair.expect("the true edge runs past the feature");
            w[0].1 + (w[1].1 - w[0].1) * (s - w[0].0) / (w[1].0 - w[0].0)
        };
        let line = |s: f64| {
            line_of(&panel, s)
                .expect("the panel runs past the feature")
                .1
        };
        // The true edge's own jumps of over 5 mm within 10 mm.
        let mut jumps: Vec<f64> = Vec::new();
        let length = survey.spine.length();
        for i in 6..(length / 10.0) as usize - 6 {
            let s = 10.0 * i as f64;
            if (real(s + 5.0) - real(s - 5.0)).abs() > 3.0
                && jumps.last().is_none_or(|j| s - j > 25.0)
            {
                jumps.push(crossing(&real, s));
            }
        }
        println!("{}: jumps at {jumps:.1?}", folder.display());
        assert_eq!(jumps.len(), 3, "a step and the two ends of a notch");
        for &jump in &jumps {
            let off = crossing(&line, jump) - jump;
            println!("  at {jump:.0}: {off:+.1} mm along");
            assert!(off.abs() < 6.0, "{jump}: {off}");
        }
        let two = |i: usize| (jumps[i + 1] - jumps[i]).abs() < 120.0;
        let (at, from, to) = if two(0) {
            (jumps[2], jumps[0], jumps[1])
        } else {
            (jumps[0], jumps[1], jumps[2])
        };
        let seen = |s: f64| {
            let k = survey.stations.partition_point(|station| station.s < s);
            let (p, q) = (&survey.stations[k - 1], &survey.stations[k]);
            p.edge.z + (q.edge.z - p.edge.z) * (s - p.s) / (q.s - p.s)
        };
        let measures: [(&str, f64, &Measure<'_>); 2] = [
            ("step", 4.0, &|h| step(h, at)),
            ("notch", 15.0, &|h| rise(h, from, to)),
        ];
        for (name, least, measure) in measures {
            let (meant, surveyed, kept) = (measure(&real), measure(&seen), measure(&line));
            println!("  {name} {meant:.2} mm, surveyed {surveyed:.2} mm, kept as {kept:.2} mm");
            assert!(meant.abs() > least, "{name} {meant}");
            assert!((kept - surveyed).abs() < 0.75, "{name}: {surveyed} {kept}");
            assert!((kept - meant).abs() < 1.5, "{name}: {meant} {kept}");
        }
    }
}
