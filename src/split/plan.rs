//! Where to cut: the fewest segments that fit, and of all such rows the one that is cut where it is seen
//! least, bent least and thickest, with even lengths.

use super::fit::{Farthest, Fitter};
use super::reach::{Reach, STEP_MM};
use super::row::{Allowed, Row};
use super::turn::find_turn;
use super::wish::{CutRule, CutWish};
use super::{PrinterOptions, SplitFault, Workpiece};
use crate::diag::Finding;

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

/// The cuts, in order, at stations of a reach.
#[derive(Debug)]
pub(super) struct Plan {
    pub(super) reach: Reach,
    pub(super) cuts: Vec<Cut>,
    pub(super) findings: Vec<Finding>,
}

/// Left between the end of one joint and the start of the next (mm).
const BETWEEN_JOINTS_MM: f64 = 5.0;
/// Closest stations tried where closer ones might save a segment (mm).
const CLOSEST_MM: f64 = 0.25;

// What a cut costs, against the squared share that a segment is longer or shorter than even. Our choice.

/// For each squared radian the spine turns along the tab. A tab of 20 mm at a radius of 50 then costs
/// what a length 18 % off does: worth moving, not worth a lopsided row.
const BEND_COST: f64 = 0.2;
/// For each time that the seam is longer than the mean height of the workpiece. A seam 30 % lower is
/// worth a length 17 % off; one 5 % lower only 7 %.
const SEAM_COST: f64 = 0.1;
/// For the squared share that the wall is thinner than the mean. Half of the wall is worth a length 22 %
/// off; a tenth less only 4 %.
const THIN_COST: f64 = 0.2;
/// For a joint without a tab: more than any row's uneven lengths.
const NO_TAB_COST: f64 = 10.0;
/// For a segment that fits only when it is leaned. Upright segments 50 % off in length are still better.
const LEANED_COST: f64 = 0.25;

/// How much of what is asked of a cut is held to; what is not comes with a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Held {
    tabs: Need,
    clear: Need,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Need {
    Kept,
    Waived,
}

/// From strict to lax: a cut through a fixing is worse than a joint without a tab.
const HELD: [Held; 4] = [
    held(Need::Kept, Need::Kept),
    held(Need::Waived, Need::Kept),
    held(Need::Kept, Need::Waived),
    held(Need::Waived, Need::Waived),
];

const fn held(tabs: Need, clear: Need) -> Held {
    Held { tabs, clear }
}

/// What is known of the workpiece before any rule about cuts.
struct Planner<'a> {
    work: &'a Workpiece<'a>,
    printer: &'a PrinterOptions,
    fitter: Fitter<'a>,
    upright: Farthest,
    farthest: Farthest,
}

/// Which poses a segment may be planned for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Poses {
    /// Upright, and standing or lying on its other flats.
    All,
    /// Upright alone.
    Upright,
}

/// What is left of the build volume for planning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    /// Kept free beyond the margin in plan (mm), for what the outline misses.
    pub(super) slack: f64,
    pub(super) poses: Poses,
}

/// Plans the cuts.
///
/// Stations are set closer where that might save a segment.
///
/// # Errors
/// [`SplitFault::TooSmall`] if at some place not even the shortest segment fits, [`SplitFault::Wish`]
/// if what the user wants of a cut cannot be had.
pub(super) fn plan_cuts(
    work: &Workpiece,
    printer: &PrinterOptions,
    room: Room,
) -> Result<Plan, SplitFault> {
    let mut spacing = STEP_MM;
    let (mut plan, mut closer) = plan_every(work, printer, room, spacing)?;
    while closer == Closer::MaySave && spacing / 2.0 >= CLOSEST_MM {
        spacing /= 2.0;
        let (finer, then) = plan_every(work, printer, room, spacing)?;
        closer = then;
        if finer.cuts.len() < plan.cuts.len() {
            plan = finer;
        }
    }
    Ok(plan)
}

/// How many cuts a plan with stations at a spacing (mm) has.
#[cfg(test)]
pub(super) fn cuts_at_spacing(
    work: &Workpiece,
    printer: &PrinterOptions,
    room: Room,
    spacing: f64,
) -> Result<usize, SplitFault> {
    Ok(plan_every(work, printer, room, spacing)?.0.cuts.len())
}

/// Whether stations set closer could save a segment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Closer {
    MaySave,
    SavesNone,
}

