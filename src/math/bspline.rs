//! Cubic B-splines fitted to points, with a penalty on bending.
//!
//! Least squares on a clamped uniform knot vector with a second-difference penalty on the control
//! points (P-splines: Eilers and Marx, Statistical Science 11(2), 1996).

use nalgebra::{DMatrix, DVector};

/// A clamped cubic B-spline on `[0, 1]` with `D` values at each parameter.
#[derive(Debug, Clone)]
pub struct CubicSpline<const D: usize> {
    controls: Vec<[f64; D]>,
}

/// Value, first and second derivative with respect to the parameter.
#[derive(Debug, Clone, Copy)]
pub struct Jet<const D: usize> {
    /// Value.
    pub value: [f64; D],
    /// First derivative.
    pub first: [f64; D],
    /// Second derivative.
    pub second: [f64; D],
}

impl<const D: usize> CubicSpline<D> {
    /// Fits to `values` at `params` (in `[0, 1]`, any order) with weights, `spans` knot spans and a
    /// `stiffness` of zero or more on second differences, relative to the mean data weight of a span.
    ///
    /// Gives `None` where there are fewer than two values or something is not finite.
    #[must_use]
    pub fn fit(
        params: &[f64],
        values: &[[f64; D]],
        weights: &[f64],
        spans: usize,
        stiffness: f64,
    ) -> Option<Self> {
        let n = spans.max(1) + 3;
        if params.len() < 2 || params.len() != values.len() || params.len() != weights.len() {
            return None;
        }
        let mut normal = DMatrix::<f64>::zeros(n, n);
        let mut right = DMatrix::<f64>::zeros(n, D);
        for ((&t, value), &w) in params.iter().zip(values).zip(weights) {
            let (first, basis) = basis(t, n, 0);
            for i in 0..4 {
                for j in 0..4 {
                    normal[(first + i, first + j)] += w * basis[i] * basis[j];
                }
                for d in 0..D {
                    right[(first + i, d)] += w * basis[i] * value[d];
                }
            }
        }
        let mean = weights.iter().sum::<f64>() / spans.max(1) as f64;
        let penalty = mean * stiffness.max(1e-9);
        let sites = greville(n);
        for i in 1..n - 1 {
            // Divided second difference at the Greville sites, so that a straight line costs nothing.
            let (a, b) = (sites[i] - sites[i - 1], sites[i + 1] - sites[i]);
            let h = 0.5 * (a + b);
            let row = [h / a, -(h / a + h / b), h / b];
            for p in 0..3 {
                for q in 0..3 {
                    normal[(i - 1 + p, i - 1 + q)] += penalty * row[p] * row[q];
                }
            }
        }
        let solved = normal.cholesky()?.solve(&right);
        if solved.iter().any(|v| !v.is_finite()) {
            return None;
        }
        let controls = (0..n)
            .map(|i| std::array::from_fn(|d| solved[(i, d)]))
            .collect();
        Some(Self { controls })
    }

    /// The same curve with every value times `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            controls: self
                .controls
                .iter()
                .map(|c| c.map(|v| v * factor))
                .collect(),
        }
    }

    /// The same curve run from its end to its start, each value times its factor.
    #[must_use]
    pub fn reversed(&self, factors: [f64; D]) -> Self {
        // The knots lie evenly, so the reversed controls alone reverse the curve.
        let controls = self.controls.iter().rev();
        Self {
            controls: controls
                .map(|c| std::array::from_fn(|d| c[d] * factors[d]))
                .collect(),
        }
    }

    /// Value and derivatives at a parameter, held to `[0, 1]`.
    #[must_use]
    pub fn at(&self, t: f64) -> Jet<D> {
        Jet {
            value: self.sum(t, 0),
            first: self.sum(t, 1),
            second: self.sum(t, 2),
        }
    }

    /// The first derivative alone.
    #[must_use]
    pub fn first_at(&self, t: f64) -> [f64; D] {
        self.sum(t, 1)
    }

    fn sum(&self, t: f64, order: usize) -> [f64; D] {
        let (first, basis) = basis(t, self.controls.len(), order);
        std::array::from_fn(|d| (0..4).map(|i| basis[i] * self.controls[first + i][d]).sum())
    }
}

/// Knot `i` of the clamped uniform knot vector for `n` controls.
fn knot(i: usize, n: usize) -> f64 {
    let spans = (n - 3) as f64;
    (i as f64 - 3.0).clamp(0.0, spans) / spans
}

fn greville(n: usize) -> DVector<f64> {
    DVector::from_fn(n, |i, _| {
        (knot(i + 1, n) + knot(i + 2, n) + knot(i + 3, n)) / 3.0
    })
}

/// The four cubic basis functions (or their derivatives) that are not zero at `t`, and the index of
/// the first. Cox and de Boor's recurrence; derivatives by differencing lower degrees
/// (Piegl and Tiller, The NURBS Book, section 2.3).
fn basis(t: f64, n: usize, order: usize) -> (usize, [f64; 4]) {
    let t = if t.is_finite() {
        t.clamp(0.0, 1.0)
    } else {
        0.0
    };
    let spans = n - 3;
    let span = ((t * spans as f64) as usize).min(spans - 1) + 3;
    let degree = 3 - order;
    let mut b = [0.0; 4];
    b[0] = 1.0;
    for p in 1..=degree {
        let mut next = [0.0; 4];
        for (r, &value) in b.iter().enumerate().take(p) {
            let (lo, hi) = (knot(span + r + 1 - p, n), knot(span + r + 1, n));
            let width = hi - lo;
            next[r] += value * (hi - t) / width;
            next[r + 1] += value * (t - lo) / width;
        }
        b = next;
    }
    for p in degree + 1..=3 {
        let mut next = [0.0; 4];
        for (r, &value) in b.iter().enumerate().take(p) {
            let (lo, hi) = (knot(span + r + 1 - p, n), knot(span + r + 1, n));
            let slope = p as f64 * value / (hi - lo);
            next[r] -= slope;
            next[r + 1] += slope;
        }
        b = next;
    }
    (span - 3, b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reproduces_a_cubic_with_its_derivatives() {
        let f = |t: f64| 1.0 + 2.0 * t - 3.0 * t * t + 4.0 * t * t * t;
        let params: Vec<f64> = (0..=200).map(|i| i as f64 / 200.0).collect();
        let values: Vec<[f64; 1]> = params.iter().map(|&t| [f(t)]).collect();
        let spline = CubicSpline::fit(&params, &values, &vec![1.0; params.len()], 7, 0.0).unwrap();
        for t in [0.0, 0.13, 0.5, 0.77, 1.0] {
            let jet = spline.at(t);
            assert!(
                (jet.value[0] - f(t)).abs() < 1e-5,
                "{} {}",
                jet.value[0],
                f(t)
            );
            assert!((jet.first[0] - (2.0 - 6.0 * t + 12.0 * t * t)).abs() < 1e-3);
            assert!((jet.second[0] - (-6.0 + 24.0 * t)).abs() < 0.05);
        }
    }

    #[test]
    fn stiffness_keeps_a_straight_line() {
        let params: Vec<f64> = (0..50).map(|i| i as f64 / 49.0).collect();
        let values: Vec<[f64; 2]> = params.iter().map(|&t| [3.0 * t, 1.0 - t]).collect();
        let spline = CubicSpline::fit(&params, &values, &[1.0; 50], 12, 1e3).unwrap();
        let jet = spline.at(0.37);
        assert!((jet.value[0] - 1.11).abs() < 1e-9 && (jet.value[1] - 0.63).abs() < 1e-9);
    }
}
