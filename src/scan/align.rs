//! Aligning one scan to another on the surface both show.
//!
//! Point-to-plane iteration (Chen and Medioni, Image and Vision Computing 10(3), 1992; the row of the
//! normal equations after Low, UNC TR04-004, 2004), trimmed to the share that overlaps (Chetverikov,
//! Stepanov and Krsek, Image and Vision Computing 23(3), 2005), coarse to fine. Points that meet the end
//! of the other surface, or one that faces another way, are no pair. What the surfaces do not hold, the
//! eigenvalues of the normal matrix show (Gelfand and others, 3DIM 2003; from memory); in those ways the
//! start is kept.

use super::clean::median_edge_length;
use super::noise::measure_noise;
use super::surface::Surface;
use crate::math::robust::{biweight, median, sigma_about_zero};
use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;
use kiddo::{ImmutableKdTree, SquaredEuclidean};
use nalgebra::{Isometry3, Matrix6, Translation3, UnitQuaternion, Vector6};
use rayon::prelude::*;
use std::num::NonZero;
use thiserror::Error;

/// Why two scans cannot be aligned.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AlignFault {
    /// One of them holds no surface.
    #[error("one of the scans holds no surface to align")]
    Empty,
    /// They show too little of the same.
    #[error(
        "the two scans show too little of the same surface: {:.0} % of the smaller one lies on the other, and {:.0} % are needed",
        100.0 * overlap, 100.0 * LEAST_OVERLAP
    )]
    Apart {
        /// Share of the smaller scan that lies on the other.
        overlap: f64,
    },
}

/// A way the surfaces hardly hold the alignment: a small turn and a small shift that go together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeakWay {
    /// Axis of the turn about `Alignment::centre`, its length the share of turning.
    pub turn: Vector3,
    /// Direction of the shift, its length the share of shifting.
    pub shift: Vector3,
    /// Mean square of the surface's hold on this way: 1/3 on average, 0 for none.
    pub hold: f64,
}

/// Two scans aligned.
#[derive(Debug, Clone, PartialEq)]
pub struct Alignment {
    /// The moving scan to the fixed one.
    pub pose: Isometry3<f64>,
    /// Share of the smaller scan's area that lies on the other, 0 to 1.
    pub overlap: f64,
    /// Root mean square distance of the overlap's points from the other's surface (mm).
    pub residual_mm: f64,
    /// Middle of the overlap, in the fixed scan.
    pub centre: Point3,
    /// Ways that are hardly held, weakest first; along those that are not held at all the start is kept.
    pub weak: Vec<WeakWay>,
}

/// Less overlap than this says nothing. Passes two crops of a nose that share a strip of the tray; stops
/// the front and the back of one thing.
const LEAST_OVERLAP: f64 = 0.15;
/// A way held less than this is told: an error of 1 mm square to the surfaces may move it by 10 mm. Passes
/// a nose with its bend; stops a straight skirt, which slides along itself.
const LEAST_HOLD: f64 = 0.01;
/// A way is not held at all if it is held less than so many times what the noise of the normals alone
/// makes of a plate.
const NOISE_HOLDS: f64 = 3.0;
/// Normals that differ by more than noise of this hold (four degrees) do so because the scans are still
/// out of place.
const MOST_NOISE: f64 = 0.005;
/// Rounding, as a hold.
const EPSILON_HOLD: f64 = 1e-6;
/// Points of the moving scan looked at, most rounds, and the least radius of search in spacings, coarse
/// to fine.
const STAGES: [(usize, usize, f64); 3] = [(3_000, 40, 8.0), (10_000, 30, 4.0), (40_000, 20, 2.5)];
/// A point lies on the other surface if it is within so many standard deviations of both scans' noise of
/// it, or so many spacings where there is little noise. Passes two phone scans that drift by 1.5 mm with
/// triangles of 4 mm; stops two sides of one thing laid over each other at any old angle.
const IN_PLACE_NOISES: f64 = 6.0;
const IN_PLACE_SPACINGS: f64 = 0.5;
/// What the radius of search shrinks by from round to round.
const SHRINK: f64 = 0.85;
/// Normals of a pair differ by less than the angle of this cosine (45 degrees).
const SAME_WAY: f64 = 0.7;
/// Fewest pairs a step is taken from.
const FEWEST: usize = 30;
/// A round that moves the overlap by less than this part of the spacing is the last of its stage.
const SETTLED: f64 = 5e-4;

