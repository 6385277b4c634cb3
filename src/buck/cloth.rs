//! Pieces of cloth, cut flat: the covered surface laid flat for each way the fibres run, in as few pieces
//! as lie down without creases.

use super::covered::Covered;
use super::creases::judge;
use super::cutter::Cutter;
use super::laminate::{Cloth, Ply};
use super::layup::CutOptions;
use crate::diag::Finding;
use crate::math::{Point2, Spine, Vector2};
use rayon::prelude::*;
use std::f64::consts::{FRAC_PI_2, PI};

/// Fibres hardly give: no stretch past this (share), either way.
pub const MOST_STRETCH: f64 = 0.01;
/// From here on the weave resists and wants to be watched (rad).
pub const SHEAR_SHOWS: f64 = 30.0 * PI / 180.0;
/// Past this it creases (rad). Plain weave locks at 40 to 55 degrees, twill at 50 to 60 (from memory).
pub const MOST_SHEAR: f64 = 45.0 * PI / 180.0;

/// A station on a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct ClothTick {
    /// Arc length (mm).
    pub s: f64,
    /// On the lower edge and on the upper.
    pub ends: [Point2; 2],
}

/// One piece of cloth, seen from outside, its middle running along x (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct ClothPiece {
    /// What it covers, from and to (arc length, mm), its lap over the piece before included.
    pub along: [f64; 2],
    /// From and to up the surface, in corners of the section as a share of all of them: 0 to 1 if it covers the
    /// surface's whole height.
    pub up: [f64; 2],
    /// Up to here it laps the piece before (arc length, mm).
    pub lap_to: Option<f64>,
    /// The cut, closed.
    pub outline: Vec<Point2>,
    /// The part's edges on it, along the foot and along the top, where they lie on this piece.
    pub edges: Vec<Vec<Point2>>,
    /// The part's ends on it, where they lie on this piece.
    pub ends: Vec<Vec<Point2>>,
    /// Where its laps end, over the piece before and over the one below.
    pub laps: Vec<Vec<Point2>>,
    /// Stations.
    pub ticks: Vec<ClothTick>,
    /// Its middle.
    pub middle: Point2,
    /// Least and most stretch along either way of its fibres (shares).
    pub stretch: [f64; 2],
    /// Most shear (rad), and where (arc length, mm).
    pub shear: (f64, f64),
    /// Its area in the flat (mm2).
    pub area: f64,
    /// The area it covers (mm2): less than its own where it shears.
    pub covers: f64,
}

impl ClothPiece {
    /// Most stretch or crowding along either way of its fibres (share).
    #[must_use]
    pub fn worst_stretch(&self) -> f64 {
        self.stretch[1].max(-self.stretch[0])
    }

    /// Which of the surface's height it covers, in words; nothing if all of it.
    #[must_use]
    pub fn strip(&self) -> Option<&'static str> {
        match (self.up[0] > 0.0, self.up[1] < 1.0) {
            (false, false) => None,
            (false, true) => Some("lowest strip"),
            (true, true) => Some("middle strip"),
            (true, false) => Some("highest strip"),
        }
    }

    /// Whether it lies down within both limits.
    #[must_use]
    pub fn lies_down(&self) -> bool {
        self.worst_stretch() <= MOST_STRETCH && self.shear.0 <= MOST_SHEAR
    }

    /// How wide it is across its warp (mm).
    #[must_use]
    pub fn across(&self, turn: f64) -> f64 {
        let weft = Vector2::new(-turn.sin(), turn.cos());
        let spans = self.outline.iter().map(|p| p.coords.dot(&weft));
        let (low, high) = spans.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
            (a.min(v), b.max(v))
        });
        high - low
    }
}

/// The pieces of one or more plies that are cut alike.
#[derive(Debug, Clone, PartialEq)]
pub struct ClothSet {
    /// Numbers of the plies, from 1.
    pub plies: Vec<usize>,
    /// The cloth.
    pub ply: Ply,
    /// Its pieces, from the maker's left.
    pub pieces: Vec<ClothPiece>,
    /// Stretches that no piece could be laid out for, from and to (arc length, mm).
    pub bare: Vec<[f64; 2]>,
}

impl ClothSet {
    /// What the pieces of one ply measure together (mm2).
    #[must_use]
    pub fn area(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.area).sum()
    }
}

/// Direction of the warp within half a turn, or within a quarter where warp and weft are alike (rad).
pub(super) fn direction(ply: &Ply) -> f64 {
    let period = match ply.cloth {
        Cloth::Woven => FRAC_PI_2,
        Cloth::Unidirectional => PI,
    };
    let turn = ply.turn.rem_euclid(period);
    // What is a hair under a whole period is none.
    if period - turn < 1e-9 { 0.0 } else { turn }
}

/// Whether two directions of a warp (rad) are one.
fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

/// Cuts the cloth for every ply. Plies whose fibres run alike share their pieces, but for every second of
/// them seams are moved over by twice the lap, so that laps do not lie on each other.
#[must_use]
pub fn cut_cloth(
    covered: &Covered,
    spine: &Spine,
    plies: &[Ply],
    options: &CutOptions,
) -> (Vec<ClothSet>, Vec<Finding>) {
    // Every second ply of a direction is cut with its laps moved, so that they do not pile up.
    let mut counts: Vec<(f64, usize)> = Vec::new();
    let cuts: Vec<(f64, usize)> = plies
        .iter()
        .map(|ply| {
            let turn = direction(ply);
            let before = match counts.iter_mut().find(|(other, _)| alike(*other, turn)) {
                Some((_, count)) => {
                    *count += 1;
                    *count - 1
                }
                None => {
                    counts.push((turn, 1));
                    0
                }
            };
            (turn, before % 2)
        })
        .collect();
    let same = |a: (f64, usize), b: (f64, usize)| alike(a.0, b.0) && a.1 == b.1;
    let mut ways: Vec<(f64, usize)> = Vec::new();
    for &cut in &cuts {
        if !ways.iter().any(|way| same(*way, cut)) {
            ways.push(cut);
        }
    }
    // Laying a piece flat takes long, and no way of cutting needs another's pieces.
    let pieces: Vec<_> = ways
        .par_iter()
        .map(|&(turn, moved)| {
            let moved = 2.0 * options.overlap_mm * moved as f64;
            Cutter {
                covered,
                spine,
                turn,
                moved,
                options,
            }
            .pieces()
        })
        .collect();
    let mut sets: Vec<(ClothSet, (f64, usize))> = Vec::new();
    for (i, (ply, &cut)) in plies.iter().zip(&cuts).enumerate() {
        let known = sets
            .iter_mut()
            .find(|(set, other)| same(*other, cut) && set.ply.is_cut_from(ply));
        if let Some((set, _)) = known {
            set.plies.push(i + 1);
            continue;
        }
        let of = ways.iter().zip(&pieces).find(|(way, _)| same(**way, cut));
        let (pieces, bare) = of.map_or_else(Default::default, |(_, pieces)| pieces.clone());
        let set = ClothSet {
            plies: vec![i + 1],
            ply: *ply,
            pieces,
            bare,
        };
        sets.push((set, cut));
    }
    let sets: Vec<ClothSet> = sets.into_iter().map(|(set, _)| set).collect();
    let findings = judge(&sets, options);
    (sets, findings)
}

#[cfg(test)]
#[path = "cloth_tests.rs"]
mod tests;
