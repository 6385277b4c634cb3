//! The panel as a whole, against formulas.

use super::samples::{Draws, Gap, arc, bow, straight};
use super::*;
use crate::gap::{EdgeKind, Obstacle};
use crate::math::{Point2, Spine};
use crate::mesh::nearest::Nearest;
use crate::mesh::topology::find_pieces;
use crate::progress::Progress;

fn made(gap: &Gap, options: &PanelOptions) -> Panel {
    design(&gap.survey(), options, &Progress::silent()).unwrap()
}

fn codes(panel: &Panel) -> Vec<&str> {
    panel.findings.iter().map(|f| f.code).collect()
}

fn expect_wall(panel: &Panel) {
    let [least, most] = panel.wall.range().unwrap();
    assert!(least >= 0.97 && most <= 1.15, "{:?}", panel.wall);
}

fn area_and_centroid(outline: &[Point2]) -> (f64, f64) {
    let n = outline.len();
    let (mut area, mut moment) = (0.0, 0.0);
    for i in 0..n {
        let (p, q) = (outline[i], outline[(i + 1) % n]);
        let cross = p.coords.perp(&q.coords);
        area += cross / 2.0;
        moment += cross * (p.x + q.x) / 6.0;
    }
    (area, moment / area)
}

/// Volume of a section swept square to a path: Pappus (check value S6).
fn swept_volume(spine: &Spine, sections: &[Section]) -> f64 {
    let rate = |section: &Section| {
        let (area, out) = area_and_centroid(&section.outline);
        area * (1.0 + spine.curvature_at(section.s) * out)
    };
    sections
        .windows(2)
        .map(|w| 0.5 * (rate(&w[0]) + rate(&w[1])) * (w[1].s - w[0].s))
        .sum()
}

#[test]
fn volume_is_area_times_the_path_of_the_centroid() {
    let spines = [straight(600.0), arc(400.0, 90.0), bow(150.0, 45.0, 200.0)];
    for spine in spines {
        for kind in [EdgeKind::Cut, EdgeKind::Rolled] {
            let panel = made(&Gap::plain(spine.clone(), kind), &PanelOptions::default());
            let swept = swept_volume(&spine, &panel.sections);
            let off = panel.solid.mesh().signed_volume() / swept - 1.0;
            assert!(off.abs() < 0.005, "{kind:?} {off}");
            expect_wall(&panel);
            assert_eq!(codes(&panel), [""; 0]);
        }
    }
}

#[test]
fn a_straight_level_panel_has_the_volume_of_its_parts() {
    let options = PanelOptions {
        seal_mm: 2.0,
        ..PanelOptions::default()
    };
    let panel = made(&Gap::plain(straight(500.0), EdgeKind::Rolled), &options);
    // Face to 40 less seal and paint; what the four chords of the fillet leave of its square.
    let fillet = 9.0 - 18.0 * std::f64::consts::FRAC_PI_8.sin();
    let area = 25.0 * 3.0 + 3.0 * (37.7 - 3.0) + fillet;
    let volume = panel.solid.mesh().signed_volume();
    assert!((volume / (500.0 * area) - 1.0).abs() < 1e-4, "{volume}");
    assert_eq!(panel.top, Top::Butted);
}

#[test]
fn the_land_stands_under_a_rolled_edge() {
    let mut gap = Gap::plain(arc(900.0, 60.0), EdgeKind::Rolled);
    gap.edge_z = |s| 45.0 + 8.0 * (s / 180.0).sin();
    gap.edge_x = |s| 3.0 * (s / 250.0).sin();
    let options = PanelOptions {
        seal_mm: 2.0,
        ..PanelOptions::default()
    };
    let panel = made(&gap, &options);
    for section in &panel.sections {
        let (out, inside) = (section.outline[4], section.outline[5]);
        let off = out.y - ((gap.edge_z)(section.s) - 2.3);
        assert!(off.abs() < 0.1, "{} {off}", section.s);
        // Centred under the lowest point of the roll.
        assert!((0.5 * (out.x + inside.x) - (gap.edge_x)(section.s)).abs() < 0.1);
    }
    expect_wall(&panel);
}

