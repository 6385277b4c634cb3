//! One way of fibres over the covered surface, cut into as few pieces as lie down without creases.

use super::cloth::{ClothPiece, MOST_SHEAR, MOST_STRETCH};
use super::covered::Covered;
use super::layup::CutOptions;
use super::net::{LEAST_ROWS, Net, ROW_MM};
use super::patch::Patch;
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
/// No piece is cut shorter or lower than this (mm).
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

/// Which way a piece is halved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Halving {
    /// The seam runs up the surface, at a station.
    Across,
    /// The seam runs along the surface, at a height.
    Lengthwise,
}

impl Cutter<'_> {
    /// The pieces, from left to right and from low to high: the whole, halved until each lies down; and what
    /// none could be laid out for.
    pub fn pieces(&self) -> (Vec<ClothPiece>, Vec<[f64; 2]>) {
        self.pieces_of(Patch::whole(self.covered))
    }

    /// The whole in one piece, whether it lies down or not.
    #[cfg(test)]
    pub fn in_one_piece(&self) -> Option<ClothPiece> {
        let whole = Patch::whole(self.covered);
        self.piece(whole, whole, 1.0)
    }

    fn pieces_of(&self, own: Patch) -> (Vec<ClothPiece>, Vec<[f64; 2]>) {
        let lapping = self.with_laps(own);
        let long = own.along[1] - own.along[0] > self.options.piece_mm;
        let room =
            [Halving::Across, Halving::Lengthwise].map(|halving| self.has_room(own, halving));
        let hopeless = || room.contains(&true) && self.is_hopeless(own, lapping);
        let piece = (!long && !hopeless())
            .then(|| self.piece(own, lapping, 1.0))
            .flatten();
        let narrow = piece
            .as_ref()
            .is_none_or(|piece| piece.across(self.turn) <= self.options.roll_mm);
        let lies = piece.as_ref().is_some_and(ClothPiece::lies_down);
        let wanted = match (long, lies && !narrow) {
            (true, _) => [true, false],
            (_, true) => self.narrows(own),
            (_, false) => [true, true],
        };
        let [across, lengthwise] = [room[0] && wanted[0], room[1] && wanted[1]];
        let halves = if (lies && narrow) || !(across || lengthwise) {
            None
        } else if across && (!lengthwise || self.prefers_across(own, lies)) {
            let middle = 0.5 * (own.along[0] + own.along[1]) + self.moved;
            let [left, right] = [[own.along[0], middle], [middle, own.along[1]]];
            Some([left, right].map(|along| Patch { along, ..own }))
        } else {
            let middle = own.middle(self.covered, self.moved);
            let [low, high] = [[own.up[0], middle], [middle, own.up[1]]];
            Some([low, high].map(|up| Patch { up, ..own }))
        };
        match (halves, piece) {
            (None, Some(piece)) => (vec![piece], Vec::new()),
            (None, None) => (Vec::new(), vec![own.along]),
            (Some([first, second]), _) => {
                let (mut all, rest) =
                    rayon::join(|| self.pieces_of(first), || self.pieces_of(second));
                all.0.extend(rest.0);
                all.1.extend(rest.1);
                all
            }
        }
    }

    /// Whether both halves are long or high enough.
    fn has_room(&self, own: Patch, halving: Halving) -> bool {
        let whole = match halving {
            Halving::Across => own.along[1] - own.along[0],
            Halving::Lengthwise => own.height(self.covered),
        };
        0.5 * whole - self.moved >= LEAST_PIECE_MM
    }

    /// Whether halving across, and lengthwise, makes a piece narrower across its warp.
    fn narrows(&self, own: Patch) -> [bool; 2] {
        let (sin, cos) = self.turn.sin_cos();
        let long = (own.along[1] - own.along[0]) * sin.abs();
        let high = own.height(self.covered) * cos.abs();
        let whole = long.max(high);
        [long > 0.1 * whole, high > 0.1 * whole]
    }

    /// A piece that does not lie down is halved across the longer of its sides: what cloth shears goes with
    /// the curvature over its whole area, so that halves shear half as much whichever way they are cut, and
    /// compact ones have the shortest seams. One that is too wide for the roll is halved where that helps most.
    fn prefers_across(&self, own: Patch, lies: bool) -> bool {
        let (sin, cos) = self.turn.sin_cos();
        let [sin, cos] = if lies {
            [sin.abs(), cos.abs()]
        } else {
            [1.0, 1.0]
        };
        (own.along[1] - own.along[0]) * sin >= own.height(self.covered) * cos
    }

    /// What a piece covers with its laps: over the one before, and over the one below.
    fn with_laps(&self, own: Patch) -> Patch {
        let whole = Patch::whole(self.covered);
        let by = self.options.overlap_mm;
        let mut lapping = own;
        if own.along[0] > whole.along[0] {
            lapping.along[0] = (own.along[0] - by).max(whole.along[0]);
        }
        if own.up[0] > whole.up[0] {
            lapping.up[0] = own.under(self.covered, own.up[0], by);
        }
        lapping
    }

    /// Whether a first look at a long piece already shows that it does not lie down.
    fn is_hopeless(&self, own: Patch, lapping: Patch) -> bool {
        lapping.along[1] - lapping.along[0] >= LEAST_ROWS * FIRST_LOOK * ROW_MM
            && (self.piece(own, lapping, FIRST_LOOK)).is_some_and(|piece| {
                piece.shear.0 > MOST_SHEAR + SURELY_SHEARED
                    || piece.worst_stretch() > SURELY_STRETCHED * MOST_STRETCH
            })
    }

    /// A patch and its laps laid flat, with meshes so many times as long as they should be.
    fn piece(&self, own: Patch, lapping: Patch, longer: f64) -> Option<ClothPiece> {
        let net = Net::new(self, own, lapping, longer)?;
        let weave = Weave {
            turn: self.turn,
            shear_share: SHEAR_SHARE,
        };
        let laid = [net.unrolled(), Some(net.even())]
            .into_iter()
            .flatten()
            .find_map(|start| flatten(&net.mesh, &start, net.held(), weave))?;
        let found = strains(&net.mesh, &laid, self.turn)?;
        Some(net.piece(&laid, &found))
    }
}
