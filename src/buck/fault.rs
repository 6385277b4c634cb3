//! Why a buck cannot be made.

use crate::diag::Problem;
use crate::mesh::SolidFault;
use crate::mesh::boolean::BooleanFault;
use thiserror::Error;

/// Why a buck cannot be made: what and where.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum BuckFault {
    /// A value in the options cannot be used.
    #[error("{name} is {value}; it must lie from {least} to {most}")]
    BadValue {
        /// Name of the option.
        name: &'static str,
        /// Its value.
        value: f64,
        /// Least that can be used.
        least: f64,
        /// Most that can be used.
        most: f64,
    },
    /// The panel has too few sections, or sections that do not match.
    #[error("the panel has no outside to make a buck from")]
    NoOutside,
    /// The gap bends so tightly that there is no room for a buck behind the face.
    #[error(
        "the face bends so tightly at station {station_mm:.0} mm that a buck has only {depth_mm:.1} mm behind it"
    )]
    TooTight {
        /// Arc length along the spine (mm).
        station_mm: f64,
        /// Depth that is left (mm).
        depth_mm: f64,
    },
    /// The buck runs through itself.
    #[error("the buck runs through itself near station {station_mm:.0} mm")]
    Crossing {
        /// Arc length along the spine (mm).
        station_mm: f64,
    },
    /// The buck, or something cut from it, is not a closed solid.
    #[error("the buck does not come out as a closed solid: {0}")]
    NotSolid(#[from] SolidFault),
    /// Something could not be cut from it.
    #[error("the buck cannot be hollowed or drilled: {0}")]
    NotCut(#[from] BooleanFault),
    /// The maker stopped the work.
    #[error("stopped")]
    Cancelled,
}

impl From<BuckFault> for Problem {
    fn from(fault: BuckFault) -> Self {
        let hint = match &fault {
            BuckFault::BadValue { .. } => "change it under [buck] in the job",
            BuckFault::NoOutside => "make the panel first, and look at its findings",
            BuckFault::TooTight { .. } => {
                "ask for a smaller allowance_mm under [buck], or make the part with a printed core"
            }
            BuckFault::Crossing { .. } => {
                "ask for a smaller allowance_mm or depth_mm under [buck], or write way = \"core\" under [laminate]"
            }
            BuckFault::NotSolid(_) | BuckFault::NotCut(_) => {
                "ask for a solid buck with wall_mm = 0.0 under [buck], or write way = \"core\" under [laminate]"
            }
            BuckFault::Cancelled => "start again when you like",
        };
        Self::new(fault.to_string(), hint)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Faults that no job known brings about still say what to do.
    #[test]
    fn faults_of_its_own_making_say_what_to_do() {
        let hollow = BooleanFault::Failed {
            why: "not manifold".to_owned(),
        };
        for (fault, what, hint) in [
            (BuckFault::NoOutside, "no outside", "its findings"),
            (
                BuckFault::Crossing { station_mm: 71.0 },
                "station 71 mm",
                "allowance_mm or depth_mm",
            ),
            (
                BuckFault::NotSolid(SolidFault::TooLarge),
                "too many triangles",
                "wall_mm = 0.0",
            ),
            (BuckFault::NotCut(hollow), "not manifold", "wall_mm = 0.0"),
        ] {
            let problem = Problem::from(fault);
            assert!(problem.what.contains(what), "{problem}");
            assert!(problem.hint.contains(hint), "{problem}");
        }
    }
}
