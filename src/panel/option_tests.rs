//! Styles of face and top, what is laid over the print, and changes along the spine, against formulas.

use super::fixings::Style;
use super::loft::Loft;
use super::samples::{Draws, Gap, arc, straight};
use super::section::Corners;
use super::tests::{obstacle, random_gap};
use super::*;
use crate::gap::EdgeKind;
use crate::math::{Vector2, Vector3};
use crate::mesh::nearest::Nearest;
use crate::mesh::topology::find_pieces;
use crate::progress::Progress;

fn made(gap: &Gap, options: &PanelOptions) -> Panel {
    design(&gap.survey(), options, &Progress::silent()).unwrap()
}

fn expect_wall(panel: &Panel, say: &str) {
    let [least, most] = panel.wall.range().unwrap();
    assert!(
        least >= 0.97 && most <= 1.15,
        "{say}: {least} {most} {:?}",
        panel.wall
    );
}

fn curved() -> Gap {
    let mut gap = Gap::plain(arc(700.0, 60.0), EdgeKind::Cut);
    gap.lean = |s| 0.3 * (s / 300.0).sin();
    gap.edge_z = |s| 45.0 + 6.0 * (s / 200.0).sin();
    gap.tray = |s| [2.0 * (s / 300.0).sin(), 0.02, 1e-4];
    gap
}

/// The finished part of a print with a laminate on it is the bare print, and the print lies a laminate
/// under it.
#[test]
fn what_is_laid_over_the_print_brings_it_back_to_what_was_meant() {
    for face in [FaceStyle::Straight, FaceStyle::Bowed, FaceStyle::Tangent] {
        let bare = PanelOptions {
            face,
            bow_mm: 3.0,
            lean_deg: 6.0,
            ..PanelOptions::default()
        };
        let covered = PanelOptions {
            overlay_mm: 2.0,
            ..bare.clone()
        };
        let gap = curved();
        let (whole, print) = (made(&gap, &bare), made(&gap, &covered));
        assert!(whole.sections[9].overlay().is_none());
        let corners = Corners::of(Top::Tucked, face, FootKind::Inboard);
        for (a, b) in whole.sections.iter().zip(&print.sections) {
            assert_eq!(a.outside().len(), b.finished.len());
            // The fillet's room shifts corners along the face, so the lines are compared.
            for p in &b.finished {
                let off = a.outside().windows(2).map(|pair| {
                    let run = (pair[1] - pair[0]).normalize();
                    let along = (p - pair[0])
                        .dot(&run)
                        .clamp(0.0, (pair[1] - pair[0]).norm());
                    (p - (pair[0] + run * along)).norm()
                });
                let off = off.fold(f64::MAX, f64::min);
                assert!(off < 0.06, "{face:?} {}: {off}", a.s);
            }
            assert!(b.overlay().is_some());
        }
        let lines = print.sections.iter().map(|x| (x.s, x.finished.as_slice()));
        let edges = corners.knee() - Corners::FOOT;
        let outside = Loft::new(&gap.spine, lines, &[]).strip(0..edges);
        let outside = Nearest::new(&outside).unwrap();
        for section in &print.sections[4..print.sections.len() - 4] {
            let frame = gap.spine.frame_at(section.s);
            let printed = section.outside();
            for pair in printed[..=edges].windows(2) {
                let middle = nalgebra::center(&pair[0], &pair[1]);
                let way = outside.distance(frame.to_shop(middle));
                assert!((way - 2.0).abs() < 0.03, "{face:?} {}: {way}", section.s);
            }
        }
        expect_wall(&print, "with a laminate");
    }
}

