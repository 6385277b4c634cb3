//! Keep-outs cut from whole panels.

use super::samples::{Gap, arc, straight};
use super::*;
use crate::math::Spine;
use crate::mesh::nearest::Nearest;
use crate::mesh::topology::find_pieces;
use crate::progress::Progress;

fn made(spine: Spine, kind: EdgeKind, keep_outs: Vec<KeepOut>) -> (Gap, Panel) {
    let gap = Gap::plain(spine, kind);
    let options = PanelOptions {
        keep_outs,
        ..PanelOptions::default()
    };
    let panel = design(&gap.survey(), &options, &Progress::silent()).unwrap();
    assert_eq!(find_pieces(panel.solid.mesh()).1, 1);
    let [least, most] = panel.wall.range().unwrap();
    assert!(least >= 0.97 && most <= 1.15, "{:?}", panel.wall);
    (gap, panel)
}

fn codes(panel: &Panel) -> Vec<&str> {
    panel.findings.iter().map(|f| f.code).collect()
}

/// Whether a level ray from outside meets the panel at an arc length and height.
fn blocked(gap: &Gap, panel: &Panel, s: f64, z: f64) -> bool {
    let mesh = Nearest::new(panel.solid.mesh()).unwrap();
    let frame = gap.spine.frame_at(s);
    let from = frame.to_shop(Point2::new(15.0, z));
    mesh.ray(from, -frame.outward, 60.0).is_some()
}

fn round(at: f64, across: f64, size: f64, height: f64) -> KeepOut {
    KeepOut {
        name: "bolt".into(),
        at_mm: Some(at),
        across_mm: across,
        size_mm: Some(size),
        height_mm: height,
        ..KeepOut::default()
    }
}

#[test]
fn a_keep_out_on_the_flange_notches_it_with_its_margin() {
    let (_, plain) = made(straight(500.0), EdgeKind::Cut, vec![]);
    let (_, panel) = made(
        straight(500.0),
        EdgeKind::Cut,
        vec![round(200.0, -18.0, 10.0, 6.0)],
    );
    // Along: 10 mm and 3 mm either way. Across: the flange's tip at -26.6, cut back to -18 + 5 + 3.
    let cut = 16.0 * (26.6 - 10.0) * 3.0;
    let gone = plain.solid.volume() - panel.solid.volume();
    assert!((gone / cut - 1.0).abs() < 1e-3, "{gone} {cut}");
    let kept = &panel.kept_out[0];
    assert_eq!(
        (kept.done, kept.along),
        (Done::FlangeNotched, [192.0, 208.0])
    );
    // The outside of the face is at -1.6.
    assert!((kept.left_mm.unwrap() - 8.4).abs() < 0.05, "{kept:?}");
    assert_eq!(panel.keep_clear, [[192.0, 208.0]]);
    assert_eq!(codes(&panel), ["flange-relieved"]);
}

#[test]
fn a_duct_gets_a_round_opening_of_its_size_and_margin() {
    let duct = KeepOut {
        kind: KeepOutKind::Duct,
        up_mm: Some(21.0),
        ..round(200.0, 0.0, 12.0, 0.0)
    };
    let (gap, panel) = made(arc(400.0, 60.0), EdgeKind::Rolled, vec![duct]);
    assert_eq!(panel.kept_out[0].done, Done::Opened);
    assert_eq!(codes(&panel), ["face-opened"]);
    // A circle of 9 mm about (200, 21), along the spine and up: free just inside, whole just outside.
    for k in 0..24 {
        let a = std::f64::consts::TAU * f64::from(k) / 24.0;
        let at = |r: f64| (200.0 + r * a.cos(), 21.0 + r * a.sin());
        let ((s, z), (t, y)) = (at(8.95), at(9.15));
        assert!(!blocked(&gap, &panel, s, z), "{k}");
        assert!(blocked(&gap, &panel, t, y), "{k}");
    }
    // Under it 12 mm of the face are left; over it, the usable inside ends 1 mm under the top at 37.9.
    assert!((panel.kept_out[0].left_mm.unwrap() - 6.9).abs() < 0.1);
}

