//! Where a station lies on the vehicle: by a tape along the body's edge, from either end.

use crate::diag::Finding;
use crate::gap::readings::Ruler;
use crate::output::Run;

/// A soft tape laid along the body's edge.
pub struct Tape<'a> {
    ruler: Ruler<'a>,
    stations: Vec<f64>,
}

impl<'a> Tape<'a> {
    /// `None` for a survey without length.
    #[must_use]
    pub fn lay(run: Run<'a>) -> Option<Self> {
        let survey = &run.measured.survey;
        Some(Self {
            ruler: Ruler::new(survey, run.measured.scene.body.spacing_mm)?,
            stations: survey.stations.iter().map(|st| st.s).collect(),
        })
    }

    /// Distance of a station along the edge from its left and from its right end (mm).
    #[must_use]
    pub fn off_ends(&self, s: f64) -> [f64; 2] {
        let after = self.stations.partition_point(|&at| at < s);
        let before = after.saturating_sub(1);
        let [a, b] = [before, after].map(|i| self.ruler.at_index(i));
        let at = |i: usize| self.stations.get(i).copied();
        let along = match (at(before), at(after)) {
            (Some(p), Some(q)) if q > p => a + (b - a) * ((s - p) / (q - p)).clamp(0.0, 1.0),
            (Some(_), _) => a,
            _ => b,
        };
        [along, self.ruler.length() - along].map(|mm| mm.max(0.0))
    }

    /// The place of a station in words.
    #[must_use]
    pub fn words(&self, s: f64) -> String {
        let [left, right] = self.off_ends(s);
        // Adding zero keeps "-0" off the page.
        let s = s.round() + 0.0;
        format!(
            "station {s:.0} mm: along the edge {left:.0} mm from its left end, {right:.0} mm from its right"
        )
    }

    /// A stretch in words.
    #[must_use]
    pub fn stretch(&self, [from, to]: [f64; 2]) -> String {
        let [a, b] = [from, to].map(|s| self.off_ends(s)[0]);
        format!(
            "station {from:.0} to {to:.0} mm, on the vehicle {a:.0} to {b:.0} mm along the edge from its left end"
        )
    }
}

/// Every place of a finding in words; `None` for one that is about no place. Without a tape, its stations.
#[must_use]
pub fn places(finding: &Finding, tape: Option<&Tape<'_>>) -> Option<String> {
    let words = |s: f64| match tape {
        Some(tape) => tape.words(s),
        None => format!("station {:.0} mm", s.round() + 0.0),
    };
    let all: Vec<String> = finding.stations().map(words).collect();
    (!all.is_empty()).then(|| all.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::sample;

    /// The sample's edge is an arc about one centre with the spine, so distances along both go by their radii.
    #[test]
    fn a_station_is_found_with_a_tape_from_either_end() {
        let measured = sample::measured();
        let tape = Tape::lay((&measured).into()).unwrap();
        let stations = &measured.survey.stations;
        let (first, last) = (stations[0].s, stations[stations.len() - 1].s);
        let whole = tape.off_ends(last)[0];
        assert_eq!(tape.off_ends(first), [0.0, whole]);
        let middle = tape.off_ends((first + last) / 2.0);
        assert!(
            (middle[0] / whole - 0.5).abs() < 0.01,
            "{middle:?} of {whole}"
        );
        for s in [first - 5.0, 123.4, last + 5.0] {
            let [left, right] = tape.off_ends(s);
            assert!((left + right - whole).abs() < 1e-9);
        }
        assert!(tape.words(first).contains("0 mm from its left end"));
    }
}
