//! How far a segment can reach and still fit the build volume: upright and turned in plan, or leaned
//! onto another flat it can stand on.

use super::estimate::ON_BED_MM;
use super::plan::TabRoom;
use super::reach::Reach;
use super::turn::{depth_inside, find_hull, fits_turned};
use crate::math::{Point2, Point3, Vector2, Vector3};
use rayon::prelude::*;

/// Spacing of the stations that stand for a segment's outline (mm): 0.04 mm of sagitta at a radius of 50.
const OUTLINE_MM: f64 = 4.0;
/// Starts that one task works through, each from where the one before ended.
const BATCH: usize = 128;
/// A flat to lean onto is at least this share of the section's largest width: lets the back of an angle
/// through and stops the rounding of an edge.
const LEAST_FLAT: f64 = 0.4;

/// What fits: the reach of the workpiece against the room on the bed.
pub(super) struct Fitter<'a> {
    pub(super) reach: &'a Reach,
    /// Room in width, depth and height (mm).
    pub(super) room: [f64; 3],
    /// How far a joint reaches past its cut (mm).
    pub(super) joint_mm: f64,
    /// A tab's length and that of its root, in stations.
    pub(super) tab: usize,
    /// Outline stations are multiples of this.
    stride: usize,
    /// Stations whose hidden side has no room for a tab, counted up to each station.
    blocked: Vec<usize>,
    /// Section areas, and areas times centroids, summed up to each station.
    weights: Vec<(f64, Vector3)>,
}

/// Farthest station a segment from each station can reach, at least that station itself: with a tab at
/// its far end, and without.
#[derive(Debug, Clone)]
pub(super) struct Farthest {
    pub(super) tabbed: Vec<usize>,
    pub(super) bare: Vec<usize>,
    /// Whether a segment from each station can be the last: it may stand on its far end.
    pub(super) finishes: Vec<bool>,
}

impl Farthest {
    pub(super) fn of(&self, tab: TabRoom) -> &[usize] {
        match tab {
            TabRoom::Enough => &self.tabbed,
            TabRoom::None => &self.bare,
        }
    }
}

/// What stands for a segment: its stations, and whether a tab follows.
#[derive(Clone, Copy)]
struct Piece {
    from: usize,
    to: usize,
    tab: TabRoom,
}

impl<'a> Fitter<'a> {
    pub(super) fn new(reach: &'a Reach, joint_mm: f64, room: [f64; 3]) -> Self {
        let mut blocked = vec![0];
        let mut weights = vec![(0.0, Vector3::zeros())];
        let (mut count, mut sum) = (0, (0.0, Vector3::zeros()));
        for station in &reach.stations {
            count += usize::from(station.tab.is_none());
            blocked.push(count);
            sum.0 += station.area;
            sum.1 += station.centroid.coords * station.area;
            weights.push(sum);
        }
        Self {
            reach,
            room,
            tab: reach.stations_in(joint_mm),
            joint_mm,
            stride: reach.stations_in(OUTLINE_MM).max(1),
            blocked,
            weights,
        }
    }

    pub(super) fn last(&self) -> usize {
        self.reach.last()
    }

    /// Whether the hidden side has room for a tab and its root, each side of a station.
    pub(super) fn tab_room(&self, station: usize) -> TabRoom {
        let from = station.saturating_sub(self.tab);
        let to = (station + self.tab).min(self.last());
        if station > 0 && station < self.last() && self.blocked[to + 1] == self.blocked[from] {
            TabRoom::Enough
        } else {
            TabRoom::None
        }
    }

    /// The stations that stand for those from one to another: both, and the fixed ones between. So what
    /// a longer piece is measured at holds what a shorter one in it is measured at.
    fn outline(&self, from: usize, to: usize) -> impl Iterator<Item = usize> + use<> {
        let stride = self.stride;
        let first = (from / stride + 1) * stride;
        std::iter::once(from)
            .chain((first..to).step_by(stride))
            .chain((to > from).then_some(to))
    }

    fn tab_stations(&self, piece: Piece) -> impl Iterator<Item = usize> + use<> {
        let reaches = piece.tab == TabRoom::Enough;
        let begin = piece.to.saturating_sub(self.tab).max(piece.from);
        let end = (piece.to + self.tab).min(self.last());
        self.outline(begin, end).filter(move |_| reaches)
    }

