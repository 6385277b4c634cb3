//! How near does one mesh come to another while it moves?
//!
//! A straight shift is not cut into steps: the room that a triangle passes through is convex, and its
//! distance is found as such. A turn is cut into steps so short that every triangle moves almost straight
//! in each. So nothing is stepped over.

use super::TriMesh;
use super::box_tree::{Box3, BoxTree};
use super::convex_gap::{Pushed, gap};
use crate::math::{Point3, Vector3};
use nalgebra::{Isometry3, Matrix3, Translation3, Unit, UnitQuaternion};
use rayon::prelude::*;
use std::sync::Arc;

/// How far a point of a triangle may stray from the straight line it is taken to move along in a step of
/// a turn (mm).
const STRAY_MM: f64 = 0.06;

/// A mesh made ready to be swept, or to be swept past. A clone shares it.
#[derive(Clone)]
pub struct Swept {
    shape: Arc<Shape>,
    /// Triangles that are left out; none where it is empty.
    gone: Vec<bool>,
}

struct Shape {
    mesh: TriMesh,
    tree: BoxTree,
    /// Largest distance of a corner from the centre of its triangle.
    radius: f64,
    /// Largest distance of a corner from the middle of the mesh, and that middle.
    span: (Point3, f64),
}

/// One move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Motion {
    /// Along a straight line.
    Shift(Vector3),
    /// About an axis.
    Turn {
        /// A point of the axis.
        point: Point3,
        /// Its direction; the turn is right-handed about it.
        axis: Unit<Vector3>,
        /// How far (rad).
        angle: f64,
    },
}

/// Where two meshes are near each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    /// Distance; zero where they meet.
    pub distance: f64,
    /// When, as a share of the move.
    pub share: f64,
    /// Triangle of the moving mesh.
    pub moving: usize,
    /// Triangle of the still mesh.
    pub still: usize,
    /// A point of the still triangle near the place.
    pub at: Point3,
}

impl Motion {
    /// What it does when this share of it is done.
    #[must_use]
    pub fn after(&self, share: f64) -> Isometry3<f64> {
        match *self {
            Self::Shift(by) => {
                Isometry3::from_parts(Translation3::from(by * share), UnitQuaternion::identity())
            }
            Self::Turn { point, axis, angle } => {
                let turn = UnitQuaternion::from_axis_angle(&axis, angle * share);
                let home = Translation3::from(point.coords);
                Isometry3::from_parts(home, UnitQuaternion::identity()) * turn * home.inverse()
            }
        }
    }
}

impl Swept {
    /// Makes a mesh ready, its triangles cut so that no edge is longer than `longest`. Triangles with
    /// corners that are not there or not finite are left out. `None` if nothing is left.
    #[must_use]
    pub fn new(mesh: &TriMesh, longest: f64) -> Option<Self> {
        let corners: Vec<[Point3; 3]> = mesh
            .triangles
            .par_iter()
            .filter_map(|t| match t.map(|i| mesh.points.get(i as usize).copied()) {
                [Some(a), Some(b), Some(c)] => Some([a, b, c]),
                _ => None,
            })
            .filter(|t| t.iter().all(|p| p.iter().all(|v| v.is_finite())))
            .flat_map_iter(|t| cut(t, longest))
            .collect();
        let cut = TriMesh {
            points: corners.as_flattened().to_vec(),
            triangles: (0..corners.len() as u32)
                .map(|t| [3 * t, 3 * t + 1, 3 * t + 2])
                .collect(),
        };
        let (lo, hi) = cut.bounds()?;
        let middle = nalgebra::center(&lo, &hi);
        let radius = corners.par_iter().map(radius_of).reduce(|| 0.0, f64::max);
        let shape = Shape {
            tree: BoxTree::new(&cut),
            radius,
            span: (middle, (hi - middle).norm()),
            mesh: cut,
        };
        Some(Self {
            shape: Arc::new(shape),
            gone: Vec::new(),
        })
    }

    /// The same without the triangles marked. `None` if nothing is left.
    #[must_use]
    pub fn without(mut self, marked: &[bool]) -> Option<Self> {
        self.gone.resize(self.len(), false);
        for (gone, marked) in self.gone.iter_mut().zip(marked) {
            *gone |= *marked;
        }
        self.gone.contains(&false).then_some(self)
    }

    fn is_gone(&self, triangle: usize) -> bool {
        self.gone.get(triangle).copied().unwrap_or(false)
    }

