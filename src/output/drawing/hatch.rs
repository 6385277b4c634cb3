//! Hatching as lines, so that every medium shows the same.

use crate::math::{Point2, Vector2};

/// Lines at 45 degrees inside a closed outline (even-odd), `spacing` apart, all lines of a drawing in
/// step with each other. ISO 128-3: continuous narrow lines at 45 degrees.
#[must_use]
pub fn hatch(outline: &[Point2], spacing: f64) -> Vec<[Point2; 2]> {
    let along = Vector2::new(1.0, 1.0).normalize();
    let across = Vector2::new(-along.y, along.x);
    let offsets: Vec<f64> = outline.iter().map(|p| p.coords.dot(&across)).collect();
    let least = offsets.iter().copied().fold(f64::INFINITY, f64::min);
    let most = offsets.iter().copied().fold(f64::NEG_INFINITY, f64::max);
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
        for i in 0..outline.len() {
            let j = (i + 1) % outline.len();
            let (a, b) = (offsets[i], offsets[j]);
            if (a <= level) != (b <= level) {
                let p = outline[i] + (outline[j] - outline[i]) * ((level - a) / (b - a));
                crossings.push(p.coords.dot(&along));
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
        assert!(hatch(&square, 0.0).is_empty());
    }
}
