//! The panel's outline in one station plane.
//!
//! Corners, anticlockwise from the flange's tip: three along the underside, the foot, the knee (only
//! under a lip), the two of the top, the inner knee, the fillet from face to flange, two back along
//! the flange.

use super::{Section, Top};
use crate::math::{Point2, Vector2};
use std::ops::Range;

/// Corners of the fillet, ends included.
const FILLET_CORNERS: usize = 5;
/// Face kept straight above a fillet where the gap is short (mm).
const FACE_ABOVE_FILLET_MM: f64 = 4.0;
/// Least straight inside of the face that still makes a section (mm).
pub const LEAST_FACE_MM: f64 = 0.8;
/// Room between the usable hidden face and the fillet or the knee (mm).
const HIDDEN_ROOM_MM: f64 = 1.0;

/// Which corner of an outline is what.
#[derive(Debug, Clone, Copy)]
pub struct Corners {
    lip: bool,
}

impl Corners {
    /// The numbering that goes with a kind of top.
    pub fn of(top: Top) -> Self {
        Self {
            lip: top == Top::Tucked,
        }
    }

    /// Outside corner of the foot.
    pub const FOOT: usize = 3;

    /// Last corner of the outside: the top.
    pub fn top(self) -> usize {
        if self.lip { 5 } else { 4 }
    }

    /// First corner of the fillet, on the face.
    pub fn fillet(self) -> usize {
        if self.lip { 8 } else { 6 }
    }

    /// Last corner of the fillet, on the flange.
    fn fillet_end(self) -> usize {
        self.fillet() + FILLET_CORNERS - 1
    }

    /// How many corners there are.
    pub fn count(self) -> usize {
        self.fillet_end() + 3
    }

    /// Corners that are sharp on the outside: away from them the wall has its thickness.
    pub fn sharp(self) -> Vec<usize> {
        let mut sharp = vec![0, Self::FOOT, 4];
        if self.lip {
            sharp.push(5);
        }
        sharp
    }

    /// Outside edges and the inside edges across the wall from them, by the corner they start at:
    /// face, lip (empty under a land), flange.
    pub fn walls(self) -> [(Range<usize>, Range<usize>); 3] {
        let (fillet, end) = (self.fillet(), self.fillet_end());
        let lip = if self.lip { (4..5, 6..7) } else { (0..0, 0..0) };
        [(3..4, fillet - 1..fillet), lip, (0..2, end..end + 2)]
    }

    /// Triangles that close an outline. The strip of the wall is cut across from each outside corner to
    /// the inside one, and the foot's corner fans to the fillet, so they hold for every section.
    pub fn cap(self) -> Vec<[u32; 3]> {
        let (fillet, end, count) = (self.fillet(), self.fillet_end(), self.count());
        let mut cap = Vec::new();
        let mut quad = |a: usize, b: usize, c: usize, d: usize| {
            cap.push([a, b, c].map(|i| i as u32));
            cap.push([a, c, d].map(|i| i as u32));
        };
        quad(0, 1, count - 2, count - 1);
        quad(1, 2, end, count - 2);
        for outside in Self::FOOT..self.top() {
            let inside = fillet - (outside - Self::FOOT);
            quad(outside, outside + 1, inside - 1, inside);
        }
        cap.push([2, Self::FOOT as u32, end as u32]);
        for i in fillet..end {
            cap.push([Self::FOOT as u32, i as u32, i as u32 + 1]);
        }
        cap
    }
}

/// The outside of a section, before the wall has its thickness.
#[derive(Debug, Clone, Copy)]
pub struct Outside {
    /// Tip of the flange's underside.
    pub tip: Point2,
    /// A point of the underside between tip and foot.
    pub middle: Point2,
    /// A point of the underside near where the fillet ends.
    pub near: Point2,
    /// Foot of the face, on the tray.
    pub foot: Point2,
    /// Top of the vertical face.
    pub knee: Point2,
    /// Top of the lip, where there is one.
    pub lip: Option<Point2>,
}