    /// Corners of a triangle, as it was cut.
    #[must_use]
    pub fn corners(&self, triangle: usize) -> [Point3; 3] {
        self.shape.mesh.corners(triangle)
    }

    /// Number of triangles, as they were cut, those left out counted.
    #[must_use]
    pub fn len(&self) -> usize {
        self.shape.mesh.triangles.len()
    }

    /// Whether there is nothing in it; never so once made.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.shape.mesh.triangles.is_empty()
    }
}

fn radius_of(corners: &[Point3; 3]) -> f64 {
    let centre = centre_of(corners);
    corners
        .iter()
        .map(|p| (p - centre).norm())
        .fold(0.0, f64::max)
}

fn centre_of([a, b, c]: &[Point3; 3]) -> Point3 {
    ((a.coords + b.coords + c.coords) / 3.0).into()
}

/// Halves the longest edge until none is too long; at most 16 times, so that nothing runs away.
fn cut(corners: [Point3; 3], longest: f64) -> impl Iterator<Item = [Point3; 3]> {
    let mut next = Some((corners, 0));
    let mut stack = Vec::new();
    std::iter::from_fn(move || {
        let (mut corners, mut times) = next.take().or_else(|| stack.pop())?;
        loop {
            let [a, b, c] = corners;
            let edges = [(b - a).norm(), (c - b).norm(), (a - c).norm()];
            let long = edges.into_iter().fold(0.0, f64::max);
            if longest.is_nan() || long <= longest || times == 16 {
                return Some(corners);
            }
            let (a, b, c) = if edges[0] == long {
                (a, b, c)
            } else if edges[1] == long {
                (b, c, a)
            } else {
                (c, a, b)
            };
            let m = nalgebra::center(&a, &b);
            times += 1;
            stack.push(([a, m, c], times));
            corners = [m, b, c];
        }
    })
}

/// A part of a move in which every triangle moves almost straight.
struct Step {
    /// Where the moving mesh is in the middle of it.
    middle: Isometry3<f64>,
    /// The same turn with all entries positive: how boxes grow by it.
    spread: Matrix3<f64>,
    /// Travel of the origin of the turn, and what a point adds by lying off it.
    shift: Vector3,
    turn: Option<(Point3, Vector3)>,
    angle: f64,
    /// Shares of the move at which it begins and ends.
    shares: [f64; 2],
}

impl Step {
    fn all(moving: &Swept, start: &Isometry3<f64>, motion: &Motion) -> Vec<Self> {
        let count = match *motion {
            Motion::Shift(_) => 1,
            Motion::Turn { point, axis, angle } => {
                let (middle, reach) = moving.shape.span;
                let arm = (start * middle - point).cross(&axis).norm() + reach;
                let by_size = 2.0 * STRAY_MM / moving.shape.radius.max(1e-6);
                let by_arm = (8.0 * STRAY_MM / arm.max(1e-6)).sqrt();
                ((angle.abs() / by_size.min(by_arm)).ceil() as usize).clamp(1, 5000)
            }
        };
        (0..count)
            .map(|k| {
                let shares = [k, k + 1].map(|k| k as f64 / count as f64);
                let middle = motion.after(0.5 * (shares[0] + shares[1])) * start;
                let (shift, turn, angle) = match *motion {
                    Motion::Shift(by) => (by, None, 0.0),
                    Motion::Turn { point, axis, angle } => {
                        let angle = angle / count as f64;
                        let chord = 2.0 * (0.5 * angle).sin();
                        let turn = Some((point, axis.into_inner() * chord));
                        (Vector3::zeros(), turn, angle.abs())
                    }
                };
                Self {
                    spread: middle.rotation.to_rotation_matrix().matrix().abs(),
                    middle,
                    shift,
                    turn,
                    angle,
                    shares,
                }
            })
            .collect()
    }

    /// Travel of a point that is at `middle` halfway.
    fn travel(&self, middle: &Point3) -> Vector3 {
        match self.turn {
            Some((point, by)) => by.cross(&(middle - point)),
            None => self.shift,
        }
    }

    fn pushed(&self, corners: [Point3; 3]) -> Pushed {
        let corners = corners.map(|p| self.middle * p);
        Pushed {
            push: self.travel(&centre_of(&corners)),
            corners,
        }
    }

    fn share(&self, inside: f64) -> f64 {
        self.shares[0] + (self.shares[1] - self.shares[0]) * inside
    }

