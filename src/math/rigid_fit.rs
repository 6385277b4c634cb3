//! The turn, shift and scale that take one set of points onto another, from pairs.
//!
//! Closed form by singular value decomposition (Umeyama, IEEE TPAMI 13(4), 376-380, 1991). The turn is a
//! rotation always, never a mirror; how well a mirror would have fitted is told beside it.

use super::Point3;
use nalgebra::{
    DMatrix, DVector, Isometry3, Point, Rotation3, SMatrix, SVector, Translation3, UnitQuaternion,
};
use thiserror::Error;

/// Whether the fit may change the size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// The scale is fitted as well.
    Fitted,
    /// The scale stays 1.
    Kept,
}

/// Why pairs give no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum PairFault {
    /// As many pairs as dimensions are needed.
    #[error("{given} pairs of points are too few: {needed} or more are needed")]
    TooFew {
        /// Least number.
        needed: usize,
        /// Number given.
        given: usize,
    },
    /// The turn about the line, or about the one point, is open.
    #[error("the points lie in one line, so the turn about it is open")]
    Collinear,
    /// A coordinate is not a finite number.
    #[error("a coordinate is not a finite number")]
    NotFinite,
}

/// `to = scale * turn * from + shift`, and how well it fits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SimilarityFit<const D: usize> {
    /// Rotation, determinant +1.
    pub turn: SMatrix<f64, D, D>,
    /// Scale; 1 where it was kept.
    pub scale: f64,
    /// Shift.
    pub shift: SVector<f64, D>,
    /// Mean squared distance of the pairs after the fit.
    pub mean_square: f64,
    /// The same for the best fit that mirrors. In space it differs only where the points are not in one
    /// plane.
    pub mirrored_mean_square: f64,
}

impl<const D: usize> SimilarityFit<D> {
    /// Where the fit puts a point.
    #[must_use]
    pub fn apply(&self, p: &Point<f64, D>) -> Point<f64, D> {
        Point::from(self.scale * (self.turn * p.coords) + self.shift)
    }
}

impl SimilarityFit<3> {
    /// Turn and shift alone; exact where the size was kept.
    #[must_use]
    pub fn isometry(&self) -> Isometry3<f64> {
        let turn =
            UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(self.turn));
        Isometry3::from_parts(Translation3::from(self.shift), turn)
    }
}

/// Spread across a line, as a part of the spread along it, below which points count as in one line: far
/// above rounding, far below what a hand can pick.
const FLAT_EPSILON: f64 = 1e-7;

/// Fits the pairs `(from, to)` by least squares.
///
/// # Errors
/// [`PairFault`] for fewer pairs than dimensions, points in one line (in the plane: in one point), or
/// coordinates that are not finite.
pub fn fit_similarity<const D: usize>(
    pairs: &[(Point<f64, D>, Point<f64, D>)],
    size: Size,
) -> Result<SimilarityFit<D>, PairFault> {
    if pairs.len() < D {
        return Err(PairFault::TooFew {
            needed: D,
            given: pairs.len(),
        });
    }
    let finite = |p: &Point<f64, D>| p.iter().all(|c| c.is_finite());
    if !pairs.iter().all(|(a, b)| finite(a) && finite(b)) {
        return Err(PairFault::NotFinite);
    }
    let n = pairs.len() as f64;
    let (mut mean_x, mut mean_y) = (SVector::<f64, D>::zeros(), SVector::<f64, D>::zeros());
    for (x, y) in pairs {
        mean_x += x.coords / n;
        mean_y += y.coords / n;
    }
    let mut spread_x = SMatrix::<f64, D, D>::zeros();
    let (mut spread_y, mut cross) = (spread_x, spread_x);
    for (x, y) in pairs {
        let (x, y) = (x.coords - mean_x, y.coords - mean_y);
        spread_x += x * x.transpose() / n;
        spread_y += y * y.transpose() / n;
        cross += y * x.transpose() / n;
    }
    if is_line(&spread_x) || is_line(&spread_y) {
        return Err(PairFault::Collinear);
    }
    let (variance_x, variance_y) = (spread_x.trace(), spread_y.trace());
    // Sized to one, so that what the iteration takes for nothing does not depend on the unit.
    let size_of_cross = cross.norm();
    if !(size_of_cross.is_finite() && size_of_cross > 0.0) {
        return Err(PairFault::NotFinite);
    }
    let (u, values, v_t) = singular(dynamic(&(cross / size_of_cross)))?;
    let all: f64 = size_of_cross * values.iter().sum::<f64>();
    let least = size_of_cross * values[D - 1];
    let handed = (u.determinant() * v_t.determinant()).signum();
    let mut signs = DMatrix::identity(D, D);
    signs[(D - 1, D - 1)] = handed;
    let product = u * signs * v_t;
    let turn = SMatrix::<f64, D, D>::from_iterator(product.iter().copied());
    let (agreed, mirrored) = (all - least + handed * least, all - least - handed * least);
    let scale = match size {
        Size::Fitted => agreed / variance_x,
        Size::Kept => 1.0,
    };
    let left_over = |agreed: f64| match size {
        Size::Fitted => (variance_y - agreed * agreed / variance_x).max(0.0),
        Size::Kept => (variance_x + variance_y - 2.0 * agreed).max(0.0),
    };
    Ok(SimilarityFit {
        turn,
        scale,
        shift: mean_y - scale * (turn * mean_x),
        mean_square: left_over(agreed),
        mirrored_mean_square: left_over(mirrored),
    })
}

