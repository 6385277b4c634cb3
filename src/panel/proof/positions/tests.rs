//! Positions against a section-by-section check that knows only triangles: the moved tray's mesh and the
//! finished solid, cut by the station's plane one triangle at a time.

use super::*;
use crate::gap::EdgeKind;
use crate::gap::Front;
use crate::gap::position::{Position, move_tray};
use crate::math::Vector3;
use crate::math::{Point2, Point3, StationFrame};
use crate::mesh::TriMesh;
use crate::panel::design;
use crate::panel::samples::{Gap, arc, straight};
use crate::progress::Progress;

/// A tray that waves along y and slopes across: 2 mm over 500 mm, and 0.02.
fn height(x: f64, y: f64) -> f64 {
    2.0 * (y / 80.0).sin() + 0.02 * x
}

/// The tray as a grid of 4 mm round a straight spine along y.
fn grid(from: [f64; 2], to: [f64; 2]) -> TriMesh {
    let mut mesh = TriMesh::default();
    let [columns, rows] = [0, 1].map(|k| ((to[k] - from[k]) / 4.0) as u32);
    for row in 0..=rows {
        for column in 0..=columns {
            let (x, y) = (
                from[0] + 4.0 * f64::from(column),
                from[1] + 4.0 * f64::from(row),
            );
            mesh.points.push(Point3::new(x, y, height(x, y)));
            if row > 0 && column > 0 {
                let n = columns + 1;
                let d = row * n + column;
                let (a, b, c) = (d - n - 1, d - n, d - 1);
                mesh.triangles.extend([[a, b, d], [a, d, c]]);
            }
        }
    }
    mesh
}

/// Heights at which the plane of `frame` meets the mesh, moved by `way`, at an outward offset.
fn cut_at(mesh: &TriMesh, way: Vector3, frame: &StationFrame, x: f64) -> Vec<f64> {
    let mut heights = Vec::new();
    for t in 0..mesh.triangles.len() {
        let corners = mesh.corners(t).map(|p| p + way);
        let side = corners.map(|p| (p - frame.origin).dot(&frame.along));
        let mut ends: Vec<Point2> = Vec::new();
        for k in 0..3 {
            let (i, j) = (k, (k + 1) % 3);
            if (side[i] < 0.0) != (side[j] < 0.0) {
                let share = side[i] / (side[i] - side[j]);
                ends.push(frame.to_section(corners[i] + (corners[j] - corners[i]) * share));
            }
        }
        if let [a, b] = ends[..]
            && (a.x - x) * (b.x - x) <= 0.0
            && (a.x - b.x).abs() > 1e-9
        {
            heights.push(a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x));
        }
    }
    heights
}

fn settings(gap: &Gap, survey: &Survey, tray: &TriMesh, front: Front) -> Vec<Setting> {
    [0.0, 25.0, 50.0]
        .map(|forward_mm| {
            let position = Position {
                name: format!("{forward_mm} mm"),
                forward_mm,
                up_mm: 0.0,
            };
            let way = position.way(front);
            assert!((gap.spine.length() - survey.spine.length()).abs() < 1e-9);
            Setting {
                word: format!("{forward_mm}"),
                survey: move_tray(survey, tray, 4.0, way).unwrap(),
                name: position.name,
                way,
            }
        })
        .to_vec()
}

fn waved() -> (Gap, TriMesh) {
    let mut gap = Gap::plain(straight(500.0), EdgeKind::Rolled);
    gap.tray = |s| [2.0 * (s / 80.0).sin(), 0.02, 0.0];
    gap.edge_z = |s| 44.0 + 3.0 * (s / 150.0).cos();
    (gap, grid([-200.0, -120.0], [120.0, 620.0]))
}

#[test]
fn what_is_left_over_the_top_agrees_with_sections_cut_by_hand() {
    let (gap, tray) = waved();
    let survey = gap.survey();
    let options = PanelOptions::default();
    let panel = design(&survey, &options, &Progress::silent()).unwrap();
    for front in [Front::Left, Front::Toward] {
        let settings = settings(&gap, &survey, &tray, front);
        let proofs = measure(&panel, &survey, &settings, &options, Held::OnTray);
        let mut worst: f64 = 0.0;
        for (proof, setting) in proofs.iter().zip(&settings) {
            for at in proof
                .stations
                .iter()
                .filter(|at| at.s > 5.0 && at.s < 495.0)
            {
                let frame = gap.spine.frame_at(at.s);
                // Half a wall inside the face, which stands 1.5 mm outboard of the edge.
                let x = 0.0;
                let solid = cut_at(panel.solid.mesh(), Vector3::zeros(), &frame, x);
                let top = solid.iter().copied().fold(f64::MIN, f64::max);
                let foot = solid.iter().copied().fold(f64::MAX, f64::min);
                let under = cut_at(&tray, setting.way, &frame, x)[0];
                let left = (gap.edge_z)(at.s) - options.paint_mm - (top - foot + under);
                worst = worst.max((left - at.left_mm).abs());
            }
        }
        println!("{front:?}: {worst:.3} mm");
        assert!(worst < 0.3, "{front:?} {worst}");
        // Along the wave the gap changes by up to 4 sin(50 / 160) = 1.23 mm.
        let spread = proofs[2].most().unwrap().0 - proofs[2].least().unwrap().0;
        assert!(front != Front::Left || spread > 1.5, "{spread}");
    }
}

