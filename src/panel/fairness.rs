//! How far the faired lines leave the edge as it was measured.

/// How far the panel's lines leave the measured edge, over all stations (mm).
///
/// Fairing may leave a short running median of the stations by 1.3 mm at most; a single station that
/// stands out from its neighbours may be left further behind, and shows here.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Fairness {
    /// Largest distance of a station from the faired line, in its own plane (mm).
    pub most_mm: f64,
    /// Arc length of that station (mm).
    pub at_mm: f64,
    /// Root mean square (mm).
    pub rms_mm: f64,
}

/// How far the lines leave one station.
#[derive(Debug, Clone, Copy)]
pub struct Left {
    /// Arc length (mm).
    pub s: f64,
    /// Line less station in height (mm).
    pub up: f64,
    /// Line less station across (mm).
    pub out: f64,
}

impl Fairness {
    /// Takes the largest and the mean of what is left.
    pub fn of(left: &[Left]) -> Self {
        let mut fairness = Self::default();
        let mut sum = 0.0;
        for at in left {
            let off = at.up.hypot(at.out);
            sum += off * off;
            if off > fairness.most_mm {
                (fairness.most_mm, fairness.at_mm) = (off, at.s);
            }
        }
        fairness.rms_mm = (sum / left.len().max(1) as f64).sqrt();
        fairness
    }
}
