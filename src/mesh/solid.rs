//! The one gate every solid passes: closed, edge-manifold, outward, at the precision a file stores.

use super::TriMesh;
use super::nesting::check_pieces;
use super::topology::{EdgeFault, find_edge_fault};
use super::weld::drop_unused_points;
use crate::math::Point3;
use nalgebra::Isometry3;
use thiserror::Error;

/// A mesh that is proved to be one or more closed, edge-manifold, outward-facing bodies.
///
/// Its points are f64 values that an f32 holds exactly, and no two of them are equal, so a file that
/// stores f32 gives back the same solid. Inner cavities are allowed. Not proved here: that the surface
/// does not cross itself (see [`super::self_cross`]).
#[derive(Debug, Clone, PartialEq)]
pub struct Solid {
    mesh: TriMesh,
}

/// Why a mesh is not a [`Solid`], and where.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SolidFault {
    /// There is nothing there.
    #[error("the mesh has no triangles")]
    Empty,
    /// A coordinate is infinite, not a number, or too large for an f32.
    #[error("point {index} is not finite")]
    NotFinite {
        /// Index of the point.
        index: usize,
    },
    /// A triangle names a point that is not there.
    #[error("triangle {triangle} names a point that is not there")]
    NoSuchPoint {
        /// Index of the triangle.
        triangle: usize,
    },
    /// More triangles or points than the indices hold.
    #[error("the mesh has too many triangles")]
    TooLarge,
    /// The surface has a hole.
    #[error("the surface is open at {}", place(.at))]
    Open {
        /// A point of the rim.
        at: Point3,
    },
    /// Two neighbours face opposite sides.
    #[error("neighbouring triangles face opposite sides at {}", place(.at))]
    Twisted {
        /// A point of their edge.
        at: Point3,
    },
    /// More than two triangles meet along one edge.
    #[error("more than two triangles meet along an edge at {}", place(.at))]
    Crowded {
        /// A point of the edge.
        at: Point3,
    },
    /// A piece encloses no volume.
    #[error("a piece encloses no volume at {}", place(.at))]
    Flat {
        /// A point of the piece.
        at: Point3,
    },
    /// A piece faces inward and is not a cavity of another.
    #[error("a piece is inside out at {}", place(.at))]
    InsideOut {
        /// A point of the piece.
        at: Point3,
    },
    /// A piece lies inside the material of another.
    #[error("a piece lies inside another at {}", place(.at))]
    Nested {
        /// A point of the piece.
        at: Point3,
    },
}

/// A point in a message: three decimals say all an f32 knows here.
fn place(p: &Point3) -> String {
    format!("({:.3}, {:.3}, {:.3})", p.x, p.y, p.z)
}

impl Solid {
    /// Checks a mesh. Its points are rounded to f32 first, points that fall together are merged, and
    /// triangles that collapse by that are dropped, as are pairs of triangles that come to lie face to
    /// face.
    ///
    /// A piece (triangles joined by edges) must enclose a positive volume and lie in the open, or a
    /// negative one and lie in the material of others: then it is a cavity.
    ///
    /// # Errors
    /// Says what is wrong first, and where.
    pub fn new(mesh: TriMesh) -> Result<Self, SolidFault> {
        let mut mesh = round_and_merge(mesh)?;
        if let Some(first) = find_edge_fault(mesh.points.len(), &mesh.triangles) {
            drop_facing_pairs(&mut mesh.triangles);
            if let Some(fault) = find_edge_fault(mesh.points.len(), &mesh.triangles) {
                let named = if mesh.triangles.is_empty() {
                    first
                } else {
                    fault
                };
                return Err(name_fault(&mesh, named));
            }
        }
        mesh = drop_unused_points(mesh);
        if mesh.triangles.is_empty() {
            return Err(SolidFault::Empty);
        }
        check_pieces(&mesh)?;
        Ok(Self { mesh })
    }

