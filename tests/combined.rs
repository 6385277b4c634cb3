//! One scan that holds body, tray, floor, stand and tyre gives the gap of the separate crops.

#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use common::gap_fields::difference;
use common::sim::{Case, ScanQuality, SimScan, write_ply};
use gapwright::diag::Problem;
use gapwright::gap::{self, GapOptions, Survey};
use gapwright::progress::Progress;
use gapwright::scan::{self, Control, ScanOptions, Scene, Unit};
use std::path::Path;

fn survey(body: &Path, tray: &Path, unit: Unit) -> Result<(Scene, Survey), Problem> {
    let options = ScanOptions {
        conditions: gapwright::scan::Conditions::default(),
        body: body.to_path_buf(),
        tray: tray.to_path_buf(),
        body_unit: Some(unit),
        tray_unit: Some(unit),
        control: Control::default(),
    };
    let scene = scan::read_scene(&options, &Progress::silent())?;
    let survey = gap::survey(&scene, &GapOptions::default(), &Progress::silent())?;
    Ok((scene, survey))
}

fn check(name: &str, crops: [&Path; 2], combined: &Path, unit: Unit) {
    let apart = survey(crops[0], crops[1], unit).unwrap();
    let whole = survey(combined, combined, unit).unwrap_or_else(|p| panic!("{name}: {p}"));
    let (rms, share) = difference(&apart, &whole);
    let (back, share_back) = difference(&whole, &apart);
    assert!(rms < 0.5 && back < 0.5, "{name}: {rms} and {back} mm");
    assert!(
        share > 0.95 && share_back > 0.95,
        "{name}: {share}, {share_back}"
    );
    assert!(whole.0.placing.separated && !apart.0.placing.separated);
}

fn check_simulated(name: &str, scan: &SimScan) {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    write_ply(&path("body.ply"), &scan.body).unwrap();
    write_ply(&path("tray.ply"), &scan.tray).unwrap();
    write_ply(&path("combined.ply"), &scan.combined).unwrap();
    check(
        name,
        [&path("body.ply"), &path("tray.ply")],
        &path("combined.ply"),
        scan.unit,
    );
}

const PLAIN: ScanQuality = ScanQuality {
    noise: 1.5,
    voxel: 5.0,
    drift: 1.5,
};

#[test]
fn a_nose_scanned_whole_has_the_gap_of_its_crops() {
    check_simulated("nose", &Case::nose(31).scan(PLAIN));
}

#[test]
fn a_skirt_scanned_whole_has_the_gap_of_its_crops() {
    check_simulated("skirt", &Case::skirt(32).scan(PLAIN));
}

#[test]
fn a_tail_scanned_whole_has_the_gap_of_its_crops() {
    check_simulated("tail", &Case::tail(33).scan(PLAIN));
}

/// Seed points of a job, in the file's units: right ones change nothing, a swapped pair is refused by name.
#[test]
fn seed_points_in_a_job_are_held_to_what_they_lie_on() {
    let scan = Case::nose(31).scan(PLAIN);
    let folder = tempfile::tempdir().unwrap();
    write_ply(&folder.path().join("all.ply"), &scan.combined).unwrap();
    let to_file = scan.truth.scan_to_vehicle.try_inverse().unwrap();
    let middle = &scan.truth.stations[scan.truth.stations.len() / 2];
    let up = gapwright::math::Vector3::z();
    // A hand's breadth up the skin; and the tray's top 30 mm outside of the edge.
    let on_body = to_file.transform_point(&(middle.silhouette + up * 60.0));
    let on_tray = to_file.transform_point(&(middle.tray_below + middle.outward * 30.0));
    let run = |body: gapwright::math::Point3, tray: gapwright::math::Point3| {
        let job = folder.path().join("job.toml");
        let text = format!(
            "[scan]\nbody = \"all.ply\"\ntray = \"all.ply\"\nunit = \"{}\"\n\
             body_seed = [{:?}, {:?}, {:?}]\ntray_seed = [{:?}, {:?}, {:?}]\n",
            scan.unit.symbol(),
            body.x,
            body.y,
            body.z,
            tray.x,
            tray.y,
            tray.z
        );
        std::fs::write(&job, text).unwrap();
        let job = gapwright::job::Job::read(&job).unwrap();
        scan::read_scene(&job.scan, &Progress::silent())
    };
    assert!(run(on_body, on_tray).unwrap().placing.separated);
    let refused = run(on_tray, on_body).unwrap_err();
    assert!(refused.what.contains("_seed"), "{refused}");
}

#[test]
fn the_shared_nose_scanned_whole_has_the_gap_of_its_crops() {
    let Some(folder) = common::shared_folder().map(|s| s.join("cases/nose")) else {
        return;
    };
    let path = |name: &str| folder.join(name);
    if !path("combined.ply").is_file() {
        return;
    }
    check(
        "shared nose",
        [&path("body.ply"), &path("tray.ply")],
        &path("combined.ply"),
        Unit::Metre,
    );
}
