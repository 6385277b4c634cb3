//! Scans brought into one pose, held against published poses and against simulated truth.

#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use common::overlapping::{compare, pair_of_scans};
use gapwright::math::Point3;
use gapwright::math::rigid_fit::{Size, fit_similarity};
use gapwright::mesh::TriMesh;
use gapwright::scan::align::{AlignFault, align};
use gapwright::scan::read::read_mesh;
use nalgebra::{Isometry3, Matrix3, Quaternion, Translation3, UnitQuaternion, Vector3};
use std::path::{Path, PathBuf};

/// The shared folder `real/NAME`, where it is there.
fn real(name: &str) -> Option<PathBuf> {
    common::shared_folder()
        .map(|s| s.join("real").join(name))
        .filter(|p| p.is_dir())
}

fn numbers(text: &str) -> Vec<f64> {
    text.split([',', '\n', ' '])
        .filter_map(|w| w.trim().parse().ok())
        .collect()
}

/// The points of a text PLY without faces.
fn points(path: &Path) -> Vec<Point3> {
    let text = std::fs::read_to_string(path).unwrap();
    let (_, values) = text.split_once("end_header").unwrap();
    numbers(values)
        .chunks_exact(3)
        .map(|c| Point3::new(c[0], c[1], c[2]))
        .collect()
}

/// The TEASER++ benchmark's first case: scale, rotation and shift as published beside the points.
#[test]
fn published_pairs_give_the_published_similarity() {
    let Some(folder) = real("similarity") else {
        return;
    };
    let from = points(&folder.join("b1_src.ply"));
    let to = points(&folder.join("b1_dst.ply"));
    let pairs: Vec<_> = from.into_iter().zip(to).collect();
    assert_eq!(pairs.len(), 10);
    let fit = fit_similarity(&pairs, Size::Fitted).unwrap();
    let published = |what: &str| {
        numbers(&std::fs::read_to_string(folder.join(format!("b1_{what}_ref.csv"))).unwrap())
    };
    // The points are given to 15 places, the noise is zero.
    assert!((fit.scale - published("s")[0]).abs() < 1e-9);
    assert!((fit.turn - Matrix3::from_row_slice(&published("R"))).norm() < 1e-9);
    assert!((fit.shift - Vector3::from_row_slice(&published("t"))).norm() < 1e-9);
    assert!(fit.mean_square < 1e-18);
}

struct Bunny {
    mesh: TriMesh,
    pose: Isometry3<f64>,
}

/// A range scan of the Stanford bunny in mm, with its published pose. The convention was found by
/// measuring: the conjugate of the quaternion in `bun.conf` turns.
fn bunny(name: &str) -> Option<Bunny> {
    let folder = real("bunny")?;
    let mut mesh = read_mesh(&folder.join(name)).unwrap().mesh;
    for p in &mut mesh.points {
        p.coords *= 1000.0;
    }
    let conf = std::fs::read_to_string(folder.join("bun.conf")).unwrap();
    let line = conf.lines().find(|l| l.contains(name)).unwrap();
    let v = numbers(line);
    let turn = UnitQuaternion::from_quaternion(Quaternion::new(v[6], v[3], v[4], v[5])).inverse();
    let shift = Translation3::from(1000.0 * Vector3::new(v[0], v[1], v[2]));
    Some(Bunny {
        mesh,
        pose: Isometry3::from_parts(shift, turn),
    })
}

fn middle(mesh: &TriMesh) -> Point3 {
    let sum: Vector3<f64> = mesh.points.iter().map(|p| p.coords).sum();
    Point3::from(sum / mesh.points.len() as f64)
}

/// A start off by `degrees` about `axis` and by 20 mm along `shift`, about the middle of the scan.
fn off(bunny: &Bunny, degrees: f64, axis: Vector3<f64>, shift: Vector3<f64>) -> Isometry3<f64> {
    let c = (bunny.pose * middle(&bunny.mesh)).coords;
    let turn = UnitQuaternion::from_scaled_axis(axis.normalize() * degrees.to_radians());
    Translation3::from(c + 20.0 * shift.normalize()) * turn * Translation3::from(-c) * bunny.pose
}

#[test]
fn a_real_scan_comes_back_to_its_published_pose() {
    let (Some(fixed), Some(moving)) = (bunny("bun000.ply"), bunny("bun045.ply")) else {
        return;
    };
    for (axis, shift) in [
        (Vector3::new(1.0, 1.0, 0.3), Vector3::new(1.0, -0.5, 0.5)),
        (Vector3::y(), Vector3::x()),
        (Vector3::new(0.0, -1.0, 1.0), Vector3::new(-1.0, 1.0, -1.0)),
    ] {
        let start = off(&moving, 15.0, axis, shift);
        let got = align(&fixed.mesh, &moving.mesh, &start, 40.0).unwrap();
        let apart: f64 = moving
            .mesh
            .points
            .iter()
            .map(|p| (got.pose * p - moving.pose * p).norm_squared())
            .sum();
        let rms = (apart / moving.mesh.points.len() as f64).sqrt();
        assert!(rms < 0.5, "{rms} mm from the published pose");
        assert!(got.overlap > 0.7, "{}", got.overlap);
    }
}

#[test]
fn a_real_scan_from_behind_is_refused() {
    let (Some(fixed), Some(behind)) = (bunny("bun000.ply"), bunny("bun180.ply")) else {
        return;
    };
    let starts = [
        behind.pose,
        off(&behind, 15.0, Vector3::y(), Vector3::x()),
        off(&behind, 15.0, Vector3::new(1.0, 1.0, 0.3), Vector3::z()),
        Isometry3::identity(),
    ];
    for start in starts {
        let got = align(&fixed.mesh, &behind.mesh, &start, 40.0);
        assert!(matches!(got, Err(AlignFault::Apart { .. })), "{got:?}");
    }
}

/// Smaller than what `bench/align_accuracy.rs` tries, with the same bars.
#[test]
fn noisy_scans_that_share_forty_percent_are_aligned() {
    for seed in [1, 2] {
        let pair = pair_of_scans(1500.0, 5.0, seed);
        let got = align(&pair.fixed, &pair.moving, &pair.start, 25.0).unwrap();
        let (turn, shift) = compare(&pair, &got);
        assert!(turn < 0.02, "{turn} degrees");
        assert!(shift < 0.2, "{shift} mm");
        // 40 % shared, less the fifth that is debris.
        assert!((0.25..0.4).contains(&got.overlap), "{}", got.overlap);
        // 0.5 mm in each scan.
        assert!((0.5..0.8).contains(&got.residual_mm), "{}", got.residual_mm);
    }
}
