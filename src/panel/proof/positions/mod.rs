//! One panel for every position of the tray? Answers: what is left for the seal to fill in each, and does
//! one panel cover them all?
//!
//! A panel held **on the tray** is set under the body's edge in every position and pressed down on the tray
//! there: it goes up and down with the tray under it, and what is left lies over its top. A panel held **on
//! the body** stays where it is and the tray slides under it: what is left lies under its foot. Whether a
//! panel may stay fastened to the tray while that moves is told as well: how far its top then stands aside
//! of the edge.

mod envelope;
mod serve;
#[cfg(test)]
mod tests;

pub use envelope::envelope;
pub use serve::{Own, Serving, serve};

use super::fit::Finished;
use crate::diag::Finding;
use crate::gap::position::Setting;
use crate::gap::seal::{Room, SHARE, Seal};
use crate::gap::{Station, Survey};
use crate::math::locator::Locator;
use crate::math::robust::median;
use crate::panel::foot::tray_height;
use crate::panel::{Panel, PanelOptions};

/// What the panel is held on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// The tray: what is left lies over the top.
    OnTray,
    /// The body: what is left lies under the foot.
    OnBody,
}

/// A foot may stand off by this much and be filled by sealant or foam (mm). Common practice, no source.
const UNDER_FOOT_MM: f64 = 3.0;

/// Stations less well known than this many times the median are not judged.
const KNOWN: f64 = 2.0;

/// What is left in one position at one station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftAt {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// Clear height over the top, or under the foot (mm); negative where the two overlap.
    pub left_mm: f64,
    /// Standard uncertainty of it (mm).
    pub sigma_mm: f64,
    /// What of it seal, lap or sealant do not take up (mm); negative where there is too little room.
    pub residual_mm: f64,
    /// Whether the edge is known here as well as elsewhere. In a step it is not: a station a few
    /// millimetres aside of where the step lies reads its whole height.
    pub judged: bool,
}

/// One panel in one position.
#[derive(Debug, Clone, PartialEq)]
pub struct PositionProof {
    /// The maker's name for it.
    pub name: String,
    /// The name as files carry it.
    pub word: String,
    /// At each station within the panel.
    pub stations: Vec<LeftAt>,
    /// How far the top would stand aside of the body's edge if the panel stayed fastened to the tray (mm),
    /// and the station.
    pub aside: Option<(f64, f64)>,
    /// Share of the stations that can be judged where nothing is left that seal, lap or sealant do not take up.
    pub covered: f64,
}

/// A value and where it is met.
pub type Met = (f64, f64);

impl PositionProof {
    /// Room over the top or under the foot where the edge is known (mm), and the stations.
    fn judged(&self) -> impl Iterator<Item = Met> {
        let judged = self.stations.iter().filter(|at| at.judged);
        judged.map(|at| (at.left_mm, at.s))
    }

