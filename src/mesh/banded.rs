//! Linear systems whose matrix is symmetric and has entries near its diagonal alone.

/// Columns that are taken off the rest in one go: each entry of the rest is then read and written once for
/// all of them.
const TOGETHER: usize = 4;

/// The lower half of a symmetric matrix, column by column from the diagonal down.
#[derive(Debug, Clone)]
pub struct Banded {
    size: usize,
    reach: usize,
    columns: Vec<f64>,
}

impl Banded {
    /// A matrix of zeros with entries no farther than `reach` from the diagonal.
    #[must_use]
    pub fn new(size: usize, reach: usize) -> Self {
        let reach = reach.min(size.saturating_sub(1));
        Self {
            size,
            reach,
            columns: vec![0.0; size * (reach + 1)],
        }
    }

    /// How many entries a column has, those below the last row included.
    fn deep(&self) -> usize {
        self.reach + 1
    }

    /// Adds to an entry; the column is no larger than the row, and within reach of it.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        let at = column * self.deep() + row - column;
        if let Some(entry) = self.columns.get_mut(at) {
            *entry += value;
        }
    }

    /// Keeps one unknown where it is: its row and column are empty but for the diagonal. Its right side is to
    /// be zero.
    pub fn hold(&mut self, held: usize) {
        let deep = self.deep();
        for other in held.saturating_sub(self.reach)..(held + deep).min(self.size) {
            let (row, column) = (held.max(other), held.min(other));
            let at = column * deep + row - column;
            if let Some(entry) = self.columns.get_mut(at).filter(|_| other != held) {
                *entry = 0.0;
            }
        }
        self.add(held, held, f64::MIN_POSITIVE);
    }

    /// What a step gains on the parabola with this matrix whose slope at the start is minus `push`.
    #[must_use]
    pub fn gain(&self, push: &[f64], step: &[f64]) -> f64 {
        let deep = self.deep();
        let mut curved = 0.0;
        for (j, column) in self.columns.chunks_exact(deep).enumerate() {
            let (Some(own), Some(rest)) = (step.get(j), step.get(j + 1..)) else {
                return 0.0;
            };
            let below: f64 = column[1..].iter().zip(rest).map(|(a, x)| a * x).sum();
            curved += own * (0.5 * column[0] * own + below);
        }
        push.iter().zip(step).map(|(p, x)| p * x).sum::<f64>() - curved
    }

    /// The same with every entry of the diagonal larger by a share of itself, and of the mean of all.
    #[must_use]
    pub fn damped(&self, share: f64) -> Self {
        let mut damped = self.clone();
        let deep = self.deep();
        let sum: f64 = self.columns.iter().step_by(deep).sum();
        let mean = sum / self.size.max(1) as f64;
        for entry in damped.columns.iter_mut().step_by(deep) {
            *entry += share * (*entry + 1e-3 * mean) + 1e-12 * mean;
        }
        damped
    }

    /// Solves for one right side by factors after Cholesky. `None` if the matrix is not positive.
    #[must_use]
    pub fn solve(mut self, right: &[f64]) -> Option<Vec<f64>> {
        if right.len() != self.size {
            return None;
        }
        self.factor()?;
        let mut x = right.to_vec();
        let deep = self.deep();
        for (j, column) in self.columns.chunks_exact(deep).enumerate() {
            let below = deep.min(self.size - j);
            let known = x[j] / column[0];
            x[j] = known;
            for (x, entry) in x[j + 1..j + below].iter_mut().zip(&column[1..below]) {
                *x -= entry * known;
            }
        }
        for (j, column) in self.columns.chunks_exact(deep).enumerate().rev() {
            let below = deep.min(self.size - j);
            let dot: f64 = (column[1..below].iter())
                .zip(&x[j + 1..j + below])
                .map(|(p, q)| p * q)
                .sum();
            x[j] = (x[j] - dot) / column[0];
        }
        Some(x)
    }

    /// The factor in place of the matrix: a few columns are done, then taken off all that they reach.
    fn factor(&mut self) -> Option<()> {
        let (deep, size) = (self.deep(), self.size);
        // The columns just done, side by side: all begin at the first one's row and end where the last does.
        let tall = deep + TOGETHER - 1;
        let mut done = [(); TOGETHER].map(|()| vec![0.0; tall]);
        for first in (0..size).step_by(TOGETHER) {
            let count = TOGETHER.min(size - first);
            for (k, own) in done.iter_mut().enumerate() {
                own.fill(0.0);
                if k < count {
                    let from = (first + k) * deep;
                    own[k..k + deep].copy_from_slice(&self.columns[from..from + deep]);
                }
            }
            for k in 0..count {
                let (before, rest) = done.split_at_mut(k);
                let own = &mut rest[0];
                for column in before {
                    let by = column[k];
                    for (a, b) in own[k..].iter_mut().zip(&column[k..]) {
                        *a -= by * b;
                    }
                }
                let left = own[k];
                if !(left > 0.0 && left.is_finite()) {
                    return None;
                }
                let root = left.sqrt();
                own[k] = root;
                let share = 1.0 / root;
                for entry in &mut own[k + 1..] {
                    *entry *= share;
                }
                let from = (first + k) * deep;
                self.columns[from..from + deep].copy_from_slice(&own[k..k + deep]);
            }
            let [a, b, c, d] = &done;
            for k in count..tall.min(size - first) {
                let [p, q, r, s] = [a[k], b[k], c[k], d[k]];
                let from = (first + k) * deep;
                let column = &mut self.columns[from..from + tall - k];
                let sides = a[k..].iter().zip(&b[k..]).zip(c[k..].iter().zip(&d[k..]));
                for (entry, ((a, b), (c, d))) in column.iter_mut().zip(sides) {
                    *entry -= (p * a + q * b) + (r * c + s * d);
                }
            }
        }
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Held against a general solver of another library on a matrix that is surely positive.
    #[test]
    fn it_solves_what_a_general_solver_solves() {
        // Wide and narrow, with and without columns left over from the last few taken together.
        for (size, reach) in [(23, 4), (24, 4), (41, 13), (6, 9), (5, 0), (1, 0)] {
            solve_both_ways(size, reach);
        }
    }

    fn solve_both_ways(size: usize, reach: usize) {
        let reach = reach.min(size - 1);
        let mut banded = Banded::new(size, reach);
        let mut full = nalgebra::DMatrix::<f64>::zeros(size, size);
        for i in 0..size {
            for j in i.saturating_sub(reach)..=i {
                let value = if i == j {
                    4.0 * (reach + 1) as f64 + i as f64
                } else {
                    ((i * 7 + j * 3) % 5) as f64 - 2.0
                };
                banded.add(i, j, value);
                full[(i, j)] = value;
                full[(j, i)] = value;
            }
        }
        let right: Vec<f64> = (0..size).map(|i| (i as f64).sin()).collect();
        let found = banded.solve(&right).unwrap();
        let want = full
            .lu()
            .solve(&nalgebra::DVector::from_vec(right))
            .unwrap();
        for (a, b) in found.iter().zip(want.iter()) {
            assert!((a - b).abs() < 1e-12);
        }
    }

    #[test]
    fn what_is_held_stays() {
        let mut banded = Banded::new(4, 2);
        for i in 0..4 {
            banded.add(i, i, 3.0);
            for j in i.saturating_sub(2)..i {
                banded.add(i, j, -1.0);
            }
        }
        banded.hold(1);
        let found = banded.solve(&[1.0, 0.0, 2.0, 0.5]).unwrap();
        assert_eq!(found[1], 0.0);
        // By hand, without it: 3a - c = 1, -a + 3c - d = 2, -c + 3d = 0.5.
        let [a, c, d] = [found[0], found[2], found[3]];
        for (left, right) in [
            (3.0 * a - c, 1.0),
            (-a + 3.0 * c - d, 2.0),
            (-c + 3.0 * d, 0.5),
        ] {
            assert!((left - right).abs() < 1e-12);
        }
    }

    #[test]
    fn what_is_not_positive_is_refused() {
        assert_eq!(Banded::new(3, 1).solve(&[1.0; 3]), None);
        let mut odd = Banded::new(2, 1);
        odd.add(0, 0, f64::NAN);
        assert_eq!(odd.solve(&[1.0; 2]), None);
        assert_eq!(Banded::new(2, 1).solve(&[1.0]), None);
    }
}