fn plan_every(
    work: &Workpiece,
    printer: &PrinterOptions,
    Room { slack, poses }: Room,
    spacing: f64,
) -> Result<(Plan, Closer), SplitFault> {
    let reach = Reach::measure_every(work, printer, spacing).ok_or(SplitFault::NoLength)?;
    let [width, depth, height] = super::room_unswollen(printer);
    let room = [width - slack, depth - slack, height];
    let fitter = Fitter::new(&reach, work.joint_reach(printer), room);
    let upright = fitter.upright();
    let farthest = match poses {
        Poses::All => fitter.leaned(&upright),
        Poses::Upright => upright.clone(),
    };
    let planner = Planner {
        work,
        printer,
        fitter,
        upright,
        farthest,
    };
    let wishes = planner.check_wishes()?;
    let found = HELD.into_iter().find_map(|held| {
        let row = planner.row(held, &wishes);
        let chosen = planner.choose(&row)?;
        let fewer = row.loosened().fewest() < Some(chosen.len());
        Some((held, chosen, fewer))
    });
    let Some((held, chosen, fewer)) = found else {
        return Err(planner.explain(&wishes));
    };
    let findings = planner.find_unclear(held, &chosen);
    let cuts = (chosen.into_iter())
        .map(|station| Cut {
            station,
            tab: planner.fitter.tab_room(station),
        })
        .collect();
    let closer = if fewer {
        Closer::MaySave
    } else {
        Closer::SavesNone
    };
    let plan = Plan {
        cuts,
        findings,
        reach,
    };
    Ok((plan, closer))
}

/// A wish in stations: those it forbids, from and to, or the one it pins.
#[derive(Debug, Clone, Copy)]
enum Place {
    Pin(usize),
    Forbid(f64, f64),
}