/// Aligns `moving` to `fixed` from `start`, which may be off by up to `start_error` (mm) at any point.
///
/// Promises the same result for the same input. The overlap must be at least 15 % of the smaller scan.
///
/// # Errors
/// [`AlignFault`] where there is no surface or too little overlap.
pub fn align(
    fixed: &TriMesh,
    moving: &TriMesh,
    start: &Isometry3<f64>,
    start_error: f64,
) -> Result<Alignment, AlignFault> {
    let spacing = median_edge_length(fixed).max(median_edge_length(moving));
    let noise = [fixed, moving]
        .map(|mesh| measure_noise(mesh, median_edge_length(mesh)))
        .into_iter()
        .fold(0.0, f64::hypot);
    let (fixed, moving) = rayon::join(|| Surface::of(fixed), || Surface::of(moving));
    let target = Target::new(&fixed).ok_or(AlignFault::Empty)?;
    if moving.points.is_empty() {
        return Err(AlignFault::Empty);
    }
    let mut pose = *start;
    let mut radius = 2.0 * start_error;
    for (samples, rounds, least) in STAGES {
        let sample = thinned(&moving, samples);
        let least = least * spacing;
        for round in 0..rounds {
            let pairs = target.pairs(&sample, &pose, radius.max(least));
            let kept = trim(pairs, sample.len());
            let Some(step) = Step::of(&kept) else {
                return Err(AlignFault::Apart { overlap: 0.0 });
            };
            pose = step.applied_to(&pose);
            let shrunk = radius <= least;
            radius = (SHRINK * radius).max(least);
            if shrunk && round > 2 && step.size() < SETTLED * spacing {
                break;
            }
        }
    }
    let farthest = (IN_PLACE_NOISES * noise).max(IN_PLACE_SPACINGS * spacing);
    judge(&target, &fixed, &moving, pose, spacing, farthest)
}

/// How much overlaps, how well, and what is not held.
fn judge(
    target: &Target<'_>,
    fixed: &Surface,
    moving: &Surface,
    pose: Isometry3<f64>,
    spacing: f64,
    farthest: f64,
) -> Result<Alignment, AlignFault> {
    let (samples, _, least) = STAGES[STAGES.len() - 1];
    let sample = thinned(moving, samples);
    let mut pairs = target.pairs(&sample, &pose, least * spacing);
    let mut residuals: Vec<f64> = pairs.iter().map(Pair::residual).collect();
    let sigma = sigma_about_zero(&mut residuals).unwrap_or(0.0);
    let tolerance = (3.0 * sigma).clamp(0.05 * spacing, farthest);
    pairs.retain(|p| p.residual().abs() <= tolerance);
    let share = pairs.len() as f64 / sample.len().max(1) as f64;
    let overlap = (share * moving.area / moving.area.min(fixed.area).max(1e-9)).min(1.0);
    if overlap < LEAST_OVERLAP {
        return Err(AlignFault::Apart { overlap });
    }
    let step = Step::of(&pairs).ok_or(AlignFault::Apart { overlap })?;
    let square: f64 = pairs.iter().map(|p| p.residual().powi(2)).sum();
    Ok(Alignment {
        pose,
        overlap,
        residual_mm: (square / pairs.len() as f64).sqrt(),
        centre: step.centre,
        weak: step.weak(),
    })
}

/// A point with its normal.
type Oriented = (Point3, Vector3);

/// About `count` points of the surface, evenly strided.
fn thinned(surface: &Surface, count: usize) -> Vec<Oriented> {
    let stride = surface.points.len().div_ceil(count).max(1);
    surface
        .points
        .iter()
        .copied()
        .zip(surface.normals.iter().copied())
        .step_by(stride)
        .collect()
}

/// A moved point and the plane of the fixed surface nearest to it.
#[derive(Debug, Clone, Copy)]
struct Pair {
    p: Point3,
    q: Point3,
    normal: Vector3,
    /// Normal of the moved point.
    own: Vector3,
}

impl Pair {
    /// Signed distance of the plane from the point, along the normal.
    fn residual(&self) -> f64 {
        (self.q - self.p).dot(&self.normal)
    }
}

/// The fixed surface, ready to be searched.
struct Target<'a> {
    surface: &'a Surface,
    tree: ImmutableKdTree<f64, 3>,
}

impl<'a> Target<'a> {
    fn new(surface: &'a Surface) -> Option<Self> {
        if surface.points.is_empty() {
            return None;
        }
        let points: Vec<[f64; 3]> = surface.points.iter().map(|p| [p.x, p.y, p.z]).collect();
        let tree = ImmutableKdTree::new_from_slice(&points).ok()?;
        Some(Self { surface, tree })
    }

    fn pairs(&self, sample: &[Oriented], pose: &Isometry3<f64>, radius: f64) -> Vec<Pair> {
        let find = |(point, way): &Oriented| {
            let p = pose * point;
            let found = self
                .tree
                .query(&[p.x, p.y, p.z])
                .nearest_n::<SquaredEuclidean<f64>>(NonZero::<usize>::MIN)
                .within(radius * radius)
                .execute();
            let i = found.first()?.item as usize;
            let normal = *self.surface.normals.get(i)?;
            let own = pose * way;
            let fits = !self.surface.ends[i] && own.dot(&normal) > SAME_WAY;
            fits.then(|| Pair {
                p,
                q: self.surface.points[i],
                normal,
                own,
            })
        };
        let found: Vec<Option<Pair>> = sample.par_iter().map(find).collect();
        found.into_iter().flatten().collect()
    }
}

/// Least share of the moving points that is kept.
const LEAST_SHARE: f64 = 0.05;
/// Weight of a large share against a small residual.
const LAMBDA: i32 = 2;

