//! Corners as tight as vehicles have them, with spines as a scan gives them.

use super::samples::{Draws, Gap};
use super::*;
use crate::gap::EdgeKind;
use crate::math::{Point3, Spine};
use crate::mesh::topology::find_pieces;
use crate::progress::Progress;

/// Which way a corner turns.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Turn {
    /// Bulging outward.
    Convex,
    /// Hollow.
    Concave,
}

/// Leg, corner of `degrees`, leg; points every 5 mm with noise square to the run (mm, standard).
fn corner(turn: Turn, degrees: f64, radius: f64, noise: f64, seed: u64) -> Spine {
    let angle = degrees.to_radians();
    let (leg, bend) = (120.0, radius * angle);
    let total = 2.0 * leg + bend;
    let side = if turn == Turn::Convex { 1.0 } else { -1.0 };
    let n = (total / 5.0).ceil() as usize;
    let mut draws = Draws(seed * 7919);
    draws.next();
    let points: Vec<Point3> = (0..=n)
        .map(|i| {
            let s = total * i as f64 / n as f64;
            let a = ((s - leg) / radius).clamp(0.0, angle);
            let (before, after) = (s.min(leg), (s - leg - bend).max(0.0));
            let off = noise * draws.normal();
            // Along y first, then turning toward minus x (bulging) or plus x (hollow).
            let x = radius * (a.cos() - 1.0) - after * a.sin() + off * a.cos();
            let y = before + radius * a.sin() + after * a.cos() + off * a.sin();
            Point3::new(side * x, y, 0.0)
        })
        .collect();
    // As stiff as the survey's own spine where there is noise.
    let stiffness = if noise > 0.0 { 2.0 } else { 0.01 };
    Spine::fit(&points, &vec![1.0; points.len()], 12.0, stiffness).unwrap()
}

/// What a corner's panel has to be: one sound piece (proved on the way), its wall as asked, nowhere folded.
fn expect_sound(gap: &Gap, options: &PanelOptions, say: &str) -> Panel {
    let panel = design(&gap.survey(), options, &Progress::silent())
        .unwrap_or_else(|fault| panic!("{say}: {fault}"));
    assert_eq!(find_pieces(panel.solid.mesh()).1, 1, "{say}");
    let [least, most] = panel.wall.range().unwrap();
    assert!(least >= 0.97 && most <= 1.15, "{say}: {:?}", panel.wall);
    // Corners of neighbouring sections go forward: the sweep does not turn back.
    for pair in panel.sections.windows(2) {
        let frames = [0, 1].map(|i| gap.spine.frame_at(pair[i].s));
        for (a, b) in pair[0].outline.iter().zip(&pair[1].outline) {
            let step = frames[1].to_shop(*b) - frames[0].to_shop(*a);
            assert!(step.dot(&frames[0].along) > 0.0, "{say} at {}", pair[0].s);
        }
    }
    panel
}

fn depth(section: &Section) -> f64 {
    section.outline[3].x - section.outline[0].x
}

#[test]
fn a_flange_gives_way_in_a_corner_of_25_mm_and_says_where() {
    for kind in [EdgeKind::Cut, EdgeKind::Rolled] {
        for radius in [25.0, 30.0, 40.0, 60.0] {
            for (wall_mm, flange_mm) in [(2.0, 30.0), (3.0, 40.0), (4.0, 30.0), (4.0, 40.0)] {
                let options = PanelOptions {
                    wall_mm,
                    flange_mm,
                    ..Default::default()
                };
                for turn in [Turn::Convex, Turn::Concave] {
                    let say = format!("{kind:?} {turn:?} R{radius} {wall_mm} {flange_mm}");
                    let gap = Gap::plain(corner(turn, 90.0, radius, 0.0, 1), kind);
                    let panel = expect_sound(&gap, &options, &say);
                    let short = panel.findings.iter().find(|f| f.code == "flange-shortened");
                    let least = panel.sections.iter().map(depth).fold(f64::MAX, f64::min);
                    // The flange has room for all but 5 mm of the radius; the spline through the corner
                    // bends up to a tenth tighter than the arc.
                    let face = panel.sections[0].outline[3].x;
                    let room = if turn == Turn::Convex {
                        radius + face - 5.0
                    } else {
                        f64::MAX
                    };
                    if room < flange_mm {
                        let station = short.expect(&say).station_mm.expect(&say);
                        let mid = 0.5 * gap.spine.length();
                        assert!((station - mid).abs() < radius, "{say}: {station} {mid}");
                        assert!(
                            least > room - 0.1 * radius && least < room + 2.0,
                            "{say}: {least}"
                        );
                    } else {
                        assert!(least > flange_mm - 0.1 * radius, "{say}: {least}");
                    }
                    assert!(
                        (depth(&panel.sections[2]) - flange_mm).abs() < 1e-9,
                        "{say}"
                    );
                }
            }
        }
    }
}

#[test]
fn noisy_spines_fold_nowhere() {
    for seed in 1..=24_u64 {
        let mut draws = Draws(seed * 104_729);
        draws.next();
        let turn = [Turn::Convex, Turn::Concave][(seed % 2) as usize];
        let kind = [EdgeKind::Cut, EdgeKind::Rolled][(seed / 2 % 2) as usize];
        let radius = [25.0, 30.0, 40.0, 60.0][(seed % 4) as usize];
        let noise = draws.between(0.2, 1.2);
        let degrees = draws.between(50.0, 130.0);
        let mut gap = Gap::plain(corner(turn, degrees, radius, noise, seed), kind);
        // Stations come smoothed from a survey, a spine's corner less so.
        gap.noise = noise.min(0.5);
        gap.seed = seed;
        gap.lean = [
            |_: f64| 0.35,
            |_: f64| -0.35,
            |s: f64| 0.3 * (s / 60.0).sin(),
        ][(seed % 3) as usize];
        gap.edge_z =
            [|_: f64| 30.0, |s: f64| 45.0 + 8.0 * (s / 40.0).sin()][(seed / 3 % 2) as usize];
        gap.tray = [
            |_: f64| [0.0; 3],
            |s: f64| [2.0 * (s / 50.0).sin(), -0.08, 2e-4],
        ][(seed / 5 % 2) as usize];
        let ends = [End::Closed, End::Returned, End::Faded];
        let options = PanelOptions {
            wall_mm: draws.between(2.0, 4.0),
            flange_mm: draws.between(25.0, 40.0),
            end_left: ends[(seed % 3) as usize],
            end_right: ends[(seed / 3 % 3) as usize],
            ..Default::default()
        };
        let say = format!("{seed}: {turn:?} {kind:?} R{radius} {degrees:.0} deg, noise {noise:.2}");
        expect_sound(&gap, &options, &say);
    }
}
