//! The buck: a section that shows what is true, tooled and offset, and pictures of it and of its draft.

use super::forward;
use super::plane::Plane;
use super::shaded::{BELOW_MM as UNDER_MM, PANEL, WHOLE, arrow, framed};
use super::{View as Named, WIDTH_MM};
use crate::buck::{Buck, BuckSection, DraftClass};
use crate::math::{Point2, Point3, Vector2, Vector3};
use crate::output::Run;
use crate::output::drawing::{
    Anchor, Drawing, Fill, Ink, Line, NOTE_MM, Scale, TITLE_MM, cividis, hatch_region,
};
use crate::output::picture::{Form, Picture, Shown, View};

/// Paper the section may take (mm), what lies round it, and where the words beside it begin.
const PAPER_MM: [f64; 2] = [85.0, 120.0];
const BELOW_MM: f64 = 14.0;
const ABOVE_MM: f64 = 10.0;
const WORDS_MM: f64 = 96.0;
/// How far a split's line goes past the face (mm), paper for its words, and length of a lift's arrow (mm).
const SPLIT_PAST_MM: f64 = 25.0;
const SPLIT_WORDS_MM: f64 = 26.0;
const LIFT_MM: f64 = 16.0;

pub(super) fn draw(run: Run<'_>) -> Vec<Named> {
    let Some(made) = run.buck else {
        return Vec::new();
    };
    let buck = &made.buck;
    let mut views = Vec::new();
    let mut add = |name: &str, drawing: Option<Drawing>| {
        views.extend(drawing.map(|drawing| Named {
            name: format!("buck/{name}"),
            drawing,
        }));
    };
    add(
        "section",
        telling(buck).map(|section| draw_section(run, buck, section)),
    );
    let (shaded, draft) = rayon::join(|| picture(run, buck), || draft(run, buck));
    add("buck", shaded);
    add("draft", draft);
    views
}

/// The section nearest the middle that goes through no rib: a hollow buck shows there that it is hollow.
fn telling(buck: &Buck) -> Option<&BuckSection> {
    let middle = buck.sections.get(buck.sections.len() / 2)?;
    let between = buck
        .ribs
        .windows(2)
        .map(|ribs| f64::midpoint(ribs[0], ribs[1]));
    let off = |a: f64, b: f64| (a - b).abs();
    let at = between.min_by(|a, b| off(*a, middle.s).total_cmp(&off(*b, middle.s)));
    let at = at.filter(|_| buck.wall_mm.is_some()).unwrap_or(middle.s);
    (buck.sections.iter()).min_by(|a, b| off(a.s, at).total_cmp(&off(b.s, at)))
}

/// Where a word in the margin points to.
pub(super) struct Word<'a> {
    pub at: Point2,
    pub says: &'a str,
    pub more: String,
}

