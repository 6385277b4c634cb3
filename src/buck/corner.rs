//! Corners of the face made round: hollow ones so that cloth lies down in them, raised ones as far as the
//! finished part does not show it.

use super::course::{Course, Row};
use crate::math::Point2;

/// Corners of a round, ends included.
const CORNERS: usize = 5;
/// A corner that turns less than this anywhere is left alone (rad).
const LEAST_TURN: f64 = 0.1;
/// Tangents of a round: no shorter (mm), and no more than this share of either edge.
const LEAST_TANGENT_MM: f64 = 0.3;
const MOST_TANGENT: f64 = 0.4;
/// How far the finished part may lie under a sharp corner because of its round (mm): a round under a
/// laminate of 2 mm that turns 20 degrees may have all of 3 mm, one that turns 90 stays sharp.
const SHOWS_MM: f64 = 0.12;

/// What a round is made for.
#[derive(Debug, Clone, Copy)]
pub struct Rounds {
    /// Least radius on the buck that the cloth takes (mm).
    pub cloth: f64,
    /// What goes on top of the buck (mm).
    pub on_top: f64,
}

/// A hollow corner was made round at a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eased {
    /// Arc length (mm).
    pub s: f64,
    /// How far the round lies over the corner (mm).
    pub over: f64,
}

/// The same face with rounds, and where hollow corners were filled. A corner that is a corner anywhere
/// becomes a round everywhere, so that all rows keep the same number of corners.
pub fn ease(face: &Course, rounds: Rounds) -> (Course, Vec<Eased>) {
    let count = face.rows.first().map_or(0, |row| row.points.len());
    let sharp: Vec<bool> = (0..count)
        .map(|j| {
            let turns = face.rows.iter().filter_map(|row| turn(&row.points, j));
            turns.map(f64::abs).fold(0.0, f64::max) > LEAST_TURN
        })
        .collect();
    let mut eased = Vec::new();
    let rows = face.rows.iter().map(|row| {
        let mut points = Vec::new();
        for (j, &p) in row.points.iter().enumerate() {
            match turn(&row.points, j).filter(|_| sharp.get(j) == Some(&true)) {
                None => points.push(p),
                Some(turn) => {
                    let round = round(&row.points, j, turn, rounds);
                    if turn < -LEAST_TURN {
                        let over = round.get(CORNERS / 2).map_or(0.0, |mid| (mid - p).norm());
                        eased.push(Eased { s: row.s, over });
                    }
                    points.extend(round);
                }
            }
        }
        Row { s: row.s, points }
    });
    let rows = rows.collect();
    (Course { rows }, eased)
}

/// How far a polyline that runs up turns inboard at an inner corner (rad): positive where it is raised.
fn turn(points: &[Point2], j: usize) -> Option<f64> {
    let (a, b, c) = (
        points.get(j.checked_sub(1)?)?,
        points.get(j)?,
        points.get(j + 1)?,
    );
    let (u, v) = (b - a, c - b);
    Some(u.perp(&v).atan2(u.dot(&v)))
}

fn round(points: &[Point2], j: usize, turn: f64, rounds: Rounds) -> Vec<Point2> {
    let corner = points[j];
    let (back, on) = (points[j - 1] - corner, points[j + 1] - corner);
    let half = 0.5 * turn.abs();
    let radius = if turn < 0.0 {
        rounds.cloth.max(rounds.on_top)
    } else {
        // A corner with the radius r under t of laminate shows (r + t) (1 / cos(half) - 1).
        let per_mm = (1.0 / half.cos().max(1e-6) - 1.0).max(1e-9);
        (SHOWS_MM / per_mm - rounds.on_top).clamp(0.0, rounds.cloth)
    };
    let most = MOST_TANGENT * back.norm().min(on.norm());
    let tangent = (radius * half.tan()).max(LEAST_TANGENT_MM).min(most);
    let (from, to) = (
        corner + back.normalize() * tangent,
        corner + on.normalize() * tangent,
    );
    // A circle as a rational curve of the second degree: the weight of its corner is the cosine of half
    // the turn.
    let weight = half.cos();
    (0..CORNERS)
        .map(|k| {
            let t = k as f64 / (CORNERS - 1) as f64;
            let [a, b, c] = [(1.0 - t) * (1.0 - t), 2.0 * weight * t * (1.0 - t), t * t];
            Point2::from((from.coords * a + corner.coords * b + to.coords * c) / (a + b + c))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn face(lean: f64) -> Course {
        let top = Point2::new(-20.0 * lean.sin(), 40.0 + 20.0 * lean.cos());
        let points = vec![Point2::new(0.0, 0.0), Point2::new(0.0, 40.0), top];
        Course {
            rows: vec![Row { s: 0.0, points }],
        }
    }

    #[test]
    fn a_hollow_corner_gets_the_radius_of_the_cloth() {
        let rounds = Rounds {
            cloth: 3.0,
            on_top: 2.0,
        };
        let (course, eased) = ease(&face(-0.8), rounds);
        // Centre at the cloth's radius outward of the upright edge, level with the round's start.
        let tangent = 3.0 * 0.4f64.tan();
        let centre = Point2::new(3.0, 40.0 - tangent);
        for p in &course.rows[0].points[1..6] {
            assert!(((p - centre).norm() - 3.0).abs() < 1e-9, "{p}");
        }
        assert!((eased[0].over - 3.0 * (1.0 / 0.4f64.cos() - 1.0)).abs() < 1e-9);
    }

    #[test]
    fn a_raised_corner_gives_no_more_than_does_not_show() {
        for lean in [0.2, 0.5, 1.2] {
            let rounds = Rounds {
                cloth: 3.0,
                on_top: 1.0,
            };
            let (course, eased) = ease(&face(lean), rounds);
            assert!(eased.is_empty());
            let nearest = course.rows[0]
                .points
                .iter()
                .map(|p| (p - Point2::new(0.0, 40.0)).norm());
            let gone = nearest.fold(f64::INFINITY, f64::min);
            assert!(
                gone < SHOWS_MM + 0.3 * (0.5 * lean).tan() + 1e-9,
                "{lean}: {gone}"
            );
        }
    }
}
