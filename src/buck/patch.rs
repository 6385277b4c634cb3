//! What one piece of cloth is to cover: from station to station, and from one height of the surface to
//! another.

use super::covered::Covered;
use crate::math::Point2;

/// Stations that a height is looked at in, evenly spread.
const LOOKS: usize = 25;
/// A seam along the surface that comes so near a corner of the section goes into it (mm).
const INTO_CORNER_MM: f64 = 3.0;

/// A part of the covered surface. Heights count the corners of a row from the lowest, with shares between: 2.5
/// is half way from the third to the fourth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// From and to (arc length, mm).
    pub along: [f64; 2],
    /// From and to (heights).
    pub up: [f64; 2],
}

impl Patch {
    /// The whole of a surface.
    pub fn whole(covered: &Covered) -> Self {
        Self {
            along: covered.ends(),
            up: [0.0, covered.corners().saturating_sub(1) as f64],
        }
    }

    fn rows(&self, covered: &Covered) -> Vec<Vec<Point2>> {
        let [from, to] = self.along;
        Covered::places(from, to, (to - from) / LOOKS as f64)
            .into_iter()
            .map(|s| covered.flat_row(s))
            .collect()
    }

    /// How high it is up the surface on average (mm).
    pub fn height(&self, covered: &Covered) -> f64 {
        let rows = self.rows(covered);
        let sum: f64 = rows.iter().map(|row| run(row, self.up)).sum();
        sum / rows.len().max(1) as f64
    }

    /// The height that halves it on average, moved up by so much (mm).
    pub fn middle(&self, covered: &Covered, moved: f64) -> f64 {
        let rows = self.rows(covered);
        let count = rows.len().max(1) as f64;
        let mean = |up: [f64; 2]| rows.iter().map(|row| run(row, up)).sum::<f64>() / count;
        let [low, high] = self.up;
        let want = 0.5 * mean(self.up) + moved;
        let found = bisect([low, high], |t| mean([low, t]) < want);
        let corner = found.round();
        let near = mean([found.min(corner), found.max(corner)]) < INTO_CORNER_MM;
        if near && low < corner && corner < high {
            corner
        } else {
            found
        }
    }

    /// The height that lies at least so far (mm) under a seam at `seam`, at every station; no lower than the
    /// surface.
    pub fn under(&self, covered: &Covered, seam: f64, by: f64) -> f64 {
        (self.rows(covered).iter())
            .map(|row| bisect([0.0, seam], |t| run(row, [t, seam]) > by))
            .fold(seam, f64::min)
    }
}

/// Where a condition that holds at first ceases to.
fn bisect([mut low, mut high]: [f64; 2], holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if holds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The point of a row at a height.
pub fn at_height(row: &[Point2], t: f64) -> Option<Point2> {
    let last = row.len().checked_sub(1)?;
    let k = (t.max(0.0).floor() as usize).min(last);
    let next = row.get((k + 1).min(last))?;
    let p = row.get(k)?;
    Some(p + (next - p) * (t - k as f64).clamp(0.0, 1.0))
}

/// The corners of a row between two heights, both of them among those given.
pub fn heights_between([from, to]: [f64; 2]) -> Vec<f64> {
    let mut all = vec![from];
    let corners = (from.floor() as i64 + 1..to.ceil() as i64).map(|k| k as f64);
    all.extend(corners.filter(|t| t - from > 1e-6 && to - t > 1e-6));
    all.push(to);
    all
}

/// Way up a row between two heights (mm).
fn run(row: &[Point2], up: [f64; 2]) -> f64 {
    let points: Vec<Point2> = (heights_between(up).into_iter())
        .filter_map(|t| at_height(row, t))
        .collect();
    points.windows(2).map(|e| (e[1] - e[0]).norm()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An L of 30 and 60 mm.
    fn row() -> Vec<Point2> {
        vec![
            Point2::new(0.0, 0.0),
            Point2::new(0.0, 30.0),
            Point2::new(60.0, 30.0),
        ]
    }

    #[test]
    fn heights_run_round_the_corners() {
        assert_eq!(heights_between([0.5, 2.0]), [0.5, 1.0, 2.0]);
        assert_eq!(heights_between([1.0, 1.5]), [1.0, 1.5]);
        assert_eq!(at_height(&row(), 1.25), Some(Point2::new(15.0, 30.0)));
        assert_eq!(at_height(&row(), 2.0), Some(Point2::new(60.0, 30.0)));
        assert_eq!(at_height(&[], 0.0), None);
        // By hand: 15 mm of the upright and 15 mm of the level.
        assert!((run(&row(), [0.5, 1.25]) - 30.0).abs() < 1e-9);
    }
}
