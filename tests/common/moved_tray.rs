//! The tray moved fore and aft, against the true tray moved as far.

#![allow(clippy::print_stdout, clippy::unwrap_used)]

use super::sim::to_parry;
use gapwright::gap::position::move_tray;
use gapwright::gap::{Quality, Survey};
use gapwright::math::Vector3;
use gapwright::mesh::TriMesh;
use gapwright::mesh::topology::find_pieces;
use gapwright::scan::Scene;
use nalgebra::Matrix4;
use parry3d_f64::math::Vector;
use parry3d_f64::query::{Ray, RayCast};

/// How far the change of the gap that a way of the tray (shop frame, mm) brings is off at each station
/// that is not bridged (mm). What the survey of the scanned position is off by is left out: that is told
/// by its own comparison.
///
/// `truth` is the true tray, and `from_scan` takes file units to its frame.
pub fn change_errors(
    (scene, survey): (&Scene, &Survey),
    truth: &TriMesh,
    from_scan: Matrix4<f64>,
    way: Vector3,
) -> Vec<f64> {
    let to_shop = scene.body.to_shop * from_scan.try_inverse().unwrap();
    let mut tray = largest_piece(truth);
    for p in &mut tray.points {
        *p = to_shop.transform_point(p);
    }
    let tray = to_parry(&tray);
    let moved = move_tray(survey, &scene.tray.mesh, scene.tray.spacing_mm, way).unwrap();
    let true_gap = |station: &gapwright::gap::Station, way: Vector3| {
        let from = station.edge - way + station.tray_normal * 50.0;
        let [from, down] = [from.coords, -station.tray_normal].map(|v| Vector::new(v.x, v.y, v.z));
        let hit = tray.cast_local_ray(&Ray::new(from, down), 500.0, false);
        Some(hit? - 50.0)
    };
    (survey.stations.iter().zip(&moved.stations))
        .filter(|(_, after)| after.quality != Quality::Bridged)
        .filter_map(|(before, after)| {
            let true_change = true_gap(after, way)? - true_gap(before, Vector3::zeros())?;
            Some(after.gap - before.gap - true_change)
        })
        .collect()
}

/// The sheet itself: what stands on the tray is no part of the gap.
fn largest_piece(mesh: &TriMesh) -> TriMesh {
    let (pieces, count) = find_pieces(mesh);
    let mut sizes = vec![0; count];
    pieces.iter().for_each(|&piece| sizes[piece as usize] += 1);
    let largest = (0..count).max_by_key(|&piece| sizes[piece]).unwrap();
    let triangles = mesh.triangles.iter().zip(&pieces);
    TriMesh {
        points: mesh.points.clone(),
        triangles: triangles
            .filter(|(_, piece)| **piece as usize == largest)
            .map(|(t, _)| *t)
            .collect(),
    }
}

/// Asserts that the change is known to 0.3 mm root mean square for 25 and 50 mm along `forward`.
pub fn hold_moved(
    name: &str,
    surveyed: (&Scene, &Survey),
    truth: &TriMesh,
    from_scan: Matrix4<f64>,
    forward: Vector3,
) {
    for mm in [25.0, 50.0] {
        let errors = change_errors(surveyed, truth, from_scan, forward * mm);
        let rms = (errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64).sqrt();
        let worst = errors.iter().fold(0.0, |worst: f64, e| worst.max(e.abs()));
        let say = format!(
            "{name} moved {mm} mm: RMS {rms:.2}, worst {worst:.2} mm at {} stations",
            errors.len()
        );
        println!("{say}");
        assert!(2 * errors.len() > surveyed.1.stations.len(), "{say}");
        assert!(rms <= 0.3, "{say}");
    }
}
