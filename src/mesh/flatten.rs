//! Laying a curved surface flat as woven cloth lies on it: fibres hardly stretch, the weave shears.

use super::banded::Banded;
use crate::math::{Point2, Point3, Vector2};
use nalgebra::{Matrix2, SVector};

/// Steps at the most, and the share of the energy that a step must still gain in the end.
const STEPS: usize = 60;
const GAIN: f64 = 1e-8;
/// The same on the way from stiff to limp.
const GAIN_BEFORE: f64 = 1e-4;
/// The stiffness in shear that is begun with, and by how much each next one is limper.
const STIFF: f64 = 0.1;
const LIMPER: f64 = 0.1;
/// Damping of the first step, as a share of the stiffness in shear; how far it eases after a good step, and by
/// how much it tightens after a failure, twice as much after each next; and where a step is given up.
const DAMPING: f64 = 1e-3;
const EASE: f64 = 0.3;
const TIGHTEN: f64 = 2.0;
const MOST_DAMPING: f64 = 1e8;
/// A grid with fewer rows or columns is not thinned out; how stiff in shear what is laid on the thin grid is.
/// Limper, and the start it makes has folds where fibres run along the meshes.
const THIN: f64 = 1e-2;
const LEAST_TO_THIN: usize = 7;
/// Where the map is smaller than this (mm2) it says nothing about stretch.
const LEAST_AREA: f64 = 1e-9;

/// How cloth gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weave {
    /// Direction of the warp in the flat, from x (rad). The weft runs square to it.
    pub turn: f64,
    /// How stiff it is in shear, as a share of its stiffness along the fibres.
    pub shear_share: f64,
}

/// A surface as a net of four-cornered meshes: rows of points, as many in each.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Grid {
    /// The points, row by row.
    pub points: Vec<Point3>,
    /// How many stand in a row.
    pub across: usize,
}

/// What cloth does in the middle of one mesh as it goes from the flat onto the surface.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Strain {
    /// Stretch along the warp: how much longer it is on the surface than in the flat, as a share.
    pub warp: f64,
    /// The same along the weft.
    pub weft: f64,
    /// Change of the right angle between them (rad), positive where it closes.
    pub shear: f64,
}

/// The map at one place of a mesh: corners, how much each moves the two derivatives there, the derivatives
/// on the surface in its own plane, and the area that the place stands for.
struct Place {
    corners: [usize; 4],
    slopes: [Vector2; 4],
    edges: Matrix2<f64>,
    area: f64,
}

/// A surface that is being laid flat.
struct Sheet {
    /// The middles of the meshes, where stretch is felt.
    middles: Vec<Place>,
    /// Four places of every mesh, where shear is felt.
    quarters: Vec<Place>,
    warp: Vector2,
    weft: Vector2,
    shear_share: f64,
}

/// How warp and weft lie on the surface at one place.
struct Carried {
    /// From the flat to the surface's own plane.
    map: Matrix2<f64>,
    /// Weights of the two derivatives in warp and weft.
    weights: [Vector2; 2],
    /// Where a unit of warp and of weft come to lie.
    fibres: [Vector2; 2],
}

impl Grid {
    /// Corners of every mesh, in order round it: rows go with the first edge, places in a row with the last.
    fn meshes(&self) -> impl Iterator<Item = [usize; 4]> {
        let n = self.across.max(1);
        let rows = self.points.len() / n;
        (0..rows.saturating_sub(1)).flat_map(move |i| {
            (0..n - 1).map(move |j| {
                let (a, b) = (i * n + j, (i + 1) * n + j);
                [a, b, b + 1, a + 1]
            })
        })
    }

    /// How many meshes there are between two rows.
    #[must_use]
    pub fn meshes_across(&self) -> usize {
        self.across.saturating_sub(1)
    }

