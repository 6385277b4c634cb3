//! The spine: the fair curve on the tray that everything is built along.

use super::bspline::CubicSpline;
use super::{Point2, Point3, Vector2, Vector3};

/// A fair curve in the shop frame, parametrised by arc length `s` in plan (mm), running to the maker's
/// right. Its frames keep z up: a station plane is vertical and square to the curve in plan.
///
/// Lengths agree with the arc length in plan to 1e-3 mm for spans bent no tighter than 10 mm.
#[derive(Debug, Clone)]
pub struct Spine {
    curve: CubicSpline<3>,
    /// Arc length at evenly spaced parameters.
    lengths: Vec<f64>,
}

/// Axes of one station plane: `x` outward across the gap, `z` up.
#[derive(Debug, Clone, Copy)]
pub struct StationFrame {
    /// Point of the spine (on the tray).
    pub origin: Point3,
    /// Unit, level, to the maker's right.
    pub along: Vector3,
    /// Unit, level, outward.
    pub outward: Vector3,
}

impl StationFrame {
    /// Takes station coordinates to the shop frame: `x` mm outward of the spine, `z` mm above the shop
    /// plane (not above the spine).
    #[must_use]
    pub fn to_shop(&self, section: Point2) -> Point3 {
        let p = self.origin + self.outward * section.x;
        Point3::new(p.x, p.y, section.y)
    }

    /// Takes a point of the shop frame to `(x, z)` in this station plane, dropping what lies along it.
    #[must_use]
    pub fn to_section(&self, point: Point3) -> Point2 {
        Point2::new((point - self.origin).dot(&self.outward), point.z)
    }
}

/// Samples a span of the curve gets in the arc-length table.
const SAMPLES_PER_SPAN: usize = 16;

impl Spine {
    /// Fits a spine through ordered points (mm), one knot span for each `span_mm` of their chord length.
    /// `stiffness` is the smoothing of [`CubicSpline::fit`]; zero follows the points.
    ///
    /// Gives `None` with fewer than two distinct points.
    #[must_use]
    pub fn fit(points: &[Point3], weights: &[f64], span_mm: f64, stiffness: f64) -> Option<Self> {
        let mut chord = vec![0.0];
        for pair in points.windows(2) {
            let last = chord[chord.len() - 1];
            chord.push(last + (pair[1].xy() - pair[0].xy()).norm());
        }
        let total = *chord.last()?;
        if points.len() < 2 || total.is_nan() || total <= 0.0 || span_mm <= 0.0 {
            return None;
        }
        let params: Vec<f64> = chord.iter().map(|c| c / total).collect();
        let values: Vec<[f64; 3]> = points.iter().map(|p| [p.x, p.y, p.z]).collect();
        let spans = ((total / span_mm).ceil() as usize).clamp(1, 600);
        let curve = CubicSpline::fit(&params, &values, weights, spans, stiffness)?;
        let samples = spans * SAMPLES_PER_SPAN;
        let mut lengths = vec![0.0];
        // Gauss-Legendre on two points a sample: exact for cubic speed, so the table is far below 1e-3.
        let offset = 0.5 / 3f64.sqrt();
        for i in 0..samples {
            let speed = |u: f64| {
                let d = curve.at((i as f64 + u) / samples as f64).first;
                d[0].hypot(d[1])
            };
            let step = 0.5 * (speed(0.5 - offset) + speed(0.5 + offset)) / samples as f64;
            let last = lengths[i];
            lengths.push(last + step);
        }
        Some(Self { curve, lengths })
    }

