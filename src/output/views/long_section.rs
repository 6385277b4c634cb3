//! The long section: the gap's height all along, with its uncertainty, seen from outside the vehicle.

use super::{WIDTH_MM, forward};
use crate::gap::{Quality, Station};
use crate::math::{Point2, Vector2};
use crate::output::drawing::{
    Anchor, Drawing, Fill, Ink, Line, NOTE_MM, Scale, TITLE_MM, round_length,
};
use crate::output::{GapSummary, Run};

/// Tallest the heights are drawn (mm on paper).
const TALL_MM: f64 = 52.0;
/// Paper kept free at the left, for the upright ruler, and at the right.
const LEFT_MM: f64 = 16.0;
const RIGHT_MM: f64 = 6.0;
/// Paper below the tray, for stations, joints and bars.
const BELOW_MM: f64 = 28.0;
/// Paper above the heights, for the title and the labels.
const ABOVE_MM: f64 = 20.0;
/// A stretch that is not well seen is named where it is at least this long on paper.
const NAMED_STRETCH_MM: f64 = 14.0;
/// Paper the name of the edge takes along it (mm).
const EDGE_NAME_MM: f64 = 32.0;

/// A segment's number keeps this far from an arrow (mm on paper).
const ASIDE_MM: f64 = 3.0;

/// Width of a warning's mark with what lies round it, and of a character beside it (mm on paper).
const MARK_MM: f64 = 4.5;
const DIGIT_MM: f64 = 1.5;

/// Where the long section puts a station and a height.
struct Axes {
    first_s: f64,
    x: Scale,
    y: Scale,
}

impl Axes {
    fn at(&self, s: f64, height: f64) -> Point2 {
        Point2::new(
            LEFT_MM + self.x.to_paper(s - self.first_s),
            BELOW_MM + self.y.to_paper(height),
        )
    }
}

pub(super) fn draw(run: Run<'_>) -> Drawing {
    let survey = &run.measured.survey;
    let stations = &survey.stations;
    let title = "Long section of the gap, seen from outside";
    let (Some(gap), Some(first)) = (GapSummary::of(survey), stations.first()) else {
        return Drawing::new(title, [WIDTH_MM, ABOVE_MM]);
    };
    let tallest = stations
        .iter()
        .map(|st| st.gap + 2.0 * st.sigma)
        .fold(0.0, f64::max);
    let x = Scale::fitting(gap.length_mm, WIDTH_MM - LEFT_MM - RIGHT_MM);
    let axes = Axes {
        first_s: first.s,
        x,
        y: x.enlarged(stretch(x.to_paper(tallest))),
    };
    let top = BELOW_MM + axes.y.to_paper(tallest);
    let mut drawing = Drawing::new(title, [WIDTH_MM, top + ABOVE_MM]);
    heading(&mut drawing, &axes);
    if run.measured.front.is_some() {
        let at = Point2::new(WIDTH_MM - RIGHT_MM, top + ABOVE_MM - 4.0);
        let ways = forward::from_outside();
        forward::mark(&mut drawing, at, run.measured.front, ways);
    }
    ruler(&mut drawing, &axes, &gap, tallest);
    band(&mut drawing, &axes, stations);
    joints(&mut drawing, &axes, run, tallest);
    edge(&mut drawing, &axes, stations);
    extremes(&mut drawing, &axes, &gap);
    numbers(&mut drawing, &axes, run, &gap);
    warnings(&mut drawing, &axes, run);
    drawing
}

/// How many times as tall as lengths to draw heights that would take `paper_mm`: a round number, the
/// largest that fits.
fn stretch(paper_mm: f64) -> f64 {
    let round = [
        50.0, 40.0, 30.0, 25.0, 20.0, 15.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0,
    ];
    let fits = round.into_iter().find(|times| times * paper_mm <= TALL_MM);
    fits.unwrap_or(1.0)
}

fn heading(drawing: &mut Drawing, axes: &Axes) {
    let [width, height] = drawing.size_mm;
    let name = drawing.title.clone();
    let at = Point2::new(LEFT_MM, height - 5.0);
    drawing.text(at, Anchor::Start, TITLE_MM, Ink::Plain, name);
    let stretched = axes.y.times(axes.x);
    let note = format!(
        "gap over station, both in mm; heights drawn {stretched:.0} times as tall as lengths; shaded: 95 of 100 places"
    );
    let at = Point2::new(LEFT_MM, height - 9.5);
    drawing.note(at, Anchor::Start, note);
    let beside = drawing.scale_bar(Point2::new(LEFT_MM, 3.0), axes.x, 30.0);
    let upright = Point2::new(LEFT_MM + beside + 40.0, 2.0);
    drawing.scale_bar_upright(upright, axes.y, 12.0);
    let tip = Point2::new(width - RIGHT_MM, 4.0);
    drawing.arrow(tip - Vector2::new(12.0, 0.0), tip, Ink::Plain);
    let at = Point2::new(tip.x - 13.5, tip.y - 0.9);
    drawing.note(at, Anchor::End, "to your right");
}