    /// Part of the step (0 to 1) in which what is in box `a` may be within `reach` of what is in `b`.
    fn meeting(&self, a: &Box3, b: &Box3, reach: f64) -> Option<[f64; 2]> {
        let centre = self.middle * nalgebra::center(&a.low, &a.high);
        let half = (a.high - a.low) * 0.5;
        let mut around = self.spread * half;
        let travel = self.travel(&centre);
        if self.turn.is_some() {
            // Points of the box turn about its centre too, and the chord cuts the arc short.
            let stray = half.norm() * self.angle * 0.5 + travel.norm() * self.angle * 0.125;
            around += Vector3::repeat(stray);
        }
        let mut within = [0.0f64, 1.0f64];
        for k in 0..3 {
            let room = around[k] + reach;
            let begin = centre[k] - 0.5 * travel[k];
            let (low, high) = (b.low[k] - room - begin, b.high[k] + room - begin);
            let v = travel[k];
            if v.abs() < 1e-12 {
                if low > 0.0 || high < 0.0 {
                    return None;
                }
                continue;
            }
            let (from, to) = if v > 0.0 {
                (low / v, high / v)
            } else {
                (high / v, low / v)
            };
            within = [within[0].max(from), within[1].min(to)];
            if within[0] > within[1] {
                return None;
            }
        }
        Some(within)
    }
}

/// Distance between boxes in the middle of a step, along the axis where they are furthest apart.
fn middle_gap(step: &Step, a: &Box3, b: &Box3) -> f64 {
    let centre = step.middle * nalgebra::center(&a.low, &a.high);
    let around = step.spread * ((a.high - a.low) * 0.5);
    (0..3)
        .map(|k| (centre[k] - around[k] - b.high[k]).max(b.low[k] - centre[k] - around[k]))
        .fold(f64::NEG_INFINITY, f64::max)
}

/// Least distance over a move that begins at `start`, where it is under `within`. Distances of `enough`
/// or less are as good as each other: the first one found is given.
///
/// Exact to 0.1 mm in a turn, otherwise to rounding. The share is exact to a thousandth of a step.
#[must_use]
pub fn nearest_on_the_way(
    moving: &Swept,
    start: &Isometry3<f64>,
    motion: &Motion,
    still: &Swept,
    within: f64,
    enough: f64,
) -> Option<Near> {
    let mut best: Option<(f64, usize, usize, usize)> = None;
    let limit = std::cell::Cell::new(within);
    let steps = Step::all(moving, start, motion);
    for (k, step) in steps.iter().enumerate() {
        moving.shape.tree.each_pair(
            &still.shape.tree,
            |a, b| {
                let reach = limit.get();
                if reach <= enough {
                    return None;
                }
                step.meeting(a, b, reach).map(|_| middle_gap(step, a, b))
            },
            |t, u| {
                if moving.is_gone(t) || still.is_gone(u) {
                    return;
                }
                let pushed = step.pushed(moving.corners(t));
                let found = gap(&pushed, &still.corners(u), limit.get(), enough);
                if let Some(distance) = found.filter(|&d| d < limit.get()) {
                    limit.set(distance);
                    best = Some((distance, k, t, u));
                }
            },
        );
    }
    let (distance, k, t, u) = best?;
    let step = steps.get(k)?;
    let pushed = step.pushed(moving.corners(t));
    let other = still.corners(u);
    let inside = lowest_share(&pushed, &other);
    Some(Near {
        distance,
        share: step.share(inside),
        moving: t,
        still: u,
        at: place(&pushed.at(inside), &other),
    })
}

/// The first moment of a move that begins at `start` at which the meshes are within `reach`.
#[must_use]
pub fn first_touch(
    moving: &Swept,
    start: &Isometry3<f64>,
    motion: &Motion,
    still: &Swept,
    reach: f64,
) -> Option<Near> {
    for step in Step::all(moving, start, motion) {
        let mut best: Option<(f64, usize, usize)> = None;
        let soonest = std::cell::Cell::new(1.0 + 1e-9);
        moving.shape.tree.each_pair(
            &still.shape.tree,
            |a, b| {
                let [from, _] = step.meeting(a, b, reach)?;
                (from < soonest.get()).then_some(from)
            },
            |t, u| {
                if moving.is_gone(t) || still.is_gone(u) {
                    return;
                }
                let pushed = step.pushed(moving.corners(t));
                let other = still.corners(u);
                // Only as far as the soonest touch found so far: the moment itself takes many more looks.
                let way = pushed.until(soonest.get().min(1.0));
                let touches = gap(&way, &other, reach, reach).is_some_and(|d| d <= reach);
                if touches {
                    let share = touch_share(&pushed, &other, reach);
                    if share < soonest.get() {
                        soonest.set(share);
                        best = Some((share, t, u));
                    }
                }
            },
        );
        if let Some((inside, t, u)) = best {
            let pushed = step.pushed(moving.corners(t)).at(inside);
            let other = still.corners(u);
            return Some(Near {
                distance: gap(&pushed, &other, f64::INFINITY, 0.0).unwrap_or(reach),
                share: step.share(inside),
                moving: t,
                still: u,
                at: place(&pushed, &other),
            });
        }
    }
    None
}

