//! Splitting a long solid into segments that fit a printer, with joints. Answers: can I print it, and
//! how does it go together?

mod assembly;
mod beyond;
mod coupon;
mod cut;
mod estimate;
mod explode;
mod fault;
mod fit;
mod joint;
mod label;
#[cfg(test)]
mod mating_tests;
mod overhang;
pub mod pieces;
mod plan;
#[cfg(test)]
mod plan_tests;
mod pose;
mod reach;
mod row;
mod score;
mod stand;
#[cfg(test)]
mod tests;
mod turn;
mod wish;

pub use assembly::JoinStep;
pub use coupon::{COUPON_MM, Coupon, cut_coupons};
pub use estimate::{Estimate, FILAMENT_MM, OVERHANG_DEG, SUPPORT_FILL};
pub use explode::{Exploded, PULL_MM};
pub use fault::SplitFault;
pub use joint::{Joint, JointKind, JointWish, Key, LEAD_IN_MM, letter};
pub use label::Label;
pub use overhang::LAYER_MM;
pub use score::{Lies, Pose, Scores};
pub use wish::{CutRule, CutWish};

use crate::diag::Finding;
use crate::material::Material;
use crate::math::{Point2, Spine, Vector3};
use crate::mesh::Solid;
use crate::progress::Progress;
use nalgebra::Isometry3;
use plan::{Plan, Poses, Room, plan_cuts};
use pose::{Laid, Site, lay};
use rayon::prelude::*;

/// What the job says about the printer and the joints. Lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct PrinterOptions {
    /// Build volume: width, depth, height.
    pub build_mm: [f64; 3],
    /// Left free on every side of the build volume.
    pub margin_mm: f64,
    /// Which kind of joint.
    pub joint: JointWish,
    /// How far a tab laps the neighbour.
    pub tab_mm: f64,
    /// Thickness of a tab.
    pub tab_wall_mm: f64,
    /// Room between a tab and the face it lies against.
    pub fit_mm: f64,
    /// What is printed with.
    pub material: Material,
    /// Plastic laid in a second (mm3/s): width of a bead times its height times the speed.
    pub flow_mm3_s: f64,
    /// How much a print shrinks in every direction as it cools (percent). What goes on the bed is made
    /// larger by that; what sits on the vehicle is not.
    pub shrink_percent: f64,
    /// Cuts that are pinned or forbidden.
    pub cuts: Vec<CutWish>,
}

impl Default for PrinterOptions {
    fn default() -> Self {
        Self {
            build_mm: [220.0, 220.0, 250.0],
            margin_mm: 5.0,
            joint: JointWish::Auto,
            tab_mm: 20.0,
            tab_wall_mm: 3.0,
            fit_mm: 0.25,
            material: Material::default(),
            flow_mm3_s: 8.0,
            shrink_percent: 0.0,
            cuts: Vec::new(),
        }
    }
}

impl PrinterOptions {
    /// By what factor a print is made larger, so that it has its size once it has shrunk.
    fn swell(&self) -> f64 {
        1.0 / (1.0 - self.shrink_percent / 100.0)
    }
}

/// A long solid to be split: from a panel or a buck, this stage knows neither.
#[derive(Debug, Clone)]
pub struct Workpiece<'a> {
    /// What it is called on its labels.
    pub name: &'a str,
    /// Level unit vector to the vehicle's front (shop frame), where it is known.
    pub front: Option<Vector3>,
    /// The solid (shop frame, mm).
    pub solid: &'a Solid,
    /// The curve it runs along.
    pub spine: &'a Spine,
    /// The hidden side, where tabs may sit, in order along the spine.
    pub hidden: Vec<HiddenFace>,
    /// Another face out of sight, in order along the spine, for labels the hidden side has no room for.
    pub label_on: Vec<HiddenFace>,
    /// Stretches of arc length (mm, from and to) where no cut may lie with its tab: at fixings and
    /// keep-outs.
    pub keep_clear: Vec<[f64; 2]>,
    /// Stretches where the cut alone may not lie, but a tab may pass: at fixings that leave room for it.
    pub cut_clear: Vec<[f64; 2]>,
    /// Stretches where no label goes on that other face: at holes and what stands on it.
    pub label_clear: Vec<[f64; 2]>,
}

