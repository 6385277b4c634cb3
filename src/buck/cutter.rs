//! One way of fibres over the covered surface, cut into as few pieces as lie down without creases.

use super::cloth::{ClothPiece, MOST_SHEAR, MOST_STRETCH};
use super::covered::Covered;
use super::layup::CutOptions;
use super::net::{LEAST_ROWS, Net, ROW_MM};
use crate::math::Spine;
use crate::mesh::flatten::{Weave, flatten, strains};
use std::f64::consts::PI;

/// Stiffness of dry woven cloth in shear before it locks, as a share of that along its fibres. From memory, no
/// source opened: picture frames take some hundredths of a newton for each mm of side and radian, and the
/// fibres of 300 g/m2 of glass some thousand newtons for each mm of width. What comes out hardly hangs on
/// it: a tenth or ten times of it leads to the same net (see the tests of `mesh::flatten`).
const SHEAR_SHARE: f64 = 1e-5;
/// A first look is taken with meshes so many times as long, and a piece is given up on it where it passes the
/// limit of shear by so much (rad), or that of stretch so many times: large meshes feel less of the worst
/// shear than small ones, and a little stretch of their own.
const FIRST_LOOK: f64 = 2.0;
const SURELY_SHEARED: f64 = 5.0 * PI / 180.0;
const SURELY_STRETCHED: f64 = 2.0;
/// No piece is cut shorter than this (mm).
const LEAST_PIECE_MM: f64 = 40.0;

/// What cuts one way of fibres.
pub struct Cutter<'a> {
    pub covered: &'a Covered,
    pub spine: &'a Spine,
    pub turn: f64,
    /// Seams are moved over by so much (mm).
    pub moved: f64,
    pub options: &'a CutOptions,
}

impl Cutter<'_> {
    /// The pieces, from left to right: the whole, halved until each lies down; and what none could be laid
    /// out for.
    pub fn pieces(&self) -> (Vec<ClothPiece>, Vec<[f64; 2]>) {
        self.pieces_between(self.covered.ends())
    }

    fn pieces_between(&self, [from, to]: [f64; 2]) -> (Vec<ClothPiece>, Vec<[f64; 2]>) {
        let [first, _] = self.covered.ends();
        let lap = from > first;
        let start = if lap {
            from - self.options.overlap_mm
        } else {
            from
        };
        let start = start.max(first);
        let room = 0.5 * (to - from) - self.moved - LEAST_PIECE_MM;
        let lap_to = lap.then_some(from);
        let long = to - from > self.options.piece_mm;
        let hopeless = || room >= 0.0 && self.is_hopeless([start, to], lap_to);
        let piece = (!long && !hopeless())
            .then(|| self.piece([start, to], lap_to, 1.0))
            .flatten();
        let fits = |piece: &ClothPiece| {
            piece.lies_down() && piece.across(self.turn) <= self.options.roll_mm
        };
        match piece {
            Some(piece) if fits(&piece) || room < 0.0 => (vec![piece], Vec::new()),
            None if room < 0.0 => (Vec::new(), vec![[from, to]]),
            _ => {
                let middle = 0.5 * (from + to) + self.moved;
                let (mut left, right) = rayon::join(
                    || self.pieces_between([from, middle]),
                    || self.pieces_between([middle, to]),
                );
                left.0.extend(right.0);
                left.1.extend(right.1);
                left
            }
        }
    }

    /// Whether a first look at a long piece already shows that it does not lie down.
    fn is_hopeless(&self, [from, to]: [f64; 2], lap_to: Option<f64>) -> bool {
        to - from >= LEAST_ROWS * FIRST_LOOK * ROW_MM
            && (self.piece([from, to], lap_to, FIRST_LOOK)).is_some_and(|piece| {
                piece.shear.0 > MOST_SHEAR + SURELY_SHEARED
                    || piece.worst_stretch() > SURELY_STRETCHED * MOST_STRETCH
            })
    }

    /// The surface between two stations laid flat, with meshes so many times as long as they should be.
    fn piece(&self, [from, to]: [f64; 2], lap_to: Option<f64>, longer: f64) -> Option<ClothPiece> {
        let net = Net::new(self, [from, to], lap_to, longer)?;
        let weave = Weave {
            turn: self.turn,
            shear_share: SHEAR_SHARE,
        };
        let laid = [net.unrolled(), Some(net.even())]
            .into_iter()
            .flatten()
            .find_map(|start| flatten(&net.mesh, &start, net.held(), weave))?;
        let found = strains(&net.mesh, &laid, self.turn)?;
        Some(net.piece([from, to], lap_to, &laid, &found))
    }
}
