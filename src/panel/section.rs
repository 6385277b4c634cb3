//! The panel's outline in one station plane.
//!
//! Corners, anticlockwise from the flange's tip: three along the underside, the foot, those of the face up
//! to the knee, the two of the top (a lip's top stands above the knee, a land's is the knee), the inner
//! knee, the inside of the face, the fillet from face to flange, two back along the flange. A straight face
//! has no corner between foot and knee; any other has [`FACE_EDGES`] edges. Without a flange its tip is the
//! inside of the foot, and the corners of fillet and flange lie along the inside of the face; one that runs
//! outboard is joined to that.

use super::{FaceStyle, FootKind, Section, Top};
use crate::math::{Point2, Vector2};
use std::ops::Range;

/// Edges of a face that is not straight.
pub const FACE_EDGES: usize = 10;
/// Corners of the fillet, ends included.
const FILLET_CORNERS: usize = 5;
/// Face kept straight above a fillet where the gap is short (mm).
const FACE_ABOVE_FILLET_MM: f64 = 4.0;
/// Least straight inside of the face that still makes a section (mm).
pub const LEAST_FACE_MM: f64 = 0.8;
/// Corners of a foot without flange lie on this much of the inside of the face (mm), or on this share of its
/// lowest edge.
const LOW_MM: f64 = 4.0;
const LOW_SHARE: f64 = 0.6;
/// Room between the usable hidden face and the fillet or the knee (mm).
const HIDDEN_ROOM_MM: f64 = 1.0;
/// The usable hidden face leaves the inside of a bowed face by no more than this (mm): glue fills it.
const HIDDEN_SAG_MM: f64 = 0.4;

/// Which corner of an outline is what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Corners {
    lip: bool,
    face: usize,
    foot: FootKind,
}

impl Corners {
    /// The numbering that goes with a kind of top, a style of face and a kind of foot.
    pub fn of(top: Top, style: FaceStyle, foot: FootKind) -> Self {
        let face = match style {
            FaceStyle::Straight => 1,
            FaceStyle::Bowed | FaceStyle::Tangent => FACE_EDGES,
        };
        Self {
            lip: top.has_lip(),
            face,
            foot,
        }
    }

    /// The numbering of a section that has been made.
    pub fn read(top: Top, section: &Section) -> Self {
        let outside = section.finished.len();
        Self {
            lip: top.has_lip(),
            face: outside
                .saturating_sub(1 + usize::from(top.has_lip()))
                .max(1),
            foot: FootKind::Inboard,
        }
    }

    /// The numbering of a section with this outside.
    pub fn of_outside(outside: &Outside) -> Self {
        Self {
            lip: outside.lip.is_some(),
            face: outside.between.len() + 1,
            foot: outside.kind,
        }
    }

    /// Outside corner of the foot.
    pub const FOOT: usize = 3;

    /// Top of the visible face.
    pub fn knee(self) -> usize {
        Self::FOOT + self.face
    }

    /// Last corner of the outside: the top.
    pub fn top(self) -> usize {
        self.knee() + usize::from(self.lip)
    }

    /// The inside of the knee.
    pub fn inner_knee(self) -> usize {
        self.top() + 1 + usize::from(self.lip)
    }

    /// First corner of the fillet, on the face.
    pub fn fillet(self) -> usize {
        self.inner_knee() + self.face
    }

    /// Last corner of the fillet, on the flange.
    pub fn fillet_end(self) -> usize {
        self.fillet() + FILLET_CORNERS - 1
    }

    /// How many corners there are.
    #[cfg(test)]
    pub fn count(self) -> usize {
        self.fillet_end() + 3
    }

    /// Corners that are sharp on the outside: away from them the wall has its thickness.
    pub fn sharp(self) -> Vec<usize> {
        let mut sharp = vec![0, Self::FOOT, self.knee()];
        if self.lip {
            sharp.push(self.top());
        }
        sharp
    }

    /// Outside edges and the inside edges across the wall from them, by the corner they start at:
    /// face, lip (empty under a land), flange (empty where there is none).
    pub fn walls(self) -> [(Range<usize>, Range<usize>); 3] {
        let (knee, end) = (self.knee(), self.fillet_end());
        let lip = if self.lip {
            (knee..knee + 1, knee + 2..knee + 3)
        } else {
            (0..0, 0..0)
        };
        let face = (Self::FOOT..knee, self.inner_knee()..self.fillet());
        let flange = match self.foot {
            FootKind::Inboard => (0..2, end..end + 2),
            FootKind::Outboard | FootKind::None => (0..0, 0..0),
        };
        [face, lip, flange]
    }

