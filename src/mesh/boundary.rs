//! Where a surface ends: the loops of edges that belong to one triangle only.

use super::TriMesh;
use crate::math::Point3;

/// A closed or open chain of boundary edges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boundary {
    /// Length along the chain.
    pub length: f64,
    /// Diagonal of the box round it: how wide a hole is at most.
    pub width: f64,
}

/// The chains of boundary edges, longest first. Where chains touch in a point they may be joined either
/// way, always the same one.
#[must_use]
pub fn find_boundaries(mesh: &TriMesh) -> Vec<Boundary> {
    let mut edges: Vec<(u32, u32, bool)> = mesh
        .triangles
        .iter()
        .flat_map(|t| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])])
        .map(|(a, b)| (a.min(b), a.max(b), a < b))
        .collect();
    edges.sort_unstable();
    let mut open: Vec<(u32, u32)> = edges
        .chunk_by(|a, b| (a.0, a.1) == (b.0, b.1))
        .filter(|same| same.len() == 1)
        .map(|same| {
            if same[0].2 {
                (same[0].0, same[0].1)
            } else {
                (same[0].1, same[0].0)
            }
        })
        .collect();
    open.sort_unstable();
    let mut used = vec![false; open.len()];
    let mut found = Vec::new();
    for first in 0..open.len() {
        if used[first] {
            continue;
        }
        let start = mesh.points[open[first].0 as usize];
        let (mut length, mut lo, mut hi) = (0.0, start, start);
        let mut next = Some(first);
        while let Some(k) = next {
            used[k] = true;
            let [a, b]: [Point3; 2] = [open[k].0, open[k].1].map(|i| mesh.points[i as usize]);
            length += (b - a).norm();
            (lo, hi) = (lo.inf(&b), hi.sup(&b));
            let from = open.partition_point(|e| e.0 < open[k].1);
            next = (from..open.len())
                .take_while(|&i| open[i].0 == open[k].1)
                .find(|&i| !used[i]);
        }
        found.push(Boundary {
            length,
            width: (hi - lo).norm(),
        });
    }
    found.sort_by(|a, b| b.length.total_cmp(&a.length));
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_with_a_hole_has_two_boundaries() {
        // Sixteen unit squares of a 4 x 4 sheet, less the four in the middle.
        let points = (0..25)
            .map(|i| Point3::new(f64::from(i % 5), f64::from(i / 5), 0.0))
            .collect();
        let triangles = (0..16u32)
            .filter(|q| !((1..3).contains(&(q % 4)) && (1..3).contains(&(q / 4))))
            .flat_map(|q| {
                let a = q / 4 * 5 + q % 4;
                [[a, a + 1, a + 6], [a, a + 6, a + 5]]
            })
            .collect();
        let found = find_boundaries(&TriMesh { points, triangles });
        assert_eq!(found.len(), 2);
        assert_eq!((found[0].length, found[1].length), (16.0, 8.0));
        assert!((found[1].width - 8f64.sqrt()).abs() < 1e-12);
    }
}
