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

    /// What a deviation of the clear height from what was meant leaves once this room has taken up its
    /// share (mm): open where positive, too tight where negative.
    #[must_use]
    pub fn residual(&self, off: f64) -> f64 {
        if off > self.opens {
            off - self.opens
        } else {
            (off + self.closes).min(0.0)
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

    /// The thinnest usual foam that follows a room that changes by `spread` (mm), with a tenth to spare at
    /// either end of its range.
    #[must_use]
    pub fn between(spread: f64) -> Option<Self> {
        let seals = THICKNESSES.into_iter().map(Self::of);
        let mut enough = seals.filter(|seal| 1.6 * seal.half_mm >= spread);
        enough.next()
    }
}

/// What the survey rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Footing {
    /// The scans alone.
    Scans,
    /// The scans, corrected by readings on the vehicle: what is off as a whole is out.
    Readings,
}

/// Two standard uncertainties to either side hold 95 % (GUM 6.3.3).
const BOTH_SIDES: f64 = 2.0;
/// So many to one side hold 95 % of a normal distribution.
const ONE_SIDE: f64 = 1.645;

/// What the seal has to take up either way at a station (mm). What is common to the whole edge is drawn
/// once, not anew at each station: it shifts the edge by up to two standard uncertainties, and about the
/// shifted edge the rest wanders, 95 % of it short of the room's nearer end.
fn needed_at(station: &Station, footing: Footing) -> f64 {
    let wanders = of_the_fit(station.budget.wandering());
    let alone = BOTH_SIDES * wanders;
    match footing {
        Footing::Readings => alone,
        Footing::Scans => alone.max(BOTH_SIDES * station.budget.common() + ONE_SIDE * wanders),
    }
}

/// What the seal has to take up either way (mm) at [`SHARE`] of the stations, the print's tolerance
/// included. `None` without stations.
#[must_use]
pub fn needed_room(stations: &[Station], footing: Footing) -> Option<f64> {
    let needed = |s| needed_at(s, footing);
    least_that_covers(stations.iter().map(needed))
}

/// A stretch of the edge where more is needed than there is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// First and last arc length (mm).
    pub along: [f64; 2],
    /// The most that is needed either way (mm).
    pub most_mm: f64,
    /// The arc length where that is (mm).
    pub most_at: f64,
    /// What is needed past the room, added up over its stations (mm).
    total_mm: f64,
}

/// The stretches where more than `room` is needed, from the left.
#[must_use]
pub fn stretches_beyond(stations: &[Station], footing: Footing, room: f64) -> Vec<Stretch> {
    let mut runs: Vec<Stretch> = Vec::new();
    for station in stations {
        let needed = needed_at(station, footing);
        let excess = needed - room;
        if excess <= 0.0 {
            continue;
        }
        match (runs.last_mut()).filter(|run| station.s - run.along[1] < APART) {
            Some(run) => {
                run.along[1] = station.s;
                if needed > run.most_mm {
                    (run.most_mm, run.most_at) = (needed, station.s);
                }
                run.total_mm += excess;
            }
            None => runs.push(Stretch {
                along: [station.s; 2],
                most_mm: needed,
                most_at: station.s,
                total_mm: excess,
            }),
        }
    }
    runs
}

/// First and last arc length (mm) of the stretch where more than `room` is needed by the most in all.
#[must_use]
pub fn worst_stretch(stations: &[Station], footing: Footing, room: f64) -> Option<[f64; 2]> {
    let runs = stretches_beyond(stations, footing, room);
    let worst = (runs.iter()).max_by(|a, b| a.total_mm.total_cmp(&b.total_mm))?;
    Some(worst.along)
}

/// Stretches nearer to each other than this are scanned in one go (mm).
const APART: f64 = 60.0;

/// Share of the gap that a seal may fill where the gap is least: the rest is the panel's. Common practice, no
/// source.
const MOST_OF_THE_GAP: f64 = 0.5;

/// The thinnest usual foam that takes up what is needed at [`SHARE`] of the stations, squeezed to the middle
/// of its working range; `None` where no usual one does, or the gap has no room for it.
#[must_use]
pub fn choose_seal(stations: &[Station], footing: Footing) -> Option<Seal> {
    let needed = needed_room(stations, footing)?;
    let gaps = stations.iter().map(|station| station.gap);
    let room = MOST_OF_THE_GAP * gaps.fold(f64::INFINITY, f64::min);
    let mut seals = THICKNESSES.into_iter().map(Seal::of);
    let seal = seals.find(|seal| seal.half_mm >= needed)?;
    (seal.middle_mm <= room).then_some(seal)
}

/// The shortest lip, in whole mm, that stays behind the edge at [`SHARE`] of the stations.
#[must_use]
pub fn choose_lap(stations: &[Station], footing: Footing) -> Option<f64> {
    Some((needed_room(stations, footing)? + LEAST_LAP).ceil())
}

/// The smallest value that at least [`SHARE`] of the values do not exceed.
fn least_that_covers(values: impl Iterator<Item = f64>) -> Option<f64> {
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