    /// Corners in plan and height.
    fn in_plan(&self, piece: Piece) -> (Vec<Point2>, f64) {
        let stations = &self.reach.stations;
        let mut corners = Vec::new();
        let mut put = |i: usize, across: Option<[f64; 2]>, side: usize| {
            let frame = &stations[i].frame;
            let at = across.map(|xs| frame.origin.xy() + frame.outward.xy() * xs[side]);
            corners.extend(at);
        };
        // One side after the other: what comes in a row is soon sorted.
        for side in [0, 1] {
            self.outline(piece.from, piece.to)
                .for_each(|i| put(i, stations[i].across, side));
            self.tab_stations(piece)
                .for_each(|i| put(i, stations[i].tab, side));
        }
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for at in stations[piece.from..=piece.to]
            .iter()
            .filter(|at| at.across.is_some())
        {
            low = low.min(at.height[0]);
            high = high.max(at.height[1]);
        }
        (corners, (high - low).max(0.0))
    }

    /// Whether the ends lie farther apart than any corner of the room from another, and so fit in no pose.
    fn is_too_long(&self, piece: Piece) -> bool {
        let [a, b] = [piece.from, piece.to].map(|i| {
            let at = &self.reach.stations[i];
            at.hull.first().map(|&p| at.frame.to_shop(p))
        });
        let longest = Vector3::from(self.room).norm();
        a.zip(b).is_some_and(|(a, b)| (b - a).norm() > longest)
    }

    fn fits_upright(&self, piece: Piece) -> bool {
        if self.is_too_long(piece) {
            return false;
        }
        let (corners, height) = self.in_plan(piece);
        height <= self.room[2] && fits_turned(&corners, [self.room[0], self.room[1]])
    }

    /// Corners in plan and height of a piece without a tab, for what a message says.
    pub(super) fn size_upright(&self, from: usize, to: usize) -> (Vec<Point2>, f64) {
        let tab = self.tab_room(to);
        self.in_plan(Piece { from, to, tab })
    }

    /// Whether a piece fits with `up` to the top, and stands on a flat there: its centre of mass over
    /// what touches the bed.
    fn fits_leaned(&self, piece: Piece, up: Vector3) -> bool {
        let stations = &self.reach.stations;
        let level = up.cross(&Vector3::z());
        let Some(x) = level.try_normalize(1e-6) else {
            return false;
        };
        let y = up.cross(&x);
        // The ends decide about the height most often.
        let rise = |i: usize| stations[i].centroid.coords.dot(&up);
        if self.is_too_long(piece) || (rise(piece.to) - rise(piece.from)).abs() > self.room[2] {
            return false;
        }
        let mut points: Vec<Point3> = Vec::new();
        let along: Vec<usize> = self.outline(piece.from, piece.to).collect();
        let most = along.iter().map(|&i| stations[i].hull.len()).max();
        for corner in 0..most.unwrap_or(0) {
            let like = along.iter().filter_map(|&i| {
                let at = &stations[i];
                at.hull.get(corner).map(|&p| at.frame.to_shop(p))
            });
            points.extend(like);
        }
        for i in self.tab_stations(piece) {
            let at = &stations[i];
            for x in at.tab.into_iter().flatten() {
                points.extend(at.height.map(|z| at.frame.to_shop(Point2::new(x, z))));
            }
        }
        let heights: Vec<f64> = points.iter().map(|p| p.coords.dot(&up)).collect();
        let low = heights.iter().copied().fold(f64::INFINITY, f64::min);
        let high = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let tall = high - low;
        if tall.is_nan() || tall > self.room[2] {
            return false;
        }
        let flat = |p: &Point3| Point2::new(p.coords.dot(&x), p.coords.dot(&y));
        let touching: Vec<Point2> = (points.iter().zip(&heights))
            .filter(|(_, h)| **h - low <= ON_BED_MM)
            .map(|(p, _)| flat(p))
            .collect();
        let (a, b) = (self.weights[piece.from], self.weights[piece.to + 1]);
        let centre = Point3::from((b.1 - a.1) / (b.0 - a.0).max(1e-12));
        let steady = depth_inside(&find_hull(&touching), flat(&centre));
        if steady.is_nan() || steady <= super::STEADY_MM {
            return false;
        }
        let plan: Vec<Point2> = points.iter().map(flat).collect();
        fits_turned(&plan, [self.room[0], self.room[1]])
    }

