//! The tray's positions in the report.

use super::{Run, own_panel_file, position_csv};
use crate::panel::proof::positions::{Held, PositionProof, Served};
use serde::Serialize;

/// How the positions are served, and what is left in each.
#[derive(Serialize)]
pub(super) struct PositionsPart {
    held: &'static str,
    served: &'static str,
    positions: Vec<PositionPart>,
}

#[derive(Serialize)]
struct PositionPart {
    name: String,
    way_mm: [f64; 3],
    gap_file: String,
    panel_file: Option<String>,
    least_left: Option<PlacePart>,
    most_left: Option<PlacePart>,
    interference: Option<PlacePart>,
    aside: Option<PlacePart>,
    covered_share: f64,
    stations: Vec<StationPart>,
}

#[derive(Serialize)]
struct PlacePart {
    mm: f64,
    station_mm: f64,
}

#[derive(Serialize)]
struct StationPart {
    station_mm: f64,
    left_mm: f64,
    sigma_mm: f64,
    residual_mm: f64,
    judged: bool,
}

/// `None` where the job names no positions or no panel was made.
pub(super) fn positions_part(run: Run<'_>, rounded: fn(f64) -> f64) -> Option<PositionsPart> {
    let made = run.positions?;
    let part = |(i, proof): (usize, &PositionProof)| position_part(run, i, proof, rounded);
    Some(PositionsPart {
        held: match made.proof.held {
            Held::OnTray => "tray",
            Held::OnBody => "body",
        },
        served: match made.proof.served {
            Served::AsDesigned => "as_designed",
            Served::ForTheLeastGap => "for_the_least_gap",
            Served::OneEach => "one_each",
        },
        positions: made.proof.positions.iter().enumerate().map(part).collect(),
    })
}

fn position_part(
    run: Run<'_>,
    index: usize,
    proof: &PositionProof,
    rounded: fn(f64) -> f64,
) -> PositionPart {
    let place = |met: Option<(f64, f64)>| {
        met.map(|(mm, s)| PlacePart {
            mm: rounded(mm),
            station_mm: rounded(s),
        })
    };
    let setting = index
        .checked_sub(1)
        .and_then(|i| Some((i, run.measured.positions.get(i)?)));
    let own = setting.filter(|(i, _)| {
        let made = run.positions.iter().flat_map(|made| &made.own);
        made.into_iter().any(|own| own.setting == *i)
    });
    PositionPart {
        name: proof.name.clone(),
        way_mm: setting.map_or([0.0; 3], |(_, s)| [s.way.x, s.way.y, s.way.z].map(rounded)),
        gap_file: setting.map_or_else(|| "gap.csv".to_owned(), |(_, s)| position_csv(&s.word)),
        panel_file: match own {
            Some((_, setting)) => Some(own_panel_file(&setting.word)),
            None if index == 0 || proof.serves() => Some("panel.stl".to_owned()),
            None => None,
        },
        least_left: place(proof.least()),
        most_left: place(proof.most()),
        interference: place(proof.interference()),
        aside: place(proof.aside),
        covered_share: rounded(proof.covered),
        stations: proof
            .stations
            .iter()
            .map(|at| StationPart {
                station_mm: rounded(at.s),
                left_mm: rounded(at.left_mm),
                sigma_mm: rounded(at.sigma_mm),
                residual_mm: rounded(at.residual_mm),
                judged: at.judged,
            })
            .collect(),
    }
}
