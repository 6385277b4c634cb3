//! Two noisy scans of one long sheet in two poses, sharing a part of it, with debris in both.

use super::sim::Random;
use gapwright::math::{Point3, Vector3};
use gapwright::mesh::TriMesh;
use gapwright::scan::align::Alignment;
use nalgebra::Isometry3;

/// Share of each scan that the other shows too, share of its points that are debris, noise (mm).
const OVERLAP: f64 = 0.4;
const DEBRIS: f64 = 0.2;
const NOISE: f64 = 0.5;
/// Width of the sheet (mm).
const WIDTH: f64 = 700.0;

pub struct Pair {
    pub fixed: TriMesh,
    pub moving: TriMesh,
    pub true_pose: Isometry3<f64>,
    /// Off by some 10 mm and half a degree.
    pub start: Isometry3<f64>,
    /// Middle of what both show, in the fixed scan.
    pub middle: Point3,
}

/// Each scan is `length` long, its points `cell` apart (mm).
pub fn pair_of_scans(length: f64, cell: f64, seed: u64) -> Pair {
    let mut random = Random::new(seed, 77);
    let from = (1.0 - OVERLAP) * length;
    let fixed = sheet(0.0, length, cell, &mut random);
    let unmoved = sheet(from, length, cell, &mut random);
    let mut vector = |size: f64| Vector3::from_fn(|_, _| size * random.normal());
    let true_pose = Isometry3::new(vector(500.0), vector(1.0));
    let away = true_pose.inverse();
    let middle = Point3::new(0.5 * (from + length), 0.5 * WIDTH, 0.0);
    let about = Isometry3::translation(middle.x, middle.y, middle.z);
    let off = about * Isometry3::new(vector(6.0), vector(0.006)) * about.inverse();
    Pair {
        moving: TriMesh {
            points: unmoved.points.iter().map(|p| away * p).collect(),
            triangles: unmoved.triangles,
        },
        fixed,
        true_pose,
        start: off * true_pose,
        middle,
    }
}

/// How far an alignment is off: degrees, and mm at the middle of what both show.
pub fn compare(pair: &Pair, got: &Alignment) -> (f64, f64) {
    let left = got.pose * pair.true_pose.inverse();
    (
        left.rotation.angle().to_degrees(),
        (left * pair.middle - pair.middle).norm(),
    )
}

/// A tray with bosses on it, then a rounded step up into a leaning skin that runs in a bend.
fn height(x: f64, y: f64) -> f64 {
    let bend = 120.0 * (x / 300.0).cos();
    let up = (y - 300.0 - bend).max(0.0);
    let boss = |x0: f64, y0: f64| {
        let square = ((x - x0).powi(2) + (y - y0).powi(2)) / (2.0 * 25.0 * 25.0);
        25.0 * (-square).exp()
    };
    let bosses: f64 = (0..10)
        .map(|k| boss(130.0 + 260.0 * f64::from(k), 90.0 + 40.0 * f64::from(k % 3)))
        .sum();
    6.0 * (x / 200.0).sin() + bosses + 0.9 * up * up / (up + 30.0)
}

/// Its points, every one shaken.
fn sheet(x0: f64, length: f64, cell: f64, random: &mut Random) -> TriMesh {
    let (n, m) = ((length / cell) as usize + 1, (WIDTH / cell) as usize + 1);
    let mut mesh = TriMesh::default();
    for i in 0..n {
        for j in 0..m {
            let (x, y) = (x0 + cell * i as f64, cell * j as f64);
            let z = height(x, y);
            let shake = Vector3::from_fn(|_, _| NOISE * random.normal());
            mesh.points.push(Point3::new(x, y, z) + shake);
        }
    }
    for i in 0..n as u32 - 1 {
        for j in 0..m as u32 - 1 {
            let a = i * m as u32 + j;
            let b = a + m as u32;
            mesh.triangles.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
        }
    }
    let flakes = (DEBRIS / (1.0 - DEBRIS) * (n * m) as f64 / 3.0) as usize;
    for _ in 0..flakes {
        let near = mesh.points[(random.between(0.0, (n * m) as f64) as usize).min(n * m - 1)];
        let at = near + Vector3::from_fn(|_, _| 25.0 * random.normal());
        let base = mesh.points.len() as u32;
        for _ in 0..3 {
            mesh.points
                .push(at + Vector3::from_fn(|_, _| cell * random.normal()));
        }
        mesh.triangles.push([base, base + 1, base + 2]);
    }
    mesh
}
