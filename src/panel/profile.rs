//! A value along the spine, without overshoot between the stations.

/// Values at rising arc lengths, joined by monotone cubics (Fritsch and Carlson, SIAM J. Numer. Anal.
/// 17, 1980, with the harmonic-mean slopes of Fritsch and Butland, 1984).
#[derive(Debug, Clone)]
pub struct Profile {
    along: Vec<f64>,
    values: Vec<f64>,
    slopes: Vec<f64>,
}

impl Profile {
    /// Takes values at strictly rising arc lengths (mm).
    #[must_use]
    pub fn new(along: Vec<f64>, values: Vec<f64>) -> Self {
        let n = along.len().min(values.len());
        let chord = |i: usize| (values[i + 1] - values[i]) / (along[i + 1] - along[i]);
        let slopes = (0..n)
            .map(|i| match i {
                _ if n < 2 => 0.0,
                0 => chord(0),
                _ if i == n - 1 => chord(n - 2),
                _ => {
                    let (a, b) = (chord(i - 1), chord(i));
                    if a * b <= 0.0 {
                        return 0.0;
                    }
                    let (h, k) = (along[i] - along[i - 1], along[i + 1] - along[i]);
                    let (p, q) = (2.0 * k + h, k + 2.0 * h);
                    (p + q) / (p / a + q / b)
                }
            })
            .collect();
        Self {
            along,
            values,
            slopes,
        }
    }

    /// Value at arc length `s` (mm), held at the end values beyond the ends; zero without values.
    #[must_use]
    pub fn at(&self, s: f64) -> f64 {
        let last = self.slopes.len().saturating_sub(1);
        let k = self.along.partition_point(|&a| a <= s);
        if k == 0 || k > last {
            return self.values.get(k.min(last)).copied().unwrap_or(0.0);
        }
        let (a, b) = (self.along[k - 1], self.along[k]);
        let h = b - a;
        let t = (s - a) / h;
        let (t2, t3) = (t * t, t * t * t);
        (2.0 * t3 - 3.0 * t2 + 1.0) * self.values[k - 1]
            + (t3 - 2.0 * t2 + t) * h * self.slopes[k - 1]
            + (3.0 * t2 - 2.0 * t3) * self.values[k]
            + (t3 - t2) * h * self.slopes[k]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn goes_through_its_values_and_never_beyond() {
        let along = vec![0.0, 5.0, 11.0, 12.0, 20.0];
        let values = vec![1.0, 1.0, 9.0, 11.0, 11.0];
        let profile = Profile::new(along.clone(), values.clone());
        for (s, v) in along.iter().zip(&values) {
            assert!((profile.at(*s) - v).abs() < 1e-12);
        }
        let fine: Vec<f64> = (-10..=250)
            .map(|i| profile.at(f64::from(i) / 10.0))
            .collect();
        assert!(fine.windows(2).all(|w| w[1] >= w[0] - 1e-12));
        assert!(
            fine.iter()
                .all(|v| (1.0 - 1e-12..=11.0 + 1e-12).contains(v))
        );
    }

    #[test]
    fn holds_without_values_or_with_one() {
        assert_eq!(Profile::new(vec![], vec![]).at(3.0), 0.0);
        assert_eq!(Profile::new(vec![2.0], vec![7.0]).at(3.0), 7.0);
    }
}
