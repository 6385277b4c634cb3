//! Where to cut: fewest segments that fit, then lengths as even as can be, away from bends.

use super::pose::{find_turn, fits_turned};
use super::reach::Reach;
use super::{PrinterOptions, SplitFault};
use crate::math::Point2;

/// A cut, at a station of the [`Reach`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Cut {
    pub(super) station: usize,
    /// Whether the hidden side has room for a tab here.
    pub(super) tab: TabRoom,
}

/// Whether there is room for a tab.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TabRoom {
    Enough,
    None,
}

/// Spacing of the stations that stand for a segment's outline (mm): 0.04 mm of sagitta at a radius of 50.
const OUTLINE_MM: f64 = 4.0;
/// Stations tried for each cut.
const CANDIDATES: usize = 32;
/// Left between the end of one joint and the start of the next (mm).
const BETWEEN_JOINTS_MM: f64 = 5.0;
/// How much a cut in a bend costs, for each squared radian the spine turns along the tab, against the
/// squared share a segment is longer or shorter than even. A tab of 20 mm at a radius of 50 then costs
/// what a length 18 % off does: worth moving, not worth a lopsided row. Our choice.
const BEND_COST: f64 = 0.2;

/// First of `low..high` for which `is` holds, or `high`; `is` must hold from there on.
fn first_where(mut low: usize, mut high: usize, is: impl Fn(usize) -> bool) -> usize {
    while low < high {
        let middle = low + (high - low) / 2;
        if is(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

/// What fits: the reach of the workpiece against the room on the bed.
struct Planner<'a> {
    reach: &'a Reach,
    printer: &'a PrinterOptions,
    /// Room in plan and in height (mm).
    room: [f64; 3],
    /// A tab's length and that of its root, in stations.
    tab: usize,
    /// Stations whose hidden side has no room for a tab, counted up to each station.
    blocked: Vec<usize>,
}

/// Plans the cuts, in order. `slack` (mm) is kept free beyond the margin, for what the outline misses.
///
/// # Errors
/// [`SplitFault::TooSmall`] if at some place not even the shortest segment fits.
pub(super) fn plan_cuts(
    reach: &Reach,
    printer: &PrinterOptions,
    slack: f64,
) -> Result<Vec<Cut>, SplitFault> {
    let mut blocked = vec![0];
    for station in &reach.stations {
        blocked.push(blocked[blocked.len() - 1] + usize::from(station.tab.is_none()));
    }
    let room = super::room_unswollen(printer);
    let planner = Planner {
        reach,
        printer,
        room: [room[0] - slack, room[1] - slack, room[2]],
        tab: reach.stations_in(printer.tab_mm),
        blocked,
    };
    let latest = planner.latest_cuts()?;
    // A row of the fewest segments may leave one too short for its joints; one more then helps.
    for count in latest.len()..latest.len() + 3 {
        if let Some(cuts) = planner.even_cuts(count, &latest) {
            return Ok(cuts);
        }
    }
    Ok(latest)
}

impl Planner<'_> {
    fn last(&self) -> usize {
        self.reach.last()
    }

    /// Room for a tab and its root, each side of a station.
    fn tab_room(&self, station: usize) -> TabRoom {
        let from = station.saturating_sub(self.tab);
        let to = (station + self.tab).min(self.last());
        if self.blocked[to + 1] == self.blocked[from] {
            TabRoom::Enough
        } else {
            TabRoom::None
        }
    }

    fn cut(&self, station: usize) -> Cut {
        Cut {
            station,
            tab: self.tab_room(station),
        }
    }

    /// Shortest segment: room for the joints at its ends.
    fn shortest(&self, from: usize, to: usize) -> usize {
        let joints = usize::from(from > 0) + usize::from(to < self.last());
        joints * self.tab + self.reach.stations_in(BETWEEN_JOINTS_MM)
    }

    /// Corners in plan and height of the segment between two stations, with its tab.
    fn outline(&self, from: usize, to: usize) -> (Vec<Point2>, f64) {
        let stride = self.reach.stations_in(OUTLINE_MM).max(1);
        let mut corners = Vec::new();
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        let stations = &self.reach.stations;
        for i in (from..to).step_by(stride).chain([to]) {
            let at = &stations[i];
            if let Some(across) = at.across {
                corners.extend(across.map(|x| at.frame.to_shop(Point2::new(x, 0.0)).xy()));
            }
        }
        for at in &stations[from..=to] {
            if at.across.is_some() {
                low = low.min(at.height[0]);
                high = high.max(at.height[1]);
            }
        }
        if to < self.last() && self.tab_room(to) == TabRoom::Enough {
            let end = (to + self.tab).min(self.last());
            let begin = to.saturating_sub(self.tab).max(from);
            for i in (begin..end).step_by(stride).chain([end]) {
                let at = &stations[i];
                if let Some(across) = at.tab {
                    corners.extend(across.map(|x| at.frame.to_shop(Point2::new(x, 0.0)).xy()));
                }
            }
        }
        (corners, (high - low).max(0.0))
    }

    fn fits(&self, from: usize, to: usize) -> bool {
        let (corners, height) = self.outline(from, to);
        height <= self.room[2] && fits_turned(&corners, [self.room[0], self.room[1]])
    }

    /// Farthest station a segment from `from` can reach; at least `from`.
    fn farthest(&self, from: usize) -> usize {
        first_where(from + 1, self.last() + 1, |to| !self.fits(from, to)) - 1
    }

    /// Earliest station from which a segment can reach `to`; at most `to`.
    fn earliest(&self, to: usize) -> usize {
        first_where(0, to, |from| self.fits(from, to))
    }

    /// Cuts as late as each can be: by that the fewest. A segment that fits still fits when it begins
    /// later, so no other row has fewer.
    fn latest_cuts(&self) -> Result<Vec<Cut>, SplitFault> {
        let mut cuts: Vec<Cut> = Vec::new();
        let mut from = 0;
        loop {
            let end = self.farthest(from);
            if end == self.last() {
                return Ok(cuts);
            }
            let least = from + self.shortest(from, end);
            if end < least {
                return Err(self.too_small());
            }
            let roomy = (least..=end)
                .rev()
                .find(|&i| self.tab_room(i) == TabRoom::Enough);
            let cut = self.cut(roomy.unwrap_or(end));
            from = cut.station;
            cuts.push(cut);
        }
    }

    /// What the shortest segment with both its joints needs, wherever it begins, and where it needs most.
    fn too_small(&self) -> SplitFault {
        let length = 2 * self.tab + self.reach.stations_in(BETWEEN_JOINTS_MM);
        let stride = self.reach.stations_in(OUTLINE_MM).max(1);
        let (mut worst, mut at) = ([1.0_f64, 0.0_f64], 0);
        for from in (0..self.last()).step_by(stride) {
            let (corners, height) = self.outline(from, (from + length).min(self.last()));
            let share = find_turn(&corners, [self.room[0], self.room[1]]).share;
            if share > worst[0] || (worst[0] <= 1.0 && height > worst[1]) {
                at = from;
            }
            worst = [worst[0].max(share), worst[1].max(height)];
        }
        let (margin, swell) = (self.printer.margin_mm, self.printer.swell());
        SplitFault::TooSmall {
            s: self.reach.arc_length(at),
            length: length as f64 * self.reach.step,
            least: [
                self.room[0] * worst[0] * swell + 2.0 * margin,
                self.room[1] * worst[0] * swell + 2.0 * margin,
                worst[1] * swell + margin,
            ],
        }
    }

    /// The cheapest row of `count` cuts, by dynamic programming over some stations for each cut. `None`
    /// if no such row keeps room for the joints.
    fn even_cuts(&self, count: usize, latest: &[Cut]) -> Option<Vec<Cut>> {
        let last = self.last();
        if count == 0 {
            return Some(Vec::new());
        }
        let even = last as f64 / (count + 1) as f64;
        let mut earliest = vec![0; count];
        let mut to = last;
        for slot in earliest.iter_mut().rev() {
            to = self.earliest(to);
            *slot = to;
        }
        // Layer 0 is the start, layer count + 1 the end: (station, cost so far, place in layer before).
        let mut layers: Vec<Vec<(usize, f64, usize)>> = vec![vec![(0, 0.0, 0)]];
        for k in 0..=count {
            let choices = if k == count {
                vec![last]
            } else {
                let high = latest.get(k).map_or(last, |c| c.station);
                self.candidates(earliest[k], high, even * (k + 1) as f64)
            };
            let mut next: Vec<(usize, f64, usize)> = Vec::new();
            let before = &layers[k];
            // What fits from an earlier start fits from a later one, so one pointer goes along.
            let ends: Vec<usize> = before
                .iter()
                .map(|&(from, ..)| choices.partition_point(|&to| to <= from || self.fits(from, to)))
                .collect();
            for (place, &to) in choices.iter().enumerate() {
                let best = before
                    .iter()
                    .zip(&ends)
                    .enumerate()
                    .filter(|(_, ((from, ..), end))| {
                        place < **end && to >= from + self.shortest(*from, to)
                    })
                    .map(|(i, ((from, cost, _), _))| {
                        let off = ((to - from) as f64 - even) / even;
                        (cost + off * off, i)
                    })
                    .min_by(|a, b| a.0.total_cmp(&b.0));
                if let Some((cost, i)) = best {
                    next.push((to, cost + self.bend_cost(to), i));
                }
            }
            if next.is_empty() {
                return None;
            }
            layers.push(next);
        }
        let mut cuts = Vec::new();
        let mut place = layers[count + 1][0].2;
        for layer in layers[1..=count].iter().rev() {
            let (station, _, before) = layer[place];
            cuts.push(self.cut(station));
            place = before;
        }
        cuts.reverse();
        Some(cuts)
    }

    fn bend_cost(&self, station: usize) -> f64 {
        if station == self.last() {
            return 0.0;
        }
        let turned = self.reach.stations[station].curvature * self.printer.tab_mm;
        BEND_COST * turned * turned
    }

    /// Some stations from `low` to `high`: evenly spread, with the one nearest to `wanted`; only those
    /// with room for a tab, if there are any.
    fn candidates(&self, low: usize, high: usize, wanted: f64) -> Vec<usize> {
        let low = low.min(high);
        let all: Vec<usize> = (low..=high).collect();
        let roomy: Vec<usize> = all
            .iter()
            .copied()
            .filter(|&i| self.tab_room(i) == TabRoom::Enough)
            .collect();
        let from = if roomy.is_empty() { all } else { roomy };
        let most = from.len() - 1;
        let nearest = from.partition_point(|&i| (i as f64) < wanted).min(most);
        let mut places: Vec<usize> = (0..CANDIDATES.min(from.len()))
            .map(|i| i * most / (CANDIDATES - 1).min(most).max(1))
            .chain([nearest])
            .collect();
        places.sort_unstable();
        places.dedup();
        places.iter().map(|&p| from[p.min(most)]).collect()
    }
}
