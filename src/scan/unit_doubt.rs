//! When scans make no gap, the unit is the first thing to doubt.

use super::read::read_mesh;
use super::scene::size_of;
use super::unit::guess_unit;
use super::{ScanOptions, Unit};
use crate::diag::Problem;
use std::path::Path;

/// The same problem, with what speaks against the unit the job gives in front of what to do.
///
/// The files are read again for it: what cannot be used gets no further than this.
#[must_use]
pub fn doubt_unit(mut problem: Problem, options: &ScanOptions) -> Problem {
    let doubts: Vec<String> = [
        (&options.body, options.body_unit, "body"),
        (&options.tray, options.tray_unit, "tray"),
    ]
    .into_iter()
    .filter_map(|(path, asked, part)| doubt(path, asked, part))
    .collect();
    if !doubts.is_empty() {
        problem.hint = format!(
            "look at the unit first: {}; otherwise {}",
            doubts.join(", and "),
            problem.hint
        );
    }
    problem
}

/// What speaks against the unit of one scan.
fn doubt(path: &Path, asked: Option<Unit>, part: &str) -> Option<String> {
    let raw = read_mesh(path).ok().filter(|raw| raw.unit.is_none())?;
    let size = size_of(&raw.mesh);
    let guess = guess_unit(size);
    let long = |unit: Unit| format!("{:.2} m", longest_m(size, unit));
    let Some(asked) = asked else {
        let guess = guess?;
        let (taken, other) = (guess.unit, *guess.others.first()?);
        return Some(format!(
            "the {part}'s scan was taken to be in {}, {} long, and could be in {}, {}",
            taken.name(),
            long(taken),
            other.name(),
            long(other)
        ));
    };
    let likelier = guess.map(|guess| guess.unit);
    // What is refused for its unit alone needs no second word on it.
    if likelier == Some(asked) || impossible(size, asked, part).is_some() {
        return None;
    }
    let would_be = likelier.map_or_else(String::new, |unit| {
        format!(", in {} it would be {}", unit.name(), long(unit))
    });
    let (unit, is) = (asked.name(), long(asked));
    Some(format!(
        "in {unit} the {part}'s scan is {is} long{would_be}"
    ))
}

/// Longest side of the box round a scan (m).
fn longest_m(size_in_file_units: [f64; 3], unit: Unit) -> f64 {
    let longest = size_in_file_units.into_iter().fold(0.0, f64::max);
    longest * unit.millimetres() / 1000.0
}

/// A scan that no vehicle has room for, in the unit the job gives; nothing else need be tried.
pub(super) fn impossible(size: [f64; 3], asked: Unit, part: &str) -> Option<Problem> {
    let long = longest_m(size, asked);
    if long <= MOST_M {
        return None;
    }
    let what = format!(
        "the job says that the {part}'s scan is in {}, and that makes it {long:.0} m long",
        asked.name()
    );
    let hint = match guess_unit(size) {
        Some(guess) => format!(
            "write \"{}\" in its place under [scan], which makes it {:.2} m long; or leave the unit out",
            guess.unit.symbol(),
            longest_m(size, guess.unit)
        ),
        None => "compare one length with a tape, then set the unit in the job".to_owned(),
    };
    Some(Problem::new(what, hint))
}

/// Longer than this (m) is no scan a phone takes. Common practice, no source.
const MOST_M: f64 = 40.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_that_no_vehicle_has_room_for_is_refused_with_the_one_that_fits() {
        let size = [778.0, 400.0, 220.0];
        let refused = |unit: Unit| impossible(size, unit, "body");
        let problem = refused(Unit::Metre).unwrap();
        assert!(
            problem
                .what
                .contains("is in metres, and that makes it 778 m long")
        );
        assert!(
            problem.hint.contains("write \"mm\" in its place") && problem.hint.contains("0.78 m")
        );
        for unit in [Unit::Millimetre, Unit::Centimetre, Unit::Inch] {
            assert!(refused(unit).is_none(), "{unit:?}");
        }
    }

    #[test]
    fn a_problem_with_scans_of_an_unlikely_unit_names_the_unit_first() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("body.stl");
        let corner = |x: f64, y: f64| format!("vertex {x} {y} 0\n");
        let facet = [corner(0.0, 0.0), corner(780.0, 0.0), corner(0.0, 300.0)].concat();
        std::fs::write(
            &path,
            format!(
                "solid a\nfacet normal 0 0 1\nouter loop\n{facet}endloop\nendfacet\nendsolid a\n"
            ),
        )
        .unwrap();
        let doubted = |asked: Option<Unit>| doubt(&path, asked, "body");
        let say = doubted(Some(Unit::Centimetre)).unwrap();
        assert_eq!(
            say,
            "in centimetres the body's scan is 7.80 m long, in millimetres it would be 0.78 m"
        );
        assert_eq!(doubted(Some(Unit::Millimetre)), None);
        // Refused for the unit alone.
        assert_eq!(doubted(Some(Unit::Metre)), None);
        // 780 could be 7.8 m in centimetres: rivals are told where the unit was a guess.
        let say = doubted(None).unwrap();
        assert!(
            say.contains(
                "taken to be in millimetres, 0.78 m long, and could be in centimetres, 7.80 m"
            ),
            "{say}"
        );
        assert_eq!(doubt(&folder.path().join("none.stl"), None, "body"), None);
    }
}
