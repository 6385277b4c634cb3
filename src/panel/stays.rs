//! What is left of a section where something stands, over the cut made for it.

use crate::math::Point2;

/// Area of an outline (mm2) that lies over a cut with these corners, within the offsets `across` and no
/// higher above the tray than `top`. The cut's corners: inner and outer under the tray, outer and inner
/// above; its top runs as the tray does.
pub(super) fn within(outline: &[Point2], cut: &[Point2; 4], across: [f64; 2], top: f64) -> f64 {
    let [under, _, outer, inner] = cut;
    let slope = (outer.y - inner.y) / (outer.x - inner.x);
    let high = inner.y - under.y - super::relief::UNDER_TRAY_MM;
    // Heights over the cut.
    let level = outline
        .iter()
        .map(|p| Point2::new(p.x, p.y - inner.y - slope * (p.x - inner.x)));
    let mut kept: Vec<Point2> = level.collect();
    for (way, most) in [
        (Point2::new(-1.0, 0.0), -across[0]),
        (Point2::new(1.0, 0.0), across[1]),
        (Point2::new(0.0, -1.0), 0.0),
        (Point2::new(0.0, 1.0), top - high),
    ] {
        kept = clip(&kept, way, most);
    }
    let twice: f64 = pairs(&kept).map(|(a, b)| a.coords.perp(&b.coords)).sum();
    0.5 * twice.abs()
}

fn pairs(polygon: &[Point2]) -> impl Iterator<Item = (Point2, Point2)> {
    let next = polygon.iter().cycle().skip(1);
    polygon.iter().zip(next).map(|(a, b)| (*a, *b))
}

/// The part of a polygon no further along `way` than `most` (I. E. Sutherland and G. W. Hodgman, Reentrant
/// polygon clipping, Communications of the ACM 17, 1974).
fn clip(polygon: &[Point2], way: Point2, most: f64) -> Vec<Point2> {
    let past = |p: &Point2| p.coords.dot(&way.coords) - most;
    let mut kept = Vec::with_capacity(polygon.len() + 2);
    for (a, b) in pairs(polygon) {
        let (before, after) = (past(&a), past(&b));
        if before <= 0.0 {
            kept.push(a);
        }
        if (before <= 0.0) != (after <= 0.0) {
            kept.push(a + (b - a) * (before / (before - after)));
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A block 10 mm wide and 30 mm high, cut to 12 mm: of the 20 mm wanted free over half of it 8 mm stay.
    #[test]
    fn what_a_cut_leaves_is_an_area() {
        let rect = |x: [f64; 2], y: [f64; 2]| {
            [
                Point2::new(x[0], y[0]),
                Point2::new(x[1], y[0]),
                Point2::new(x[1], y[1]),
                Point2::new(x[0], y[1]),
            ]
        };
        let under = -super::super::relief::UNDER_TRAY_MM;
        let wall = rect([0.0, 10.0], [0.0, 30.0]);
        let cut = rect([-20.0, 20.0], [under, 12.0]);
        assert!((within(&wall, &cut, [-5.0, 5.0], 20.0) - 40.0).abs() < 1e-9);
        assert!(within(&wall, &cut, [-5.0, 5.0], 12.0).abs() < 1e-9);
        assert!(within(&wall, &cut, [-9.0, 0.0], 20.0).abs() < 1e-9);
    }
}
