//! Fairing: a smooth curve through station values that keeps real steps.
//!
//! A penalised least-squares smoother (Whittaker, Proc. Edinburgh Math. Soc. 41, 1923; Eilers,
//! Analytical Chemistry 75, 2003) on uneven spacing. Unlike theirs, the curve may not leave a short
//! running median by more than a bound: where it would, the penalty is released there alone, so a step
//! or a notch is followed and the rest stays fair.

/// How hard to fair, and how far the curve may leave what was measured.
#[derive(Debug, Clone, Copy)]
pub struct Fairing {
    /// Length over which noise is averaged (mm).
    pub length_mm: f64,
    /// Least bound on leaving the running median, in the unit of the values.
    pub least_bound: f64,
    /// Greatest bound, in the unit of the values. Between the two it grows with the noise found.
    pub greatest_bound: f64,
}

/// Stations to either side that the running median takes in.
const MEDIAN_REACH: usize = 2;
/// The running median does not reach further than this (mm).
const MEDIAN_REACH_MM: f64 = 30.0;
/// Rounds of releasing the penalty. Each divides it by [`RELEASE`] where the bound is passed.
const ROUNDS: usize = 14;
const RELEASE: f64 = 4.0;

/// Fairs `values` at rising arc lengths `along` (mm). `sigmas` are their standard uncertainties: only
/// the ratios between them count.
#[must_use]
pub fn fair(along: &[f64], values: &[f64], sigmas: &[f64], fairing: Fairing) -> Vec<f64> {
    let n = along.len();
    if n < 4 || values.len() != n || sigmas.len() != n {
        return values.to_vec();
    }
    let middle = running_median(along, values);
    let mut off: Vec<f64> = values
        .iter()
        .zip(&middle)
        .map(|(v, m)| (v - m).abs())
        .collect();
    // White noise less its running median of five has 0.73 of the noise's own median deviation (from a
    // simulation of 200 000 values; 1.4826 takes a median deviation to a standard deviation).
    let noise = 1.4826 / 0.73 * median(&mut off);
    let bound = (2.0 * noise).clamp(fairing.least_bound, fairing.greatest_bound);
    let spike = 3.0 * noise + 0.25 * fairing.least_bound;
    let data: Vec<f64> = values
        .iter()
        .zip(&middle)
        .map(|(&v, &m)| v.clamp(m - spike, m + spike))
        .collect();
    let typical = median(&mut sigmas.to_vec()).max(1e-9);
    let weights: Vec<f64> = (0..n)
        .map(|i| {
            let left = along[i] - along[i.saturating_sub(1)];
            let right = along[(i + 1).min(n - 1)] - along[i];
            let share = (typical / sigmas[i].max(1e-9)).clamp(0.1, 3.0);
            0.5 * (left + right) * share * share
        })
        .collect();
    // The smoother's kernel is about 2.8 times the fourth root of the penalty wide.
    let stiffness = (fairing.length_mm / 2.8).powi(4);
    let mut penalty = vec![stiffness; n];
    let mut smooth = data.clone();
    for _ in 0..ROUNDS {
        let Some(next) = solve(along, &data, &weights, &penalty) else {
            break;
        };
        smooth = next;
        // Smoothing what is left as well takes most of the bias off bends and ends (Tukey's twicing).
        let left: Vec<f64> = data.iter().zip(&smooth).map(|(d, v)| d - v).collect();
        if let Some(more) = solve(along, &left, &weights, &penalty) {
            smooth.iter_mut().zip(more).for_each(|(v, m)| *v += m);
        }
        let mut release = vec![false; n];
        for i in 0..n {
            // A station that is hardly seen has no say in where the curve must go.
            if (smooth[i] - middle[i]).abs() > bound && sigmas[i] < 3.0 * typical {
                release[i.saturating_sub(1)..=(i + 1).min(n - 1)].fill(true);
            }
        }
        if !release.contains(&true) {
            break;
        }
        for (p, _) in penalty.iter_mut().zip(&release).filter(|(_, r)| **r) {
            *p /= RELEASE;
        }
    }
    smooth
}

