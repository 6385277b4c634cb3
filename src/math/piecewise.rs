//! Smoothing of values along a line that keeps real steps.
//!
//! Steps are found first, where robust lines from both sides disagree; between them a robust local line
//! is fitted at each place (locally weighted regression: Cleveland, JASA 74, 1979), never across a step.

use super::robust::{biweight, sigma_about_zero};

/// Values along a line: place, value and weight (zero where nothing is known).
#[derive(Debug, Clone, Copy)]
pub struct Sample {
    /// Place along the line, rising.
    pub at: f64,
    /// Value there.
    pub value: f64,
    /// Weight, zero or more.
    pub weight: f64,
}

/// A smoothed value and the scatter of the samples about it.
#[derive(Debug, Clone, Copy)]
pub struct Smoothed {
    /// Value.
    pub value: f64,
    /// Slope.
    pub slope: f64,
    /// Standard deviation of the samples near by about the fit.
    pub scatter: f64,
    /// Sum of the weights the fit rests on.
    pub support: f64,
}

/// Places where the value jumps by more than `least`, judged over `reach` on each side.
#[must_use]
pub fn find_steps(samples: &[Sample], reach: f64, least: f64) -> Vec<f64> {
    let mut jumps: Vec<(f64, f64)> = Vec::new();
    for pair in samples.windows(2) {
        let at = 0.5 * (pair[0].at + pair[1].at);
        // A ramp of a few millimetres is still a step, so what lies right at the place is left out.
        let gap = 0.15 * reach;
        let left = local_line(samples, at, |d| (-reach..-gap).contains(&d), reach);
        let right = local_line(samples, at, |d| (gap..reach).contains(&d), reach);
        if let (Some(l), Some(r)) = (left, right) {
            let noise = 3.0 * l.scatter.hypot(r.scatter);
            let jump = (r.value - l.value).abs();
            jumps.push((at, if jump > least.max(noise) { jump } else { 0.0 }));
        }
    }
    let near = 0.4 * reach;
    jumps
        .iter()
        .enumerate()
        .filter(|&(i, &(at, jump))| {
            let others = jumps
                .iter()
                .enumerate()
                .filter(|(_, o)| (o.0 - at).abs() <= near);
            jump > 0.0
                && others
                    .clone()
                    .all(|(k, o)| o.1 < jump || (o.1 == jump && k >= i))
        })
        .map(|(_, &(at, _))| settle(samples, at, reach))
        .filter(|&at| jump_at(samples, at, reach).is_some_and(|jump| jump > least))
        .collect()
}

/// The jump right at a place, from all samples on both sides of it.
fn jump_at(samples: &[Sample], at: f64, reach: f64) -> Option<f64> {
    let left = local_line(samples, at, |d| (-reach..0.0).contains(&d), reach)?;
    let right = local_line(samples, at, |d| (0.0..reach).contains(&d), reach)?;
    Some((right.value - left.value).abs())
}