#[test]
fn what_comes_out_low_opens_the_foot_and_what_comes_out_high_the_top() {
    let cable = |name: &str, at: f64, up: f64| KeepOut {
        name: name.into(),
        kind: KeepOutKind::Cable,
        up_mm: Some(up),
        ..round(at, 0.0, 8.0, 0.0)
    };
    let outs = vec![cable("low", 100.0, 6.0), cable("high", 250.0, 33.0)];
    for kind in [EdgeKind::Cut, EdgeKind::Rolled] {
        let (gap, panel) = made(straight(400.0), kind, outs.clone());
        let done: Vec<Done> = panel.kept_out.iter().map(|kept| kept.done).collect();
        assert_eq!(done, [Done::FaceNotched, Done::OpenAtTop]);
        assert!(!blocked(&gap, &panel, 100.0, 0.5) && !blocked(&gap, &panel, 100.0, 12.5));
        assert!(blocked(&gap, &panel, 100.0, 14.0));
        assert!(!blocked(&gap, &panel, 250.0, 27.0) && !blocked(&gap, &panel, 250.0, 38.0));
        assert!(blocked(&gap, &panel, 250.0, 24.0));
        assert!(codes(&panel).contains(&"face-opened"));
    }
}

#[test]
fn a_towing_point_behind_the_face_is_told_of_or_opened_in_full() {
    let eye = |access| KeepOut {
        kind: KeepOutKind::TowingPoint,
        access,
        ..round(150.0, -45.0, 20.0, 30.0)
    };
    let (_, shut) = made(straight(300.0), EdgeKind::Cut, vec![eye(Access::Around)]);
    assert_eq!(shut.kept_out[0].done, Done::Clear);
    assert_eq!(codes(&shut), ["access-covered"]);
    let (gap, open) = made(straight(300.0), EdgeKind::Cut, vec![eye(Access::Full)]);
    assert_eq!(open.kept_out[0].done, Done::FaceNotched);
    assert!(
        !codes(&open).contains(&"access-covered"),
        "{:?}",
        codes(&open)
    );
    // From the tray up to the band of two walls that keeps the panel in one piece.
    for z in [0.5, 20.0, 29.0] {
        assert!(!blocked(&gap, &open, 150.0, z), "{z}");
    }
    assert!(blocked(&gap, &open, 150.0, 36.0));
}

#[test]
fn a_keep_out_as_tall_as_the_gap_is_not_cut_and_told() {
    let (_, panel) = made(
        straight(300.0),
        EdgeKind::Rolled,
        vec![round(150.0, -2.0, 10.0, 60.0)],
    );
    assert_eq!(panel.kept_out[0].done, Done::NotCut);
    assert_eq!(codes(&panel), ["face-blocked"]);
    assert!(panel.keep_clear.is_empty());
}