/// Left vectors, values, right vectors transposed.
type Singular = (DMatrix<f64>, Vec<f64>, DMatrix<f64>);

/// Turns of pairs of columns, all pairs each; near the end each doubles the digits that are right.
const SWEEPS: usize = 30;
/// Part of the greatest singular value below which one has no direction of its own.
const NO_VALUE: f64 = 1e-9;

/// Singular vectors and values, greatest first. The library's iteration stops early on some matrices of
/// lower rank (three points: off by 4e-4), so that its answer is only where the turning of columns against
/// each other begins (one-sided Jacobi method, Hestenes 1958, from memory), which settles it to rounding.
fn singular(matrix: DMatrix<f64>) -> Result<Singular, PairFault> {
    let size = matrix.nrows();
    let begun = matrix.clone().svd(false, true);
    let Some(mut v) = begun.v_t.map(|v_t| v_t.transpose()) else {
        return Err(PairFault::NotFinite);
    };
    let mut stretched = &matrix * &v;
    for _ in 0..SWEEPS {
        for p in 0..size {
            for q in p + 1..size {
                let shared = stretched.column(p).dot(&stretched.column(q));
                if shared == 0.0 {
                    continue;
                }
                let [a, b] = [p, q].map(|k| stretched.column(k).norm_squared());
                let ratio = (b - a) / (2.0 * shared);
                let tangent = 1f64.copysign(ratio) / (ratio.abs() + ratio.hypot(1.0));
                let cosine = 1.0 / tangent.hypot(1.0);
                let sine = cosine * tangent;
                for columns in [&mut stretched, &mut v] {
                    let [left, right] = [p, q].map(|k| columns.column(k).into_owned());
                    columns.set_column(p, &(&left * cosine - &right * sine));
                    columns.set_column(q, &(&left * sine + &right * cosine));
                }
            }
        }
    }
    let mut order: Vec<(f64, usize)> = (0..size).map(|k| (stretched.column(k).norm(), k)).collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    let most = order.first().map_or(0.0, |(value, _)| *value);
    if !(most.is_finite() && most > 0.0) {
        return Err(PairFault::NotFinite);
    }
    let (mut u, mut v_t) = (DMatrix::zeros(size, size), DMatrix::zeros(size, size));
    for (row, &(value, k)) in order.iter().enumerate() {
        let own = stretched.column(k) / value;
        // What has no direction of its own gets the one that the others leave.
        let left: DVector<f64> = match value > NO_VALUE * most {
            true => own.into_owned(),
            false => (0..size)
                .map(|axis| {
                    let mut free = DVector::zeros(size);
                    free[axis] = 1.0;
                    for other in 0..row {
                        let taken: DVector<f64> = u.column(other).into_owned();
                        free -= &taken * taken.dot(&free);
                    }
                    free
                })
                .max_by(|a, b| a.norm().total_cmp(&b.norm()))
                .map_or_else(|| DVector::zeros(size), |free| free.normalize()),
        };
        u.set_column(row, &left);
        v_t.set_row(row, &v.column(k).transpose());
    }
    Ok((u, order.into_iter().map(|(value, _)| value).collect(), v_t))
}

/// Standard deviations of the points along their principal directions, greatest first.
#[must_use]
pub fn principal_spread(points: &[Point3]) -> [f64; 3] {
    let n = points.len().max(1) as f64;
    let mean: SVector<f64, 3> = points.iter().map(|p| p.coords).sum::<SVector<f64, 3>>() / n;
    let mut spread = SMatrix::<f64, 3, 3>::zeros();
    for p in points {
        spread += (p.coords - mean) * (p.coords - mean).transpose() / n;
    }
    let mut values: [f64; 3] = spread.symmetric_eigenvalues().into();
    values.sort_by(|a, b| b.total_cmp(a));
    values.map(|v| v.max(0.0).sqrt())
}

