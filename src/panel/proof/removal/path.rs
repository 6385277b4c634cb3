//! Ways for the tray to come off: named lists of moves.

use super::Moment;
use crate::gap::Front;
use crate::math::{Point3, Vector3};
use crate::mesh::sweep::Motion;
use nalgebra::Isometry3;
use std::cmp::Ordering;

/// A side of the tray, as the maker who faces the gap sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Toward the maker.
    Outer,
    /// Away from the maker.
    Inner,
    /// To the maker's left.
    Left,
    /// To the maker's right.
    Right,
}

impl Side {
    /// As a sentence names it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Outer => "outer",
            Self::Inner => "inner",
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// One move of what comes off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Move {
    /// Straight (shop frame, mm).
    Shift(Vector3),
    /// One side goes down, about a level line at the opposite end of the panel.
    Tilt {
        /// The side that goes down.
        lower: Side,
        /// How far (rad).
        angle: f64,
        /// How far beyond the panel's opposite end the line lies (mm).
        beyond: f64,
    },
}

/// A way for the tray to come off.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// Its name.
    pub name: String,
    /// What is done, in order.
    pub moves: Vec<Move>,
}

/// What the ways that are tried by default depend on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sizes {
    /// How far down brings everything clear of the body (mm).
    pub drop: f64,
    /// How far the panel's top reaches up past the body's edge (mm); negative where it stays under it.
    pub overlap: f64,
}

/// Shortest drop that is tried (mm).
const LEAST_DROP_MM: f64 = 40.0;
/// Room left under the edge before a tray that was let down is drawn out (mm).
const UNDER_MM: f64 = 5.0;
/// How far out the tray is drawn before it is let down, and when it is drawn out alone (mm): a hand's
/// breadth, and past the panel's flange. Common practice, no source.
const OUT_MM: [f64; 2] = [60.0, 150.0];
/// A tilt that one person holds on to. Common practice, no source.
const TILT_DEG: f64 = 6.0;

/// The ways tried where the job names none.
pub(super) fn usual_paths(sizes: &Sizes, front: Option<Front>) -> Vec<Path> {
    let shift = |x: f64, z: f64| Move::Shift(Vector3::new(x, 0.0, -z));
    let drop = sizes.drop.max(LEAST_DROP_MM);
    let little = sizes.overlap.max(0.0) + UNDER_MM;
    let path = |name: &str, moves: Vec<Move>| Path {
        name: name.to_owned(),
        moves,
    };
    let mut paths = vec![
        path("straight down", vec![shift(0.0, drop)]),
        path(
            "down a little, then out",
            vec![shift(0.0, little), shift(OUT_MM[1], 0.0)],
        ),
        path(
            "out, then down",
            vec![shift(OUT_MM[0], 0.0), shift(0.0, drop)],
        ),
        path(
            "outer edge down, then out and down",
            vec![
                Move::Tilt {
                    lower: Side::Outer,
                    angle: TILT_DEG.to_radians(),
                    beyond: 0.0,
                },
                shift(OUT_MM[0], 0.5 * drop),
                shift(0.0, drop),
            ],
        ),
    ];
    // Toward the maker is the same as out.
    if let Some(front) = front.filter(|front| *front != Front::Toward) {
        paths.push(path(
            "forward, then down",
            vec![Move::Shift(front.direction() * OUT_MM[0]), shift(0.0, drop)],
        ));
    }
    paths
}

impl Path {
    /// What it has done at a moment, for a panel in this box (shop frame, mm).
    #[must_use]
    pub fn pose(&self, panel: (Point3, Point3), moment: Moment) -> Isometry3<f64> {
        let mut at = Isometry3::identity();
        for (k, step) in self.moves.iter().enumerate() {
            match k.cmp(&moment.step) {
                Ordering::Less => at = step.motion(panel).after(1.0) * at,
                Ordering::Equal => at = step.motion(panel).after(moment.share) * at,
                Ordering::Greater => break,
            }
        }
        at
    }

    /// Its moves in words.
    #[must_use]
    pub fn words(&self) -> String {
        let words: Vec<String> = self.moves.iter().map(Move::words).collect();
        words.join(", then ")
    }
}

impl Move {
    /// The motion in the shop frame, for a panel in this box.
    pub(super) fn motion(&self, (low, high): (Point3, Point3)) -> Motion {
        match *self {
            Self::Shift(by) => Motion::Shift(by),
            Self::Tilt {
                lower,
                angle,
                beyond,
            } => {
                let (x, y, axis) = match lower {
                    Side::Outer => (low.x - beyond, 0.0, Vector3::y_axis()),
                    Side::Inner => (high.x + beyond, 0.0, -Vector3::y_axis()),
                    Side::Left => (0.0, high.y + beyond, Vector3::x_axis()),
                    Side::Right => (0.0, low.y - beyond, -Vector3::x_axis()),
                };
                Motion::Turn {
                    point: Point3::new(x, y, 0.0),
                    axis,
                    angle,
                }
            }
        }
    }

    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        match *self {
            Self::Shift(by) => {
                let parts: Vec<String> = [
                    (by.x, "out", "in"),
                    (-by.z, "down", "up"),
                    (by.y, "right", "left"),
                ]
                .into_iter()
                .filter(|(mm, ..)| mm.abs() >= 0.05)
                .map(|(mm, way, back)| {
                    format!("{:.0} mm {}", mm.abs(), if mm > 0.0 { way } else { back })
                })
                .collect();
                if parts.is_empty() {
                    "no move".to_owned()
                } else {
                    parts.join(" and ")
                }
            }
            Self::Tilt { lower, angle, .. } => format!(
                "{} edge down by {:.0}\u{b0}",
                lower.word(),
                angle.to_degrees()
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_side_named_goes_down_and_the_other_stays() {
        let panel = (
            Point3::new(-40.0, -300.0, 0.0),
            Point3::new(5.0, 300.0, 50.0),
        );
        let ends: [(Side, [f64; 2], [f64; 2]); 4] = [
            (Side::Outer, [5.0, 0.0], [-40.0, 0.0]),
            (Side::Inner, [-40.0, 0.0], [5.0, 0.0]),
            (Side::Left, [0.0, -300.0], [0.0, 300.0]),
            (Side::Right, [0.0, 300.0], [0.0, -300.0]),
        ];
        for (lower, down, stays) in ends {
            let tilt = Move::Tilt {
                lower,
                angle: 0.1,
                beyond: 0.0,
            };
            let end = tilt.motion(panel).after(1.0);
            let at = |p: [f64; 2]| (end * Point3::new(p[0], p[1], 0.0)).z;
            let arm = (down[0] - stays[0]).hypot(down[1] - stays[1]);
            assert!((at(down) + arm * 0.1f64.sin()).abs() < 1e-9, "{lower:?}");
            assert!(at(stays).abs() < 1e-9, "{lower:?}");
        }
    }

    #[test]
    fn moves_read_as_a_maker_says_them() {
        let shift = Move::Shift(Vector3::new(30.0, 0.0, -12.0));
        assert_eq!(shift.words(), "30 mm out and 12 mm down");
        assert_eq!(
            Move::Shift(Vector3::new(-5.0, -2.0, 0.0)).words(),
            "5 mm in and 2 mm left"
        );
        let tilt = Move::Tilt {
            lower: Side::Outer,
            angle: 6f64.to_radians(),
            beyond: 0.0,
        };
        assert_eq!(tilt.words(), "outer edge down by 6\u{b0}");
    }
}
