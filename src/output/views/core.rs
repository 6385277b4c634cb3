//! A printed core in section: which surface is true, which is offset, and that none is tooled.

use super::buck::{Word, part_way, words};
use super::forward;
use super::{View, WIDTH_MM};
use crate::buck::LayupSection;
use crate::math::{Point2, Vector2};
use crate::output::Run;
use crate::output::drawing::{Anchor, Drawing, Ink, Line, Scale, TITLE_MM, hatch};

/// Paper the section may take (mm), and what lies under and over it.
const PAPER_MM: [f64; 2] = [78.0, 110.0];
const BELOW_MM: f64 = 14.0;
const ABOVE_MM: f64 = 10.0;

pub(super) fn draw(run: Run<'_>) -> Option<View> {
    let layup = run.layup?;
    let section = layup.section.as_ref()?;
    let (panel, _) = run.made?;
    let outline = (panel.sections.iter()).find(|s| (s.s - section.s).abs() < 1e-6)?;
    let options = &layup.options;
    let frame = run.measured.survey.spine.frame_at(section.s);
    Some(View {
        name: "core_section".to_owned(),
        drawing: draw_section(
            &outline.outline,
            section,
            [
                options.laminate.thickness_mm(),
                options.coats.left_mm().max(0.0),
            ],
            &forward::beside_outside(run.measured.front, &frame),
        ),
    })
}

/// `beside`: what stands at the arrow to the outside.
fn draw_section(
    core: &[Point2],
    section: &LayupSection,
    [laid, finish]: [f64; 2],
    beside: &str,
) -> Drawing {
    let first = core.first().copied().unwrap_or_else(Point2::origin);
    let (lo, hi) = (core.iter().chain(&section.finished))
        .fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p)));
    let size = hi - lo;
    let scale = Scale::fitting_both(size, PAPER_MM);
    let at = |p: &Point2| {
        Point2::new(
            4.0 + scale.to_paper(p.x - lo.x),
            BELOW_MM + scale.to_paper(p.y - lo.y),
        )
    };
    let on_paper = |points: &[Point2]| -> Vec<Point2> { points.iter().map(at).collect() };
    let height = BELOW_MM + scale.to_paper(size.y).max(62.0) + ABOVE_MM;
    let title = format!("Core at station {:.0} mm: what lies on what", section.s);
    let mut drawing = Drawing::new(title.clone(), [WIDTH_MM, height]);
    let head = Point2::new(4.0, height - 5.0);
    drawing.text(head, Anchor::Start, TITLE_MM, Ink::Plain, title);
    let outline = on_paper(core);
    for line in hatch(&outline, 2.0) {
        drawing.stroke(line.to_vec(), Line::Narrow, Ink::Faint);
    }
    drawing.outline(outline, Line::Wide, Ink::Plain);
    drawing.stroke(on_paper(&section.laid), Line::Narrow, Ink::Plain);
    drawing.stroke(on_paper(&section.finished), Line::Wide, Ink::Accent);
    let along = |points: &[Point2], share: f64| at(&part_way(points, share));
    // The hidden side: across the wall from the middle of the face.
    let middle = part_way(&section.face, 0.3);
    let hidden = Point2::new(
        (core.windows(2))
            .filter(|e| (e[0].y - middle.y) * (e[1].y - middle.y) <= 0.0)
            .map(|e| {
                let share = (middle.y - e[0].y) / (e[1].y - e[0].y);
                e[0].x + (e[1].x - e[0].x) * if share.is_finite() { share } else { 0.0 }
            })
            .fold(middle.x, f64::min),
        middle.y,
    );
    words(
        &mut drawing,
        &[
            Word {
                at: along(&section.finished, 0.8),
                says: "TRUE: the finished outside",
                more: "where the gap wants it; filled and sanded".to_owned(),
            },
            Word {
                at: along(&section.laid, 0.6),
                says: "laminate, and on it filler and paint",
                more: format!("{laid:.2} mm and {finish:.2} mm"),
            },
            Word {
                at: along(&section.face, 0.45),
                says: "OFFSET: the outside of the printed core",
                more: format!("{:.2} mm inside of the true surface", laid + finish),
            },
            Word {
                at: at(&hidden),
                says: "the core\u{2019}s hidden side, as printed",
                more: "nothing is TOOLED here: there is no mould".to_owned(),
            },
        ],
    );
    drawing.scale_bar(Point2::new(4.0, 3.0), scale, 25.0);
    let outside = Point2::new(96.0, 4.0);
    drawing.arrow(outside - Vector2::new(8.0, 0.0), outside, Ink::Plain);
    drawing.note(outside - Vector2::new(9.5, 0.9), Anchor::End, beside);
    drawing
}
