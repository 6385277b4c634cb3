//! Sweeps against two other ways: many small steps over all pairs of triangles, with a distance written
//! out here, and the same steps with parry's distance between whole meshes.

use super::samples::{block, octasphere, torus};
use super::sweep::{Motion, Swept, first_touch, mark_near, mark_touching, nearest_on_the_way};
use super::{TriMesh, self_cross};
use crate::math::{Point3, Vector3};
use nalgebra::{Isometry3, Unit};
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::{query, shape};

/// Even draws from 0 to 1 (Knuth's 64-bit linear congruential generator).
struct Draws(u64);

impl Draws {
    fn between(&mut self, from: f64, to: f64) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        from + (to - from) * ((self.0 >> 11) as f64 / (1u64 << 53) as f64)
    }

    fn way(&mut self) -> Vector3 {
        loop {
            let v = Vector3::from_fn(|_, _| self.between(-1.0, 1.0));
            if let Some(v) = v.try_normalize(0.1) {
                return v;
            }
        }
    }

    fn body(&mut self) -> TriMesh {
        let mut mesh = match self.between(0.0, 4.0) as usize {
            0 => octasphere(1),
            1 => block(Point3::new(-0.5, -1.0, -0.2), Vector3::new(1.0, 2.0, 0.4)),
            2 => torus(1.0, 0.3, 9, 6),
            _ => {
                // An open sheet, like a scan.
                let mut sheet = octasphere(1);
                sheet.triangles.truncate(14);
                sheet
            }
        };
        let size = Vector3::from_fn(|_, _| self.between(3.0, 12.0));
        for p in &mut mesh.points {
            *p = p.coords.component_mul(&size).into();
        }
        mesh
    }
}

struct Case {
    moving: TriMesh,
    still: TriMesh,
    motion: Motion,
    /// Most that a point moves (mm).
    travel: f64,
}

