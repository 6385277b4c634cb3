//! Generalised least squares of readings on a scale, a constant and a tilt: readings that share an end
//! of the edge share its doubt (GUM 5.2, correlated inputs).

use super::{CheckKind, Correction, Prediction};
use nalgebra::{DMatrix, DVector};

/// A reading beside what the survey says.
#[derive(Debug, Clone, Copy)]
pub struct Point {
    pub kind: CheckKind,
    /// Share of the spine's length, 0 at the left.
    pub share: f64,
    pub predicted: f64,
    pub read: f64,
    /// Standard uncertainty of the difference by itself (mm).
    pub own: f64,
    /// The part of that which is the same for every gap (mm, standard).
    pub common: f64,
    /// What the doubt about the edge's ends adds, shared with other readings (mm, standard).
    pub ends: [f64; 2],
}

impl Point {
    pub fn new(kind: CheckKind, share: f64, prediction: &Prediction, read: f64) -> Self {
        Self {
            kind,
            share,
            predicted: prediction.value,
            read,
            own: prediction.own,
            common: prediction.common,
            ends: prediction.ends,
        }
    }

    pub fn sigma(&self) -> f64 {
        self.own.hypot(self.ends[0]).hypot(self.ends[1])
    }

    /// The same without what the survey says about the height of the gap as a whole: what readings alone
    /// say about it.
    pub fn sharp(&self) -> Self {
        let own = (self.own * self.own - self.common * self.common).max(0.0);
        Self {
            own: own.sqrt(),
            common: 0.0,
            ..*self
        }
    }
}

/// What may be corrected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Model {
    pub scale: Scale,
    pub height: Height,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    Kept,
    Fitted,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Height {
    Kept,
    Constant,
    Linear,
}

/// A fitted model.
#[derive(Debug, Clone)]
pub struct Fit {
    pub parameters: usize,
    pub correction: Correction,
    /// Standard uncertainty of scale, left and right.
    pub doubt: [f64; 3],
    pub chi_square: f64,
    /// Reading less prediction after the correction, in standard uncertainties.
    pub left_over: Vec<f64>,
}

impl Model {
    /// Nothing is corrected.
    pub const NONE: Self = Self {
        scale: Scale::Kept,
        height: Height::Kept,
    };

    /// All that may be, the simplest first.
    pub fn all() -> impl Iterator<Item = Self> {
        [Height::Kept, Height::Constant, Height::Linear]
            .into_iter()
            .flat_map(|height| [Scale::Kept, Scale::Fitted].map(|scale| Self { scale, height }))
    }

    fn scaled(self) -> usize {
        usize::from(self.scale == Scale::Fitted)
    }

    pub fn parameters(self) -> usize {
        let height = match self.height {
            Height::Kept => 0,
            Height::Constant => 1,
            Height::Linear => 2,
        };
        height + self.scaled()
    }

    /// Whether there are readings enough for it: two lengths for a scale, two gaps for a constant, four
    /// over half of the edge for a tilt, so that each is checked by one reading more than it takes.
    pub fn is_supported(self, points: &[Point]) -> bool {
        let gaps: Vec<f64> = points
            .iter()
            .filter(|p| p.kind == CheckKind::Gap)
            .map(|p| p.share)
            .collect();
        let lengths = points.len() - gaps.len();
        let least = gaps.iter().copied().fold(f64::INFINITY, f64::min);
        let most = gaps.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        (self.scale == Scale::Kept || lengths >= 2)
            && match self.height {
                Height::Kept => true,
                Height::Constant => gaps.len() >= 2,
                Height::Linear => gaps.len() >= 4 && most - least >= 0.5,
            }
    }
}

/// Fits a model; `None` where the readings do not determine it.
pub fn fit(model: Model, points: &[Point]) -> Option<Fit> {
    let n = model.parameters();
    let mut rows = DMatrix::<f64>::zeros(points.len(), n);
    let mut right = DVector::<f64>::zeros(points.len());
    for (i, p) in points.iter().enumerate() {
        let gap = f64::from(u8::from(p.kind == CheckKind::Gap));
        let mut row = Vec::with_capacity(n);
        if model.scale == Scale::Fitted {
            row.push(p.predicted);
        }
        match model.height {
            Height::Kept => {}
            Height::Constant => row.push(gap),
            Height::Linear => row.extend([gap * (1.0 - p.share), gap * p.share]),
        }
        for (j, value) in row.into_iter().enumerate() {
            rows[(i, j)] = value;
        }
        right[i] = p.read - p.predicted;
    }
    let covariance = DMatrix::from_fn(points.len(), points.len(), |i, j| {
        let (a, b) = (&points[i], &points[j]);
        let own = if i == j { a.own * a.own } else { 0.0 };
        own + a.ends[0] * b.ends[0] + a.ends[1] * b.ends[1]
    });
    let root = covariance.cholesky()?;
    let plain = (rows.clone(), right.clone());
    root.l_dirty().solve_lower_triangular_mut(&mut rows);
    root.l_dirty().solve_lower_triangular_mut(&mut right);
    let (found, covariance) = if n == 0 {
        (DVector::zeros(0), DMatrix::zeros(0, 0))
    } else {
        let normal = rows.transpose() * &rows;
        let covariance = normal.cholesky()?.inverse();
        (&covariance * (rows.transpose() * &right), covariance)
    };
    let white = right - rows * &found;
    let off = plain.1 - plain.0 * &found;
    let left_over = off.iter().zip(points).map(|(d, p)| d / p.sigma());
    let first = model.scaled();
    let value = |j: usize| found.get(j).copied().unwrap_or(0.0);
    let doubt = |j: usize| {
        if j < n {
            covariance[(j, j)].max(0.0).sqrt()
        } else {
            0.0
        }
    };
    let (left, right) = match model.height {
        Height::Kept => (n, n),
        Height::Constant => (first, first),
        Height::Linear => (first, first + 1),
    };
    Some(Fit {
        parameters: n,
        correction: Correction {
            scale: if first > 0 { 1.0 + value(0) } else { 1.0 },
            left: value(left),
            right: value(right),
        },
        doubt: [
            if first > 0 { doubt(0) } else { 0.0 },
            doubt(left),
            doubt(right),
        ],
        chi_square: white.norm_squared(),
        left_over: left_over.collect(),
    })
}
