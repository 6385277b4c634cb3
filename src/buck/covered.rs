//! The surface that cloth is laid on, and what goes past the edges of the part.

use super::course::{Course, Row};
use super::marks::{end_runs, tick_places};
use crate::math::{Point2, Point3, Spine, Vector2};
use crate::panel::Panel;

/// Rows of a measured surface stand no farther apart than this, and corners neither (mm).
const FINE_MM: f64 = 5.0;

/// The surface under the cloth, from past the foot to past the top, and past both ends of the part.
#[derive(Debug, Clone)]
pub struct Covered {
    /// First corner past the foot, last past the top: the part lies between the others.
    course: Course,
    /// Arc lengths of the part's ends (mm).
    pub trim: [f64; 2],
}

/// Which of a covered surface is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stretch {
    /// What stays on the part.
    Part,
    /// What the cloth covers before it is trimmed.
    Cloth,
}

impl Covered {
    /// The face of a part carried past its edges: where each row goes on to below and above.
    pub(super) fn carried(face: &Course, past: &[[Point2; 2]], trim: [f64; 2]) -> Self {
        let rows = face.rows.iter().zip(past).map(|(row, [low, high])| {
            let mut points = vec![*low];
            points.extend(&row.points);
            points.push(*high);
            Row { s: row.s, points }
        });
        Self {
            course: Course {
                rows: rows.collect(),
            },
            trim,
        }
    }

    /// The outside of a printed core, `past` mm (more than nothing) carried straight on past its edges.
    /// `None` if the panel has no outside.
    #[must_use]
    pub fn core(panel: &Panel, past: f64) -> Option<Self> {
        let rows: Vec<Row> = (panel.sections.iter())
            .map(|section| Row {
                s: section.s,
                points: section.outside().to_vec(),
            })
            .collect();
        let count = rows.first()?.points.len();
        if rows.len() < 2 || count < 2 || rows.iter().any(|row| row.points.len() != count) {
            return None;
        }
        let course = Course { rows };
        let trim = course.ends();
        let past = past.max(0.5);
        let mut places = vec![trim[0] - past];
        places.extend(course.rows.iter().map(|row| row.s));
        places.push(trim[1] + past);
        let face = course.at_places(&places);
        let ends: Option<Vec<[Point2; 2]>> = (face.rows.iter())
            .map(|row| {
                let [up, on] = end_runs(&row.points)?;
                Some([
                    row.points.first()? - up * past,
                    row.points.last()? + on * past,
                ])
            })
            .collect();
        Some(Self::carried(&face, &ends?, trim))
    }

    /// First and last arc length (mm).
    #[must_use]
    pub fn ends(&self) -> [f64; 2] {
        self.course.ends()
    }

    /// Arc lengths of the stations that are marked (mm): where a buck has its ticks.
    #[must_use]
    pub fn ticks(&self) -> Vec<f64> {
        tick_places(self.ends(), self.trim)
    }

    /// The part's line at a row near its middle, and the same `by` so many mm further out, square to the
    /// surface; with the arc length.
    #[must_use]
    pub fn laid_on<const N: usize>(
        &self,
        spine: &Spine,
        by: [f64; N],
    ) -> Option<(f64, [Vec<Point2>; N])> {
        let k = self.course.rows.len() / 2;
        let s = self.course.rows.get(k)?.s;
        let line = |by: f64| {
            let out = self.course.set_in(spine, -by);
            let points = out.rows.get(k).map(|row| row.points.clone());
            let points = points.unwrap_or_default();
            let inner = points.len().saturating_sub(1);
            points.get(1..inner).unwrap_or_default().to_vec()
        };
        Some((s, by.map(line)))
    }

    /// How many corners a row has, those past the part's edges included.
    #[must_use]
    pub fn corners(&self) -> usize {
        self.course.rows.first().map_or(0, |row| row.points.len())
    }

    /// The row at an arc length (mm), in the shop frame.
    #[must_use]
    pub fn row(&self, spine: &Spine, s: f64) -> Vec<Point3> {
        let frame = spine.frame_at(s);
        let points = self.course.at(s);
        points.iter().map(|p| frame.to_shop(*p)).collect()
    }

    /// The row at an arc length in its station plane (mm).
    #[must_use]
    pub fn flat_row(&self, s: f64) -> Vec<Point2> {
        self.course.at(s)
    }

    /// Arc lengths from one to another, no farther apart than `step`, both ends among them (mm).
    #[must_use]
    pub fn places(from: f64, to: f64, step: f64) -> Vec<f64> {
        let count = ((to - from) / step).ceil().max(1.0) as usize;
        (0..=count)
            .map(|k| from + (to - from) * k as f64 / count as f64)
            .collect()
    }

