//! A joint cut through where its parts lie: which segment carries the tab, the room left, the lead-in, and
//! which side is seen; and seen along the spine with all its keys. The lines are those of the finished segments.

mod end;

use super::View;
use super::plane::Plane;
use crate::math::{Point2, StationFrame, Vector2, Vector3};
use crate::mesh::TriMesh;
use crate::output::Run;
use crate::output::drawing::{Anchor, Drawing, Ink, Line, NOTE_MM, Scale, TITLE_MM, hatch_region};
use crate::output::row::RowOf;
use crate::panel::Panel;
use crate::split::{Joint, JointKind, LEAD_IN_MM, Segments};
use end::Seen;
use std::fmt::Write as _;

/// Paper that the cut may take across, and the drawing's whole width (mm).
const PAPER_MM: f64 = 112.0;
const WIDTH_MM: f64 = 120.0;
/// Shown beyond what the joint reaches to each side of the cut, and beyond its thickness (mm).
const BESIDE_MM: f64 = 6.0;
const AROUND_MM: f64 = 1.5;
/// Most of the depth that is shown (mm).
const DEEP_MM: f64 = 45.0;
/// Paper below for the bar and the side that is seen, above for the title (mm).
const BELOW_MM: f64 = 13.0;
const ABOVE_MM: f64 = 13.0;
/// Paper over each cut for its notes and under it for the numbers (mm).
const NOTES_MM: f64 = 15.0;
const NUMBERS_MM: f64 = 5.0;
/// How far under the face's upper end the second cut of a lapped tab lies (mm): the tab's lower edge slopes,
/// and there it has its whole length.
const UNDER_TOP_MM: f64 = 2.5;
/// Spacing of the hatching (mm on paper).
const HATCH_MM: f64 = 1.5;
/// A joint with less than this to glue is pinned or screwed alone (mm2).
const LEAST_GLUE_MM2: f64 = 5.0;

/// One joint of each kind there is: the first with a key, or the first.
pub(super) fn draw(run: Run<'_>) -> Vec<(RowOf, View)> {
    let spine = &run.measured.survey.spine;
    let mut views = Vec::new();
    let mut rows: Vec<(RowOf, Option<&Panel>, &Segments)> = Vec::new();
    rows.extend(
        run.made
            .map(|(panel, parts)| (RowOf::Panel, Some(panel), parts)),
    );
    rows.extend(run.buck.map(|made| (RowOf::Buck, None, &made.segments)));
    for (of, panel, parts) in rows {
        for kind in [JointKind::Tab, JointKind::Bulkhead] {
            let alike = || parts.joints.iter().filter(|joint| joint.kind == kind);
            let keyed = alike().find(|joint| !joint.keys.is_empty());
            let Some(joint) = keyed.or_else(|| alike().next()) else {
                continue;
            };
            let frame = spine.frame_at(joint.s);
            let face = panel.and_then(|panel| face_near(panel, joint.s));
            let cuts: Vec<Cut> = match kind {
                JointKind::Tab if !joint.keys.is_empty() => vec![Level::Top, Level::Key],
                JointKind::Tab => vec![Level::Top],
                JointKind::Bulkhead | JointKind::Butt => vec![Level::Key],
            }
            .into_iter()
            .map(|level| Cut::new(joint, face, &frame, level))
            .collect();
            let name = format!("{}joint_{}", of.folder(), kind.name());
            let keys = ends(joint, parts).and_then(|meshes| {
                let (joint, frame, up) = (joint, &frame, up_along(face));
                let seen = Seen {
                    joint,
                    frame,
                    up,
                    meshes,
                };
                seen.draw()
            });
            let keys_name = format!("{name}_keys");
            let drawn = [(name, one(joint, parts, &cuts)), (keys_name, keys)];
            views.extend(drawn.into_iter().filter_map(|(name, drawing)| {
                let drawing = drawing?;
                Some((of, View { name, drawing }))
            }));
        }
    }
    views
}

