//! Estimates that a share of wild values does not move.

/// Takes a median absolute deviation to the standard deviation of a normal distribution
/// (Rousseeuw and Croux, JASA 88, 1993).
pub const MAD_TO_SIGMA: f64 = 1.4826;

/// Median of the values, reordering them; `None` without values. Values that are not finite sort last.
pub fn median(values: &mut [f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The value below which a share `q` of the values lies, reordering them.
pub fn quantile(values: &mut [f64], q: f64) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let k = ((values.len() - 1) as f64 * q.clamp(0.0, 1.0)).round() as usize;
    Some(*values.select_nth_unstable_by(k, f64::total_cmp).1)
}

/// Median of values with weights, `(value, weight)`, reordering them.
pub fn weighted_median(values: &mut [(f64, f64)]) -> Option<f64> {
    values.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let half = 0.5 * values.iter().map(|v| v.1).sum::<f64>();
    let mut sum = 0.0;
    for &(value, weight) in values.iter() {
        sum += weight;
        if sum >= half {
            return Some(value);
        }
    }
    values.last().map(|v| v.0)
}

/// Standard deviation from the median absolute deviation about zero, reordering the values.
pub fn sigma_about_zero(residuals: &mut [f64]) -> Option<f64> {
    for r in residuals.iter_mut() {
        *r = r.abs();
    }
    median(residuals).map(|m| m * MAD_TO_SIGMA)
}

/// Tukey's biweight for a residual in units of its standard deviation (cut off at 4.685, the value for
/// 95 % efficiency: Beaton and Tukey, Technometrics 16, 1974).
#[must_use]
pub fn biweight(standardised: f64) -> f64 {
    let u = standardised / 4.685;
    if u.abs() >= 1.0 {
        0.0
    } else {
        (1.0 - u * u).powi(2)
    }
}

/// A small seeded generator for sampling: the same seed gives the same draws everywhere
/// (SplitMix64: Steele, Lea, Flood, OOPSLA 2014).
#[derive(Debug, Clone)]
pub struct Draws(u64);

impl Draws {
    /// Starts a row of draws.
    #[must_use]
    pub fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    /// A whole number below `bound` (zero for a bound of zero).
    pub fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        if bound == 0 {
            0
        } else {
            (z % bound as u64) as usize
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians_stand_wild_values() {
        assert_eq!(median(&mut [5.0, 1.0, 1e9, 2.0, 3.0]), Some(3.0));
        assert_eq!(
            weighted_median(&mut [(1.0, 1.0), (2.0, 1.0), (9.0, 5.0)]),
            Some(9.0)
        );
        assert_eq!(median(&mut []), None);
    }

    #[test]
    fn the_deviation_of_a_normal_sample_comes_back() {
        // Quantiles of the standard normal at 1/8 .. 7/8, from memory of the tables: the median of the
        // absolute values is the 0.75 quantile, 0.6745.
        let mut r = [-1.1503, -0.6745, -0.3186, 0.0, 0.3186, 0.6745, 1.1503];
        let sigma = sigma_about_zero(&mut r).unwrap();
        assert!((sigma - 1.0).abs() < 1e-3);
    }
}
