//! The paper template: the gap's developed shape at 1:1, to cut out and hold into the gap.

use super::Measured;
use super::drawing::{Anchor, Drawing, Ink, Line, NOTE_MM, TITLE_MM};
use super::paging::check_bar;
use crate::gap::pattern::{Mark, Pattern, develop_gap};
use crate::math::{Point2, Vector2};

/// Paper left round the shape (mm): sides and top, and under it for the lettering.
const SIDE: f64 = 14.0;
const UNDER: f64 = 40.0;
/// Length of a station's tick at each edge (mm).
const TICK: f64 = 4.0;
/// Ticks and their labels stand inside a gap no lower than this (mm), so that they are still there once
/// the shape is cut out.
const ROOMY: f64 = 13.0;
/// Distance of one arrow that points up from the next (mm).
const ARROWS: f64 = 200.0;

/// The template of a survey, where its gap has a surface.
pub(super) fn draw(measured: &Measured) -> Option<Drawing> {
    let pattern = develop_gap(&measured.survey, &measured.checks)?;
    let all = || pattern.foot.iter().chain(&pattern.edge);
    let low = all().fold(Vector2::repeat(f64::INFINITY), |a, p| a.inf(&p.coords));
    let high = all().fold(Vector2::repeat(f64::NEG_INFINITY), |a, p| a.sup(&p.coords));
    let size = high - low + Vector2::new(2.0 * SIDE, SIDE + UNDER);
    let mut drawing = Drawing::new(
        format!("{}: gap template", measured.name),
        [size.x.max(BLOCK), size.y],
    );
    let move_by = Vector2::new(SIDE, UNDER) - low;
    let put = |p: &Point2| p + move_by;
    let mut outline: Vec<Point2> = pattern.foot.iter().map(put).collect();
    outline.extend(pattern.edge.iter().rev().map(put));
    drawing.outline(outline, Line::Wide, Ink::Plain);
    for mark in &pattern.ticks {
        tick(&mut drawing, put(&mark.foot), put(&mark.head), &mark.label);
    }
    for mark in &pattern.reads {
        reading(&mut drawing, put(&mark.foot), put(&mark.head), &mark.label);
    }
    arrows(&mut drawing, &pattern, move_by);
    let base = UNDER - 12.0;
    ends(&mut drawing, &pattern, move_by);
    lettering(&mut drawing, measured, base);
    Some(drawing)
}

/// Room the lettering takes (mm).
const BLOCK: f64 = 165.0;

fn up(foot: Point2, head: Point2) -> Vector2 {
    (head - foot).try_normalize(1e-9).unwrap_or_else(Vector2::y)
}

fn tick(drawing: &mut Drawing, foot: Point2, head: Point2, label: &str) {
    let up = up(foot, head);
    let tall = (head - foot).norm();
    let length = TICK.min(tall / 3.0);
    drawing.stroke(vec![foot, foot + up * length], Line::Narrow, Ink::Plain);
    drawing.stroke(vec![head, head - up * length], Line::Narrow, Ink::Plain);
    let at = if tall >= ROOMY {
        foot + up * (length + 0.8)
    } else {
        foot - Vector2::new(0.0, NOTE_MM + 1.0)
    };
    drawing.text(at, Anchor::Middle, 2.0, Ink::Plain, label);
}

fn reading(drawing: &mut Drawing, foot: Point2, head: Point2, label: &str) {
    drawing.stroke(vec![foot, head], Line::Chain, Ink::Accent);
    let at = head + Vector2::new(0.0, 2.0);
    drawing.text(at, Anchor::Middle, NOTE_MM, Ink::Accent, label);
}

/// Arrows that point up, between ticks, with the side that faces out.
fn arrows(drawing: &mut Drawing, pattern: &Pattern, move_by: Vector2) {
    let between: Vec<(&Mark, &Mark)> = pattern
        .ticks
        .iter()
        .zip(pattern.ticks.iter().skip(1))
        .collect();
    let every = ((ARROWS / 50.0) as usize).max(1);
    for (i, (a, b)) in between.iter().enumerate() {
        let middle = |p: &Point2, q: &Point2| nalgebra::center(p, q) + move_by;
        let (foot, head) = (middle(&a.foot, &b.foot), middle(&a.head, &b.head));
        let tall = (head - foot).norm();
        if i % every != 0 || tall < ROOMY {
            continue;
        }
        let up = up(foot, head);
        drawing.arrow(
            foot + up * (0.2 * tall),
            foot + up * (0.8 * tall),
            Ink::Plain,
        );
        let text = foot + up * (0.5 * tall) - Vector2::new(0.0, 1.0);
        drawing.text(
            text + Vector2::new(1.5, 0.0),
            Anchor::Start,
            2.0,
            Ink::Plain,
            "UP, OUTSIDE",
        );
    }
}

