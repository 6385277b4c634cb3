//! Flat plates under an even load, held along all four edges.
//!
//! Edges free to turn: Levy's series. Edges held against turning: Ritz's method with polynomials that keep
//! the edges flat. Both in Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells (2nd ed., 1959),
//! articles 30 and 82, from memory; tables 8 and 35 there are what the tests hold them to. Thin plates,
//! deflections up to half the thickness.

use nalgebra::{DMatrix, DVector};
use std::f64::consts::PI;

/// Poisson's ratio that the tables are for, and about that of printing plastics (from memory).
pub const POISSON: f64 = 0.3;
/// A plate longer than this many times its breadth bends as an endless one, to 1e-5.
const ENDLESS: f64 = 8.0;
/// Terms of the series; the first left out is below 1e-6 of the sum.
const TERMS: u32 = 100;
/// Polynomials each way.
const SHAPES: usize = 6;

/// A plate's worst, for a breadth a (the short side), load q, thickness t.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateBends {
    /// Deflection of the middle, in q a^4 / D, where D = E t^3 / 12 (1 - nu^2).
    pub deflection: f64,
    /// Largest moment for each mm of width, in q a^2: in the middle for edges free to turn, at the middle
    /// of the long edge for edges that are not.
    pub moment: f64,
}

/// Length over breadth as the formulas take it: at least 1, whichever side came first.
fn slender(sides: [f64; 2]) -> f64 {
    let [a, b] = sides.map(f64::abs);
    let ratio = a.max(b) / a.min(b);
    if ratio.is_finite() {
        ratio.clamp(1.0, ENDLESS)
    } else {
        ENDLESS
    }
}

/// Edges free to turn. Sides in any order (mm).
#[must_use]
pub fn supported(sides: [f64; 2]) -> PlateBends {
    let ratio = slender(sides);
    let (mut deflection, mut moment) = (0.0, 0.0);
    for term in 0..TERMS {
        let m = f64::from(2 * term + 1);
        let sign = if term % 2 == 0 { 1.0 } else { -1.0 };
        let half = 0.5 * m * PI * ratio;
        // 1 / cosh, without overflow for a long plate.
        let fades = 2.0 * (-half).exp() / (1.0 + (-2.0 * half).exp());
        let turned = 0.5 * half * half.tanh() * fades;
        deflection += sign / m.powi(5) * (1.0 - turned - fades);
        moment += sign / m.powi(3) * (1.0 - turned - fades + POISSON * turned);
    }
    PlateBends {
        deflection: deflection * 4.0 / PI.powi(5),
        moment: moment * 4.0 / PI.powi(3),
    }
}

/// Edges held against turning. Sides in any order (mm).
#[must_use]
pub fn clamped(sides: [f64; 2]) -> PlateBends {
    // x from -1 to 1 over the breadth, y over the length, which is `ratio` times as long. Long plates are
    // endless to 0.1 % before polynomials over the whole length run out.
    let ratio = slender(sides).min(3.0);
    let [plain, once, twice] = Shape::products();
    let pairs: Vec<(usize, usize)> = (0..SHAPES)
        .flat_map(|i| (0..SHAPES).map(move |j| (i, j)))
        .collect();
    let n = pairs.len();
    let at = |table: &[[f64; SHAPES]; SHAPES], i: usize, k: usize| {
        table
            .get(i)
            .and_then(|row| row.get(k))
            .copied()
            .unwrap_or(0.0)
    };
    // Bending energy of a plate whose edges stay flat: the square of w_xx + w_yy over its area, here in
    // half breadths.
    let pair = |k: usize| pairs.get(k).copied().unwrap_or((0, 0));
    let stiff = DMatrix::from_fn(n, n, |row, column| {
        let ((i, j), (k, l)) = (pair(row), pair(column));
        at(&twice, i, k) * at(&plain, j, l)
            + 2.0 * at(&once, i, k) * at(&once, j, l) / ratio.powi(2)
            + at(&plain, i, k) * at(&twice, j, l) / ratio.powi(4)
    });
    let load = DVector::from_fn(n, |row, _| {
        let (i, j) = pair(row);
        Shape::new(i).area() * Shape::new(j).area()
    });
    let Some(shares) = stiff.lu().solve(&load) else {
        return ENDLESS_CLAMPED;
    };
    let (mut deflection, mut moment) = (0.0, 0.0);
    for (share, &(i, j)) in shares.iter().zip(&pairs) {
        let middle = Shape::new(j).value(0.0);
        deflection += share * Shape::new(i).value(0.0) * middle;
        moment += share * Shape::new(i).bent(1.0) * middle;
    }
    // From half breadths to breadths.
    PlateBends {
        deflection: deflection / 16.0,
        moment: moment.abs() / 4.0,
    }
}

/// An endless strip, held against turning.
const ENDLESS_CLAMPED: PlateBends = PlateBends {
    deflection: 1.0 / 384.0,
    moment: 1.0 / 12.0,
};

