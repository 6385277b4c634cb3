//! Linear systems whose matrix is symmetric and has entries near its diagonal alone.

/// The lower half of a symmetric matrix, row by row: each row's diagonal comes last.
#[derive(Debug, Clone)]
pub struct Banded {
    size: usize,
    reach: usize,
    rows: Vec<f64>,
}

impl Banded {
    /// A matrix of zeros with entries no farther than `reach` from the diagonal.
    #[must_use]
    pub fn new(size: usize, reach: usize) -> Self {
        let reach = reach.min(size.saturating_sub(1));
        Self {
            size,
            reach,
            rows: vec![0.0; size * (reach + 1)],
        }
    }

    fn place(&self, row: usize, column: usize) -> usize {
        row * (self.reach + 1) + column + self.reach - row
    }

    /// Adds to an entry; the column is no larger than the row, and within reach of it.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        let at = self.place(row, column);
        if let Some(entry) = self.rows.get_mut(at) {
            *entry += value;
        }
    }

    /// Keeps one unknown where it is: its row and column are empty but for the diagonal. Its right side is to
    /// be zero.
    pub fn hold(&mut self, held: usize) {
        for other in held.saturating_sub(self.reach)..(held + self.reach + 1).min(self.size) {
            let at = self.place(held.max(other), held.min(other));
            if let Some(entry) = self.rows.get_mut(at).filter(|_| other != held) {
                *entry = 0.0;
            }
        }
        self.add(held, held, f64::MIN_POSITIVE);
    }

    /// The same with every entry of the diagonal larger by a share of itself, and of the mean of all.
    #[must_use]
    pub fn damped(&self, share: f64) -> Self {
        let mut damped = self.clone();
        let diagonal = |i: usize| i * (self.reach + 1) + self.reach;
        let sum: f64 = (0..self.size).map(|i| self.rows[diagonal(i)]).sum();
        let mean = sum / self.size.max(1) as f64;
        for i in 0..self.size {
            let entry = &mut damped.rows[diagonal(i)];
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
        let wide = self.reach + 1;
        for i in 0..self.size {
            let from = i.saturating_sub(self.reach);
            for j in from..=i {
                let inner = from.max(j.saturating_sub(self.reach));
                let (a, b) = (self.place(i, inner), self.place(j, inner));
                let count = j - inner;
                let dot: f64 = (self.rows[a..a + count].iter())
                    .zip(&self.rows[b..b + count])
                    .map(|(p, q)| p * q)
                    .sum();
                let at = self.place(i, j);
                let left = self.rows[at] - dot;
                self.rows[at] = if i == j {
                    if !(left > 0.0 && left.is_finite()) {
                        return None;
                    }
                    left.sqrt()
                } else {
                    left / self.rows[j * wide + self.reach]
                };
            }
        }
        let mut x = right.to_vec();
        for i in 0..self.size {
            let from = i.saturating_sub(self.reach);
            let at = self.place(i, from);
            let dot: f64 = (self.rows[at..at + i - from].iter())
                .zip(&x[from..i])
                .map(|(p, q)| p * q)
                .sum();
            x[i] = (x[i] - dot) / self.rows[i * wide + self.reach];
        }
        for i in (0..self.size).rev() {
            let from = i.saturating_sub(self.reach);
            x[i] /= self.rows[i * wide + self.reach];
            let at = self.place(i, from);
            let known = x[i];
            for (k, entry) in self.rows[at..at + i - from].iter().enumerate() {
                x[from + k] -= entry * known;
            }
        }
        Some(x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Held against a general solver of another library on a matrix that is surely positive.
    #[test]
    fn it_solves_what_a_general_solver_solves() {
        let (size, reach) = (23, 4);
        let mut banded = Banded::new(size, reach);
        let mut full = nalgebra::DMatrix::<f64>::zeros(size, size);
        for i in 0..size {
            for j in i.saturating_sub(reach)..=i {
                let value = if i == j {
                    9.0 + i as f64
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
