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
    rows: [[f32; 3]; 3],
    shift: [f32; 3],
}

impl<'a> Lens<'a> {
    fn new(view: &'a View) -> Self {
        let inverse = view.believed.inverse();
        let m = inverse.rotation.to_rotation_matrix();
        Self {
            view,
            rows: [0, 1, 2].map(|r| [0, 1, 2].map(|c| m[(r, c)] as f32)),
            shift: [0, 1, 2].map(|r| inverse.translation.vector[r] as f32),
        }
    }

    fn to_camera(&self, p: [f32; 3]) -> [f32; 3] {
        let row = |r: usize| {
            let m = &self.rows[r];
            m[0] * p[0] + m[1] * p[1] + m[2] * p[2] + self.shift[r]
        };
        [row(0), row(1), row(2)]
    }

    /// Range measured along the ray through a picture point, and its weight.
    fn sample(&self, u: f32, v: f32) -> Option<(f32, f32)> {
        if !(u >= 0.0 && v >= 0.0 && u < WIDTH as f32 && v < HEIGHT as f32) {
            return None;
        }
        let ranges = &self.view.range;
        let nearest = v as usize * WIDTH + u as usize;
        let range = ranges[nearest];
        if range <= 0.0 {
            return None;
        }
        let weight = self.view.weight[nearest];
        let (x, y) = ((u - 0.5).max(0.0), (v - 0.5).max(0.0));
        let (column, row) = (x as usize, y as usize);
        if column + 1 < WIDTH && row + 1 < HEIGHT {
            let i = row * WIDTH + column;
            let four = [
                ranges[i],
                ranges[i + 1],
                ranges[i + WIDTH],
                ranges[i + WIDTH + 1],
            ];
            // Between pixels only where all four lie on one surface.
            if four
                .iter()
                .all(|r| *r > 0.0 && (r - range).abs() < 0.04 * range)
            {
                let (fx, fy) = (x - column as f32, y - row as f32);
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
    let (voxel, truncation) = (voxel as f32, truncation as f32);
    let corner = corner.map(|c| c as f32);
    let half = voxel * (SIDE as f32 - 1.0) / 2.0;
    let round = half * 3.0_f32.sqrt();
    let centre = (WIDTH as f32 / 2.0, HEIGHT as f32 / 2.0);
    // What the picture takes in to each side, per depth, with what a ball needs more at the rim.
    let wide = (centre.0 / FOCAL as f32, 1.2 * round);
    let tall = (centre.1 / FOCAL as f32, 1.2 * round);
    for lens in lenses {
        let [x, y, z] = lens.to_camera(corner.map(|c| c + half));
        let outside = |side: f32, (slope, extra): (f32, f32)| side.abs() > slope * z + extra;
        if z < -round || z > REACH as f32 + truncation || outside(x, wide) || outside(y, tall) {
            continue;
        }
        let step = [0, 1, 2].map(|r: usize| lens.rows[r][0] * voxel);
        for line in 0..SIDE * SIDE {
            let (y, z) = ((line % SIDE) as f32, (line / SIDE) as f32);
            let mut p = lens.to_camera([corner[0], corner[1] + voxel * y, corner[2] + voxel * z]);
            for i in line * SIDE..(line + 1) * SIDE {
                let [x, y, z] = p;
                p = [x + step[0], y + step[1], z + step[2]];
                if z < 50.0 {
                    continue;
                }
                let scale = FOCAL as f32 / z;
                let Some((range, weight)) = lens.sample(x * scale + centre.0, y * scale + centre.1)
                else {
                    continue;
                };
                let ahead = range - (x * x + y * y + z * z).sqrt();
                if ahead < -truncation {
                    continue;
                }
                let distance = (ahead / truncation).min(1.0);
                let held = block.weight[i];
                block.distance[i] =
                    (block.distance[i] * held + distance * weight) / (held + weight);
                block.weight[i] = (held + weight).min(FULL);
            }
        }
    }
    block
}
