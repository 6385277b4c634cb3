//! A section to scale: the scans as the station plane cuts them, the edge and tray as surveyed, the panel.

use super::forward;
use super::scan_cut::cut;
use crate::gap::Station;
use crate::math::{Point2, Vector2};
use crate::output::Run;
use crate::output::drawing::{Anchor, Drawing, Ink, Line, NOTE_MM, Scale, TITLE_MM, hatch};
use crate::panel::Section;

/// Room round what is drawn, on the part (mm).
const AROUND_MM: f64 = 12.0;
/// How much of the body shows above its edge, on the part (mm).
const BODY_MM: f64 = 35.0;
/// Paper a section may take (mm).
const PAPER_MM: [f64; 2] = [44.0, 80.0];
/// Paper beside it, at the right with room for a dimension.
const SIDE_MM: f64 = 4.0;
const RIGHT_MM: f64 = 8.0;
/// From the panel to the dimension beside it (mm on paper).
const BESIDE_MM: f64 = 3.0;
const BELOW_MM: f64 = 16.0;
const ABOVE_MM: f64 = 14.0;
/// From one line of words to the next.
const LINE_MM: f64 = 3.6;

/// What a section shows: least and greatest corner in section coordinates.
type Window = (Point2, Point2);

/// The scale at which every one of some sections fits, so that they can be held against each other.
pub(super) fn common_scale(run: Run<'_>, stations: &[&Station]) -> Scale {
    let largest = stations
        .iter()
        .map(|station| window(run, station))
        .map(|(lo, hi)| hi - lo)
        .fold(Vector2::zeros(), |a, b| a.sup(&b));
    Scale::fitting_both(largest, PAPER_MM)
}

fn panel_section<'a>(run: Run<'a>, station: &Station) -> Option<&'a Section> {
    run.made
        .and_then(|(panel, _)| nearest_section(&panel.sections, station.s))
}

fn window(run: Run<'_>, station: &Station) -> Window {
    let frame = run.measured.survey.spine.frame_at(station.s);
    let [edge, tray, silhouette] =
        [station.edge, station.tray, station.silhouette].map(|p| frame.to_section(p));
    let mut held = vec![edge, tray, silhouette, edge + Vector2::new(0.0, BODY_MM)];
    held.extend(
        panel_section(run, station)
            .map(Section::whole)
            .unwrap_or_default()
            .iter(),
    );
    held.extend(panel_section(run, station).map_or(&[][..], |section| &section.finished));
    let around = Vector2::new(AROUND_MM, AROUND_MM);
    let (lo, hi) = held
        .iter()
        .fold((edge, edge), |(lo, hi), p| (lo.inf(p), hi.sup(p)));
    (lo - around, hi + Vector2::new(AROUND_MM, 0.0))
}

