//! How far the inside of a section is set back from the outside, so that the wall is what was asked
//! square to the real surface and not in the station plane.

use super::FootKind;
use super::loft::Loft;
use super::section::{Outside, PlaneWall, corner_way, inward};
use super::stance::Stance;
use crate::math::{Point2, Spine, StationFrame, Vector2, Vector3};
use crate::mesh::nearest::Nearest;
use std::ops::Range;

/// The wall in the station plane is not stretched further than this for a surface that runs askew.
const MOST_STRETCH: f64 = 1.5;
/// Share of the stretch that is added to the wall: where the outside begins to run askew it is creased,
/// and a wall measured from there is a little less than one measured from the inside.
const ASKEW_MORE: f64 = 0.25;
/// Shares of the height at which the wall of a leaned face is settled.
const LOW: f64 = 0.15;
const HIGH: f64 = 0.85;
/// Rounds of moving the inside until the outside is a wall away, and how near is near enough (mm).
const ROUNDS: usize = 8;
const EPSILON_MM: f64 = 1e-4;

/// Wall in the station plane (mm) at every section.
///
/// Face and lip are set back until the closest point of the outside's surface is a wall away: that holds
/// where the outside bends as well. The flange is flat enough to go by its slope alone.
pub fn plane_walls(stances: &[Stance], spine: &Spine) -> Vec<PlaneWall> {
    let edges = stances
        .first()
        .map_or(1, |stance| stance.outside.between.len() + 1);
    let outlines: Vec<(f64, Vec<Point2>)> = stances
        .iter()
        .map(|Stance { s, outside, .. }| {
            let mut corners: Vec<Point2> = outside.face().collect();
            corners.push(outside.lip.unwrap_or(outside.knee));
            (*s, corners)
        })
        .collect();
    let surface = |edges: Range<usize>| {
        let placed = outlines.iter().map(|(s, corners)| (*s, corners.as_slice()));
        Nearest::new(&Loft::new(spine, placed, &[]).strip(edges))
    };
    let has_lip = stances.iter().any(|stance| stance.outside.lip.is_some());
    let face = surface(0..edges);
    let lip = if has_lip {
        surface(edges..edges + 1)
    } else {
        None
    };
    (0..stances.len())
        .map(|i| {
            let Stance {
                frame,
                outside,
                shape,
                ..
            } = &stances[i];
            let at_end = i == 0 || i + 1 == stances.len();
            let set_back = |surface: &Option<Nearest>,
                            from: Point2,
                            way: Vector2,
                            stretch,
                            wall| {
                match surface {
                    Some(surface) if !at_end => solve(surface, frame, from, way, stretch, wall),
                    _ => wall * stretch,
                }
            };
            let knee = |stance: &Stance| stance.outside.knee;
            // One edge of the face: how much longer its wall is in the plane.
            let edge = |[from, to]: [Point2; 2], askew: f64| {
                let wall = shape.wall_at(share(outside, nalgebra::center(&from, &to)));
                let way = inward(to - from);
                set_back(&face, nalgebra::center(&from, &to), way, askew, wall) / wall
            };
            let corners = &outlines[i].1;
            let mut walls = Vec::with_capacity(edges + 1);
            if edges == 1 {
                let run = outside.knee - outside.foot;
                if run.x == 0.0 {
                    let longer = edge(outside.first_edge(), askew(stances, i, run, &knee));
                    walls.extend([shape.wall * longer, shape.wall_top * longer]);
                } else {
                    // Where a lean changes along the spine the face is twisted: foot and top run askew by
                    // different amounts.
                    for (up, wall) in [(LOW, shape.wall), (HIGH, shape.wall_top)] {
                        let at = |stance: &Stance| stance.outside.face_at(up);
                        let askew = askew(stances, i, run, &at);
                        let asked = shape.wall_at(up);
                        let back = set_back(&face, at(&stances[i]), inward(run), askew, asked);
                        walls.push(wall * back / asked);
                    }
                }
            } else {
                let at = |k: usize| {
                    move |stance: &Stance| {
                        let corner = stance.outside.face().nth(k);
                        corner.unwrap_or(stance.outside.knee)
                    }
                };
                let along = |k: usize| corners[(k + 1).min(edges)] - corners[k.saturating_sub(1)];
                let askew_at = |k: usize| askew(stances, i, along(k), &at(k));
                walls.push(shape.wall * edge(outside.first_edge(), askew_at(0)));
                walls.extend((1..edges).map(|k| {
                    let wall = shape.wall_at(share(outside, corners[k]));
                    let way = corner_way(&corners[..=edges], k);
                    set_back(&face, corners[k], way, askew_at(k), wall)
                }));
                walls.push(shape.wall_top * edge(outside.last_edge(), askew_at(edges)));
            }
            let along_lip = outside.lip.unwrap_or(outside.knee) - outside.knee;
            let flange = askew(stances, i, outside.near - outside.tip, &|stance| {
                stance.outside.middle
            });
            PlaneWall {
                face: walls,
                lip: set_back(
                    &lip,
                    middle_of_lip(&stances[i]),
                    inward(along_lip),
                    askew(stances, i, along_lip, &middle_of_lip),
                    shape.wall_top,
                ),
                flange: match outside.kind {
                    FootKind::Inboard => shape.wall * flange,
                    FootKind::Outboard | FootKind::None => 0.0,
                },
            }
        })
        .collect()
}

/// How far up the face a place lies, as a share of its height.
fn share(outside: &Outside, at: Point2) -> f64 {
    (at.y - outside.foot.y) / (outside.knee.y - outside.foot.y).max(1e-9)
}

fn middle_of_lip(stance: &Stance) -> Point2 {
    let outside = &stance.outside;
    nalgebra::center(&outside.knee, &outside.lip.unwrap_or(outside.knee))
}

/// Moves a point from `from` along `way` in the station plane until the surface is a wall away.
fn solve(
    surface: &Nearest,
    frame: &StationFrame,
    from: Point2,
    way: Vector2,
    stretch: f64,
    wall_mm: f64,
) -> f64 {
    let aim = wall_mm * (1.0 + ASKEW_MORE * (stretch - 1.0));
    let mut back = wall_mm * stretch;
    for _ in 0..ROUNDS {
        let short = aim - surface.distance(frame.to_shop(from + way * back));
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
fn askew(stances: &[Stance], i: usize, run: Vector2, at: &dyn Fn(&Stance) -> Point2) -> f64 {
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

/// How much longer a way square to a surface is in the station plane than in space, where the surface
/// holds `run` in the plane and `chord` out of it.
pub fn stretch(frame: &StationFrame, run: Vector2, chord: Vector3) -> f64 {
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