impl Planner<'_> {
    fn reach(&self) -> &Reach {
        self.fitter.reach
    }

    fn last(&self) -> usize {
        self.fitter.last()
    }

    fn s(&self, station: usize) -> f64 {
        self.reach().arc_length(station)
    }

    fn nearest(&self, s: f64) -> usize {
        let place = ((s - self.s(0)) / self.reach().step).round();
        place.clamp(0.0, self.last() as f64) as usize
    }

    fn place(&self, wish: &CutWish) -> Place {
        match wish.rule {
            CutRule::Pin => Place::Pin(self.nearest(wish.at_mm)),
            CutRule::Forbid => {
                Place::Forbid(wish.at_mm - wish.reach_mm, wish.at_mm + wish.reach_mm)
            }
        }
    }

    /// The places of all wishes, each checked to lie on the workpiece.
    fn check_wishes(&self) -> Result<Vec<Place>, SplitFault> {
        let (first, last) = (self.s(0), self.s(self.last()));
        for wish in &self.printer.cuts {
            let on_it = first < wish.at_mm && wish.at_mm < last;
            if wish.rule == CutRule::Pin && !on_it {
                return Err(SplitFault::Wish {
                    wish: *wish,
                    why: "the panel is not there",
                    nearest: Some(if wish.at_mm <= first {
                        (first + self.fitter.joint_mm + BETWEEN_JOINTS_MM).ceil()
                    } else {
                        (last - self.fitter.joint_mm - BETWEEN_JOINTS_MM).floor()
                    }),
                });
            }
        }
        Ok(self.printer.cuts.iter().map(|w| self.place(w)).collect())
    }

    /// Whether a cut at an arc length keeps itself and its tab out of all stretches to keep clear.
    fn is_clear(&self, s: f64) -> bool {
        let meets = |stretches: &[[f64; 2]], reach: f64| {
            stretches
                .iter()
                .any(|[a, b]| s + reach > a.min(*b) && s - reach < a.max(*b))
        };
        !meets(&self.work.keep_clear, self.work.joint_clear(self.printer))
            && !meets(&self.work.cut_clear, 0.0)
    }

    fn row(&self, held: Held, wishes: &[Place]) -> Row {
        let mut pins: Vec<usize> = (wishes.iter())
            .filter_map(|w| match w {
                Place::Pin(station) => Some(*station),
                Place::Forbid(..) => None,
            })
            .collect();
        pins.sort_unstable();
        pins.dedup();
        let forbidden = |s: f64| {
            (wishes.iter()).any(|w| matches!(w, Place::Forbid(a, b) if (*a..=*b).contains(&s)))
        };
        let allowed = (0..=self.last())
            .map(|i| {
                let s = self.s(i);
                let pinned = pins.binary_search(&i).is_ok();
                let tab = self.fitter.tab_room(i);
                let unclear = held.clear == Need::Kept && !self.is_clear(s);
                let tabless = held.tabs == Need::Kept && tab == TabRoom::None;
                // What is pinned there may be short of a tab or of a clear place, with a finding.
                if forbidden(s) || (!pinned && (unclear || tabless)) {
                    Allowed::No
                } else if tab == TabRoom::Enough {
                    Allowed::WithTab
                } else {
                    Allowed::Bare
                }
            })
            .collect();
        Row {
            allowed,
            tabbed: self.farthest.tabbed.clone(),
            bare: self.farthest.bare.clone(),
            finishes: self.farthest.finishes.clone(),
            pins,
            least: self.reach().stations_in(BETWEEN_JOINTS_MM),
            joint: self.fitter.tab,
        }
    }

    fn choose(&self, row: &Row) -> Option<Vec<usize>> {
        let last = self.last();
        let stations = &self.reach().stations;
        let height = |i: usize| (stations[i].height[1] - stations[i].height[0]).max(0.0);
        let count = stations.len() as f64;
        let mean_height = (0..=last)
            .map(height)
            .filter(|h| h.is_finite())
            .sum::<f64>()
            / count;
        let mean_wall = stations.iter().map(|at| at.wall).sum::<f64>() / count;
        let of_cut = |i: usize| {
            let turned = stations[i].curvature * self.fitter.joint_mm;
            let seam = height(i) / mean_height.max(1e-9) - 1.0;
            let thin = (1.0 - stations[i].wall / mean_wall.max(1e-9)).max(0.0);
            let bare = row.allowed[i] == Allowed::Bare;
            BEND_COST * turned * turned
                + SEAM_COST * seam
                + THIN_COST * thin * thin
                + if bare { NO_TAB_COST } else { 0.0 }
        };
        let of_segment = |from: usize, to: usize, cuts: usize| {
            let even = last as f64 / (cuts + 1) as f64;
            let off = ((to - from) as f64 - even) / even;
            let upright = to <= self.upright.of(self.fitter.tab_room(to))[from];
            off * off + if upright { 0.0 } else { LEANED_COST }
        };
        row.cheapest(of_cut, of_segment)
    }

    /// Cuts that lie where none should, because there is no other row.
    fn find_unclear(&self, held: Held, cuts: &[usize]) -> Vec<Finding> {
        let forced = held.clear == Need::Waived;
        (cuts.iter().map(|&c| self.s(c)))
            .filter(|s| !self.is_clear(*s))
            .map(|s| {
                let why = if forced {
                    "no row of segments that fit keeps clear of them all"
                } else {
                    "it is pinned there"
                };
                Finding::warning(
                    "cut-at-a-fixing",
                    format!("a cut has a fixing or a place to keep clear within its joint: {why}"),
                    "move the fixing, or use a shorter tab or a larger build volume",
                )
                .at(s)
            })
            .collect()
    }

    /// Whether there is a row at all, however lax.
    fn is_possible(&self, wishes: &[Place]) -> bool {
        self.row(HELD[3], wishes).fewest().is_some()
    }

    /// Why there is no row: the first wish that makes it impossible, or the build volume.
    fn explain(&self, wishes: &[Place]) -> SplitFault {
        if !self.is_possible(&[]) {
            return self.too_small();
        }
        let first = (1..=wishes.len()).find(|&n| !self.is_possible(&wishes[..n]));
        let Some(n) = first else {
            return self.too_small();
        };
        let wish = self.printer.cuts[n - 1];
        let before = &wishes[..n - 1];
        let with = |place: Place| {
            let mut all = before.to_vec();
            all.push(place);
            self.is_possible(&all)
        };
        let (why, nearest) = match wishes[n - 1] {
            Place::Pin(at) => {
                let near = (1..=self.last()).flat_map(|d| {
                    let both = [at.checked_sub(d), Some(at + d)].into_iter().flatten();
                    let pinned = |i| before.iter().any(|w| matches!(w, Place::Pin(p) if *p == i));
                    both.filter(move |&i| i > 0 && i < self.last() && !pinned(i))
                });
                let found = near.into_iter().find(|&i| with(Place::Pin(i)));
                (
                    "no row of segments has a cut there",
                    found.map(|i| self.s(i).round()),
                )
            }
            Place::Forbid(..) => {
                let holds =
                    |reach: f64| with(Place::Forbid(wish.at_mm - reach, wish.at_mm + reach));
                let whole = wish.reach_mm.max(0.0).ceil() as usize;
                let found = (0..whole).rev().map(|r| r as f64).find(|&r| holds(r));
                ("every row of segments that fit has a cut there", found)
            }
        };
        SplitFault::Wish { wish, why, nearest }
    }

    /// What the shortest segment with both its joints needs, wherever it begins, and where it needs most.
    fn too_small(&self) -> SplitFault {
        let room = self.fitter.room;
        let length = 2 * self.fitter.tab + self.reach().stations_in(BETWEEN_JOINTS_MM);
        let (mut worst, mut at) = ([1.0_f64, 0.0_f64], 0);
        for from in (0..self.last()).step_by(4) {
            let to = (from + length).min(self.last());
            let (corners, height) = self.fitter.size_upright(from, to);
            let share = find_turn(&corners, [room[0], room[1]]).share;
            if share > worst[0] || (worst[0] <= 1.0 && height > worst[1]) {
                at = from;
            }
            worst = [worst[0].max(share), worst[1].max(height)];
        }
        let (margin, swell) = (self.printer.margin_mm, self.printer.swell());
        SplitFault::TooSmall {
            s: self.s(at),
            length: length as f64 * self.reach().step,
            least: [
                room[0] * worst[0] * swell + 2.0 * margin,
                room[1] * worst[0] * swell + 2.0 * margin,
                worst[1] * swell + margin,
            ],
        }
    }
}
