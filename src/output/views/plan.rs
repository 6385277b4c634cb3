//! The plan: spine, edge and segments seen from above, the maker below the drawing.

use super::{WIDTH_MM, forward};
use crate::gap::{Obstacle, Quality, Station};
use crate::math::{Point2, Vector2, Vector3};
use crate::output::Run;
use crate::output::drawing::{
    Anchor, Drawing, Ink, Line, NOTE_MM, Scale, TITLE_MM, hatch, round_length,
};

/// Tallest the plan is drawn (mm on paper).
const TALL_MM: f64 = 110.0;
/// Paper round the plan: sides, below for the bar, above for the title.
const SIDE_MM: f64 = 14.0;
const BELOW_MM: f64 = 20.0;
const ABOVE_MM: f64 = 24.0;
/// How much further in the number of a station may stand, out of the way of what is on the tray (mm).
const FURTHER_MM: u8 = 14;
/// Width of a digit of the lettering (mm).
const DIGIT_MM: f64 = 1.95;

/// Where the plan puts a point of the shop frame: y runs right, x down to the maker.
struct Place {
    scale: Scale,
    least_y: f64,
    most_x: f64,
}

impl Place {
    fn at(&self, x: f64, y: f64) -> Point2 {
        Point2::new(
            SIDE_MM + self.scale.to_paper(y - self.least_y),
            BELOW_MM + self.scale.to_paper(self.most_x - x),
        )
    }
}

pub(super) fn draw(run: Run<'_>) -> Drawing {
    let survey = &run.measured.survey;
    let title = "Plan, seen from above";
    let flat: Vec<Point2> = survey
        .stations
        .iter()
        .flat_map(|st| [st.edge.xy(), st.silhouette.xy(), st.tray.xy()])
        .filter(|p| p.coords.iter().all(|v| v.is_finite()))
        .collect();
    let Some(&first) = flat.first() else {
        return Drawing::new(title, [WIDTH_MM, ABOVE_MM]);
    };
    let (lo, hi) = flat
        .iter()
        .fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p)));
    let size = hi - lo;
    let wide = Scale::fitting(size.y, WIDTH_MM - 2.0 * SIDE_MM);
    let tall = Scale::fitting(size.x, TALL_MM);
    let scale = if wide.times(tall) < 1.0 { wide } else { tall };
    let place = Place {
        scale,
        least_y: lo.y,
        most_x: hi.x,
    };
    let height = BELOW_MM + scale.to_paper(size.x) + ABOVE_MM;
    let mut drawing = Drawing::new(title, [WIDTH_MM, height]);
    let at = Point2::new(SIDE_MM, height - 5.0);
    drawing.text(at, Anchor::Start, TITLE_MM, Ink::Plain, title);
    let key = "thick: outermost skin; thin: lower edge, dashed where not well seen; dash-dot: line of the stations";
    drawing.note(Point2::new(SIDE_MM, height - 9.5), Anchor::Start, key);
    obstacles(&mut drawing, &place, run);
    curves(&mut drawing, &place, run);
    stations(&mut drawing, &place, run);
    segments(&mut drawing, &place, run);
    drawing.scale_bar(Point2::new(SIDE_MM, 3.0), scale, 40.0);
    let tail = Point2::new(WIDTH_MM - SIDE_MM, 14.0);
    drawing.arrow(tail, tail - Vector2::new(0.0, 11.0), Ink::Plain);
    let at = Point2::new(tail.x - 2.0, 4.0);
    drawing.note(at, Anchor::End, "toward you, outside (x)");
    if run.measured.front.is_some() {
        let at = Point2::new(106.0, 6.0);
        let ways = [Vector3::y(), -Vector3::x()];
        forward::mark(&mut drawing, at, run.measured.front, ways);
    }
    drawing
}

fn curves(drawing: &mut Drawing, place: &Place, run: Run<'_>) {
    let stations = &run.measured.survey.stations;
    let through = |of: fn(&Station) -> Point2| -> Vec<Point2> {
        stations
            .iter()
            .map(of)
            .map(|p| place.at(p.x, p.y))
            .collect()
    };
    drawing.stroke(through(|st| st.silhouette.xy()), Line::Wide, Ink::Plain);
    drawing.stroke(through(|st| st.tray.xy()), Line::Chain, Ink::Plain);
    for pair in stations.windows(2) {
        let points = pair
            .iter()
            .map(|st| place.at(st.edge.x, st.edge.y))
            .collect();
        let seen = pair.iter().all(|st| st.quality == Quality::Good);
        let line = if seen { Line::Narrow } else { Line::Dashed };
        drawing.stroke(points, line, Ink::Plain);
    }
}

