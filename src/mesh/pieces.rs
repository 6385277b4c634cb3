//! Pieces: triangles that hang together through shared points.

use super::TriMesh;
use crate::math::Point3;

/// One connected piece of a mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// How many triangles it has.
    pub triangles: usize,
    /// Its area (square mesh units).
    pub area: f64,
    /// Least and greatest corner of the box round it.
    pub bounds: (Point3, Point3),
}

impl Piece {
    /// The longest side of the box round the piece.
    #[must_use]
    pub fn longest_side(&self) -> f64 {
        (self.bounds.1 - self.bounds.0).max()
    }
}

/// The pieces of a mesh and, for each triangle, the number of its piece.
///
/// Pieces are numbered in the order of their first triangle. Triangles that touch in a single point
/// belong together.
#[must_use]
pub fn label_pieces(mesh: &TriMesh) -> (Vec<u32>, Vec<Piece>) {
    let mut parent: Vec<u32> = (0u32..).take(mesh.points.len()).collect();
    for t in &mesh.triangles {
        let [a, b, c] = t.map(|i| root(&mut parent, i));
        let least = a.min(b).min(c);
        for r in [a, b, c] {
            parent[r as usize] = least;
        }
    }
    let mut number = vec![u32::MAX; mesh.points.len()];
    let mut pieces: Vec<Piece> = Vec::new();
    let mut labels = Vec::with_capacity(mesh.triangles.len());
    for (k, t) in mesh.triangles.iter().enumerate() {
        let n = &mut number[root(&mut parent, t[0]) as usize];
        let corners = mesh.corners(k);
        if *n == u32::MAX {
            *n = u32::try_from(pieces.len()).unwrap_or(u32::MAX);
            pieces.push(Piece {
                triangles: 0,
                area: 0.0,
                bounds: (corners[0], corners[0]),
            });
        }
        labels.push(*n);
        let piece = &mut pieces[*n as usize];
        piece.triangles += 1;
        piece.area += 0.5 * mesh.area_vector(k).norm();
        for p in &corners {
            piece.bounds = (piece.bounds.0.inf(p), piece.bounds.1.sup(p));
        }
    }
    (labels, pieces)
}

/// The root of an index, halving the path on the way.
fn root(parent: &mut [u32], mut i: u32) -> u32 {
    while parent[i as usize] != i {
        let above = parent[parent[i as usize] as usize];
        parent[i as usize] = above;
        i = above;
    }
    i
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A right isosceles triangle with legs of `leg` at `(x, 0, 0)`.
    fn add_triangle(mesh: &mut TriMesh, x: f64, leg: f64) {
        let n = mesh.points.len() as u32;
        for (dx, dy) in [(0.0, 0.0), (leg, 0.0), (0.0, leg)] {
            mesh.points.push(Point3::new(x + dx, dy, 0.0));
        }
        mesh.triangles.push([n, n + 1, n + 2]);
    }

    #[test]
    fn pieces_are_numbered_by_their_first_triangle() {
        let mut mesh = TriMesh::default();
        add_triangle(&mut mesh, 0.0, 1.0);
        add_triangle(&mut mesh, 10.0, 2.0);
        // Touches the first piece in one point only.
        mesh.points
            .extend([Point3::new(-1.0, 0.0, 0.0), Point3::new(0.0, -1.0, 0.0)]);
        mesh.triangles.push([0, 6, 7]);
        let (labels, pieces) = label_pieces(&mesh);
        assert_eq!(labels, [0, 1, 0]);
        assert_eq!(pieces.len(), 2);
        assert_eq!((pieces[0].triangles, pieces[1].triangles), (2, 1));
        // Half base times height.
        assert_eq!((pieces[0].area, pieces[1].area), (1.0, 2.0));
        assert_eq!(
            pieces[0].bounds,
            (Point3::new(-1.0, -1.0, 0.0), Point3::new(1.0, 1.0, 0.0))
        );
        assert_eq!(pieces[1].longest_side(), 2.0);
    }

    #[test]
    fn nothing_has_no_pieces() {
        assert_eq!(label_pieces(&TriMesh::default()), (vec![], vec![]));
    }
}