    /// Its area (mm2): the sum over fine quadrilaterals, each split in two.
    #[must_use]
    pub fn area_mm2(&self, spine: &Spine, stretch: Stretch) -> f64 {
        let [from, to] = match stretch {
            Stretch::Part => self.trim,
            Stretch::Cloth => self.ends(),
        };
        let rows: Vec<Vec<Point3>> = Self::places(from, to, FINE_MM)
            .into_iter()
            .map(|s| {
                let row = self.row(spine, s);
                match stretch {
                    Stretch::Cloth => row,
                    Stretch::Part => {
                        let inner = row.len().saturating_sub(1);
                        row.get(1..inner).unwrap_or_default().to_vec()
                    }
                }
            })
            .collect();
        let quad = |a: &[Point3], b: &[Point3]| {
            let ([p, q], [r, t]) = ([a[0], a[1]], [b[0], b[1]]);
            0.5 * ((r - p).cross(&(t - p)).norm() + (t - p).cross(&(q - p)).norm())
        };
        rows.windows(2)
            .flat_map(|pair| pair[0].windows(2).zip(pair[1].windows(2)))
            .map(|(a, b)| quad(a, b))
            .sum()
    }

    /// The longest way across it in a station plane, and its length along (mm): how large a bag must be.
    #[must_use]
    pub fn spread(&self, spine: &Spine) -> [f64; 2] {
        let [from, to] = self.ends();
        let rows: Vec<Vec<Point3>> = Self::places(from, to, FINE_MM)
            .into_iter()
            .map(|s| self.row(spine, s))
            .collect();
        let across = (rows.iter())
            .map(|row| row.windows(2).map(|e| (e[1] - e[0]).norm()).sum())
            .fold(0.0, f64::max);
        let along = (0..self.corners())
            .map(|j| {
                let column: Vec<&Point3> = rows.iter().filter_map(|row| row.get(j)).collect();
                column.windows(2).map(|e| (e[1] - e[0]).norm()).sum()
            })
            .fold(0.0, f64::max);
        [along, across]
    }

    /// Sharpest turn between edges anywhere on the part (rad), and where (arc length, mm).
    #[must_use]
    pub fn sharpest(&self) -> Option<(f64, f64)> {
        let turn = |a: Vector2, b: Vector2| a.perp(&b).atan2(a.dot(&b)).abs();
        (self.course.rows.iter())
            .filter(|row| (self.trim[0]..=self.trim[1]).contains(&row.s))
            .flat_map(|row| {
                let at = row.points.windows(3);
                at.map(|p| (turn(p[1] - p[0], p[2] - p[1]), row.s))
            })
            .max_by(|a, b| a.0.total_cmp(&b.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::samples::{arc, straight};

    /// An upright wall 40 mm high on an arc of radius 300 and 90 degrees: a quarter of a cylinder.
    #[test]
    fn a_wall_on_an_arc_has_the_area_of_its_cylinder() {
        let spine = arc(300.0, 90.0);
        let length = spine.length();
        let face = Course {
            rows: Covered::places(0.0, length, 10.0)
                .into_iter()
                .map(|s| Row {
                    s,
                    points: vec![Point2::new(0.0, 0.0), Point2::new(0.0, 40.0)],
                })
                .collect(),
        };
        let past = vec![[Point2::new(0.0, -20.0), Point2::new(0.0, 55.0)]; face.rows.len()];
        let covered = Covered::carried(&face, &past, [0.0, length]);
        let quarter = 300.0 * std::f64::consts::FRAC_PI_2;
        for (stretch, height) in [(Stretch::Part, 40.0), (Stretch::Cloth, 75.0)] {
            let area = covered.area_mm2(&spine, stretch);
            assert!(
                (area / (quarter * height) - 1.0).abs() < 1e-3,
                "{area} {}",
                quarter * height
            );
        }
        let [along, across] = covered.spread(&spine);
        assert!((along / quarter - 1.0).abs() < 1e-3 && (across - 75.0).abs() < 1e-9);
    }

    #[test]
    fn a_core_is_carried_past_its_edges() {
        let gap = crate::panel::samples::Gap::plain(straight(400.0), crate::gap::EdgeKind::Rolled);
        let survey = gap.survey();
        let options = crate::panel::PanelOptions::default();
        let panel =
            crate::panel::design(&survey, &options, &crate::progress::Progress::silent()).unwrap();
        let covered = Covered::core(&panel, 15.0).unwrap();
        let [from, to] = covered.ends();
        assert!((covered.trim[0] - from - 15.0).abs() < 1e-9);
        assert!((to - covered.trim[1] - 15.0).abs() < 1e-9);
        let row = covered.flat_row(200.0);
        assert!((row[1] - row[0]).norm() - 15.0 < 1e-9);
        assert_eq!(covered.corners(), panel.sections[0].outside().len() + 2);
    }
}