    /// Triangles that close an outline. The strip of the wall is cut across from each outside corner to
    /// the inside one, and the foot's corner fans to the fillet, so they hold for every section.
    pub fn cap(self) -> Vec<[u32; 3]> {
        let (fillet, end) = (self.fillet(), self.fillet_end());
        let count = end + 3;
        let mut cap = Vec::new();
        let mut quad = |a: usize, b: usize, c: usize, d: usize| {
            cap.push([a, b, c].map(|i| i as u32));
            cap.push([a, c, d].map(|i| i as u32));
        };
        for outside in Self::FOOT..self.top() {
            let inside = fillet - (outside - Self::FOOT);
            quad(outside, outside + 1, inside - 1, inside);
        }
        // Parted so that they hold for a foot without flange too, whose inner corners lie in one line.
        let flange = [
            [0, 1, count - 1],
            [1, count - 2, count - 1],
            [1, 2, count - 2],
            [2, end, count - 2],
            [2, Self::FOOT, end],
        ];
        cap.extend(flange.map(|t| t.map(|i| i as u32)));
        for i in fillet..end {
            cap.push([Self::FOOT as u32, i as u32, i as u32 + 1]);
        }
        cap
    }
}

/// The outside of a section, before the wall has its thickness.
#[derive(Debug, Clone, PartialEq)]
pub struct Outside {
    /// Tip of the flange's underside.
    pub tip: Point2,
    /// A point of the underside between tip and foot.
    pub middle: Point2,
    /// A point of the underside near where the fillet ends.
    pub near: Point2,
    /// Foot of the face, on the tray.
    pub foot: Point2,
    /// What stands on the tray: where it is the wall alone, tip, middle and near only give the tray's slope.
    pub kind: FootKind,
    /// Corners of the face between foot and knee; none where it is straight.
    pub between: Vec<Point2>,
    /// Top of the visible face.
    pub knee: Point2,
    /// Top of the lip, where there is one.
    pub lip: Option<Point2>,
}

impl Outside {
    /// The visible face, from the foot to the knee.
    pub fn face(&self) -> impl DoubleEndedIterator<Item = Point2> + '_ {
        std::iter::once(self.foot)
            .chain(self.between.iter().copied())
            .chain(std::iter::once(self.knee))
    }

    /// First edge of the face, from the foot.
    pub fn first_edge(&self) -> [Point2; 2] {
        [
            self.foot,
            self.between.first().copied().unwrap_or(self.knee),
        ]
    }

    /// Last edge of the face, to the knee.
    pub fn last_edge(&self) -> [Point2; 2] {
        [self.between.last().copied().unwrap_or(self.foot), self.knee]
    }

    /// The face at a share of its height.
    pub fn face_at(&self, share: f64) -> Point2 {
        let height = self.foot.y + (self.knee.y - self.foot.y) * share;
        let corners: Vec<Point2> = self.face().collect();
        for pair in corners.windows(2) {
            let [a, b] = [pair[0], pair[1]];
            if height <= b.y && b.y > a.y {
                return a + (b - a) * ((height - a.y) / (b.y - a.y)).clamp(0.0, 1.0);
            }
        }
        self.knee
    }
}

/// Wall thickness as it is measured in the station plane (mm): more than the wall itself where the
/// surface runs askew to the plane.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneWall {
    /// Across the face at its corners, from the foot to the knee.
    pub face: Vec<f64>,
    /// Across the lip.
    pub lip: f64,
    /// Across the flange.
    pub flange: f64,
}

