//! How the pieces of a closed mesh lie in one another: bodies in the open, cavities in material.

use super::topology::find_pieces;
use super::{SolidFault, TriMesh};
use crate::math::{Point3, Vector3};

/// One connected piece of a closed mesh.
struct Piece {
    triangles: Vec<[u32; 3]>,
    low: Point3,
    high: Point3,
    volume: f64,
}

/// A piece with less than this share of its box's volume is rounding, not a body.
const FLAT_EPSILON: f64 = 1e-9;

/// Checks that each piece of a closed, consistent mesh is a body in the open or a cavity in a body.
pub(super) fn check_pieces(mesh: &TriMesh) -> Result<(), SolidFault> {
    let (labels, count) = find_pieces(mesh);
    let mut sorted = vec![Vec::new(); count];
    for (t, &label) in mesh.triangles.iter().zip(&labels) {
        sorted[label as usize].push(*t);
    }
    let mut pieces = Vec::with_capacity(count);
    for triangles in sorted {
        let piece = measure_piece(mesh, triangles);
        let size = piece.high - piece.low;
        if piece.volume.abs() <= FLAT_EPSILON * size.x * size.y * size.z {
            return Err(SolidFault::Flat {
                at: piece_point(mesh, &piece),
            });
        }
        pieces.push(piece);
    }
    for (i, piece) in pieces.iter().enumerate() {
        let winding = if pieces.len() > 1 {
            let probe = middle_of_largest(mesh, &piece.triangles);
            pieces
                .iter()
                .enumerate()
                .filter(|(j, other)| *j != i && other.holds(&probe))
                .map(|(_, other)| measure_winding(mesh, &other.triangles, &probe))
                .sum()
        } else {
            0.0
        };
        // Windings between a quarter and three quarters are pieces that touch: no fault of this kind.
        if piece.volume < 0.0 && winding < 0.25 {
            return Err(SolidFault::InsideOut {
                at: piece_point(mesh, piece),
            });
        }
        if piece.volume > 0.0 && winding > 0.75 {
            return Err(SolidFault::Nested {
                at: piece_point(mesh, piece),
            });
        }
    }
    Ok(())
}

impl Piece {
    fn holds(&self, p: &Point3) -> bool {
        (0..3).all(|k| self.low[k] <= p[k] && p[k] <= self.high[k])
    }
}

fn piece_point(mesh: &TriMesh, piece: &Piece) -> Point3 {
    piece
        .triangles
        .first()
        .map_or(piece.low, |t| mesh.points[t[0] as usize])
}

fn measure_piece(mesh: &TriMesh, triangles: Vec<[u32; 3]>) -> Piece {
    let origin = triangles
        .first()
        .map_or(Point3::origin(), |t| mesh.points[t[0] as usize]);
    let (mut low, mut high, mut six) = (origin, origin, 0.0);
    for t in &triangles {
        let corners = t.map(|i| mesh.points[i as usize]);
        for p in &corners {
            low = low.inf(p);
            high = high.sup(p);
        }
        let [a, b, c] = corners.map(|p| p - origin);
        six += a.dot(&b.cross(&c));
    }
    Piece {
        triangles,
        low,
        high,
        volume: six / 6.0,
    }
}

/// Middle of the largest triangle: as far from doubt as a point of the surface can be.
fn middle_of_largest(mesh: &TriMesh, triangles: &[[u32; 3]]) -> Point3 {
    let mut best = (-1.0, Point3::origin());
    for t in triangles {
        let [a, b, c] = t.map(|i| mesh.points[i as usize]);
        let area = (b - a).cross(&(c - a)).norm_squared();
        if area > best.0 {
            best = (area, a + ((b - a) + (c - a)) / 3.0);
        }
    }
    best.1
}

/// How often a surface winds round a point: 1 inside of a body, 0 in the open. Sum of the solid angles
/// of its triangles after Van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30(2), 1983 (from memory).
fn measure_winding(mesh: &TriMesh, triangles: &[[u32; 3]], at: &Point3) -> f64 {
    let mut sum = 0.0;
    for t in triangles {
        let [a, b, c]: [Vector3; 3] = t.map(|i| mesh.points[i as usize] - at);
        let (la, lb, lc) = (a.norm(), b.norm(), c.norm());
        let y = a.dot(&b.cross(&c));
        let x = la * lb * lc + a.dot(&b) * lc + b.dot(&c) * la + c.dot(&a) * lb;
        sum += 2.0 * y.atan2(x);
    }
    sum / (4.0 * std::f64::consts::PI)
}
