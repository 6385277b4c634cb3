//! Closed meshes: swept sections, turned profiles, tapered blocks.

use gapwright::math::{Point3, Vector3};
use gapwright::mesh::TriMesh;
use std::f64::consts::TAU;

/// Adds `part` behind what is there.
pub fn append(mesh: &mut TriMesh, part: &TriMesh) {
    let base = mesh.points.len() as u32;
    mesh.points.extend(&part.points);
    mesh.triangles
        .extend(part.triangles.iter().map(|t| t.map(|i| i + base)));
}

/// Joins rings of equally many points into a closed body. Point i of a ring lies across the ring's
/// body from point n-1-i, which is how the ends are closed.
pub fn sweep(rings: &[Vec<Point3>]) -> TriMesh {
    let n = rings[0].len() as u32;
    let mut mesh = TriMesh {
        points: rings.concat(),
        triangles: Vec::new(),
    };
    for row in 0..rings.len() as u32 - 1 {
        for j in 0..n {
            let k = (j + 1) % n;
            let (a, b) = (row * n, (row + 1) * n);
            quad(&mut mesh, [a + j, a + k, b + k, b + j]);
        }
    }
    let last = (rings.len() as u32 - 1) * n;
    for i in 0..n / 2 - 1 {
        let strip = [i, i + 1, n - 2 - i, n - 1 - i];
        quad(&mut mesh, strip.map(|v| v + last));
        let [a, b, c, d] = strip;
        quad(&mut mesh, [d, c, b, a]);
    }
    face_outward(mesh)
}

/// Turns a profile of (radius, height) about an axis; it starts and ends on the axis.
pub fn turn(profile: &[[f64; 2]], foot: Point3, axis: Vector3, sides: u32) -> TriMesh {
    let helper = if axis.x.abs() < 0.9 {
        Vector3::x()
    } else {
        Vector3::y()
    };
    let e1 = axis.cross(&helper).normalize();
    let e2 = axis.cross(&e1);
    let mut mesh = TriMesh::default();
    let inner = &profile[1..profile.len() - 1];
    for [r, h] in inner {
        for k in 0..sides {
            let (sin, cos) = (TAU * f64::from(k) / f64::from(sides)).sin_cos();
            mesh.points
                .push(foot + axis * *h + (e1 * cos + e2 * sin) * *r);
        }
    }
    let bottom = mesh.points.len() as u32;
    mesh.points.push(foot + axis * profile[0][1]);
    mesh.points
        .push(foot + axis * profile[profile.len() - 1][1]);
    let top_ring = (inner.len() as u32 - 1) * sides;
    for k in 0..sides {
        let l = (k + 1) % sides;
        for row in 0..inner.len() as u32 - 1 {
            let (a, b) = (row * sides, (row + 1) * sides);
            quad(&mut mesh, [a + k, a + l, b + l, b + k]);
        }
        mesh.triangles.push([bottom, l, k]);
        mesh.triangles
            .push([bottom + 1, top_ring + k, top_ring + l]);
    }
    face_outward(mesh)
}

/// A block on a rectangle turned by `heading`, half sizes given at foot and top.
pub fn block(
    foot: Point3,
    heading: f64,
    half: [f64; 2],
    half_top: [f64; 2],
    height: f64,
) -> TriMesh {
    let (sin, cos) = heading.sin_cos();
    let corner = |half: [f64; 2], x: f64, y: f64, z: f64| {
        let (x, y) = (x * half[0], y * half[1]);
        foot + Vector3::new(cos * x - sin * y, sin * x + cos * y, z)
    };
    let ring = |half: [f64; 2], z: f64| {
        [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]
            .map(|[x, y]| corner(half, x, y, z))
            .to_vec()
    };
    sweep(&[ring(half, 0.0), ring(half_top, height)])
}

fn quad(mesh: &mut TriMesh, [a, b, c, d]: [u32; 4]) {
    mesh.triangles.push([a, b, c]);
    mesh.triangles.push([a, c, d]);
}

fn face_outward(mut mesh: TriMesh) -> TriMesh {
    if mesh.signed_volume() < 0.0 {
        mesh.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    }
    mesh
}