/// Whatever a keep-out asks for: it is freed, with its room, or said not to be cut.
#[test]
fn a_keep_out_is_free_of_the_panel_or_told_to_stand_in_it() {
    let mut seen = [0, 0];
    for kind in [EdgeKind::Cut, EdgeKind::Rolled] {
        for access in [Access::Around, Access::Full] {
            for across in [-45.0, -30.0, -18.0, -10.0] {
                for height in [12.0, 25.0, 35.0, 60.0] {
                    let eye = KeepOut {
                        access,
                        kind: KeepOutKind::TowingPoint,
                        ..round(150.0, across, 40.0, height)
                    };
                    let (gap, panel) = made(straight(300.0), kind, vec![eye]);
                    let done = panel.kept_out[0].done;
                    let told = codes(&panel).contains(&"face-blocked");
                    assert_eq!(done == Done::NotCut, told, "{across} {height}");
                    seen[usize::from(told)] += 1;
                    if told {
                        assert!(panel.keep_clear.is_empty());
                        continue;
                    }
                    // Beside a face that stays whole the room ends at the face: the thing is free.
                    let room = if done == Done::FaceNotched { 2.9 } else { 0.0 };
                    let mesh = Nearest::new(panel.solid.mesh()).unwrap();
                    let frame = gap.spine.frame_at(150.0);
                    for u in [-19.0, -7.0, 0.0, 11.0, 19.0] {
                        for k in 0..=20 {
                            let x = across + (20.0 + room) * (f64::from(k) / 10.0 - 1.0);
                            let from = frame.to_shop(Point2::new(x, -5.0)) + frame.along * u;
                            let hit = mesh.ray(from, crate::math::Vector3::z(), 300.0);
                            let free = hit.is_none_or(|way| way - 5.0 > height + 2.9);
                            assert!(
                                free,
                                "{kind:?} {access:?} {across} {height} {u} {x}: {hit:?}"
                            );
                        }
                    }
                }
            }
        }
    }
    assert!(seen[0] > 10 && seen[1] > 10, "{seen:?}");
}

#[test]
fn a_keep_out_without_place_or_size_is_refused_by_name() {
    let survey = Gap::plain(straight(200.0), EdgeKind::Cut).survey();
    for out in [
        KeepOut {
            at_mm: None,
            ..round(0.0, 0.0, 8.0, 5.0)
        },
        KeepOut {
            size_mm: None,
            ..round(50.0, 0.0, 8.0, 5.0)
        },
        round(f64::NAN, 0.0, 8.0, 5.0),
        round(50.0, 0.0, -8.0, 5.0),
    ] {
        let options = PanelOptions {
            keep_outs: vec![out],
            ..PanelOptions::default()
        };
        let fault = design(&survey, &options, &Progress::silent()).unwrap_err();
        assert!(
            matches!(&fault, PanelFault::KeepOut { name, .. } if name == "bolt"),
            "{fault}"
        );
    }
}

#[test]
fn a_point_picked_in_the_tray_s_scan_is_placed_along_the_gap() {
    let survey = Gap::plain(arc(400.0, 60.0), EdgeKind::Cut).survey();
    // The file is in metres, its origin 100 mm along x.
    let to_shop = nalgebra::Matrix4::new_translation(&nalgebra::Vector3::new(100.0, 0.0, 0.0))
        * nalgebra::Matrix4::new_scaling(1000.0);
    let at = survey
        .spine
        .frame_at(120.0)
        .to_shop(Point2::new(-15.0, 2.0));
    let out = KeepOut {
        at_mm: None,
        point: Some([(at.x - 100.0) / 1e3, at.y / 1e3, at.z / 1e3]),
        ..round(0.0, 7.0, 8.0, 5.0)
    };
    let out = out.placed(&to_shop, &survey);
    assert!((out.at_mm.unwrap() - 120.0).abs() < 1e-3);
    assert!((out.across_mm + 15.0).abs() < 1e-3);
}

/// A foot cut out below an opening that reaches the top, both under the rules each by itself, leave two
/// panels.
#[test]
fn cuts_that_meet_part_the_panel_and_say_so() {
    let gap = Gap::plain(straight(400.0), EdgeKind::Rolled);
    let stands = KeepOut {
        access: Access::Full,
        ..round(200.0, -10.0, 10.0, 8.0)
    };
    let high = KeepOut {
        kind: KeepOutKind::Cable,
        up_mm: Some(33.0),
        ..round(200.0, 0.0, 8.0, 0.0)
    };
    let options = PanelOptions {
        keep_outs: vec![stands, high],
        ..PanelOptions::default()
    };
    let panel = design(&gap.survey(), &options, &Progress::silent()).unwrap();
    assert_eq!(find_pieces(panel.solid.mesh()).1, 2);
    assert!(codes(&panel).contains(&"panel-in-pieces"));
}
