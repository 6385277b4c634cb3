//! How a shape stands with one direction up: what touches the bed, whether it is steady, and where it
//! tips to if it is not.

use super::estimate::ON_BED_MM;
use super::turn::{depth_inside, find_hull};
use crate::math::{Point2, Point3, Vector2, Vector3};
use crate::mesh::TriMesh;

/// A face that touches the bed lies within this of level, as the cosine: 15 degrees lets the first
/// layers of a rounded edge not count as a flat.
const LEVEL: f64 = 0.966;
/// Times a shape tips before it is given up.
const MOST_TIPS: usize = 40;
/// What it tips about is no higher than this over the lowest point (mm): rounding to f32.
const PIVOT_MM: f64 = 1e-4;

/// A shape with one direction up.
#[derive(Debug, Clone)]
pub(super) struct Stand {
    pub(super) up: Vector3,
    /// Level axes: with `up` they are right-handed.
    pub(super) axes: [Vector3; 2],
    /// How far the lowest point lies along `up` (mm).
    pub(super) low: f64,
    /// From the lowest point to the highest (mm).
    pub(super) height: f64,
    /// Area of the faces on the bed (mm2).
    pub(super) contact_mm2: f64,
    /// Convex hull of all that touches the bed, along the level axes.
    pub(super) contact: Vec<Point2>,
    /// How far inside of that hull the centre of mass stands (mm), negative outside.
    pub(super) steady_mm: f64,
}

fn level_axes(up: &Vector3) -> [Vector3; 2] {
    let least = (0..3)
        .min_by(|&a, &b| up[a].abs().total_cmp(&up[b].abs()))
        .unwrap_or(0);
    let x = Vector3::ith(least, 1.0).cross(up).normalize();
    [x, up.cross(&x)]
}

/// The part of a triangle no higher than a height, as corners.
fn clip_below(corners: &[(Point3, f64); 3], most: f64) -> Vec<Point3> {
    let mut kept = Vec::with_capacity(4);
    for k in 0..3 {
        let (a, b) = (&corners[k], &corners[(k + 1) % 3]);
        if a.1 <= most {
            kept.push(a.0);
        }
        if (a.1 <= most) != (b.1 <= most) {
            kept.push(a.0 + (b.0 - a.0) * ((most - a.1) / (b.1 - a.1)));
        }
    }
    kept
}

