//! The scan simulator itself: exact surfaces, honest noise, the same bytes every time.

#![allow(clippy::expect_used)]

#[path = "common/sim/mod.rs"]
mod sim;

use gapwright::math::{Point3, Vector3};
use gapwright::mesh::TriMesh;
use parry3d_f64::math::Vector;
use parry3d_f64::query::PointQuery;
use sim::{Bend, Case, Edge, EdgeKind, GapLaw, Plan, ScanQuality, Section, SimScan, to_parry};
use std::collections::HashMap;

/// A vehicle with one bend, an even gap and a flat tray.
fn plain(length: f64, curvature: f64, section: Section) -> Case {
    let mut case = Case::skirt(3);
    let v = &mut case.vehicle;
    v.plan = Plan::new(
        &[Bend {
            length,
            from: curvature,
            to: curvature,
        }],
        0.0,
    );
    v.law = GapLaw::new(30.0, 30.0, Vec::new(), length, Vec::new());
    v.section = section;
    (v.tray.crown, v.tray.dish, v.tray.twist) = (0.0, 0.0, 0.0);
    v.fasteners.clear();
    v.bracket.0 = length / 2.0;
    v.stand.0 = length / 2.0;
    case
}

fn lip() -> Section {
    let edge = Edge::Lip {
        radius: 8.0,
        length: 15.0,
        rise: 0.1,
    };
    Section {
        thickness: 3.0,
        lean: 0.15,
        edge,
    }
}

fn assert_closed(mesh: &TriMesh, what: &str) {
    let mut edges: HashMap<(u32, u32), i32> = HashMap::new();
    for &[a, b, c] in &mesh.triangles {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            *edges.entry((from, to)).or_default() += 1;
        }
    }
    let open = edges
        .iter()
        .filter(|((a, b), n)| **n != 1 || edges.get(&(*b, *a)) != Some(&1))
        .count();
    assert_eq!(open, 0, "{what} has edges that do not close");
    assert!(mesh.signed_volume() > 0.0, "{what} is inside out");
}

#[test]
fn true_surfaces_are_closed() {
    let named = [Case::nose(1), Case::skirt(1), Case::tail(1)];
    for case in named.into_iter().chain((0..6).map(Case::random)) {
        assert_closed(&case.vehicle.body(), "body");
        assert_closed(&case.vehicle.tray(), "tray");
        assert_closed(&case.vehicle.surroundings(), "surroundings");
    }
}

#[test]
fn straight_lip_has_the_volume_of_its_section() {
    let case = plain(700.0, 0.0, lip());
    let (t, radius, lean, rise) = (3.0, 8.0, 0.15_f64, 0.1);
    // Wall between the tangent point and a level top, the bent part, the return.
    let outer = (250.0 - radius - radius * lean.sin()) / lean.cos();
    let inner = (250.0 - radius - (radius - t) * lean.sin()) / lean.cos();
    let turn = lean + std::f64::consts::FRAC_PI_2 + rise;
    let inside = radius - t;
    let area =
        t * (outer + inner) / 2.0 + turn / 2.0 * (radius * radius - inside * inside) + t * 15.0;
    let volume = case.vehicle.body().signed_volume();
    assert!(
        (volume / (area * 700.0) - 1.0).abs() < 1e-4,
        "{volume} {}",
        area * 700.0
    );
}

/// Pappus's theorem (Pappus of Alexandria, Collection VII): area by the path of its centroid.
#[test]
fn bent_plate_has_the_volume_of_its_path() {
    let upright = Section {
        thickness: 4.0,
        lean: 0.0,
        edge: Edge::Cut,
    };
    let case = plain(600.0, 1.0 / 400.0, upright);
    // The edge is the inner corner, so the plate's middle lies half a thickness outboard.
    let volume = 4.0 * 250.0 * 600.0 * (400.0 + 2.0) / 400.0;
    let got = case.vehicle.body().signed_volume();
    assert!((got / volume - 1.0).abs() < 1e-4, "{got} {volume}");
}

/// Lowest point near `near` of the mesh's section square to `along`.
fn lowest(mesh: &TriMesh, near: Point3, along: Vector3) -> f64 {
    let mut low = f64::MAX;
    for t in 0..mesh.triangles.len() {
        let corners = mesh.corners(t);
        for (a, b) in [(0, 1), (1, 2), (2, 0)].map(|(i, j)| (corners[i], corners[j])) {
            let (da, db) = ((a - near).dot(&along), (b - near).dot(&along));
            if da * db <= 0.0 && da != db {
                let p = a + (b - a) * (da / (da - db));
                if (p - near).norm() < 60.0 {
                    low = low.min(p.z);
                }
            }
        }
    }
    low
}