/// Where a cut lies along the height of the face.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Level {
    /// Through the first key.
    Key,
    /// Near the top, where a tab has its whole length.
    Top,
}

/// The straight hidden face nearest to an arc length, from its lower to its upper end.
fn face_near(panel: &Panel, s: f64) -> Option<[Point2; 2]> {
    let off = |at: f64| (at - s).abs();
    let near = (panel.sections.iter()).min_by(|a, b| off(a.s).total_cmp(&off(b.s)));
    near.map(|section| section.hidden_face)
}

/// Unit, up along a hidden face, or straight up.
fn up_along(face: Option<[Point2; 2]>) -> Vector2 {
    face.and_then(|[low, high]| (high - low).try_normalize(1e-6))
        .unwrap_or_else(Vector2::y)
}

/// The segment with the tab, and the next.
fn ends<'a>(joint: &Joint, parts: &'a Segments) -> Option<[&'a TriMesh; 2]> {
    let own = parts.segments.get(joint.tab_on.checked_sub(1)?)?;
    let next = parts.segments.get(joint.tab_on)?;
    Some([own.in_place.mesh(), next.in_place.mesh()])
}

/// The closed lines in which a plane cuts a mesh, each held to a window.
fn lines(plane: &Plane, mesh: &TriMesh, window: [Point2; 2]) -> Vec<Vec<Point2>> {
    let lines = plane.lines(mesh).into_iter();
    lines
        .map(|line| held(line, window))
        .filter(|line| line.len() > 2)
        .collect()
}

/// A cut through a joint, square to the height of the face.
struct Cut {
    level: Level,
    plane: Plane,
}

impl Cut {
    fn new(joint: &Joint, face: Option<[Point2; 2]>, frame: &StationFrame, level: Level) -> Self {
        let up = up_along(face);
        let at = match (level, joint.keys.first(), face) {
            (Level::Top, _, Some([_, high])) => high - up * UNDER_TOP_MM,
            (_, Some(key), _) => Point2::from(key.at_mm),
            (_, None, Some([low, high])) => nalgebra::center(&low, &high),
            (_, None, None) => Point2::origin(),
        };
        let along = frame.along;
        let up = frame.outward * up.x + Vector3::z() * up.y;
        let plane = Plane {
            middle: frame.to_shop(at),
            // Seen from above with the outside below: along the spine to the right.
            axes: [along, along.cross(&up) * -1.0, up],
        };
        Self { level, plane }
    }
}

/// A closed outline cut down to a window, by one side after the other (Sutherland and Hodgman, CACM 17(1),
/// 1974).
fn held(mut outline: Vec<Point2>, [low, high]: [Point2; 2]) -> Vec<Point2> {
    for (axis, limit, sign) in [
        (0, low.x, 1.0),
        (0, high.x, -1.0),
        (1, low.y, 1.0),
        (1, high.y, -1.0),
    ] {
        let inside = |p: &Point2| (p[axis] - limit) * sign;
        let mut kept = Vec::with_capacity(outline.len() + 4);
        for (i, a) in outline.iter().enumerate() {
            let b = &outline[(i + 1) % outline.len()];
            let (da, db) = (inside(a), inside(b));
            if da >= 0.0 {
                kept.push(*a);
            }
            if (da >= 0.0) != (db >= 0.0) {
                kept.push(a + (b - a) * (da / (da - db)));
            }
        }
        outline = kept;
    }
    outline
}

/// What one cut shows: the lines of both segments, and the lowest and highest of them (mm).
struct Shown {
    lines: [Vec<Vec<Point2>>; 2],
    low: f64,
    high: f64,
}

