//! The proof of fit in the report.

use crate::panel::proof::{Deepest, FitAt, FitProof};
use serde::Serialize;

/// The finished part against both scans.
#[derive(Serialize)]
pub(super) struct FitPart {
    meant_mm: f64,
    opens_mm: f64,
    closes_mm: f64,
    least_clearance: Option<PlacePart>,
    most_residual: Option<PlacePart>,
    deepest_in_body: Option<DeepestPart>,
    deepest_in_tray: Option<DeepestPart>,
    tray_scatter_mm: f64,
    stations: Vec<StationPart>,
}

#[derive(Serialize)]
struct PlacePart {
    mm: f64,
    sigma_mm: f64,
    station_mm: f64,
}

#[derive(Serialize)]
struct DeepestPart {
    mm: f64,
    explained_mm: f64,
    station_mm: f64,
    at_mm: [f64; 3],
}

#[derive(Serialize)]
struct StationPart {
    station_mm: f64,
    top_clearance_mm: Option<f64>,
    joint_mm: f64,
    top_sigma_mm: f64,
    foot_mm: Option<f64>,
    foot_least_mm: Option<f64>,
    foot_most_mm: Option<f64>,
    foot_sigma_mm: Option<f64>,
    residual_mm: f64,
}

pub(super) fn fit_part(proof: &FitProof, rounded: fn(f64) -> f64) -> FitPart {
    let place = |mm: f64, at: &FitAt| PlacePart {
        mm: rounded(mm),
        sigma_mm: rounded(at.top_sigma_mm),
        station_mm: rounded(at.s),
    };
    let residual = |at: &&FitAt| at.residual_mm.abs();
    FitPart {
        meant_mm: rounded(proof.meant_mm),
        opens_mm: rounded(proof.room.opens),
        closes_mm: rounded(proof.room.closes),
        least_clearance: proof.least_clearance().map(|(mm, at)| place(mm, at)),
        most_residual: proof
            .stations
            .iter()
            .max_by(|a, b| residual(a).total_cmp(&residual(b)))
            .map(|at| place(at.residual_mm, at)),
        deepest_in_body: proof.body.as_ref().map(|d| deepest_part(d, rounded)),
        deepest_in_tray: proof.tray.as_ref().map(|d| deepest_part(d, rounded)),
        tray_scatter_mm: rounded(proof.tray_scatter_mm),
        stations: proof
            .stations
            .iter()
            .map(|at| station_part(at, rounded))
            .collect(),
    }
}

fn deepest_part(deepest: &Deepest, rounded: fn(f64) -> f64) -> DeepestPart {
    DeepestPart {
        mm: rounded(deepest.mm),
        explained_mm: rounded(deepest.explained_mm),
        station_mm: rounded(deepest.station_mm),
        at_mm: [deepest.at.x, deepest.at.y, deepest.at.z].map(rounded),
    }
}

fn station_part(at: &FitAt, rounded: fn(f64) -> f64) -> StationPart {
    StationPart {
        station_mm: rounded(at.s),
        top_clearance_mm: at.top_clearance_mm.map(rounded),
        joint_mm: rounded(at.joint_mm),
        top_sigma_mm: rounded(at.top_sigma_mm),
        foot_mm: at.foot.map(|foot| rounded(foot.middle_mm)),
        foot_least_mm: at.foot.map(|foot| rounded(foot.least_mm)),
        foot_most_mm: at.foot.map(|foot| rounded(foot.most_mm)),
        foot_sigma_mm: at.foot.map(|foot| rounded(foot.sigma_mm)),
        residual_mm: rounded(at.residual_mm),
    }
}