    /// The map at (x, y) of a mesh, both from -1 to 1. `None` where it has no area.
    fn place(&self, corners: [usize; 4], [x, y]: [f64; 2], weight: f64) -> Option<Place> {
        let slopes = slopes([x, y]);
        let (mut along, mut up) = (nalgebra::Vector3::zeros(), nalgebra::Vector3::zeros());
        for (corner, slope) in corners.iter().zip(&slopes) {
            let p = self.points.get(*corner)?.coords;
            along += p * slope.x;
            up += p * slope.y;
        }
        let first = along.try_normalize(1e-12)?;
        let ahead = up.dot(&first);
        let height = (up - first * ahead).norm();
        let area = weight * along.norm() * height;
        (area > LEAST_AREA).then_some(Place {
            corners,
            slopes,
            edges: Matrix2::new(along.norm(), ahead, 0.0, height),
            area,
        })
    }

    /// The surface's area (mm2).
    #[must_use]
    pub fn area(&self) -> f64 {
        let at = |corners| {
            let places = QUARTERS.iter();
            places
                .filter_map(|at| Some(self.place(corners, *at, 1.0)?.area))
                .sum::<f64>()
        };
        self.meshes().map(at).sum()
    }
}

/// Where a mesh of four corners is looked at for what is not the same all over it (Gauss's points).
const QUARTERS: [[f64; 2]; 4] = [
    [-GAUSS, -GAUSS],
    [GAUSS, -GAUSS],
    [GAUSS, GAUSS],
    [-GAUSS, GAUSS],
];
const GAUSS: f64 = 0.577_350_269_189_625_8;

/// How much each corner of a mesh moves the two derivatives at (x, y) of it.
fn slopes([x, y]: [f64; 2]) -> [Vector2; 4] {
    [
        Vector2::new(-(1.0 - y), -(1.0 - x)) / 4.0,
        Vector2::new(1.0 - y, -(1.0 + x)) / 4.0,
        Vector2::new(1.0 + y, 1.0 + x) / 4.0,
        Vector2::new(-(1.0 + y), 1.0 - x) / 4.0,
    ]
}

impl Place {
    /// The derivatives in the flat.
    fn flat_edges(&self, flat: &[Point2]) -> Option<Matrix2<f64>> {
        let mut edges = Matrix2::zeros();
        for (corner, slope) in self.corners.iter().zip(&self.slopes) {
            edges += flat.get(*corner)?.coords * slope.transpose();
        }
        Some(edges)
    }
}

impl Sheet {
    fn new(grid: &Grid, weave: Weave) -> Self {
        let quarters = grid.meshes().flat_map(|corners| {
            QUARTERS
                .iter()
                .filter_map(move |at| grid.place(corners, *at, 1.0))
        });
        let (sin, cos) = weave.turn.sin_cos();
        Self {
            middles: (grid.meshes())
                .filter_map(|corners| grid.place(corners, [0.0; 2], 4.0))
                .collect(),
            quarters: quarters.collect(),
            warp: Vector2::new(cos, sin),
            weft: Vector2::new(-sin, cos),
            shear_share: weave.shear_share,
        }
    }

    /// `None` where the flat is turned over or has no area.
    fn carry(&self, place: &Place, flat: &[Point2]) -> Option<Carried> {
        let edges = place.flat_edges(flat)?;
        let area = edges.determinant();
        if area <= LEAST_AREA || area.is_nan() {
            return None;
        }
        let inverse = edges.try_inverse()?;
        let map = place.edges * inverse;
        Some(Carried {
            map,
            weights: [inverse * self.warp, inverse * self.weft],
            fibres: [map * self.warp, map * self.weft],
        })
    }

    /// Half the sum of all squares: area times what the fibres stretch, and a little of what they shear.
    /// Shear is counted as the cotangent of the angle between them, which is the shear while it is small
    /// and grows past all bounds as the weave closes. Infinite where the flat is turned over.
    fn energy(&self, flat: &[Point2]) -> f64 {
        let mut sum = 0.0;
        for place in &self.middles {
            let Some(carried) = self.carry(place, flat) else {
                return f64::INFINITY;
            };
            let [p, q] = carried.fibres;
            sum += 0.5 * place.area * ((p.norm() - 1.0).powi(2) + (q.norm() - 1.0).powi(2));
        }
        for place in &self.quarters {
            let Some(carried) = self.carry(place, flat) else {
                return f64::INFINITY;
            };
            let [p, q] = carried.fibres;
            let cot = p.dot(&q) / p.perp(&q);
            sum += 0.5 * place.area * self.shear_share * cot * cot;
        }
        sum
    }