#[test]
fn the_lip_stands_off_a_cut_skin_and_the_knee_under_its_edge() {
    for lean in [
        |_: f64| 0.3,
        |_: f64| -0.25,
        |s: f64| 0.4 * (s / 300.0).sin(),
    ] {
        let mut gap = Gap::plain(arc(700.0, 60.0), EdgeKind::Cut);
        gap.lean = lean;
        gap.edge_z = |s| 45.0 + 6.0 * (s / 200.0).sin();
        gap.tray = |s| [2.0 * (s / 300.0).sin(), 0.02, 1e-4];
        let panel = made(&gap, &PanelOptions::default());
        for section in &panel.sections {
            let (z, lean) = ((gap.edge_z)(section.s), lean(section.s));
            // Square distance inboard of the back of the skin, which starts at the edge.
            let off = |p: Point2| -((p.x) * lean.cos() + (p.y - z) * lean.sin());
            let (knee, top) = (section.outline[4], section.outline[5]);
            assert!((off(knee) - 1.6).abs() < 0.1 && (off(top) - 1.6).abs() < 0.15);
            assert!(knee.y < z - 0.8 && knee.y > z - 1.2);
            assert!(
                (section.outline[3].x - knee.x).abs() < 1e-12,
                "the face is upright"
            );
            let up =
                (top - Point2::new(0.0, z)).dot(&nalgebra::Vector2::new(-lean.sin(), lean.cos()));
            assert!((up - 10.0).abs() < 0.15, "{up}");
        }
        expect_wall(&panel);
    }
}

#[test]
fn an_edge_found_too_far_out_is_held_by_the_outside_of_the_skin() {
    let mut gap = Gap::plain(straight(300.0), EdgeKind::Cut);
    // The edge is put on the outside of a 3 mm skin: the silhouette then lies no further out.
    gap.skin = 0.0;
    let panel = made(&gap, &PanelOptions::default());
    let lip = panel.sections[20].outline[5].x;
    assert!((lip - (-3.0 - 1.6)).abs() < 1e-6, "{lip}");
}

#[test]
fn a_step_and_a_notch_in_the_edge_are_followed() {
    for kind in [EdgeKind::Cut, EdgeKind::Rolled] {
        let mut gap = Gap::plain(straight(800.0), kind);
        gap.edge_z = |s| {
            let step = 10.0 * ((s - 250.0) / 6.0).clamp(0.0, 1.0);
            let rise = 20.0 * ((s - 500.0) / 10.0).clamp(0.0, 1.0);
            40.0 + step + rise - 20.0 * ((s - 570.0) / 10.0).clamp(0.0, 1.0)
        };
        gap.lean = |_| 0.25;
        gap.follow = kind == EdgeKind::Cut;
        gap.noise = 0.2;
        let panel = made(&gap, &PanelOptions::default());
        let under = if kind == EdgeKind::Cut { 1.0 } else { 2.3 };
        for section in &panel.sections {
            // Within 1.5 mm of the edge at some place no further off than the stations' spacing.
            let off = (-5..=5)
                .map(|k| {
                    (section.outline[4].y + under - (gap.edge_z)(section.s + f64::from(k))).abs()
                })
                .fold(f64::INFINITY, f64::min);
            assert!(off < 1.5, "{kind:?} {} {off}", section.s);
        }
        expect_wall(&panel);
    }
}

#[test]
fn a_tight_bend_shortens_the_flange_and_says_so() {
    let gap = Gap::plain(bow(120.0, 26.0, 150.0), EdgeKind::Rolled);
    let panel = made(&gap, &PanelOptions::default());
    assert_eq!(codes(&panel), ["flange-shortened"]);
    let spine = &gap.spine;
    let depth = |section: &Section| section.outline[3].x - section.outline[0].x;
    let least = panel
        .sections
        .iter()
        .map(depth)
        .fold(f64::INFINITY, f64::min);
    let tightest = panel
        .sections
        .iter()
        .map(|section| 1.0 / spine.curvature_at(section.s).max(1e-9) + section.outline[3].x)
        .fold(f64::INFINITY, f64::min);
    assert!(
        (least - (tightest - 5.0)).abs() < 1e-6 && least < 24.0,
        "{least} {tightest}"
    );
    for section in &panel.sections {
        let tip = 1.0 + spine.curvature_at(section.s) * section.outline[0].x;
        assert!(tip > 0.1, "the tip does not turn back at {}", section.s);
    }
    assert!((depth(&panel.sections[2]) - 25.0).abs() < 1e-9);
    expect_wall(&panel);

    let fault = design(
        &Gap::plain(bow(120.0, 9.0, 150.0), EdgeKind::Rolled).survey(),
        &PanelOptions {
            wall_mm: 6.0,
            ..Default::default()
        },
        &Progress::silent(),
    );
    assert!(
        matches!(fault, Err(PanelFault::TooTight { .. })),
        "{:?}",
        fault.err()
    );
}

