//! The noise of a scan's surface, measured from the scan itself.

use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;
use kiddo::{ImmutableKdTree, SquaredEuclidean};
use nalgebra::{Matrix3, SMatrix, SVector};
use rayon::prelude::*;

/// Neighbourhoods looked at.
const SAMPLE: usize = 2000;

/// Radius of a neighbourhood in spacings: some fifty points, small enough that a quadric follows a lip
/// of a few spacings' radius.
const RADIUS_SPACINGS: f64 = 4.0;

/// Coefficients of a quadric over a plane.
const COEFFICIENTS: usize = 6;

/// Fewer points than this say too little about what a quadric leaves over.
const FEWEST: usize = 2 * COEFFICIENTS;

/// Points of a neighbourhood whose normals differ by less than the angle of this cosine (60 degrees) lie
/// on the same skin. A sheet of a few millimetres shows two skins, and they face opposite ways.
const SAME_SIDE: f64 = 0.5;

/// From the median absolute deviation to the standard deviation of a normal distribution (Rousseeuw and
/// Croux 1993; from memory).
const MAD_TO_SIGMA: f64 = 1.4826;

/// Standard deviation of the local noise along the surface's normal, in mesh units.
///
/// Fits a quadric to the neighbourhood (four spacings, the same skin) of about 2000 points evenly strided, divides each
/// residual by the share of it that the fit leaves (the square root of one less its leverage) and takes
/// the median absolute deviation of all. Creases and steps fill its tails and hardly move it.
///
/// It sees noise that differs from point to point. Drift and noise that is alike over more than the
/// neighbourhood, as fusion leaves it, are not in it. 0 where no neighbourhood has enough points. Every
/// index of the mesh must point at a point.
#[must_use]
pub fn measure_noise(mesh: &TriMesh, spacing: f64) -> f64 {
    let (points, normals): (Vec<[f64; 3]>, Vec<Vector3>) = mesh
        .points
        .iter()
        .zip(find_normals(mesh))
        .filter(|(p, _)| p.iter().all(|c| c.is_finite()))
        .map(|(p, n)| ([p.x, p.y, p.z], n))
        .unzip();
    if points.len() < FEWEST || !(spacing.is_finite() && spacing > 0.0) {
        return 0.0;
    }
    let Ok(tree) = ImmutableKdTree::new_from_slice(&points) else {
        return 0.0;
    };
    let radius = RADIUS_SPACINGS * spacing;
    let stride = points.len().div_ceil(SAMPLE);
    let mut residuals: Vec<f64> = (0..points.len())
        .into_par_iter()
        .step_by(stride)
        .map(|k| {
            let centre = Point3::from(points[k]);
            let found = tree
                .query(&points[k])
                .within::<SquaredEuclidean<f64>>(radius * radius)
                .execute();
            let near: Vec<Vector3> = found
                .into_iter()
                .map(|n| n.item as usize)
                .filter(|&i| normals[i].dot(&normals[k]) > SAME_SIDE)
                .map(|i| Point3::from(points[i]) - centre)
                .collect();
            find_residuals(&near, radius).unwrap_or_default()
        })
        .flatten_iter()
        .map(f64::abs)
        .collect();
    if residuals.is_empty() {
        return 0.0;
    }
    let middle = residuals.len() / 2;
    MAD_TO_SIGMA * *residuals.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Unit normals of the points, by the areas of their triangles; zero where a point has none.
fn find_normals(mesh: &TriMesh) -> Vec<Vector3> {
    let mut normals = vec![Vector3::zeros(); mesh.points.len()];
    for (t, corners) in mesh.triangles.iter().enumerate() {
        let area = mesh.area_vector(t);
        for &i in corners {
            normals[i as usize] += area;
        }
    }
    for n in &mut normals {
        *n = n.try_normalize(0.0).unwrap_or_else(Vector3::zeros);
    }
    normals
}

/// Residuals of a quadric fitted to a neighbourhood, each brought to the full noise. `None` where the
/// points are too few or lie along a line.
fn find_residuals(near: &[Vector3], radius: f64) -> Option<Vec<f64>> {
    if near.len() < FEWEST {
        return None;
    }
    let mean = near.iter().sum::<Vector3>() / near.len() as f64;
    let spread: Matrix3<f64> = near
        .iter()
        .map(|p| (p - mean) * (p - mean).transpose())
        .sum();
    let axes = spread.symmetric_eigen();
    let normal = axes
        .eigenvectors
        .column(axes.eigenvalues.imin())
        .into_owned();
    let across = axes
        .eigenvectors
        .column(axes.eigenvalues.imax())
        .into_owned();
    let along = normal.cross(&across);

    // Lengths in radii keep the equations well conditioned.
    let rows: Vec<(SVector<f64, COEFFICIENTS>, f64)> = near
        .iter()
        .map(|p| {
            let p = (p - mean) / radius;
            let (u, v) = (p.dot(&across), p.dot(&along));
            (
                SVector::from([1.0, u, v, u * u, u * v, v * v]),
                p.dot(&normal),
            )
        })
        .collect();
    let mut normal_matrix = SMatrix::<f64, COEFFICIENTS, COEFFICIENTS>::zeros();
    let mut right = SVector::<f64, COEFFICIENTS>::zeros();
    for (row, height) in &rows {
        normal_matrix += row * row.transpose();
        right += row * *height;
    }
    let factor = normal_matrix.cholesky()?;
    let coefficients = factor.solve(&right);
    let residuals = rows.iter().filter_map(|(row, height)| {
        let leverage = row.dot(&factor.solve(row));
        // A point that alone decides the fit has no residual to speak of.
        (leverage < 0.9)
            .then(|| radius * (height - row.dot(&coefficients)) / (1.0 - leverage).sqrt())
    });
    Some(residuals.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Normal deviates by Box and Muller from a fixed linear congruential generator.
    struct Deviates(u64);

    impl Deviates {
        fn uniform(&mut self) -> f64 {
            self.0 = self
                .0
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
        }

        fn normal(&mut self) -> f64 {
            (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
        }
    }

    /// A sheet of n by n points 5 mm apart whose heights are `shape(x, y)` with noise.
    fn sheet(n: usize, sigma: f64, shape: impl Fn(f64, f64) -> f64) -> TriMesh {
        let mut deviates = Deviates(7);
        let mut mesh = TriMesh::default();
        for i in 0..n {
            for j in 0..n {
                let (x, y) = (5.0 * i as f64, 5.0 * j as f64);
                mesh.points
                    .push(Point3::new(x, y, shape(x, y) + sigma * deviates.normal()));
            }
        }
        for i in 0..n as u32 - 1 {
            for j in 0..n as u32 - 1 {
                let a = i * n as u32 + j;
                let b = a + n as u32;
                mesh.triangles.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
            }
        }
        mesh
    }

    fn assert_near(got: f64, want: f64) {
        assert!(
            (got / want - 1.0).abs() < 0.1,
            "measured {got}, put in {want}"
        );
    }

    #[test]
    fn noise_put_on_a_plane_is_found() {
        for sigma in [0.05, 0.5, 1.0] {
            assert_near(
                measure_noise(&sheet(100, sigma, |x, y| 0.3 * x - 0.2 * y), 5.0),
                sigma * tilt(0.3, 0.2),
            );
        }
    }

    /// Noise along z shows along the normal as its cosine.
    fn tilt(slope_x: f64, slope_y: f64) -> f64 {
        1.0 / (1.0f64 + slope_x * slope_x + slope_y * slope_y).sqrt()
    }

    #[test]
    fn noise_put_on_a_gently_curved_sheet_is_found() {
        // A dome of 800 mm radius, 500 mm wide, with a step that hides in the tails.
        let dome = |x: f64, y: f64| {
            let (x, y) = (x - 250.0, y - 250.0);
            (800.0f64 * 800.0 - x * x - y * y).sqrt() + if x > 100.0 { 20.0 } else { 0.0 }
        };
        assert_near(measure_noise(&sheet(100, 0.4, dome), 5.0), 0.4);
    }

    #[test]
    fn the_two_skins_of_a_thin_sheet_are_told_apart() {
        let mut mesh = sheet(60, 0.2, |_, _| 0.0);
        let under = sheet(60, 0.2, |_, _| -3.0);
        let base = mesh.points.len() as u32;
        mesh.points.extend(under.points);
        let turned = under
            .triangles
            .iter()
            .map(|&[a, b, c]| [a + base, c + base, b + base]);
        mesh.triangles.extend(turned);
        assert_near(measure_noise(&mesh, 5.0), 0.2);
    }

    #[test]
    fn a_perfect_sheet_has_none_and_nothing_has_none() {
        assert!(measure_noise(&sheet(30, 0.0, |x, y| 0.3 * x - 0.1 * y), 5.0) < 1e-9);
        // A saddle whose radii are 500 mm at its middle: beyond the quadric only its slope's changes.
        let saddle = |x: f64, y: f64| 1e-3 * ((x - 75.0).powi(2) - (y - 75.0).powi(2));
        assert!(measure_noise(&sheet(30, 0.0, saddle), 5.0) < 1e-2);
        assert_eq!(measure_noise(&TriMesh::default(), 5.0), 0.0);
        assert_eq!(measure_noise(&sheet(30, 0.1, |_, _| 0.0), f64::NAN), 0.0);
        // Points along a line carry no surface.
        let line = TriMesh {
            points: (0..100)
                .map(|i| Point3::new(f64::from(i), 0.0, 0.0))
                .collect(),
            triangles: vec![],
        };
        assert_eq!(measure_noise(&line, 5.0), 0.0);
    }
}
