//! STL files as a stranger reads them: bytes to corners, corners joined where their bits are the same,
//! and everything else left to a general-purpose geometry library.

#![allow(dead_code)]

use parry3d_f64::mass_properties::details::trimesh_signed_volume_and_center_of_mass;
use parry3d_f64::math::Vector;
use parry3d_f64::query::PointQuery;
use parry3d_f64::shape::{TriMesh, TriMeshFlags};
use std::collections::BTreeMap;
use std::path::Path;

/// A solid read back from a file.
pub struct ReadBack {
    /// The mesh, oriented and with its topology.
    pub mesh: TriMesh,
    /// Volume (mm3), positive if the triangles face outward.
    pub volume: f64,
    /// Lowest corner of the box (mm).
    pub low: Vector,
    /// Highest corner of the box (mm).
    pub high: Vector,
}

impl ReadBack {
    /// Whether a point lies inside.
    pub fn holds(&self, p: Vector) -> bool {
        self.mesh.contains_local_point(p)
    }
}

/// Reads a binary STL and fails the test unless it is one closed surface that faces outward.
pub fn expect_solid(path: &Path) -> ReadBack {
    let name = path.display();
    let bytes = std::fs::read(path).unwrap_or_else(|e| panic!("{name}: {e}"));
    assert!(
        bytes.len() > 84 && !bytes.starts_with(b"solid"),
        "{name} is no binary STL"
    );
    let count = u32::from_le_bytes(bytes[80..84].try_into().expect("four bytes")) as usize;
    assert_eq!(bytes.len(), 84 + 50 * count, "{name}: the count lies");

    let mut numbers: BTreeMap<[u32; 3], u32> = BTreeMap::new();
    let mut points = Vec::new();
    let mut triangles = Vec::new();
    let mut turned = 0;
    for facet in bytes[84..].chunks_exact(50) {
        let vectors: Vec<[f32; 3]> = facet[..48]
            .chunks_exact(12)
            .map(|v| {
                std::array::from_fn(|k| {
                    f32::from_le_bytes(v[4 * k..4 * k + 4].try_into().expect("four bytes"))
                })
            })
            .collect();
        let corners: [u32; 3] = std::array::from_fn(|k| {
            let at = vectors[k + 1];
            assert!(at.iter().all(|c| c.is_finite()), "{name}: not a number");
            *numbers.entry(at.map(f32::to_bits)).or_insert_with(|| {
                points.push(vector(at));
                points.len() as u32 - 1
            })
        });
        let [a, b, c] = corners.map(|i| points[i as usize]);
        let normal = (b - a).cross(c - a);
        // A sliver's normal is rounding and nothing else.
        if normal.length() > 1e-3 && normal.dot(vector(vectors[0])) < 0.9 * normal.length() {
            turned += 1;
        }
        triangles.push(corners);
    }
    assert_eq!(turned, 0, "{name}: normals that disagree with the corners");

    let (volume, _) = trimesh_signed_volume_and_center_of_mass(&points, &triangles);
    let flags = TriMeshFlags::HALF_EDGE_TOPOLOGY | TriMeshFlags::ORIENTED;
    // Fails on an edge that two triangles run along the same way, which holds for every edge with more
    // than two triangles, and on a triangle that uses a corner twice.
    let mesh = TriMesh::with_flags(points, triangles, flags)
        .unwrap_or_else(|e| panic!("{name} is not consistent: {e}"));
    let topology = mesh.topology().expect("a topology was asked for");
    let open = topology
        .half_edges
        .iter()
        .filter(|h| h.twin == u32::MAX)
        .count();
    assert_eq!(open, 0, "{name} has open edges");
    assert!(volume > 0.0, "{name} is inside out: {volume}");
    let bounds = mesh.local_aabb();
    ReadBack {
        volume,
        low: bounds.mins,
        high: bounds.maxs,
        mesh,
    }
}

/// Reads every STL below a folder so, and gives how many there are in each folder below it, by its name.
pub fn expect_all_solids(folder: &Path) -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(inside) = open.pop() {
        for entry in std::fs::read_dir(&inside).unwrap_or_else(|e| panic!("{e}")) {
            let path = entry.unwrap_or_else(|e| panic!("{e}")).path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|end| end == "stl") {
                expect_solid(&path);
                let name = inside.strip_prefix(folder).unwrap_or(&inside);
                let name = name.to_string_lossy().replace('\\', "/");
                *counts.entry(name).or_default() += 1;
            }
        }
    }
    counts
}

fn vector([x, y, z]: [f32; 3]) -> Vector {
    Vector::new(f64::from(x), f64::from(y), f64::from(z))
}