pub(super) fn obstacle(along: [f64; 2], across: [f64; 2], height: f64) -> Obstacle {
    Obstacle {
        along,
        across,
        height,
    }
}

#[test]
fn the_flange_is_cut_free_of_what_stands_on_the_tray() {
    let mut gap = Gap::plain(straight(500.0), EdgeKind::Cut);
    let whole = made(&gap, &PanelOptions::default());
    gap.obstacles = vec![
        obstacle([100.0, 112.0], [-18.0, -10.0], 6.0),
        obstacle([114.0, 120.0], [-22.0, -15.0], 4.0),
        obstacle([200.0, 210.0], [-18.0, -10.0], 1.2),
        obstacle([300.0, 310.0], [-60.0, -40.0], 9.0),
    ];
    let panel = made(&gap, &PanelOptions::default());
    assert_eq!(
        panel.reliefs,
        [Relief {
            along: [98.0, 122.0],
            height: 6.0
        }]
    );
    assert_eq!(codes(&panel), ["flange-relieved"]);
    // The face's outside is at -1.6 and the flange's tip at -26.6: cut back to -8, where the fillet is
    // (from -7.6) not yet reached.
    let cut = 24.0 * (26.6 - 8.0) * 3.0;
    let gone = whole.solid.mesh().signed_volume() - panel.solid.mesh().signed_volume();
    assert!((gone / cut - 1.0).abs() < 1e-3, "{gone} {cut}");
    assert_eq!(find_pieces(panel.solid.mesh()).1, 1);
    expect_wall(&panel);
}

#[test]
fn what_stands_under_the_face_cuts_its_foot() {
    let mut gap = Gap::plain(arc(400.0, 60.0), EdgeKind::Cut);
    gap.obstacles = vec![
        obstacle([100.0, 115.0], [-12.0, 6.0], 8.0),
        obstacle([200.0, 215.0], [-12.0, 6.0], 90.0),
        obstacle([-4.0, 3.0], [-12.0, -9.0], 5.0),
        obstacle([300.0, 310.0], [-1.0, 20.0], 5.0),
        obstacle([350.0, 360.0], [6.0, 20.0], 5.0),
    ];
    let panel = made(&gap, &PanelOptions::default());
    assert_eq!(
        codes(&panel),
        [
            "face-blocked",
            "tight-outside",
            "flange-relieved",
            "face-notched"
        ]
    );
    assert_eq!(panel.reliefs.len(), 2);
    // Through the face, 19 mm long, 10 mm high: rays level from outside meet nothing there.
    let inside = Nearest::new(panel.solid.mesh()).unwrap();
    let blocked = |s: f64, z: f64| {
        let frame = gap.spine.frame_at(s);
        let from = frame.to_shop(Point2::new(10.0, z));
        inside.ray(from, -frame.outward, 40.0).is_some()
    };
    for (s, z) in [(99.0, 9.5), (107.0, 1.0), (116.0, 5.0)] {
        assert!(!blocked(s, z), "{s} {z}");
    }
    for (s, z) in [
        (107.0, 10.5),
        (97.5, 5.0),
        (117.5, 5.0),
        (207.0, 5.0),
        (305.0, 5.0),
    ] {
        assert!(blocked(s, z), "{s} {z}");
    }
    assert_eq!(find_pieces(panel.solid.mesh()).1, 1);
    expect_wall(&panel);
}

#[test]
fn a_short_gap_takes_a_smaller_fillet_and_too_short_a_one_is_refused() {
    let mut gap = Gap::plain(straight(400.0), EdgeKind::Rolled);
    gap.edge_z = |s| 12.0 - 0.006 * s;
    let panel = made(&gap, &PanelOptions::default());
    assert_eq!(codes(&panel), ["fillet-reduced"]);
    assert_eq!(find_pieces(panel.solid.mesh()).1, 1);

    gap.edge_z = |s| 12.0 - 0.02 * s;
    let fault = design(&gap.survey(), &PanelOptions::default(), &Progress::silent()).unwrap_err();
    assert!(
        matches!(fault, PanelFault::GapTooSmall { station_mm, needed_mm, .. }
            if station_mm > 250.0 && (needed_mm - 3.8).abs() < 0.1),
        "{fault}"
    );
}

