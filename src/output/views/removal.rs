//! How the tray comes off: the section where it is tightest, what moves drawn at several moments.

use super::scan_cut::cut;
use super::{WIDTH_MM, forward};
use crate::math::{Point2, StationFrame, Vector2};
use crate::output::Run;
use crate::output::drawing::{Anchor, Drawing, Ink, Line, Scale, TITLE_MM, hatch};
use crate::panel::proof::removal::{Moment, Part, PathResult, RemovalProof};
use crate::panel::{Mount, Panel, Section};
use nalgebra::Isometry3;

/// Paper round the section: sides, below for the bar, above for the title.
const SIDE_MM: f64 = 10.0;
const BELOW_MM: f64 = 14.0;
const ABOVE_MM: f64 = 18.0;
/// Tallest the section is drawn (mm on paper).
const TALL_MM: f64 = 110.0;
/// Room round what is drawn, on the part (mm), and how much of the body shows above the panel.
const AROUND_MM: f64 = 12.0;
const BODY_MM: f64 = 30.0;
/// Moments drawn of each move.
const MOMENTS: u32 = 4;
/// Half the length of the arms of the cross at the tightest place (mm on paper).
const CROSS_MM: f64 = 2.5;
/// What lies so near to the section along the spine is shown in it (mm).
const SHOWN_MM: f64 = 10.0;

/// What is drawn, in the station plane.
struct Sweep<'a> {
    proof: &'a RemovalProof,
    result: &'a PathResult,
    panel: &'a Panel,
    section: &'a Section,
    frame: StationFrame,
    /// What moves: the panel's outline or a line of the tray.
    moving: Vec<Point2>,
}

/// `None` where no way was tried or the panel has no section.
pub(super) fn draw(run: Run<'_>) -> Option<Drawing> {
    let (proof, (panel, _)) = (run.removal?, run.made?);
    let result = proof.best_path()?;
    let survey = &run.measured.survey;
    let wanted = result
        .tightest
        .map_or(0.5 * survey.spine.length(), |t| t.station_mm);
    let near = |a: f64, b: f64| (a - wanted).abs().total_cmp(&(b - wanted).abs());
    let section = panel.sections.iter().min_by(|a, b| near(a.s, b.s))?;
    let whole = section.whole();
    let low = whole.iter().map(|p| p.x);
    let span = [
        low.clone().fold(f64::INFINITY, f64::min) - 0.5 * AROUND_MM,
        low.fold(f64::NEG_INFINITY, f64::max) + 0.5 * AROUND_MM,
    ];
    let moving = match proof.mount {
        Mount::Tray => whole.to_vec(),
        Mount::Body => (0..=20)
            .map(|k| span[0] + (span[1] - span[0]) * f64::from(k) / 20.0)
            .map(|x| Point2::new(x, survey.tray.height(section.s, x)))
            .collect(),
    };
    let sweep = Sweep {
        proof,
        result,
        panel,
        section,
        frame: survey.spine.frame_at(section.s),
        moving,
    };
    Some(sweep.drawing(run))
}