/// Keeps the nearest pairs: as many as make the mean square over the share's (1 + lambda)-th power least.
/// The share is of all `count` points looked at, with or without a pair.
fn trim(mut pairs: Vec<Pair>, count: usize) -> Vec<Pair> {
    let square = |p: &Pair| (p.q - p.p).norm_squared();
    pairs.sort_by(|a, b| square(a).total_cmp(&square(b)));
    let squares: Vec<f64> = pairs.iter().map(square).collect();
    pairs.truncate(best_count(&squares, count));
    pairs
}

/// How many of the squared distances, in ascending order, are best kept of `count` points.
fn best_count(squares: &[f64], count: usize) -> usize {
    let least = ((LEAST_SHARE * count as f64) as usize).max(1);
    let (mut sum, mut best, mut lowest) = (0.0, squares.len(), f64::INFINITY);
    for (i, square) in squares.iter().enumerate() {
        sum += square;
        let kept = i + 1;
        let share = kept as f64 / count.max(1) as f64;
        let value = sum / kept as f64 / share.powi(1 + LAMBDA);
        if kept >= least && value <= lowest {
            (best, lowest) = (kept, value);
        }
    }
    best
}

/// The row of a point `s` and the plane's normal at its pair: what a small turn about the origin and a
/// small shift do to the distance (Low 2004, equation 10).
fn row(s: &Vector3, normal: &Vector3) -> Vector6<f64> {
    let turn = s.cross(normal);
    Vector6::new(turn.x, turn.y, turn.z, normal.x, normal.y, normal.z)
}

/// One step of least squares, turned about the middle of the pairs and in units of their spread, so that
/// turns and shifts compare.
struct Step {
    centre: Point3,
    turn: Vector3,
    shift: Vector3,
    spread: f64,
    hold: [(f64, Vector6<f64>); 6],
}

impl Step {
    fn of(pairs: &[Pair]) -> Option<Self> {
        if pairs.len() < FEWEST {
            return None;
        }
        let n = pairs.len() as f64;
        let centre = Point3::from(pairs.iter().map(|p| p.p.coords).sum::<Vector3>() / n);
        let square: f64 = pairs.iter().map(|p| (p.p - centre).norm_squared()).sum();
        let spread = (square / n).sqrt();
        if spread <= 0.0 || !spread.is_finite() {
            return None;
        }
        let mut residuals: Vec<f64> = pairs.iter().map(Pair::residual).collect();
        let sigma = sigma_about_zero(&mut residuals)?.max(1e-9 * spread);
        let (mut matrix, mut right, mut weights) =
            (Matrix6::<f64>::zeros(), Vector6::<f64>::zeros(), 0.0);
        for pair in pairs {
            let residual = pair.residual();
            let w = biweight(residual / sigma);
            let row = row(&((pair.p - centre) / spread), &pair.normal);
            matrix += w * row * row.transpose();
            right += w * residual * row;
            weights += w;
        }
        if weights <= 0.0 {
            return None;
        }
        let eigen = (matrix / weights).symmetric_eigen();
        right /= weights;
        let mut step = Vector6::zeros();
        let hold: [(f64, Vector6<f64>); 6] = std::array::from_fn(|k| {
            (
                eigen.eigenvalues[k],
                eigen.eigenvectors.column(k).into_owned(),
            )
        });
        // Both scans' normals differ by the noise of both in two directions: the square of that has a median
        // of 2 ln 2 times its variance in one, which a few pairs out of place do not move.
        let mut differ: Vec<f64> = pairs
            .iter()
            .map(|p| (p.normal - p.own).norm_squared())
            .collect();
        let by_noise = median(&mut differ)? / (2.0 * 2.0 * std::f64::consts::LN_2);
        let least = (NOISE_HOLDS * by_noise).clamp(EPSILON_HOLD, MOST_NOISE);
        for (value, way) in &hold {
            if *value > least {
                step += way * (way.dot(&right) / value);
            }
        }
        Some(Self {
            centre,
            turn: step.fixed_rows::<3>(0) / spread,
            shift: step.fixed_rows::<3>(3).into_owned(),
            spread,
            hold,
        })
    }

    fn applied_to(&self, pose: &Isometry3<f64>) -> Isometry3<f64> {
        let back = Translation3::from(-self.centre.coords);
        let forth = Translation3::from(self.centre.coords + self.shift);
        forth * UnitQuaternion::from_scaled_axis(self.turn) * back * pose
    }

    /// How far it moves the pairs.
    fn size(&self) -> f64 {
        self.shift.norm() + self.spread * self.turn.norm()
    }

    fn weak(&self) -> Vec<WeakWay> {
        let mut weak: Vec<WeakWay> = self
            .hold
            .iter()
            .filter(|(value, _)| *value <= LEAST_HOLD)
            .map(|(value, way)| WeakWay {
                turn: way.fixed_rows::<3>(0).into_owned(),
                shift: way.fixed_rows::<3>(3).into_owned(),
                hold: value.max(0.0),
            })
            .collect();
        weak.sort_by(|a, b| a.hold.total_cmp(&b.hold));
        weak
    }
}

#[cfg(test)]
mod tests;
