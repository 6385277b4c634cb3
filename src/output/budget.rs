//! The uncertainty budget and the outlook for the fit, for programs.

use super::Measured;
use crate::gap::seal::{Footing, Seal, choose_lap, choose_seal, needed_room};
use crate::gap::{Budget, Part, Station};
use serde::Serialize;
use serde_json::{Map, Value, json};

/// The budget over the whole gap.
#[derive(Serialize)]
pub(super) struct BudgetPart {
    parts: Map<String, Value>,
    combined_mm: f64,
    expanded_mm: f64,
    dominant: &'static str,
    advice: &'static str,
    as_scanned: FitPart,
    after_readings: FitPart,
}

/// What the fit needs, and what to choose by it.
#[derive(Serialize)]
struct FitPart {
    fit_mm: Option<f64>,
    seal: Option<SealPart>,
    lap_mm: Option<f64>,
}

#[derive(Serialize)]
struct SealPart {
    free_mm: f64,
    middle_mm: f64,
    best_mm: f64,
    half_mm: f64,
}

/// What is to be expected of the fit.
#[derive(Serialize)]
pub(super) struct OutlookPart {
    word: &'static str,
    reason: String,
    stretch_mm: Option<[f64; 2]>,
    needs_mm: f64,
    wanders_mm: f64,
    opens_mm: f64,
    closes_mm: f64,
}

fn seal_part(seal: Seal, rounded: fn(f64) -> f64) -> SealPart {
    SealPart {
        free_mm: seal.free_mm,
        middle_mm: rounded(seal.middle_mm),
        best_mm: rounded(seal.best_mm),
        half_mm: rounded(seal.half_mm),
    }
}

fn fit_part(stations: &[Station], footing: Footing, rounded: fn(f64) -> f64) -> FitPart {
    FitPart {
        fit_mm: needed_room(stations, footing).map(rounded),
        seal: choose_seal(stations, footing).map(|seal| seal_part(seal, rounded)),
        lap_mm: choose_lap(stations, footing),
    }
}

/// `rounded` is how the report rounds lengths.
pub(super) fn budget_part(measured: &Measured, rounded: fn(f64) -> f64) -> BudgetPart {
    let stations = &measured.survey.stations;
    let overall = Budget::overall(stations);
    let parts = Part::ALL.into_iter().map(|part| {
        let value = rounded(overall.part(part));
        (format!("{}_mm", part.name()), json!(value))
    });
    let dominant = overall.dominant();
    BudgetPart {
        parts: parts.collect(),
        combined_mm: rounded(overall.combined()),
        expanded_mm: rounded(overall.expanded()),
        dominant: dominant.name(),
        advice: dominant.advice(),
        as_scanned: fit_part(stations, Footing::Scans, rounded),
        after_readings: fit_part(stations, Footing::Readings, rounded),
    }
}

pub(super) fn outlook_part(measured: &Measured, rounded: fn(f64) -> f64) -> Option<OutlookPart> {
    let outlook = measured.outlook.as_ref()?;
    Some(OutlookPart {
        word: outlook.verdict.word(),
        reason: outlook.reason(),
        stretch_mm: outlook.stretch.map(|ends| ends.map(rounded)),
        needs_mm: rounded(outlook.needs_mm),
        wanders_mm: rounded(outlook.wanders_mm),
        opens_mm: rounded(outlook.room.opens),
        closes_mm: rounded(outlook.room.closes),
    })
}
