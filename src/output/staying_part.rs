//! What the report says about air and heat.

use super::StayingOn;
use super::report::rounded;
use crate::panel::proof::air_load::{Bending, FaceHeld, LoadProof, Planned};
use crate::panel::proof::heat::{HeatProof, Slot};
use serde::Serialize;

/// Air and heat against the panel.
#[derive(Serialize)]
pub(super) struct StayingPart<'a> {
    air: AirPart,
    heat: HeatPart<'a>,
}

#[derive(Serialize)]
struct AirPart {
    speed_kmh: f64,
    pressure_coefficient: f64,
    pressure_pa: f64,
    material: &'static str,
    hot_c: f64,
    stiffness_mpa: f64,
    wall_mm: f64,
    pitch_assumed_mm: Option<f64>,
    face_held: &'static str,
    worst: Option<WorstPart>,
    limit_mm: f64,
    widest_pitch_mm: Option<f64>,
    fixings: Vec<FixingPart>,
}

#[derive(Serialize)]
struct WorstPart {
    along_mm: [f64; 2],
    height_mm: f64,
    deflection_mm: [f64; 2],
    stress_mpa: f64,
    between_fixings: BendingPart,
    face: BendingPart,
}

#[derive(Serialize)]
struct BendingPart {
    least_mm: f64,
    most_mm: f64,
    stress_mpa: f64,
}

#[derive(Serialize)]
struct FixingPart {
    station_mm: f64,
    across_n: f64,
    pull_n: Option<f64>,
}

#[derive(Serialize)]
struct HeatPart<'a> {
    fixed_to: &'static str,
    fitted_c: f64,
    cold_c: f64,
    hot_c: f64,
    fixed_to_hot_c: f64,
    stands_c: f64,
    fixed_at_mm: f64,
    growth_hot_mm: f64,
    growth_cold_mm: f64,
    hole_mm: f64,
    end_slot: SlotPart,
    slots: Vec<SlotAtPart>,
    gaps: Vec<GapPart>,
    held_tight: Option<TightPart>,
    sources: Vec<SourcePart<'a>>,
}

#[derive(Serialize)]
struct SlotPart {
    length_mm: f64,
    toward_fixed_mm: f64,
    away_mm: f64,
}

#[derive(Serialize)]
struct SlotAtPart {
    station_mm: f64,
    planned_travel_mm: Option<f64>,
    made_mm: f64,
    #[serde(flatten)]
    slot: SlotPart,
    middle_mm: f64,
}

#[derive(Serialize)]
struct GapPart {
    station_mm: f64,
    leave_mm: f64,
    opens_mm: f64,
}

#[derive(Serialize)]
struct TightPart {
    along_mm: [f64; 2],
    from_k: Option<f64>,
    bow_mm: f64,
}

#[derive(Serialize)]
struct SourcePart<'a> {
    name: &'a str,
    station_mm: f64,
    distance_mm: f64,
    temperature_c: f64,
    panel_c: f64,
    keep_mm: Option<f64>,
}

pub(super) fn staying_part(made: &StayingOn) -> StayingPart<'_> {
    StayingPart {
        air: air_part(&made.air),
        heat: heat_part(&made.heat),
    }
}

fn air_part(proof: &LoadProof) -> AirPart {
    AirPart {
        speed_kmh: proof.options.speed_kmh,
        pressure_coefficient: proof.options.pressure_coefficient,
        pressure_pa: rounded(proof.pressure_pa),
        material: proof.material.name(),
        hot_c: proof.hot_c,
        stiffness_mpa: rounded(proof.stiffness_mpa),
        wall_mm: proof.wall_mm,
        pitch_assumed_mm: match proof.planned {
            Planned::OnPanel => None,
            Planned::Assumed(pitch) => Some(pitch),
        },
        face_held: match proof.held {
            FaceHeld::OneEdge => "one edge",
            FaceHeld::BothEdges => "both edges",
        },
        worst: proof.worst.as_ref().map(|worst| WorstPart {
            along_mm: worst.along.map(rounded),
            height_mm: rounded(worst.height_mm),
            deflection_mm: worst.deflection_mm().map(rounded),
            stress_mpa: rounded(worst.stress_mpa()),
            between_fixings: bending_part(&worst.between),
            face: bending_part(&worst.face),
        }),
        limit_mm: proof.options.limit_mm,
        widest_pitch_mm: proof.widest_pitch_mm.map(rounded),
        fixings: proof
            .fixings
            .iter()
            .map(|fixing| FixingPart {
                station_mm: rounded(fixing.s),
                across_n: rounded(fixing.across_n),
                pull_n: fixing.pull_n.map(rounded),
            })
            .collect(),
    }
}

fn bending_part(bending: &Bending) -> BendingPart {
    BendingPart {
        least_mm: rounded(bending.least_mm),
        most_mm: rounded(bending.most_mm),
        stress_mpa: rounded(bending.stress_mpa),
    }
}

fn slot_part(slot: &Slot) -> SlotPart {
    SlotPart {
        length_mm: rounded(slot.length_mm),
        toward_fixed_mm: rounded(slot.toward_fixed_mm),
        away_mm: rounded(slot.away_mm),
    }
}

fn heat_part(proof: &HeatProof) -> HeatPart<'_> {
    let thermal = &proof.thermal;
    HeatPart {
        fixed_to: proof.fixed_to.name(),
        fitted_c: thermal.fitted_c,
        cold_c: thermal.cold_c,
        hot_c: thermal.hot_c,
        fixed_to_hot_c: thermal.fixed_to_hot_c,
        stands_c: proof.material.service_c(),
        fixed_at_mm: rounded(proof.fixed_at),
        growth_hot_mm: rounded(proof.growth_mm[0]),
        growth_cold_mm: rounded(proof.growth_mm[1]),
        hole_mm: proof.hole_mm,
        end_slot: slot_part(&proof.end_slot),
        slots: proof
            .slots
            .iter()
            .map(|at| SlotAtPart {
                station_mm: rounded(at.held.s),
                planned_travel_mm: at.held.travel_mm.map(rounded),
                made_mm: rounded(at.made_mm(proof.hole_mm)),
                slot: slot_part(&at.slot),
                middle_mm: rounded(at.middle_mm),
            })
            .collect(),
        gaps: proof
            .gaps
            .iter()
            .map(|gap| GapPart {
                station_mm: rounded(gap.s),
                leave_mm: rounded(gap.leave_mm),
                opens_mm: rounded(gap.opens_mm),
            })
            .collect(),
        held_tight: proof.bowing.as_ref().map(|bowing| TightPart {
            along_mm: bowing.along.map(rounded),
            from_k: bowing.from_k.map(rounded),
            bow_mm: rounded(bowing.bow_mm),
        }),
        sources: proof
            .sources
            .iter()
            .map(|heat| SourcePart {
                name: &heat.source.name,
                station_mm: heat.source.at_mm,
                distance_mm: heat.source.distance_mm,
                temperature_c: heat.source.temperature_c,
                panel_c: rounded(heat.panel_c),
                keep_mm: heat.keep_mm.map(rounded),
            })
            .collect(),
    }
}