    /// Directions that can point up when a piece is leaned: standing on its first station, or lying on a
    /// flat of the section there.
    fn leans(&self, station: usize) -> Vec<Vector3> {
        let at = &self.reach.stations[station];
        let mut ups = vec![at.frame.along];
        let hull = &at.hull;
        let widest = hull
            .iter()
            .flat_map(|a| hull.iter().map(move |b| (b - a).norm()))
            .fold(0.0, f64::max);
        for i in 0..hull.len() {
            let edge: Vector2 = hull[(i + 1) % hull.len()] - hull[i];
            if edge.norm() > LEAST_FLAT * widest {
                // The inside lies to the left of an edge.
                let inward = Vector2::new(-edge.y, edge.x).normalize();
                ups.push(at.frame.outward * inward.x + Vector3::z() * inward.y);
            }
        }
        ups
    }

    /// How far upright segments reach. A piece that fits still fits when it begins later or ends
    /// earlier, so one pointer goes along.
    pub(super) fn upright(&self) -> Farthest {
        let of = |tab: TabRoom| self.follow(|from, to| self.fits_upright(Piece { from, to, tab }));
        let (tabbed, bare) = rayon::join(|| of(TabRoom::Enough), || of(TabRoom::None));
        Farthest {
            finishes: bare.iter().map(|&to| to == self.last()).collect(),
            tabbed,
            bare,
        }
    }

    fn follow(&self, fits: impl Fn(usize, usize) -> bool + Sync) -> Vec<usize> {
        let starts: Vec<usize> = (0..=self.last()).collect();
        let batches: Vec<Vec<usize>> = starts
            .par_chunks(BATCH)
            .map(|batch| {
                let mut reached = Vec::with_capacity(batch.len());
                let mut to =
                    first_where(batch[0] + 1, self.last() + 1, |to| !fits(batch[0], to)) - 1;
                for &from in batch {
                    to = to.max(from);
                    while to < self.last() && fits(from, to + 1) {
                        to += 1;
                    }
                    reached.push(to);
                }
                reached
            })
            .collect();
        batches.concat()
    }

    /// How far segments reach in any pose they can stand in, given how far they do upright.
    pub(super) fn leaned(&self, upright: &Farthest) -> Farthest {
        let of = |tab: TabRoom| -> Vec<usize> {
            (upright.of(tab).par_iter().enumerate())
                .map(|(from, &to)| self.lean_beyond(from, to, tab))
                .collect()
        };
        let bare = of(TabRoom::None);
        // The far end of the last segment carries no tab.
        let end = self.reach.stations[self.last()].frame.along;
        let finishes = (bare.par_iter().enumerate())
            .map(|(from, &reached)| {
                let (to, tab) = (self.last(), TabRoom::None);
                reached == to || self.fits_leaned(Piece { from, to, tab }, -end)
            })
            .collect();
        Farthest {
            tabbed: of(TabRoom::Enough),
            bare,
            finishes,
        }
    }

    fn lean_beyond(&self, from: usize, upright: usize, tab: TabRoom) -> usize {
        let end = match tab {
            TabRoom::Enough => self.last().saturating_sub(1),
            TabRoom::None => self.last(),
        };
        let mut best = upright;
        for up in self.leans(from) {
            let fits = |to: usize| self.fits_leaned(Piece { from, to, tab }, up);
            if best < end && fits(best + 1) {
                best = first_where(best + 2, end + 1, |to| !fits(to)) - 1;
            }
        }
        best
    }
}

/// First of `low..high` for which `is` holds, or `high`; `is` must hold from there on.
fn first_where(mut low: usize, mut high: usize, is: impl Fn(usize) -> bool) -> usize {
    while low < high {
        let middle = low + (high - low) / 2;
        if is(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}