impl Workpiece<'_> {
    /// How far a joint reaches past its cut (mm).
    fn joint_reach(&self, printer: &PrinterOptions) -> f64 {
        match printer.joint {
            _ if self.hidden.is_empty() => joint::PIN_LONG_MM,
            // Where a face is too low for pins a tab takes their place.
            JointWish::Bulkhead => {
                let least = joint::least_pinned_mm(printer);
                let high = |row: &HiddenFace| (row.face[1] - row.face[0]).norm() >= least;
                let pinned = self.hidden.iter().all(high);
                joint::PIN_LONG_MM.max(if pinned { 0.0 } else { printer.tab_mm })
            }
            JointWish::Tab | JointWish::Auto => printer.tab_mm,
        }
    }

    /// How far a cut stays away from what is to be kept clear (mm). Pins in a solid section need a wall
    /// about the cut; past that they may stand in the open.
    fn joint_clear(&self, printer: &PrinterOptions) -> f64 {
        if self.hidden.is_empty() {
            PINNED_CLEAR_MM
        } else {
            self.joint_reach(printer)
        }
    }
}

/// The hidden side of a workpiece in one station plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HiddenFace {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// Lower and upper end of the straight face in (x outward, z up), mm. The material lies outward of
    /// it (to the right going up); a tab grows away from it to the left.
    pub face: [Point2; 2],
}

/// One printable piece.
#[derive(Debug, Clone)]
pub struct Segment {
    /// Place in the row, counted from 1 at the maker's left.
    pub number: usize,
    /// First and last arc length, tabs not counted (mm).
    pub along: [f64; 2],
    /// The piece where it sits on the vehicle (shop frame, mm).
    pub in_place: Solid,
    /// The piece on its bed: z = 0 at the bottom, centred in plan, made larger by what it will shrink.
    pub on_bed: Solid,
    /// Shop frame to bed, before it is made larger about the bed's origin.
    pub to_bed: Isometry3<f64>,
    /// Size on the bed (mm), tabs and what it will shrink included.
    pub size_mm: [f64; 3],
    /// How it lies there, and why.
    pub pose: Pose,
    /// What its print takes.
    pub estimate: Estimate,
    /// What is cut into its hidden side, where there is room.
    pub label: Option<Label>,
}

/// All pieces and joints.
#[derive(Debug, Clone)]
pub struct Segments {
    /// The pieces, from the maker's left to right.
    pub segments: Vec<Segment>,
    /// The joints between them, one fewer.
    pub joints: Vec<Joint>,
    /// The order in which the joints are closed.
    pub assembly: Vec<JoinStep>,
    /// The row pulled apart, for pictures.
    pub exploded: Exploded,
    /// What the estimates assume.
    pub print: PrintAssumptions,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}

impl Segments {
    /// What all prints together take.
    #[must_use]
    pub fn estimate(&self) -> Estimate {
        self.segments.iter().map(|s| s.estimate).sum()
    }
}

/// What the estimates of a row assume about the print.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PrintAssumptions {
    /// What is printed with.
    pub material: Material,
    /// Plastic laid in a second (mm3/s).
    pub flow_mm3_s: f64,
    /// What the prints are made larger for (percent).
    pub shrink_percent: f64,
}

