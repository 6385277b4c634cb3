//! Pieces of cloth at 1:1, to cut out: outline, where the part ends, laps, stations, and which way the
//! fibres run.

use super::Measured;
use super::drawing::{Anchor, Drawing, Ink, Line, NOTE_MM, TITLE_MM};
use super::paging::check_bar;
use super::views::forward;
use crate::buck::{ClothPiece, ClothSet};
use crate::math::{Point2, Vector2, Vector3};

/// Paper left round the shape (mm): sides and top, and under it for the lettering.
const SIDE_MM: f64 = 12.0;
const UNDER_MM: f64 = 40.0;
/// Room the lettering takes (mm).
const BLOCK_MM: f64 = 165.0;
/// Length of a tick at each edge, and of the arrow along the warp at the most (mm).
const TICK_MM: f64 = 7.0;
const ARROW_MM: f64 = 60.0;
/// Length of the arrow that points up, at the most (mm).
const UP_MM: f64 = 25.0;

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
    for lap in &piece.laps {
        drawing.stroke(all(lap), Line::Dashed, Ink::Plain);
    }
}

/// The stretch of a line through `at` that lies within a closed outline round it. `None` where `at` lies
/// outside of it.
fn chord(outline: &[Point2], at: Point2, way: Vector2) -> Option<[Point2; 2]> {
    let next = outline.iter().cycle().skip(1);
    let (mut before, mut after) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut crossed = 0;
    for (a, b) in outline.iter().zip(next) {
        let (u, v) = (way.perp(&(a - at)), way.perp(&(b - at)));
        if (u < 0.0) == (v < 0.0) {
            continue;
        }
        let t = (a + (b - a) * (u / (u - v)) - at).dot(&way);
        if t < 0.0 {
            before = before.max(t);
        } else {
            after = after.min(t);
            crossed += 1;
        }
    }
    let inside = crossed % 2 == 1 && before.is_finite();
    inside.then(|| [at + way * before, at + way * after])
}

/// An arrow along `way` that stays well within a piece, no longer than `most` (mm of cloth): its two ends, on
/// the cloth. `by` is where it may stand beside the middle.
pub(super) fn arrow_within(piece: &ClothPiece, by: f64, way: Vector2, most: f64) -> [Point2; 2] {
    let beside = piece.middle + Vector2::new(by, 0.0);
    let upright = [beside, piece.middle]
        .iter()
        .find_map(|at| chord(&piece.outline, *at, Vector2::y()));
    let at = upright.map_or(piece.middle, |[low, high]| nalgebra::center(&low, &high));
    let [from, to] = chord(&piece.outline, at, way).unwrap_or([at - way, at + way]);
    let half = (0.4 * (to - from).norm()).min(0.5 * most);
    let middle = nalgebra::center(&from, &to);
    // A long chord keeps the arrow where it is wanted; a short one has it in its middle.
    let middle = if 2.0 * half < 0.5 * (to - from).norm()
        && (at - from).norm().min((to - at).norm()) > half
    {
        at
    } else {
        middle
    };
    [middle - way * half, middle + way * half]
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
    let strip = piece
        .strip()
        .map_or(String::new(), |strip| format!(" ({strip})"));
    let what = format!(
        "{}, piece {number} of {}{strip}",
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
    warp(&mut drawing, set, piece, &put);
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

/// The arrow along the warp, inside of the piece beside its middle, and one up beside it.
fn warp(
    drawing: &mut Drawing,
    set: &ClothSet,
    piece: &ClothPiece,
    put: &dyn Fn(&Point2) -> Point2,
) {
    let (sin, cos) = set.ply.turn.sin_cos();
    let way = Vector2::new(cos, sin);
    let [from, to] = arrow_within(piece, -0.7 * ARROW_MM, way, ARROW_MM).map(|p| put(&p));
    drawing.arrow(from, to, Ink::Accent);
    drawing.text(
        nalgebra::center(&from, &to) + Vector2::new(2.0, -NOTE_MM - 2.0),
        Anchor::Start,
        NOTE_MM,
        Ink::Accent,
        format!("WARP {:.0}\u{b0}", set.ply.turn.to_degrees()),
    );
    let [foot, head] = arrow_within(piece, 2.5, Vector2::y(), UP_MM).map(|p| put(&p));
    drawing.arrow(foot, head, Ink::Plain);
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
    let mut lap = match piece.lap_to {
        Some(s) => format!(" Dashed: up to here it laps the piece before (station {s:.0} mm)."),
        None => String::new(),
    };
    if piece.up[0] > 0.0 {
        lap.push_str(" Dashed along: down from here it laps the strip below.");
    }
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
    let frame = measured
        .survey
        .spine
        .frame_at(0.5 * (piece.along[0] + piece.along[1]));
    let beside = at(3.2) + Vector2::new(BLOCK_MM - SIDE_MM - 12.0, 1.5);
    forward::mark(drawing, beside, measured.front, [frame.along, Vector3::z()]);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Across a square of 10 by hand; nothing from outside of it.
    #[test]
    fn a_chord_ends_on_the_outline() {
        let square =
            [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| Point2::new(x, y));
        let found = chord(&square, Point2::new(3.0, 4.0), Vector2::x());
        assert_eq!(found, Some([Point2::new(0.0, 4.0), Point2::new(10.0, 4.0)]));
        let way = Vector2::new(1.0, 1.0).normalize();
        let [from, to] = chord(&square, Point2::new(2.0, 5.0), way).unwrap();
        assert!((from - Point2::new(0.0, 3.0)).norm() < 1e-9);
        assert!((to - Point2::new(7.0, 10.0)).norm() < 1e-9);
        assert_eq!(chord(&square, Point2::new(-3.0, 4.0), Vector2::x()), None);
        assert_eq!(chord(&[], Point2::origin(), Vector2::x()), None);
    }
}