/// A tick and a number every round length along the spine, on the inboard side.
fn stations(drawing: &mut Drawing, place: &Place, run: Run<'_>) {
    let survey = &run.measured.survey;
    let (Some(first), Some(last)) = (survey.stations.first(), survey.stations.last()) else {
        return;
    };
    let step = round_length(place.scale.to_model(25.0));
    let taken: Vec<[Point2; 4]> = (survey.obstacles.iter())
        .map(|obstacle| on_plan(place, run, obstacle))
        .collect();
    let mut s = (first.s / step).ceil() * step;
    while s <= last.s {
        let frame = survey.spine.frame_at(s);
        let p = place.at(frame.origin.x, frame.origin.y);
        let inboard = Vector2::new(-frame.outward.y, frame.outward.x);
        drawing.stroke(
            vec![p + inboard * 1.5, p + inboard * 4.0],
            Line::Narrow,
            Ink::Plain,
        );
        let number = format!("{s:.0}");
        // Half the lettering, as far as it reaches toward the tick.
        let half = Vector2::new(number.len() as f64 * DIGIT_MM, NOTE_MM) / 2.0;
        let clear = 5.2 + half.x * inboard.x.abs() + half.y * inboard.y.abs();
        // Further in where something stands there.
        let free = |middle: &Point2| taken.iter().all(|corners| is_off(middle, half, corners));
        let middle = (0..=FURTHER_MM)
            .map(|k| p + inboard * (clear + f64::from(k)))
            .find(free)
            .unwrap_or(p + inboard * clear);
        let at = middle - Vector2::new(0.0, NOTE_MM / 2.0);
        drawing.note(at, Anchor::Middle, number);
        s += step;
    }
}

/// Corners of something on the tray.
fn on_plan(place: &Place, run: Run<'_>, obstacle: &Obstacle) -> [Point2; 4] {
    let ([a, b], [near, far]) = (obstacle.along, obstacle.across);
    [(a, near), (b, near), (b, far), (a, far)].map(|(s, x)| {
        let frame = run.measured.survey.spine.frame_at(s);
        let p = frame.to_shop(Point2::new(x, 0.0));
        place.at(p.x, p.y)
    })
}

/// Whether a word about `middle` that reaches `half` to its sides and up and down is clear of a box round
/// some corners.
fn is_off(middle: &Point2, half: Vector2, corners: &[Point2; 4]) -> bool {
    let (low, high) = corners[1..]
        .iter()
        .fold((corners[0], corners[0]), |(l, h), p| (l.inf(p), h.sup(p)));
    (0..2).any(|k| middle[k] + half[k] < low[k] || middle[k] - half[k] > high[k])
}

fn obstacles(drawing: &mut Drawing, place: &Place, run: Run<'_>) {
    for obstacle in &run.measured.survey.obstacles {
        let corners = on_plan(place, run, obstacle);
        for line in hatch(&corners, 0.8) {
            drawing.stroke(line.to_vec(), Line::Narrow, Ink::Faint);
        }
        drawing.outline(corners.to_vec(), Line::Narrow, Ink::Plain);
    }
}

/// Cuts across the spine, and each segment's number outboard of it.
fn segments(drawing: &mut Drawing, place: &Place, run: Run<'_>) {
    let Some((_, parts)) = run.made else {
        return;
    };
    let spine = &run.measured.survey.spine;
    for joint in &parts.joints {
        let frame = spine.frame_at(joint.s);
        let p = place.at(frame.origin.x, frame.origin.y);
        let outboard = Vector2::new(frame.outward.y, -frame.outward.x);
        drawing.stroke(
            vec![p - outboard * 5.0, p + outboard * 5.0],
            Line::Chain,
            Ink::Plain,
        );
    }
    for segment in &parts.segments {
        let [a, b] = segment.along;
        let frame = spine.frame_at((a + b) / 2.0);
        let p = place.at(frame.origin.x, frame.origin.y);
        let outboard = Vector2::new(frame.outward.y, -frame.outward.x);
        let at = p + outboard * 6.0 - Vector2::new(0.0, TITLE_MM / 2.0);
        drawing.text(
            at,
            Anchor::Middle,
            TITLE_MM,
            Ink::Plain,
            segment.number.to_string(),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_clear_of_a_box_or_is_not() {
        let corners =
            [(0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0)].map(|(x, y)| Point2::new(x, y));
        let half = Vector2::new(3.0, 1.0);
        for (x, y, off) in [
            (5.0, 2.0, false),
            (12.0, 2.0, false),
            (13.5, 2.0, true),
            (5.0, 4.5, false),
            (5.0, 5.5, true),
        ] {
            assert_eq!(is_off(&Point2::new(x, y), half, &corners), off, "{x} {y}");
        }
    }
}