/// A cut of a workpiece without a hidden side stays so far from what is to be kept clear (mm).
const PINNED_CLEAR_MM: f64 = 0.5;
/// Times the row is planned when a finished segment turns out larger than its outline.
const ATTEMPTS: usize = 5;
/// A shape is steady if its centre of mass stands at least this far inside of what touches the bed (mm).
const STEADY_MM: f64 = 1.0;
/// Kept free beyond the margin at first (mm): the outline is a polygon through closely spaced stations.
const FIRST_SLACK_MM: f64 = 0.05;
/// What an outline may miss of a segment (mm): chords of curves, and what a tab's corners stick out.
const ROUGHLY_MM: f64 = 1.0;
/// How much smaller the room is made for a segment that does not stand steady where it fits (mm).
const UNSTEADY_MM: f64 = 0.4;
/// No printing plastic shrinks more (percent).
pub const MOST_SHRINK_PERCENT: f64 = 5.0;

/// Splits a workpiece into the fewest segments that fit the build volume with their tabs and the margin,
/// upright and turned in plan or standing on another of their flats. Of all such rows it takes the one
/// that is cut where the seam is short, the bend slight and the wall thick, with even lengths. Then each
/// segment is laid as it prints best.
///
/// Every segment's fit is measured on the finished solid. The segments without their tabs make up the
/// workpiece to within 0.1 %, and no tab comes nearer to its neighbour than the fit less 0.05 mm: both
/// are checked here. The margin is kept at both sides in width and depth and at the top.
///
/// # Errors
/// See [`SplitFault`].
pub fn split(
    work: &Workpiece,
    printer: &PrinterOptions,
    watch: &Progress,
) -> Result<Segments, SplitFault> {
    check_options(printer)?;
    watch.tell("planning the segments", 0.0);
    let room = room(printer);
    let mut planned = Room {
        slack: FIRST_SLACK_MM,
        poses: Poses::All,
    };
    let mut attempt = 1;
    loop {
        let plan = plan_cuts(work, printer, planned)?;
        if watch.is_cancelled() {
            return Err(SplitFault::Stopped);
        }
        let made = make_segments(work, printer, &plan, watch)?;
        let too_large = |s: &Segment| {
            (0..3)
                .map(|k| s.size_mm[k] - room[k])
                .fold(f64::NEG_INFINITY, f64::max)
        };
        // On a foot that is not flat it settles a little aslant, and may not fit so by a little.
        let over = |s: &Segment| match s.pose.scores.steady_mm > STEADY_MM {
            true => too_large(s),
            false => too_large(s).max(UNSTEADY_MM),
        };
        let row = &made.segments;
        // A thousandth is what rounding to f32 may add.
        let misfit = row.iter().find(|s| too_large(s) > 1e-3);
        let shaky = row.iter().find(|s| over(s) > 1e-3);
        match misfit.or(shaky.filter(|_| attempt < ATTEMPTS)) {
            None => return Ok(made),
            Some(s) if attempt == ATTEMPTS => {
                return Err(SplitFault::DoesNotFit {
                    number: s.number,
                    size: s.size_mm,
                });
            }
            Some(_) => {
                let worst = made.segments.iter().map(over).fold(0.0, f64::max);
                if worst > ROUGHLY_MM && planned.poses == Poses::All {
                    // No outline is so far off: a pose that was planned for is not steady after all.
                    planned.poses = Poses::Upright;
                } else {
                    planned.slack += worst + 0.2;
                }
                attempt += 1;
            }
        }
    }
}

/// Room on the bed for a segment (mm): width and depth less a margin on both sides, height less one.
fn room(printer: &PrinterOptions) -> [f64; 3] {
    let [width, depth, height] = printer.build_mm;
    let margin = printer.margin_mm;
    [width - 2.0 * margin, depth - 2.0 * margin, height - margin]
}

/// Room on the bed for a segment before it is made larger (mm).
fn room_unswollen(printer: &PrinterOptions) -> [f64; 3] {
    room(printer).map(|side| side / printer.swell())
}

