//! Hatching as lines, so that every medium shows the same.

use crate::math::{Point2, Vector2};

/// Lines at 45 degrees inside a closed outline, `spacing` apart: see [`hatch_region`].
#[must_use]
pub fn hatch(outline: &[Point2], spacing: f64) -> Vec<[Point2; 2]> {
    hatch_region(&[outline], spacing)
}

/// Lines at 45 degrees inside closed outlines taken together (even-odd, so that an outline in another is
/// a hole), `spacing` apart, all lines of a drawing in step with each other. ISO 128-3: continuous narrow
/// lines at 45 degrees.
#[must_use]
pub fn hatch_region<L: AsRef<[Point2]>>(outlines: &[L], spacing: f64) -> Vec<[Point2; 2]> {
    let along = Vector2::new(1.0, 1.0).normalize();
    let across = Vector2::new(-along.y, along.x);
    let offset = |p: &Point2| p.coords.dot(&across);
    let offsets = || outlines.iter().flat_map(AsRef::as_ref).map(offset);
    let least = offsets().fold(f64::INFINITY, f64::min);
    let most = offsets().fold(f64::NEG_INFINITY, f64::max);
    let lines = ((most - least) / spacing).ceil();
    if !(lines.is_finite() && lines > 0.0 && lines < 1e5) {
        return Vec::new();
    }
    let first = (least / spacing).ceil() as i64;
    let last = (most / spacing).floor() as i64;
    let mut found = Vec::new();
    for k in first..=last {
        let level = k as f64 * spacing;
        let mut crossings: Vec<f64> = Vec::new();
        for outline in outlines.iter().map(AsRef::as_ref) {
            for (p, q) in outline.iter().zip(outline.iter().cycle().skip(1)) {
                let (a, b) = (offset(p), offset(q));
                if (a <= level) != (b <= level) {
                    let at = p + (q - p) * ((level - a) / (b - a));
                    crossings.push(at.coords.dot(&along));
                }
            }
        }
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            found.push([pair[0], pair[1]].map(|t| Point2::from(along * t + across * level)));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatching_covers_a_square_evenly_and_stays_inside() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];
        let square: Vec<Point2> = square.iter().map(|&(x, y)| Point2::new(x, y)).collect();
        let lines = hatch(&square, 0.1);
        // Length of the lines times their spacing is the area.
        let length: f64 = lines.iter().map(|[a, b]| (b - a).norm()).sum();
        assert!((length * 0.1 - 100.0).abs() < 0.5, "{length}");
        assert!(
            lines
                .iter()
                .flatten()
                .all(|p| p.coords.iter().all(|v| (-1e-9..=10.000_001).contains(v)))
        );
        assert!(hatch(&[], 1.0).is_empty());
        // A square of 4 in it is a hole.
        let hole = square
            .iter()
            .map(|p| Point2::from(p.coords * 0.4 + Vector2::repeat(3.0)));
        let lines = hatch_region(&[square.clone(), hole.collect()], 0.1);
        let length: f64 = lines.iter().map(|[a, b]| (b - a).norm()).sum();
        assert!((length * 0.1 - 84.0).abs() < 0.5, "{length}");
        assert!(hatch(&square, 0.0).is_empty());
    }
}
