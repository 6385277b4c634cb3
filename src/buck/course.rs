//! A polyline that runs up the outside at every station, set inward by a thickness square to the real
//! surface.

use crate::math::{Point2, Spine, Vector2, Vector3};

/// In the station plane no thickness is stretched further than this where the surface runs askew to it.
const MOST_STRETCH: f64 = 1.5;
/// Sine of half a turn under which two edges are taken for one smooth curve.
const SMOOTH: f64 = 0.05;
/// Past an end the course goes on as over so much of its length before (mm).
const GOES_ON_MM: f64 = 12.0;
/// It leaves the end no steeper than this, for each mm along.
const STEEPEST: f64 = 0.6;

/// One station's polyline, from low to high, in (x outward, z up), mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// The same number of corners at every station.
    pub points: Vec<Point2>,
}

/// Rows along the spine, in order.
#[derive(Debug, Clone)]
pub struct Course {
    /// The rows.
    pub rows: Vec<Row>,
}

/// Normal of an edge that runs up: outward.
pub fn outward(run: Vector2) -> Vector2 {
    Vector2::new(run.y, -run.x)
        .try_normalize(1e-12)
        .unwrap_or_else(Vector2::x)
}

impl Course {
    /// Arc length of the first and the last row (mm).
    pub fn ends(&self) -> [f64; 2] {
        let s = |row: Option<&Row>| row.map_or(0.0, |row| row.s);
        [s(self.rows.first()), s(self.rows.last())]
    }

    /// The polyline between rows, or past the ends as the course leaves them.
    pub fn at(&self, s: f64) -> Vec<Point2> {
        let [first, last] = self.ends();
        let (from, to, share) = if s < first {
            let inner = self.rows.iter().find(|row| row.s >= first + GOES_ON_MM);
            self.beyond(self.rows.first(), inner, s)
        } else if s > last {
            let inner = self.rows.iter().rfind(|row| row.s <= last - GOES_ON_MM);
            self.beyond(self.rows.last(), inner, s)
        } else {
            let k = self.rows.partition_point(|row| row.s <= s);
            let from = k.checked_sub(1).and_then(|k| self.rows.get(k));
            let to = self.rows.get(k);
            let share = match (from, to) {
                (Some(a), Some(b)) if b.s > a.s => (s - a.s) / (b.s - a.s),
                _ => 0.0,
            };
            (from, to.or(from), share)
        };
        let (Some(from), Some(to)) = (from, to) else {
            return Vec::new();
        };
        let pairs = from.points.iter().zip(&to.points);
        pairs.map(|(a, b)| a + (b - a) * share).collect()
    }

    /// The end, a row further in, and how far past the end `s` lies as a negative share of the way in.
    fn beyond<'a>(
        &'a self,
        end: Option<&'a Row>,
        inner: Option<&'a Row>,
        s: f64,
    ) -> (Option<&'a Row>, Option<&'a Row>, f64) {
        let share = match (end, inner) {
            (Some(end), Some(inner)) if inner.s != end.s => {
                let span = (inner.s - end.s).abs();
                let moved = (end.points.iter().zip(&inner.points))
                    .map(|(a, b)| (b - a).norm())
                    .fold(0.0, f64::max);
                let held = (STEEPEST * span / moved.max(1e-9)).min(1.0);
                (s - end.s) / (inner.s - end.s) * held
            }
            _ => 0.0,
        };
        (end, inner.or(end), share)
    }

    /// The same course with rows at exactly these places.
    pub fn at_places(&self, places: &[f64]) -> Self {
        let row = |&s: &f64| Row {
            s,
            points: self.at(s),
        };
        Self {
            rows: places.iter().map(row).collect(),
        }
    }

    /// How much longer the way through a thickness is in the station plane than square to the surface,
    /// for every edge of a row.
    fn stretches(&self, spine: &Spine, i: usize) -> Vec<f64> {
        let Some(row) = self.rows.get(i) else {
            return Vec::new();
        };
        let frame = spine.frame_at(row.s);
        let next = |k: Option<usize>| k.and_then(|k| self.rows.get(k)).unwrap_or(row);
        let (before, after) = (next(i.checked_sub(1)), next(Some(i + 1)));
        let middle = |row: &Row, j: usize| {
            let pair = row.points.get(j).zip(row.points.get(j + 1));
            pair.map(|(a, b)| spine.frame_at(row.s).to_shop(nalgebra::center(a, b)))
        };
        let lift = |v: Vector2| frame.outward * v.x + Vector3::z() * v.y;
        (row.points.windows(2).enumerate())
            .map(|(j, pair)| {
                let run = pair[1] - pair[0];
                let square = lift(outward(run));
                let chord = match (middle(before, j), middle(after, j)) {
                    (Some(a), Some(b)) => b - a,
                    _ => frame.along,
                };
                match lift(run).cross(&chord).try_normalize(1e-12) {
                    Some(normal) => (1.0 / normal.dot(&square).abs().max(1e-3)).min(MOST_STRETCH),
                    None => 1.0,
                }
            })
            .collect()
    }

    /// The course `by` mm further in, square to the surface. Its ends lie under the ends of this one.
    ///
    /// Exact where the surface is flat; in a bend the error is of the order of the chords between rows.
    pub fn set_in(&self, spine: &Spine, by: f64) -> Self {
        let rows = (0..self.rows.len()).map(|i| {
            let stretches = self.stretches(spine, i);
            let row = &self.rows[i];
            let points = set_in_row(&row.points, &stretches, by);
            Row { s: row.s, points }
        });
        Self {
            rows: rows.collect(),
        }
    }
}