#[test]
fn bad_options_and_empty_surveys_are_refused() {
    let survey = Gap::plain(straight(100.0), EdgeKind::Cut).survey();
    let run = |survey, options: PanelOptions| design(survey, &options, &Progress::silent());
    for wall_mm in [0.0, -3.0, f64::NAN, f64::INFINITY] {
        let options = PanelOptions {
            wall_mm,
            ..Default::default()
        };
        let fault = run(&survey, options).unwrap_err();
        assert!(matches!(
            fault,
            PanelFault::BadLength {
                name: "wall_mm",
                ..
            }
        ));
    }
    let mut empty = survey.clone();
    empty.stations.clear();
    assert_eq!(
        run(&empty, PanelOptions::default()).unwrap_err(),
        PanelFault::TooFewStations { found: 0 }
    );
    let mut blind = survey.clone();
    for station in &mut blind.stations {
        station.edge.z = f64::NAN;
    }
    assert!(run(&blind, PanelOptions::default()).is_err());
    let stopped = Progress::silent();
    stopped.cancel();
    assert_eq!(
        design(&survey, &PanelOptions::default(), &stopped).unwrap_err(),
        PanelFault::Cancelled
    );
}

/// How many random gaps are tried.
pub(super) const SEEDS: u64 = 20;

/// A random gap: straight, arc or U, with steps, notches, waves, lean, twist, noise and clutter.
pub(super) fn random_gap(seed: u64, draws: &mut Draws) -> Gap {
    let spine = match seed % 3 {
        0 => bow(
            draws.between(60.0, 200.0),
            draws.between(40.0, 80.0),
            draws.between(80.0, 300.0),
        ),
        1 => arc(draws.between(200.0, 900.0), 60.0),
        _ => straight(draws.between(250.0, 900.0)),
    };
    let kind = [EdgeKind::Cut, EdgeKind::Rolled][draws.between(0.0, 2.0) as usize];
    let mut gap = Gap::plain(spine, kind);
    gap.follow = kind == EdgeKind::Cut;
    gap.edge_z = [
        |s: f64| 30.0 + 0.03 * s,
        |s: f64| 55.0 + 12.0 * (s / 80.0).sin(),
        |s: f64| {
            let ramp = |from: f64, over: f64| ((s - from) / over).clamp(0.0, 1.0);
            35.0 + 10.0 * ramp(100.0, 6.0) + 20.0 * (ramp(150.0, 8.0) - ramp(220.0, 8.0))
        },
    ][draws.between(0.0, 3.0) as usize];
    gap.edge_x = [|_| -2.0, |s: f64| 4.0 * (s / 100.0).sin()][draws.between(0.0, 2.0) as usize];
    gap.lean = [|_| 0.3, |s: f64| 0.3 * (s / 120.0).cos(), |_| -0.3, |_| 0.0]
        [draws.between(0.0, 4.0) as usize];
    gap.tray = [
        |_| [0.0; 3],
        |s: f64| [5.0 * (s / 100.0).sin(), 0.1 * (s / 200.0).sin(), -3e-4],
        |_| [0.0, -0.1, 0.0],
    ][draws.between(0.0, 3.0) as usize];
    gap.noise = draws.between(0.0, 0.5);
    gap.seed = seed;
    for _ in 0..seed % 5 {
        let (s, x) = (
            draws.between(-5.0, gap.spine.length()),
            draws.between(-30.0, 8.0),
        );
        let (long, wide) = (draws.between(4.0, 60.0), draws.between(3.0, 15.0));
        gap.obstacles.push(obstacle(
            [s, s + long],
            [x - wide, x],
            draws.between(0.5, 12.0),
        ));
    }
    gap
}

#[test]
fn random_gaps_give_sound_panels() {
    for seed in 1..=SEEDS {
        let mut draws = Draws(seed * 7919);
        draws.next();
        let gap = random_gap(seed, &mut draws);
        let options = PanelOptions {
            wall_mm: draws.between(1.5, 4.0),
            fillet_mm: draws.between(0.0, 5.0),
            flange_mm: draws.between(15.0, 35.0),
            tuck_mm: draws.between(6.0, 20.0),
            ..Default::default()
        };
        let panel = design(&gap.survey(), &options, &Progress::silent())
            .unwrap_or_else(|fault| panic!("{seed}: {fault}"));
        assert_eq!(find_pieces(panel.solid.mesh()).1, 1, "{seed}");
        let [least, most] = panel.wall.range().unwrap();
        assert!(least >= 0.97 && most <= 1.15, "{seed} {:?}", panel.wall);
    }
}
