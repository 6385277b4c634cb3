//! The coarse rim: where the body's skin stands above the tray, as one line in plan.
//!
//! The body is cut level at several heights above the tray. At each the lines that face one way are linked
//! across holes, and the longest link that stands over the tray wins. It is good to a few millimetres and
//! is there to set the frame; the edge itself is found later, under it.

use super::datum::Facing;
use crate::math::robust::median;
use crate::math::{Point2, Vector2};
use crate::mesh::TriMesh;
use crate::mesh::plane_section::{SectionLine, level_section};
use rayon::prelude::*;

/// Heights above the tray at which the body is cut (mm): from under the lowest edge to well above the
/// highest a closeout panel is made for.
const LEVELS: std::ops::RangeInclusive<u32> = 1..=24;
/// Distance between the levels (mm).
const LEVEL_STEP: f64 = 12.5;
/// Shorter lines are bits of the ragged inside, not skin (mm).
const SHORTEST_LINE: f64 = 15.0;
/// Widest hole a link may cross (mm): holes of 60 mm with some ragged edge on each side.
const WIDEST_HOLE: f64 = 80.0;
/// Below this distance two ends belong together if they merely run the same way (mm).
const TOUCHING: f64 = 8.0;
/// A level is high enough if its rim is this share of the longest one's length.
const HIGH_ENOUGH: f64 = 0.93;

/// A line in plan along the skin, the outside to its right.
#[derive(Debug, Clone)]
pub(super) struct Rim {
    /// Points in order, evenly spaced.
    pub points: Vec<Point2>,
    /// Height of the level it was found at (mm above the tray's plane).
    pub level: f64,
    /// Length that stands over the tray (mm).
    pub over_tray: f64,
    /// How much more tray lies on the inner side than on the outer, -1 to 1.
    pub inward_tray: f64,
}

/// Where the tray is, in plan: a raster of its patches.
pub(super) struct TrayCover {
    origin: Point2,
    columns: usize,
    rows: usize,
    filled: Vec<bool>,
}

/// Size of a cell of the raster (mm).
const CELL: f64 = 12.0;

impl TrayCover {
    /// Marks the cells under `points`; `None` without points.
    pub fn new(points: &[Point2]) -> Option<Self> {
        let first = *points.first()?;
        let (lo, hi) = points
            .iter()
            .fold((first, first), |(l, h), p| (l.inf(p), h.sup(p)));
        let columns = ((hi.x - lo.x) / CELL) as usize + 1;
        let rows = ((hi.y - lo.y) / CELL) as usize + 1;
        if columns.checked_mul(rows)? > 50_000_000 {
            return None;
        }
        let mut cover = Self {
            origin: lo,
            columns,
            rows,
            filled: vec![false; columns * rows],
        };
        for p in points {
            if let Some(k) = cover.cell(*p) {
                cover.filled[k] = true;
            }
        }
        Some(cover)
    }

    fn cell(&self, p: Point2) -> Option<usize> {
        let d = (p - self.origin) / CELL;
        if d.x < 0.0 || d.y < 0.0 {
            return None;
        }
        let (c, r) = (d.x as usize, d.y as usize);
        (c < self.columns && r < self.rows).then_some(r * self.columns + c)
    }

    fn holds(&self, p: Point2) -> bool {
        self.cell(p).is_some_and(|k| self.filled[k])
    }
}

