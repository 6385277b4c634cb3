//! The twin on another side given by formulas: known differences come back.

use super::twin::{TwinFit, hold};
use crate::gap::{EdgeKind, Station, Survey, TrayStrip};
use crate::math::{Point3, Spine, Vector3};
use crate::panel::samples::{Gap, arc, bow, straight};
use crate::panel::{PanelOptions, design};
use crate::progress::Progress;

/// A survey's mirror image in the plane y = 0, as the vehicle's other side would give it.
fn image(survey: &Survey) -> Survey {
    let length = survey.spine.length();
    let point = |p: Point3| Point3::new(p.x, -p.y, p.z);
    let station = |station: &Station| Station {
        s: length - station.s,
        edge: point(station.edge),
        silhouette: point(station.silhouette),
        tray: point(station.tray),
        tray_normal: Vector3::new(
            station.tray_normal.x,
            -station.tray_normal.y,
            station.tray_normal.z,
        ),
        ..station.clone()
    };
    Survey {
        spine: survey.spine.mirrored(),
        stations: survey.stations.iter().rev().map(station).collect(),
        tray: TrayStrip {
            along: (survey.tray.along.iter().rev())
                .map(|s| length - s)
                .collect(),
            rows: survey.tray.rows.iter().rev().copied().collect(),
        },
        ..survey.clone()
    }
}

fn gap(spine: Spine, kind: EdgeKind) -> Gap {
    let mut gap = Gap::plain(spine, kind);
    gap.edge_z = |s| 42.0 + 5.0 * (s / 130.0).sin();
    gap.edge_x = |s| 2.0 * (s / 90.0).sin();
    gap.tray = |s| [2.0 * (s / 110.0).sin(), 0.02, 0.0];
    gap
}

/// Set up anew: turned by a degree and shifted, as a frame of its own would be.
fn set_up_anew(gap: &Gap) -> Survey {
    let (turn, shift) = (1f64.to_radians(), Vector3::new(4.0, -6.0, 0.0));
    let rotation = nalgebra::Rotation3::from_axis_angle(&Vector3::z_axis(), turn);
    let moved = |p: Point3| rotation * p + shift;
    let mut survey = image(&gap.survey());
    let points: Vec<Point3> = (0..=400)
        .map(|k| {
            let frame = survey
                .spine
                .frame_at(survey.spine.length() * f64::from(k) / 400.0);
            moved(frame.origin)
        })
        .collect();
    survey.spine = Spine::fit(&points, &vec![1.0; points.len()], 8.0, 0.0).unwrap();
    for station in &mut survey.stations {
        station.edge = moved(station.edge);
        station.silhouette = moved(station.silhouette);
        station.tray = moved(station.tray);
        station.tray_normal = rotation * station.tray_normal;
    }
    survey
}

fn held(here: &Gap, other: &Survey) -> TwinFit {
    let survey = here.survey();
    let options = PanelOptions::default();
    let panel = design(&survey, &options, &Progress::silent()).unwrap();
    hold(&panel, &survey, other, &options)
}

fn codes(fit: &TwinFit) -> Vec<&'static str> {
    fit.findings.iter().map(|f| f.code).collect()
}

#[test]
fn a_true_image_fits_however_it_was_set_up() {
    for spine in [arc(600.0, 50.0), straight(500.0), bow(150.0, 60.0, 300.0)] {
        for kind in [EdgeKind::Rolled, EdgeKind::Cut] {
            let here = gap(spine.clone(), kind);
            let fit = held(&here, &set_up_anew(&here));
            assert_eq!(codes(&fit), ["twin-fits"], "{:?}", fit.findings);
            assert!(fit.longer_mm.abs() < 0.5, "{}", fit.longer_mm);
            let worst = fit.stations.iter().map(|at| at.aside_mm.abs());
            let worst = worst.fold(0.0, f64::max);
            assert!(worst < 0.3, "{worst}");
            assert!(fit.stations.windows(2).all(|w| w[0].s < w[1].s));
        }
    }
}

/// The other side's edge stands 4 mm lower along its last quarter as one faces it: that is this side's first.
#[test]
fn what_differs_is_told_where_it_is() {
    let here = gap(straight(500.0), EdgeKind::Rolled);
    let mut lower = gap(straight(500.0), EdgeKind::Rolled);
    lower.edge_z = |s| 42.0 + 5.0 * (s / 130.0).sin() - if s < 125.0 { 4.0 } else { 0.0 };
    let (same, fit) = (
        held(&here, &image(&here.survey())),
        held(&here, &image(&lower.survey())),
    );
    assert_eq!(codes(&fit), ["twin-off"], "{:?}", fit.findings);
    let told = &fit.findings[0];
    assert!(told.station_mm.unwrap() > 370.0, "{told}");
    for (a, b) in same.stations.iter().zip(&fit.stations) {
        let want = if a.s > 385.0 { 4.0 } else { 0.0 };
        if (a.s - 375.0).abs() > 10.0 {
            assert!(
                (a.left_mm - b.left_mm - want).abs() < 0.1,
                "{} {}",
                a.s,
                a.left_mm - b.left_mm
            );
        }
    }
    assert!((fit.covered - 0.75).abs() < 0.03, "{}", fit.covered);
    // A tray that lies 4 mm higher does the same.
    let mut raised = image(&here.survey());
    for row in &mut raised.tray.rows {
        row[0] += 4.0;
    }
    let fit = held(&here, &raised);
    for (a, b) in same.stations.iter().zip(&fit.stations) {
        assert!((a.left_mm - b.left_mm - 4.0).abs() < 0.1);
    }
}

#[test]
fn edges_aside_or_of_another_length_or_kind_are_told() {
    let here = gap(straight(500.0), EdgeKind::Rolled);
    let mut aside = gap(straight(500.0), EdgeKind::Rolled);
    aside.edge_x = |s| 2.0 * (s / 90.0).sin() + if s > 400.0 { 5.0 } else { 0.0 };
    let fit = held(&here, &image(&aside.survey()));
    assert_eq!(codes(&fit), ["twin-off"], "{:?}", fit.findings);
    let told = &fit.findings[0];
    assert!(
        told.station_mm.unwrap() < 105.0 && (told.size_mm.unwrap() - 5.0).abs() < 0.5,
        "{told}"
    );
    let longer = held(
        &here,
        &image(&gap(straight(530.0), EdgeKind::Rolled).survey()),
    );
    assert!(codes(&longer).contains(&"twin-length"));
    assert!(
        (longer.longer_mm - 30.0).abs() < 0.5,
        "{}",
        longer.longer_mm
    );
    let mut cut = image(&here.survey());
    cut.edge_kind = EdgeKind::Cut;
    assert!(codes(&held(&here, &cut)).contains(&"twin-edge"));
    let mut away = image(&here.survey());
    for station in &mut away.stations {
        station.edge.x += 900.0;
    }
    assert_eq!(codes(&held(&here, &away)), ["twin-unlike"]);
}
