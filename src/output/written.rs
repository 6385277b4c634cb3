//! Every solid that a run writes, with what is asked of its walls.

use super::Made;
use crate::math::{Point3, Spine};
use crate::mesh::Solid;
use crate::panel::{End, Fixing, Panel};
use crate::split::pieces::{self, Asked, Piece, PieceProof};
use crate::split::{Coupon, PrinterOptions, Segments};

/// Round a hole the wall is not measured nearer than this (mm).
const BY_HOLE_MM: f64 = 2.0;
/// How deep a boss reaches behind its hole, about (mm): a second ball covers it.
const BOSS_MM: f64 = 8.0;

/// A row of pieces cut from one workpiece.
struct Row<'a> {
    name: String,
    whole: &'a Solid,
    segments: &'a Segments,
    spine: &'a Spine,
    wall_mm: Option<f64>,
    balls: Vec<(Point3, f64)>,
    stretches: Vec<[f64; 2]>,
}

fn panel_row<'a>(
    name: &str,
    panel: &'a Panel,
    segments: &'a Segments,
    spine: &'a Spine,
) -> Row<'a> {
    let faded = panel.ends.iter().filter(|zone| zone.end == End::Faded);
    Row {
        name: name.to_owned(),
        whole: &panel.solid,
        segments,
        spine,
        wall_mm: Some(panel.wall.asked_mm),
        balls: panel.fixings.iter().flat_map(around).collect(),
        // A fade runs out to nothing.
        stretches: faded.map(|zone| zone.along).collect(),
    }
}

/// Balls round a fixing's hole and boss.
fn around(fixing: &Fixing) -> [(Point3, f64); 2] {
    let radius = 0.5 * fixing.slot_mm.max(fixing.washer_mm) + BY_HOLE_MM;
    let behind = fixing.at + fixing.axis * BOSS_MM;
    [(fixing.at, radius), (behind, radius)]
}

/// Measures the walls of every solid of a run and tests each for running through itself.
#[must_use]
pub fn prove_pieces(made: &Made, printer: &PrinterOptions) -> Vec<PieceProof> {
    let spine = &made.measured.survey.spine;
    let mut rows = vec![panel_row("panel", &made.panel, &made.segments, spine)];
    if let Some(twin) = &made.twin {
        let (panel, spine) = (&twin.twin.panel, &twin.twin.spine);
        rows.push(panel_row(
            "other side's panel",
            panel,
            &twin.segments,
            spine,
        ));
    }
    for own in made.positions.iter().flat_map(|made| &made.own) {
        let setting = made.measured.positions.get(own.setting);
        let word = setting.map_or("", |setting| setting.word.as_str());
        let name = format!("panel for {word}");
        rows.push(panel_row(&name, &own.panel, &own.segments, spine));
    }
    if let Some(made) = &made.buck {
        let buck = &made.buck;
        rows.push(Row {
            name: "buck".to_owned(),
            whole: &buck.solid,
            segments: &made.segments,
            spine,
            wall_mm: buck.wall_mm,
            balls: buck
                .details
                .iter()
                .map(|detail| (detail.at, 0.5 * detail.size_mm + BY_HOLE_MM))
                .collect(),
            stretches: Vec::new(),
        });
    }
    let mut all: Vec<Piece<'_>> = rows
        .iter()
        .flat_map(|row| pieces_of(row, printer))
        .collect();
    if let Some(row) = rows.first() {
        all.extend(
            made.coupons
                .iter()
                .map(|coupon| slice(row, coupon, printer)),
        );
    }
    pieces::prove(&all)
}

fn pieces_of<'a>(row: &'a Row<'_>, printer: &PrinterOptions) -> Vec<Piece<'a>> {
    let whole = Piece {
        name: row.name.clone(),
        solid: row.whole,
        spine: row.spine,
        asked: asked(row, [f64::NEG_INFINITY, f64::INFINITY], printer),
    };
    let segments = row.segments.segments.iter().map(|segment| Piece {
        name: format!("{}, segment {}", row.name, segment.number),
        solid: &segment.in_place,
        spine: row.spine,
        asked: asked(row, segment.along, printer),
    });
    std::iter::once(whole).chain(segments).collect()
}

fn slice<'a>(row: &'a Row<'_>, coupon: &'a Coupon, printer: &PrinterOptions) -> Piece<'a> {
    Piece {
        name: format!("coupon {}", coupon.number),
        solid: &coupon.in_place,
        spine: row.spine,
        asked: asked(row, coupon.along, printer),
    }
}

fn asked<'a>(row: &'a Row<'_>, along: [f64; 2], printer: &PrinterOptions) -> Asked<'a> {
    Asked {
        wall_mm: row.wall_mm,
        tab_wall_mm: printer.tab_wall_mm,
        along,
        balls: &row.balls,
        stretches: &row.stretches,
    }
}