impl Shown {
    fn new(joint: &Joint, parts: &Segments, cut: &Cut) -> Option<Self> {
        let half = joint.reach_mm + BESIDE_MM;
        let window = [Point2::new(-half, -DEEP_MM), Point2::new(half, DEEP_MM)];
        let lines = ends(joint, parts)?.map(|mesh| {
            let mut lines = lines(&cut.plane, mesh, window);
            // What the plane meets elsewhere of a bent segment is left out.
            lines.retain(|line| line.iter().any(|p| p.x.abs() < joint.reach_mm + 1.0));
            lines
        });
        let all = || lines.iter().flatten().flatten();
        let low = all().map(|p| p.y).reduce(f64::min)? - AROUND_MM;
        let high = all().map(|p| p.y).reduce(f64::max)? + AROUND_MM;
        Some(Self { lines, low, high })
    }
}

fn one(joint: &Joint, parts: &Segments, cuts: &[Cut]) -> Option<Drawing> {
    let shown: Vec<(&Cut, Shown)> = (cuts.iter())
        .filter_map(|cut| Some((cut, Shown::new(joint, parts, cut)?)))
        .collect();
    if shown.is_empty() {
        return None;
    }
    let scale = Scale::fitting(2.0 * (joint.reach_mm + BESIDE_MM), PAPER_MM);
    let tall = |shown: &Shown| NUMBERS_MM + scale.to_paper(shown.high - shown.low) + NOTES_MM;
    let height: f64 = shown.iter().map(|(_, shown)| tall(shown)).sum();
    let title = format!("Joint {}, {}", joint.letter, joint.kind.trade_name());
    let mut drawing = Drawing::new(title.clone(), [WIDTH_MM, BELOW_MM + height + ABOVE_MM]);
    let top = drawing.size_mm[1];
    let left = Point2::new(4.0, top - 5.0);
    drawing.text(left, Anchor::Start, TITLE_MM, Ink::Plain, title);
    let mut said = format!("station {:.0} mm, cut level and seen from above", joint.s);
    if joint.glue_mm2 > LEAST_GLUE_MM2 {
        let _ = write!(said, "; glue on {:.1} cm\u{b2}", joint.glue_mm2 / 100.0);
    }
    drawing.note(Point2::new(4.0, top - 10.0), Anchor::Start, said);
    let mut floor = BELOW_MM;
    // The first cut above the others.
    for (cut, shown) in shown.iter().rev() {
        let base = floor + NUMBERS_MM;
        let at = |p: Point2| {
            let x = WIDTH_MM / 2.0 + scale.to_paper(p.x);
            Point2::new(x, base + scale.to_paper(p.y - shown.low))
        };
        for (lines, leans) in shown.lines.iter().zip([1.0, -1.0]) {
            let lines: Vec<Vec<Point2>> = (lines.iter())
                .map(|line| line.iter().map(|&p| at(p)).collect())
                .collect();
            hatched(&mut drawing, &lines, leans);
            for line in lines {
                drawing.outline(line, Line::Wide, Ink::Plain);
            }
        }
        notes(&mut drawing, joint, cut.level, at, [shown.low, shown.high]);
        floor += tall(shown);
    }
    drawing.scale_bar(Point2::new(4.0, 3.0), scale, 30.0);
    let tail = Point2::new(WIDTH_MM / 2.0 + 14.0, 11.0);
    drawing.arrow(tail, tail - Vector2::new(0.0, 8.0), Ink::Plain);
    let beside = Point2::new(tail.x + 2.0, 5.0);
    drawing.note(beside, Anchor::Start, "outside: the visible side");
    Some(drawing)
}

/// Hatches closed lines on paper to one side or, where `leans` is negative, to the other: two parts are hatched
/// against each other (ISO 128-50, from memory), hollows left white.
fn hatched(drawing: &mut Drawing, lines: &[Vec<Point2>], leans: f64) {
    let lean = |p: Point2| Point2::new(p.x * leans, p.y);
    let leaned: Vec<Vec<Point2>> = (lines.iter())
        .map(|line| line.iter().map(|&p| lean(p)).collect())
        .collect();
    for stroke in hatch_region(&leaned, HATCH_MM) {
        drawing.stroke(stroke.map(lean).to_vec(), Line::Narrow, Ink::Faint);
    }
}