/// Moves a step to where the samples near it change sides: the place that leaves the least sum of
/// distances from the lines on both sides.
fn settle(samples: &[Sample], at: f64, reach: f64) -> f64 {
    let gap = 0.15 * reach;
    let left = local_line(samples, at, |d| (-reach..-gap).contains(&d), reach);
    let right = local_line(samples, at, |d| (gap..reach).contains(&d), reach);
    let (Some(left), Some(right)) = (left, right) else {
        return at;
    };
    let near: Vec<&Sample> = samples
        .iter()
        .filter(|s| s.weight > 0.0 && (s.at - at).abs() <= 0.6 * reach)
        .collect();
    let off = |line: &Smoothed, s: &Sample| (s.value - line.value - line.slope * (s.at - at)).abs();
    near.windows(2)
        .map(|pair| 0.5 * (pair[0].at + pair[1].at))
        .map(|place| {
            let sum: f64 = near
                .iter()
                .map(|s| {
                    if s.at < place {
                        off(&left, s)
                    } else {
                        off(&right, s)
                    }
                })
                .sum();
            (sum, place)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(at, |best| best.1)
}

/// Smooths between steps with a bandwidth (the distance at which a sample's weight falls to a third).
/// Gives one value for each of `places`; `None` where no sample is near enough.
#[must_use]
pub fn smooth_between(
    samples: &[Sample],
    steps: &[f64],
    places: &[f64],
    bandwidth: f64,
) -> Vec<Option<Smoothed>> {
    places
        .iter()
        .map(|&at| {
            let k = steps.partition_point(|&s| s <= at);
            let lo = if k > 0 {
                steps[k - 1]
            } else {
                f64::NEG_INFINITY
            };
            let hi = steps.get(k).copied().unwrap_or(f64::INFINITY);
            local_line(samples, at, |d| at + d >= lo && at + d < hi, bandwidth)
        })
        .collect()
}

/// A robust line through the samples about `at` for which `takes(distance)` holds, its value at `at`.
fn local_line(
    samples: &[Sample],
    at: f64,
    takes: impl Fn(f64) -> bool,
    bandwidth: f64,
) -> Option<Smoothed> {
    let from = samples.partition_point(|s| s.at < at - 3.0 * bandwidth);
    let near: Vec<(f64, f64, f64)> = samples[from..]
        .iter()
        .take_while(|s| s.at <= at + 3.0 * bandwidth)
        .filter(|s| s.weight > 0.0 && takes(s.at - at))
        .map(|s| {
            let d = s.at - at;
            (d, s.value, s.weight * (-(d / bandwidth).powi(2)).exp())
        })
        .collect();
    if near.len() < 2 {
        return None;
    }
    let mut line = (0.0, 0.0);
    let mut scatter = f64::INFINITY;
    let mut support = 0.0;
    for _ in 0..5 {
        let mut m = [0.0; 5];
        for &(d, v, w) in &near {
            let w = if scatter.is_finite() {
                w * biweight((v - line.0 - line.1 * d) / scatter.max(1e-9))
            } else {
                w
            };
            m[0] += w;
            m[1] += w * d;
            m[2] += w * d * d;
            m[3] += w * v;
            m[4] += w * d * v;
        }
        if m[0] <= 0.0 {
            return None;
        }
        // A little stiffness keeps the slope quiet where all samples lie on one side.
        let spread = m[2] - m[1] * m[1] / m[0] + 0.02 * m[0] * bandwidth * bandwidth;
        let slope = (m[4] - m[1] * m[3] / m[0]) / spread;
        line = ((m[3] - slope * m[1]) / m[0], slope);
        support = m[0];
        let mut residuals: Vec<f64> = near
            .iter()
            .map(|&(d, v, _)| v - line.0 - line.1 * d)
            .collect();
        scatter = sigma_about_zero(&mut residuals)?;
    }
    Some(Smoothed {
        value: line.0,
        slope: line.1,
        scatter,
        support,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::robust::Draws;

    fn noisy(f: impl Fn(f64) -> f64) -> Vec<Sample> {
        let mut draws = Draws::seeded(7);
        (0..200)
            .map(|i| {
                let at = f64::from(i) * 5.0;
                let noise = (draws.below(2001) as f64 / 1000.0 - 1.0) * 1.2;
                Sample {
                    at,
                    value: f(at) + noise,
                    weight: 1.0,
                }
            })
            .collect()
    }

    #[test]
    fn a_ten_millimetre_step_is_found_and_kept() {
        let f = |s: f64| 30.0 + 0.05 * s + if s > 502.0 { 10.0 } else { 0.0 };
        let samples = noisy(f);
        let steps = find_steps(&samples, 30.0, 4.0);
        assert_eq!(steps.len(), 1, "{steps:?}");
        assert!((steps[0] - 502.0).abs() < 6.0);
        let places: Vec<f64> = (0..190).map(|i| 5.0 * f64::from(i) + 2.5).collect();
        for (at, v) in places
            .iter()
            .zip(smooth_between(&samples, &steps, &places, 25.0))
        {
            if (at - 502.0).abs() > 4.0 {
                assert!((v.unwrap().value - f(*at)).abs() < 1.3, "{at}");
            }
        }
    }

    #[test]
    fn a_smooth_wave_has_no_steps() {
        let samples = noisy(|s| 12.0 * (s / 120.0).sin());
        assert!(find_steps(&samples, 30.0, 4.0).is_empty());
    }
}