fn draw_section(run: Run<'_>, buck: &Buck, section: &BuckSection) -> Drawing {
    let on = |held: &[Point2]| {
        let first = held.first().copied().unwrap_or_else(Point2::origin);
        held.iter()
            .fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p)))
    };
    let all: Vec<Point2> = (section.outline.iter().chain(&section.intended))
        .copied()
        .collect();
    let (lo, hi) = on(&all);
    let size = hi - lo;
    let scale = Scale::fitting_both(size, PAPER_MM);
    let at = |p: &Point2| {
        Point2::new(
            4.0 + scale.to_paper(p.x - lo.x),
            BELOW_MM + scale.to_paper(p.y - lo.y),
        )
    };
    let on_paper = |points: &[Point2]| -> Vec<Point2> { points.iter().map(at).collect() };
    let height = BELOW_MM + scale.to_paper(size.y).max(70.0) + ABOVE_MM;
    let title = format!("Buck at station {:.0} mm: what lies on what", section.s);
    let mut drawing = Drawing::new(title.clone(), [WIDTH_MM, height]);
    let head = Point2::new(4.0, height - 5.0);
    drawing.text(head, Anchor::Start, TITLE_MM, Ink::Plain, title);

    let frame = run.measured.survey.spine.frame_at(section.s);
    // The spine may bend back on itself far off: only what lies round this section is shown.
    let near = |line: &Vec<Point2>| {
        let room = Vector2::new(1.0, 1.0);
        let (low, high) = (lo - room, hi + room);
        line.iter()
            .all(|p| (low.x..=high.x).contains(&p.x) && (low.y..=high.y).contains(&p.y))
    };
    // In section coordinates: offset from the spine, height over the shop plane.
    let plane = Plane {
        middle: Point3::new(frame.origin.x, frame.origin.y, 0.0),
        axes: [frame.outward, Vector3::z(), frame.along],
    };
    let mut cuts = plane.lines(buck.solid.mesh());
    cuts.retain(near);
    let cuts: Vec<Vec<Point2>> = cuts.iter().map(|line| on_paper(line)).collect();
    for line in hatch_region(&cuts, 2.0) {
        drawing.stroke(line.to_vec(), Line::Narrow, Ink::Faint);
    }
    for line in cuts {
        drawing.outline(line, Line::Wide, Ink::Plain);
    }
    drawing.stroke(on_paper(&section.laid), Line::Narrow, Ink::Plain);
    drawing.stroke(on_paper(&section.intended), Line::Wide, Ink::Accent);
    let ends = [
        (section.face.first(), section.intended.first()),
        (section.face.last(), section.intended.last()),
    ];
    for (buck, part) in ends {
        if let (Some(buck), Some(part)) = (buck.map(at), part.map(at))
            && let Some(out) = (part - buck).try_normalize(1e-9)
        {
            let line = vec![buck - out * 2.0, part + out * 6.0];
            drawing.stroke(line, Line::Chain, Ink::Plain);
        }
    }
    let along = |points: &[Point2], share: f64| at(&part_way(points, share));
    let t = buck.on_top;
    let trim = section.intended.last().map_or_else(Point2::origin, at);
    let first = section.face.first().map_or_else(Point2::origin, at);
    // Inside of the plastic behind the middle of the face: what a word about the wall points to.
    let half_wall = scale.to_paper(buck.wall_mm.unwrap_or(8.0) / 2.0);
    let wall = Word {
        at: along(&section.face, 0.12) - Vector2::new(half_wall, 0.0),
        says: match buck.wall_mm {
            Some(_) => "HOLLOW between its ribs",
            None => "SOLID",
        },
        more: match buck.wall_mm {
            Some(mm) => format!("wall of {mm} mm, open at the base"),
            None => "no hollow inside".to_owned(),
        },
    };
    words(
        &mut drawing,
        &[
            Word {
                at: trim + Vector2::new(0.0, 1.0),
                says: "trim line",
                more: "a groove in the buck, all round".to_owned(),
            },
            Word {
                at: along(&section.intended, 0.65),
                says: "TRUE: the finished outside",
                more: "where the gap wants it".to_owned(),
            },
            Word {
                at: along(&section.laid, 0.45),
                says: "laminate, and on it filler and paint",
                more: format!("{:.1} mm and {:.1} mm", t.laminate_mm, t.filler_mm),
            },
            Word {
                at: along(&section.face, 0.25),
                says: "TOOLED: the part\u{2019}s inside, on the buck",
                more: format!("OFFSET: the buck is {:.1} mm inside of that", t.total()),
            },
            wall,
            Word {
                at: first - Vector2::new(0.0, scale.to_paper(12.0)),
                says: "run-out",
                more: "the cloth goes on here and is trimmed off".to_owned(),
            },
        ],
    );
    let lift = Vector2::new(buck.draft.lift.dot(&frame.outward), buck.draft.lift.z) * 14.0;
    let from = Point2::new(WIDTH_MM - 8.0, 7.0);
    drawing.arrow(from, from + lift, Ink::Plain);
    drawing.note(from - Vector2::new(1.5, 1.0), Anchor::End, "lift");
    drawing.scale_bar(Point2::new(4.0, 3.0), scale, 25.0);
    let outside = Point2::new(WORDS_MM, 4.0);
    drawing.arrow(outside - Vector2::new(8.0, 0.0), outside, Ink::Plain);
    let words = forward::beside_outside(run.measured.front, &frame);
    drawing.note(outside - Vector2::new(9.5, 0.9), Anchor::End, words);
    drawing
}

/// The point at a share of a polyline's length.
pub(super) fn part_way(points: &[Point2], share: f64) -> Point2 {
    let length: f64 = points.windows(2).map(|e| (e[1] - e[0]).norm()).sum();
    let mut left = share * length;
    for edge in points.windows(2) {
        let run = edge[1] - edge[0];
        if left <= run.norm() {
            return edge[0] + run * (left / run.norm().max(1e-9));
        }
        left -= run.norm();
    }
    points.last().copied().unwrap_or_else(Point2::origin)
}