/// What is what, above the cut with a line to it.
fn notes(
    drawing: &mut Drawing,
    joint: &Joint,
    cut: Level,
    at: impl Fn(Point2) -> Point2,
    [low, high]: [f64; 2],
) {
    let level = at(Point2::new(0.0, high)).y;
    let mut note = |x_mm: f64, y_mm: f64, aside: f64, row: f64, words: String| {
        let foot = at(Point2::new(x_mm, y_mm));
        let head = Point2::new(foot.x + aside, level + 2.5 + row * 1.6 * NOTE_MM);
        drawing.stroke(vec![foot, head], Line::Narrow, Ink::Accent);
        let anchor = if aside < 0.0 {
            Anchor::End
        } else {
            Anchor::Start
        };
        let beside = head + Vector2::new(0.7 * aside.signum(), -0.3 * NOTE_MM);
        drawing.text(beside, anchor, NOTE_MM, Ink::Accent, words);
    };
    let key = joint.keys.first();
    match joint.kind {
        JointKind::Tab if cut == Level::Top => {
            let (fit, reach) = (joint.fit_mm, joint.reach_mm);
            note(
                0.35 * reach,
                0.5 * fit,
                -6.0,
                0.0,
                format!("room {fit:.2} mm"),
            );
            let lead = reach - 0.4 * LEAD_IN_MM;
            note(lead, fit + 0.4, 3.0, 0.0, "lead-in".to_owned());
        }
        JointKind::Tab => {
            if let Some(key) = key {
                let words = format!("tongue, {:.1} mm into its groove", key.into_mm);
                note(0.4 * key.long_mm, -0.5 * key.into_mm, 6.0, 0.0, words);
            }
        }
        JointKind::Bulkhead => {
            if let Some(key) = key {
                let (long, half) = (key.long_mm, 0.5 * key.wide_mm);
                note(0.4 * long, 0.0, 14.0, 1.2, "pin".to_owned());
                let words = format!("room {:.2} mm", joint.fit_mm);
                note(long + 0.2, 0.0, 12.0, 0.0, words);
                note(long - 1.0, 0.6 * half, -14.0, 0.6, "lead-in".to_owned());
            }
        }
        JointKind::Butt => {}
    }
    for (side, number) in [(-1.0, joint.tab_on), (1.0, joint.tab_on + 1)] {
        let x = side * 0.7 * (joint.reach_mm + BESIDE_MM);
        let below = at(Point2::new(x, low)) - Vector2::new(0.0, 3.0);
        drawing.note(below, Anchor::Middle, format!("segment {number}"));
    }
    let ends = [low, high].map(|y| at(Point2::new(0.0, y)));
    drawing.stroke(ends.to_vec(), Line::Chain, Ink::Plain);
    let under = ends[0] - Vector2::new(0.0, 3.0);
    drawing.note(under, Anchor::Middle, "cut");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_outline_is_held_to_its_window() {
        let square = [[-5.0, -1.0], [5.0, -1.0], [5.0, 1.0], [-5.0, 1.0]];
        let square = square.map(|[x, y]| Point2::new(x, y)).to_vec();
        let window = [Point2::new(-2.0, -9.0), Point2::new(3.0, 0.5)];
        let kept = held(square.clone(), window);
        let area = |o: &[Point2]| -> f64 {
            let next = o.iter().cycle().skip(1);
            o.iter()
                .zip(next)
                .map(|(a, b)| a.coords.perp(&b.coords))
                .sum::<f64>()
                / 2.0
        };
        assert!((area(&kept) - 5.0 * 1.5).abs() < 1e-9);
        assert!(held(square, [Point2::new(6.0, 0.0), Point2::new(9.0, 1.0)]).is_empty());
    }
}
