//! The tray in its further positions: the gap under the same edge, over the same stations.

use super::stations::foot_on_tray;
use super::tray::{TrayFit, fit_tray};
use super::{Budget, Front, Quality, Station, Survey, SurveyFault};
use crate::diag::Finding;
use crate::math::{Point2, Vector3};
use crate::mesh::TriMesh;
use rayon::prelude::*;

/// A named position of the tray, told from where it was scanned.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Position {
    /// The maker's name for it.
    pub name: String,
    /// Toward the vehicle's front (mm).
    pub forward_mm: f64,
    /// Up (mm).
    pub up_mm: f64,
}

impl Position {
    /// The way from where it was scanned (shop frame, mm).
    #[must_use]
    pub fn way(&self, front: Front) -> Vector3 {
        front.direction() * self.forward_mm + Vector3::z() * self.up_mm
    }
}

/// The tray in one position.
#[derive(Debug, Clone)]
pub struct Setting {
    /// The maker's name for it.
    pub name: String,
    /// The name as files carry it.
    pub word: String,
    /// The way from where it was scanned (shop frame, mm).
    pub way: Vector3,
    /// The gap there.
    pub survey: Survey,
}

/// The gap in each of the maker's positions. Positions that go neither forward nor back need no front.
///
/// # Errors
/// The name of the first position in which no tray lies under the edge.
pub fn set_out(
    survey: &Survey,
    (tray, spacing_mm): (&TriMesh, f64),
    positions: &[Position],
    front: Option<Front>,
) -> Result<Vec<Setting>, String> {
    let names: Vec<&str> = positions.iter().map(|p| p.name.as_str()).collect();
    let each: Vec<Result<Setting, String>> = (positions.par_iter())
        .zip(file_words(&names))
        .map(|(position, word)| {
            let way = match front {
                Some(front) => position.way(front),
                None => Vector3::z() * position.up_mm,
            };
            let mut moved =
                move_tray(survey, tray, spacing_mm, way).map_err(|_| position.name.clone())?;
            for finding in &mut moved.findings {
                finding.what = format!("position \"{}\": {}", position.name, finding.what);
            }
            Ok(Setting {
                name: position.name.clone(),
                word,
                way,
                survey: moved,
            })
        })
        .collect();
    // The first position in which none lies there, whatever thread came first.
    each.into_iter().collect()
}

/// A row of the tray this poorly seen tells nothing of a station there (share of its area).
const SEEN_SHARE: f64 = 0.15;
/// What is further from a row that is seen than this is carried across (mm), and further than half of it
/// is sparse.
const BRIDGED_MM: f64 = 25.0;
/// What is lost for each millimetre to the nearest row that is seen, past the first ten.
const LOST_PER_MM: f64 = 0.03;

/// The survey with the tray moved by `way` (shop frame, mm): the same edge, spine and stations, and the
/// gap along the normal of the moved tray from its surface, fitted anew.
///
/// What is under the edge of a moved tray need not have been seen: then the quality says so, and the
/// uncertainty grows. A finding names the stretch.
///
/// # Errors
/// [`SurveyFault::NoTray`] where nothing of the moved tray lies under the edge.
pub fn move_tray(
    survey: &Survey,
    tray: &TriMesh,
    spacing_mm: f64,
    way: Vector3,
) -> Result<Survey, SurveyFault> {
    let mut moved = tray.clone();
    // The fit looks near the shop plane, so the way up is added after it.
    for p in &mut moved.points {
        p.x += way.x;
        p.y += way.y;
    }
    let mut fit = fit_tray(&moved, &survey.spine, spacing_mm).ok_or(SurveyFault::NoTray)?;
    for row in &mut fit.strip.rows {
        row[0] += way.z;
    }
    let stations: Vec<Station> = survey
        .stations
        .iter()
        .map(|station| over(&fit, survey, station))
        .collect();
    if stations
        .iter()
        .all(|station| station.quality == Quality::Bridged)
    {
        return Err(SurveyFault::NoTray);
    }
    let findings = unseen(survey, &stations);
    Ok(Survey {
        spine: survey.spine.clone(),
        stations,
        edge_kind: survey.edge_kind,
        edge_radius_mm: survey.edge_radius_mm,
        tray: fit.strip,
        obstacles: fit.obstacles,
        findings,
    })
}

/// A station over the moved tray.
fn over(fit: &TrayFit, survey: &Survey, station: &Station) -> Station {
    let frame = survey.spine.frame_at(station.s);
    let Point2 { coords: edge } = frame.to_section(station.edge);
    let (tray, tray_normal) = foot_on_tray(fit, &frame, station.s, edge.x, edge.y);
    let gap = (station.edge - tray).dot(&tray_normal);
    let rows = fit.strip.along.iter().zip(&fit.seen);
    let distance = rows
        .filter(|&(_, &seen)| seen > SEEN_SHARE)
        .map(|(row, _)| (row - station.s).abs())
        .fold(f64::INFINITY, f64::min)
        .min(1e3);
    let lost = LOST_PER_MM * (distance - 10.0).max(0.0);
    let budget = Budget {
        bridging: station.budget.bridging.hypot(lost),
        scale: station.budget.scale * gap.abs() / station.gap.abs().max(1e-9),
        ..station.budget
    };
    let quality = match station.quality {
        Quality::Bridged => Quality::Bridged,
        _ if distance > BRIDGED_MM => Quality::Bridged,
        Quality::Good if distance > 0.5 * BRIDGED_MM => Quality::Sparse,
        other => other,
    };
    Station {
        tray,
        tray_normal,
        gap,
        sigma: budget.combined(),
        budget,
        quality,
        ..station.clone()
    }
}