fn running_median(along: &[f64], values: &[f64]) -> Vec<f64> {
    let n = values.len();
    (0..n)
        .map(|i| {
            // The same reach on both sides, so that a slope is not bent at the ends.
            let reach = (0..=MEDIAN_REACH.min(i).min(n - 1 - i))
                .rev()
                .find(|&k| along[i + k] - along[i - k] <= 2.0 * MEDIAN_REACH_MM)
                .unwrap_or(0);
            median(&mut values[i - reach..=i + reach].to_vec())
        })
        .collect()
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// Least squares with a penalty on the integral of the squared second derivative: a symmetric system
/// of five bands, by L D L^T without pivoting (it is positive definite).
fn solve(along: &[f64], data: &[f64], weights: &[f64], penalty: &[f64]) -> Option<Vec<f64>> {
    let n = data.len();
    let mut bands = vec![[0.0; 3]; n];
    let mut right: Vec<f64> = data.iter().zip(weights).map(|(d, w)| d * w).collect();
    for (band, &w) in bands.iter_mut().zip(weights) {
        band[0] = w;
    }
    for i in 1..n - 1 {
        let (a, b) = (along[i] - along[i - 1], along[i + 1] - along[i]);
        let h = 0.5 * (a + b);
        let row = [1.0 / (a * h), -(1.0 / a + 1.0 / b) / h, 1.0 / (b * h)];
        for p in 0..3 {
            for q in p..3 {
                bands[i - 1 + p][q - p] += penalty[i] * h * row[p] * row[q];
            }
        }
    }
    for i in 0..n {
        let pivot = bands[i][0];
        if !(pivot.is_finite() && pivot > 0.0) {
            return None;
        }
        let (one, two) = (bands[i][1], bands[i][2]);
        if i + 1 < n {
            bands[i + 1][0] -= one * one / pivot;
            bands[i + 1][1] -= one * two / pivot;
            right[i + 1] -= one / pivot * right[i];
        }
        if i + 2 < n {
            bands[i + 2][0] -= two * two / pivot;
            right[i + 2] -= two / pivot * right[i];
        }
    }
    for i in (0..n).rev() {
        let later = |k: usize| right.get(i + k).copied().unwrap_or(0.0) * bands[i][k];
        right[i] = (right[i] - later(1) - later(2)) / bands[i][0];
    }
    right.iter().all(|v| v.is_finite()).then_some(right)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIKE_A_LINE: Fairing = Fairing {
        length_mm: 70.0,
        least_bound: 0.75,
        greatest_bound: 1.3,
    };

    /// Even noise of standard deviation 1 from a linear congruential generator, twelve draws a value.
    fn noise(count: usize) -> Vec<f64> {
        let mut state = 1u64;
        let mut draw = || {
            state = state
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        (0..count)
            .map(|_| (0..12).map(|_| draw()).sum::<f64>() - 6.0)
            .collect()
    }

    fn uneven(count: usize) -> Vec<f64> {
        (0..count)
            .map(|i| 5.0 * i as f64 + if i % 3 == 0 { 1.2 } else { 0.0 })
            .collect()
    }

    #[test]
    fn a_straight_line_stays() {
        let along = uneven(80);
        let values: Vec<f64> = along.iter().map(|s| 40.0 - 0.2 * s).collect();
        let faired = fair(&along, &values, &[0.5; 80], LIKE_A_LINE);
        let worst = faired
            .iter()
            .zip(&values)
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max);
        assert!(worst < 1e-6, "{worst}");
    }

    #[test]
    fn noise_goes_and_the_wave_stays() {
        let along = uneven(400);
        let truth: Vec<f64> = along
            .iter()
            .map(|s| 30.0 + 6.0 * (s / 150.0).sin())
            .collect();
        let seen: Vec<f64> = truth
            .iter()
            .zip(noise(400))
            .map(|(t, e)| t + 0.5 * e)
            .collect();
        let faired = fair(&along, &seen, &[0.5; 400], LIKE_A_LINE);
        let square = faired
            .iter()
            .zip(&truth)
            .map(|(a, b)| (a - b).powi(2))
            .sum::<f64>()
            / 400.0;
        assert!(square.sqrt() < 0.2, "{}", square.sqrt());
        // What is left must not ripple from station to station: raw, these differences reach 3 mm.
        let left: Vec<f64> = faired.iter().zip(&truth).map(|(a, b)| a - b).collect();
        let bend = left
            .windows(3)
            .map(|w| (w[0] - 2.0 * w[1] + w[2]).abs())
            .fold(0.0, f64::max);
        assert!(bend < 0.12, "{bend}");
    }

    #[test]
    fn a_step_and_a_notch_are_kept() {
        let along = uneven(300);
        let truth: Vec<f64> = along
            .iter()
            .map(|&s| {
                let step = 10.0 * ((s - 400.0) / 6.0).clamp(0.0, 1.0);
                let notch = if (900.0..970.0).contains(&s) {
                    20.0
                } else {
                    0.0
                };
                50.0 + step + notch
            })
            .collect();
        for size in [0.0, 0.4] {
            let seen: Vec<f64> = truth
                .iter()
                .zip(noise(300))
                .map(|(t, e)| t + size * e)
                .collect();
            let faired = fair(&along, &seen, &[0.5; 300], LIKE_A_LINE);
            let worst = faired
                .iter()
                .zip(&truth)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0, f64::max);
            assert!(worst < 1.5, "{size}: {worst}");
        }
    }

    #[test]
    fn one_wild_station_leaves_no_mark() {
        let along = uneven(100);
        let mut values = vec![30.0; 100];
        values[50] = 45.0;
        let faired = fair(&along, &values, &[0.5; 100], LIKE_A_LINE);
        assert!(faired.iter().all(|v| (v - 30.0).abs() < 0.3));
    }

    #[test]
    fn little_or_nothing_comes_back_as_it_is() {
        assert!(fair(&[], &[], &[], LIKE_A_LINE).is_empty());
        assert_eq!(
            fair(&[0.0, 1.0], &[3.0, 4.0], &[1.0, 1.0], LIKE_A_LINE),
            [3.0, 4.0]
        );
    }
}