/// The best rim of a body whose z is the height above the tray's plane, and which way the body's triangles
/// must face for it to be the outside; `None` if no skin stands over the tray.
///
/// A scan has a ragged back some millimetres behind the skin. Read as it is, the skin is the outside; read
/// turned over, that back would be. So both are looked for and the outer one is the skin.
pub(super) fn find_rim(body: &TriMesh, cover: &TrayCover) -> Option<(Rim, Facing)> {
    let levels: Vec<f64> = LEVELS.map(|i| f64::from(i) * LEVEL_STEP).collect();
    let rims: Vec<[Option<Rim>; 2]> = levels
        .par_iter()
        .map(|&level| {
            let mut lines: Vec<SectionLine> = level_section(body, level)
                .into_iter()
                .flat_map(|l| unfold(&l))
                .collect();
            let upright = best_at(&lines, level, cover);
            for line in &mut lines {
                line.points.reverse();
            }
            [upright, best_at(&lines, level, cover)]
        })
        .collect();
    let lowest = |way: usize| {
        let all = || rims.iter().filter_map(|r| r[way].as_ref());
        let most = all().map(worth).fold(0.0, f64::max);
        all()
            .find(|r| worth(r) >= HIGH_ENOUGH * most && worth(r) > 0.0)
            .cloned()
    };
    match (lowest(0), lowest(1)) {
        (Some(upright), Some(turned)) => {
            let comparable = worth(&turned) > COMPARABLE * worth(&upright);
            let clearly = worth(&upright) < COMPARABLE * worth(&turned);
            if clearly || (comparable && lies_outside(&turned, &upright)) {
                Some((turned, Facing::Inward))
            } else {
                Some((upright, Facing::Outward))
            }
        }
        (Some(upright), None) => Some((upright, Facing::Outward)),
        (None, Some(turned)) => Some((turned, Facing::Inward)),
        (None, None) => None,
    }
}

/// A line that could be the skin is at least this share of the other one's worth.
const COMPARABLE: f64 = 0.5;

fn best_at(lines: &[SectionLine], level: f64, cover: &TrayCover) -> Option<Rim> {
    link(lines)
        .into_iter()
        .map(|points| judge(&points, level, cover))
        .max_by(|a, b| worth(a).total_cmp(&worth(b)))
}

/// Whether one rim runs outside of another, as its own outside goes.
fn lies_outside(rim: &Rim, other: &Rim) -> bool {
    let mut offsets: Vec<f64> = rim
        .points
        .windows(2)
        .step_by(4)
        .filter_map(|pair| {
            let along = (pair[1] - pair[0]).try_normalize(1e-9)?;
            let outward = Vector2::new(along.y, -along.x);
            let nearest = other
                .points
                .iter()
                .min_by(|a, b| (*a - pair[0]).norm().total_cmp(&(*b - pair[0]).norm()))?;
            let off = pair[0] - nearest;
            (off.norm() < 40.0).then(|| off.dot(&outward))
        })
        .collect();
    median(&mut offsets).is_some_and(|off| off > 1.0)
}

/// Length over the tray, less where the tray does not lie on the inner side: such a line faces the wrong
/// way, or turns back along the ragged inside of the skin.
fn worth(rim: &Rim) -> f64 {
    rim.over_tray * (0.3 + 0.7 * rim.inward_tray.max(0.0))
}

fn judge(points: &[Point2], level: f64, cover: &TrayCover) -> Rim {
    const STEP: f64 = 5.0;
    let points = over_the_tray(resample(points, STEP), cover);
    let (mut over, mut inner, mut outer) = (0.0, 0usize, 0usize);
    for pair in points.windows(2) {
        let along = (pair[1] - pair[0])
            .try_normalize(1e-9)
            .unwrap_or_else(Vector2::y);
        let outward = Vector2::new(along.y, -along.x);
        if [-25.0, 0.0, 15.0]
            .iter()
            .filter(|&&d| cover.holds(pair[0] + outward * d))
            .count()
            >= 2
        {
            over += STEP;
        }
        for k in 4..14 {
            let d = f64::from(k) * 15.0;
            inner += usize::from(cover.holds(pair[0] - outward * d));
            outer += usize::from(cover.holds(pair[0] + outward * d));
        }
    }
    let all = (inner + outer).max(1) as f64;
    Rim {
        points,
        level,
        over_tray: over,
        inward_tray: (inner as f64 - outer as f64) / all,
    }
}