/// Wall thickness as it is measured in the station plane (mm): more than the wall itself where the
/// surface runs askew to the plane.
#[derive(Debug, Clone, Copy)]
pub struct PlaneWall {
    /// Across the face.
    pub face: f64,
    /// Across the lip.
    pub lip: f64,
    /// Across the flange.
    pub flange: f64,
}

/// Length of straight inside left for fillet and face (mm), from the flange to the inner knee.
pub fn inner_face(outside: &Outside, wall: PlaneWall) -> f64 {
    inner_knee(outside, wall).y - inner_corner(outside, wall).y
}

/// Radius of the fillet that fits (mm), at most `wanted`.
pub fn fitting_fillet(outside: &Outside, wall: PlaneWall, wanted: f64) -> f64 {
    let face = inner_face(outside, wall);
    let flange = inner_corner(outside, wall).x - outside.tip.x;
    wanted
        .min((face - FACE_ABOVE_FILLET_MM).max(0.25 * face))
        .min(0.4 * flange)
        .max(0.05)
}

/// Gives the outside its wall, a `fillet` (mm) and its usable hidden face.
pub fn build(s: f64, outside: &Outside, wall: PlaneWall, fillet: f64) -> Section {
    let knee = inner_knee(outside, wall);
    let corner = inner_corner(outside, wall);
    let across = across_flange(outside, wall);
    let (tip, middle) = (outside.tip + across, outside.middle + across);

    let mut outline = vec![
        outside.tip,
        outside.middle,
        outside.near,
        outside.foot,
        outside.knee,
    ];
    if let Some(lip) = outside.lip {
        let across = inward(lip - outside.knee) * wall.lip;
        outline.extend([lip, lip + across]);
    }
    outline.push(knee);
    let arc = fillet_arc(corner, middle - corner, fillet);
    outline.extend(arc);
    outline.extend([middle, tip]);

    let (low, high) = (arc[0].y + HIDDEN_ROOM_MM, knee.y - HIDDEN_ROOM_MM);
    let (low, high) = if low < high {
        (low, high)
    } else {
        let mean = 0.5 * (arc[0].y + knee.y);
        (mean, mean)
    };
    Section {
        s,
        outline,
        hidden_face: [Point2::new(corner.x, low), Point2::new(corner.x, high)],
    }
}

/// Unit normal to the inside of an outside edge that runs along `run`: to its left.
fn inward(run: Vector2) -> Vector2 {
    Vector2::new(-run.y, run.x)
        .try_normalize(1e-12)
        .unwrap_or_else(|| -Vector2::x())
}

/// From the underside of the flange to its top.
fn across_flange(outside: &Outside, wall: PlaneWall) -> Vector2 {
    let run = outside.foot - outside.tip;
    Vector2::new(0.0, wall.flange * run.norm() / run.x.max(1e-9))
}

/// Where the flange's top meets the inside of the face, before the fillet.
fn inner_corner(outside: &Outside, wall: PlaneWall) -> Point2 {
    let back = (outside.foot.x - outside.near.x).max(1e-9);
    let share = wall.face / back;
    let under = outside.foot.y + (outside.near.y - outside.foot.y) * share;
    Point2::new(outside.foot.x - wall.face, under) + across_flange(outside, wall)
}

/// Top of the inside of the face: mitred under a lip, square under a land. Where the lip hardly leans
/// the two walls hardly meet, so there the mitre takes the mean of both.
fn inner_knee(outside: &Outside, wall: PlaneWall) -> Point2 {
    const UPRIGHT: f64 = 0.1;
    let x = outside.knee.x - wall.face;
    let Some(lip) = outside.lip else {
        return Point2::new(x, outside.knee.y);
    };
    let across = inward(lip - outside.knee);
    let both = across - Vector2::x();
    let mitre = 0.5 * (wall.face + wall.lip) / (0.5 * both.norm_squared()).max(0.1);
    let at = Point2::new(x, outside.knee.y + both.y * mitre);
    let short = wall.lip - across.dot(&(at - outside.knee));
    let shift = short * across.y / (across.y * across.y + UPRIGHT * UPRIGHT);
    Point2::new(x, at.y + shift.clamp(-wall.lip, wall.lip))
}