/// Bodies that pass each other near by; every third one is aimed to meet the other.
fn case(seed: u64) -> Case {
    let mut draws = Draws(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    for _ in 0..4 {
        draws.between(0.0, 1.0);
    }
    let (mut moving, still) = (draws.body(), draws.body());
    let (way, aside) = (draws.way(), draws.way());
    let off = if seed.is_multiple_of(3) {
        0.0
    } else {
        draws.between(8.0, 16.0)
    };
    let from = -way * 28.0 + way.cross(&aside).normalize() * off;
    for p in &mut moving.points {
        *p += from;
    }
    if seed.is_multiple_of(2) {
        let motion = Motion::Shift(way * 40.0);
        Case {
            moving,
            still,
            motion,
            travel: 40.0,
        }
    } else {
        let axis = Unit::new_normalize(way.cross(&draws.way()));
        let point = Point3::from(axis.cross(&way).normalize() * draws.between(30.0, 60.0));
        let angle = draws.between(0.5, 1.2);
        let arm = moving
            .points
            .iter()
            .map(|p| (p - point).cross(&axis).norm())
            .fold(0.0, f64::max);
        let motion = Motion::Turn { point, axis, angle };
        Case {
            moving,
            still,
            motion,
            travel: arm * angle,
        }
    }
}

impl Case {
    fn ready(&self) -> (Swept, Swept) {
        (
            Swept::new(&self.moving, 4.0).unwrap(),
            Swept::new(&self.still, f64::INFINITY).unwrap(),
        )
    }

    fn swept(&self) -> f64 {
        let (moving, still) = self.ready();
        let start = Isometry3::identity();
        nearest_on_the_way(&moving, &start, &self.motion, &still, 1e3, 0.0)
            .unwrap()
            .distance
    }

    fn poses(&self, step_mm: f64) -> impl Iterator<Item = (f64, Isometry3<f64>)> {
        let count = (self.travel / step_mm).ceil() as usize;
        let motion = self.motion;
        (0..=count).map(move |k| {
            let share = k as f64 / count as f64;
            (share, motion.after(share))
        })
    }
}

/// Distance between segments, by the nearest of inside, ends and crossing (Ericson 2005, 5.1.9).
fn segments(p: [Point3; 2], q: [Point3; 2]) -> f64 {
    let (d, e, r) = (p[1] - p[0], q[1] - q[0], p[0] - q[0]);
    let (a, b, c, f, g) = (d.dot(&d), d.dot(&e), d.dot(&r), e.dot(&e), e.dot(&r));
    let det = a * f - b * b;
    let mut best = f64::INFINITY;
    let mut try_at = |s: f64| {
        let t = ((b * s + g) / f).clamp(0.0, 1.0);
        let s = ((b * t - c) / a).clamp(0.0, 1.0);
        best = best.min((p[0] + d * s - q[0] - e * t).norm());
    };
    if det > 1e-12 {
        try_at(((b * g - c * f) / det).clamp(0.0, 1.0));
    }
    try_at(0.0);
    try_at(1.0);
    best
}

fn above(p: Point3, t: [Point3; 3]) -> Option<f64> {
    let n = (t[1] - t[0]).cross(&(t[2] - t[0])).try_normalize(1e-12)?;
    let inside = (0..3).all(|k| n.cross(&(t[(k + 1) % 3] - t[k])).dot(&(p - t[k])) >= 0.0);
    inside.then(|| (p - t[0]).dot(&n))
}

fn pierces(p: Point3, q: Point3, t: [Point3; 3]) -> bool {
    let n = (t[1] - t[0]).cross(&(t[2] - t[0]));
    let (a, b) = ((p - t[0]).dot(&n), (q - t[0]).dot(&n));
    a * b < 0.0 && above(p + (q - p) * (a / (a - b)), t).is_some()
}

fn triangles(t: [Point3; 3], u: [Point3; 3]) -> f64 {
    let mut best = f64::INFINITY;
    for i in 0..3 {
        for (x, y) in [(t, u), (u, t)] {
            if pierces(x[i], x[(i + 1) % 3], y) {
                return 0.0;
            }
            best = best.min(above(x[i], y).map_or(f64::INFINITY, f64::abs));
        }
        for j in 0..3 {
            best = best.min(segments([t[i], t[(i + 1) % 3]], [u[j], u[(j + 1) % 3]]));
        }
    }
    best
}

/// A triangle in a ball round its middle.
struct Held {
    corners: [Point3; 3],
    middle: Point3,
    far: f64,
}

impl Held {
    fn new(corners: [Point3; 3]) -> Self {
        let middle =
            Point3::from((corners[0].coords + corners[1].coords + corners[2].coords) / 3.0);
        let far = corners.map(|p| (p - middle).norm());
        Self {
            corners,
            middle,
            far: far.into_iter().fold(0.0, f64::max),
        }
    }

    /// The distance, or something no less than `most` if that is less: not worked out where the balls are
    /// as far apart.
    fn nearer(&self, other: &Self, most: f64) -> f64 {
        if (self.middle - other.middle).norm() - self.far - other.far >= most {
            return most;
        }
        triangles(self.corners, other.corners)
    }
}

fn held(mesh: &TriMesh) -> Vec<Held> {
    (0..mesh.triangles.len())
        .map(|t| Held::new(mesh.corners(t)))
        .collect()
}

fn parry(mesh: &TriMesh) -> shape::TriMesh {
    let points = mesh.points.iter().map(|p| Vector::new(p.x, p.y, p.z));
    shape::TriMesh::new(points.collect(), mesh.triangles.clone()).unwrap()
}

fn pose(iso: &Isometry3<f64>) -> Pose {
    let (t, axis) = (iso.translation.vector, iso.rotation.scaled_axis());
    Pose::new(
        Vector::new(t.x, t.y, t.z),
        Vector::new(axis.x, axis.y, axis.z),
    )
}

#[test]
fn sweeps_agree_with_many_small_steps_over_all_pairs() {
    let mut blocked = 0;
    for seed in 1..=20 {
        let case = case(seed);
        let swept = case.swept();
        let mut dense = f64::INFINITY;
        let still = held(&case.still);
        for (_, pose) in case.poses(0.1) {
            let moved: Vec<Point3> = case.moving.points.iter().map(|p| pose * p).collect();
            for t in &case.moving.triangles {
                let t = Held::new(t.map(|i| moved[i as usize]));
                for u in &still {
                    dense = dense.min(t.nearer(u, dense));
                }
            }
        }
        // Steps of 0.1 mm see a pass 0.05 mm too far at most.
        assert!((swept - dense).abs() < 0.12, "seed {seed}: {swept} {dense}");
        blocked += usize::from(swept == 0.0);
        assert_eq!(swept == 0.0, dense == 0.0, "seed {seed}: {swept} {dense}");
    }
    assert!((5..=15).contains(&blocked), "{blocked} cases meet");
}

#[test]
fn sweeps_and_first_touches_agree_with_parry() {
    for seed in 1..=20 {
        let case = case(seed);
        let (still, moving) = (parry(&case.still), parry(&case.moving));
        let mut least = f64::INFINITY;
        let mut first = None;
        for (share, at) in case.poses(0.1) {
            let d = query::distance(&pose(&at), &moving, &Pose::identity(), &still)
                .unwrap()
                .distance;
            least = least.min(d);
            if first.is_none() && d <= 0.5 {
                first = Some(share);
            }
        }
        let swept = case.swept();
        assert!((swept - least).abs() < 0.12, "seed {seed}: {swept} {least}");
        let (a, b) = case.ready();
        let touch = first_touch(&a, &Isometry3::identity(), &case.motion, &b, 0.5);
        match (first, touch) {
            (Some(first), Some(touch)) => {
                let off = (touch.share - first).abs() * case.travel;
                // The moment is where 0.5 mm is passed, at whatever angle: 0.06 mm of distance may be more
                // of travel.
                assert!(off < 0.5, "seed {seed}: {} {first}", touch.share);
                let d = query::distance(
                    &pose(&case.motion.after(touch.share)),
                    &moving,
                    &Pose::identity(),
                    &still,
                );
                let d = d.unwrap().distance;
                assert!((d - 0.5).abs() < 0.1, "seed {seed}: {d}");
            }
            (None, None) => {}
            other => panic!("seed {seed}: {other:?}, least {least}"),
        }
    }
}

#[test]
fn marked_triangles_are_those_that_touch() {
    let mut met = 0;
    for seed in [3, 6, 9, 12] {
        let case = case(seed);
        let (moving, still) = case.ready();
        let mut marked = vec![false; moving.len()];
        let start = Isometry3::identity();
        mark_touching(&moving, &start, &case.motion, &still, 0.0, &mut marked);
        let mut dense = vec![false; moving.len()];
        let all: Vec<Held> = (0..still.len())
            .map(|u| Held::new(still.corners(u)))
            .collect();
        for (_, pose) in case.poses(0.1) {
            for (t, mark) in dense.iter_mut().enumerate().filter(|(_, mark)| !**mark) {
                let t = Held::new(moving.corners(t).map(|p| pose * p));
                *mark = all.iter().any(|u| t.nearer(u, 0.06) <= 0.05);
            }
        }
        let missed = (0..dense.len()).filter(|&t| dense[t] && !marked[t]).count();
        let extra = (0..dense.len()).filter(|&t| !dense[t] && marked[t]).count();
        // Half a step either way: grazes may differ by that and by the 0.06 mm of a turn.
        let grazes = dense.len() / 20;
        assert!(
            missed <= grazes && extra <= grazes,
            "seed {seed}: {missed} {extra}"
        );
        met += usize::from(dense.iter().any(|&d| d));
    }
    assert!(met >= 2, "only {met} of the cases meet");
}

#[test]
fn a_thin_sheet_is_not_stepped_over() {
    let sheet = block(
        Point3::new(-50.0, -50.0, 20.0),
        Vector3::new(100.0, 100.0, 1e-3),
    );
    let dart = block(Point3::new(0.0, 0.0, 0.0), Vector3::new(0.01, 0.01, 0.01));
    let (sheet, dart) = (
        Swept::new(&sheet, 1e9).unwrap(),
        Swept::new(&dart, 5.0).unwrap(),
    );
    let far = Motion::Shift(Vector3::new(0.0, 0.0, 1000.0));
    let start = Isometry3::identity();
    let near = nearest_on_the_way(&dart, &start, &far, &sheet, 5.0, 0.0).unwrap();
    assert_eq!(near.distance, 0.0);
    let touch = first_touch(&dart, &start, &far, &sheet, 0.0).unwrap();
    assert!((touch.share - 0.01999).abs() < 1e-6, "{touch:?}");
    let short = Motion::Shift(Vector3::new(0.0, 0.0, 18.0));
    let near = nearest_on_the_way(&dart, &start, &short, &sheet, 5.0, 0.0).unwrap();
    assert!((near.distance - 1.99).abs() < 1e-6 && (near.share - 1.0).abs() < 1e-6);
    assert!(first_touch(&dart, &start, &short, &sheet, 1.9).is_none());
}

#[test]
fn nothing_and_nonsense_are_refused_or_left_out() {
    assert!(Swept::new(&TriMesh::default(), 5.0).is_none());
    let mut bad = octasphere(0);
    bad.points[0].x = f64::NAN;
    bad.triangles.push([0, 1, 99]);
    let left = Swept::new(&bad, f64::NAN).unwrap();
    assert_eq!(left.len(), 4);
    let near = nearest_on_the_way(
        &left,
        &Isometry3::identity(),
        &Motion::Shift(Vector3::new(f64::NAN, 0.0, 0.0)),
        &left,
        5.0,
        0.0,
    );
    assert!(near.is_none_or(|n| n.distance <= 5.0));
    // The samples are sound themselves.
    assert!(self_cross::find_crossing(&octasphere(1)).is_none());
}

/// Against the dense check of every pair by `Held`.
#[test]
fn what_is_near_at_rest_is_marked_and_what_is_gone_is_neither_marked_nor_met() {
    let mut met = 0;
    for seed in 1..7 {
        let case = case(seed);
        let (moving, still) = case.ready();
        let here = (Isometry3::identity(), Motion::Shift(Vector3::zeros()));
        let rest = nearest_on_the_way(&moving, &here.0, &here.1, &still, 1e3, 0.0);
        let reach = rest.unwrap().distance + 3.0;
        let all: Vec<Held> = (0..still.len())
            .map(|u| Held::new(still.corners(u)))
            .collect();
        let near: Vec<bool> = (0..moving.len())
            .map(|t| {
                let t = Held::new(moving.corners(t));
                all.iter().any(|u| t.nearer(u, 2.0 * reach) <= reach)
            })
            .collect();
        met += near.iter().filter(|near| **near).count();
        let mut marked = vec![false; moving.len()];
        mark_near(&moving, &still, reach, &mut marked);
        assert_eq!(marked, near, "seed {seed}");
        let Some(rest) = moving.without(&marked) else {
            continue;
        };
        let left = nearest_on_the_way(&rest, &here.0, &here.1, &still, 1e3, 0.0).unwrap();
        assert!(left.distance > reach && !near[left.moving], "seed {seed}");
        assert!(first_touch(&rest, &here.0, &here.1, &still, reach).is_none());
        assert!(first_touch(&still, &here.0, &here.1, &rest, reach).is_none());
        let mut again = vec![false; rest.len()];
        mark_near(&rest, &still, reach, &mut again);
        mark_touching(&rest, &here.0, &here.1, &still, reach, &mut again);
        assert!(!again.contains(&true), "seed {seed}");
        assert!(rest.without(&vec![true; near.len()]).is_none());
    }
    assert!(met > 20, "{met}");
}