fn set_in_row(points: &[Point2], stretches: &[f64], by: f64) -> Vec<Point2> {
    let edge = |j: Option<usize>| -> Option<(Vector2, f64)> {
        let j = j?;
        let run = points.get(j + 1)? - points.get(j)?;
        Some((outward(run), by * stretches.get(j)?))
    };
    (points.iter().enumerate())
        .map(|(j, p)| match (edge(j.checked_sub(1)), edge(Some(j))) {
            (Some((a, da)), Some((b, db))) => p - mitre(a, da, b, db),
            (Some((n, d)), None) | (None, Some((n, d))) => p - n * d,
            (None, None) => *p,
        })
        .collect()
}

/// Where two lines set in by `da` and `db` from edges with the outward normals `a` and `b` meet, as a way
/// from their corner, turned outward. Edges that hardly turn hardly meet: there it goes square.
fn mitre(a: Vector2, da: f64, b: Vector2, db: f64) -> Vector2 {
    let Some(mean) = (a + b).try_normalize(1e-6) else {
        return a * da;
    };
    let cos = a.dot(&mean).max(0.2);
    let side = Vector2::new(-mean.y, mean.x);
    let sin = a.dot(&side);
    let across = 0.5 * (da + db) / cos;
    let along = 0.5 * (da - db) * sin / (sin * sin + SMOOTH * SMOOTH);
    mean * across + side * along
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Point3;

    fn straight() -> Spine {
        let points = [Point3::origin(), Point3::new(0.0, 100.0, 0.0)];
        Spine::fit(&points, &[1.0; 2], 20.0, 0.0).unwrap()
    }

    fn plank(x: impl Fn(f64) -> f64) -> Course {
        let rows = (0..=20).map(|k| {
            let s = 5.0 * f64::from(k);
            let x = x(s);
            Row {
                s,
                points: vec![
                    Point2::new(x, 0.0),
                    Point2::new(x, 40.0),
                    Point2::new(x - 10.0, 50.0),
                ],
            }
        });
        Course {
            rows: rows.collect(),
        }
    }

    /// A corner set in by d is mitred: for 45 degrees it comes down by d tan(22.5 degrees).
    #[test]
    fn a_corner_is_mitred() {
        let set_in = plank(|_| 0.0).set_in(&straight(), 2.0);
        let corner = set_in.rows[10].points[1];
        assert!((corner.x + 2.0).abs() < 1e-9, "{corner}");
        let down = 2.0 * (std::f64::consts::FRAC_PI_8).tan();
        assert!((corner.y - (40.0 - down)).abs() < 1e-9, "{corner}");
    }

    /// A plank at 30 degrees to the spine: the way through it is longer by 1 / cos 30 degrees.
    #[test]
    fn a_plank_askew_keeps_its_thickness() {
        let slope = 30f64.to_radians().tan();
        let set_in = plank(|s| slope * s).set_in(&straight(), 3.0);
        let way = set_in.rows[10].points[0].x - slope * 50.0;
        assert!((way + 3.0 / 30f64.to_radians().cos()).abs() < 1e-6, "{way}");
    }

    #[test]
    fn past_its_ends_it_goes_on_straight() {
        let course = plank(|s| 0.2 * s);
        for s in [-20.0, 3.0, 50.0, 130.0] {
            assert!((course.at(s)[0].x - 0.2 * s).abs() < 1e-9, "{s}");
        }
    }
}