    /// Adds up the linear system of one step: squares of the slopes, and minus the slope of the energy.
    fn slopes(&self, flat: &[Point2], system: &mut Banded, push: &mut [f64]) -> Option<()> {
        for place in &self.middles {
            let carried = self.carry(place, flat)?;
            let root = place.area.sqrt();
            let [p, q] = carried.fibres;
            let (lp, lq) = (p.norm(), q.norm());
            for (value, by) in [
                (root * (lp - 1.0), [p * (root / lp), Vector2::zeros()]),
                (root * (lq - 1.0), [Vector2::zeros(), q * (root / lq)]),
            ] {
                add(place, &carried, value, by, system, push);
            }
        }
        for place in &self.quarters {
            let carried = self.carry(place, flat)?;
            let root = (self.shear_share * place.area).sqrt();
            let [p, q] = carried.fibres;
            let (lp, lq) = (p.norm(), q.norm());
            let (up, uq) = (p / lp, q / lq);
            let (cos, sin) = (up.dot(&uq), up.perp(&uq));
            let steep = root / (sin * sin * sin);
            let by = [
                (uq - up * cos) * (steep / lp),
                (up - uq * cos) * (steep / lq),
            ];
            add(place, &carried, root * cos / sin, by, system, push);
        }
        Some(())
    }

    /// Steps until no more is to be gained. `None` if the start is turned over somewhere.
    fn settled(
        &self,
        grid: &Grid,
        mut flat: Vec<Point2>,
        [first, second]: [usize; 2],
        least_gain: f64,
    ) -> Option<Vec<Point2>> {
        let mut energy = self.energy(&flat);
        if !energy.is_finite() {
            return None;
        }
        let mut damping = DAMPING * self.shear_share;
        for _ in 0..STEPS {
            let mut system = Banded::new(2 * flat.len(), 2 * (grid.across + 1) + 1);
            let mut push = vec![0.0; 2 * flat.len()];
            self.slopes(&flat, &mut system, &mut push)?;
            for k in [2 * first, 2 * first + 1, 2 * second + 1] {
                system.hold(k);
                push[k] = 0.0;
            }
            let (mut gained, mut tighter) = (0.0, TIGHTEN);
            while damping < MOST_DAMPING {
                let step = system.damped(damping).solve(&push);
                let hoped = step.as_deref().map_or(0.0, |step| system.gain(&push, step));
                let moved: Vec<Point2> = (flat.iter().enumerate())
                    .map(|(i, p)| match step.as_deref() {
                        Some(step) => p + Vector2::new(step[2 * i], step[2 * i + 1]),
                        None => Point2::new(f64::NAN, f64::NAN),
                    })
                    .collect();
                let after = self.energy(&moved);
                if after < energy {
                    let before = energy;
                    gained = (before - after) / before.max(1e-300);
                    flat = moved;
                    energy = after;
                    let kept = (before - after) / hoped.max(1e-300);
                    let eased = 1.0 - (2.0 * kept - 1.0).powi(3);
                    damping = (damping * eased.max(EASE)).max(1e-12);
                    break;
                }
                damping *= tighter;
                tighter *= 2.0;
            }
            if gained <= least_gain {
                break;
            }
        }
        Some(flat)
    }
}

/// Adds one square to the system: its root's value, and its slope by where warp and weft come to lie.
fn add(
    place: &Place,
    carried: &Carried,
    value: f64,
    by: [Vector2; 2],
    system: &mut Banded,
    push: &mut [f64],
) {
    let turned = carried.map.transpose();
    let mut slope = SVector::<f64, 8>::zeros();
    for (weight, by) in carried.weights.iter().zip(by) {
        // A corner that moves by d moves the fibre by minus the map of its weight times d.
        let back = turned * by;
        for (k, own) in place.slopes.iter().enumerate() {
            let w = own.dot(weight);
            slope[2 * k] -= w * back.x;
            slope[2 * k + 1] -= w * back.y;
        }
    }
    let at = |k: usize| 2 * place.corners[k / 2] + k % 2;
    for i in 0..8 {
        push[at(i)] -= slope[i] * value;
        for j in 0..8 {
            if at(j) <= at(i) {
                system.add(at(i), at(j), slope[i] * slope[j]);
            }
        }
    }
}