impl Stand {
    /// Stands a closed mesh with its centre of mass at `centre`; `up` is a unit vector.
    pub(super) fn new(mesh: &TriMesh, centre: &Point3, up: Vector3) -> Self {
        let axes = level_axes(&up);
        let flat = |p: &Point3| Point2::new(p.coords.dot(&axes[0]), p.coords.dot(&axes[1]));
        let rises: Vec<f64> = mesh.points.iter().map(|p| p.coords.dot(&up)).collect();
        let (low, high) = (rises.iter()).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &h| {
            (a.min(h), b.max(h))
        });
        let (mut touching, mut contact_mm2) = (Vec::new(), 0.0);
        let most = low + ON_BED_MM;
        for t in &mesh.triangles {
            let corners = t.map(|i| (mesh.points[i as usize], rises[i as usize]));
            if corners.iter().all(|c| c.1 > most) {
                continue;
            }
            let kept = clip_below(&corners, most);
            let normal = (corners[1].0 - corners[0].0).cross(&(corners[2].0 - corners[0].0));
            if -normal.dot(&up) > LEVEL * normal.norm() {
                let fan = kept.windows(2).skip(1);
                contact_mm2 += fan
                    .map(|p| (p[0] - kept[0]).cross(&(p[1] - kept[0])).norm() / 2.0)
                    .sum::<f64>();
            }
            touching.extend(kept.iter().map(flat));
        }
        let contact = find_hull(&touching);
        Self {
            up,
            axes,
            low,
            height: (high - low).max(0.0),
            contact_mm2,
            steady_mm: depth_inside(&contact, flat(centre)),
            contact,
        }
    }

    /// Least width of what stands on the bed (mm).
    pub(super) fn base_mm(&self) -> f64 {
        let hull = &self.contact;
        (0..hull.len())
            .map(|i| {
                let edge = hull[(i + 1) % hull.len()] - hull[i];
                let across = Vector2::new(-edge.y, edge.x) / edge.norm().max(1e-12);
                let reach = hull.iter().map(|p| (p - hull[i]).dot(&across));
                reach.fold(0.0, f64::max)
            })
            .fold(f64::INFINITY, f64::min)
    }

    /// The level direction it tips in, and a point of the bed it tips about; `None` if it is balanced.
    fn tips_to(&self, mesh: &TriMesh, centre: &Point3) -> Option<(Vector3, Point3)> {
        let [x, y] = &self.axes;
        let flat = |p: &Point3| Point2::new(p.coords.dot(x), p.coords.dot(y));
        let c = flat(centre);
        let lowest = (mesh.points.iter())
            .filter(|p| p.coords.dot(&self.up) - self.low <= PIVOT_MM)
            .map(flat);
        let hull = find_hull(&lowest.collect::<Vec<_>>());
        let nearest = (0..hull.len())
            .map(|i| {
                let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
                let edge = b - a;
                let share = (c - a).dot(&edge) / edge.norm_squared().max(1e-18);
                a + edge * share.clamp(0.0, 1.0)
            })
            .min_by(|a, b| (a - c).norm().total_cmp(&(b - c).norm()))?;
        let way = c - nearest;
        let way = if depth_inside(&hull, c) >= 0.0 {
            -way
        } else {
            way
        };
        let way = way.try_normalize(1e-9)?;
        let pivot = Point3::from(x * nearest.x + y * nearest.y + self.up * self.low);
        Some((x * way.x + y * way.y, pivot))
    }

    /// Lets it tip over until it is steady, as it would on a table. `None` if it never comes to rest.
    pub(super) fn settle(mut self, mesh: &TriMesh, centre: &Point3) -> Option<Self> {
        for _ in 0..MOST_TIPS {
            if self.steady_mm > super::STEADY_MM {
                return Some(self);
            }
            let (way, pivot) = self.tips_to(mesh, centre)?;
            // The first point that comes down to the bed on the way.
            let angle = (mesh.points.iter())
                .map(|p| {
                    let d = p - pivot;
                    (d.dot(&way), d.dot(&self.up))
                })
                .filter(|(along, rise)| *along > PIVOT_MM && *rise > PIVOT_MM)
                .map(|(along, rise)| rise.atan2(along))
                .fold(f64::INFINITY, f64::min);
            if !angle.is_finite() {
                return None;
            }
            // What points along `way` goes down by the angle.
            let (sin, cos) = angle.sin_cos();
            let up = (self.up * cos - way * sin).normalize();
            self = Self::new(mesh, centre, up);
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::measure::measure;
    use crate::mesh::samples::block;

    fn stand(mesh: &TriMesh, up: Vector3) -> (Stand, Point3) {
        let centre = measure(mesh).unwrap().centroid;
        (Stand::new(mesh, &centre, up.normalize()), centre)
    }

    #[test]
    fn a_block_stands_on_its_face() {
        let mesh = block(Point3::new(5.0, -3.0, 2.0), Vector3::new(40.0, 20.0, 10.0));
        for (up, [area, height, base]) in [
            (Vector3::z(), [800.0, 10.0, 20.0]),
            (-Vector3::z(), [800.0, 10.0, 20.0]),
            (Vector3::x(), [200.0, 40.0, 10.0]),
            (-Vector3::y(), [400.0, 20.0, 10.0]),
        ] {
            let (made, _) = stand(&mesh, up);
            assert!((made.contact_mm2 - area).abs() < 1e-9, "{made:?}");
            assert!((made.height - height).abs() < 1e-9);
            assert!((made.base_mm() - base).abs() < 1e-9);
            // Half of the base, and a little more: the walls touch for as long as the tolerance is high.
            assert!((made.steady_mm - base / 2.0).abs() < 1e-9);
        }
    }

    /// On its edge, leaned past the diagonal or not, a block falls to the face on that side.
    #[test]
    fn what_leans_tips_over() {
        let mesh = block(Point3::origin(), Vector3::new(40.0, 20.0, 10.0));
        for (lean, want) in [(20.0_f64, Vector3::z()), (80.0, Vector3::x())] {
            let (sin, cos) = lean.to_radians().sin_cos();
            let (made, centre) = stand(&mesh, Vector3::new(sin, 0.0, cos));
            assert!(made.steady_mm < 0.0);
            let rest = made.settle(&mesh, &centre).unwrap();
            assert!((rest.up - want).norm() < 1e-9, "{} {want}", rest.up);
            assert!(rest.steady_mm > 4.0);
        }
        // From a corner as well.
        let (made, centre) = stand(&mesh, Vector3::new(0.1, 0.2, 0.9));
        let rest = made.settle(&mesh, &centre).unwrap();
        assert!((rest.up - Vector3::z()).norm() < 1e-9, "{}", rest.up);
    }
}