/// (1 - x^2)^2 x^(2 i): flat and still at both ends.
#[derive(Debug, Clone, Copy)]
struct Shape {
    /// Its powers of x and their factors.
    terms: [(i32, f64); 3],
}

type Products = [[f64; SHAPES]; SHAPES];

impl Shape {
    fn new(index: usize) -> Self {
        let low = 2 * i32::try_from(index).unwrap_or(0);
        Self {
            terms: [(low, 1.0), (low + 2, -2.0), (low + 4, 1.0)],
        }
    }

    fn value(self, x: f64) -> f64 {
        self.terms.iter().map(|&(p, f)| f * x.powi(p)).sum()
    }

    fn slope(self) -> [(i32, f64); 3] {
        self.terms.map(|(p, f)| (p - 1, f * f64::from(p)))
    }

    fn curve(self) -> [(i32, f64); 3] {
        self.slope().map(|(p, f)| (p - 1, f * f64::from(p)))
    }

    /// Second derivative.
    fn bent(self, x: f64) -> f64 {
        self.curve()
            .iter()
            .filter(|(_, f)| *f != 0.0)
            .map(|&(p, f)| f * x.powi(p))
            .sum()
    }

    /// Its integral from -1 to 1.
    fn area(self) -> f64 {
        self.terms.iter().map(|&(p, f)| over(p, f)).sum()
    }

    /// Integrals of value by value, slope by slope, and bend by bend, over -1 to 1.
    fn products() -> [Products; 3] {
        let table = |of: fn(Self) -> [(i32, f64); 3]| -> Products {
            std::array::from_fn(|i| {
                std::array::from_fn(|k| {
                    let (left, right) = (of(Self::new(i)), of(Self::new(k)));
                    left.iter()
                        .flat_map(|&(p, f)| right.iter().map(move |&(q, g)| over(p + q, f * g)))
                        .sum()
                })
            })
        };
        [table(|s| s.terms), table(Self::slope), table(Self::curve)]
    }
}

/// Integral of `factor` x^`power` from -1 to 1.
fn over(power: i32, factor: f64) -> f64 {
    if factor == 0.0 || power % 2 != 0 {
        0.0
    } else {
        2.0 * factor / f64::from(power + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn within_a_percent(what: &str, got: f64, want: f64) {
        assert!(
            (got / want - 1.0).abs() <= 0.01,
            "{what}: {got} is not {want}"
        );
    }

    #[test]
    fn edges_free_to_turn_bend_as_in_timoshenkos_table_8() {
        // Timoshenko and Woinowsky-Krieger, table 8, nu 0.3 (from memory).
        let rows = [
            (1.0, 0.00406, 0.0479),
            (1.2, 0.00564, 0.0627),
            (1.5, 0.00772, 0.0812),
            (2.0, 0.01013, 0.1017),
            (3.0, 0.01223, 0.1189),
            (1e9, 0.01302, 0.1250),
        ];
        for (ratio, deflection, moment) in rows {
            for sides in [[40.0, 40.0 * ratio], [40.0 * ratio, 40.0]] {
                let got = supported(sides);
                within_a_percent("deflection", got.deflection, deflection);
                within_a_percent("moment", got.moment, moment);
            }
        }
    }

    #[test]
    fn edges_free_to_turn_bend_as_in_roarks_table_11_4() {
        // Roark, table 11.4 case 1a, nu 0.3 (opened): stress beta q b^2 / t^2, deflection alpha q b^4 / E t^3.
        let rows = [
            (1.0, 0.2874, 0.0444),
            (1.2, 0.3762, 0.0616),
            (1.4, 0.4530, 0.0770),
            (1.6, 0.5172, 0.0906),
            (1.8, 0.5688, 0.1017),
            (2.0, 0.6102, 0.1110),
            (3.0, 0.7134, 0.1335),
            (f64::INFINITY, 0.7500, 0.1421),
        ];
        for (ratio, beta, alpha) in rows {
            let got = supported([1.0, ratio]);
            within_a_percent("beta", 6.0 * got.moment, beta);
            let stiffness = 12.0 * (1.0 - POISSON * POISSON);
            within_a_percent("alpha", stiffness * got.deflection, alpha);
        }
    }

    #[test]
    fn edges_held_against_turning_bend_as_in_timoshenkos_table_35() {
        // Timoshenko and Woinowsky-Krieger, table 35, nu 0.3 (from memory).
        let rows = [
            (1.0, 0.00126, 0.0513),
            (1.2, 0.00172, 0.0639),
            (1.5, 0.00220, 0.0757),
            (2.0, 0.00254, 0.0829),
            (1e9, 0.00260, 0.0833),
        ];
        for (ratio, deflection, moment) in rows {
            let got = clamped([25.0, 25.0 * ratio]);
            within_a_percent("deflection", got.deflection, deflection);
            within_a_percent("edge moment", got.moment, moment);
        }
    }

    #[test]
    fn odd_sides_give_numbers() {
        for a in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
            for b in [f64::NAN, 0.0, 2.0] {
                assert!(supported([a, b]).deflection > 0.0 && clamped([a, b]).moment > 0.0);
            }
        }
    }
}
