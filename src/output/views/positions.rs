//! The gap in every position of the tray, one line each, told apart by its dashes and its name.

use super::strip::{LEFT_MM, RIGHT_MM, Strip};
use super::{WIDTH_MM, forward};
use crate::gap::Survey;
use crate::math::Point2;
use crate::output::Run;
use crate::output::drawing::{Anchor, Drawing, Ink, Line, TITLE_MM};

const TALL_MM: f64 = 52.0;
const BELOW_MM: f64 = 15.0;
/// Paper above the chart for the title, and for each line's name.
const ABOVE_MM: f64 = 15.0;
const NAME_MM: f64 = 5.0;
/// The kinds of line by turns, the first for the scanned position.
const LINES: [Line; 5] = [
    Line::Wide,
    Line::Dashed,
    Line::Chain,
    Line::Spaced,
    Line::Narrow,
];

/// `None` where the job names no further positions.
pub(super) fn draw(run: Run<'_>) -> Option<Drawing> {
    let measured = run.measured;
    let settings = &measured.positions;
    let (first, last) = (
        measured.survey.stations.first()?,
        measured.survey.stations.last()?,
    );
    if settings.is_empty() {
        return None;
    }
    let further = settings.iter().map(|s| (s.name.as_str(), &s.survey));
    let all: Vec<(&str, &Survey)> = [("as scanned", &measured.survey)]
        .into_iter()
        .chain(further)
        .collect();
    let gaps = || {
        all.iter()
            .flat_map(|(_, s)| s.stations.iter().map(|st| st.gap))
    };
    let low = gaps().fold(f64::INFINITY, f64::min);
    let high = gaps().fold(f64::NEG_INFINITY, f64::max);
    let chart = Strip {
        first_s: first.s,
        last_s: last.s,
        along: Strip::scale(last.s - first.s),
        range: [(low - 1.0).floor(), (high + 1.0).ceil()],
        bottom: BELOW_MM,
        tall: TALL_MM,
    };
    let names = NAME_MM * all.len() as f64;
    let height = BELOW_MM + TALL_MM + names + ABOVE_MM + 3.0;
    let mut drawing = Drawing::new("The gap in every position of the tray", [WIDTH_MM, height]);
    let title = drawing.title.clone();
    let at = Point2::new(LEFT_MM, height - 5.0);
    drawing.text(at, Anchor::Start, TITLE_MM, Ink::Plain, title);
    let note = "gap over station, both in mm; heights do not begin at 0";
    drawing.note(Point2::new(LEFT_MM, height - 9.5), Anchor::Start, note);
    chart.ruler(&mut drawing, "gap, mm");
    chart.stations(&mut drawing);
    for (i, (name, survey)) in all.iter().enumerate() {
        let line = LINES[i % LINES.len()];
        let values = survey.stations.iter().map(|st| (st.s, Some(st.gap)));
        chart.line(&mut drawing, values, (line, Ink::Plain));
        let y = height - ABOVE_MM - NAME_MM * i as f64;
        let from = Point2::new(LEFT_MM + 20.0, y + 0.9);
        drawing.stroke(
            vec![from, Point2::new(from.x + 22.0, from.y)],
            line,
            Ink::Plain,
        );
        let least = survey
            .stations
            .iter()
            .map(|st| st.gap)
            .fold(f64::INFINITY, f64::min);
        let most = survey.stations.iter().map(|st| st.gap).fold(0.0, f64::max);
        let words = format!("{name}: {least:.1} to {most:.1} mm");
        drawing.note(Point2::new(from.x + 24.0, y), Anchor::Start, words);
    }
    // More positions than kinds of line are told apart at their left end.
    if all.len() > LINES.len() {
        for (i, (_, survey)) in all.iter().enumerate() {
            if let Some(st) = survey
                .stations
                .get(survey.stations.len() * (i + 1) / (all.len() + 1))
            {
                drawing.note(chart.at(st.s, st.gap), Anchor::Middle, (i + 1).to_string());
            }
        }
    }
    drawing.scale_bar(Point2::new(LEFT_MM, 3.0), chart.along, 30.0);
    let at = Point2::new(WIDTH_MM - RIGHT_MM, 4.0);
    forward::mark(&mut drawing, at, measured.front, forward::from_outside());
    Some(drawing)
}
