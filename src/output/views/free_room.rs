//! Room for words among curves: a name stands where nothing runs through it.

use crate::math::{Point2, Vector2};
use crate::output::drawing::NOTE_MM;

/// Width of a letter of the lettering (mm), rather more than the mean.
const LETTER_MM: f64 = 1.85;
/// What hangs below the base line (mm), and room kept round the words.
const BELOW_MM: f64 = 0.8;
const ROUND_MM: f64 = 0.5;
/// Curves are looked at in steps of this (mm).
const STEP_MM: f64 = 0.7;

/// What is on the paper already.
#[derive(Debug, Default)]
pub(super) struct FreeRoom {
    dots: Vec<Point2>,
    /// Lower left and upper right corner of the words placed so far.
    words: Vec<(Point2, Point2)>,
}

impl FreeRoom {
    /// A curve or a line that no words may cover.
    pub fn curve(&mut self, points: &[Point2]) {
        self.dots.extend(points.first());
        for pair in points.windows(2) {
            let way = pair[1] - pair[0];
            let steps = (way.norm() / STEP_MM).ceil().clamp(1.0, 1e3);
            let at = |k: usize| pair[0] + way * (k as f64 / steps);
            self.dots.extend((1..=steps as usize).map(at));
        }
    }

    /// Where the words of a level line begin: just over it or just under it, the first place from its left
    /// end that is free; where none is, the one with least in the way. `line` is from left to right.
    pub fn name(&mut self, line: [Point2; 2], words: &str) -> Point2 {
        let wide = words.chars().count() as f64 * LETTER_MM;
        let room = (line[1].x - line[0].x - wide).max(0.0);
        let steps = (room / 2.0) as usize;
        let over = Vector2::new(0.0, BELOW_MM + ROUND_MM);
        let under = Vector2::new(0.0, -NOTE_MM - ROUND_MM - 0.3);
        let places = (0..=steps).flat_map(|k| {
            let from = line[0] + Vector2::new(1.0 + 2.0 * k as f64, 0.0);
            [from + over, from + under]
        });
        let corners = |at: Point2| {
            let round = Vector2::repeat(ROUND_MM);
            let low = at - Vector2::new(0.0, BELOW_MM) - round;
            (low, at + Vector2::new(wide, NOTE_MM) + round)
        };
        let best = places
            .map(|at| (self.in_the_way(corners(at)), at))
            .reduce(|best, next| if next.0 < best.0 { next } else { best });
        let at = best.map_or(line[0], |(_, at)| at);
        self.words.push(corners(at));
        at
    }

    fn in_the_way(&self, (low, high): (Point2, Point2)) -> usize {
        let inside = |p: &&Point2| p.x > low.x && p.x < high.x && p.y > low.y && p.y < high.y;
        let crossed = |other: &&(Point2, Point2)| {
            let (l, h) = **other;
            l.x < high.x && low.x < h.x && l.y < high.y && low.y < h.y
        };
        // Words over words are worse than a line through them.
        self.dots.iter().filter(inside).count() + 1000 * self.words.iter().filter(crossed).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_keeps_off_curves_and_other_names() {
        let mut room = FreeRoom::default();
        let line = [Point2::new(0.0, 0.0), Point2::new(100.0, 0.0)];
        // A curve that runs along just over the line for its first half, and just under it all along.
        room.curve(&[Point2::new(0.0, 2.0), Point2::new(50.0, 2.0)]);
        room.curve(&[Point2::new(0.0, -2.0), Point2::new(100.0, -2.0)]);
        let first = room.name(line, "ten letter");
        assert!(first.x > 50.0 && first.y > 0.0, "{first}");
        let second = room.name(line, "ten letter");
        assert!((second.x - first.x).abs() > 18.0, "{first} {second}");
        // Where nothing is free it still stands on its line.
        let third = room.name(
            line,
            "far too many words for what is left of the line, to be sure",
        );
        assert!(third.x < 2.0 && third.y.abs() < 5.0, "{third}");
    }
}