/// The tray as the base line, with stations below and heights at the left.
fn ruler(drawing: &mut Drawing, axes: &Axes, gap: &GapSummary, tallest: f64) {
    let last_s = axes.first_s + gap.length_mm;
    let base = vec![axes.at(axes.first_s, 0.0), axes.at(last_s, 0.0)];
    drawing.stroke(base, Line::Wide, Ink::Plain);
    let step = round_length(axes.x.to_model(25.0));
    for k in ticks(axes.first_s, last_s, step) {
        let p = axes.at(k, 0.0);
        let foot = Point2::new(p.x, p.y - 1.5);
        drawing.stroke(vec![p, foot], Line::Narrow, Ink::Plain);
        drawing.note(
            Point2::new(p.x, p.y - 5.0),
            Anchor::Middle,
            format!("{k:.0}"),
        );
    }
    let label = Point2::new(2.0, BELOW_MM - 5.0);
    drawing.text(label, Anchor::Start, NOTE_MM, Ink::Faint, "tray");
    let step = round_length(axes.y.to_model(14.0));
    for k in ticks(0.0, tallest, step) {
        let y = axes.at(axes.first_s, k).y;
        let tick = vec![Point2::new(LEFT_MM - 3.5, y), Point2::new(LEFT_MM - 2.0, y)];
        drawing.stroke(tick, Line::Narrow, Ink::Plain);
        let at = Point2::new(LEFT_MM - 4.5, y - NOTE_MM / 2.0);
        drawing.note(at, Anchor::End, format!("{k}"));
    }
    let stem = vec![
        Point2::new(LEFT_MM - 2.0, BELOW_MM),
        Point2::new(LEFT_MM - 2.0, BELOW_MM + axes.y.to_paper(tallest)),
    ];
    drawing.stroke(stem, Line::Narrow, Ink::Plain);
    let name = Point2::new(2.0, BELOW_MM + axes.y.to_paper(tallest) + 2.5);
    drawing.text(name, Anchor::Start, NOTE_MM, Ink::Faint, "gap, mm");
}

/// Whole multiples of `step` from `first` to `last`.
fn ticks(first: f64, last: f64, step: f64) -> impl Iterator<Item = f64> {
    let (from, to) = ((first / step).ceil() as i64, (last / step).floor() as i64);
    (from..=to.min(from.saturating_add(200))).map(move |k| k as f64 * step)
}

fn band(drawing: &mut Drawing, axes: &Axes, stations: &[Station]) {
    let upper = stations
        .iter()
        .map(|st| axes.at(st.s, st.gap + 2.0 * st.sigma));
    let lower = stations
        .iter()
        .rev()
        .map(|st| axes.at(st.s, (st.gap - 2.0 * st.sigma).max(0.0)));
    drawing.area(upper.chain(lower).collect(), Fill::Wash);
}

/// The body's lower edge, its kind of line saying how well it is seen.
fn edge(drawing: &mut Drawing, axes: &Axes, stations: &[Station]) {
    let mut from = 0;
    while let Some(start) = stations.get(from) {
        let same = stations
            .iter()
            .skip(from)
            .take_while(|st| st.quality == start.quality);
        let count = same.count();
        // Each stretch runs on to the first station of the next, so that the line has no holes.
        let stretch = stations.iter().skip(from).take(count + 1);
        let points: Vec<Point2> = stretch.map(|st| axes.at(st.s, st.gap)).collect();
        let (line, name) = match start.quality {
            Quality::Good => (Line::Wide, ""),
            Quality::Sparse => (Line::Dashed, "sparse"),
            Quality::Bridged => (Line::Spaced, "bridged"),
        };
        if let (Some(a), Some(b)) = (points.first(), points.last())
            && !name.is_empty()
            && b.x - a.x >= NAMED_STRETCH_MM
        {
            let y = heights(axes, stations, a.x, b.x, -2.0).fold(a.y, f64::min);
            let at = Point2::new((a.x + b.x) / 2.0, y - NOTE_MM - 1.5);
            drawing.note(at, Anchor::Middle, name);
        }
        drawing.stroke(points, line, Ink::Plain);
        from += count;
    }
    if let Some(last) = stations.last() {
        let end = axes.at(last.s, last.gap);
        let y = heights(axes, stations, end.x - EDGE_NAME_MM, end.x, 2.0).fold(end.y, f64::max);
        let at = Point2::new(end.x, y + 1.5);
        drawing.text(at, Anchor::End, NOTE_MM, Ink::Faint, "body's lower edge");
    }
}

