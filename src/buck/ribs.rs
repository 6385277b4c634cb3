//! What is left out of a hollow buck: cells between ribs, open at the base.

use super::BuckFault;
use super::course::Course;
use crate::math::{Point2, Spine};
use crate::mesh::Solid;
use crate::panel::loft::Loft;

/// A rib is two walls and this thick (mm), so that a cut through its middle leaves a wall to each side.
pub const SPARE_MM: f64 = 2.0;
/// A cell is left solid where it would be narrower or shorter than this (mm).
const LEAST_CELL_MM: f64 = 4.0;
/// Below the base (mm): the cells are open there.
const UNDER_MM: f64 = 1.0;
/// A rib is not made thicker than so many times for a bend.
const MOST_THICKER: f64 = 2.5;

/// Arc lengths of the middles of the ribs between two ends, no farther apart than `pitch`.
pub fn places([from, to]: [f64; 2], pitch: f64) -> Vec<f64> {
    let bays = ((to - from) / pitch.max(1.0)).ceil().max(1.0);
    (1..bays as usize)
        .map(|k| from + (to - from) * k as f64 / bays)
        .collect()
}

/// What a hollow buck's cells are made from.
pub struct Hollow<'a> {
    /// The spine.
    pub spine: &'a Spine,
    /// The front without grooves or eased corners, from base to top.
    pub carried: &'a Course,
    /// The back, two corners.
    pub back: &'a Course,
    /// Least thickness of wall (mm).
    pub wall: f64,
}

impl Hollow<'_> {
    /// The cells between the ribs; where the buck is too slim for one it stays solid.
    pub fn cells(&self, ribs: &[f64]) -> Result<Vec<Solid>, BuckFault> {
        let inner = self.inner();
        let [first, last] = self.carried.ends();
        let mut walls = vec![[first, first + self.wall]];
        walls.extend(ribs.iter().map(|&s| {
            let half = (self.wall + 0.5 * SPARE_MM) * self.thicker(s);
            [s - half, s + half]
        }));
        walls.push([last - self.wall, last]);
        let mut cells = Vec::new();
        for pair in walls.windows(2) {
            let along = [pair[0][1], pair[1][0]];
            if along[1] - along[0] < LEAST_CELL_MM {
                continue;
            }
            if let Some(solid) = self.cell(&inner, along)? {
                cells.push(solid);
            }
        }
        Ok(cells)
    }

    /// How much thicker a rib must be on the spine, so that it has its thickness at the back.
    fn thicker(&self, s: f64) -> f64 {
        let back = self.back.at(s).first().map_or(0.0, |p| p.x);
        let shrink = 1.0 + self.spine.curvature_at(s) * back;
        (1.0 / shrink.clamp(0.05, 1.0)).min(MOST_THICKER)
    }

    /// Front and back a wall further in, in one course: the front's corners and then one of the back.
    fn inner(&self) -> Course {
        let mut front = self.carried.set_in(self.spine, self.wall);
        let back = self.back.set_in(self.spine, -self.wall);
        for ((row, outer), back) in (front.rows.iter_mut().zip(&self.carried.rows)).zip(&back.rows)
        {
            let top = outer.points.last().map_or(0.0, |p| p.y) - self.wall;
            let bottom = outer.points.first().map_or(0.0, |p| p.y) - UNDER_MM;
            row.points = held(&row.points, bottom, top);
            row.points.extend(back.points.first());
        }
        front
    }

    fn cell(&self, inner: &Course, along: [f64; 2]) -> Result<Option<Solid>, BuckFault> {
        let mut places = vec![along[0]];
        let inside = inner.rows.iter().map(|row| row.s);
        places.extend(inside.filter(|s| s - along[0] > 0.5 && along[1] - s > 0.5));
        places.push(along[1]);
        let mut outlines = Vec::with_capacity(places.len());
        for &s in &places {
            let mut front = inner.at(s);
            let Some(back) = front.pop() else {
                return Ok(None);
            };
            let room = front.iter().map(|p| p.x - back.x);
            let height = match (front.first(), front.last()) {
                (Some(a), Some(b)) => b.y - a.y,
                _ => 0.0,
            };
            let slim = room.fold(f64::INFINITY, f64::min) < LEAST_CELL_MM;
            if slim || height < LEAST_CELL_MM + UNDER_MM {
                return Ok(None);
            }
            outlines.push((s, outline(&front, back.x)));
        }
        let count = outlines.first().map_or(0, |(_, o)| o.len() / 2);
        let placed = outlines.iter().map(|(s, o)| (*s, o.as_slice()));
        let loft = Loft::new(self.spine, placed, &cap(count));
        Ok(Some(Solid::new(loft.mesh().clone())?))
    }
}

/// The polyline from the height `bottom`, carried on to it, up to the height `top`, where it is cut off.
fn held(points: &[Point2], bottom: f64, top: f64) -> Vec<Point2> {
    let mut held: Vec<Point2> = Vec::with_capacity(points.len());
    for (i, &p) in points.iter().enumerate() {
        let point = if i == 0 {
            points.get(1).map_or(p, |next| at_height(p, *next, bottom))
        } else if p.y > top {
            match (points.get(i - 1), held.last()) {
                (Some(before), _) if before.y < top => at_height(*before, p, top),
                (_, Some(last)) => *last,
                _ => p,
            }
        } else {
            p
        };
        held.push(point);
    }
    held
}

/// The point of a line at a height; the line must rise.
fn at_height(a: Point2, b: Point2, y: f64) -> Point2 {
    let rise = b.y - a.y;
    if rise.abs() < 1e-6 {
        return Point2::new(a.x, y);
    }
    a + (b - a) * ((y - a.y) / rise)
}

/// A front closed by a straight back: for each corner of the front there is one on the back level with it,
/// or with the highest before it.
pub fn outline(front: &[Point2], back: f64) -> Vec<Point2> {
    let mut highest = f64::NEG_INFINITY;
    let level: Vec<Point2> = (front.iter())
        .map(|p| {
            highest = highest.max(p.y);
            Point2::new(back, highest)
        })
        .collect();
    front
        .iter()
        .copied()
        .chain(level.into_iter().rev())
        .collect()
}

/// Triangles that close an outline with so many corners on its front.
pub fn cap(front: usize) -> Vec<[u32; 3]> {
    let across = |i: usize| 2 * front - 1 - i;
    (0..front.saturating_sub(1))
        .flat_map(|i| {
            let (a, b, c, d) = (i, i + 1, across(i + 1), across(i));
            [[a, b, c], [a, c, d]]
        })
        .map(|t| t.map(|i| i as u32))
        .collect()
}
