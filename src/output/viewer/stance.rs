//! Which way a model stands at first.

use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;
use nalgebra::{Matrix3, SymmetricEigen};

/// Points looked at, at most.
const SAMPLE: usize = 20_000;

/// Part of the surface that must face one way, when all is summed, before that way is taken for up.
const CLEARLY: f64 = 0.3;

/// Two directions of the model, square to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stance {
    /// To the viewer's right.
    pub across: Vector3,
    /// Up.
    pub up: Vector3,
}

impl Stance {
    /// For a scan in any position: its longest way lies across, its shortest stands up. Up is the side most
    /// of the surface faces, or else the one nearer to an axis of the file; the viewer stands where more of
    /// the surface faces.
    #[must_use]
    pub fn of(mesh: &TriMesh) -> Self {
        let stride = mesh.points.len().div_ceil(SAMPLE).max(1);
        let sample: Vec<&Point3> = mesh.points.iter().step_by(stride).collect();
        let count = sample.len().max(1) as f64;
        let mean = sample.iter().map(|p| p.coords).sum::<Vector3>() / count;
        let spread: Matrix3<f64> = sample
            .iter()
            .map(|p| p.coords - mean)
            .map(|d| d * d.transpose())
            .sum();
        let own = SymmetricEigen::new(spread);
        let mut order = [0, 1, 2];
        order.sort_by(|&a, &b| own.eigenvalues[a].total_cmp(&own.eigenvalues[b]));
        let way = |i: usize| forward(own.eigenvectors.column(order[i]).into_owned());
        let areas = || (0..mesh.triangles.len()).map(|t| mesh.area_vector(t));
        let facing: Vector3 = areas().sum();
        let whole: f64 = areas().map(|a| a.norm()).sum();
        let (mut across, mut up) = (way(2), way(0));
        if facing.dot(&up) < -CLEARLY * whole {
            up = -up;
        }
        if facing.dot(&across.cross(&up)) < 0.0 {
            across = -across;
        }
        Self { across, up }
    }
}

/// The direction turned so that its largest part is positive.
fn forward(way: Vector3) -> Vector3 {
    if way[way.iamax()] < 0.0 { -way } else { way }
}
