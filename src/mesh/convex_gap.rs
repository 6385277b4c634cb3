//! Distance between a triangle that is pushed along a line and one that stands still.
//!
//! The room a pushed triangle passes through is convex, so its distance to another is a problem for the
//! method of Gilbert, Johnson and Keerthi (IEEE J. Robotics and Automation 4, 1988); the closest point of
//! its simplex after Ericson, Real-Time Collision Detection, 2005, chapter 5.

use crate::math::{Point3, Vector3};

/// A triangle pushed from `-push / 2` to `push / 2` of where its corners are given.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pushed {
    pub corners: [Point3; 3],
    pub push: Vector3,
}

impl Pushed {
    /// The triangle as it stands at a share of the way, 0 to 1.
    pub(super) fn at(&self, share: f64) -> Self {
        Self {
            corners: self.corners.map(|p| p + self.push * (share - 0.5)),
            push: Vector3::zeros(),
        }
    }

    /// The triangle on its way up to a share of it, 0 to 1.
    pub(super) fn until(&self, share: f64) -> Self {
        Self {
            corners: self.corners.map(|p| p + self.push * (0.5 * share - 0.5)),
            push: self.push * share,
        }
    }

    /// The corner of `still - room passed through` that lies furthest against `way`.
    fn support(&self, still: &[Point3; 3], way: &Vector3) -> Vector3 {
        let along = |p: &Point3| p.coords.dot(way);
        let pick = |points: &[Point3; 3], sign: f64| {
            let [a, b, c] = points;
            let (mut best, mut value) = (a, sign * along(a));
            for p in [b, c] {
                let v = sign * along(p);
                if v < value {
                    (best, value) = (p, v);
                }
            }
            *best
        };
        let half = self.push * 0.5;
        let end = if half.dot(way) > 0.0 { half } else { -half };
        pick(still, 1.0) - pick(&self.corners, -1.0) - end
    }
}

/// Iterations after which the distance found so far is taken: far more than two triangles need.
const MOST_ROUNDS: usize = 64;
/// The distance is exact to this share of itself.
const SHARE_EPSILON: f64 = 1e-7;
/// Nearer than this counts as touching (mm).
const TOUCH_EPSILON: f64 = 1e-9;

/// Distance between what `pushed` passes through and `still`: zero where they meet. `None` where it is
/// surely more than `within`; what is given may be more as well. Stops early once it is under `enough`.
pub(super) fn gap(pushed: &Pushed, still: &[Point3; 3], within: f64, enough: f64) -> Option<f64> {
    let mut x = still[0] - pushed.corners[0];
    let mut simplex = Simplex {
        points: [x; 4],
        count: 0,
    };
    let mut length = x.norm();
    for _ in 0..MOST_ROUNDS {
        if length <= TOUCH_EPSILON {
            return Some(0.0);
        }
        let w = pushed.support(still, &x);
        let low = w.dot(&x) / length;
        if low > within {
            return None;
        }
        if length - low <= SHARE_EPSILON * length || simplex.holds(&w) {
            break;
        }
        if length <= enough && simplex.count > 0 {
            break;
        }
        simplex.add(w);
        let Some(next) = simplex.closest() else {
            return Some(0.0);
        };
        let shorter = next.norm();
        if shorter >= length && simplex.count > 1 {
            break;
        }
        x = next;
        length = shorter;
    }
    Some(length)
}

/// Up to four points.
struct Simplex {
    points: [Vector3; 4],
    count: usize,
}

impl Simplex {
    fn holds(&self, w: &Vector3) -> bool {
        self.points.iter().take(self.count).any(|p| p == w)
    }

    fn add(&mut self, w: Vector3) {
        if let Some(slot) = self.points.get_mut(self.count) {
            *slot = w;
            self.count += 1;
        }
    }

    fn keep(&mut self, points: &[Vector3]) {
        for (slot, p) in self.points.iter_mut().zip(points) {
            *slot = *p;
        }
        self.count = points.len();
    }

    /// The point closest to the origin, the simplex cut down to what carries it; `None` where the origin
    /// lies inside.
    fn closest(&mut self) -> Option<Vector3> {
        let [a, b, c, d] = self.points;
        match self.count {
            0 | 1 => Some(a),
            2 => {
                let (x, kept, n) = on_segment(a, b);
                self.keep(&kept[..n]);
                Some(x)
            }
            3 => {
                let (x, kept, n) = on_triangle(a, b, c);
                self.keep(&kept[..n]);
                Some(x)
            }
            _ => {
                let mut best: Option<(f64, Vector3, [Vector3; 3], usize)> = None;
                for (p, q, r, s) in [(a, b, c, d), (a, c, d, b), (a, d, b, c), (b, d, c, a)] {
                    if inside_of(p, q, r, s) {
                        continue;
                    }
                    let (x, kept, n) = on_triangle(p, q, r);
                    let length = x.norm_squared();
                    if best.as_ref().is_none_or(|found| length < found.0) {
                        best = Some((length, x, kept, n));
                    }
                }
                let (_, x, kept, n) = best?;
                self.keep(&kept[..n]);
                Some(x)
            }
        }
    }
}

/// Whether the origin lies on the same side of a face as the fourth corner; not so for a flat simplex.
fn inside_of(p: Vector3, q: Vector3, r: Vector3, fourth: Vector3) -> bool {
    let normal = (q - p).cross(&(r - p));
    let (origin, corner) = (-p.dot(&normal), (fourth - p).dot(&normal));
    let flat = 1e-12 * normal.norm() * (fourth - p).norm();
    corner.abs() > flat && origin * corner > 0.0
}

type Carried = (Vector3, [Vector3; 3], usize);

fn on_segment(a: Vector3, b: Vector3) -> Carried {
    let ab = b - a;
    let t = -a.dot(&ab);
    let length = ab.norm_squared();
    if t <= 0.0 || length <= 0.0 {
        (a, [a; 3], 1)
    } else if t >= length {
        (b, [b; 3], 1)
    } else {
        (a + ab * (t / length), [a, b, b], 2)
    }
}

fn on_triangle(a: Vector3, b: Vector3, c: Vector3) -> Carried {
    let (ab, ac) = (b - a, c - a);
    let (d1, d2) = (-ab.dot(&a), -ac.dot(&a));
    if d1 <= 0.0 && d2 <= 0.0 {
        return (a, [a; 3], 1);
    }
    let (d3, d4) = (-ab.dot(&b), -ac.dot(&b));
    if d3 >= 0.0 && d4 <= d3 {
        return (b, [b; 3], 1);
    }
    let (d5, d6) = (-ab.dot(&c), -ac.dot(&c));
    if d6 >= 0.0 && d5 <= d6 {
        return (c, [c; 3], 1);
    }
    let (va, vb, vc) = (d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2);
    if va <= 0.0 || vb <= 0.0 || vc <= 0.0 {
        // On an edge, or a triangle without area: the nearest of its edges.
        let edges = [on_segment(a, b), on_segment(b, c), on_segment(c, a)];
        return edges
            .into_iter()
            .min_by(|p, q| p.0.norm_squared().total_cmp(&q.0.norm_squared()))
            .unwrap_or((a, [a; 3], 1));
    }
    let whole = va + vb + vc;
    (a + ab * (vb / whole) + ac * (vc / whole), [a, b, c], 3)
}
