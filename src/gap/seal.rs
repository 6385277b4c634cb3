//! What a seal or a lip takes up, and the seal that takes up what the survey does not know.

use super::Station;
use super::uncertainty::of_the_fit;

/// How far the clear height over the panel may be from what was meant (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Larger by so much.
    pub opens: f64,
    /// Smaller by so much.
    pub closes: f64,
}

/// Least and most of its free height by which a foam seal is squeezed (makers' data sheets for closed-cell
/// sponge strip): less leaks, more takes a set.
const SQUEEZE: [f64; 2] = [0.15, 0.50];
/// The squeeze at which it seals best, from the same sheets.
const BEST_SQUEEZE: f64 = 0.40;
/// A lip stays at least this far behind the edge (mm). Common practice, no source.
const LEAST_LAP: f64 = 3.0;
/// Thicknesses foam strip is sold in (mm). Common practice, no source.
const THICKNESSES: [f64; 8] = [3.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0];
/// Share of the edge that has to stay within the seal's working range.
pub const SHARE: f64 = 0.95;

impl Room {
    /// Of a foam seal with a free height of `free`, squeezed to `squeezed` (mm).
    #[must_use]
    pub fn of_foam(free: f64, squeezed: f64) -> Self {
        Self {
            opens: (1.0 - SQUEEZE[0]) * free - squeezed,
            closes: squeezed - (1.0 - SQUEEZE[1]) * free,
        }
    }

    /// Of a lip that runs `lap` mm up behind the edge.
    #[must_use]
    pub fn of_lip(lap: f64) -> Self {
        let half = lap - LEAST_LAP;
        Self {
            opens: half,
            closes: half,
        }
    }

    /// What is left on the tighter side (mm); below zero where there is none.
    #[must_use]
    pub fn least(&self) -> f64 {
        self.opens.min(self.closes)
    }

    /// Half of the whole (mm): what packing of the right thickness leaves on either side.
    #[must_use]
    pub fn half(&self) -> f64 {
        0.5 * (self.opens + self.closes)
    }
}

/// A foam seal to use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seal {
    /// Its free height (mm).
    pub free_mm: f64,
    /// The height to leave for it (mm): the middle of its working range, with the same room either way.
    pub middle_mm: f64,
    /// The height at which it seals best (mm), for when readings have settled the gap.
    pub best_mm: f64,
    /// What it takes up either way from the middle (mm).
    pub half_mm: f64,
}

impl Seal {
    /// The seal of a free height (mm).
    #[must_use]
    pub fn of(free_mm: f64) -> Self {
        let [least, most] = SQUEEZE;
        Self {
            free_mm,
            middle_mm: (1.0 - 0.5 * (least + most)) * free_mm,
            best_mm: (1.0 - BEST_SQUEEZE) * free_mm,
            half_mm: 0.5 * (most - least) * free_mm,
        }
    }
}

/// What the seal has to take up either way (mm): the expanded uncertainty of the fit that [`SHARE`] of the
/// stations do not exceed. `None` without stations.
#[must_use]
pub fn needed_room(stations: &[Station]) -> Option<f64> {
    least_that_covers(stations.iter().map(|s| 2.0 * of_the_fit(s.sigma)))
}

/// The thinnest usual foam whose working range covers the survey's uncertainty at [`SHARE`] of the
/// stations; `None` where no usual one does.
#[must_use]
pub fn choose_seal(stations: &[Station]) -> Option<Seal> {
    let needed = needed_room(stations)?;
    let seals = THICKNESSES.into_iter().map(Seal::of);
    seals.into_iter().find(|seal| seal.half_mm >= needed)
}

/// The shortest lip, in whole mm, that stays behind the edge at [`SHARE`] of the stations.
#[must_use]
pub fn choose_lap(stations: &[Station]) -> Option<f64> {
    Some((needed_room(stations)? + LEAST_LAP).ceil())
}

/// The smallest value that at least [`SHARE`] of the values do not exceed.
pub fn least_that_covers(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    let count = (SHARE * values.len() as f64).ceil() as usize;
    values.get(count.checked_sub(1)?).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Foam works from 15 to 50 % of compression: 10 mm foam covers 5.0 to 8.5 mm.
    #[test]
    fn ten_millimetre_foam_covers_five_to_eight_and_a_half() {
        let room = Room::of_foam(10.0, 6.0);
        assert!((6.0 + room.opens - 8.5).abs() < 1e-12);
        assert!((6.0 - room.closes - 5.0).abs() < 1e-12);
        let seal = Seal::of(10.0);
        assert!((seal.middle_mm - 6.75).abs() < 1e-12 && (seal.half_mm - 1.75).abs() < 1e-12);
        assert!((seal.best_mm - 6.0).abs() < 1e-12);
        let room = Room::of_foam(10.0, seal.middle_mm);
        assert!((room.opens - room.closes).abs() < 1e-12 && (room.half() - 1.75).abs() < 1e-12);
    }

    #[test]
    fn nineteen_of_twenty_are_covered_and_none_of_none() {
        let values = || (1..=20).map(f64::from);
        assert_eq!(least_that_covers(values()), Some(19.0));
        assert_eq!(least_that_covers(values().take(1)), Some(1.0));
        assert_eq!(least_that_covers(std::iter::empty()), None);
    }
}