/// The line without the ends that do not stand over the tray: there a wheel or a stand was linked on.
fn over_the_tray(points: Vec<Point2>, cover: &TrayCover) -> Vec<Point2> {
    let stands = |pair: &[Point2]| {
        let along = (pair[1] - pair[0])
            .try_normalize(1e-9)
            .unwrap_or_else(Vector2::y);
        let outward = Vector2::new(along.y, -along.x);
        [-25.0, 0.0, 15.0]
            .iter()
            .filter(|&&d| cover.holds(pair[0] + outward * d))
            .count()
            >= 2
    };
    let first = points.windows(2).position(stands);
    let last = points.windows(2).rposition(stands);
    match (first, last) {
        (Some(a), Some(b)) => points[a..=b + 1].to_vec(),
        _ => Vec::new(),
    }
}

/// Evenly spaced points along a line.
pub(super) fn resample(points: &[Point2], step: f64) -> Vec<Point2> {
    let Some(&first) = points.first() else {
        return Vec::new();
    };
    let mut out = vec![first];
    let (mut last, mut need) = (first, step);
    for &p in &points[1..] {
        loop {
            let d = (p - last).norm();
            if d < need {
                need -= d;
                last = p;
                break;
            }
            last += (p - last) * (need / d);
            out.push(last);
            need = step;
        }
    }
    out
}

struct Ends {
    start: Point2,
    end: Point2,
    start_along: Vector2,
    end_along: Vector2,
}

/// Directions are taken over this length, longer than the steps that a voxel grid leaves (mm).
const DIRECTION_BASE: f64 = 20.0;

fn ends(line: &SectionLine) -> Option<Ends> {
    let (&start, &end) = (line.points.first()?, line.points.last()?);
    let near = line
        .points
        .iter()
        .find(|p| (*p - start).norm() >= DIRECTION_BASE)
        .unwrap_or(&end);
    let far = line
        .points
        .iter()
        .rev()
        .find(|p| (*p - end).norm() >= DIRECTION_BASE)
        .unwrap_or(&start);
    Some(Ends {
        start,
        end,
        start_along: (near - start).try_normalize(1e-9)?,
        end_along: (end - far).try_normalize(1e-9)?,
    })
}

/// Distance on each side over which a turn is judged (mm). A corner of 25 mm radius turns by 40 degrees
/// over it; the end of a skin, round to its ragged inside, by 180.
const TURN_BASE: f64 = 15.0;
/// A line is parted where it turns by more than this (cosine).
const SHARPEST_TURN: f64 = 0.17;

/// Parts a line where it turns back on itself.
fn unfold(line: &SectionLine) -> Vec<SectionLine> {
    const STEP: f64 = 3.0;
    let points = resample(&line.points, STEP);
    let reach = (TURN_BASE / STEP) as usize;
    if points.len() < 2 * reach + 1 {
        return vec![line.clone()];
    }
    let turn = |i: usize| {
        let (before, after) = (points[i] - points[i - reach], points[i + reach] - points[i]);
        let norm = before.norm() * after.norm();
        if norm > 0.0 {
            before.dot(&after) / norm
        } else {
            -1.0
        }
    };
    let mut parts = vec![Vec::new()];
    for (i, &p) in points.iter().enumerate() {
        let sharp = i >= reach && i + reach < points.len() && turn(i) < SHARPEST_TURN;
        match (sharp, parts.last_mut()) {
            (false, Some(part)) => part.push(p),
            _ => parts.push(Vec::new()),
        }
    }
    parts
        .into_iter()
        .filter(|p| p.len() > 1)
        .map(|points| SectionLine { points })
        .collect()
}

