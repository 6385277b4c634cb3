//! Strip charts along the spine: a value over the station, between two limits of its own.

use super::WIDTH_MM;
use super::free_room::FreeRoom;
use crate::math::Point2;
use crate::output::drawing::{Anchor, Drawing, Fill, Ink, Line, NOTE_MM, Scale, round_length};

/// Paper kept free at the left, for the upright ruler, and at the right (mm).
pub(super) const LEFT_MM: f64 = 16.0;
pub(super) const RIGHT_MM: f64 = 6.0;

/// One chart on a drawing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strip {
    pub first_s: f64,
    pub last_s: f64,
    pub along: Scale,
    /// Least and greatest value shown.
    pub range: [f64; 2],
    /// Lower end and height on paper (mm).
    pub bottom: f64,
    pub tall: f64,
}

impl Strip {
    /// The scale that fits a stretch of the spine between the rulers.
    pub fn scale(length_mm: f64) -> Scale {
        Scale::fitting(length_mm, WIDTH_MM - LEFT_MM - RIGHT_MM)
    }

    /// Where a station and a value lie; a value out of range lies on the nearer limit.
    pub fn at(&self, s: f64, value: f64) -> Point2 {
        let [low, high] = self.range;
        let share = (value.clamp(low, high) - low) / (high - low).max(1e-9);
        Point2::new(
            LEFT_MM + self.along.to_paper(s - self.first_s),
            self.bottom + share * self.tall,
        )
    }

    /// The ruler at the left, with its name and unit over it.
    pub fn ruler(&self, drawing: &mut Drawing, name: &str) {
        let [low, high] = self.range;
        let step = round_length((high - low) / self.tall * 8.0).max(0.1);
        for k in ticks(low, high, step) {
            let y = self.at(self.first_s, k).y;
            let tick = vec![Point2::new(LEFT_MM - 3.5, y), Point2::new(LEFT_MM - 2.0, y)];
            drawing.stroke(tick, Line::Narrow, Ink::Plain);
            let at = Point2::new(LEFT_MM - 4.5, y - NOTE_MM / 2.0);
            let text = format!("{}", (k * 1e3).round() / 1e3 + 0.0);
            drawing.note(at, Anchor::End, text);
        }
        let [foot, head] =
            [low, high].map(|v| Point2::new(LEFT_MM - 2.0, self.at(self.first_s, v).y));
        drawing.stroke(vec![foot, head], Line::Narrow, Ink::Plain);
        let at = Point2::new(2.0, self.bottom + self.tall + 2.0);
        drawing.text(at, Anchor::Start, NOTE_MM, Ink::Faint, name);
    }

    /// Stations below the chart.
    pub fn stations(&self, drawing: &mut Drawing) {
        let step = round_length(self.along.to_model(25.0));
        for k in ticks(self.first_s, self.last_s, step) {
            let p = Point2::new(self.at(k, 0.0).x, self.bottom);
            drawing.stroke(
                vec![p, Point2::new(p.x, p.y - 1.5)],
                Line::Narrow,
                Ink::Plain,
            );
            drawing.note(
                Point2::new(p.x, p.y - 5.0),
                Anchor::Middle,
                format!("{k:.0}"),
            );
        }
    }

    /// A level line from end to end; gives its ends.
    pub fn limit(
        &self,
        drawing: &mut Drawing,
        value: f64,
        (line, ink): (Line, Ink),
    ) -> [Point2; 2] {
        let ends = [self.first_s, self.last_s].map(|s| self.at(s, value));
        drawing.stroke(ends.to_vec(), line, ink);
        ends
    }

    /// The names of level lines, where no curve of the chart runs through them.
    pub fn names(
        &self,
        drawing: &mut Drawing,
        names: &[([Point2; 2], String, Ink)],
        curves: &[Vec<Point2>],
    ) {
        let mut room = FreeRoom::default();
        for curve in curves {
            room.curve(curve);
        }
        for (line, _, _) in names {
            room.curve(line);
        }
        for (line, words, ink) in names {
            let at = room.name(*line, words);
            drawing.text(at, Anchor::Start, NOTE_MM, *ink, words.as_str());
        }
    }

    /// The points of what is known, on paper.
    pub fn points(&self, values: impl Iterator<Item = (f64, Option<f64>)>) -> Vec<Point2> {
        let known = values.filter_map(|(s, value)| value.map(|value| self.at(s, value)));
        known.collect()
    }

    /// A line through what is known, broken where it is not.
    pub fn line(
        &self,
        drawing: &mut Drawing,
        values: impl Iterator<Item = (f64, Option<f64>)>,
        (line, ink): (Line, Ink),
    ) {
        let mut run: Vec<Point2> = Vec::new();
        for (s, value) in values {
            match value {
                Some(value) => run.push(self.at(s, value)),
                None => drawing.stroke(std::mem::take(&mut run), line, ink),
            }
        }
        drawing.stroke(run, line, ink);
    }

    /// A band between two values.
    pub fn band(&self, drawing: &mut Drawing, rows: &[(f64, [f64; 2])]) {
        let upper = rows.iter().map(|(s, [_, high])| self.at(*s, *high));
        let lower = rows.iter().rev().map(|(s, [low, _])| self.at(*s, *low));
        drawing.area(upper.chain(lower).collect(), Fill::Wash);
    }
}

/// Whole multiples of `step` from `first` to `last`.
pub(super) fn ticks(first: f64, last: f64, step: f64) -> impl Iterator<Item = f64> {
    let (from, to) = ((first / step).ceil() as i64, (last / step).floor() as i64);
    (from..=to.min(from.saturating_add(200))).map(move |k| k as f64 * step)
}
