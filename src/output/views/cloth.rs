//! The pieces of cloth of every ply, small, to see what is cut from what.

use super::forward;
use super::{View, WIDTH_MM};
use crate::buck::ClothSet;
use crate::math::{Point2, Vector2, Vector3};
use crate::output::Run;
use crate::output::cloth_pattern::{arrow_within, bounds, lines, plies_word};
use crate::output::drawing::{Anchor, Drawing, Ink, NOTE_MM, Scale, TITLE_MM};
use crate::output::words::span;

/// Free at the sides, over and under a row of pieces, and at the foot (mm).
const SIDE_MM: f64 = 4.0;
const OVER_MM: f64 = 9.0;
const FOOT_MM: f64 = 10.0;
const HEAD_MM: f64 = 10.0;
/// Longest arrow along the warp (mm).
const ARROW_MM: f64 = 18.0;

pub(super) fn draw(run: Run<'_>) -> Vec<View> {
    let sets = run.layup.map_or(&[][..], |layup| &layup.sets);
    (sets.iter())
        .filter_map(|set| {
            let numbers: Vec<String> = set.plies.iter().map(usize::to_string).collect();
            Some(View {
                name: format!("cloth/ply_{}", numbers.join("_")),
                drawing: draw_set(run, set)?,
            })
        })
        .collect()
}

fn draw_set(run: Run<'_>, set: &ClothSet) -> Option<Drawing> {
    let spine = &run.measured.survey.spine;
    let boxes: Vec<[Point2; 2]> = (set.pieces.iter())
        .map(|piece| bounds(piece.outline.iter()))
        .collect::<Option<_>>()?;
    let widest = boxes.iter().map(|[lo, hi]| (hi - lo).x).fold(1.0, f64::max);
    let scale = Scale::fitting(widest, WIDTH_MM - 2.0 * SIDE_MM);
    let high = |[lo, hi]: &[Point2; 2]| scale.to_paper((hi - lo).y);
    let height = FOOT_MM + HEAD_MM + boxes.iter().map(|b| high(b) + OVER_MM).sum::<f64>();
    let title = format!(
        "Cloth for {}: {}, {}, {:.0} g/m\u{b2}, seen from outside",
        plies_word(set),
        set.ply.fibre.name(),
        set.ply.cloth.name(),
        set.ply.g_m2
    );
    let mut drawing = Drawing::new(title.clone(), [WIDTH_MM, height]);
    let head = Point2::new(SIDE_MM, height - 5.0);
    drawing.text(head, Anchor::Start, TITLE_MM, Ink::Plain, title);
    let mut top = height - HEAD_MM;
    for (i, (piece, at)) in set.pieces.iter().zip(&boxes).enumerate() {
        let strip = piece
            .strip()
            .map_or(String::new(), |strip| format!(", {strip}"));
        drawing.note(
            Point2::new(SIDE_MM, top - NOTE_MM - 1.0),
            Anchor::Start,
            format!(
                "{}: station {:.0} to {:.0} mm{strip}. Stretch {} %, shear {:.0} degrees.",
                i + 1,
                piece.along[0],
                piece.along[1],
                span(piece.stretch.map(|share| 100.0 * share), 1),
                piece.shear.0.to_degrees()
            ),
        );
        let base = top - OVER_MM + 3.0 - high(at);
        let low = at[0];
        let put = move |p: &Point2| {
            Point2::new(
                SIDE_MM + scale.to_paper(p.x - low.x),
                base + scale.to_paper(p.y - low.y),
            )
        };
        lines(&mut drawing, piece, &put);
        let (sin, cos) = set.ply.turn.sin_cos();
        let most = scale.to_model(ARROW_MM);
        let [from, to] = arrow_within(piece, 0.0, Vector2::new(cos, sin), most).map(|p| put(&p));
        drawing.arrow(from, to, Ink::Accent);
        let frame = spine.frame_at(0.5 * (piece.along[0] + piece.along[1]));
        let right = Point2::new(WIDTH_MM - SIDE_MM, top - NOTE_MM);
        forward::mark(
            &mut drawing,
            right,
            run.measured.front,
            [frame.along, Vector3::z()],
        );
        top -= high(at) + OVER_MM;
    }
    drawing.scale_bar(Point2::new(SIDE_MM, 3.5), scale, 40.0);
    drawing.note(
        Point2::new(WIDTH_MM - SIDE_MM, 3.5),
        Anchor::End,
        "arrow: warp; dash-dot: the part's edge; dashed: end of a lap",
    );
    Some(drawing)
}