/// Links lines head to tail across holes, nearest first.
fn link(lines: &[SectionLine]) -> Vec<Vec<Point2>> {
    let lines: Vec<&SectionLine> = lines
        .iter()
        .filter(|l| l.length() >= SHORTEST_LINE)
        .collect();
    let ends: Vec<Option<Ends>> = lines.iter().map(|l| ends(l)).collect();
    let mut links: Vec<(f64, usize, usize)> = Vec::new();
    for (i, a) in ends.iter().enumerate() {
        for (j, b) in ends.iter().enumerate() {
            if let (Some(a), Some(b)) = (a, b)
                && i != j
                && let Some(cost) = link_cost(a, b)
            {
                links.push((cost, i, j));
            }
        }
    }
    links.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut next = vec![None; lines.len()];
    let mut has_previous = vec![false; lines.len()];
    for &(_, i, j) in &links {
        let closes_ring = {
            let mut k = j;
            while let Some(n) = next[k] {
                k = n;
            }
            k == i
        };
        if next[i].is_none() && !has_previous[j] && !closes_ring {
            next[i] = Some(j);
            has_previous[j] = true;
        }
    }
    (0..lines.len())
        .filter(|&i| !has_previous[i])
        .map(|i| {
            let (mut points, mut k) = (lines[i].points.clone(), i);
            while let Some(n) = next[k] {
                points.extend_from_slice(&lines[n].points);
                k = n;
            }
            points
        })
        .collect()
}

/// How bad it is to go on from `a` with `b`; `None` where it makes no sense.
fn link_cost(a: &Ends, b: &Ends) -> Option<f64> {
    let step = b.start - a.end;
    let d = step.norm();
    let turn = a.end_along.dot(&b.start_along);
    // Sharper turns are where an outside is joined to an inside.
    if d > WIDEST_HOLE || turn < 0.5 {
        return None;
    }
    if d <= TOUCHING {
        let ahead = a.end_along.dot(&step).min(b.start_along.dot(&step));
        return (ahead > -0.5 * TOUCHING).then_some(d * (2.0 - turn));
    }
    let straight = (a.end_along.dot(&step) / d).min(b.start_along.dot(&step) / d);
    (straight > 0.6 && turn > 0.4).then_some(d * (3.0 - straight - turn))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(points: &[(f64, f64)]) -> SectionLine {
        SectionLine {
            points: points.iter().map(|&(x, y)| Point2::new(x, y)).collect(),
        }
    }

    #[test]
    fn lines_are_linked_across_a_hole_and_not_to_what_faces_back() {
        let a = line(&[(0.0, 0.0), (0.0, 100.0)]);
        let b = line(&[(1.0, 160.0), (0.0, 300.0)]);
        let back = line(&[(-10.0, 150.0), (-10.0, 20.0)]);
        let mut linked = link(&[b, back, a]);
        linked.sort_by_key(Vec::len);
        assert_eq!(linked.len(), 2);
        assert_eq!(linked[1].len(), 4);
        assert_eq!(linked[1][0], Point2::new(0.0, 0.0));
    }

    #[test]
    fn a_hole_wider_than_promised_stays_open() {
        let a = line(&[(0.0, 0.0), (0.0, 100.0)]);
        let b = line(&[(0.0, 200.0), (0.0, 300.0)]);
        assert_eq!(link(&[a, b]).len(), 2);
    }

    #[test]
    fn a_skin_is_parted_from_its_inside_and_a_tight_corner_is_kept() {
        let skin = line(&[(0.0, 0.0), (0.0, 200.0), (-10.0, 203.0), (-10.0, 0.0)]);
        let parts = unfold(&skin);
        assert_eq!(parts.len(), 2);
        assert!(parts[0].points.iter().all(|p| p.x > -0.1));
        let corner: Vec<(f64, f64)> = (0..=90)
            .map(|d| f64::from(d).to_radians())
            .map(|a| (25.0 * a.cos(), 25.0 * a.sin()))
            .collect();
        let mut bent = vec![(25.0, -100.0)];
        bent.extend(corner);
        bent.push((-100.0, 25.0));
        assert_eq!(unfold(&line(&bent)).len(), 1);
    }

    #[test]
    fn resampling_keeps_the_spacing_round_a_corner() {
        let points = [
            Point2::new(0.0, 0.0),
            Point2::new(7.0, 0.0),
            Point2::new(7.0, 9.0),
        ];
        let even = resample(&points, 2.0);
        assert_eq!(even.len(), 9);
        assert_eq!(even[4], Point2::new(7.0, 1.0));
    }
}
