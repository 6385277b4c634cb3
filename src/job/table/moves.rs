//! `[[move]]`: ways for the tray to come off.

use super::Clash;
use super::list::List;
use crate::gap::Front;
use crate::job::entry::Entry;
use crate::math::Vector3;
use crate::panel::proof::removal::{Move, Path, Side};

const SIDES: &[(&str, Option<Side>)] = &[
    ("none", None),
    ("outer", Some(Side::Outer)),
    ("inner", Some(Side::Inner)),
    ("left", Some(Side::Left)),
    ("right", Some(Side::Right)),
];
/// Longest straight move, either way (mm).
const FAR_MM: [f64; 2] = [-2000.0, 2000.0];

/// One `[[move]]` as the job writes it.
pub(super) struct MoveDraft {
    path: String,
    out: f64,
    down: f64,
    right: f64,
    forward: f64,
    lower: Option<Side>,
    tilt_deg: f64,
    hinge: f64,
}

impl Default for MoveDraft {
    fn default() -> Self {
        Self {
            path: "as named in the job".to_owned(),
            out: 0.0,
            down: 0.0,
            right: 0.0,
            forward: 0.0,
            lower: None,
            tilt_deg: 0.0,
            hinge: 0.0,
        }
    }
}

fn entries(m: &mut MoveDraft) -> Vec<Entry<'_>> {
    vec![
        Entry::text(
            "path",
            &mut m.path,
            "The way this move belongs to; moves of one name follow each other.",
        ),
        Entry::length("out_mm", &mut m.out, FAR_MM, "How far toward you."),
        Entry::length("down_mm", &mut m.down, FAR_MM, "How far down."),
        Entry::length("right_mm", &mut m.right, FAR_MM, "How far to your right."),
        Entry::length(
            "forward_mm",
            &mut m.forward,
            FAR_MM,
            "How far toward the vehicle's front, which `front` names.",
        ),
        Entry::choice(
            "lower",
            &mut m.lower,
            SIDES,
            "The side that goes down in a tilt; the line it turns about is level, at the opposite end of the panel.",
        ),
        Entry::number(
            "tilt_deg",
            &mut m.tilt_deg,
            ([0.0, 45.0], "degrees"),
            "How far it tilts.",
        ),
        Entry::length(
            "hinge_mm",
            &mut m.hinge,
            [0.0, 5000.0],
            "How far beyond the panel's end that line lies.",
        ),
    ]
}

pub(super) fn list(into: &mut Vec<MoveDraft>) -> List<'_> {
    List::new(
        "move",
        into,
        entries,
        "A move by which the tray comes off, straight or a tilt; without any, the usual ways are tried.",
    )
}

impl MoveDraft {
    fn is_straight(&self) -> bool {
        [self.out, self.down, self.right, self.forward]
            .iter()
            .any(|mm| *mm != 0.0)
    }

    fn tilts(&self) -> bool {
        self.lower.is_some() || self.tilt_deg != 0.0 || self.hinge != 0.0
    }
}

pub(super) fn clashes(moves: &[MoveDraft], front: Option<Front>) -> Vec<Clash> {
    let mut found = Vec::new();
    for (i, m) in moves.iter().enumerate() {
        let number = i + 1;
        let mut clash = |key: &'static str, what: &str, hint: &'static str| {
            found.push(Clash {
                table: "move",
                key,
                what: format!("move {number} {what}"),
                hint,
            });
        };
        if m.forward != 0.0 && front.is_none() {
            clash(
                "forward_mm",
                "goes forward, and the job does not say where the front lies",
                "set front at the top of the job, or use out_mm and right_mm",
            );
        }
        match (m.is_straight(), m.tilts()) {
            (true, true) => clash(
                "lower",
                "is both straight and a tilt",
                "write two [[move]] tables, one after the other",
            ),
            (false, true) if m.lower.is_none() || m.tilt_deg == 0.0 => clash(
                "tilt_deg",
                "is half a tilt",
                "a tilt needs lower and tilt_deg",
            ),
            (false, false) => clash(
                "out_mm",
                "goes nowhere",
                "give it out_mm, down_mm, right_mm or forward_mm, or lower and tilt_deg",
            ),
            _ => {}
        }
    }
    found
}

/// The ways, in the order in which their names come up.
pub(super) fn finish(moves: Vec<MoveDraft>, front: Option<Front>) -> Vec<Path> {
    let mut paths: Vec<Path> = Vec::new();
    for m in moves {
        let step = match m.lower {
            Some(lower) => Move::Tilt {
                lower,
                angle: m.tilt_deg.to_radians(),
                beyond: m.hinge,
            },
            None => {
                let ahead = front.map_or_else(Vector3::zeros, Front::direction);
                Move::Shift(Vector3::new(m.out, m.right, -m.down) + ahead * m.forward)
            }
        };
        match paths.iter_mut().find(|path| path.name == m.path) {
            Some(path) => path.moves.push(step),
            None => paths.push(Path {
                name: m.path,
                moves: vec![step],
            }),
        }
    }
    paths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moves_of_one_name_follow_each_other_and_forward_follows_the_front() {
        let named = |path: &str| MoveDraft {
            path: path.to_owned(),
            ..MoveDraft::default()
        };
        let moves = vec![
            MoveDraft {
                forward: 30.0,
                down: 5.0,
                ..named("a")
            },
            MoveDraft {
                lower: Some(Side::Outer),
                tilt_deg: 90.0,
                hinge: 7.0,
                ..named("b")
            },
            MoveDraft {
                right: 4.0,
                ..named("a")
            },
        ];
        assert!(clashes(&moves, Some(Front::Left)).is_empty());
        let paths = finish(moves, Some(Front::Left));
        let [a, b] = &paths[..] else {
            panic!("{paths:?}");
        };
        // The front lies at the maker's left, which is -y.
        assert_eq!(
            a.moves,
            [[0.0, -30.0, -5.0], [0.0, 4.0, 0.0]].map(|v| Move::Shift(Vector3::from(v)))
        );
        let tilt = Move::Tilt {
            lower: Side::Outer,
            angle: std::f64::consts::FRAC_PI_2,
            beyond: 7.0,
        };
        assert_eq!(b.moves, [tilt]);
    }

    #[test]
    fn half_moves_are_told() {
        let moves = [
            MoveDraft {
                forward: 30.0,
                ..MoveDraft::default()
            },
            MoveDraft::default(),
            MoveDraft {
                tilt_deg: 3.0,
                ..MoveDraft::default()
            },
            MoveDraft {
                lower: Some(Side::Left),
                tilt_deg: 3.0,
                out: 1.0,
                ..MoveDraft::default()
            },
        ];
        let keys: Vec<&str> = clashes(&moves, None)
            .iter()
            .map(|clash| clash.key)
            .collect();
        assert_eq!(keys, ["forward_mm", "out_mm", "tilt_deg", "lower"]);
    }
}