fn dynamic<const D: usize>(m: &SMatrix<f64, D, D>) -> DMatrix<f64> {
    DMatrix::from_iterator(D, D, m.iter().copied())
}

/// Whether points of this spread leave a turn open: rank below D - 1.
fn is_line<const D: usize>(spread: &SMatrix<f64, D, D>) -> bool {
    let values = dynamic(spread).singular_values();
    let deciding = values[D.saturating_sub(2)].sqrt();
    deciding <= FLAT_EPSILON * values[0].sqrt() || values[0] <= 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::{Point2, Vector3};
    use nalgebra::{Matrix2, Matrix4, Vector2};
    use proptest::prelude::*;

    /// Umeyama's example: a mirror fits exactly, a rotation does not.
    fn umeyama() -> [(Point2, Point2); 3] {
        let p = Point2::new;
        [
            (p(0.0, 0.0), p(0.0, 0.0)),
            (p(1.0, 0.0), p(-1.0, 0.0)),
            (p(0.0, 2.0), p(0.0, 2.0)),
        ]
    }

    /// Check value R1: Umeyama 1991, the example (results recomputed from the definition).
    #[test]
    fn umeyamas_example_comes_out() {
        let fit = fit_similarity(&umeyama(), Size::Fitted).unwrap();
        let root = 13f64.sqrt();
        assert!((fit.scale - root / 5.0).abs() < 1e-12);
        assert!((fit.scale - 0.721110).abs() < 5e-7);
        let turn = Matrix2::new(3.0, 2.0, -2.0, 3.0) / root;
        assert!((fit.turn - turn).norm() < 1e-12);
        assert!((fit.shift - Vector2::new(-0.8, 0.4)).norm() < 1e-12);
        assert!((fit.mean_square - 8.0 / 15.0).abs() < 1e-12);
        assert!((fit.turn.determinant() - 1.0).abs() < 1e-12);
        assert!(fit.mirrored_mean_square < 1e-12);
    }

    /// Check value R2: the same with the scale locked.
    #[test]
    fn umeyamas_example_with_the_size_kept() {
        let fit = fit_similarity(&umeyama(), Size::Kept).unwrap();
        assert_eq!(fit.scale, 1.0);
        assert!((fit.shift - Vector2::new(-0.980484, 0.296867)).norm() < 1e-6);
        assert!((fit.mean_square - 0.619755).abs() < 1e-6);
    }

    /// Horn's rotation, JOSA A 4(4), 629, 1987: the eigenvector of a 4 by 4 matrix (from memory).
    fn horn(pairs: &[(Point3, Point3)]) -> Rotation3<f64> {
        let n = pairs.len() as f64;
        let mean = |of: fn(&(Point3, Point3)) -> Point3| {
            pairs.iter().map(|p| of(p).coords).sum::<Vector3>() / n
        };
        let (mx, my) = (mean(|p| p.0), mean(|p| p.1));
        let s: SMatrix<f64, 3, 3> = pairs
            .iter()
            .map(|(x, y)| (x.coords - mx) * (y.coords - my).transpose())
            .sum();
        let (xx, xy, xz) = (s[(0, 0)], s[(0, 1)], s[(0, 2)]);
        let (yx, yy, yz) = (s[(1, 0)], s[(1, 1)], s[(1, 2)]);
        let (zx, zy, zz) = (s[(2, 0)], s[(2, 1)], s[(2, 2)]);
        #[rustfmt::skip]
        let m = Matrix4::new(
            xx + yy + zz, yz - zy, zx - xz, xy - yx,
            yz - zy, xx - yy - zz, xy + yx, zx + xz,
            zx - xz, xy + yx, -xx + yy - zz, yz + zy,
            xy - yx, zx + xz, yz + zy, -xx - yy + zz,
        );
        let eigen = m.symmetric_eigen();
        let q = eigen.eigenvectors.column(eigen.eigenvalues.imax());
        UnitQuaternion::from_quaternion(nalgebra::Quaternion::new(q[0], q[1], q[2], q[3]))
            .to_rotation_matrix()
    }

    fn point() -> impl Strategy<Value = Point3> {
        prop::array::uniform3(-1000.0..1000.0f64).prop_map(Point3::from)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Check value R3. The points of the second set are the first ones moved and shaken.
        #[test]
        fn the_quaternion_solution_gives_the_same_rotation(
            points in prop::collection::vec(point(), 4..12),
            shakes in prop::collection::vec(point(), 12),
            axis in prop::array::uniform3(-1.5..1.5f64),
        ) {
            let spread = principal_spread(&points);
            prop_assume!(spread[1] > 100.0);
            let turn = Rotation3::from_scaled_axis(Vector3::from(axis));
            let pairs: Vec<(Point3, Point3)> = points
                .iter()
                .zip(&shakes)
                .map(|(p, s)| (*p, turn * p + 0.02 * s.coords))
                .collect();
            let fit = fit_similarity(&pairs, Size::Kept).unwrap();
            prop_assert!((fit.turn - horn(&pairs).matrix()).norm() < 1e-6);
        }

        #[test]
        fn a_moved_and_scaled_set_comes_back(
            points in prop::collection::vec(point(), 3..9),
            axis in prop::array::uniform3(-1.8..1.8f64),
            shift in point(),
            scale in 0.01..100.0f64,
        ) {
            let spread = principal_spread(&points);
            prop_assume!(spread[1] > 1.0);
            let turn = Rotation3::from_scaled_axis(Vector3::from(axis));
            let pairs: Vec<(Point3, Point3)> = points
                .iter()
                .map(|p| (*p, Point3::from(scale * (turn * p.coords) + shift.coords)))
                .collect();
            let fit = fit_similarity(&pairs, Size::Fitted).unwrap();
            prop_assert!((fit.scale / scale - 1.0).abs() < 1e-9);
            for (x, y) in &pairs {
                prop_assert!((fit.apply(x) - y).norm() < 1e-6 * scale.max(1.0));
            }
        }
    }

    /// Three points lie in a plane, and their third singular value is nothing: cases that random runs found to
    /// be off by more than rounding. Points, axis of the turn, shift along each axis, scale.
    #[test]
    fn three_points_found_by_random_runs_come_back() {
        let cases = [
            (
                [
                    [870.0975775657591, -749.1900285264044, -467.1390936525555],
                    [-296.3489783030863, -617.2884889950931, 685.7624941992847],
                    [750.0268998398797, 728.5313632829179, 574.1523710591956],
                ],
                [-1.273329929933346, -1.1432401183186074, -0.4507455588971668],
                [0.0, 601.6142690597234, 0.0],
                83.2655145508215,
            ),
            (
                [
                    [-918.094932899718, 302.95159314431277, -441.3637294022182],
                    [-260.2180145891225, 187.22152427769944, 891.5838277300926],
                    [-492.2561699400022, 513.4805982850686, -693.5319479403075],
                ],
                [1.7916335319805425, -0.6330412974168985, -1.1042520924496506],
                [559.9746676569829, 0.0, 0.0],
                71.2870660517346,
            ),
        ];
        for (points, axis, shift, scale) in cases {
            let turn = Rotation3::from_scaled_axis(Vector3::from(axis));
            let pairs = points.map(|p| {
                let p = Point3::from(p);
                let moved = scale * (turn * p.coords) + Vector3::from(shift);
                (p, Point3::from(moved))
            });
            let fit = fit_similarity(&pairs, Size::Fitted).unwrap();
            let off = fit.scale / scale - 1.0;
            assert!(off.abs() < 1e-12, "{scale}: {off:e}");
        }
    }

    #[test]
    fn a_mirrored_set_is_told_from_a_turned_one() {
        let points = [
            [0.0, 0.0, 0.0],
            [100.0, 0.0, 0.0],
            [0.0, 200.0, 0.0],
            [0.0, 0.0, 50.0],
        ];
        let pairs: Vec<(Point3, Point3)> = points
            .iter()
            .map(|&[x, y, z]| (Point3::new(x, y, z), Point3::new(-x, y, z)))
            .collect();
        let fit = fit_similarity(&pairs, Size::Kept).unwrap();
        assert!((fit.turn.determinant() - 1.0).abs() < 1e-12);
        assert!(fit.mirrored_mean_square < 1e-9 && fit.mean_square > 100.0);
    }

    #[test]
    fn too_few_points_in_a_line_and_nonsense_are_refused() {
        let p = Point3::new;
        let along = |k: i32| {
            let t = f64::from(k);
            (p(t, 2.0 * t, -t), p(3.0 * t, 0.0, 1.0))
        };
        let line: Vec<_> = (0..5).map(along).collect();
        assert_eq!(
            fit_similarity(&line, Size::Fitted),
            Err(PairFault::Collinear)
        );
        assert_eq!(
            fit_similarity(&line[..2], Size::Fitted),
            Err(PairFault::TooFew {
                needed: 3,
                given: 2
            })
        );
        let same = [(p(1.0, 1.0, 1.0), p(2.0, 2.0, 2.0)); 4];
        assert_eq!(fit_similarity(&same, Size::Kept), Err(PairFault::Collinear));
        let mut bad = line;
        bad[0].0.x = f64::NAN;
        assert_eq!(fit_similarity(&bad, Size::Kept), Err(PairFault::NotFinite));
        let none: [(Point3, Point3); 0] = [];
        assert!(fit_similarity(&none, Size::Kept).is_err());
    }
}
