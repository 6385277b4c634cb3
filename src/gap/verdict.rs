//! Go, shim or rescan, before anything is read on the vehicle: what the uncertainty budget says about a
//! seal.

use super::Station;
pub use super::readings::Verdict;
use super::seal::{Footing, Room, SHARE, Stretch, needed_room, stretches_beyond, worst_stretch};
use crate::diag::Finding;

/// What is to be expected of a fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// The answer.
    pub verdict: Verdict,
    /// What 95 % of the edge needs either way (mm).
    pub needs_mm: f64,
    /// What it would need without what packing takes out (mm).
    pub wanders_mm: f64,
    /// What the seal or lip has.
    pub room: Room,
    /// First and last arc length of what to scan again (mm), where the answer is rescan.
    pub stretch: Option<[f64; 2]>,
    /// Where the rest of the edge, the few per cent of it the answer does not speak of, needs more than
    /// there is; empty where the answer is rescan.
    pub beyond: Vec<Stretch>,
}

/// Judges the budget of a survey against the room its seal or lip has.
///
/// **Go** if what the fit needs at 95 % of the stations is within the room on its tighter side. **Shim** if
/// that holds for what changes along the edge alone and half of the whole room: packing takes out the rest. Else **rescan**. `None` without stations.
#[must_use]
pub fn expect(stations: &[Station], room: Room, footing: Footing) -> Option<Outlook> {
    let needs_mm = needed_room(stations, footing)?;
    let wanders_mm = needed_room(stations, Footing::Readings)?;
    let verdict = if needs_mm <= room.least() {
        Verdict::Go
    } else if wanders_mm <= room.half() {
        Verdict::Shim
    } else {
        Verdict::Rescan
    };
    let stretch = match verdict {
        Verdict::Rescan => worst_stretch(stations, Footing::Readings, room.half()),
        _ => None,
    };
    let beyond = match verdict {
        Verdict::Go => stretches_beyond(stations, footing, room.least()),
        Verdict::Shim => stretches_beyond(stations, Footing::Readings, room.half()),
        Verdict::Rescan => Vec::new(),
    };
    Some(Outlook {
        verdict,
        needs_mm,
        wanders_mm,
        room,
        stretch,
        beyond,
    })
}

impl Outlook {
    /// A warning where the gap is known too badly for the seal or lip, in an edge that is else known well
    /// enough.
    #[must_use]
    pub fn finding(&self) -> Option<Finding> {
        let most = self.beyond.iter().map(|s| s.most_mm).reduce(f64::max)?;
        let room = match self.verdict {
            Verdict::Shim => self.room.half(),
            Verdict::Go | Verdict::Rescan => self.room.least(),
        };
        Some(
            Finding::warning(
                "gap-little-known",
                format!(
                    "a step of the edge or a hole in the scan is here: the fit is known to \u{b1} {most:.1} mm only, and the seal or lip takes up {:.1} mm",
                    room.max(0.0)
                ),
                "before you print, hold the paper template to the edge here and read the gap on both sides of the step; where they differ, scan this place again from nearer",
            )
            .at_all(self.beyond.iter().map(|stretch| stretch.most_at))
            .size(most),
        )
    }