    /// The same curve, every length times `factor` about the origin.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            curve: self.curve.scaled(factor),
            lengths: self.lengths.iter().map(|l| l * factor).collect(),
        }
    }

    /// The mirror image in the plane y = 0, run the other way, so that outward stays outward and arc length
    /// `s` becomes the whole length less `s`.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let whole = self.length();
        Self {
            curve: self.curve.reversed([1.0, -1.0, 1.0]),
            lengths: self.lengths.iter().rev().map(|l| whole - l).collect(),
        }
    }

    /// Arc length in plan from end to end (mm).
    #[must_use]
    pub fn length(&self) -> f64 {
        self.lengths.last().copied().unwrap_or(0.0)
    }

    /// Parameter of an arc length, held to the curve.
    fn parameter(&self, s: f64) -> f64 {
        let n = self.lengths.len() - 1;
        let s = s.clamp(0.0, self.length());
        let k = self.lengths.partition_point(|&l| l <= s).clamp(1, n);
        let (a, b) = (self.lengths[k - 1], self.lengths[k]);
        let share = if b > a { (s - a) / (b - a) } else { 0.0 };
        (k as f64 - 1.0 + share) / n as f64
    }

    /// Axes of the station plane at arc length `s` (mm). Past either end the curve goes on straight.
    #[must_use]
    pub fn frame_at(&self, s: f64) -> StationFrame {
        let jet = self.curve.at(self.parameter(s));
        let plan = Vector2::new(jet.first[0], jet.first[1]);
        let along = plan.try_normalize(1e-12).unwrap_or_else(Vector2::y);
        let beyond = s - s.clamp(0.0, self.length());
        let speed = plan.norm().max(1e-12);
        let along3 = Vector3::new(along.x, along.y, 0.0);
        let mut origin = Point3::new(jet.value[0], jet.value[1], jet.value[2]) + along3 * beyond;
        origin.z += jet.first[2] / speed * beyond;
        StationFrame {
            origin,
            along: along3,
            outward: Vector3::new(along.y, -along.x, 0.0),
        }
    }

    /// The outward axis alone of [`Self::frame_at`], at a third of the work.
    #[must_use]
    pub fn outward_at(&self, s: f64) -> Vector3 {
        let first = self.curve.first_at(self.parameter(s));
        let along = Vector2::new(first[0], first[1])
            .try_normalize(1e-12)
            .unwrap_or_else(Vector2::y);
        Vector3::new(along.y, -along.x, 0.0)
    }

    /// Curvature in plan at arc length `s` (1/mm), positive where the centre lies inboard.
    #[must_use]
    pub fn curvature_at(&self, s: f64) -> f64 {
        let jet = self.curve.at(self.parameter(s));
        let (d, c) = (jet.first, jet.second);
        let speed = d[0].hypot(d[1]).max(1e-12);
        (d[0] * c[1] - d[1] * c[0]) / speed.powi(3)
    }

    /// Arc length and outward offset of a point in plan (mm), from the nearest of the sampled points
    /// and refined. A point past an end gets an arc length past that end.
    #[must_use]
    pub fn locate(&self, plan: Point2) -> (f64, f64) {
        let n = self.lengths.len() - 1;
        let mut best = (f64::INFINITY, 0);
        for i in 0..=n {
            let p = self.curve.at(i as f64 / n as f64).value;
            let d = (p[0] - plan.x).powi(2) + (p[1] - plan.y).powi(2);
            if d < best.0 {
                best = (d, i);
            }
        }
        let mut s = self.lengths[best.1];
        for _ in 0..8 {
            let frame = self.frame_at(s);
            let d = Vector3::new(plan.x - frame.origin.x, plan.y - frame.origin.y, 0.0);
            let kappa = self.curvature_at(s);
            // Newton step of the foot point; the factor is how arc length shrinks off the curve.
            let step = d.dot(&frame.along) / (1.0 + kappa * d.dot(&frame.outward)).max(0.2);
            s += step;
            if step.abs() < 1e-9 {
                break;
            }
        }
        let frame = self.frame_at(s);
        let d = Vector3::new(plan.x - frame.origin.x, plan.y - frame.origin.y, 0.0);
        (s, d.dot(&frame.outward))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quarter of a circle of radius 400, bulging outward.
    fn arc() -> Spine {
        let points: Vec<Point3> = (0..=90)
            .map(|d| {
                let a = (f64::from(d) - 45.0).to_radians();
                Point3::new(400.0 * a.cos(), 400.0 * a.sin(), 5.0)
            })
            .collect();
        Spine::fit(&points, &vec![1.0; points.len()], 20.0, 0.0).unwrap()
    }

    #[test]
    fn a_circle_has_its_length_curvature_and_outward_side() {
        let spine = arc();
        assert!((spine.length() - 400.0 * std::f64::consts::FRAC_PI_2).abs() < 0.02);
        let mid = spine.length() / 2.0;
        assert!((spine.curvature_at(mid) - 1.0 / 400.0).abs() < 1e-5);
        let frame = spine.frame_at(mid);
        assert!((frame.outward - Vector3::x()).norm() < 1e-3);
        assert!((frame.along - Vector3::y()).norm() < 1e-3);
    }

    #[test]
    fn a_mirror_image_keeps_outward_and_turns_the_run() {
        let points: Vec<Point3> = (0..=60)
            .map(|i| {
                let t = f64::from(i) * 10.0;
                Point3::new(40.0 * (t / 150.0).sin(), t, 2.0 + 0.01 * t)
            })
            .collect();
        let spine = Spine::fit(&points, &[1.0; 61], 20.0, 0.0).unwrap();
        let image = spine.mirrored();
        assert!((image.length() - spine.length()).abs() < 1e-9);
        for s in [0.0, 123.0, 400.0, spine.length(), spine.length() + 20.0] {
            let (a, b) = (spine.frame_at(s), image.frame_at(spine.length() - s));
            let flip = |v: Vector3| Vector3::new(v.x, -v.y, v.z);
            assert!((flip(a.origin.coords) - b.origin.coords).norm() < 1e-6);
            assert!((flip(a.outward) - b.outward).norm() < 1e-6);
            assert!((flip(a.along) + b.along).norm() < 1e-6);
            let (k, m) = (
                spine.curvature_at(s),
                image.curvature_at(spine.length() - s),
            );
            assert!((k - m).abs() < 1e-6, "{k} {m}");
        }
    }

    #[test]
    fn locating_undoes_the_frames() {
        let spine = arc();
        for (s, x) in [(10.0, 20.0), (300.0, -35.0), (620.0, 4.0), (-15.0, 3.0)] {
            let p = spine.frame_at(s).to_shop(Point2::new(x, 0.0));
            let (s2, x2) = spine.locate(p.xy());
            assert!(
                (s - s2).abs() < 1e-4 && (x - x2).abs() < 1e-4,
                "{s} {x}: {s2} {x2}"
            );
        }
    }
}
