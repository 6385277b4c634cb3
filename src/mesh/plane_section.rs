//! Level sections of a mesh, chained into oriented lines.

use super::TriMesh;
use crate::math::Point2;

/// A line in which a level plane meets a mesh. It runs so that the surface faces to its right.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionLine {
    /// Points in order, in plan.
    pub points: Vec<Point2>,
}

impl SectionLine {
    /// Length along the line.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.points.windows(2).map(|p| (p[1] - p[0]).norm()).sum()
    }
}

/// Where the line enters or leaves a triangle: on the mesh edge between two points.
type EdgeKey = (u32, u32);

/// Meets a mesh with the plane `z = level` and chains the pieces along shared mesh edges.
/// Lines come in the order of their first triangle; where a mesh edge has more than two triangles the
/// line ends.
#[must_use]
pub fn level_section(mesh: &TriMesh, level: f64) -> Vec<SectionLine> {
    let above = |i: u32| mesh.points[i as usize].z > level;
    let mut pieces: Vec<(EdgeKey, EdgeKey)> = Vec::new();
    for t in &mesh.triangles {
        let up = t.map(above);
        // The line leaves where the boundary, run anticlockwise, goes down through the level, and enters
        // where it goes up: with the surface facing right.
        let (mut enter, mut leave) = (None, None);
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            let key = (a.min(b), a.max(b));
            match (up[k], up[(k + 1) % 3]) {
                (true, false) => leave = Some(key),
                (false, true) => enter = Some(key),
                _ => {}
            }
        }
        if let (Some(enter), Some(leave)) = (enter, leave) {
            pieces.push((leave, enter));
        }
    }
    chain(&pieces)
        .into_iter()
        .map(|keys| line_through(mesh, level, &keys))
        .collect()
}

fn line_through(mesh: &TriMesh, level: f64, keys: &[EdgeKey]) -> SectionLine {
    let points = keys
        .iter()
        .map(|&(a, b)| {
            let (p, q) = (mesh.points[a as usize], mesh.points[b as usize]);
            let share = (level - p.z) / (q.z - p.z);
            (p + (q - p) * share).xy()
        })
        .collect();
    SectionLine { points }
}

/// Joins pieces `(from, to)` head to tail.
fn chain(pieces: &[(EdgeKey, EdgeKey)]) -> Vec<Vec<EdgeKey>> {
    let mut starts: Vec<(EdgeKey, usize)> =
        pieces.iter().enumerate().map(|(i, p)| (p.0, i)).collect();
    starts.sort_unstable();
    let mut ends: Vec<EdgeKey> = pieces.iter().map(|p| p.1).collect();
    ends.sort_unstable();
    let one_start = |key: EdgeKey| {
        let k = starts.partition_point(|s| s.0 < key);
        let only = starts.get(k).filter(|s| s.0 == key)?;
        (starts.get(k + 1).is_none_or(|s| s.0 != key)).then_some(only.1)
    };
    let has_end = |key: EdgeKey| ends.binary_search(&key).is_ok();
    let mut used = vec![false; pieces.len()];
    let mut lines = Vec::new();
    // First the open lines from their open starts, then what is left: closed ones.
    for closed in [false, true] {
        for i in 0..pieces.len() {
            if used[i] || (!closed && has_end(pieces[i].0)) {
                continue;
            }
            let mut line = vec![pieces[i].0];
            let mut next = Some(i);
            while let Some(k) = next.filter(|&k| !used[k]) {
                used[k] = true;
                line.push(pieces[k].1);
                next = one_start(pieces[k].1);
            }
            lines.push(line);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Point3;

    /// A cube of side 2 about the origin, facing outward.
    fn cube() -> TriMesh {
        let points = (0..8)
            .map(|i| {
                let at = |bit: i32| if i >> bit & 1 == 1 { 1.0 } else { -1.0 };
                Point3::new(at(0), at(1), at(2))
            })
            .collect();
        let quads = [
            [0, 2, 3, 1],
            [4, 5, 7, 6],
            [0, 1, 5, 4],
            [2, 6, 7, 3],
            [0, 4, 6, 2],
            [1, 3, 7, 5],
        ];
        let triangles = quads
            .iter()
            .flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]])
            .collect();
        TriMesh { points, triangles }
    }

    #[test]
    fn a_cube_is_cut_in_one_closed_anticlockwise_square() {
        let mesh = cube();
        assert!((mesh.signed_volume() - 8.0).abs() < 1e-12);
        let lines = level_section(&mesh, 0.25);
        assert_eq!(lines.len(), 1);
        assert!((lines[0].length() - 8.0).abs() < 1e-12);
        // Outside to the right of the line means anticlockwise round the inside.
        let p = &lines[0].points;
        let area: f64 = p
            .windows(2)
            .map(|w| w[0].x * w[1].y - w[0].y * w[1].x)
            .sum::<f64>()
            / 2.0;
        assert!((area - 4.0).abs() < 1e-12, "{area}");
    }

    #[test]
    fn nothing_is_met_above_the_cube() {
        assert!(level_section(&cube(), 1.5).is_empty());
    }
}
