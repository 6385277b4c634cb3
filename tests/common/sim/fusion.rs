//! Fuses depth pictures in a truncated signed distance grid, held only where something was measured.
//!
//! Curless and Levoy: A volumetric method for building complex models from range images, SIGGRAPH
//! 1996; blocks after Niessner and others: Real-time 3D reconstruction at scale using voxel hashing,
//! TOG 2013. Distances are taken along the ray of each picture.

use super::camera::{FOCAL, HEIGHT, REACH, View, WIDTH, direction};
use nalgebra::Point3;
use rayon::prelude::*;

/// Voxels along a block's side.
pub const SIDE: usize = 8;
/// Truncation in voxels.
const TRUNCATION: f64 = 3.5;
/// Total weight a voxel stops at, so that later pictures still count.
const FULL: f32 = 100.0;

/// Distance (in truncations, positive in front) and weight of a block's voxels, x fastest.
pub struct Block {
    pub distance: [f32; SIDE * SIDE * SIDE],
    pub weight: [f32; SIDE * SIDE * SIDE],
}

/// A grid of blocks, most of them absent.
pub struct Grid {
    pub origin: Point3<f64>,
    pub voxel: f64,
    /// Blocks along each axis.
    pub size: [usize; 3],
    /// Place of each block of the box in `blocks`, or `ABSENT`.
    pub index: Vec<u32>,
    pub blocks: Vec<Block>,
    /// Block coordinates of each block.
    pub places: Vec<[usize; 3]>,
}

/// Marks a block that holds nothing.
pub const ABSENT: u32 = u32::MAX;

impl Grid {
    /// Fuses all views whose measured points lie where `wanted` says, in a box of the views' frame.
    pub fn fuse(
        views: &[View],
        voxel: f64,
        low: Point3<f64>,
        high: Point3<f64>,
        wanted: impl Fn(&Point3<f64>) -> bool,
    ) -> Self {
        let span = voxel * SIDE as f64;
        let size = [0, 1, 2].map(|k| ((high[k] - low[k]) / span).ceil() as usize);
        let truncation = TRUNCATION * voxel;
        let mut index = vec![ABSENT; size[0] * size[1] * size[2]];
        let mut touched = vec![false; index.len()];
        for view in views {
            let eye = Point3::from(view.believed.translation.vector);
            for (i, &range) in view.range.iter().enumerate() {
                if range <= 0.0 {
                    continue;
                }
                let d = view.believed.rotation * direction(i % WIDTH, i / WIDTH);
                for step in [-truncation, 0.0, truncation] {
                    let p = eye + d * (f64::from(range) + step);
                    let cell = [0, 1, 2].map(|k| (p[k] - low[k]) / span);
                    let inside = (0..3).all(|k| cell[k] >= 0.0 && cell[k] < size[k] as f64);
                    if inside && wanted(&p) {
                        let [x, y, z] = cell.map(|c| c as usize);
                        touched[(z * size[1] + y) * size[0] + x] = true;
                    }
                }
            }
        }
        let mut places = Vec::new();
        for (i, _) in touched.iter().enumerate().filter(|(_, t)| **t) {
            index[i] = places.len() as u32;
            places.push([i % size[0], i / size[0] % size[1], i / size[0] / size[1]]);
        }
        let lenses: Vec<Lens> = views.iter().map(Lens::new).collect();
        let blocks = places
            .par_iter()
            .map(|place| {
                let corner = [0, 1, 2].map(|k| low[k] + span * place[k] as f64);
                fuse_block(&lenses, corner, voxel, truncation)
            })
            .collect();
        Self {
            origin: low,
            voxel,
            size,
            index,
            blocks,
            places,
        }
    }
}

/// A view with its pose as plain rows, frame to camera.
struct Lens<'a> {
    view: &'a View,
    rows: [[f64; 3]; 3],
    shift: [f64; 3],
}

impl<'a> Lens<'a> {
    fn new(view: &'a View) -> Self {
        let inverse = view.believed.inverse();
        let m = inverse.rotation.to_rotation_matrix();
        Self {
            view,
            rows: [0, 1, 2].map(|r| [m[(r, 0)], m[(r, 1)], m[(r, 2)]]),
            shift: [0, 1, 2].map(|r| inverse.translation.vector[r]),
        }
    }

    fn to_camera(&self, p: [f64; 3]) -> [f64; 3] {
        [0, 1, 2].map(|r| {
            let m = &self.rows[r];
            m[0] * p[0] + m[1] * p[1] + m[2] * p[2] + self.shift[r]
        })
    }

    /// Range measured along the ray through a picture point, and its weight.
    fn sample(&self, u: f64, v: f64) -> Option<(f64, f32)> {
        if !(u >= 0.0 && v >= 0.0 && u < WIDTH as f64 && v < HEIGHT as f64) {
            return None;
        }
        let nearest = v as usize * WIDTH + u as usize;
        let range = f64::from(self.view.range[nearest]);
        if range <= 0.0 {
            return None;
        }
        let weight = self.view.weight[nearest];
        let (x, y) = ((u - 0.5).max(0.0), (v - 0.5).max(0.0));
        let (column, row) = (x as usize, y as usize);
        if column + 1 < WIDTH && row + 1 < HEIGHT {
            let i = row * WIDTH + column;
            let four = [i, i + 1, i + WIDTH, i + WIDTH + 1].map(|i| f64::from(self.view.range[i]));
            // Between pixels only where all four lie on one surface.
            if four
                .iter()
                .all(|r| *r > 0.0 && (r - range).abs() < 0.04 * range)
            {
                let (fx, fy) = (x - column as f64, y - row as f64);
                let mixed = (four[0] * (1.0 - fx) + four[1] * fx) * (1.0 - fy)
                    + (four[2] * (1.0 - fx) + four[3] * fx) * fy;
                return Some((mixed, weight));
            }
        }
        Some((range, weight))
    }
}

fn fuse_block(lenses: &[Lens], corner: [f64; 3], voxel: f64, truncation: f64) -> Block {
    let mut block = Block {
        distance: [0.0; SIDE * SIDE * SIDE],
        weight: [0.0; SIDE * SIDE * SIDE],
    };
    let half = voxel * (SIDE as f64 - 1.0) / 2.0;
    let round = half * 3.0_f64.sqrt();
    for lens in lenses {
        let [x, y, z] = lens.to_camera(corner.map(|c| c + half));
        // Half the picture's diagonal is less than 0.76 focal lengths.
        let side = x.hypot(y);
        if z < -round || z > REACH + truncation || side > 0.76 * z + 1.3 * round {
            continue;
        }
        for i in 0..SIDE * SIDE * SIDE {
            let at = [i % SIDE, i / SIDE % SIDE, i / SIDE / SIDE];
            let p = lens.to_camera([0, 1, 2].map(|k| corner[k] + voxel * at[k] as f64));
            if p[2] < 50.0 {
                continue;
            }
            let u = p[0] / p[2] * FOCAL + WIDTH as f64 / 2.0;
            let v = p[1] / p[2] * FOCAL + HEIGHT as f64 / 2.0;
            let Some((range, weight)) = lens.sample(u, v) else {
                continue;
            };
            let behind = range - (p[0] * p[0] + p[1] * p[1] + p[2] * p[2]).sqrt();
            if behind < -truncation {
                continue;
            }
            let distance = (behind / truncation).min(1.0) as f32;
            let held = block.weight[i];
            block.distance[i] = (block.distance[i] * held + distance * weight) / (held + weight);
            block.weight[i] = (held + weight).min(FULL);
        }
    }
    block
}
