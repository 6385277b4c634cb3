//! How likely a sum of squares is by chance alone.

/// Share of the chi-square distribution with `degrees` degrees of freedom that lies above `value`, 0 to 1.
///
/// The regularised upper incomplete gamma function, by series below its middle and by Lentz's continued
/// fraction above (Abramowitz and Stegun 6.5.29, 6.5.31; Press et al., Numerical Recipes, 6.2; from
/// memory). Good to 1e-10. Gives 1 for no degrees of freedom or a value that is not positive, 0 for one
/// that is not finite.
#[must_use]
pub fn upper_tail(value: f64, degrees: usize) -> f64 {
    if degrees == 0 || value <= 0.0 {
        return 1.0;
    }
    if !value.is_finite() {
        return 0.0;
    }
    let (a, x) = (0.5 * degrees as f64, 0.5 * value);
    let front = (a * x.ln() - x - ln_gamma_of_half(degrees)).exp();
    let tail = if x < a + 1.0 {
        1.0 - front * series(a, x)
    } else {
        front * fraction(a, x)
    };
    tail.clamp(0.0, 1.0)
}

const MOST_TERMS: usize = 10_000;

fn series(a: f64, x: f64) -> f64 {
    let (mut term, mut sum) = (1.0 / a, 1.0 / a);
    for n in 1..MOST_TERMS {
        term *= x / (a + n as f64);
        sum += term;
        if term < sum * 1e-15 {
            break;
        }
    }
    sum
}

fn fraction(a: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / b;
    let mut h = d;
    for i in 1..MOST_TERMS {
        let an = -(i as f64) * (i as f64 - a);
        b += 2.0;
        let keep = |v: f64| if v.abs() < TINY { TINY } else { v };
        d = 1.0 / keep(an * d + b);
        c = keep(b + an / c);
        h *= d * c;
        if (d * c - 1.0).abs() < 1e-15 {
            break;
        }
    }
    h
}

/// Logarithm of the gamma function at `n / 2`, from its value at one half or one.
fn ln_gamma_of_half(n: usize) -> f64 {
    let (mut at, mut sum) = if n.is_multiple_of(2) {
        (1.0, 0.0)
    } else {
        (0.5, 0.5 * std::f64::consts::PI.ln())
    };
    while at + 0.5 < 0.5 * n as f64 {
        sum += f64::ln(at);
        at += 1.0;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Upper critical values: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4 (from memory).
    #[test]
    fn the_published_critical_values_have_their_shares() {
        for (degrees, share, value) in [
            (1, 0.05, 3.841),
            (2, 0.05, 5.991),
            (5, 0.05, 11.070),
            (8, 0.05, 15.507),
            (10, 0.05, 18.307),
            (10, 0.01, 23.209),
            (30, 0.10, 40.256),
            (100, 0.001, 149.449),
        ] {
            let found = upper_tail(value, degrees);
            assert!((found - share).abs() < 1e-4, "{degrees} {value}: {found}");
        }
    }

    #[test]
    fn two_degrees_are_an_exponential() {
        for value in [0.01, 1.0, 3.9, 4.1, 50.0] {
            assert!((upper_tail(value, 2) - (-0.5 * value).exp()).abs() < 1e-12);
        }
        assert_eq!(upper_tail(1.0, 0), 1.0);
        assert_eq!(upper_tail(f64::INFINITY, 3), 0.0);
        assert_eq!(upper_tail(-1.0, 3), 1.0);
    }
}