fn check_options(printer: &PrinterOptions) -> Result<(), SplitFault> {
    let bad = |name, value, unit| SplitFault::BadOption { name, value, unit };
    let [width, depth, height] = room(printer);
    let lengths = [
        ("build width less its margin", width),
        ("build depth less its margin", depth),
        ("build height less its margin", height),
        ("tab length", printer.tab_mm),
        ("tab thickness", printer.tab_wall_mm),
    ];
    for (name, value) in lengths {
        if !(value.is_finite() && value > 0.0) {
            return Err(bad(name, value, "mm"));
        }
    }
    for (name, value) in [("margin", printer.margin_mm), ("fit", printer.fit_mm)] {
        if !(value.is_finite() && value >= 0.0) {
            return Err(bad(name, value, "mm"));
        }
    }
    let (flow, shrink) = (printer.flow_mm3_s, printer.shrink_percent);
    if !(flow.is_finite() && flow > 0.0) {
        return Err(bad("flow", flow, "mm3/s"));
    }
    if !(0.0..=MOST_SHRINK_PERCENT).contains(&shrink) {
        return Err(bad("allowance for shrinking", shrink, "%"));
    }
    Ok(())
}

fn make_segments(
    work: &Workpiece,
    printer: &PrinterOptions,
    plan: &Plan,
    watch: &Progress,
) -> Result<Segments, SplitFault> {
    let Plan { reach, cuts, .. } = plan;
    watch.tell("cutting the segments", 0.1);
    let bare = cut::cut_segments(work.solid, reach, cuts)?;
    if watch.is_cancelled() {
        return Err(SplitFault::Stopped);
    }
    watch.tell("joining the segments", 0.5);
    let joint::Jointed {
        segments: mut joined,
        joints,
        mut findings,
    } = joint::join_segments(work, printer, reach, cuts, bare)?;
    findings.extend(plan.findings.iter().cloned());
    watch.tell("laying the segments on their beds", 0.8);
    let mut ends = vec![0];
    ends.extend(cuts.iter().map(|c| c.station));
    ends.push(reach.last());
    let along: Vec<[f64; 2]> = (ends.windows(2))
        .map(|pair| [pair[0], pair[1]].map(|end| reach.arc_length(end)))
        .collect();
    let lap = work.joint_reach(printer);
    let (labels, noted) = label::cut_labels(work, &mut joined, &along, &joints, lap);
    findings.extend(noted);
    let segments = joined
        .into_par_iter()
        .zip(labels)
        .zip(ends.par_windows(2))
        .enumerate()
        .map(|(i, ((in_place, label), ends))| {
            let number = i + 1;
            let along = [ends[0], ends[1]].map(|end| reach.arc_length(end));
            let joint = |end: usize| reach.stations[end].frame.along;
            let site = Site {
                stations: &reach.stations[ends[0]..=ends[1]],
                joints: [
                    (ends[0] > 0).then(|| joint(ends[0])),
                    (ends[1] < reach.last()).then(|| joint(ends[1])),
                ],
            };
            let Laid {
                on_bed,
                to_bed,
                pose,
            } = lay(&in_place, &site, printer)
                .map_err(|fault| SplitFault::not_made(number, fault))?;
            let (low, high) = on_bed.bounds();
            let found = pose.finding(number).map(|finding| finding.at(along[0]));
            let segment = Segment {
                number,
                along,
                size_mm: (high - low).into(),
                estimate: Estimate::of(&on_bed, printer),
                in_place,
                on_bed,
                to_bed,
                pose,
                label,
            };
            Ok((segment, found))
        })
        .collect::<Result<Vec<_>, SplitFault>>()?;
    let mut row = Vec::with_capacity(segments.len());
    for (segment, found) in segments {
        row.push(segment);
        findings.extend(found);
    }
    watch.tell("laying the segments on their beds", 1.0);
    Ok(Segments {
        assembly: assembly::plan_assembly(
            &joints,
            [reach.arc_length(0), reach.arc_length(reach.last())],
            work.joint_reach(printer),
        ),
        exploded: explode::pull_apart(work.spine, &row, &joints),
        segments: row,
        joints,
        print: PrintAssumptions {
            material: printer.material,
            flow_mm3_s: printer.flow_mm3_s,
            shrink_percent: printer.shrink_percent,
        },
        findings,
    })
}