#[test]
fn a_lapped_lip_lies_over_the_outside_of_the_skin() {
    for (kind, lean) in [
        (EdgeKind::Cut, (|_| 0.25) as fn(f64) -> f64),
        (EdgeKind::Rolled, |_| 0.0),
    ] {
        let mut gap = Gap::plain(arc(700.0, 60.0), kind);
        gap.lean = lean;
        gap.edge_z = |s| 45.0 + 4.0 * (s / 200.0).sin();
        let options = PanelOptions {
            top: Some(Top::Lapped),
            overlay_mm: 1.0,
            ..PanelOptions::default()
        };
        let panel = made(&gap, &options);
        for section in &panel.sections {
            let corners = Corners::read(panel.top, section);
            let (inner_top, inner_knee) = (
                section.outline[corners.top() + 1],
                section.outline[corners.inner_knee()],
            );
            let (z, lean) = ((gap.edge_z)(section.s), lean(section.s));
            // The skin's outside: 3 mm square from the edge of a cut skin, 3 mm out from a roll.
            let start = Point2::new(gap.skin / lean.cos(), z);
            for p in [inner_top, inner_knee] {
                let off = (p - start).dot(&Vector2::new(lean.cos(), lean.sin()));
                assert!((off - 1.6).abs() < 0.1, "{kind:?} {}: {off}", section.s);
            }
            let up = (section.finished[2] - Point2::new(0.0, z)).y;
            let roll = if kind == EdgeKind::Rolled { 3.0 } else { 0.0 };
            assert!((up - roll - 15.0 * lean.cos()).abs() < 0.2, "{kind:?} {up}");
        }
        expect_wall(&panel, "lapped");
    }
}

#[test]
fn a_face_bows_and_leans_as_asked() {
    let options = PanelOptions {
        top: Some(Top::Butted),
        face: FaceStyle::Bowed,
        bow_mm: 4.0,
        lean_deg: 8.0,
        ..PanelOptions::default()
    };
    let panel = made(&Gap::plain(straight(300.0), EdgeKind::Cut), &options);
    for section in &panel.sections {
        let face = section.outside();
        let (foot, knee) = (face[0], face[face.len() - 1]);
        let run = knee - foot;
        assert!((-run.x / run.y - 8f64.to_radians().tan()).abs() < 1e-6);
        let most = face.iter().map(|p| -run.normalize().perp(&(p - foot)));
        let most = most.fold(0.0, f64::max);
        // Nine corners on the arc: the one nearest its middle is less than 5 % of its angle off.
        assert!((most - 4.0).abs() < 0.05, "{most}");
    }
    expect_wall(&panel, "bowed");
}

#[test]
fn a_tangent_face_meets_the_lip_without_a_corner() {
    let options = PanelOptions {
        face: FaceStyle::Tangent,
        ..PanelOptions::default()
    };
    let mut gap = Gap::plain(straight(300.0), EdgeKind::Cut);
    gap.lean = |_| 0.3;
    gap.follow = true;
    let panel = made(&gap, &options);
    for section in &panel.sections {
        let face = section.outside();
        let n = face.len();
        let lip = face[n - 1] - face[n - 2];
        // The tangent at the arc's end leaves its last chord by half of that chord's share of the angle.
        let (a, b) = (face[n - 2] - face[n - 3], face[n - 3] - face[n - 4]);
        let turn = b.perp(&a).atan2(b.dot(&a));
        let tangent = a.perp(&lip).atan2(a.dot(&lip));
        assert!((tangent - 0.5 * turn).abs() < 0.01, "{tangent} {turn}");
    }
    expect_wall(&panel, "tangent");
}

#[test]
fn a_wall_tapers_and_changes_along_the_spine() {
    let options = PanelOptions {
        wall_top_mm: Some(2.0),
        changes: vec![PanelChange {
            at_mm: 300.0,
            over_mm: 80.0,
            wall_mm: Some(4.0),
            wall_top_mm: Some(3.0),
            flange_mm: Some(35.0),
            setback_mm: Some(3.0),
            ..PanelChange::default()
        }],
        ..PanelOptions::default()
    };
    let panel = made(&Gap::plain(straight(600.0), EdgeKind::Cut), &options);
    let at = |s: f64| {
        let near = |section: &&Section| (section.s - s).abs();
        let section = panel
            .sections
            .iter()
            .min_by(|a, b| near(a).total_cmp(&near(b)));
        section.unwrap()
    };
    for (s, wall, top, flange, face) in
        [(100.0, 3.0, 2.0, 25.0, -1.6), (500.0, 4.0, 3.0, 35.0, -4.6)]
    {
        let o = &at(s).outline;
        // The line is faired with the setback in it.
        assert!((o[3].x - face).abs() < 0.02, "{}", o[3].x);
        assert!((o[3].x - o[0].x - flange).abs() < 1e-6);
        // The lip's wall, and the face's at its foot, carried down from the fillet.
        assert!(((o[6] - o[5]).norm() - top).abs() < 1e-6);
        let (low, high) = (o[8], o[7]);
        let down = low.x + (low.x - high.x) * low.y / (high.y - low.y);
        assert!((o[3].x - down - wall).abs() < 0.05, "{down}");
    }
    expect_wall(&panel, "tapered");
    // No place along the blend where the lines turn a corner: the second difference stays small.
    let flange = |s: f64| {
        panel
            .sections
            .iter()
            .find(|x| x.s >= s)
            .map(|x| x.outline[3].x)
    };
    assert!(flange(300.0).unwrap() < -2.5 && flange(300.0).unwrap() > -4.0);
}

