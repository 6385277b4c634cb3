//! Where ribs, holes and wedges stand along the buck, and where it may be cut.

use super::course::Course;
use super::form::BuckOptions;
use super::holes::{Cut, Site};
use super::{BuckFault, ribs};
use crate::math::{Point2, Spine};

/// No cut nearer to a hole or wedge's place than this (mm).
const CLEAR_MM: f64 = 12.0;
/// Shares of a cell at which its details stand.
const WEDGE_AT: f64 = 0.28;
const DOWEL_AT: f64 = 0.5;
const AIR_AT: f64 = 0.72;

/// Offset of the back at an arc length (mm).
pub fn back_at(back: &Course, s: f64) -> f64 {
    back.at(s).first().map_or(0.0, |p| p.x)
}

/// Where ribs and details stand along the buck.
pub struct Layout {
    /// Ends of all cells: the buck's ends and the ribs.
    bounds: Vec<f64>,
    /// Arc lengths of the ribs (mm).
    pub ribs: Vec<f64>,
}

impl Layout {
    /// Spreads the ribs evenly from end to end.
    pub fn new(carried: &Course, options: &BuckOptions) -> Self {
        let ends = carried.ends();
        let ribs = ribs::places(ends, options.rib_mm);
        let bounds = std::iter::once(ends[0])
            .chain(ribs.iter().copied())
            .chain([ends[1]]);
        Self {
            bounds: bounds.collect(),
            ribs,
        }
    }

    /// How many cells a hollow buck is to have.
    pub fn cells(&self, options: &BuckOptions) -> usize {
        if options.wall_mm > 0.0 {
            self.bounds.len().saturating_sub(1)
        } else {
            0
        }
    }

    /// A place in every cell, at a share of it.
    fn in_cells(&self, share: f64) -> impl Iterator<Item = f64> + '_ {
        (self.bounds.windows(2)).map(move |pair| pair[0] + (pair[1] - pair[0]) * share)
    }

    /// Every place where something is cut in.
    pub fn all(&self) -> Vec<f64> {
        let mut all = self.ribs.clone();
        for share in [WEDGE_AT, DOWEL_AT, AIR_AT] {
            all.extend(self.in_cells(share));
        }
        all.sort_by(f64::total_cmp);
        all
    }

    /// What is cut in at a place of [`Self::all`], where the front is this.
    pub fn cuts(
        &self,
        s: f64,
        front: &[Point2],
        (spine, back): (&Spine, &Course),
        options: &BuckOptions,
    ) -> Result<Vec<Cut>, BuckFault> {
        let hollow = options.wall_mm > 0.0;
        let site = Site {
            s,
            frame: spine.frame_at(s),
            front,
            back: back_at(back, s),
            foot: 1,
            allowance: options.allowance_mm,
            base: options.base_mm,
            wall: hollow.then_some(options.wall_mm),
        };
        let is = |share: f64| self.in_cells(share).any(|place| place == s);
        Ok(if self.ribs.contains(&s) {
            let thick = 4.0 * options.wall_mm + ribs::SPARE_MM;
            if hollow {
                site.rib_dowels(options.dowel_mm, thick)?
            } else {
                Vec::new()
            }
        } else if is(WEDGE_AT) {
            vec![site.wedge()?]
        } else if is(AIR_AT) {
            vec![site.air()?, site.clamp()?]
        } else if hollow {
            Vec::new()
        } else {
            vec![site.board_dowel(options.dowel_mm)?]
        })
    }

    /// Where no cut may lie: a hollow buck is cut through the middle of its ribs, a solid one anywhere but
    /// at its details.
    pub fn keep_clear(&self, options: &BuckOptions) -> Vec<[f64; 2]> {
        let spare = 0.5 * ribs::SPARE_MM;
        (self.bounds.windows(2))
            .map(|pair| {
                if options.wall_mm > 0.0 {
                    return [pair[0] + spare, pair[1] - spare];
                }
                let at = |share: f64| pair[0] + (pair[1] - pair[0]) * share;
                [at(WEDGE_AT) - CLEAR_MM, at(AIR_AT) + CLEAR_MM]
            })
            .filter(|[from, to]| from < to)
            .collect()
    }
}
