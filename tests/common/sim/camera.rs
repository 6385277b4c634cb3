//! A hand-held depth camera led along the gap.
//!
//! Noise along the ray grows with range and grazing angle (Nguyen, Izadi, Lovell: Modeling Kinect
//! sensor noise for improved 3D reconstruction and tracking, 3DIMPVT 2012, scaled to the noise asked
//! for); part of it is smooth across the picture. Rays are lost at grazing angles, at depth edges
//! and in patches; some at depth edges return a mix of both depths.

use super::random::Random;
use super::vehicle::Vehicle;
use nalgebra::{Isometry3, Matrix3, Point3, Rotation3, Translation3, UnitQuaternion, Vector3};
use parry3d_f64::math::Vector;
use parry3d_f64::query::{Ray, RayCast};
use parry3d_f64::shape::TriMesh;
use rayon::prelude::*;
use std::f64::consts::{FRAC_PI_2, TAU};

/// Rays across and down.
pub const WIDTH: usize = 200;
pub const HEIGHT: usize = 150;
/// Focal length in pixels: 62 degrees across.
pub const FOCAL: f64 = 166.0;
/// Nothing further than this is measured (mm).
pub const REACH: f64 = 1000.0;
/// Range at which the noise is as asked for (mm).
const NOMINAL_RANGE: f64 = 450.0;
/// A depth step over this counts as a depth edge (mm).
const DEPTH_EDGE: f64 = 25.0;
/// Pixels between the knots of the smooth part of the noise.
const KNOTS: usize = 20;

/// One depth picture.
pub struct View {
    /// Where the scan believes the camera was: camera (right, down, forward) to vehicle frame.
    pub believed: Isometry3<f64>,
    /// Measured range of each ray (mm), 0 where there is none.
    pub range: Vec<f32>,
    /// Trust in each ray.
    pub weight: Vec<f32>,
}

/// Direction of a ray through a pixel, in the camera's frame.
pub fn direction(column: usize, row: usize) -> Vector3<f64> {
    Vector3::new(
        (column as f64 + 0.5 - WIDTH as f64 / 2.0) / FOCAL,
        (row as f64 + 0.5 - HEIGHT as f64 / 2.0) / FOCAL,
        1.0,
    )
    .normalize()
}

/// True camera poses: passes along the gap at several heights, low ones looking under the edge.
pub fn path(vehicle: &Vehicle, random: &mut Random) -> Vec<Isometry3<f64>> {
    // Height above the tray, distance outboard, height aimed at (mm).
    const PASSES: [[f64; 3]; 5] = [
        [0.0, 400.0, 30.0],
        [70.0, 420.0, 30.0],
        [145.0, 430.0, 35.0],
        [250.0, 420.0, 45.0],
        [390.0, 360.0, 20.0],
    ];
    const SPACING: f64 = 135.0;
    let mut poses = Vec::new();
    for (pass, [up, out, aim]) in PASSES.into_iter().enumerate() {
        let sway = [(); 4].map(|()| random.between(0.0, TAU));
        let mut along = Vec::new();
        let mut s = -100.0 - random.between(0.0, 60.0);
        while s < vehicle.plan.length() + 130.0 {
            along.push(s);
            s += SPACING / (1.0 + out * vehicle.plan.at(s).curvature);
        }
        if pass % 2 == 1 {
            along.reverse();
        }
        for (k, s) in along.into_iter().enumerate() {
            let wave = |i: usize, rate: f64| (rate * k as f64 + sway[i]).sin();
            let place = vehicle.plan.at(s);
            let [x, y] = place.offset(out + 40.0 * wave(0, 0.5));
            let eye = Point3::new(x, y, up + 15.0 * wave(1, 0.7));
            let [x, y] = place.offset(-15.0);
            let target = Point3::new(x, y, aim + 20.0 * wave(2, 0.4));
            let forward = (target - eye).normalize();
            let right = forward.cross(&Vector3::z()).normalize();
            let level = Matrix3::from_columns(&[right, forward.cross(&right), forward]);
            let level = Rotation3::from_matrix_unchecked(level);
            let tremble = Vector3::new(
                0.04 * random.normal(),
                0.08 * random.normal(),
                0.12 * wave(3, 0.3),
            );
            let turn = UnitQuaternion::from_rotation_matrix(&level)
                * UnitQuaternion::from_scaled_axis(tremble);
            poses.push(Isometry3::from_parts(Translation3::from(eye.coords), turn));
        }
    }
    poses
}

/// Adds the slow error of pose tracking: over the path a shift of `drift` mm (root mean square) along
/// each axis, and turns that move a point at the usual range by half of that.
pub fn drifted(poses: &[Isometry3<f64>], drift: f64, random: &mut Random) -> Vec<Isometry3<f64>> {
    // Slower waves are larger, as in a random walk held together by loop closures.
    let waves: Vec<[(f64, f64); 6]> = (1..=8)
        .map(|k| {
            [(); 6].map(|()| {
                let size = random.normal() / f64::from(k).powf(1.5);
                (size, random.between(0.0, TAU))
            })
        })
        .collect();
    let share = |axis: usize| {
        let squares = waves.iter().map(|w| w[axis].0.powi(2) / 2.0);
        squares.sum::<f64>().sqrt()
    };
    let shares = [0, 1, 2, 3, 4, 5].map(share);
    let at = |t: f64, axis: usize| {
        let sum = waves.iter().enumerate().map(|(k, w)| {
            let (size, phase) = w[axis];
            size * (TAU * (k as f64 + 1.0) * t + phase).cos()
        });
        sum.sum::<f64>() / shares[axis]
    };
    let count = poses.len().max(1) as f64;
    poses
        .iter()
        .enumerate()
        .map(|(i, pose)| {
            let t = i as f64 / count;
            let shift = Vector3::new(at(t, 0), at(t, 1), at(t, 2)) * drift;
            let turn = Vector3::new(at(t, 3), at(t, 4), at(t, 5)) * (0.5 * drift / NOMINAL_RANGE);
            let mut out = pose * UnitQuaternion::from_scaled_axis(turn);
            out.translation.vector += shift;
            out
        })
        .collect()
}

