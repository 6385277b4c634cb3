//! A scan's surface as points that know which way they face and where it ends.

use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;

/// Points of a surface, each with its unit normal.
pub(super) struct Surface {
    pub points: Vec<Point3>,
    pub normals: Vec<Vector3>,
    /// Whether the surface ends at the point: what lies beyond was not seen.
    pub ends: Vec<bool>,
    pub area: f64,
}

/// Rounds of averaging normals with the neighbours': noise of a tenth of the spacing turns a triangle by
/// some ten degrees, three rounds leave about two.
const SMOOTHING: usize = 3;

impl Surface {
    /// The used points of a mesh; those of triangles without area are left out.
    pub fn of(mesh: &TriMesh) -> Self {
        let mut normals = vec![Vector3::zeros(); mesh.points.len()];
        let mut area = 0.0;
        for (t, corners) in mesh.triangles.iter().enumerate() {
            let vector = mesh.area_vector(t);
            area += 0.5 * vector.norm();
            for &i in corners {
                normals[i as usize] += vector;
            }
        }
        unit(&mut normals);
        for _ in 0..SMOOTHING {
            let mut sums = normals.clone();
            for corners in &mesh.triangles {
                let sum: Vector3 = corners.iter().map(|&i| normals[i as usize]).sum();
                for &i in corners {
                    sums[i as usize] += sum;
                }
            }
            normals = sums;
            unit(&mut normals);
        }
        let ends = find_ends(mesh);
        let mut surface = Self {
            points: Vec::new(),
            normals: Vec::new(),
            ends: Vec::new(),
            area,
        };
        for ((p, n), end) in mesh.points.iter().zip(normals).zip(ends) {
            if n != Vector3::zeros() && p.iter().all(|c| c.is_finite()) {
                surface.points.push(*p);
                surface.normals.push(n);
                surface.ends.push(end);
            }
        }
        surface
    }
}

fn unit(normals: &mut [Vector3]) {
    for n in normals {
        *n = n.try_normalize(1e-12).unwrap_or_else(Vector3::zeros);
    }
}

/// Marks the points on edges that belong to one triangle only.
fn find_ends(mesh: &TriMesh) -> Vec<bool> {
    let mut edges: Vec<(u32, u32)> = mesh
        .triangles
        .iter()
        .flat_map(|t| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])])
        .map(|(a, b)| (a.min(b), a.max(b)))
        .collect();
    edges.sort_unstable();
    let mut ends = vec![false; mesh.points.len()];
    for same in edges.chunk_by(|a, b| a == b) {
        if let [(a, b)] = same {
            ends[*a as usize] = true;
            ends[*b as usize] = true;
        }
    }
    ends
}