    /// The checked mesh.
    #[must_use]
    pub fn mesh(&self) -> &TriMesh {
        &self.mesh
    }

    /// Volume enclosed.
    #[must_use]
    pub fn volume(&self) -> f64 {
        self.mesh.signed_volume()
    }

    /// Least and greatest corner of the box round it.
    #[must_use]
    pub fn bounds(&self) -> (Point3, Point3) {
        self.mesh
            .bounds()
            .unwrap_or((Point3::origin(), Point3::origin()))
    }

    /// The mirror image in the plane y = 0, outward as before.
    ///
    /// # Errors
    /// None is to be expected: no coordinate is rounded anew.
    pub fn mirrored(&self) -> Result<Self, SolidFault> {
        let turned = |&[a, b, c]: &[u32; 3]| [a, c, b];
        Self::new(TriMesh {
            points: self
                .mesh
                .points
                .iter()
                .map(|p| Point3::new(p.x, -p.y, p.z))
                .collect(),
            triangles: self.mesh.triangles.iter().map(turned).collect(),
        })
    }

    /// The same solid moved and turned, and checked again: a turn rounds every point anew.
    ///
    /// # Errors
    /// In principle a sliver thinner than the rounding can pinch: then the place is named.
    pub fn transformed(&self, by: &Isometry3<f64>) -> Result<Self, SolidFault> {
        Self::new(TriMesh {
            points: self.mesh.points.iter().map(|p| by * p).collect(),
            triangles: self.mesh.triangles.clone(),
        })
    }
}

fn name_fault(mesh: &TriMesh, fault: EdgeFault) -> SolidFault {
    let at = mesh.points[fault.edge()[0] as usize];
    match fault {
        EdgeFault::Open(_) => SolidFault::Open { at },
        EdgeFault::Twisted(_) => SolidFault::Twisted { at },
        EdgeFault::Crowded(_) => SolidFault::Crowded { at },
    }
}

/// Rounds to f32, gives points that fall together the index of the first, drops collapsed triangles.
fn round_and_merge(mut mesh: TriMesh) -> Result<TriMesh, SolidFault> {
    // Edge entries hold twice a triangle's index.
    if mesh.triangles.len() > (u32::MAX / 6) as usize || mesh.points.len() >= u32::MAX as usize {
        return Err(SolidFault::TooLarge);
    }
    let count = mesh.points.len() as u32;
    if let Some(triangle) = mesh
        .triangles
        .iter()
        .position(|t| t.iter().any(|&i| i >= count))
    {
        return Err(SolidFault::NoSuchPoint { triangle });
    }
    let mut keys: Vec<(u64, u64)> = Vec::with_capacity(mesh.points.len());
    for (index, p) in mesh.points.iter_mut().enumerate() {
        // Adding zero turns -0 into 0, so that equal points have equal bits.
        let q = p.coords.map(|c| c as f32 + 0.0);
        if !q.iter().all(|c| c.is_finite()) {
            return Err(SolidFault::NotFinite { index });
        }
        p.coords = q.map(f64::from);
        let [x, y, z] = [q.x, q.y, q.z].map(|c| u64::from(c.to_bits()));
        keys.push((x << 32 | y, z << 32 | index as u64));
    }
    keys.sort_unstable();
    let mut first: Vec<u32> = (0..count).collect();
    let mut merged = false;
    for run in keys.chunk_by(|a, b| a.0 == b.0 && a.1 >> 32 == b.1 >> 32) {
        for key in &run[1..] {
            first[key.1 as u32 as usize] = run[0].1 as u32;
            merged = true;
        }
    }
    if merged {
        for t in &mut mesh.triangles {
            *t = t.map(|i| first[i as usize]);
        }
    }
    mesh.triangles
        .retain(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]);
    Ok(mesh)
}

