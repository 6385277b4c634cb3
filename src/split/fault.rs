//! Why a workpiece could not be split.

use super::{CutRule, CutWish};
use crate::diag::Problem;
use crate::mesh::boolean::BooleanFault;
use thiserror::Error;

/// Why a workpiece could not be split. Lengths in mm.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SplitFault {
    /// A printer option is no usable length.
    #[error("the printer's {name} is {value} {unit}, which no segment can be made with")]
    BadOption {
        /// The option.
        name: &'static str,
        /// Its value.
        value: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// The spine does not run along the solid.
    #[error("the workpiece has no length along its spine")]
    NoLength,
    /// Even the shortest segment does not fit.
    #[error(
        "the build volume is too small at station {s:.0} mm: even a segment of {length:.0} mm needs \
         {:.0} x {:.0} x {:.0} mm with its margin", .least[0], .least[1], .least[2]
    )]
    TooSmall {
        /// Arc length where the shortest segment begins.
        s: f64,
        /// Length of the shortest segment with room for its joints.
        length: f64,
        /// Least build volume that takes it: width and depth in the proportion asked for, and height.
        least: [f64; 3],
    },
    /// What the user wants of a cut cannot be had.
    #[error("{}: {why}{}", say(.wish), offer(.wish, *.nearest))]
    Wish {
        /// What is wanted.
        wish: CutWish,
        /// Why it cannot be.
        why: &'static str,
        /// What can be had instead (mm): the nearest place of a pin, the widest reach of what is forbidden.
        nearest: Option<f64>,
    },
    /// Segments made were larger than planned, and planning again did not help.
    #[error("segment {number} is {:.1} x {:.1} x {:.1} mm and does not fit", .size[0], .size[1], .size[2])]
    DoesNotFit {
        /// Number of the segment.
        number: usize,
        /// Its size on the bed.
        size: [f64; 3],
    },
    /// Cutting or joining failed.
    #[error("segment {number} could not be made: {fault}")]
    NotMade {
        /// Number of the segment.
        number: usize,
        /// What went wrong.
        fault: BooleanFault,
    },
    /// The segments do not make up the workpiece.
    #[error("the segments hold {sum:.0} mm3 of the workpiece's {whole:.0} mm3")]
    NotCovered {
        /// Volume of all segments without tabs (mm3).
        sum: f64,
        /// Volume of the workpiece (mm3).
        whole: f64,
    },
    /// Someone asked the work to stop.
    #[error("stopped")]
    Stopped,
}

fn say(wish: &CutWish) -> String {
    let (at, reach) = (wish.at_mm, wish.reach_mm);
    match wish.rule {
        CutRule::Pin => format!("no cut can be pinned at {at} mm"),
        CutRule::Forbid => format!("cuts cannot be forbidden {reach} mm to each side of {at} mm"),
    }
}

fn offer(wish: &CutWish, nearest: Option<f64>) -> String {
    match (wish.rule, nearest) {
        (_, None) => String::new(),
        (CutRule::Pin, Some(at)) => format!("; the nearest place that can is {at} mm"),
        (CutRule::Forbid, Some(reach)) => format!("; {reach} mm to each side can"),
    }
}

impl SplitFault {
    /// For a shape of `split`'s own making that is no solid.
    pub(super) fn not_made(number: usize, fault: impl Into<BooleanFault>) -> Self {
        Self::NotMade {
            number,
            fault: fault.into(),
        }
    }
}

impl From<SplitFault> for Problem {
    fn from(fault: SplitFault) -> Self {
        let hint = match fault {
            SplitFault::BadOption { .. } => "give a usable value in the job's printer part",
            SplitFault::TooSmall { .. } => {
                "use a printer with a larger build volume, a smaller margin or a shorter tab"
            }
            SplitFault::DoesNotFit { .. } => {
                "make the margin larger, so that segments come out shorter"
            }
            SplitFault::Wish { .. } => {
                "move it, or leave it out: the other cuts then find their places"
            }
            SplitFault::Stopped => "start again",
            SplitFault::NoLength | SplitFault::NotMade { .. } | SplitFault::NotCovered { .. } => {
                "another tab length or build volume moves the cuts and may help; \
                 please report the case"
            }
        };
        let problem = Self::new(fault.to_string(), hint);
        match fault {
            SplitFault::TooSmall { .. } => problem.at("build_mm under [printer] in the job"),
            SplitFault::Wish { .. } => problem.at("[[cut]] in the job"),
            _ => problem,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Faults that no job known brings about still say what to do.
    #[test]
    fn faults_of_its_own_making_say_what_to_do() {
        let refused = BooleanFault::Refused {
            index: 1,
            why: "not manifold".to_owned(),
        };
        for (fault, what) in [
            (SplitFault::NoLength, "no length"),
            (
                SplitFault::NotMade {
                    number: 3,
                    fault: refused,
                },
                "segment 3 could not be made: operand 1 was refused (not manifold)",
            ),
            (
                SplitFault::NotCovered {
                    sum: 90.0,
                    whole: 100.0,
                },
                "90 mm3 of the workpiece's 100 mm3",
            ),
        ] {
            let problem = Problem::from(fault);
            assert!(problem.what.contains(what), "{problem}");
            assert!(
                problem.hint.contains("tab length or build volume"),
                "{problem}"
            );
        }
    }
}
