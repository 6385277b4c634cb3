//! The laminate, for programs.

use super::Run;
use super::cloth_pattern::piece_file;
use super::report::rounded;
use crate::buck::{Bends, ClothNeed, ClothSet, CoreEdge, Ply, Strip, Way};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct LaminatePart {
    way: &'static str,
    plies: Vec<PlyPart>,
    fibre_share: f64,
    thickness_mm: f64,
    /// All that goes on top of the print.
    on_top_mm: f64,
    filler_mm: f64,
    primer_mm: f64,
    sanding_mm: f64,
    release_mm: f64,
    g_m2: f64,
    symmetric: bool,
    balanced: bool,
    part_m2: f64,
    cloth_m2: f64,
    laminate_g: f64,
    part_g: f64,
    buy: Vec<NeedPart>,
    waste_percent: f64,
    resin_g: f64,
    peel_ply_m2: f64,
    release_film_m2: f64,
    bag_m2: f64,
    flange_strip: Option<StripPart>,
    bending: Option<BendingPart>,
    overlap_mm: f64,
    cure_c: f64,
    core_edge: Option<EdgePart>,
    pieces: Vec<PiecePart>,
}

#[derive(Serialize)]
struct PlyPart {
    number: usize,
    fibre: &'static str,
    cloth: &'static str,
    g_m2: f64,
    turn_deg: f64,
    thickness_mm: f64,
    resin_g_m2: f64,
}

#[derive(Serialize)]
struct NeedPart {
    fibre: &'static str,
    cloth: &'static str,
    g_m2: f64,
    plies: usize,
    cut_m2: f64,
    buy_m2: f64,
    buy_g: f64,
}

#[derive(Serialize)]
struct StripPart {
    width_mm: f64,
    flange_mm: f64,
    lap_mm: f64,
    length_mm: f64,
    plies: usize,
    cut_m2: f64,
    buy_m2: f64,
    resin_g: f64,
    mass_g: f64,
}

#[derive(Serialize)]
struct BendingPart {
    times_the_plastic: f64,
    plastic_mpa: f64,
    wall_mm: f64,
    enough_mm: f64,
}

fn strip_part(strip: Strip) -> StripPart {
    StripPart {
        width_mm: rounded(strip.size.width_mm()),
        flange_mm: rounded(strip.size.flange_mm),
        lap_mm: rounded(strip.size.lap_mm),
        length_mm: rounded(strip.size.length_mm),
        plies: strip.plies,
        cut_m2: rounded(strip.cut_m2),
        buy_m2: rounded(strip.buy_m2),
        resin_g: rounded(strip.resin_g),
        mass_g: rounded(strip.mass_g),
    }
}

fn bending_part(bends: Bends) -> BendingPart {
    BendingPart {
        times_the_plastic: rounded(bends.times),
        plastic_mpa: rounded(bends.plastic_mpa),
        wall_mm: rounded(bends.wall_mm),
        enough_mm: rounded(bends.enough_mm()),
    }
}

#[derive(Serialize)]
struct EdgePart {
    chamfer_mm: f64,
    round_mm: f64,
}

#[derive(Serialize)]
struct PiecePart {
    plies: Vec<usize>,
    file: String,
    from_mm: f64,
    to_mm: f64,
    strip: Option<&'static str>,
    lap_to_mm: Option<f64>,
    least_stretch_percent: f64,
    most_stretch_percent: f64,
    shear_deg: f64,
    shear_at_mm: f64,
    area_m2: f64,
    lies_down: bool,
}

fn pieces(set: &ClothSet) -> impl Iterator<Item = PiecePart> + '_ {
    (set.pieces.iter().enumerate()).map(|(i, piece)| PiecePart {
        plies: set.plies.clone(),
        file: format!("{}.svg", piece_file(set, i + 1)),
        from_mm: rounded(piece.along[0]),
        to_mm: rounded(piece.along[1]),
        strip: piece.strip(),
        lap_to_mm: piece.lap_to.map(rounded),
        least_stretch_percent: rounded(100.0 * piece.stretch[0]),
        most_stretch_percent: rounded(100.0 * piece.stretch[1]),
        shear_deg: rounded(piece.shear.0.to_degrees()),
        shear_at_mm: rounded(piece.shear.1),
        area_m2: rounded(piece.area * 1e-6),
        lies_down: piece.lies_down(),
    })
}