    /// Why, in one sentence.
    #[must_use]
    pub fn reason(&self) -> String {
        let share = 100.0 * SHARE;
        let (needs, wanders) = (self.needs_mm, self.wanders_mm);
        let (least, half) = (self.room.least().max(0.0), self.room.half().max(0.0));
        match self.verdict {
            Verdict::Go => format!(
                "over {share:.0} % of the edge the fit is known to \u{b1} {needs:.1} mm, and the seal or lip takes up {least:.1} mm either way"
            ),
            Verdict::Shim => format!(
                "the fit is known to \u{b1} {needs:.1} mm, more than the {least:.1} mm there are on the tighter side; most of that is the same all along, and with packing of the right thickness \u{b1} {wanders:.1} mm are left for {half:.1} mm of room: read the gaps and run verify"
            ),
            Verdict::Rescan => format!(
                "the gap is not known along the edge to better than \u{b1} {wanders:.1} mm even with packing, and the seal or lip takes up {half:.1} mm either way: scan again, or choose a thicker seal"
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gap::seal::choose_seal;
    use crate::gap::{Budget, Quality};
    use crate::math::{Point3, Vector3};

    fn stations(budget: impl Fn(f64) -> Budget) -> Vec<Station> {
        let at = |i: u32| {
            let s = f64::from(i) * 5.0;
            let budget = budget(s);
            Station {
                s,
                edge: Point3::new(0.0, s, 30.0),
                silhouette: Point3::new(3.0, s, 33.0),
                tray: Point3::new(0.0, s, 0.0),
                tray_normal: Vector3::z(),
                lean: 0.0,
                gap: 30.0,
                sigma: budget.combined(),
                budget,
                quality: Quality::Good,
            }
        };
        (0..200).map(at).collect()
    }

    fn known_to(noise: f64, rounding: f64) -> Budget {
        Budget {
            noise,
            rounding,
            ..Budget::default()
        }
    }

    /// Half a working range of 1.75 mm: 10 mm foam at its middle height.
    fn room() -> Room {
        Room::of_foam(10.0, 6.75)
    }

    #[test]
    fn a_survey_well_within_the_seal_is_a_go() {
        let found = expect(&stations(|_| known_to(0.5, 0.3)), room(), Footing::Scans).unwrap();
        assert_eq!(found.verdict, Verdict::Go);
        // Two of what is common, and 1.645 of the rest with the print's 0.2 mm over the root of three.
        let by_hand = 2.0 * 0.3 + 1.645 * (0.25 + 0.04 / 3.0f64).sqrt();
        assert!((found.needs_mm - by_hand).abs() < 1e-12);
        assert_eq!(found.stretch, None);
    }

    #[test]
    fn what_is_off_as_a_whole_is_shimmed_and_after_readings_it_is_out() {
        let stations = stations(|_| known_to(0.5, 1.2));
        let found = expect(&stations, room(), Footing::Scans).unwrap();
        assert_eq!(found.verdict, Verdict::Shim);
        assert!(found.reason().contains("verify"));
        let found = expect(&stations, room(), Footing::Readings).unwrap();
        assert_eq!(found.verdict, Verdict::Go);
    }

    /// Three stations in 200 beside a step: 95 % of the edge is a go, and the step is told.
    #[test]
    fn a_step_in_an_edge_that_is_else_known_is_told() {
        let step = |s: f64| match s {
            400.0..=410.0 => known_to(3.0, 0.3),
            _ => known_to(0.5, 0.3),
        };
        let found = expect(&stations(step), room(), Footing::Scans).unwrap();
        assert_eq!(found.verdict, Verdict::Go);
        let finding = found.finding().unwrap();
        assert_eq!(finding.code, "gap-little-known");
        assert_eq!(finding.stations().collect::<Vec<_>>(), [400.0]);
        let by_hand = 2.0 * (9.0 + 0.04 / 3.0f64).sqrt();
        assert!(
            (finding.size_mm.unwrap() - by_hand).abs() < 0.3,
            "{finding:?}"
        );
        let calm = expect(&stations(|_| known_to(0.5, 0.3)), room(), Footing::Scans);
        assert_eq!(calm.unwrap().finding(), None);
    }

    #[test]
    fn what_wanders_is_scanned_again_and_the_stretch_is_named() {
        let lost = |s: f64| {
            known_to(
                if (400.0..=500.0).contains(&s) {
                    1.5
                } else {
                    0.4
                },
                0.2,
            )
        };
        let found = expect(&stations(lost), room(), Footing::Scans).unwrap();
        assert_eq!(found.verdict, Verdict::Rescan);
        assert_eq!(found.stretch, Some([400.0, 500.0]));
        // The same over less than a twentieth of the edge does no harm.
        let lost = |s: f64| {
            known_to(
                if (400.0..=440.0).contains(&s) {
                    1.5
                } else {
                    0.4
                },
                0.2,
            )
        };
        let found = expect(&stations(lost), room(), Footing::Scans).unwrap();
        assert_eq!(found.verdict, Verdict::Go);
    }

    /// 20 mm foam is 13.5 mm at the middle of its range: more than half of a gap of 18 mm, less than half of
    /// one of 30.
    #[test]
    fn a_seal_that_would_fill_the_gap_is_no_choice() {
        let mut stations = stations(|_| known_to(0.5, 1.2));
        let chosen = choose_seal(&stations, Footing::Scans).unwrap();
        assert_eq!(chosen.free_mm, 20.0);
        stations[7].gap = 18.0;
        assert_eq!(choose_seal(&stations, Footing::Scans), None);
        // With the readings a thin one does.
        assert!(choose_seal(&stations, Footing::Readings).unwrap().free_mm < 10.0);
    }

    #[test]
    fn a_seal_squeezed_to_its_limit_has_no_room_on_one_side() {
        let stations = stations(|_| known_to(0.2, 0.1));
        let found = expect(&stations, Room::of_foam(3.0, 1.5), Footing::Scans).unwrap();
        assert_eq!(found.verdict, Verdict::Shim);
        assert_eq!(expect(&[], room(), Footing::Scans), None);
    }
}