#[test]
fn what_cannot_be_had_is_told() {
    let rolled = Gap::plain(straight(300.0), EdgeKind::Rolled);
    let tucked = PanelOptions {
        top: Some(Top::Tucked),
        ..PanelOptions::default()
    };
    let fault = design(&rolled.survey(), &tucked, &Progress::silent()).unwrap_err();
    assert_eq!(fault, PanelFault::TopNotAllowed);
    let codes = |gap: &Gap, options: &PanelOptions| -> Vec<&'static str> {
        made(gap, options).findings.iter().map(|f| f.code).collect()
    };
    let bowed = PanelOptions {
        face: FaceStyle::Bowed,
        bow_mm: 20.0,
        ..PanelOptions::default()
    };
    assert_eq!(codes(&rolled, &bowed), ["bow-held"]);
    let lined_up = PanelOptions {
        line_up: LineUp::Silhouette,
        ..PanelOptions::default()
    };
    let mut fat = Gap::plain(straight(300.0), EdgeKind::Rolled);
    fat.skin = 8.0;
    let panel = made(&fat, &lined_up);
    assert_eq!(panel.findings[0].code, "face-held");
    // 8 mm out is the silhouette; the top reaches 3.
    assert!((panel.sections[20].outline[3].x - 3.0).abs() < 1e-6);
    assert!((panel.findings[0].size_mm.unwrap() - 5.0).abs() < 1e-6);
    let off = PanelOptions {
        changes: vec![PanelChange {
            at_mm: 400.0,
            wall_mm: Some(4.0),
            ..PanelChange::default()
        }],
        ..PanelOptions::default()
    };
    assert_eq!(codes(&rolled, &off), ["change-off-panel"]);
    let bad = PanelOptions {
        changes: vec![PanelChange {
            wall_mm: Some(-1.0),
            ..PanelChange::default()
        }],
        ..PanelOptions::default()
    };
    let fault = design(&rolled.survey(), &bad, &Progress::silent());
    assert!(matches!(
        fault,
        Err(PanelFault::BadLength {
            name: "wall_mm",
            ..
        })
    ));
}

/// Options drawn at random for an edge.
fn random_options(draws: &mut Draws, kind: EdgeKind) -> PanelOptions {
    let wall = draws.between(2.0, 4.0);
    let tops: &[Top] = match kind {
        EdgeKind::Cut => &[Top::Tucked, Top::Butted, Top::Lapped],
        EdgeKind::Rolled => &[Top::Butted, Top::Lapped],
    };
    let ends = [End::Closed, End::Returned, End::Faded];
    let pick = |draws: &mut Draws, n: usize| (draws.next() * n as f64) as usize;
    PanelOptions {
        wall_mm: wall,
        wall_top_mm: (draws.next() < 0.3).then(|| wall * draws.between(0.7, 1.2)),
        flange_mm: draws.between(18.0, 35.0),
        fillet_mm: draws.between(1.0, 4.0),
        tuck_mm: draws.between(6.0, 18.0),
        lap_mm: draws.between(8.0, 20.0),
        foot: [FootKind::Inboard, FootKind::None, FootKind::Outboard][pick(draws, 3)],
        top: Some(tops[pick(draws, tops.len())]),
        face: [FaceStyle::Straight, FaceStyle::Bowed, FaceStyle::Tangent][pick(draws, 3)],
        bow_mm: draws.between(-4.0, 6.0),
        lean_deg: draws.between(-10.0, 12.0),
        overlay_mm: [0.0, draws.between(0.5, 3.0)][pick(draws, 2)],
        end_left: ends[pick(draws, 3)],
        end_right: ends[pick(draws, 3)],
        changes: if draws.next() < 0.4 {
            vec![PanelChange {
                at_mm: draws.between(50.0, 250.0),
                over_mm: draws.between(40.0, 120.0),
                wall_mm: Some(wall * draws.between(0.8, 1.3)),
                bow_mm: Some(draws.between(-2.0, 4.0)),
                lean_deg: Some(draws.between(-8.0, 8.0)),
                ..PanelChange::default()
            }]
        } else {
            Vec::new()
        },
        ..PanelOptions::default()
    }
}

