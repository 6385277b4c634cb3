//! How the tray comes off, for programs.

use super::report::rounded;
use crate::panel::Mount;
use crate::panel::proof::removal::{Move, OtherMount, Outcome, PathResult, RemovalProof, Tightest};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct RemovalPart<'a> {
    mount: &'static str,
    best: Option<&'a str>,
    allowance_mm: f64,
    let_down_mm: f64,
    left_out: usize,
    paths: Vec<PathPart<'a>>,
}

#[derive(Serialize)]
struct PathPart<'a> {
    name: &'a str,
    moves: Vec<MovePart>,
    clear: bool,
    tightest: Option<TightestPart>,
    trim_mm: Option<f64>,
    other_mount_clears: Option<bool>,
}

#[derive(Serialize)]
#[serde(untagged)]
enum MovePart {
    Shift {
        shift_mm: [f64; 3],
    },
    Tilt {
        lower: &'static str,
        tilt_deg: f64,
        hinge_mm: f64,
    },
}

#[derive(Serialize)]
struct TightestPart {
    clearance_mm: f64,
    sigma_mm: f64,
    station_mm: f64,
    at_mm: [f64; 3],
    #[serde(rename = "move")]
    step: usize,
    share: f64,
    moving: &'static str,
    against: &'static str,
}

pub(super) fn mount_word(mount: Mount) -> &'static str {
    match mount {
        Mount::Tray => "tray",
        Mount::Body => "body",
    }
}

pub(super) fn removal_part(proof: &RemovalProof) -> RemovalPart<'_> {
    RemovalPart {
        mount: mount_word(proof.mount),
        best: proof.best_path().map(|best| best.path.name.as_str()),
        allowance_mm: rounded(proof.allowance_mm),
        let_down_mm: rounded(proof.let_down_mm),
        left_out: proof.left_out,
        paths: proof.paths.iter().map(path_part).collect(),
    }
}

fn path_part(result: &PathResult) -> PathPart<'_> {
    let (trim_mm, other_mount_clears) = match result.outcome {
        Outcome::Clear => (None, None),
        Outcome::Fouls {
            trim_mm,
            other_mount,
        } => (
            trim_mm.map(rounded),
            Some(other_mount == OtherMount::Clears),
        ),
    };
    PathPart {
        name: &result.path.name,
        moves: result.path.moves.iter().map(move_part).collect(),
        clear: result.is_clear(),
        tightest: result.tightest.map(tightest_part),
        trim_mm,
        other_mount_clears,
    }
}

fn move_part(step: &Move) -> MovePart {
    match *step {
        Move::Shift(by) => MovePart::Shift {
            shift_mm: [by.x, by.y, by.z].map(rounded),
        },
        Move::Tilt {
            lower,
            angle,
            beyond,
        } => MovePart::Tilt {
            lower: lower.word(),
            tilt_deg: rounded(angle.to_degrees()),
            hinge_mm: rounded(beyond),
        },
    }
}

fn tightest_part(tightest: Tightest) -> TightestPart {
    TightestPart {
        clearance_mm: rounded(tightest.mm),
        sigma_mm: rounded(tightest.sigma_mm),
        station_mm: rounded(tightest.station_mm),
        at_mm: [tightest.at.x, tightest.at.y, tightest.at.z].map(rounded),
        step: tightest.moment.step + 1,
        share: rounded(tightest.moment.share),
        moving: tightest.parts[0].word(),
        against: tightest.parts[1].word(),
    }
}