fn ends(drawing: &mut Drawing, pattern: &Pattern, move_by: Vector2) {
    for (foot, words, anchor) in [
        (pattern.foot.first(), "LEFT END", Anchor::Start),
        (pattern.foot.last(), "RIGHT END", Anchor::End),
    ] {
        if let Some(foot) = foot {
            let at = foot + move_by - Vector2::new(0.0, 2.0 * NOTE_MM + 3.0);
            drawing.text(at, anchor, NOTE_MM, Ink::Plain, words);
        }
    }
}

fn lettering(drawing: &mut Drawing, measured: &Measured, base: f64) {
    let title = format!(
        "{}: the gap laid flat, 1:1. Survey {}.",
        measured.name, measured.survey_id
    );
    let at = |line: f64| Point2::new(SIDE, base - 6.0 - 4.5 * line);
    drawing.text(at(0.0), Anchor::Start, TITLE_MM, Ink::Plain, title);
    drawing.note(
        at(1.0),
        Anchor::Start,
        "This side faces out. Long lower line on the tray, upper line at the body's edge. Cut along the thick line.",
    );
    drawing.note(
        at(2.0),
        Anchor::Start,
        "Ticks: stations, mm. G: where a gap is read. Print at actual size (100 %); this bar is 100 mm:",
    );
    check_bar(drawing, Point2::new(SIDE, base - 6.0 - 4.5 * 3.2));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gap::pattern::Paper;
    use crate::output::paging::{OVERLAP, Tiling};
    use crate::output::{pdf, sample, svg};

    /// The sample's wall stands upright on an arc: laid flat, its foot is straight and as long as the
    /// arc, and its edge lies as far above as the gap is wide (a cylinder unrolled, exact).
    fn laid_flat(measured: &Measured) -> Vec<Point2> {
        let stations = &measured.survey.stations;
        let foot = stations.iter().map(|st| Point2::new(st.s, 0.0));
        let edge = stations.iter().rev().map(|st| Point2::new(st.s, st.gap));
        foot.chain(edge).collect()
    }

    /// A stroke or clip box as a file holds it, its points turned back to mm.
    #[derive(Debug, Clone)]
    struct Path {
        points: Vec<Point2>,
        width_mm: f64,
        is_clip: bool,
    }

    /// Every path of every page of a document that packs nothing.
    fn pages_of(bytes: &[u8]) -> Vec<Vec<Path>> {
        let text = String::from_utf8_lossy(bytes);
        let streams = text.split("stream\n").skip(1).step_by(2);
        streams
            .map(|stream| {
                let mut paths = Vec::new();
                let (mut numbers, mut points, mut width) = (Vec::new(), Vec::new(), 0.0);
                for word in stream.split_whitespace() {
                    let mm = 25.4 / 72.0;
                    if let Ok(number) = word.parse::<f64>() {
                        numbers.push(number * mm);
                        continue;
                    }
                    match word {
                        "m" | "l" => points.push(Point2::new(numbers[0], numbers[1])),
                        "re" => {
                            let low = Point2::new(numbers[0], numbers[1]);
                            points = vec![low, low + Vector2::new(numbers[2], numbers[3])];
                        }
                        "w" => width = numbers[0],
                        "S" | "f" | "n" => paths.push(Path {
                            points: std::mem::take(&mut points),
                            width_mm: width,
                            is_clip: word == "n",
                        }),
                        _ => {}
                    }
                    numbers.clear();
                }
                paths
            })
            .collect()
    }

    fn diamonds(page: &[Path]) -> Vec<Point2> {
        page.iter()
            .filter(|p| p.points.len() == 4 && !p.is_clip && p.width_mm < 0.3)
            .filter(|p| (p.points[0] - p.points[2]).y.abs() < 1e-3)
            .filter(|p| (p.points[1] - p.points[3]).x.abs() < 1e-3)
            .filter(|p| ((p.points[0] - p.points[2]).x - 8.0).abs() < 1e-3)
            .map(|p| nalgebra::center(&p.points[0], &p.points[2]))
            .collect()
    }

    #[test]
    fn the_svg_measured_back_is_the_developed_surface() {
        let measured = sample::measured();
        let text = svg::document(&draw(&measured).unwrap());
        let height: f64 = text
            .split("height=\"")
            .nth(1)
            .and_then(|t| t.split("mm").next())
            .unwrap()
            .parse()
            .unwrap();
        let path = text.split(" d=\"").nth(1).unwrap();
        let path = path.split('Z').next().unwrap();
        let found: Vec<Point2> = path
            .split(['M', 'L'])
            .skip(1)
            .map(|pair| {
                let numbers: Vec<f64> = pair.split(' ').map(|n| n.parse().unwrap()).collect();
                Point2::new(numbers[0], height - numbers[1])
            })
            .collect();
        let want = laid_flat(&measured);
        assert_eq!(found.len(), want.len());
        let shift = found[0] - want[0];
        for (p, q) in found.iter().zip(&want) {
            assert!((p - (q + shift)).norm() < 0.1, "{p} {q}");
        }
        assert!(text.contains("width=\"") && text.contains("100 mm"));
    }

    /// Sheets put together by their diamonds alone, as a maker does.
    #[test]
    fn sheets_joined_at_their_diamonds_give_the_developed_surface() {
        let measured = sample::measured();
        let drawing = draw(&measured).unwrap();
        let want = laid_flat(&measured);
        for paper in [Paper::A4, Paper::A3, Paper::Letter] {
            let tiling = Tiling::new(&drawing, paper.size_mm(), "");
            let bytes = pdf::document("t", &tiling.pages(&drawing));
            let pages = pages_of(&bytes);
            assert!(pages.len() > 1 && pages.len() == tiling.tiles.len());
            let mut shift = Vector2::zeros();
            let mut seen = vec![0; want.len()];
            let mut origin = None;
            let mut before: Option<Vec<Point2>> = None;
            for page in &pages {
                let marks = diamonds(page);
                let clip = page.iter().find(|p| p.is_clip).unwrap().points.clone();
                let inside = |p: &Point2| {
                    (0..2).all(|k| p[k] > clip[0][k] - 1e-3 && p[k] < clip[1][k] + 1e-3)
                };
                let shown: Vec<Point2> = marks.into_iter().filter(inside).collect();
                let middle = nalgebra::center(&clip[0], &clip[1]).x;
                let left: Vec<Point2> = shown.iter().filter(|p| p.x < middle).copied().collect();
                if let Some(right) = &before {
                    assert_eq!((right.len(), left.len()), (2, 2));
                    shift = right[0] - left[0];
                    assert!((left[1] + shift - right[1]).norm() < 0.01);
                    // Each lies in the middle of what the two sheets share.
                    assert!((left[0].x - clip[0].x - OVERLAP / 2.0).abs() < 0.01);
                }
                let right = shown.iter().filter(|p| p.x >= middle).map(|p| p + shift);
                before = Some(right.collect());
                let outline = page.iter().find(|p| p.points.len() == want.len()).unwrap();
                assert!((outline.width_mm - 0.5).abs() < 1e-3);
                let origin = *origin.get_or_insert(outline.points[0] - want[0]);
                for (i, p) in outline.points.iter().enumerate() {
                    if inside(p) {
                        seen[i] += 1;
                        let joined = p + shift;
                        assert!(
                            (joined - (want[i] + origin)).norm() < 0.1,
                            "{joined} {}",
                            want[i]
                        );
                    }
                }
                let bar = page.iter().find(|p| {
                    p.points.len() == 2 && ((p.points[1] - p.points[0]).x - 100.0).abs() < 0.01
                });
                assert!(bar.is_some(), "every sheet has its bar of 100 mm");
            }
            assert!(seen.iter().all(|n| *n > 0), "every point stands on a sheet");
            assert!(seen.iter().any(|n| *n > 1), "neighbours overlap");
        }
    }

    #[test]
    fn a_survey_without_a_surface_has_no_template() {
        let mut measured = sample::measured();
        measured.survey.stations.truncate(1);
        assert!(draw(&measured).is_none());
        measured.survey.stations.clear();
        assert!(draw(&measured).is_none());
    }
}