#[test]
fn random_options_on_random_gaps_give_sound_panels() {
    for seed in 1..=super::tests::SEEDS {
        let mut draws = Draws(seed * 104_729);
        draws.next();
        let gap = random_gap(seed, &mut draws);
        let mut options = random_options(&mut draws, gap.kind);
        if options.foot == FootKind::Outboard {
            options.overlay_mm = 0.0;
            for end in [&mut options.end_left, &mut options.end_right] {
                *end = if *end == End::Faded {
                    End::Closed
                } else {
                    *end
                };
            }
        }
        let panel = design(&gap.survey(), &options, &Progress::silent())
            .unwrap_or_else(|fault| panic!("{seed}: {fault} {options:?}"));
        let pieces = find_pieces(panel.solid.mesh()).1;
        assert_eq!(pieces, 1, "{seed} {:?}", panel.findings);
        expect_wall(&panel, &format!("{seed} {options:?}"));
    }
}

/// A flange outboard has its depth, wall and fillet; things that stand on the tray there are cut free of,
/// and the screws that hold it on the tray go through it. Volume by hand: depth times wall, and what a
/// fillet of four chords fills between two square sides, r^2 less four triangles of r^2 sin(pi / 8) / 2.
#[test]
fn a_flange_outboard_is_added_cut_free_and_screwed_down() {
    let gap = Gap::plain(straight(400.0), EdgeKind::Cut);
    let options = PanelOptions {
        foot: FootKind::Outboard,
        fillet_mm: 4.0,
        ..PanelOptions::default()
    };
    let plain = |foot| PanelOptions {
        foot,
        fillet_mm: 4.0,
        mount: Mount::Body,
        ..PanelOptions::default()
    };
    let with = made(&gap, &plain(FootKind::Outboard));
    let without = made(&gap, &plain(FootKind::None));
    let volume = |panel: &Panel| panel.solid.mesh().signed_volume();
    let added = (volume(&with) - volume(&without)) / 400.0;
    let eighth = std::f64::consts::FRAC_PI_8;
    let by_hand = 25.0 * 3.0 + 16.0 * (1.0 - 2.0 * eighth.sin());
    assert!((added - by_hand).abs() < 0.01, "{added} {by_hand}");
    let flange = with.wall.flange.unwrap();
    assert!((flange.least.mm - 3.0).abs() < 0.01 && (flange.most.mm - 3.0).abs() < 0.01);
    expect_wall(&with, "outboard");

    let mut gap = gap;
    gap.obstacles
        .push(obstacle([180.0, 200.0], [14.0, 22.0], 8.0));
    let options = PanelOptions {
        fixings: FixingOptions {
            style: Style::Screws,
            ..FixingOptions::default()
        },
        ..options
    };
    let panel = made(&gap, &options);
    assert!(panel.findings.iter().any(|f| f.code == "flange-relieved"));
    assert_eq!(panel.reliefs.len(), 1);
    let mesh = Nearest::new(panel.solid.mesh()).unwrap();
    // Over the bolt nothing is left; beside it the flange is there.
    let up = |s: f64, x: f64| {
        let frame = gap.spine.frame_at(s);
        let from = frame.to_shop(Point2::new(x, -5.0));
        mesh.ray(from, Vector3::z(), 100.0)
    };
    assert!(up(190.0, 18.0).is_none());
    assert!((up(150.0, 18.0).unwrap() - 5.0).abs() < 0.1);
    assert!(panel.fixings.len() > 2);
    for fixing in &panel.fixings {
        let flat = gap.spine.frame_at(fixing.s).to_section(fixing.at);
        assert!(flat.x > 8.0 && flat.x < 26.0, "{flat:?}");
        assert!((fixing.s - 190.0).abs() > 10.0);
    }
    let wide = PanelOptions {
        flange_mm: 60.0,
        ..options
    };
    assert!(
        made(&gap, &wide)
            .findings
            .iter()
            .any(|f| f.code == "flange-past-survey")
    );
}