/// What a way is called.
pub(super) fn way_word(way: Way) -> &'static str {
    match way {
        Way::None => "none",
        Way::Core => "core",
        Way::Buck => "buck",
    }
}

/// Mass of the finished part under its filler (g): the laminate, the strip that becomes its flange, and the
/// core where it stays in.
pub(super) fn part_mass(run: Run<'_>) -> Option<f64> {
    let layup = run.layup?;
    let core = match (layup.options.way, run.made) {
        (Way::Core, Some((_, segments))) => segments.estimate().mass_g,
        _ => 0.0,
    };
    let strip = layup.bill.strip.map_or(0.0, |strip| strip.mass_g);
    Some(layup.bill.laminate_g + strip + core)
}

pub(super) fn laminate_part(run: Run<'_>) -> Option<LaminatePart> {
    let layup = run.layup?;
    let (options, bill) = (&layup.options, &layup.bill);
    let laminate = &options.laminate;
    let ply = |(i, ply): (usize, &Ply)| PlyPart {
        number: i + 1,
        fibre: ply.fibre.name(),
        cloth: ply.cloth.name(),
        g_m2: rounded(ply.g_m2),
        turn_deg: rounded(ply.turn.to_degrees()),
        thickness_mm: rounded(ply.thickness_mm(laminate.fibre_share)),
        resin_g_m2: rounded(ply.resin_g_m2(laminate.fibre_share, laminate.resin_kg_m3)),
    };
    let need = |need: &ClothNeed| NeedPart {
        fibre: need.fibre.name(),
        cloth: need.cloth.name(),
        g_m2: rounded(need.g_m2),
        plies: need.plies,
        cut_m2: rounded(need.cut_m2),
        buy_m2: rounded(need.buy_m2),
        buy_g: rounded(need.buy_g()),
    };
    let edge = |edge: CoreEdge| EdgePart {
        chamfer_mm: rounded(edge.chamfer_mm),
        round_mm: rounded(edge.round_mm),
    };
    Some(LaminatePart {
        way: way_word(options.way),
        plies: laminate.plies.iter().enumerate().map(ply).collect(),
        fibre_share: rounded(laminate.fibre_share),
        thickness_mm: rounded(laminate.thickness_mm()),
        on_top_mm: rounded(match options.way {
            Way::Buck => options.on_top().total(),
            Way::Core | Way::None => options.overlay_mm(),
        }),
        filler_mm: rounded(options.coats.filler_mm),
        primer_mm: rounded(options.coats.primer_mm),
        sanding_mm: rounded(options.coats.sanding_mm),
        release_mm: rounded(options.coats.release_mm),
        g_m2: rounded(laminate.g_m2()),
        symmetric: laminate.is_symmetric(),
        balanced: laminate.is_balanced(),
        part_m2: rounded(bill.part_m2),
        cloth_m2: rounded(layup.areas.cloth * 1e-6),
        laminate_g: rounded(bill.laminate_g),
        part_g: rounded(part_mass(run)?),
        buy: bill.cloths.iter().map(need).collect(),
        waste_percent: rounded(100.0 * options.cut.waste),
        resin_g: rounded(bill.resin_g),
        peel_ply_m2: rounded(bill.peel_ply_m2),
        release_film_m2: rounded(bill.release_film_m2),
        bag_m2: rounded(bill.bag_m2),
        flange_strip: bill.strip.map(strip_part),
        bending: layup.bends.map(bending_part),
        overlap_mm: rounded(options.cut.overlap_mm),
        cure_c: rounded(options.cure_c),
        core_edge: layup.core.map(edge),
        pieces: layup.sets.iter().flat_map(pieces).collect(),
    })
}