/// A warning where the moved tray was not seen and the scanned one was.
fn unseen(survey: &Survey, stations: &[Station]) -> Vec<Finding> {
    let lost: Vec<f64> = survey
        .stations
        .iter()
        .zip(stations)
        .filter(|(before, after)| {
            after.quality == Quality::Bridged && before.quality != Quality::Bridged
        })
        .map(|(_, after)| after.s)
        .collect();
    let (Some(first), Some(last)) = (lost.first(), lost.last()) else {
        return Vec::new();
    };
    vec![
        Finding::warning(
            "position-unseen",
            format!("between {first:.0} and {last:.0} mm this position brings tray under the edge that was not scanned"),
            "scan more of the tray, to both sides and past the ends, or measure the gap there in this position",
        )
        .at(0.5 * (first + last))
        .size(last - first),
    ]
}

/// A letter without its accent, in small; `None` for what is no letter, digit or dash.
fn folded(c: char) -> Option<&'static str> {
    const PLAIN: &str = "abcdefghijklmnopqrstuvwxyz0123456789-";
    /// Latin letters with what they come to.
    const FOLDS: [(&str, &str); 21] = [
        (
            "\u{e0}\u{e1}\u{e2}\u{e3}\u{e4}\u{e5}\u{101}\u{103}\u{105}",
            "a",
        ),
        ("\u{e7}\u{107}\u{109}\u{10b}\u{10d}", "c"),
        ("\u{10f}\u{111}\u{f0}", "d"),
        (
            "\u{e8}\u{e9}\u{ea}\u{eb}\u{113}\u{115}\u{117}\u{119}\u{11b}",
            "e",
        ),
        ("\u{11d}\u{11f}\u{121}\u{123}", "g"),
        ("\u{125}\u{127}", "h"),
        (
            "\u{ec}\u{ed}\u{ee}\u{ef}\u{129}\u{12b}\u{12d}\u{12f}\u{131}",
            "i",
        ),
        ("\u{135}", "j"),
        ("\u{137}", "k"),
        ("\u{13a}\u{13c}\u{13e}\u{140}\u{142}", "l"),
        ("\u{f1}\u{144}\u{146}\u{148}", "n"),
        (
            "\u{f2}\u{f3}\u{f4}\u{f5}\u{f6}\u{f8}\u{14d}\u{14f}\u{151}",
            "o",
        ),
        ("\u{155}\u{157}\u{159}", "r"),
        ("\u{15b}\u{15d}\u{15f}\u{161}\u{219}", "s"),
        ("\u{163}\u{165}\u{167}\u{21b}", "t"),
        (
            "\u{f9}\u{fa}\u{fb}\u{fc}\u{169}\u{16b}\u{16d}\u{16f}\u{171}\u{173}",
            "u",
        ),
        ("\u{175}", "w"),
        ("\u{fd}\u{ff}\u{177}", "y"),
        ("\u{17a}\u{17c}\u{17e}", "z"),
        ("\u{df}", "ss"),
        ("\u{e6}", "ae"),
    ];
    let small = c.to_lowercase().next()?;
    if let Some(at) = PLAIN.find(small) {
        return PLAIN.get(at..=at);
    }
    let known = FOLDS.iter().find(|(letters, _)| letters.contains(small));
    known.map(|(_, plain)| *plain)
}

/// A name as files carry it: small letters without accents, digits, dashes, and one underscore for every run
/// of others between them.
fn file_word(name: &str) -> String {
    let mut word = String::new();
    let mut parted = false;
    for c in name.chars() {
        // An accent that stands as a sign of its own belongs to the letter before it.
        if ('\u{300}'..='\u{36f}').contains(&c) {
            continue;
        }
        let Some(plain) = folded(c) else {
            parted = true;
            continue;
        };
        if parted && !word.is_empty() {
            word.push('_');
        }
        parted = false;
        word.push_str(plain);
        if word.len() >= 40 {
            break;
        }
    }
    word
}

/// Names as files carry them; never empty, and each unlike the names before it.
#[must_use]
pub fn file_words(names: &[&str]) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for name in names {
        let word = match file_word(name) {
            word if word.is_empty() => "position".to_owned(),
            word => word,
        };
        let mut unlike = word.clone();
        let mut count = 2;
        while words.contains(&unlike) {
            unlike = format!("{word}_{count}");
            count += 1;
        }
        words.push(unlike);
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_words_that_differ() {
        assert_eq!(
            file_words(&["Race, low", "race low", "race: low", "../..", "", "!"]),
            [
                "race_low",
                "race_low_2",
                "race_low_3",
                "position",
                "position_2",
                "position_3"
            ]
        );
        assert_eq!(
            file_words(&[
                "H\u{f6}he 2 / oben",
                "Ho\u{308}he 3",
                "\u{c9}t\u{e9} -5",
                "(Stra\u{df}e)",
            ]),
            ["hohe_2_oben", "hohe_3", "ete_-5", "strasse"]
        );
    }

    #[test]
    fn forward_goes_to_the_front() {
        let position = Position {
            name: "out".into(),
            forward_mm: 25.0,
            up_mm: -3.0,
        };
        assert_eq!(position.way(Front::Left), Vector3::new(0.0, -25.0, -3.0));
    }
}