/// Takes the pictures from the true poses.
pub fn photograph(
    scene: &TriMesh,
    poses: &[Isometry3<f64>],
    believed: &[Isometry3<f64>],
    noise: f64,
    seed: u64,
) -> Vec<View> {
    let count = poses.len();
    (0..count)
        .into_par_iter()
        .map(|i| {
            let mut random = Random::new(seed, 1000 + i as u64);
            let exact = cast(scene, &poses[i]);
            let (range, weight) = spoil(&exact, noise, &mut random);
            View {
                believed: believed[i],
                range,
                weight,
            }
        })
        .collect()
}

/// Range and cosine of incidence of every ray; range infinite where nothing is hit.
fn cast(scene: &TriMesh, pose: &Isometry3<f64>) -> Vec<(f64, f64)> {
    let eye = pose.translation.vector;
    let origin = Vector::new(eye.x, eye.y, eye.z);
    (0..WIDTH * HEIGHT)
        .map(|i| {
            let d = pose.rotation * direction(i % WIDTH, i / WIDTH);
            let ray = Ray::new(origin, Vector::new(d.x, d.y, d.z));
            match scene.cast_local_ray_and_get_normal(&ray, REACH, false) {
                Some(hit) => (hit.time_of_impact, hit.normal.dot(ray.dir).abs()),
                None => (f64::INFINITY, 0.0),
            }
        })
        .collect()
}

fn spoil(exact: &[(f64, f64)], noise: f64, random: &mut Random) -> (Vec<f32>, Vec<f32>) {
    let columns = WIDTH / KNOTS + 2;
    let knots: Vec<f64> = (0..columns * (HEIGHT / KNOTS + 2))
        .map(|_| random.normal())
        .collect();
    let lost_patch: Vec<bool> = knots.iter().map(|_| random.happens(0.02)).collect();
    let whole = 0.4 * noise * random.normal();
    let mut range = vec![0.0; exact.len()];
    let mut weight = vec![0.0; exact.len()];
    for i in 0..exact.len() {
        let (column, row) = (i % WIDTH, i / WIDTH);
        // Every pixel draws the same count of numbers, seen or not.
        let draw = [(); 4].map(|()| random.unit());
        let jitter = random.normal();
        let (true_range, cos) = exact[i];
        let (near, far) = neighbourhood(exact, column, row);
        let at_edge = far - near > DEPTH_EDGE;
        let mut r = true_range;
        if at_edge && draw[0] < 0.35 && near.is_finite() {
            // The footprint covers both surfaces: a mix of the two.
            r = near + (far.min(near + 400.0) - near) * draw[1];
        }
        let grazing = FRAC_PI_2 - cos.acos();
        let lost =
            0.01 + 0.9 * (1.0 - grazing / 0.1).clamp(0.0, 1.0) + if at_edge { 0.5 } else { 0.0 };
        let patch = lost_patch[row / KNOTS * columns + column / KNOTS];
        if !r.is_finite() || draw[2] < lost || (patch && draw[3] < 0.8) {
            continue;
        }
        let angle = FRAC_PI_2 - grazing;
        let slant = (0.1 * angle * angle / (grazing * grazing)).min(4.0);
        let sigma = noise * (0.4 + 0.6 * (r / NOMINAL_RANGE).powi(2) + slant);
        let smooth = between_knots(&knots, columns, column, row);
        range[i] = (r + sigma * jitter + 0.35 * sigma * smooth + whole) as f32;
        weight[i] = (cos.max(0.12) * NOMINAL_RANGE / r) as f32;
    }
    (range, weight)
}

fn neighbourhood(exact: &[(f64, f64)], column: usize, row: usize) -> (f64, f64) {
    let mut near = f64::INFINITY;
    let mut far: f64 = 0.0;
    for y in row.saturating_sub(1)..=(row + 1).min(HEIGHT - 1) {
        for x in column.saturating_sub(1)..=(column + 1).min(WIDTH - 1) {
            near = near.min(exact[y * WIDTH + x].0);
            far = far.max(exact[y * WIDTH + x].0);
        }
    }
    (near, far)
}

fn between_knots(knots: &[f64], columns: usize, column: usize, row: usize) -> f64 {
    let (x, y) = (column / KNOTS, row / KNOTS);
    let fx = (column % KNOTS) as f64 / KNOTS as f64;
    let fy = (row % KNOTS) as f64 / KNOTS as f64;
    let at = |dx: usize, dy: usize| knots[(y + dy) * columns + x + dx];
    (at(0, 0) * (1.0 - fx) + at(1, 0) * fx) * (1.0 - fy)
        + (at(0, 1) * (1.0 - fx) + at(1, 1) * fx) * fy
}