/// The inside of the face, from where the flange's top meets it to the inner knee.
fn inner_face_line(outside: &Outside, wall: &PlaneWall) -> Vec<Point2> {
    let face: Vec<Point2> = outside.face().collect();
    let wall_at = |k: usize| wall.face.get(k).copied().unwrap_or(0.0);
    let last = face.len() - 1;
    let mut line: Vec<Point2> = vec![face[0]];
    line.extend((1..last).map(|k| face[k] + corner_way(&face, k) * wall_at(k)));
    line.push(inner_knee(outside, wall_at(last), wall.lip));
    let [foot, up] = outside.first_edge();
    let start = foot + inward(up - foot) * wall_at(0);
    let toward = if last == 1 {
        up + inward(up - foot) * wall_at(last)
    } else {
        line[1]
    };
    line[0] = over_flange(outside, wall, start, toward - start);
    line
}

/// From a corner of a line that runs up, the way to the corner of the line set back by one on its left.
pub fn corner_way(line: &[Point2], k: usize) -> Vector2 {
    let (a, b) = (inward(line[k] - line[k - 1]), inward(line[k + 1] - line[k]));
    (a + b) / (1.0 + a.dot(&b)).max(0.2)
}

/// Height of the inside left for fillet and face (mm), from the flange to the inner knee.
pub fn inner_face(outside: &Outside, wall: &PlaneWall) -> f64 {
    let line = inner_face_line(outside, wall);
    line[line.len() - 1].y - line[0].y
}

/// Radius of the fillet that fits (mm), at most `wanted`.
pub fn fitting_fillet(outside: &Outside, wall: &PlaneWall, wanted: f64) -> f64 {
    let line = inner_face_line(outside, wall);
    let face = line[line.len() - 1].y - line[0].y;
    let flange = line[0].x - outside.tip.x;
    let radius = wanted
        .min((face - FACE_ABOVE_FILLET_MM).max(0.25 * face))
        .min(0.4 * flange);
    // Its upper end stays on the first edge of the inside.
    let edge = line[1] - line[0];
    let along = outside.middle + across_flange(outside, wall) - line[0];
    let half = 0.5 * along.angle(&edge);
    radius.min(0.9 * edge.norm() * half.tan()).max(0.05)
}

/// Gives the outside its wall, a `fillet` (mm) and its usable hidden face; `finished` is what shows once
/// everything is on it.
pub fn build(
    s: f64,
    outside: &Outside,
    wall: &PlaneWall,
    fillet: f64,
    finished: Vec<Point2>,
) -> Section {
    let inside = inner_face_line(outside, wall);
    let (corner, knee) = (inside[0], inside[inside.len() - 1]);
    let across = across_flange(outside, wall);
    let (tip, middle) = (outside.tip + across, outside.middle + across);

    let mut outline = match outside.kind {
        FootKind::Inboard => vec![outside.tip, outside.middle, outside.near],
        FootKind::Outboard | FootKind::None => [0.0, 1.0 / 3.0, 2.0 / 3.0]
            .map(|share| corner + (outside.foot - corner) * share)
            .to_vec(),
    };
    outline.extend(outside.face());
    if let Some(lip) = outside.lip {
        let across = inward(lip - outside.knee) * wall.lip;
        outline.extend([lip, lip + across]);
    }
    outline.push(knee);
    outline.extend(inside[1..inside.len() - 1].iter().rev());
    let arc = match outside.kind {
        FootKind::Inboard => {
            let arc = fillet_arc(corner, inside[1] - corner, middle - corner, fillet);
            outline.extend(arc);
            outline.extend([middle, tip]);
            arc
        }
        FootKind::Outboard | FootKind::None => {
            let edge = inside[1] - corner;
            let low = (LOW_SHARE * edge.norm()).min(LOW_MM) / edge.norm().max(1e-9);
            let count = FILLET_CORNERS + 2;
            let up = |k: usize| corner + edge * (low * (count - k) as f64 / count as f64);
            outline.extend((0..count).map(up));
            std::array::from_fn(up)
        }
    };
    let mut line = inside;
    line[0] = arc[0];
    Section {
        s,
        outline,
        hidden_face: hidden_face(&line),
        finished,
        outboard: None,
    }
}

