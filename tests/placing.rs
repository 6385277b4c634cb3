//! Scans in two poses and out of scale, with named points and tape lengths, as a maker would hand them in.

#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use common::gap_fields::difference_between;
use common::sim::{Case, Random, ScanQuality, SimScan, write_ply};
use gapwright::diag::Problem;
use gapwright::gap::{self, GapOptions, Survey};
use gapwright::math::Vector3;
use gapwright::mesh::TriMesh;
use gapwright::progress::Progress;
use gapwright::scan::control::{KnownDistance, NamedPoint, Part};
use gapwright::scan::{self, Control, ScanOptions, Scene, Unit};
use nalgebra::Matrix4;

const QUALITY: ScanQuality = ScanQuality {
    noise: 1.0,
    voxel: 5.0,
    drift: 0.5,
};
/// A pick is good to this along each direction (mm).
const PICK: f64 = 2.0;

/// One vehicle scanned twice, each time in a pose of its own.
fn two_scans(seed: u64) -> [SimScan; 2] {
    let mut case = Case::nose(seed);
    let first = case.scan(QUALITY);
    case.seed += 1000;
    [first, case.scan(QUALITY)]
}

/// Five points of the vehicle, picked in a scan: three on the edge, two on the tray.
fn picks(scan: &SimScan, random: &mut Random) -> Vec<NamedPoint> {
    let to_scan = scan.truth.scan_to_vehicle.try_inverse().unwrap();
    let stations = &scan.truth.stations;
    let at = |share: f64| &stations[(share * (stations.len() - 1) as f64) as usize];
    let spots = [
        at(0.05).edge,
        at(0.5).edge,
        at(0.95).edge,
        at(0.2).tray_below - 60.0 * at(0.2).outward,
        at(0.75).tray_below,
    ];
    let names = ["left", "front", "right", "inboard", "rivet"];
    names
        .iter()
        .zip(spots)
        .map(|(name, p)| NamedPoint {
            name: (*name).to_owned(),
            at: to_scan.transform_point(&(p + Vector3::from_fn(|_, _| PICK * random.normal()))),
        })
        .collect()
}

/// The three longest ways between the points on the edge, by tape.
fn distances(scan: &SimScan, part: Part) -> Vec<KnownDistance> {
    let stations = &scan.truth.stations;
    let at = |share: f64| stations[(share * (stations.len() - 1) as f64) as usize].edge;
    [
        ("left", "right", (at(0.95) - at(0.05)).norm()),
        ("left", "front", (at(0.5) - at(0.05)).norm()),
        ("front", "right", (at(0.95) - at(0.5)).norm()),
    ]
    .map(|(from, to, mm)| KnownDistance {
        scan: part,
        from: from.to_owned(),
        to: to.to_owned(),
        mm,
    })
    .to_vec()
}

fn run(
    body: &TriMesh,
    tray: &TriMesh,
    unit: Unit,
    control: Control,
) -> Result<(Scene, Survey), Problem> {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    write_ply(&path("body.ply"), body).unwrap();
    write_ply(&path("tray.ply"), tray).unwrap();
    let options = ScanOptions {
        conditions: gapwright::scan::Conditions::default(),
        body: path("body.ply"),
        tray: path("tray.ply"),
        body_unit: Some(unit),
        tray_unit: Some(unit),
        control,
    };
    let scene = scan::read_scene(&options, &Progress::silent())?;
    let survey = gap::survey(&scene, &GapOptions::default(), &Progress::silent())?;
    Ok((scene, survey))
}

/// Files before to files after [`shrink`].
fn shrunk() -> Matrix4<f64> {
    Matrix4::new_scaling(1.0 / 1.012)
}

/// Makes a scan 1.2 % too small.
fn shrink(scan: &mut SimScan) {
    for mesh in [&mut scan.body, &mut scan.tray, &mut scan.combined] {
        for p in &mut mesh.points {
            p.coords /= 1.012;
        }
    }
    scan.truth.scan_to_vehicle *= Matrix4::new_scaling(1.012);
}

#[test]
fn two_poses_and_a_wrong_scale_give_the_gap_all_the_same() {
    let [mut first, second] = two_scans(41);
    let unit = first.unit;
    let alone = run(&first.body, &first.tray, unit, Control::default()).unwrap();
    shrink(&mut first);
    let mut random = Random::new(41, 5);
    let mut control = Control {
        body_points: picks(&first, &mut random),
        tray_points: picks(&second, &mut random),
        distances: distances(&first, Part::Body),
        ..Control::default()
    };
    let (scene, survey) = run(
        &first.combined,
        &second.combined,
        first.unit,
        control.clone(),
    )
    .unwrap();
    let scale = scene.placing.body_scale.as_ref().unwrap();

    assert!(
        (scale.factor - 1.012).abs() <= 2.0 * scale.sigma,
        "{} with {}",
        scale.factor,
        scale.sigma
    );
    assert!(scene.findings.iter().any(|f| f.code == "aligned"));
    let alignment = scene.placing.alignment.as_ref().unwrap();
    assert!(alignment.pairs == 5 && alignment.overlap > 0.5);
    // The same vehicle by the first scan alone, before it was shrunk.
    let (rms, share) = difference_between(&alone, &(scene, survey), &shrunk());
    assert!(rms < 1.0 && share > 0.9, "{rms} mm over {share}");

    // A bad pick is found and named.
    control.tray_points[4].at += Vector3::new(80.0, 0.0, 0.0) / second.unit.millimetres();
    let (scene, _) = run(
        &first.combined,
        &second.combined,
        first.unit,
        control.clone(),
    )
    .unwrap();
    let told = scene.findings.iter().find(|f| f.code == "pair-left-out");
    assert!(told.is_some_and(|f| f.what.contains("rivet")), "{told:?}");

    // Tape lengths in inches, and too few pairs.
    for d in &mut control.distances {
        d.mm /= 25.4;
    }
    let problem = run(
        &first.combined,
        &second.combined,
        first.unit,
        control.clone(),
    )
    .unwrap_err();
    assert!(problem.what.contains("mistaken unit"), "{problem}");
    control.distances.clear();
    control.tray_points.truncate(2);
    let problem = run(&first.combined, &second.combined, unit, control).unwrap_err();
    assert!(problem.what.contains("2 points are named"), "{problem}");
}

#[test]
fn scans_in_one_pose_share_one_scale() {
    let mut scan = Case::nose(42).scan(QUALITY);
    let alone = run(&scan.body, &scan.tray, scan.unit, Control::default()).unwrap();
    shrink(&mut scan);
    let points = picks(&scan, &mut Random::new(42, 5));
    let control = Control {
        body_points: points.clone(),
        tray_points: points,
        distances: distances(&scan, Part::Body),
        ..Control::default()
    };
    let (scene, survey) = run(&scan.body, &scan.tray, scan.unit, control).unwrap();
    let placing = &scene.placing;

    assert!(placing.alignment.is_none() && placing.body_scale == placing.tray_scale);
    let (rms, share) = difference_between(&alone, &(scene, survey), &shrunk());
    assert!(rms < 0.3 && share > 0.9, "{rms} mm over {share}");
}