/// A section at a surveyed station, under the name of the place it is drawn for (mm), which may lie beside it.
pub(super) fn draw(
    run: Run<'_>,
    (station, named): (&Station, f64),
    why: &str,
    scale: Scale,
) -> Drawing {
    let survey = &run.measured.survey;
    let frame = survey.spine.frame_at(station.s);
    let [edge, tray] = [station.edge, station.tray].map(|p| frame.to_section(p));
    let (lo, hi) = window(run, station);
    let size = hi - lo;
    let at = |p: Point2| {
        Point2::new(
            SIDE_MM + scale.to_paper(p.x - lo.x),
            BELOW_MM + scale.to_paper(p.y - lo.y),
        )
    };
    let paper = Vector2::new(scale.to_paper(size.x), scale.to_paper(size.y));
    let width = PAPER_MM[0] + SIDE_MM + RIGHT_MM;
    let title = format!("Station {:.0} mm", named.round() + 0.0);
    let said = format!(
        "{why}: {:.1} \u{b1} {:.1} mm",
        station.gap,
        2.0 * station.sigma
    );
    let lines: Vec<&str> = said.lines().collect();
    let above = ABOVE_MM + LINE_MM * (lines.len() as f64 - 1.0);
    let mut drawing = Drawing::new(title.clone(), [width, paper.y + BELOW_MM + above]);
    let height = drawing.size_mm[1];
    let left = |y: f64| Point2::new(SIDE_MM, y);
    drawing.text(
        left(height - 5.0),
        Anchor::Start,
        TITLE_MM,
        Ink::Plain,
        title,
    );
    for (line, k) in lines.into_iter().zip(0u8..) {
        let y = height - 9.5 - LINE_MM * f64::from(k);
        drawing.note(left(y), Anchor::Start, line);
    }

    let outline: Vec<Point2> = panel_section(run, station)
        .map(Section::whole)
        .unwrap_or_default()
        .iter()
        .map(|&p| at(p))
        .collect();
    for line in hatch(&outline, 1.4) {
        drawing.stroke(line.to_vec(), Line::Narrow, Ink::Faint);
    }
    drawing.outline(outline.clone(), Line::Wide, Ink::Plain);
    // What is laid over the print stays white between its lines: cloth, not plastic.
    if let Some(overlay) = panel_section(run, station).and_then(Section::overlay) {
        let overlay = overlay.into_iter().map(at).collect();
        drawing.outline(overlay, Line::Narrow, Ink::Plain);
    }
    let scene = &run.measured.scene;
    for mesh in [&scene.body.mesh, &scene.tray.mesh] {
        for piece in cut(mesh, &frame, lo, hi) {
            drawing.stroke(piece.map(at).to_vec(), Line::Narrow, Ink::Plain);
        }
    }
    let fitted: Vec<Point2> = (0..=40)
        .map(|k| lo.x + size.x * f64::from(k) / 40.0)
        .map(|x| Point2::new(x, survey.tray.height(station.s, x)))
        .filter(|p| p.y > lo.y && p.y < hi.y)
        .map(at)
        .collect();
    drawing.stroke(fitted, Line::Chain, Ink::Plain);

    let spread = scale.to_paper(2.0 * station.sigma);
    dimension(
        &mut drawing,
        [at(tray), at(edge)],
        spread,
        &outline,
        station.gap,
    );
    drawing.scale_bar(Point2::new(SIDE_MM, 3.0), scale, 12.0);
    let outside = Point2::new(width - SIDE_MM, 9.0);
    drawing.arrow(outside - Vector2::new(8.0, 0.0), outside, Ink::Plain);
    let word = Point2::new(outside.x - 9.5, outside.y - 0.9);
    drawing.note(word, Anchor::End, "outside");
    if let Some(words) = forward::of_section(run.measured.front, &frame) {
        drawing.note(outside + Vector2::new(0.0, 2.4), Anchor::End, words);
    }
    drawing
}

/// The gap from foot to tip with its uncertainty, drawn outside of the panel.
fn dimension(
    drawing: &mut Drawing,
    [foot, tip]: [Point2; 2],
    spread: f64,
    panel: &[Point2],
    gap: f64,
) {
    let Some(up) = (tip - foot).try_normalize(1e-9) else {
        return;
    };
    let right = Vector2::new(up.y, -up.x);
    let reach = panel.iter().map(|p| (p - foot).dot(&right));
    let aside = reach.map(|r| r + BESIDE_MM).fold(0.0, f64::max);
    for end in [foot, tip].into_iter().filter(|_| aside > 0.0) {
        let beyond = end + right * (aside + 1.0);
        drawing.stroke(vec![end, beyond], Line::Narrow, Ink::Accent);
    }
    let (foot, tip) = (foot + right * aside, tip + right * aside);
    drawing.arrow(foot, tip, Ink::Accent);
    for end in [tip + up * spread, tip - up * spread] {
        let half = right * 1.5;
        drawing.stroke(vec![end - half, end + half], Line::Narrow, Ink::Accent);
    }
    let bar = vec![tip + up * spread, tip - up * spread];
    drawing.stroke(bar, Line::Narrow, Ink::Accent);
    let beside = foot + (tip - foot) * 0.5 + Vector2::new(1.5, -NOTE_MM / 2.0);
    let number = format!("{gap:.1}");
    drawing.text(beside, Anchor::Start, NOTE_MM, Ink::Accent, number);
}

fn nearest_section(sections: &[Section], s: f64) -> Option<&Section> {
    sections
        .iter()
        .min_by(|a, b| (a.s - s).abs().total_cmp(&(b.s - s).abs()))
}