/// The straight stretch of the inside that a joint may sit on, from its lower to its upper end. Along a
/// bowed face it is the middle of it, and lies on what stands furthest inboard.
fn hidden_face(line: &[Point2]) -> [Point2; 2] {
    let (first, last) = (line[0], line[line.len() - 1]);
    let at = |height: f64| {
        line.windows(2)
            .find(|pair| height <= pair[1].y)
            .map_or(last, |pair| {
                let rise = (pair[1].y - pair[0].y).max(1e-9);
                pair[0] + (pair[1] - pair[0]) * ((height - pair[0].y) / rise).clamp(0.0, 1.0)
            })
    };
    let mean = 0.5 * (first.y + last.y);
    let mut half = (0.5 * (last.y - first.y) - HIDDEN_ROOM_MM).max(0.0);
    if half == 0.0 {
        return [at(mean); 2];
    }
    loop {
        let ends = [at(mean - half), at(mean + half)];
        let run = ends[1] - ends[0];
        let Some(way) = run.try_normalize(1e-9) else {
            return ends;
        };
        let square = inward(way);
        let off = line
            .iter()
            .filter(|p| (p.y - mean).abs() < half)
            .map(|p| (p - ends[0]).dot(&square))
            .fold([0.0f64; 2], |[least, most], v| [least.min(v), most.max(v)]);
        if off[1] - off[0] <= HIDDEN_SAG_MM || half < HIDDEN_ROOM_MM {
            return ends.map(|p| p + square * off[1]);
        }
        half *= 0.9;
    }
}

/// Unit normal to the inside of an outside edge that runs along `run`: to its left.
pub fn inward(run: Vector2) -> Vector2 {
    Vector2::new(-run.y, run.x)
        .try_normalize(1e-12)
        .unwrap_or_else(|| -Vector2::x())
}

/// From the underside of the flange to its top.
fn across_flange(outside: &Outside, wall: &PlaneWall) -> Vector2 {
    let run = outside.foot - outside.tip;
    Vector2::new(0.0, wall.flange * run.norm() / run.x.max(1e-9))
}

/// Where the flange's top meets the inside of the face that runs through `start` along `up`.
fn over_flange(outside: &Outside, wall: &PlaneWall, start: Point2, up: Vector2) -> Point2 {
    let across = across_flange(outside, wall);
    let base = outside.foot + across;
    let back = outside.near - outside.foot;
    let turn = back.perp(&up);
    if turn.abs() < 1e-9 {
        return start;
    }
    start - up * (back.perp(&(start - base)) / turn)
}

/// Top of the inside of the face: mitred under a lip, level under a land. Where the lip hardly leans away
/// from the face the two walls hardly meet, so there the mitre takes the mean of both.
fn inner_knee(outside: &Outside, face: f64, wall_lip: f64) -> Point2 {
    const UPRIGHT: f64 = 0.1;
    let [below, knee] = outside.last_edge();
    let up = (knee - below)
        .try_normalize(1e-12)
        .unwrap_or_else(Vector2::y);
    let square = inward(up);
    let Some(lip) = outside.lip else {
        return knee - Vector2::new(face / (-square.x).max(0.2), 0.0);
    };
    let across = inward(lip - knee);
    let both = across + square;
    let mitre = 0.5 * (face + wall_lip) / (0.5 * both.norm_squared()).max(0.1);
    let at = knee + square * face + up * (both.dot(&up) * mitre);
    let short = wall_lip - across.dot(&(at - knee));
    let lean = across.dot(&up);
    let shift = short * lean / (lean * lean + UPRIGHT * UPRIGHT);
    at + up * shift.clamp(-wall_lip, wall_lip)
}

/// Corners of the fillet between the face that runs up from `corner` and the flange running off `along`.
pub fn fillet_arc(
    corner: Point2,
    up: Vector2,
    along: Vector2,
    radius: f64,
) -> [Point2; FILLET_CORNERS] {
    let flange = along.try_normalize(1e-12).unwrap_or_else(|| -Vector2::x());
    let up = up.try_normalize(1e-12).unwrap_or_else(Vector2::y);
    let angle = flange.dot(&up).clamp(-0.9, 0.9).acos();
    let back = radius / (0.5 * angle).tan();
    let centre = corner + (flange + up).normalize() * (radius / (0.5 * angle).sin());
    let (from, to) = (corner + up * back - centre, corner + flange * back - centre);
    let sweep = from.perp(&to).atan2(from.dot(&to));
    std::array::from_fn(|i| {
        let turn = sweep * i as f64 / (FILLET_CORNERS - 1) as f64;
        centre + nalgebra::Rotation2::new(turn) * from
    })
}

#[cfg(test)]
#[path = "section_tests.rs"]
mod tests;
