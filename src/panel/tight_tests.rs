//! Corners as tight as vehicles have them, with spines as a scan gives them.

use super::samples::{Draws, Gap};
use super::*;
use crate::gap::EdgeKind;
use crate::math::{Point2, Point3, Spine};
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

/// Leg, corner of 90 degrees, leg; points every 5 mm with noise square to the run (mm, standard).
fn corner(turn: Turn, radius: f64, noise: f64, seed: u64) -> Spine {
    let (leg, quarter) = (120.0, radius * std::f64::consts::FRAC_PI_2);
    let total = 2.0 * leg + quarter;
    let side = if turn == Turn::Convex { 1.0 } else { -1.0 };
    let n = (total / 5.0).ceil() as usize;
    let mut draws = Draws(seed * 7919);
    draws.next();
    let points: Vec<Point3> = (0..=n)
        .map(|i| {
            let s = total * i as f64 / n as f64;
            let a = ((s - leg) / radius).clamp(0.0, std::f64::consts::FRAC_PI_2);
            let (before, after) = (s.min(leg), (s - leg - quarter).max(0.0));
            let off = noise * draws.normal();
            // Along y first, then turning toward minus x (bulging) or plus x (hollow).
            let x = radius * (a.cos() - 1.0) - after * a.sin() + off * a.cos();
            let y = before + radius * a.sin() + after * a.cos() + off * a.sin();
            Point3::new(side * x, y, 0.0)
        })
        .collect();
    // As the survey fits its spine.
    Spine::fit(&points, &vec![1.0; points.len()], 12.0, if noise > 0.0 { 2.0 } else { 0.01 }).unwrap()
}

#[test]
fn probe() {
    for (noise, seeds) in [(0.0, 1), (0.3, 3), (0.8, 3)] {
        for turn in [Turn::Convex, Turn::Concave] {
            for radius in [25.0, 30.0, 40.0, 60.0] {
                for seed in 1..=seeds {
                    let spine = corner(turn, radius, noise, seed);
                    let k = (0..=400)
                        .map(|i| spine.curvature_at(spine.length() * f64::from(i) / 400.0).abs())
                        .fold(0.0, f64::max);
                    let mut row = String::new();
                    for kind in [EdgeKind::Cut, EdgeKind::Rolled] {
                        for flange_mm in [30.0, 40.0] {
                            for wall_mm in [2.0, 3.0, 4.0] {
                                let mut gap = Gap::plain(spine.clone(), kind);
                                gap.noise = noise;
                                gap.seed = seed;
                                let options = PanelOptions { wall_mm, flange_mm, ..Default::default() };
                                let made = design(&gap.survey(), &options, &Progress::silent());
                                let word = match &made {
                                    Ok(panel) => {
                                        let [a, b] = panel.wall.range().unwrap();
                                        let least = panel.sections.iter().map(|s| s.outline[3].x - s.outline[0].x).fold(99.0, f64::min);
                                        assert_eq!(find_pieces(panel.solid.mesh()).1, 1);
                                        let bad = if a < 0.97 || b > 1.15 { "!!" } else { "" };
                                        format!(" {a:.2}-{b:.2}{bad}/{least:.0}")
                                    }
                                    Err(e) => format!(" ERR {e}"),
                                };
                                row += &word;
                            }
                        }
                    }
                    println!("{noise} {turn:?} R{radius} #{seed} tightest {:.1}:{row}", 1.0 / k);
                }
            }
        }
    }
}