/// Words down the margin, each with a line to its place, spread so that none covers another.
pub(super) fn words(drawing: &mut Drawing, words: &[Word<'_>]) {
    const STEP_MM: f64 = 10.0;
    let mut highest = drawing.size_mm[1] - ABOVE_MM - NOTE_MM;
    for (i, word) in words.iter().enumerate() {
        // Room is kept for those that follow.
        let lowest = BELOW_MM - 4.0 + STEP_MM * (words.len() - 1 - i) as f64;
        let y = word.at.y.max(lowest).min(highest);
        highest = y - STEP_MM;
        let at = Point2::new(WORDS_MM, y);
        drawing.stroke(
            vec![word.at, at - Vector2::new(1.0, -NOTE_MM / 2.0)],
            Line::Narrow,
            Ink::Plain,
        );
        drawing.note(at, Anchor::Start, word.says);
        drawing.note(
            at - Vector2::new(0.0, 3.6),
            Anchor::Start,
            word.more.clone(),
        );
    }
}

fn picture(run: Run<'_>, buck: &Buck) -> Option<Drawing> {
    let view = View::from_outside();
    let shown = [Shown::new(buck.solid.mesh(), PANEL, Form::Sharp)];
    let picture = Picture::take(&shown, view, WHOLE)?;
    let arrow = Some(arrow(run.measured.front));
    Some(framed(
        "The buck, from outside",
        &picture,
        &view,
        WIDTH_MM,
        arrow,
    ))
}

/// Place of a class on the scale of colours, from dark to light, and its name.
fn shade(class: DraftClass) -> (u8, &'static str) {
    match class {
        DraftClass::Undercut => (0, "undercut: holds the part"),
        DraftClass::None => (90, "no draft: drags"),
        DraftClass::Slight => (180, "less than asked for"),
        DraftClass::Good => (255, "enough"),
    }
}

fn draft(run: Run<'_>, buck: &Buck) -> Option<Drawing> {
    let field: Vec<[u8; 3]> = (buck.draft.classes.iter())
        .map(|&class| cividis(shade(class).0))
        .collect();
    let view = View::from_outside();
    let mut face = Shown::new(&buck.face, PANEL, Form::Soft);
    face.field = Some(&field);
    let picture = Picture::take(&[face], view, WHOLE)?;
    let title = "The face against the lift, from outside";
    let arrow = Some(arrow(run.measured.front));
    let mut drawing = framed(title, &picture, &view, WIDTH_MM, arrow);
    let top = drawing.size_mm[1] - 16.0;
    let percent = |class| 100.0 * buck.draft.area(class) / buck.draft.whole().max(1e-9);
    let met = DraftClass::ALL
        .into_iter()
        .filter(|class| percent(*class) >= 0.5);
    for (k, class) in met.enumerate() {
        let at = Point2::new(WIDTH_MM - 60.0, top - 5.0 * k as f64);
        let (level, name) = shade(class);
        let corners = [(0.0, 0.0), (6.0, 0.0), (6.0, 3.5), (0.0, 3.5)];
        let swatch = corners.map(|(x, y)| at + Vector2::new(x, y)).to_vec();
        drawing.area(swatch, Fill::Field(level));
        let text = format!("{name}, {:.0} %", percent(class));
        drawing.note(at + Vector2::new(8.0, 0.6), Anchor::Start, text);
    }
    splits(&mut drawing, &picture, run, buck);
    Some(drawing)
}

/// Where the part is to be split so that each piece comes off its own way: a line over the face with its
/// station, numbered pieces, and an arrow the way each is lifted.
fn splits(drawing: &mut Drawing, picture: &Picture, run: Run<'_>, buck: &Buck) {
    if buck.pieces.len() < 2 {
        return;
    }
    let spine = &run.measured.survey.spine;
    let under = Vector2::new(0.0, UNDER_MM);
    let on_paper = |p: Point3| picture.on_paper(p, WIDTH_MM) + under;
    // The face in its own station plane, a little past its edges.
    let line = |s: f64, past: f64| -> Option<[Point3; 2]> {
        let nearest =
            |a: &&BuckSection, b: &&BuckSection| (a.s - s).abs().total_cmp(&(b.s - s).abs());
        let face = &buck.sections.iter().min_by(nearest)?.face;
        let frame = spine.frame_at(s);
        let up = Vector2::new(0.0, past);
        Some([*face.first()? - up, *face.last()? + up].map(|p| frame.to_shop(p)))
    };
    for piece in buck.pieces.iter().skip(1) {
        let s = piece.along[0];
        let Some([low, high]) = line(s, SPLIT_PAST_MM).map(|ends| ends.map(on_paper)) else {
            continue;
        };
        drawing.stroke(vec![low, high], Line::Chain, Ink::Accent);
        let text = format!("split at {s:.0} mm");
        // Under the line: lifts start on the face.
        let room = 0.5 * SPLIT_WORDS_MM;
        let x = low.x.clamp(room, WIDTH_MM - room);
        let at = Point2::new(x, low.y - 4.0);
        drawing.text(at, Anchor::Middle, NOTE_MM, Ink::Accent, text);
    }
    let view = View::from_outside();
    for (k, piece) in buck.pieces.iter().enumerate() {
        let Some([low, high]) = line(0.5 * (piece.along[0] + piece.along[1]), 0.0) else {
            continue;
        };
        let from = on_paper(nalgebra::center(&low, &high));
        let way = view.seen(piece.lift).xy() * LIFT_MM;
        let to = from + way;
        let to = Point2::new(to.x.clamp(4.0, WIDTH_MM - 4.0), to.y.max(UNDER_MM));
        drawing.arrow(from, to, Ink::Plain);
        let text = format!("lift {}", k + 1);
        let x = to.x.clamp(8.0, WIDTH_MM - 8.0);
        drawing.note(Point2::new(x, to.y - 4.5), Anchor::Middle, text);
    }
}