/// Corners of the fillet between the vertical face above `corner` and the flange running off `along`.
fn fillet_arc(corner: Point2, along: Vector2, radius: f64) -> [Point2; FILLET_CORNERS] {
    let flange = along.try_normalize(1e-12).unwrap_or_else(|| -Vector2::x());
    let up = Vector2::y();
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
mod tests {
    use super::*;

    fn outside(lip: Option<Point2>) -> Outside {
        Outside {
            tip: Point2::new(-25.0, 0.0),
            middle: Point2::new(-15.0, 0.0),
            near: Point2::new(-6.0, 0.0),
            foot: Point2::new(0.0, 0.0),
            knee: Point2::new(0.0, 40.0),
            lip,
        }
    }

    const WALL: PlaneWall = PlaneWall {
        face: 3.0,
        lip: 3.0,
        flange: 3.0,
    };

    fn area(outline: &[Point2]) -> f64 {
        let n = outline.len();
        (0..n)
            .map(|i| outline[i].coords.perp(&outline[(i + 1) % n].coords))
            .sum::<f64>()
            / 2.0
    }

    #[test]
    fn an_upright_section_has_the_area_of_its_parts() {
        let section = build(0.0, &outside(None), WALL, 3.0);
        assert_eq!(section.outline.len(), Corners::of(Top::Butted).count());
        // Flange, face, and what four chords of the fillet leave of a square less a quarter circle.
        let chords = 9.0 - 4.0 * 0.5 * 9.0 * (std::f64::consts::FRAC_PI_8).sin();
        assert!((area(&section.outline) - (25.0 * 3.0 + 37.0 * 3.0 + chords)).abs() < 1e-9);
        assert_eq!(
            section.hidden_face,
            [Point2::new(-3.0, 7.0), Point2::new(-3.0, 39.0)]
        );
    }

    #[test]
    fn the_cap_covers_the_outline() {
        let leaned = Point2::new(-4.0, 50.0);
        for (top, lip) in [(Top::Butted, None), (Top::Tucked, Some(leaned))] {
            let corners = Corners::of(top);
            let outline = build(0.0, &outside(lip), WALL, 3.0).outline;
            assert_eq!(outline.len(), corners.count());
            let pieces: Vec<f64> = corners
                .cap()
                .iter()
                .map(|t| area(&t.map(|i| outline[i as usize])))
                .collect();
            assert!(pieces.iter().all(|&a| a > 0.0), "{pieces:?}");
            assert!((pieces.iter().sum::<f64>() - area(&outline)).abs() < 1e-9);
            assert_eq!(pieces.len(), outline.len() - 2);
        }
    }

    #[test]
    fn the_wall_across_a_lip_is_what_was_asked() {
        for x in [-6.0, 0.0, 3.0] {
            let lip = Point2::new(x, 50.0);
            let section = build(0.0, &outside(Some(lip)), WALL, 3.0);
            let along = (lip - Point2::new(0.0, 40.0)).normalize();
            for inner in [6, 7] {
                let wall = along.perp(&(section.outline[inner] - lip));
                assert!((wall - 3.0).abs() < 1e-9, "{x}: corner {inner} {wall}");
            }
        }
    }

    #[test]
    fn a_short_face_gets_a_smaller_fillet() {
        let mut short = outside(None);
        short.knee.y = 8.0;
        assert!((fitting_fillet(&short, WALL, 3.0) - 1.25).abs() < 1e-9);
        let section = build(0.0, &short, WALL, 1.25);
        assert!(section.hidden_face[0].y <= section.hidden_face[1].y);
        assert!(area(&section.outline) > 0.0);
    }
}
