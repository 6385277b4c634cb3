//! The proof of every solid that is written, for programs.

use super::report::rounded;
use crate::split::pieces::{PieceProof, ThickAt};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct PiecePart<'a> {
    name: &'a str,
    asked_mm: Option<f64>,
    places: usize,
    by_ray: Option<RangePart>,
    to_closest: Option<RangePart>,
    crosses_itself_at_mm: Option<[f64; 3]>,
}

#[derive(Serialize)]
struct RangePart {
    least: PlacePart,
    most: PlacePart,
}

#[derive(Serialize)]
struct PlacePart {
    mm: f64,
    station_mm: f64,
    at_mm: [f64; 3],
}

pub(super) fn pieces_part(proofs: &[PieceProof]) -> Vec<PiecePart<'_>> {
    proofs.iter().map(piece_part).collect()
}

fn piece_part(proof: &PieceProof) -> PiecePart<'_> {
    let range = |range: Option<[ThickAt; 2]>| {
        range.map(|[least, most]| RangePart {
            least: place_part(least),
            most: place_part(most),
        })
    };
    PiecePart {
        name: &proof.name,
        asked_mm: proof.asked_mm.map(rounded),
        places: proof.places,
        by_ray: range(proof.ray),
        to_closest: range(proof.closest),
        crosses_itself_at_mm: proof.crossing.map(|p| [p.x, p.y, p.z].map(rounded)),
    }
}

fn place_part(place: ThickAt) -> PlacePart {
    PlacePart {
        mm: rounded(place.mm),
        station_mm: rounded(place.s),
        at_mm: [place.at.x, place.at.y, place.at.z].map(rounded),
    }
}