/// Drops pairs of triangles on the same three points that face opposite sides: what is left of a sliver
/// whose two sides have come together. The edges around stay paired.
fn drop_facing_pairs(triangles: &mut Vec<[u32; 3]>) {
    // Sorted corners, whether that took an odd number of swaps, place.
    let mut keys: Vec<([u32; 3], bool, usize)> = triangles
        .iter()
        .enumerate()
        .map(|(place, &[a, b, c])| {
            let mut sorted = [a, b, c];
            sorted.sort_unstable();
            let odd = sorted != [a, b, c] && sorted != [b, c, a] && sorted != [c, a, b];
            (sorted, odd, place)
        })
        .collect();
    keys.sort_unstable();
    let mut dropped = vec![false; triangles.len()];
    for run in keys.chunk_by(|a, b| a.0 == b.0) {
        let odd = run.partition_point(|k| !k.1);
        for (a, b) in run[..odd].iter().zip(&run[odd..]) {
            dropped[a.2] = true;
            dropped[b.2] = true;
        }
    }
    let mut place = 0;
    triangles.retain(|_| {
        place += 1;
        !dropped[place - 1]
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Vector3;
    use crate::mesh::samples::{block, expect_solid, octasphere, right_tetrahedron, torus};

    fn cube(x: f64, size: f64) -> TriMesh {
        block(Point3::new(x, x, x), Vector3::repeat(size))
    }

    fn flipped(mut mesh: TriMesh) -> TriMesh {
        for t in &mut mesh.triangles {
            t.swap(0, 1);
        }
        mesh
    }

    fn both(mut a: TriMesh, b: TriMesh) -> TriMesh {
        let n = a.points.len() as u32;
        a.points.extend(b.points);
        a.triangles
            .extend(b.triangles.iter().map(|t| t.map(|i| i + n)));
        a
    }

    #[test]
    fn bodies_of_known_volume_pass() {
        expect_solid(&right_tetrahedron(), 1.0 / 6.0, 0, 1);
        expect_solid(&cube(1e4, 1.0), 1.0, 0, 1);
        expect_solid(&octasphere(5), 4.182_625_3, 0, 1);
        expect_solid(&torus(3.0, 1.0, 64, 64), 59.027_619, 1, 1);
        expect_solid(&both(cube(0.0, 1.0), cube(3.0, 2.0)), 9.0, 0, 2);
    }

    #[test]
    fn soup_is_welded() {
        let whole = octasphere(3);
        let mut soup = TriMesh::default();
        for t in 0..whole.triangles.len() {
            let n = soup.points.len() as u32;
            soup.points.extend(whole.corners(t));
            soup.triangles.push([n, n + 1, n + 2]);
        }
        assert_eq!(
            Solid::new(soup).unwrap().mesh().points.len(),
            whole.points.len()
        );
    }

    #[test]
    fn a_cavity_passes_and_a_nested_body_does_not() {
        expect_solid(&both(cube(0.0, 10.0), flipped(cube(3.0, 2.0))), 992.0, 0, 2);
        let island = both(cube(0.0, 10.0), flipped(cube(2.0, 6.0)));
        expect_solid(&both(island, cube(4.0, 1.0)), 1000.0 - 216.0 + 1.0, 0, 3);
        let nested = Solid::new(both(cube(0.0, 10.0), cube(3.0, 2.0)));
        assert!(
            matches!(nested, Err(SolidFault::Nested { .. })),
            "{nested:?}"
        );
        let apart = Solid::new(both(cube(0.0, 1.0), flipped(cube(3.0, 2.0))));
        assert!(
            matches!(apart, Err(SolidFault::InsideOut { .. })),
            "{apart:?}"
        );
    }

    #[test]
    fn each_fault_is_named_with_its_place() {
        assert_eq!(Solid::new(TriMesh::default()), Err(SolidFault::Empty));
        assert!(matches!(
            Solid::new(flipped(cube(0.0, 1.0))),
            Err(SolidFault::InsideOut { .. })
        ));
        let mut open = cube(5.0, 1.0);
        open.triangles.pop();
        let fault = Solid::new(open).unwrap_err();
        assert!(matches!(fault, SolidFault::Open { .. }));
        assert!(
            fault.to_string().contains("(6.000, 5.000, 5.000)"),
            "{fault}"
        );
        let mut twisted = cube(0.0, 1.0);
        twisted.triangles[3].swap(0, 1);
        assert!(matches!(
            Solid::new(twisted),
            Err(SolidFault::Twisted { .. })
        ));
        let edge_to_edge = both(
            cube(0.0, 1.0),
            block(Point3::new(1.0, 1.0, 0.0), Vector3::repeat(1.0)),
        );
        assert!(matches!(
            Solid::new(edge_to_edge),
            Err(SolidFault::Crowded { .. })
        ));
        for bad in [f64::NAN, f64::INFINITY, 1e300] {
            let mut mesh = cube(0.0, 1.0);
            mesh.points[3].y = bad;
            assert_eq!(Solid::new(mesh), Err(SolidFault::NotFinite { index: 3 }));
        }
        let mut stray = cube(0.0, 1.0);
        stray.triangles[7][1] = 99;
        assert_eq!(
            Solid::new(stray),
            Err(SolidFault::NoSuchPoint { triangle: 7 })
        );
        let flat = block(Point3::origin(), Vector3::new(1.0, 1.0, 0.0));
        assert!(Solid::new(flat).is_err());
    }

    /// A step below the rounding closes up: the sliver's triangles go, the rest stays closed.
    #[test]
    fn what_rounding_collapses_is_dropped() {
        let ball = octasphere(3);
        let mut mesh = ball.clone();
        // Split an edge 1e-9 from its end: four slivers where two triangles were.
        let first = (0..mesh.triangles.len())
            .find(|&t| mesh.corners(t).iter().all(|p| p.coords.amin() > 0.1))
            .unwrap();
        let [a, b, c] = mesh.triangles[first];
        let at = |i: u32| mesh.points[i as usize];
        let near = at(a) + (at(b) - at(a)) * 1e-9;
        mesh.points.push(near);
        let n = mesh.points.len() as u32 - 1;
        mesh.triangles[first] = [a, n, c];
        mesh.triangles.push([n, b, c]);
        let other = ball
            .triangles
            .iter()
            .position(|t| (0..3).any(|k| t[k] == b && t[(k + 1) % 3] == a))
            .unwrap();
        let d = *mesh.triangles[other]
            .iter()
            .find(|&&i| i != a && i != b)
            .unwrap();
        mesh.triangles[other] = [b, n, d];
        mesh.triangles.push([n, a, d]);
        let solid = Solid::new(mesh).unwrap();
        assert_eq!(solid.mesh().triangles.len(), ball.triangles.len());
    }

    #[test]
    fn a_mirror_image_keeps_volume_and_faces_outward() {
        let mut mesh = right_tetrahedron();
        for p in &mut mesh.points {
            p.y += 5.0;
        }
        let solid = Solid::new(mesh).unwrap();
        let image = solid.mirrored().unwrap();
        assert!((image.volume() - 1.0 / 6.0).abs() < 1e-12);
        let (low, high) = image.bounds();
        assert_eq!((low.y, high.y), (-6.0, -5.0));
        assert_eq!(image.mirrored().unwrap(), solid);
    }

    #[test]
    fn a_turn_keeps_volume_and_check() {
        let solid = Solid::new(torus(300.0, 100.0, 48, 24)).unwrap();
        let turn = Isometry3::new(Vector3::new(10.0, -20.0, 3.0), Vector3::new(0.3, -0.2, 1.1));
        let turned = solid.transformed(&turn).unwrap();
        assert!((turned.volume() / solid.volume() - 1.0).abs() < 1e-6);
        assert!(
            turned
                .mesh()
                .points
                .iter()
                .all(|p| p.coords.iter().all(|&c| f64::from(c as f32) == c))
        );
    }
}
