//! Cutting the workpiece at stations, without touching what lies beyond: a workpiece bent like a U must
//! not be cut through its other leg, so each segment is what lies in a slab swept along the spine.

use super::SplitFault;
use super::plan::Cut;
use super::reach::Reach;
use crate::math::{Point2, Point3};
use crate::mesh::{Solid, TriMesh, boolean};

/// A slab's rows turn no more than this against each other (rad), and stand no farther apart (mm).
const TURN: f64 = 0.15;
const ROW_MM: f64 = 40.0;
/// Room between workpiece and slab (mm): more than the slab's chords cut off a curve.
const ROOM_MM: f64 = 2.0;
/// Where the slab reaches toward the centre of a bend, at most this share of the way.
const TOWARD_CENTRE: f64 = 0.95;
/// Carried past the first and last station (mm).
const PAST_END_MM: f64 = 5.0;
/// Volume the segments together may miss, as a share.
const COVERAGE_TOLERANCE: f64 = 1e-3;

/// One quadrilateral across the spine: inner low, outer low, outer high, inner high.
pub(super) type Row = [Point3; 4];

/// Cuts the solid into one more segment than there are cuts, in order.
///
/// Neighbours share the same cut: their slabs share one row of points.
///
/// # Errors
/// When a cut fails, or the segments miss more than 0.1 % of the volume.
pub(super) fn cut_segments(
    solid: &Solid,
    reach: &Reach,
    cuts: &[Cut],
) -> Result<Vec<Solid>, SplitFault> {
    if cuts.is_empty() {
        return Ok(vec![solid.clone()]);
    }
    let stations = choose_rows(reach, cuts);
    let rows = make_rows(solid, reach, &stations);
    // Where in the list of rows each segment begins and ends.
    let mut places = vec![0];
    places.extend(
        cuts.iter()
            .map(|c| stations.partition_point(|&s| s < c.station)),
    );
    places.push(stations.len() - 1);
    let slabs = places
        .windows(2)
        .enumerate()
        .map(|(i, ends)| {
            Solid::new(sweep(&rows[ends[0]..=ends[1]]))
                .map_err(|fault| SplitFault::not_made(i + 1, fault))
        })
        .collect::<Result<Vec<_>, _>>()?;
    let segments = boolean::intersect_each(solid, &slabs)
        .into_iter()
        .enumerate()
        .map(|(i, made)| {
            made.map_err(|fault| SplitFault::not_made(i + 1, fault))?
                .ok_or(SplitFault::NoLength)
        })
        .collect::<Result<Vec<_>, _>>()?;
    let whole = solid.volume();
    let sum: f64 = segments.iter().map(Solid::volume).sum();
    if (sum - whole).abs() > COVERAGE_TOLERANCE * whole {
        return Err(SplitFault::NotCovered { sum, whole });
    }
    Ok(segments)
}

/// Stations the slabs have rows at: the ends, the cuts, and what the bends need between them.
fn choose_rows(reach: &Reach, cuts: &[Cut]) -> Vec<usize> {
    let mut ends: Vec<usize> = cuts.iter().map(|c| c.station).collect();
    ends.push(reach.last());
    let mut rows = vec![0];
    let mut from = 0;
    for end in ends {
        let mut needed: Vec<usize> = Vec::new();
        let mut last = from;
        for i in from + 1..end {
            let (a, b) = (&reach.stations[last].frame, &reach.stations[i + 1].frame);
            let turned = a.along.dot(&b.along).clamp(-1.0, 1.0).acos();
            if turned > TURN || (i - last) as f64 * reach.step > ROW_MM {
                needed.push(i);
                last = i;
            }
        }
        rows.extend(needed);
        rows.push(end);
        from = end;
    }
    rows
}

/// The rows of all slabs, wide and high enough for the workpiece up to the next row on each side.
pub(super) fn make_rows(solid: &Solid, reach: &Reach, stations: &[usize]) -> Vec<Row> {
    let (low, high) = solid.bounds();
    let heights = [low.z - ROOM_MM, high.z + ROOM_MM];
    let last = stations.len() - 1;
    (0..=last)
        .map(|k| {
            let (before, after) = (stations[k.saturating_sub(1)], stations[(k + 1).min(last)]);
            let frame = &reach.stations[stations[k]].frame;
            let across = reach.stations[before..=after]
                .iter()
                .filter_map(|s| s.across)
                .reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])])
                .unwrap_or([0.0, 0.0]);
            let (a, b) = (
                &reach.stations[before].frame.along,
                &reach.stations[after].frame.along,
            );
            // Positive where the centre lies inboard.
            let turned = a.xy().perp(&b.xy()).atan2(a.xy().dot(&b.xy()));
            let length = ((after - before) as f64 * reach.step).max(1e-9);
            let [x0, x1] = widen(across, turned / length);
            let mut frame = *frame;
            if stations[k] == 0 {
                frame.origin -= frame.along * PAST_END_MM;
            } else if stations[k] == reach.last() {
                frame.origin += frame.along * PAST_END_MM;
            }
            [
                frame.to_shop(Point2::new(x0, heights[0])),
                frame.to_shop(Point2::new(x1, heights[0])),
                frame.to_shop(Point2::new(x1, heights[1])),
                frame.to_shop(Point2::new(x0, heights[1])),
            ]
        })
        .collect()
}

/// Room on both sides, held back from the centre of the bend, where the rows would cross.
fn widen([low, high]: [f64; 2], curvature: f64) -> [f64; 2] {
    let mut wide = [low - ROOM_MM, high + ROOM_MM];
    if curvature.abs() > 1e-9 {
        let centre = -1.0 / curvature;
        let (k, edge) = if centre < 0.0 { (0, low) } else { (1, high) };
        let limit = TOWARD_CENTRE * centre;
        let beyond = |x: f64| x.abs() > limit.abs() && x.signum() == limit.signum();
        if beyond(wide[k]) {
            // Where the workpiece itself is nearer to the centre than that, it decides.
            wide[k] = if beyond(edge) { edge } else { limit };
        }
    }
    wide
}

/// A closed mesh through rows of four corners, each anticlockwise seen looking along the row of rows.
/// Both ends are split along the same diagonal, so that one sweep's end is another's start.
pub(super) fn sweep(rows: &[Row]) -> TriMesh {
    let mut mesh = TriMesh {
        points: rows.iter().flatten().copied().collect(),
        triangles: vec![[0, 1, 2], [0, 2, 3]],
    };
    for i in 1..rows.len() as u32 {
        for k in 0..4 {
            let (a, b) = (4 * (i - 1) + k, 4 * (i - 1) + (k + 1) % 4);
            mesh.triangles.extend([[a, a + 4, b + 4], [a, b + 4, b]]);
        }
    }
    let end = 4 * (rows.len() as u32).saturating_sub(1);
    mesh.triangles
        .extend([[end, end + 2, end + 1], [end, end + 3, end + 2]]);
    mesh
}