/// Lays a surface flat so that cloth cut to it lies on the surface with the least stretch along its fibres
/// and, of what is left, the least shear: the least of area times the squares of both, found by damped
/// steps of Gauss and Newton (Levenberg 1944, Marquardt 1963) from a flat start with one point for each of
/// the grid's, none of its meshes turned over. The damping follows how much of the gain hoped for a step
/// brings (Nielsen 1999), and most of the way is gone on a grid of every second row and column. Surfaces that can be developed come out with no stretch
/// and no shear; for others it is the energy form of the nets of inextensible fibres after Chebyshev
/// (1878; Mack and Taylor 1956 for cloth).
///
/// Stretch is felt in the middle of every mesh and shear at four places of it. Felt at more places, fibres
/// that do not run along the meshes' edges leave them no way to shear at all, and the cloth comes out
/// stretched however fine the grid is: the locking that ten Thije and Akkerman (2008) and Hamila and Boisse
/// (2013) describe and cure in this way.
///
/// The first of the `held` points stays where the start has it and the second keeps its y, so that the
/// fibres' direction is the one asked for between these two: left free, the cloth would turn to where it
/// shears least.
///
/// The work grows with the square of the number of points in a row. `None` if the start does not fit the
/// grid or is turned over somewhere.
#[must_use]
pub fn flatten(
    grid: &Grid,
    start: &[Point2],
    held: [usize; 2],
    weave: Weave,
) -> Option<Vec<Point2>> {
    let count = start.len();
    let fits = count == grid.points.len() && held.iter().all(|k| *k < count);
    if !fits || count < 4 || grid.across < 2 {
        return None;
    }
    laid(grid, start, held, weave, GAIN)
}

/// The same, until a step gains no more than a share of `least_gain`; the start fits the grid.
fn laid(
    grid: &Grid,
    start: &[Point2],
    held: [usize; 2],
    weave: Weave,
    least_gain: f64,
) -> Option<Vec<Point2>> {
    let mut sheet = Sheet::new(grid, weave);
    let stiffer = Weave {
        shear_share: weave.shear_share.max(THIN),
        ..weave
    };
    let near = laid_thinly(grid, start, held, stiffer);
    let near = near.filter(|near| sheet.energy(near).is_finite());
    let begin = near.as_ref().map_or(STIFF, |_| THIN);
    let mut flat = near.unwrap_or_else(|| start.to_vec());
    // From stiff to limp: each answer is close to the next. Straight to the last, steps end in folds of the
    // weave that no small step undoes.
    let mut share = begin.max(weave.shear_share);
    loop {
        sheet.shear_share = share;
        let is_last = share <= weave.shear_share * (1.0 + 1e-9);
        let gain = if is_last { least_gain } else { GAIN_BEFORE };
        flat = sheet.settled(grid, flat, held, gain)?;
        if is_last {
            return Some(flat);
        }
        share = (share * LIMPER).max(weave.shear_share);
    }
}

/// Every second of `count` rows or columns, first, last and those held among them. `None` where that is
/// hardly fewer.
fn every_second(count: usize, held: &[usize]) -> Option<Vec<usize>> {
    let kept = |k: &usize| k.is_multiple_of(2) || k + 1 == count || held.contains(k);
    (count >= LEAST_TO_THIN).then(|| (0..count).filter(kept).collect())
}