/// How high on paper the edge and `sigmas` times its uncertainty lie between two places across the paper.
fn heights(
    axes: &Axes,
    stations: &[Station],
    left: f64,
    right: f64,
    sigmas: f64,
) -> impl Iterator<Item = f64> {
    stations
        .iter()
        .map(move |st| axes.at(st.s, st.gap + sigmas * st.sigma))
        .filter(move |p| p.x >= left && p.x <= right)
        .map(|p| p.y)
}

/// Cuts between segments as chain lines.
fn joints(drawing: &mut Drawing, axes: &Axes, run: Run<'_>, tallest: f64) {
    let Some((_, parts)) = run.made else {
        return;
    };
    for joint in &parts.joints {
        let cut = vec![axes.at(joint.s, 0.0), axes.at(joint.s, tallest)];
        drawing.stroke(cut, Line::Chain, Ink::Plain);
    }
}

/// The segments' numbers, on the tray, beside the arrows that stand there.
fn numbers(drawing: &mut Drawing, axes: &Axes, run: Run<'_>, gap: &GapSummary) {
    let Some((_, parts)) = run.made else {
        return;
    };
    let arrows = [&gap.least, &gap.most].map(|st| axes.at(st.s, 0.0).x);
    for segment in &parts.segments {
        let [a, b] = segment.along;
        let mut at = axes.at((a + b) / 2.0, 0.0) + Vector2::new(0.0, 1.5);
        if let Some(arrow) = arrows.iter().find(|x| (at.x - **x).abs() < ASIDE_MM) {
            at.x = arrow + ASIDE_MM.copysign(at.x - arrow);
        }
        drawing.text(
            at,
            Anchor::Middle,
            TITLE_MM,
            Ink::Faint,
            segment.number.to_string(),
        );
    }
}

/// The least and the most gap, in the accent.
fn extremes(drawing: &mut Drawing, axes: &Axes, gap: &GapSummary) {
    let [width, _] = drawing.size_mm;
    for (name, st) in [("least", &gap.least), ("most", &gap.most)] {
        let p = axes.at(st.s, st.gap);
        let foot = axes.at(st.s, 0.0);
        drawing.arrow(foot, p, Ink::Accent);
        let (anchor, aside) = if p.x > width * 0.6 {
            (Anchor::End, -1.5)
        } else {
            (Anchor::Start, 1.5)
        };
        let at = Point2::new(p.x + aside, (foot.y + p.y) / 2.0);
        let text = format!("{name} {:.1} mm at {:.0}", st.gap, st.s);
        drawing.text(at, anchor, NOTE_MM, Ink::Accent, text);
    }
}

/// Warnings that have a place: their number in the list of warnings, on the tray.
fn warnings(drawing: &mut Drawing, axes: &Axes, run: Run<'_>) {
    let mut placed: Vec<(f64, usize)> = (run.warnings().iter().enumerate())
        .flat_map(|(i, finding)| finding.stations().map(move |s| (axes.at(s, 0.0).x, i + 1)))
        .collect();
    placed.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    // Numbers that would run into each other stand at one mark.
    let mut marks: Vec<(f64, String)> = Vec::new();
    for (x, number) in placed {
        match marks.last_mut() {
            Some((at, text)) if x < *at + MARK_MM + text.len() as f64 * DIGIT_MM => {
                text.push_str(&format!(", {number}"));
            }
            _ => marks.push((x, number.to_string())),
        }
    }
    for (x, text) in marks {
        let y = BELOW_MM - 10.0;
        let p = Point2::new(x, y);
        let tip = Point2::new(p.x, y + 2.6);
        let corners = vec![tip, Point2::new(p.x + 1.5, y), Point2::new(p.x - 1.5, y)];
        drawing.outline(corners, Line::Narrow, Ink::Accent);
        let at = Point2::new(p.x + 2.2, y);
        drawing.text(at, Anchor::Start, NOTE_MM, Ink::Accent, text);
    }
}
