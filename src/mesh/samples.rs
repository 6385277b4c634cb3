//! Shapes with known measures, and the one check every solid in a test goes through.

use super::topology::{find_pieces, measure_genus};
use super::{Solid, TriMesh};
use crate::math::{Point3, Vector3};
use std::collections::BTreeMap;

/// Asserts that a mesh is a solid with this volume (within a millionth), genus and number of pieces.
pub fn expect_solid(mesh: &TriMesh, volume: f64, genus: i64, pieces: usize) -> Solid {
    let solid = Solid::new(mesh.clone()).unwrap();
    let (_, found) = find_pieces(solid.mesh());
    assert_eq!(found, pieces, "pieces");
    assert_eq!(measure_genus(solid.mesh(), found), genus, "genus");
    let off = (solid.volume() - volume).abs();
    assert!(
        off <= 1e-6 * volume.abs().max(1.0),
        "volume {} for {volume}",
        solid.volume()
    );
    solid
}

/// Corner at the origin, unit legs along the axes.
pub fn right_tetrahedron() -> TriMesh {
    TriMesh {
        points: vec![
            Point3::origin(),
            Point3::new(1.0, 0.0, 0.0),
            Point3::new(0.0, 1.0, 0.0),
            Point3::new(0.0, 0.0, 1.0),
        ],
        triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
    }
}

/// Box from its least corner and its size.
pub fn block(corner: Point3, size: Vector3) -> TriMesh {
    let points = (0..8)
        .map(|i| {
            corner
                + Vector3::new(
                    size.x * f64::from(i & 1),
                    size.y * f64::from(i >> 1 & 1),
                    size.z * f64::from(i >> 2),
                )
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
        .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
        .collect();
    TriMesh { points, triangles }
}

/// Unit octahedron, each triangle split in four `level` times, points pushed out to the unit sphere.
pub fn octasphere(level: usize) -> TriMesh {
    let mut points: Vec<Point3> = [
        [1.0, 0.0, 0.0],
        [-1.0, 0.0, 0.0],
        [0.0, 1.0, 0.0],
        [0.0, -1.0, 0.0],
        [0.0, 0.0, 1.0],
        [0.0, 0.0, -1.0],
    ]
    .map(Point3::from)
    .to_vec();
    let mut triangles: Vec<[u32; 3]> = vec![
        [0, 2, 4],
        [2, 1, 4],
        [1, 3, 4],
        [3, 0, 4],
        [2, 0, 5],
        [1, 2, 5],
        [3, 1, 5],
        [0, 3, 5],
    ];
    for _ in 0..level {
        let mut middles = BTreeMap::new();
        let mut middle = |a: u32, b: u32| {
            *middles.entry((a.min(b), a.max(b))).or_insert_with(|| {
                let m = points[a as usize].coords + points[b as usize].coords;
                points.push(m.normalize().into());
                points.len() as u32 - 1
            })
        };
        triangles = triangles
            .iter()
            .flat_map(|&[a, b, c]| {
                let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
                [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
            })
            .collect();
    }
    TriMesh { points, triangles }
}

/// Torus about z: radius of the ring, radius of the tube, quads round the ring and round the tube.
pub fn torus(ring: f64, tube: f64, around: u32, across: u32) -> TriMesh {
    let mut mesh = TriMesh::default();
    for i in 0..around {
        for j in 0..across {
            let u = std::f64::consts::TAU * f64::from(i) / f64::from(around);
            let v = std::f64::consts::TAU * f64::from(j) / f64::from(across);
            let r = ring + tube * v.cos();
            mesh.points
                .push(Point3::new(r * u.cos(), r * u.sin(), tube * v.sin()));
            let at = |i: u32, j: u32| (i % around) * across + j % across;
            let (a, b, c, d) = (at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh
}