/// Where each of `count` places lies between those that are kept: the one before, and the share of the way to
/// the next. `apart` is the way from one place to the next.
fn between(kept: &[usize], apart: &[f64]) -> Vec<(usize, f64)> {
    let mut all = Vec::with_capacity(apart.len() + 1);
    for (k, pair) in kept.windows(2).enumerate() {
        let ways = &apart[pair[0]..pair[1]];
        let whole: f64 = ways.iter().sum();
        let mut gone = 0.0;
        for way in ways {
            all.push((k, if whole > 0.0 { gone / whole } else { 0.0 }));
            gone += way;
        }
    }
    all.push((kept.len().saturating_sub(2), 1.0));
    all
}

/// A start close to the end: the surface laid flat with every second row and column alone, and what that
/// moved carried over to the points between. The long way from stiff to limp is gone on the thin grid.
fn laid_thinly(
    grid: &Grid,
    start: &[Point2],
    held: [usize; 2],
    weave: Weave,
) -> Option<Vec<Point2>> {
    let n = grid.across;
    let count = start.len() / n;
    let rows = every_second(count, &held.map(|k| k / n))?;
    let columns = every_second(n, &held.map(|k| k % n))?;
    let at = |i: &usize, j: &usize| i * n + j;
    let picked: Vec<usize> = (rows.iter())
        .flat_map(|i| columns.iter().map(move |j| at(i, j)))
        .collect();
    let thin = Grid {
        points: picked.iter().map(|k| grid.points[*k]).collect(),
        across: columns.len(),
    };
    let begun: Vec<Point2> = picked.iter().map(|k| start[*k]).collect();
    let held = [
        picked.iter().position(|k| *k == held[0])?,
        picked.iter().position(|k| *k == held[1])?,
    ];
    let flat = laid(&thin, &begun, held, weave, GAIN_BEFORE)?;
    let moved: Vec<Vector2> = flat.iter().zip(&begun).map(|(a, b)| a - b).collect();
    // Rows and columns are as far apart as they are through the middle.
    let apart = |a: usize, b: usize| (grid.points[a] - grid.points[b]).norm();
    let up: Vec<f64> = (1..count)
        .map(|i| apart(at(&i, &(n / 2)), at(&(i - 1), &(n / 2))))
        .collect();
    let along: Vec<f64> = (1..n)
        .map(|j| apart(at(&(count / 2), &j), at(&(count / 2), &(j - 1))))
        .collect();
    let (of_row, of_column) = (between(&rows, &up), between(&columns, &along));
    let m = columns.len();
    let near = (start.iter().enumerate()).map(|(k, p)| {
        let ((i, s), (j, t)) = (of_row[k / n], of_column[k % n]);
        let side = |i: usize| moved[i * m + j] * (1.0 - t) + moved[i * m + j + 1] * t;
        p + side(i) * (1.0 - s) + side(i + 1) * s
    });
    Some(near.collect())
}

/// What the cloth does in the middle of every mesh, row by row; one without area does nothing. `None` if
/// the flat does not fit the grid or is turned over somewhere.
#[must_use]
pub fn strains(grid: &Grid, flat: &[Point2], turn: f64) -> Option<Vec<Strain>> {
    if flat.len() != grid.points.len() || grid.across < 2 {
        return None;
    }
    let nothing = Grid::default();
    let weave = Weave {
        turn,
        shear_share: 0.0,
    };
    let sheet = Sheet::new(&nothing, weave);
    (grid.meshes())
        .map(|corners| {
            let Some(place) = grid.place(corners, [0.0; 2], 4.0) else {
                return Some(Strain::default());
            };
            let [p, q] = sheet.carry(&place, flat)?.fibres;
            Some(Strain {
                warp: p.norm() - 1.0,
                weft: q.norm() - 1.0,
                shear: p.dot(&q).atan2(p.perp(&q)),
            })
        })
        .collect()
}

/// The area of the flat (mm2).
#[must_use]
pub fn flat_area(grid: &Grid, flat: &[Point2]) -> f64 {
    let lifted = flat.iter().map(|p| Point3::new(p.x, p.y, 0.0)).collect();
    Grid {
        points: lifted,
        across: grid.across,
    }
    .area()
}

#[cfg(test)]
#[path = "flatten_tests.rs"]
mod tests;