impl Sweep<'_> {
    fn pose(&self, moment: Moment) -> Isometry3<f64> {
        let mesh = self.panel.solid.mesh();
        let start = Isometry3::translation(0.0, 0.0, -self.proof.let_down_mm);
        let Some(bounds) = mesh.bounds() else {
            return start;
        };
        self.result.path.pose(bounds, moment) * start
    }

    /// What moves, as it stands at a moment, seen along the spine.
    fn at(&self, moment: Moment) -> Vec<Point2> {
        let pose = self.pose(moment);
        self.moving
            .iter()
            .map(|&p| self.frame.to_section(pose * self.frame.to_shop(p)))
            .collect()
    }

    fn moments(&self) -> Vec<Moment> {
        let steps = 0..self.result.path.moves.len();
        let whole: Vec<Moment> = steps
            .flat_map(|step| {
                (1..=MOMENTS).map(move |k| Moment {
                    step,
                    share: f64::from(k) / f64::from(MOMENTS),
                })
            })
            .collect();
        let Some(stop) = self.result.tightest.filter(|_| !self.result.is_clear()) else {
            return whole;
        };
        // A way that fouls is drawn up to where it does.
        let before = |m: &Moment| (m.step, m.share) < (stop.moment.step, stop.moment.share);
        let mut until: Vec<Moment> = whole.into_iter().filter(before).collect();
        until.push(stop.moment);
        until
    }

    fn drawing(&self, run: Run<'_>) -> Drawing {
        let moments = self.moments();
        let placed: Vec<Vec<Point2>> = moments.iter().map(|m| self.at(*m)).collect();
        let around = Vector2::new(AROUND_MM, AROUND_MM);
        let all = self.section.outline.iter().chain(placed.iter().flatten());
        let (lo, hi) = all.fold(
            (
                Point2::new(f64::MAX, f64::MAX),
                Point2::new(f64::MIN, f64::MIN),
            ),
            |(lo, hi), p| (lo.inf(p), hi.sup(p)),
        );
        let (lo, hi) = (lo - around, hi + around + Vector2::new(0.0, BODY_MM));
        let size = hi - lo;
        let scale = Scale::fitting_both(size, [WIDTH_MM - 2.0 * SIDE_MM, TALL_MM]);
        let height = BELOW_MM + scale.to_paper(size.y) + ABOVE_MM;
        let aside = 0.5 * (WIDTH_MM - scale.to_paper(size.x));
        let at = |p: Point2| {
            Point2::new(
                aside + scale.to_paper(p.x - lo.x),
                BELOW_MM + scale.to_paper(p.y - lo.y),
            )
        };
        let on_paper =
            |points: &[Point2]| -> Vec<Point2> { points.iter().map(|&p| at(p)).collect() };
        let title = format!("Taking the tray off: {}", self.result.path.name);
        let mut drawing = Drawing::new(title.clone(), [WIDTH_MM, height]);
        let corner = Point2::new(SIDE_MM, height - 5.0);
        drawing.text(corner, Anchor::Start, TITLE_MM, Ink::Plain, title);
        drawing.note(
            Point2::new(SIDE_MM, height - 9.5),
            Anchor::Start,
            self.note(),
        );
        let key = "hatched: the panel in place; dashed: what moves; thick: where it ends; thin: the scans; cross: tightest";
        drawing.note(Point2::new(SIDE_MM, height - 13.5), Anchor::Start, key);

        let scene = &run.measured.scene;
        for mesh in [&scene.body.mesh, &scene.tray.mesh] {
            for piece in cut(mesh, &self.frame, lo, hi) {
                drawing.stroke(piece.map(at).to_vec(), Line::Narrow, Ink::Plain);
            }
        }
        let outline = on_paper(&self.section.whole());
        for line in hatch(&outline, 1.4) {
            drawing.stroke(line.to_vec(), Line::Narrow, Ink::Faint);
        }
        drawing.outline(outline, Line::Wide, Ink::Plain);
        for (k, points) in placed.iter().enumerate() {
            let (line, ink) = if k + 1 < placed.len() {
                (Line::Dashed, Ink::Faint)
            } else if self.result.is_clear() {
                (Line::Wide, Ink::Plain)
            } else {
                (Line::Wide, Ink::Accent)
            };
            match self.proof.mount {
                Mount::Tray => drawing.outline(on_paper(points), line, ink),
                Mount::Body => drawing.stroke(on_paper(points), line, ink),
            }
        }
        self.arrows(&mut drawing, &moments, &at);
        self.mark(&mut drawing, [lo, hi], &at);
        drawing.scale_bar(Point2::new(SIDE_MM, 3.0), scale, 40.0);
        let outside = Point2::new(WIDTH_MM - SIDE_MM, 4.0);
        drawing.arrow(outside - Vector2::new(8.0, 0.0), outside, Ink::Plain);
        let word = Point2::new(outside.x - 9.5, outside.y - 0.9);
        let words = forward::beside_outside(run.measured.front, &self.frame);
        drawing.note(word, Anchor::End, words);
        drawing
    }

    fn note(&self) -> String {
        let drawn = self.section.s.round() + 0.0;
        let Some(t) = self.result.tightest else {
            return format!("station {drawn:.0} mm; nothing comes near on the whole way");
        };
        // Body and tray go on past the panel, and may be nearest there.
        let place = if self.shows(t.station_mm) {
            format!("station {:.0} mm, where", t.station_mm.round() + 0.0)
        } else {
            let s = t.station_mm.round() + 0.0;
            format!("station {drawn:.0} mm, nearest to station {s:.0}, where")
        };
        if self.result.is_clear() {
            let (mm, twice) = (t.mm, 2.0 * t.sigma_mm);
            format!("{place} it is tightest: {mm:.1} \u{b1} {twice:.1} mm of room")
        } else {
            let [moving, still] = t.parts.map(Part::word);
            format!("{place} the {moving} first meets the {still}")
        }
    }

    /// Whether what lies at an arc length lies in the section that is drawn.
    fn shows(&self, station_mm: f64) -> bool {
        (station_mm - self.section.s).abs() < SHOWN_MM
    }

    /// An arrow for each move, along the course of the middle of what moves.
    fn arrows(&self, drawing: &mut Drawing, moments: &[Moment], at: &impl Fn(Point2) -> Point2) {
        let middle = |points: &[Point2]| {
            let sum = points
                .iter()
                .fold(Vector2::zeros(), |sum, p| sum + p.coords);
            Point2::from(sum / points.len().max(1) as f64)
        };
        let mut from = at(middle(&self.at(Moment {
            step: 0,
            share: 0.0,
        })));
        for (k, moment) in moments.iter().enumerate() {
            let to = at(middle(&self.at(*moment)));
            let last = moments
                .get(k + 1)
                .is_none_or(|next| next.step != moment.step);
            if last && (to - from).norm() > 3.5 {
                drawing.arrow(from, to, Ink::Accent);
            } else {
                drawing.stroke(vec![from, to], Line::Narrow, Ink::Accent);
            }
            from = to;
        }
    }

    /// A cross where it is tightest.
    fn mark(&self, drawing: &mut Drawing, [lo, hi]: [Point2; 2], at: &impl Fn(Point2) -> Point2) {
        let here = self.result.tightest.filter(|t| self.shows(t.station_mm));
        let place = here.map(|t| self.frame.to_section(t.at));
        let inside = |p: &Point2| (0..2).all(|k| p[k] >= lo[k] && p[k] <= hi[k]);
        let Some(place) = place.filter(inside).map(at) else {
            return;
        };
        for arm in [
            Vector2::new(CROSS_MM, CROSS_MM),
            Vector2::new(CROSS_MM, -CROSS_MM),
        ] {
            drawing.stroke(vec![place - arm, place + arm], Line::Narrow, Ink::Accent);
        }
    }
}
