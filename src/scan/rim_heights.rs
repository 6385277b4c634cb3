//! How high the body's lowest part hangs over the tray, along the coarse rim.

use crate::math::robust::median;
use crate::math::{Point2, Point3};
use kiddo::{ImmutableKdTree, SquaredEuclidean};

/// Points of the body within this of the rim in plan are its edge (mm): a lean of ten degrees, a lip
/// rolled inboard.
const ASIDE: f64 = 30.0;
/// The height at a place is the median over so many rim points on each side: 50 mm.
const WINDOW: usize = 10;

/// Lowest heights along a rim.
pub(super) struct RimHeights {
    tree: Option<ImmutableKdTree<f64, 2>>,
    heights: Vec<f64>,
}

impl RimHeights {
    /// `body` gives points (shop frame) with their height over the tray; heights below `least` are not
    /// the body's.
    pub fn new(rim: &[Point3], body: impl Iterator<Item = (Point3, f64)>, least: f64) -> Self {
        let places: Vec<[f64; 2]> = rim.iter().map(|p| [p.x, p.y]).collect();
        let tree = ImmutableKdTree::new_from_slice(&places)
            .ok()
            .filter(|_| !places.is_empty());
        let mut lowest = vec![f64::INFINITY; rim.len()];
        if let Some(tree) = &tree {
            for (p, height) in body.filter(|(_, h)| *h >= least) {
                let found = tree
                    .query(&[p.x, p.y])
                    .nearest_one::<SquaredEuclidean<f64>>()
                    .execute();
                if found.distance < ASIDE * ASIDE {
                    let slot = &mut lowest[found.item as usize];
                    *slot = slot.min(height);
                }
            }
        }
        let heights = (0..lowest.len())
            .map(|i| {
                let near = i.saturating_sub(WINDOW)..(i + WINDOW + 1).min(lowest.len());
                let mut seen: Vec<f64> = lowest[near]
                    .iter()
                    .copied()
                    .filter(|h| h.is_finite())
                    .collect();
                median(&mut seen).unwrap_or(rim[i].z)
            })
            .collect();
        Self { tree, heights }
    }

    /// The edge's height over the tray at the rim's nearest point.
    pub fn near(&self, p: Point2) -> f64 {
        let Some(tree) = &self.tree else {
            return 0.0;
        };
        let found = tree
            .query(&[p.x, p.y])
            .nearest_one::<SquaredEuclidean<f64>>()
            .execute();
        self.heights
            .get(found.item as usize)
            .copied()
            .unwrap_or(0.0)
    }
}