#[test]
fn stations_lie_on_the_true_surfaces() {
    for case in [
        Case::nose(2),
        Case::skirt(2),
        Case::tail(2),
        Case::random(7),
    ] {
        let body = case.vehicle.body();
        let mut vehicle = case.vehicle;
        vehicle.fasteners.clear();
        let tray = to_parry(&vehicle.tray());
        let stations = vehicle.stations();
        for station in stations.iter().skip(3).step_by(stations.len() / 9) {
            let along = Vector3::z().cross(&station.outward);
            let low = lowest(&body, station.edge, along);
            assert!(
                (low - station.edge.z).abs() < 0.03,
                "{low} {:?}",
                station.edge
            );
            let e = station.edge;
            let closest = tray.distance_to_local_point(Vector::new(e.x, e.y, e.z), true);
            // The tray is curved by a few millimetres over the vehicle: closest and normal agree.
            assert!(
                (closest - station.gap).abs() < 0.05,
                "{closest} {}",
                station.gap
            );
        }
    }
}

/// Mean distance from the true body of what was scanned on its outside, away from edge and top.
fn outside_error(scan: &SimScan) -> f64 {
    let truth = to_parry(&scan.truth.body);
    let outside = |p: Point3| {
        let near = scan
            .truth
            .stations
            .iter()
            .min_by(|a, b| {
                (a.edge - p)
                    .xy()
                    .norm()
                    .total_cmp(&(b.edge - p).xy().norm())
            })
            .expect("stations");
        let from_edge = p - near.edge;
        (25.0..120.0).contains(&from_edge.z) && near.s > 40.0 && near.s < 460.0
    };
    let mut errors = Vec::new();
    for t in 0..scan.body.triangles.len() {
        let [a, b, c] = scan.body.corners(t);
        let centre = Point3::from((a.coords + b.coords + c.coords) / 3.0);
        let p = scan.truth.scan_to_vehicle.transform_point(&centre);
        let distance = truth.distance_to_local_point(Vector::new(p.x, p.y, p.z), true);
        // The false back of the skin lies a truncation away, floaters further.
        if distance < 8.0 && outside(p) {
            errors.push(distance);
        }
    }
    assert!(
        errors.len() > 2000,
        "only {} triangles on the outside",
        errors.len()
    );
    errors.iter().sum::<f64>() / errors.len() as f64
}

#[test]
fn error_follows_noise_and_drift() {
    let case = plain(500.0, 0.0, lip());
    let scan = |noise, drift| {
        case.scan(ScanQuality {
            noise,
            voxel: 5.0,
            drift,
        })
    };
    let clean = outside_error(&scan(0.01, 0.0));
    let noisy = outside_error(&scan(1.5, 0.0));
    let drifted = outside_error(&scan(1.5, 2.5));
    // Fusion averages a ray's noise out over many views, but not all of it; drift moves whole views.
    assert!(clean < 0.3 && clean < noisy, "{clean} {noisy}");
    assert!((0.1..1.5).contains(&noisy), "{noisy}");
    assert!((1.5 * noisy..2.5).contains(&drifted), "{drifted} {noisy}");
}

/// The surface faces the cameras: seen from above, a straight tray's upper side points up.
#[test]
fn scan_faces_the_cameras() {
    let scan = plain(300.0, 0.0, lip()).scan(ScanQuality {
        noise: 0.5,
        voxel: 5.0,
        drift: 0.3,
    });
    let mut up = [0, 0];
    for t in 0..scan.tray.triangles.len() {
        let corners = scan
            .tray
            .corners(t)
            .map(|p| scan.truth.scan_to_vehicle.transform_point(&p));
        let normal = (corners[1] - corners[0]).cross(&(corners[2] - corners[0]));
        if corners.iter().all(|p| p.z.abs() < 1.5) {
            up[usize::from(normal.z > 0.0)] += 1;
        }
    }
    assert!(up[1] > 1000 && up[0] * 50 < up[1], "{up:?}");
}

#[test]
fn same_seed_same_scan_on_any_thread_count() {
    let quality = ScanQuality {
        noise: 1.5,
        voxel: 6.0,
        drift: 1.5,
    };
    let scan = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("a pool");
        pool.install(|| plain(300.0, 0.0, lip()).scan(quality))
    };
    let (one, two) = (scan(1), scan(2));
    assert_eq!(one.truth.edge_kind, EdgeKind::Lip);
    assert!(!one.body.triangles.is_empty() && !one.tray.triangles.is_empty());
    assert_eq!(
        one.combined.triangles.len(),
        one.body.triangles.len() + one.tray.triangles.len()
    );
    assert_eq!(one.combined, two.combined);
    assert_eq!(one.body, two.body);
    assert_eq!(one.tray, two.tray);
}