#[test]
fn what_is_left_under_the_foot_agrees_with_sections_cut_by_hand() {
    let (gap, tray) = waved();
    let survey = gap.survey();
    let options = PanelOptions::default();
    let panel = design(&survey, &options, &Progress::silent()).unwrap();
    let settings = settings(&gap, &survey, &tray, Front::Left);
    let proofs = measure(&panel, &survey, &settings, &options, Held::OnBody);
    for (proof, setting) in proofs.iter().zip(&settings) {
        for at in proof
            .stations
            .iter()
            .filter(|at| at.s > 5.0 && at.s < 495.0)
        {
            let frame = gap.spine.frame_at(at.s);
            let least = (0..=8)
                .map(|k| 1.0 - 24.0 * f64::from(k) / 8.0)
                .map(|x| {
                    let solid = cut_at(panel.solid.mesh(), Vector3::zeros(), &frame, x);
                    let foot = solid.iter().copied().fold(f64::MAX, f64::min);
                    foot - cut_at(&tray, setting.way, &frame, x)[0]
                })
                .fold(f64::MAX, f64::min);
            assert!(
                (least - at.left_mm).abs() < 0.3,
                "{} {least} {}",
                at.s,
                at.left_mm
            );
        }
    }
    assert!(!proofs[2].serves() && proofs[2].interference().unwrap().0 > 0.5);
}

#[test]
fn one_panel_for_the_least_gap_clears_in_every_position() {
    let (gap, tray) = waved();
    let survey = gap.survey();
    let options = PanelOptions {
        seal_foam_mm: 10.0,
        seal_mm: 6.75,
        ..PanelOptions::default()
    };
    let settings = settings(&gap, &survey, &tray, Front::Left);
    for held in [Held::OnTray, Held::OnBody] {
        let panel = design(
            &envelope(&survey, &settings, held),
            &options,
            &Progress::silent(),
        )
        .unwrap();
        let proofs = measure(&panel, &survey, &settings, &options, held);
        let meant = if held == Held::OnTray { 6.75 } else { 0.0 };
        for proof in &proofs {
            // The panel's line is faired: within 1.3 mm of what was asked.
            assert!(
                proof.least().unwrap().0 > meant - 1.3,
                "{held:?} {:?}",
                proof.least()
            );
            assert!(
                proof.serves(),
                "{held:?} {} {:?}",
                proof.covered,
                proof.most()
            );
        }
        // At every station one of the positions is the tightest.
        for i in 10..90 {
            let least = proofs
                .iter()
                .map(|p| p.stations[i].left_mm)
                .fold(f64::MAX, f64::min);
            assert!((least - meant).abs() < 0.6, "{held:?} {i} {least}");
        }
    }
}

/// On an arc that bulges to the front a panel that stays fastened moves out from under the edge; along a
/// straight flank it stays under it but runs past the end.
#[test]
fn a_panel_that_stays_fastened_stands_aside_by_the_way() {
    let mut gap = Gap::plain(arc(500.0, 60.0), EdgeKind::Rolled);
    gap.tray = |_| [0.0; 3];
    let survey = gap.survey();
    let options = PanelOptions::default();
    let panel = design(&survey, &options, &Progress::silent()).unwrap();
    let setting = Setting {
        name: "out".into(),
        word: "out".into(),
        way: Vector3::new(25.0, 0.0, 0.0),
        survey: survey.clone(),
    };
    let proof = &measure(&panel, &survey, &[setting], &options, Held::OnTray)[0];
    let (aside, _) = proof.aside.unwrap();
    assert!((aside - 25.0).abs() < 0.3, "{aside}");
}

#[test]
fn a_tray_that_goes_up_takes_as_much_off_the_gap() {
    let (gap, tray) = waved();
    let survey = gap.survey();
    for up in [-45.0, -3.0, 0.0, 12.0] {
        let moved = move_tray(&survey, &tray, 4.0, Vector3::new(0.0, 0.0, up)).unwrap();
        for (before, after) in survey.stations.iter().zip(&moved.stations) {
            let vertical = (after.edge.z - after.tray.z) - (before.edge.z - before.tray.z);
            assert!((vertical + up).abs() < 0.2, "{} {vertical} {up}", before.s);
            assert_eq!((before.s, before.edge), (after.s, after.edge));
        }
    }
    let away = move_tray(&survey, &tray, 4.0, Vector3::new(0.0, 300.0, 0.0)).unwrap();
    assert_eq!(away.findings[0].code, "position-unseen");
    assert!(move_tray(&survey, &tray, 4.0, Vector3::new(0.0, 3000.0, 0.0)).is_err());
}

/// A tray raised until 4 mm are left has no room for a panel there; the others get theirs.
#[test]
fn a_position_without_room_for_a_panel_is_told() {
    let (gap, tray) = waved();
    let survey = gap.survey();
    let options = PanelOptions::default();
    let panel = design(&survey, &options, &Progress::silent()).unwrap();
    let raised = |up: f64| {
        let way = Vector3::new(0.0, 0.0, up);
        Setting {
            name: format!("up {up}"),
            word: format!("up_{up}"),
            survey: move_tray(&survey, &tray, 4.0, way).unwrap(),
            way,
        }
    };
    let settings = [raised(10.0), raised(37.0)];
    let silent = Progress::silent();
    let served = serve(panel, &survey, &settings, &options, Held::OnTray, &silent).unwrap();
    let told: Vec<&Finding> = (served.proof.findings.iter())
        .filter(|f| f.code == "position-without-panel")
        .collect();
    assert!(
        told.len() == 1 && told[0].what.contains("up 37"),
        "{told:?}"
    );
    assert_eq!(served.own.len(), 1);
}

#[test]
fn that_one_panel_serves_in_all_is_told() {
    for served in [Served::AsDesigned, Served::ForTheLeastGap] {
        let codes: Vec<&str> = (judge(served, &[], Held::OnTray).iter())
            .map(|f| f.code)
            .collect();
        assert_eq!(codes, ["positions-covered"]);
    }
}
