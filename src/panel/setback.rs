//! How far the inside of a section is set back from the outside, so that the wall is what was asked
//! square to the real surface and not in the station plane.

use super::loft::Loft;
use super::section::PlaneWall;
use super::stance::Stance;
use crate::math::{Point2, Spine, StationFrame, Vector2, Vector3};
use crate::mesh::nearest::Nearest;

/// The wall in the station plane is not stretched further than this for a surface that runs askew.
const MOST_STRETCH: f64 = 1.5;
/// Share of the stretch that is added to the wall: where the outside begins to run askew it is creased,
/// and a wall measured from there is a little less than one measured from the inside.
const ASKEW_MORE: f64 = 0.25;
/// Rounds of moving the inside until the outside is a wall away, and how near is near enough (mm).
const ROUNDS: usize = 8;
const EPSILON_MM: f64 = 1e-4;

/// Wall in the station plane (mm) at every section.
///
/// Face and lip are set back until the closest point of the outside's surface is `wall_mm` away: that
/// holds where the outside bends as well. The flange is flat enough to go by its slope alone.
pub fn plane_walls(stances: &[Stance], spine: &Spine, wall_mm: f64) -> Vec<PlaneWall> {
    let surface = |edge: usize| {
        let outlines: Vec<(f64, Vec<Point2>)> = stances
            .iter()
            .map(|stance| {
                let outside = &stance.outside;
                let lip = outside.lip.unwrap_or(outside.knee);
                (stance.s, vec![outside.foot, outside.knee, lip])
            })
            .collect();
        let placed = outlines.iter().map(|(s, corners)| (*s, corners.as_slice()));
        Nearest::new(&Loft::new(spine, placed, &[]).strip(edge..edge + 1))
    };
    let has_lip = stances.iter().any(|stance| stance.outside.lip.is_some());
    let (face, lip) = (surface(0), if has_lip { surface(1) } else { None });
    (0..stances.len())
        .map(|i| {
            let Stance { frame, outside, .. } = &stances[i];
            let askew = |run: Vector2, at: fn(&Stance) -> Point2| askew(stances, i, run, at);
            let up = Vector2::y();
            let along_lip = outside.lip.unwrap_or(outside.knee) - outside.knee;
            let at_end = i == 0 || i + 1 == stances.len();
            let set_back =
                |surface: &Option<Nearest>, from: Point2, run: Vector2, stretch: f64| match surface
                {
                    Some(surface) if !at_end => solve(surface, frame, from, run, stretch, wall_mm),
                    _ => wall_mm * stretch,
                };
            PlaneWall {
                face: set_back(
                    &face,
                    nalgebra::center(&outside.foot, &outside.knee),
                    up,
                    askew(up, |stance| stance.outside.knee),
                ),
                lip: set_back(
                    &lip,
                    middle_of_lip(&stances[i]),
                    along_lip,
                    askew(along_lip, middle_of_lip),
                ),
                flange: wall_mm * askew(outside.near - outside.tip, |stance| stance.outside.middle),
            }
        })
        .collect()
}

fn middle_of_lip(stance: &Stance) -> Point2 {
    let outside = &stance.outside;
    nalgebra::center(&outside.knee, &outside.lip.unwrap_or(outside.knee))
}

/// Moves a point inward from `from` in the station plane until the surface is a wall away.
fn solve(
    surface: &Nearest,
    frame: &StationFrame,
    from: Point2,
    run: Vector2,
    stretch: f64,
    wall_mm: f64,
) -> f64 {
    let Some(run) = run.try_normalize(1e-9) else {
        return wall_mm;
    };
    let inward = Vector2::new(-run.y, run.x);
    let aim = wall_mm * (1.0 + ASKEW_MORE * (stretch - 1.0));
    let mut back = wall_mm * stretch;
    for _ in 0..ROUNDS {
        let short = aim - surface.distance(frame.to_shop(from + inward * back));
        back = (back + short * stretch).clamp(wall_mm, MOST_STRETCH * wall_mm);
        if short.abs() < EPSILON_MM {
            break;
        }
    }
    back
}

/// How much longer the way through the wall is in the station plane than square to the surface at
/// section `i`, where the surface holds the direction `run` in the plane and the chord to the next
/// section out of it: the larger of both sides.
fn askew(stances: &[Stance], i: usize, run: Vector2, at: fn(&Stance) -> Point2) -> f64 {
    let here = &stances[i];
    let before = i.checked_sub(1).and_then(|k| stances.get(k));
    before
        .into_iter()
        .chain(stances.get(i + 1))
        .map(|other| {
            let chord = other.frame.to_shop(at(other)) - here.frame.to_shop(at(here));
            stretch(&here.frame, run, chord)
        })
        .fold(1.0, f64::max)
}

fn stretch(frame: &StationFrame, run: Vector2, chord: Vector3) -> f64 {
    let lift = |v: Vector2| frame.outward * v.x + Vector3::z() * v.y;
    let Some(run) = run.try_normalize(1e-9) else {
        return 1.0;
    };
    let square = lift(Vector2::new(-run.y, run.x));
    match lift(run).cross(&chord).try_normalize(1e-12) {
        Some(normal) => (1.0 / normal.dot(&square).abs().max(1e-3)).min(MOST_STRETCH),
        None => 1.0,
    }
}
