//! Pieces of cloth at 1:1, to cut out: outline, where the part ends, laps, stations, and which way the
//! fibres run.

use super::Measured;
use super::drawing::{Anchor, Drawing, Ink, Line, NOTE_MM, TITLE_MM};
use super::paging::check_bar;
use crate::buck::{ClothPiece, ClothSet};
use crate::math::{Point2, Vector2};

/// Paper left round the shape (mm): sides and top, and under it for the lettering.
const SIDE_MM: f64 = 12.0;
const UNDER_MM: f64 = 40.0;
/// Room the lettering takes (mm).
const BLOCK_MM: f64 = 165.0;
/// Length of a tick at each edge, and of the arrow along the warp at the most (mm).
const TICK_MM: f64 = 7.0;
const ARROW_MM: f64 = 60.0;

/// "ply 1 and 3".
pub(super) fn plies_word(set: &ClothSet) -> String {
    let numbers: Vec<String> = set.plies.iter().map(usize::to_string).collect();
    match numbers.split_last() {
        Some((last, rest)) if !rest.is_empty() => {
            format!("plies {} and {last}", rest.join(", "))
        }
        _ => format!("ply {}", numbers.concat()),
    }
}

/// Name of a piece's files, without the ending.
pub(super) fn piece_file(set: &ClothSet, number: usize) -> String {
    let numbers: Vec<String> = set.plies.iter().map(usize::to_string).collect();
    format!("cloth/ply_{}_piece_{number}", numbers.join("_"))
}

/// Lowest and highest corner of some points.
pub(super) fn bounds<'a>(points: impl Iterator<Item = &'a Point2>) -> Option<[Point2; 2]> {
    points.fold(None, |held, p| {
        let [lo, hi] = held.unwrap_or([*p, *p]);
        Some([lo.inf(p), hi.sup(p)])
    })
}

/// The lines of a piece at a scale: cut, part's edges and ends, where a lap ends.
pub(super) fn lines(drawing: &mut Drawing, piece: &ClothPiece, put: &dyn Fn(&Point2) -> Point2) {
    let all = |points: &[Point2]| -> Vec<Point2> { points.iter().map(put).collect() };
    drawing.outline(all(&piece.outline), Line::Wide, Ink::Plain);
    for line in piece.edges.iter().chain(&piece.ends) {
        drawing.stroke(all(line), Line::Chain, Ink::Plain);
    }
    if let Some(lap) = &piece.lap {
        drawing.stroke(all(lap), Line::Dashed, Ink::Plain);
    }
}

/// One piece of a set, counted from 1.
pub(super) fn draw(
    measured: &Measured,
    set: &ClothSet,
    piece: &ClothPiece,
    number: usize,
) -> Option<Drawing> {
    let [low, high] = bounds(piece.outline.iter())?;
    let size = high - low + Vector2::new(2.0 * SIDE_MM, SIDE_MM + UNDER_MM);
    let what = format!(
        "{}, piece {number} of {}",
        plies_word(set),
        set.pieces.len()
    );
    let mut drawing = Drawing::new(
        format!("{}: cloth, {what}", measured.name),
        [size.x.max(BLOCK_MM), size.y],
    );
    let shift = Point2::new(SIDE_MM, UNDER_MM) - low;
    let put = move |p: &Point2| p + shift;
    lines(&mut drawing, piece, &put);
    for tick in &piece.ticks {
        let [foot, head] = tick.ends.map(|p| put(&p));
        let Some(up) = (head - foot).try_normalize(1e-9) else {
            continue;
        };
        let long = TICK_MM.min((head - foot).norm() / 3.0);
        drawing.stroke(vec![foot, foot + up * long], Line::Narrow, Ink::Plain);
        drawing.stroke(vec![head, head - up * long], Line::Narrow, Ink::Plain);
        let word = format!("{:.0}", tick.s);
        let at = foot + up * (long + 0.8);
        drawing.text(at, Anchor::Middle, 2.0, Ink::Plain, word.clone());
        let at = head - up * (long + 2.8);
        drawing.text(at, Anchor::Middle, 2.0, Ink::Plain, word);
    }
    warp(&mut drawing, set, piece, put(&piece.middle));
    let at = put(&piece.middle) + Vector2::new(6.0, 0.0);
    drawing.text(
        at,
        Anchor::Start,
        NOTE_MM,
        Ink::Plain,
        format!("{}. UP. OUTSIDE.", what.to_uppercase()),
    );
    lettering(&mut drawing, measured, set, piece, &what);
    Some(drawing)
}

/// The arrow along the warp, through the middle and inside of the piece, and one up beside it.
fn warp(drawing: &mut Drawing, set: &ClothSet, piece: &ClothPiece, middle: Point2) {
    let (sin, cos) = set.ply.turn.sin_cos();
    let along = Vector2::new(cos, sin);
    let high = bounds(piece.outline.iter()).map_or(0.0, |[lo, hi]| (hi - lo).y);
    let long = ARROW_MM.min(0.7 * high / sin.abs().max(1e-6));
    let from = middle - Vector2::new(0.5 * ARROW_MM, 0.0);
    drawing.arrow(
        from - along * (0.5 * long),
        from + along * (0.5 * long),
        Ink::Accent,
    );
    drawing.text(
        from + Vector2::new(2.0, -NOTE_MM - 2.0),
        Anchor::Start,
        NOTE_MM,
        Ink::Accent,
        format!("WARP {:.0}\u{b0}", set.ply.turn.to_degrees()),
    );
    let foot = middle + Vector2::new(2.5, -0.15 * high);
    drawing.arrow(foot, foot + Vector2::new(0.0, 0.3 * high), Ink::Plain);
}

fn lettering(
    drawing: &mut Drawing,
    measured: &Measured,
    set: &ClothSet,
    piece: &ClothPiece,
    what: &str,
) {
    let at = |line: f64| Point2::new(SIDE_MM, UNDER_MM - 14.0 - 4.5 * line);
    let ply = &set.ply;
    drawing.text(
        at(-1.0),
        Anchor::Start,
        TITLE_MM,
        Ink::Plain,
        format!(
            "{}: {what}, 1:1. {}, {}, {:.0} g/m2. Survey {}.",
            measured.name,
            ply.fibre.name(),
            ply.cloth.name(),
            ply.g_m2,
            measured.survey_id
        ),
    );
    let lap = match (&piece.lap, piece.lap_to) {
        (Some(_), Some(s)) => {
            format!(" Dashed: up to here it laps the piece before (station {s:.0} mm).")
        }
        _ => String::new(),
    };
    drawing.note(
        at(0.0),
        Anchor::Start,
        format!("This side faces out. Wide: cut. Chain: the part's edge, to trim to.{lap}"),
    );
    drawing.note(
        at(1.0),
        Anchor::Start,
        format!(
            "On the surface: stretch {:.1} to {:.1} % along the fibres, shear up to {:.0} degrees.",
            (1e3 * piece.stretch[0]).round() / 10.0 + 0.0,
            (1e3 * piece.stretch[1]).round() / 10.0 + 0.0,
            piece.shear.0.to_degrees()
        ),
    );
    drawing.note(
        at(2.0),
        Anchor::Start,
        "Ticks: stations, mm. Print at actual size (100 %); this bar is 100 mm:",
    );
    check_bar(drawing, at(3.2));
}
