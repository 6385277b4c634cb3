//! The finished outside laid flat and coloured by its distance to the scans.

use super::strip::{LEFT_MM, RIGHT_MM, Strip};
use super::{WIDTH_MM, forward};
use crate::gap::Front;
use crate::math::Point2;
use crate::output::drawing::{
    Anchor, Drawing, Fill, Ink, Line, NOTE_MM, TITLE_MM, level, round_length,
};
use crate::panel::proof::fit::{FaceColumn, FitProof};

/// Distances at the two ends of the colours (mm). What is further off takes the end.
const SHOWN_MM: [f64; 2] = [-2.0, 6.0];
/// Steps of colour: half a millimetre each.
const STEPS: f64 = 16.0;
/// Tallest the outside is drawn, underside included (mm on paper).
const TALL_MM: f64 = 62.0;
const BELOW_MM: f64 = 26.0;
const ABOVE_MM: f64 = 15.0;

/// `None` where nothing could be measured.
pub(super) fn draw(proof: &FitProof, front: Option<Front>) -> Option<Drawing> {
    let columns = &proof.face;
    let (first, last) = (columns.first()?, columns.last()?);
    let points = || columns.iter().flat_map(|column| &column.points);
    let low = points().map(|p| p.up_mm).fold(0.0, f64::min);
    let high = points().map(|p| p.up_mm).fold(0.0, f64::max);
    let along = Strip::scale(last.s - first.s);
    let times = (TALL_MM / along.to_paper((high - low).max(1.0))).clamp(1.0, 40.0);
    let times = if times > 2.0 { times.floor() } else { 1.0 };
    let tall = along.to_paper(high - low) * times;
    let chart = Strip {
        first_s: first.s,
        last_s: last.s,
        along,
        range: [low, high],
        bottom: BELOW_MM,
        tall,
    };
    let height = BELOW_MM + tall + ABOVE_MM;
    let mut drawing = Drawing::new(
        "The outside laid flat: distance to the scans",
        [WIDTH_MM, height],
    );
    let title = drawing.title.clone();
    let at = Point2::new(LEFT_MM, height - 5.0);
    drawing.text(at, Anchor::Start, TITLE_MM, Ink::Plain, title);
    let note = format!(
        "up the face from the foot, and down along the flange's underside, mm; drawn {times:.0} times as tall as long"
    );
    drawing.note(Point2::new(LEFT_MM, height - 9.5), Anchor::Start, note);
    cells(&mut drawing, &chart, columns);
    lines(&mut drawing, &chart, columns);
    chart.ruler(&mut drawing, "");
    chart.stations(&mut drawing);
    key(&mut drawing);
    drawing.scale_bar(Point2::new(LEFT_MM, 3.0), along, 30.0);
    let at = Point2::new(WIDTH_MM - RIGHT_MM, height - 4.0);
    forward::mark(&mut drawing, at, front, forward::from_outside());
    Some(drawing)
}

/// The step of colour of a distance, from 0.
fn step_of(off_mm: f64) -> u8 {
    let [low, high] = SHOWN_MM;
    let step = (off_mm - low) / (high - low) * STEPS;
    step.floor().clamp(0.0, STEPS - 1.0) as u8
}

fn fill_of(step: u8) -> Fill {
    Fill::Field(level(f64::from(step) / (STEPS - 1.0)))
}

/// Each column's runs of one colour, from half way to the column before to half way to the next.
fn cells(drawing: &mut Drawing, chart: &Strip, columns: &[FaceColumn]) {
    for (i, column) in columns.iter().enumerate() {
        let beside = |k: Option<usize>| {
            k.and_then(|k| columns.get(k))
                .map(|c| (c.s + column.s) / 2.0)
        };
        let from = beside(i.checked_sub(1)).unwrap_or(column.s);
        let to = beside(Some(i + 1)).unwrap_or(column.s);
        let mut run: Option<(u8, f64, f64)> = None;
        let mut close = |run: &mut Option<(u8, f64, f64)>| {
            if let Some((step, low, high)) = run.take() {
                let corners = [(from, low), (to, low), (to, high), (from, high)];
                drawing.area(
                    corners.map(|(s, up)| chart.at(s, up)).to_vec(),
                    fill_of(step),
                );
            }
        };
        for pair in column.points.windows(2) {
            let [a, b] = [pair[0], pair[1]];
            let off = a.off_mm.zip(b.off_mm).map(|(a, b)| (a + b) / 2.0);
            let Some(step) = off.map(step_of) else {
                close(&mut run);
                continue;
            };
            match &mut run {
                Some((same, _, high)) if *same == step => *high = b.up_mm,
                _ => {
                    close(&mut run);
                    run = Some((step, a.up_mm, b.up_mm));
                }
            }
        }
        close(&mut run);
    }
}

/// Foot and knee.
fn lines(drawing: &mut Drawing, chart: &Strip, columns: &[FaceColumn]) {
    let foot = columns
        .iter()
        .map(|column| chart.at(column.s, 0.0))
        .collect();
    drawing.stroke(foot, Line::Wide, Ink::Plain);
    let knee = columns
        .iter()
        .map(|column| chart.at(column.s, column.knee_mm))
        .collect();
    drawing.stroke(knee, Line::Narrow, Ink::Plain);
    let last = columns.last().map_or(0.0, |column| column.s);
    for (up, words) in [(0.0, "foot"), (chart.range[0], "flange's tip")] {
        let at = chart.at(last, up) + crate::math::Vector2::new(-1.0, 1.0);
        drawing.text(at, Anchor::End, NOTE_MM, Ink::Plain, words);
    }
}

/// The scale of colours with its numbers.
fn key(drawing: &mut Drawing) {
    let [low, high] = SHOWN_MM;
    let (left, wide, bottom, tall) = (WIDTH_MM - RIGHT_MM - 96.0, 96.0, 7.5, 4.0);
    let x = |mm: f64| left + wide * (mm - low) / (high - low);
    for step in 0..STEPS as u8 {
        let [from, to] = [step, step + 1].map(|k| left + wide * f64::from(k) / STEPS);
        let corners = [
            (from, bottom),
            (to, bottom),
            (to, bottom + tall),
            (from, bottom + tall),
        ];
        drawing.area(
            corners.map(|(x, y)| Point2::new(x, y)).to_vec(),
            fill_of(step),
        );
    }
    let frame = [
        (left, bottom),
        (left + wide, bottom),
        (left + wide, bottom + tall),
        (left, bottom + tall),
    ];
    drawing.outline(
        frame.map(|(x, y)| Point2::new(x, y)).to_vec(),
        Line::Narrow,
        Ink::Plain,
    );
    let step = round_length((high - low) / 4.0);
    for mm in super::strip::ticks(low, high, step) {
        let p = Point2::new(x(mm), bottom);
        drawing.stroke(
            vec![p, Point2::new(p.x, p.y - 1.2)],
            Line::Narrow,
            Ink::Plain,
        );
        drawing.note(
            Point2::new(p.x, p.y - 4.5),
            Anchor::Middle,
            format!("{mm:.0}"),
        );
    }
    let words = "distance to body or tray, mm; below 0 inside; the ends hold what is beyond";
    let at = Point2::new(left + wide, bottom + tall + 1.5);
    drawing.text(at, Anchor::End, NOTE_MM, Ink::Plain, words);
}
