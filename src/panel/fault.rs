//! Why a panel cannot be made.

use crate::diag::Problem;
use crate::mesh::SolidFault;
use thiserror::Error;

/// Why a panel cannot be made: what and where, and what to do about it.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PanelFault {
    /// The survey has too few stations to loft through.
    #[error("the survey has {found} usable stations; a panel needs at least 2")]
    TooFewStations {
        /// How many are usable.
        found: usize,
    },
    /// A length in the options cannot be used.
    #[error("{name} is {value} mm; it must lie from {least} to {most} mm")]
    BadLength {
        /// Name of the option.
        name: &'static str,
        /// Its value (mm).
        value: f64,
        /// Least that can be used (mm).
        least: f64,
        /// Most that can be used (mm).
        most: f64,
    },
    /// The kind of edge does not allow the top that was asked for.
    #[error("a lip cannot be tucked behind a rolled edge: its return is in the way")]
    TopNotAllowed,
    /// There is no room for the wall between tray and edge.
    #[error(
        "gap too small for the wall at station {station_mm:.0} mm: {room_mm:.1} mm from the tray to the \
         panel's top, and the panel needs {needed_mm:.1} mm"
    )]
    GapTooSmall {
        /// Arc length along the spine (mm).
        station_mm: f64,
        /// From the tray to the panel's top (mm).
        room_mm: f64,
        /// What the section needs (mm).
        needed_mm: f64,
    },
    /// The gap bends tighter than the section is wide.
    #[error(
        "the gap bends on a radius of {radius_mm:.1} mm at station {station_mm:.0} mm, too tight for this \
         wall"
    )]
    TooTight {
        /// Arc length along the spine (mm).
        station_mm: f64,
        /// Radius of the face in plan (mm).
        radius_mm: f64,
    },
    /// The finished shape is not a closed solid.
    #[error("the panel does not come out as a closed solid: {0}")]
    NotSolid(#[from] SolidFault),
    /// The finished shape runs through itself.
    #[error("the panel runs through itself near station {station_mm:.0} mm")]
    Crossing {
        /// Arc length along the spine (mm).
        station_mm: f64,
    },
    /// The flange could not be cut round what stands on the tray.
    #[error("the flange could not be cut free at station {station_mm:.0} mm: {reason}")]
    Relief {
        /// Arc length along the spine (mm).
        station_mm: f64,
        /// What went wrong.
        reason: String,
    },
    /// An end could not be made as asked.
    #[error("the panel's end at station {station_mm:.0} mm could not be made: {reason}")]
    End {
        /// Arc length along the spine (mm).
        station_mm: f64,
        /// What went wrong.
        reason: String,
    },
    /// A keep-out does not say where or how large it is.
    #[error("keep-out \"{name}\" {what}")]
    KeepOut {
        /// Its name.
        name: String,
        /// What is missing.
        what: &'static str,
    },
    /// A hole or boss for a fixing could not be made.
    #[error("the fixing at station {station_mm:.0} mm could not be made: {reason}")]
    Fixing {
        /// Arc length along the spine (mm).
        station_mm: f64,
        /// What went wrong.
        reason: String,
    },
    /// Someone asked the work to stop.
    #[error("stopped on request")]
    Cancelled,
}

impl PanelFault {
    /// What the maker should do.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::TooFewStations { .. } => "scan a longer stretch of the gap",
            Self::BadLength { .. } => "change it under [panel] in the job",
            Self::TopNotAllowed => {
                "under [panel] write top = \"butted\" or \"lapped\"; or, if the edge is cut off, edge = \"cut\" under [gap]"
            }
            Self::GapTooSmall { .. } => {
                "under [panel] ask for a thinner wall_mm or less seal_mm and paint_mm; or drop the tray there and scan again"
            }
            Self::TooTight { .. } => "ask for a thinner wall_mm, or end the panel before the bend",
            Self::NotSolid(_) | Self::Crossing { .. } => {
                "try a shallower flange_mm, a shorter tuck_mm or a smaller fillet_mm under [panel]"
            }
            Self::Relief { .. } => {
                "move or lower what stands on the tray there, or ask for less relief_mm"
            }
            Self::End { .. } => {
                "under [panel] write end_left and end_right = \"closed\", or change return_mm or fade_mm"
            }
            Self::KeepOut { .. } => {
                "under that [[keep_out]] write at_mm or point, and size_mm or length_mm with width_mm"
            }
            Self::Fixing { .. } => {
                "ask for a smaller screw or another pitch_mm under [fixings], or style = \"none\""
            }
            Self::Cancelled => "start again when you are ready",
        }
    }
}

impl From<PanelFault> for Problem {
    fn from(fault: PanelFault) -> Self {
        Problem::new(fault.to_string(), fault.hint())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Faults that no job known brings about still say what to do.
    #[test]
    fn faults_of_its_own_making_say_what_to_do() {
        for (fault, what) in [
            (PanelFault::NotSolid(SolidFault::TooLarge), "closed solid"),
            (PanelFault::Crossing { station_mm: 71.0 }, "station 71 mm"),
        ] {
            let problem = Problem::from(fault);
            assert!(problem.what.contains(what), "{problem}");
            assert!(problem.hint.contains("under [panel]"), "{problem}");
        }
    }
}
