//! What is drawn into the face: the trim line all round and ticks at the stations, as fine grooves.

use super::course::{Course, Row, outward};
use crate::math::{Point2, Vector2};

/// Depth of a groove, and half its width (mm).
pub const GROOVE_MM: f64 = 0.5;
const HALF_MM: f64 = 0.4;
/// A tick runs from the trim line outward so far (mm), and fades over the last of it.
const TICK_MM: f64 = 8.0;
const FADE_MM: f64 = 1.0;
/// Least run-out that takes a tick (mm).
pub const LEAST_RUN_OUT_MM: f64 = TICK_MM + FADE_MM + 1.0;
/// Ticks stand at whole multiples of this arc length (mm), as on the paper template.
const TICK_PITCH_MM: f64 = 50.0;
/// No tick nearer to the trim line's ends than this, and no other row nearer to a groove (mm).
const CLEAR_MM: f64 = 2.0;
const ROW_CLEAR_MM: f64 = 0.9;

/// The trim line's corner at the foot, and how far from the last corner the one at the top is.
const TRIM_LOW: usize = 4;
const TRIM_HIGH: usize = 4;

/// What a row shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mark {
    Plain,
    Tick,
    End,
}

/// Where a face is carried to: down to the base and up past its top.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    /// On the base.
    pub bottom: Point2,
    /// End of the run-out over the top.
    pub top: Point2,
}

/// Direction of the first and the last edge of a polyline.
pub fn end_runs(face: &[Point2]) -> Option<[Vector2; 2]> {
    let (a, b) = (face.first()?, face.get(1)?);
    let (c, d) = (face.iter().nth_back(1)?, face.last()?);
    Some([(b - a).try_normalize(1e-9)?, (d - c).try_normalize(1e-9)?])
}

/// The front from base to top with room for the grooves, nothing cut in yet.
pub fn front(face: &[Point2], ends: Ends) -> Option<Vec<Point2>> {
    let [up, on] = end_runs(face)?;
    let (foot, top) = (*face.first()?, *face.last()?);
    let mut points = vec![ends.bottom];
    points.extend(
        [-TICK_MM - FADE_MM, -TICK_MM, -HALF_MM, 0.0, HALF_MM]
            .iter()
            .map(|d| foot + up * *d),
    );
    points.extend(face.get(1..face.len().checked_sub(1)?)?);
    points.extend(
        [-HALF_MM, 0.0, HALF_MM, TICK_MM, TICK_MM + FADE_MM]
            .iter()
            .map(|d| top + on * *d),
    );
    points.push(ends.top);
    Some(points)
}

/// Edges of a front that make up the face between the trim lines, by the corner they start at.
pub fn face_edges(front: usize) -> std::ops::Range<usize> {
    TRIM_LOW..front.saturating_sub(1 + TRIM_HIGH)
}

/// The fronts with the grooves cut in: rows at every mark, the others moved out of the way. `ends` are the
/// arc lengths of the trim line's two ends.
pub fn cut_in(fronts: &Course, ends: [f64; 2]) -> (Course, Vec<f64>) {
    let [first, last] = fronts.ends();
    let mut marks = vec![(ends[0], Mark::End), (ends[1], Mark::End)];
    let ticks = tick_places([first, last], ends);
    marks.extend(ticks.iter().map(|&s| (s, Mark::Tick)));
    let clear = |s: f64| marks.iter().all(|(m, _)| (m - s).abs() > ROW_CLEAR_MM);
    let mut places: Vec<(f64, Mark)> = (fronts.rows.iter())
        .filter(|row| clear(row.s))
        .map(|row| (row.s, Mark::Plain))
        .collect();
    for &(s, mark) in &marks {
        places.extend([
            (s - HALF_MM, Mark::Plain),
            (s, mark),
            (s + HALF_MM, Mark::Plain),
        ]);
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    let rows = places.iter().map(|&(s, mark)| Row {
        s,
        points: pull(&fronts.at(s), mark),
    });
    let rows = rows.collect();
    (Course { rows }, ticks)
}

/// Where ticks stand on a front with these ends, its trim line ending at `trim` (arc lengths, mm).
pub fn tick_places([first, last]: [f64; 2], trim: [f64; 2]) -> Vec<f64> {
    let from = ((first + CLEAR_MM) / TICK_PITCH_MM).ceil() as i64;
    let to = ((last - CLEAR_MM) / TICK_PITCH_MM).floor() as i64;
    (from..=to)
        .map(|k| k as f64 * TICK_PITCH_MM)
        .filter(|s| trim[0] - CLEAR_MM <= *s && *s <= trim[1] + CLEAR_MM)
        .filter(|s| trim.iter().all(|end| (s - end).abs() > CLEAR_MM))
        .collect()
}

/// Pulls in what lies in a groove.
fn pull(front: &[Point2], mark: Mark) -> Vec<Point2> {
    let n = front.len();
    let high = n.saturating_sub(1 + TRIM_HIGH);
    let deep = |i: usize| match mark {
        _ if i == TRIM_LOW || i == high => true,
        Mark::Plain => false,
        Mark::Tick => i + 2 == TRIM_LOW || i + 1 == TRIM_LOW || i == high + 1 || i == high + 2,
        Mark::End => (TRIM_LOW..=high).contains(&i),
    };
    (0..n)
        .map(|i| {
            let p = front[i];
            let run = front[(i + 1).min(n - 1)] - front[i.saturating_sub(1)];
            if deep(i) {
                p - outward(run) * GROOVE_MM
            } else {
                p
            }
        })
        .collect()
}