    /// Least that is left where the edge is known (mm), and its station.
    #[must_use]
    pub fn least(&self) -> Option<Met> {
        self.judged().min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Most that is left where the edge is known (mm), and its station.
    #[must_use]
    pub fn most(&self) -> Option<Met> {
        self.judged().max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Deepest overlap where the edge is known (mm, positive), and its station.
    #[must_use]
    pub fn interference(&self) -> Option<Met> {
        self.least()
            .filter(|(mm, _)| *mm < 0.0)
            .map(|(mm, s)| (-mm, s))
    }

    /// Whether the panel serves in this position: no overlap, and at 95 % of the stations the rest is
    /// taken up.
    #[must_use]
    pub fn serves(&self) -> bool {
        self.interference().is_none() && self.covered >= SHARE
    }
}

/// How the positions are served.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Served {
    /// The panel designed for the scanned position serves in all of them.
    AsDesigned,
    /// One panel designed for the least gap of all positions at each station serves in all of them.
    ForTheLeastGap,
    /// No one panel does: each position has its own.
    OneEach,
}

/// All positions of the tray.
#[derive(Debug, Clone)]
pub struct PositionsProof {
    /// What the panel is held on.
    pub held: Held,
    /// How they are served.
    pub served: Served,
    /// The one panel in each position, the scanned one first. Where each has its own: the panel for the
    /// scanned position in each.
    pub positions: Vec<PositionProof>,
    /// What is to be looked at.
    pub findings: Vec<Finding>,
}

/// What is left round `panel` in each of the settings.
#[must_use]
pub fn measure(
    panel: &Panel,
    scanned: &Survey,
    settings: &[Setting],
    options: &PanelOptions,
    held: Held,
) -> Vec<PositionProof> {
    let locator = Locator::new(&scanned.spine, 200.0, 200.0);
    let known = KNOWN
        * median(&mut scanned.stations.iter().map(|s| s.sigma).collect::<Vec<_>>()).unwrap_or(0.0);
    settings
        .iter()
        .map(|setting| {
            let stations: Vec<LeftAt> = (setting.survey.stations.iter().zip(&scanned.stations))
                .filter_map(|(station, before)| {
                    let mut at = left_at(panel, scanned, setting, station, options, held)?;
                    at.judged = before.sigma <= known;
                    Some(at)
                })
                .collect();
            let judged = stations.iter().filter(|at| at.judged);
            let (count, closed) = judged.fold((0_usize, 0_usize), |(count, closed), at| {
                (count + 1, closed + usize::from(at.residual_mm == 0.0))
            });
            let covered = closed as f64 / count.max(1) as f64;
            PositionProof {
                name: setting.name.clone(),
                word: setting.word.clone(),
                aside: match held {
                    Held::OnTray => aside(panel, scanned, setting, options, &locator),
                    Held::OnBody => None,
                },
                stations,
                covered,
            }
        })
        .collect()
}

fn left_at(
    panel: &Panel,
    scanned: &Survey,
    setting: &Setting,
    station: &Station,
    options: &PanelOptions,
    held: Held,
) -> Option<LeftAt> {
    let finished = Finished::at(panel, options, station.s)?;
    let frame = scanned.spine.frame_at(station.s);
    let up = station.tray_normal.z;
    let tray = &setting.survey.tray;
    let (left_mm, residual_mm) = match held {
        Held::OnTray => {
            let foot = *finished.underside.last()?;
            let rises = tray_height(tray, station.s, foot.x) - foot.y;
            let edge = frame.to_section(station.edge);
            let left = (edge.y - finished.knee.y - rises) * up - options.paint_mm;
            let room = options.room(scanned.edge_kind);
            (left, room.residual(left - meant(panel, options)))
        }
        Held::OnBody => {
            let places = finished.underside.windows(2).flat_map(|pair| {
                let [from, to] = [pair[0], pair[1]];
                (0..=8).map(move |k| from + (to - from) * (f64::from(k) / 8.0))
            });
            let least = places
                .map(|p| p.y - tray_height(tray, station.s, p.x))
                .min_by(f64::total_cmp)?;
            let left = least * up;
            // The fit of the tray carries rounding: a hair is contact, no overlap.
            let left = if left.abs() < 1e-6 { 0.0 } else { left };
            let room = Room {
                opens: UNDER_FOOT_MM,
                closes: 0.0,
            };
            (left, room.residual(left))
        }
    };
    Some(LeftAt {
        s: station.s,
        left_mm,
        sigma_mm: station.sigma,
        residual_mm,
        judged: true,
    })
}

fn meant(panel: &Panel, options: &PanelOptions) -> f64 {
    super::fit::meant(panel.top, options)
}

/// How far the top of a panel that stays fastened to the tray stands aside of the edge, at most, over what
/// it does in the scanned position.
fn aside(
    panel: &Panel,
    scanned: &Survey,
    setting: &Setting,
    options: &PanelOptions,
    locator: &Locator,
) -> Option<Met> {
    let edge_x = |s: f64| {
        let k = scanned.stations.partition_point(|station| station.s < s);
        let after = scanned.stations.get(k).or(scanned.stations.last())?;
        let before = scanned.stations.get(k.saturating_sub(1))?;
        let of = |station: &Station| {
            let frame = scanned.spine.frame_at(station.s);
            frame.to_section(station.edge).x
        };
        let share = (s - before.s) / (after.s - before.s).max(1e-9);
        Some(of(before) + (of(after) - of(before)) * share.clamp(0.0, 1.0))
    };
    let length = scanned.spine.length();
    let stations = scanned.stations.iter().filter_map(|station| {
        let finished = Finished::at(panel, options, station.s)?;
        let top = scanned.spine.frame_at(station.s).to_shop(finished.knee) + setting.way;
        let (s, x) = locator.locate(top.xy())?;
        // Past the ends there is no edge to stand under.
        let beyond = (s - s.clamp(0.0, length)).abs();
        let off = (x - edge_x(s)?) - (finished.knee.x - edge_x(station.s)?);
        Some((off.abs().max(beyond), station.s))
    });
    stations.max_by(|a, b| a.0.total_cmp(&b.0))
}

/// What to tell about the positions.
#[must_use]
pub fn judge(served: Served, positions: &[PositionProof], held: Held) -> Vec<Finding> {
    let mut findings = Vec::new();
    let count = positions.len();
    match served {
        Served::AsDesigned => findings.push(Finding::note(
            "positions-covered",
            format!("the panel serves in all {count} positions of the tray as it is"),
        )),
        Served::ForTheLeastGap => findings.push(Finding::note(
            "positions-covered",
            format!(
                "one panel serves in all {count} positions of the tray: it is made for {} of all of them at each station, \
                 so more is left to fill in the others",
                match held {
                    Held::OnTray => "the least gap",
                    Held::OnBody => "the highest tray",
                }
            ),
        )),
        Served::OneEach => {
            let worst = positions
                .iter()
                .filter(|position| !position.serves())
                .min_by(|a, b| a.covered.total_cmp(&b.covered));
            if let Some(position) = worst {
                let [least, most] = [position.least(), position.most()].map(Option::unwrap_or_default);
                let (why, at) = match position.interference() {
                    Some((deep, at)) => (format!("it would overlap by up to {deep:.1} mm"), at),
                    None => (
                        format!(
                            "{:.1} to {:.1} mm would be left and only {:.0} % of the length be closed",
                            least.0,
                            most.0,
                            100.0 * position.covered
                        ),
                        most.1,
                    ),
                };
                findings.push(
                    Finding::warning(
                        "positions-not-covered",
                        format!(
                            "no one panel serves in all {count} positions of the tray: in \"{}\" {why}; each position has \
                             a panel of its own",
                            position.name,
                        ),
                        remedy(spread(positions)),
                    )
                    .at(at)
                    .size(most.0 - least.0),
                );
            }
        }
    }
    findings
}

/// How far the room differs between positions at one station (mm), at all but the worst stations.
fn spread(positions: &[PositionProof]) -> f64 {
    let Some(first) = positions.first() else {
        return 0.0;
    };
    let judged = first.stations.iter().filter(|at| at.judged);
    let mut spreads: Vec<f64> = judged
        .map(|at| {
            let same = |p: &PositionProof| {
                let k = p.stations.partition_point(|other| other.s < at.s - 1e-6);
                p.stations
                    .get(k)
                    .filter(|other| (other.s - at.s).abs() < 1e-6)
                    .map(|other| other.left_mm)
            };
            let (low, high) = positions
                .iter()
                .filter_map(same)
                .fold((at.left_mm, at.left_mm), |(low, high), left| {
                    (low.min(left), high.max(left))
                });
            high - low
        })
        .collect();
    spreads.sort_by(f64::total_cmp);
    let place = (SHARE * spreads.len() as f64).ceil() as usize;
    place
        .checked_sub(1)
        .and_then(|k| spreads.get(k))
        .copied()
        .unwrap_or(0.0)
}

/// What would let one panel serve where the room differs by `spread` (mm) between positions.
fn remedy(spread: f64) -> String {
    match Seal::between(spread) {
        Some(Seal {
            free_mm, middle_mm, ..
        }) => format!(
            "print the panel of the position you use, or let a seal take it up: between positions the room differs by \
             {spread:.1} mm, which seal_foam_mm = {free_mm:.1} and seal_mm = {middle_mm:.1} under [panel] can follow"
        ),
        None => format!(
            "print the panel of the position you use: between positions the room differs by {spread:.1} mm, more than any \
             usual foam follows"
        ),
    }
}