/// Marks every triangle of the moving mesh that comes within `reach` during a move from `start`.
/// Triangles marked before stay marked and are not looked at again.
pub fn mark_touching(
    moving: &Swept,
    start: &Isometry3<f64>,
    motion: &Motion,
    still: &Swept,
    reach: f64,
    marked: &mut [bool],
) {
    for step in Step::all(moving, start, motion) {
        moving.shape.tree.each_pair(
            &still.shape.tree,
            |a, b| step.meeting(a, b, reach).map(|[from, _]| from),
            |t, u| {
                if moving.is_gone(t) || still.is_gone(u) {
                    return;
                }
                if let Some(mark) = marked.get_mut(t).filter(|mark| !**mark) {
                    let pushed = step.pushed(moving.corners(t));
                    *mark =
                        gap(&pushed, &still.corners(u), reach, reach).is_some_and(|d| d <= reach);
                }
            },
        );
    }
}

/// Marks every triangle that lies within `reach` of `other`, both as they stand. Triangles marked before
/// stay marked and are not looked at again.
pub fn mark_near(mesh: &Swept, other: &Swept, reach: f64, marked: &mut [bool]) {
    let candidates = mesh.shape.tree.near_other(&other.shape.tree, reach);
    let near: Vec<usize> = candidates
        .into_par_iter()
        .filter(|&t| !mesh.is_gone(t) && !marked.get(t).copied().unwrap_or(true))
        .filter(|&t| {
            let still = Pushed {
                corners: mesh.corners(t),
                push: Vector3::zeros(),
            };
            let around = Box3::of_triangle(&mesh.shape.mesh, t);
            other.shape.tree.any_near(&around, reach, |u| {
                !other.is_gone(u)
                    && gap(&still, &other.corners(u), reach, reach).is_some_and(|d| d <= reach)
            })
        })
        .collect();
    for t in near {
        if let Some(mark) = marked.get_mut(t) {
            *mark = true;
        }
    }
}

/// Share of a step at which a pair is nearest. Its distance is a convex function of the share.
fn lowest_share(pushed: &Pushed, still: &[Point3; 3]) -> f64 {
    let distance = |share: f64| gap(&pushed.at(share), still, f64::INFINITY, 0.0).unwrap_or(0.0);
    let (mut from, mut to) = (0.0, 1.0);
    if pushed.push.norm() > 0.0 {
        for _ in 0..40 {
            let third = (to - from) / 3.0;
            if distance(from + third) <= distance(to - third) {
                to -= third;
            } else {
                from += third;
            }
        }
        // Where the distance is the same all along, the beginning is as good as the middle.
        return if distance(0.0) <= distance(0.5 * (from + to)) {
            0.0
        } else {
            0.5 * (from + to)
        };
    }
    0.0
}

/// First share of a step at which a pair that comes within `reach` does so.
fn touch_share(pushed: &Pushed, still: &[Point3; 3], reach: f64) -> f64 {
    let near = |share: f64| {
        gap(&pushed.at(share), still, reach, 0.0).is_some_and(|d| d <= reach * (1.0 + 1e-9) + 1e-6)
    };
    if near(0.0) {
        return 0.0;
    }
    let (mut clear, mut met) = (0.0, lowest_share(pushed, still));
    for _ in 0..30 {
        let half = 0.5 * (clear + met);
        if near(half) {
            met = half;
        } else {
            clear = half;
        }
    }
    met
}

/// A point of the still triangle near the moving one: the nearest of its corners and centre.
fn place(moving: &Pushed, still: &[Point3; 3]) -> Point3 {
    let [a, b, c] = *still;
    let far = |p: &Point3| gap(moving, &[*p; 3], f64::INFINITY, 0.0).unwrap_or(f64::INFINITY);
    [centre_of(still), a, b, c]
        .into_iter()
        .map(|p| (far(&p), p))
        .min_by(|p, q| p.0.total_cmp(&q.0))
        .map_or(a, |found| found.1)
}
