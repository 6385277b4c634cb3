//! Marching cubes (Lorensen and Cline, SIGGRAPH 1987) over the cells seen on all eight corners.
//!
//! The table of cases is worked out instead of listed: on each face of a cell the crossings are
//! joined so that corners behind the surface stay apart, which neighbours agree on, and the loops
//! that result are cut into triangles.

use super::fusion::{ABSENT, Grid, SIDE};
use gapwright::math::Point3;
use gapwright::mesh::TriMesh;
use std::collections::HashMap;

/// Edges as pairs of corners; corner bit 0 is +x, bit 1 is +y, bit 2 is +z.
const EDGES: [[usize; 2]; 12] = [
    [0, 1],
    [2, 3],
    [4, 5],
    [6, 7],
    [0, 2],
    [1, 3],
    [4, 6],
    [5, 7],
    [0, 4],
    [1, 5],
    [2, 6],
    [3, 7],
];

/// Faces as corners anticlockwise seen from outside the cell.
const FACES: [[usize; 4]; 6] = [
    [0, 4, 6, 2],
    [1, 3, 7, 5],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 2, 3, 1],
    [4, 5, 7, 6],
];

fn edge_between(a: usize, b: usize) -> usize {
    let same = |e: &[usize; 2]| *e == [a.min(b), a.max(b)];
    EDGES.iter().position(same).unwrap_or(0)
}

/// Triangles as edge triples for each pattern of corners behind the surface.
fn table() -> Vec<Vec<[usize; 3]>> {
    (0..256_usize).map(triangles_of).collect()
}

fn triangles_of(behind: usize) -> Vec<[usize; 3]> {
    let is_behind = |corner: usize| behind >> corner & 1 == 1;
    let mut next = [usize::MAX; 12];
    for face in FACES {
        for k in 0..4 {
            let [a, b] = [face[k], face[(k + 1) % 4]];
            // Leaving the part behind: join to where that part was entered, going back.
            if is_behind(a) && !is_behind(b) {
                let mut j = k;
                while is_behind(face[j]) {
                    j = (j + 3) % 4;
                }
                let entry = edge_between(face[j], face[(j + 1) % 4]);
                next[edge_between(a, b)] = entry;
            }
        }
    }
    let mut triangles = Vec::new();
    let mut used = [false; 12];
    for start in 0..12 {
        let mut ring = Vec::new();
        let mut edge = start;
        while next[edge] != usize::MAX && !used[edge] {
            used[edge] = true;
            ring.push(edge);
            edge = next[edge];
        }
        for k in 1..ring.len().saturating_sub(1) {
            triangles.push([ring[0], ring[k + 1], ring[k]]);
        }
    }
    triangles
}

/// The zero surface, facing the cameras, in the grid's frame (mm). Corners of less than
/// `least_weight` count as not seen.
pub fn surface(grid: &Grid, least_weight: f32) -> TriMesh {
    const N: usize = SIDE + 1;
    let table = table();
    let mut mesh = TriMesh::default();
    let mut known: HashMap<(usize, usize), u32> = HashMap::new();
    let row = grid.size[0] * SIDE + 1;
    let layer = row * (grid.size[1] * SIDE + 1);
    for place in &grid.places {
        // The block's voxels and the first layer of the blocks beyond.
        let mut values = [f32::NAN; N * N * N];
        for (i, value) in values.iter_mut().enumerate() {
            let at = [i % N, i / N % N, i / N / N];
            *value = voxel(
                grid,
                [0, 1, 2].map(|k| place[k] * SIDE + at[k]),
                least_weight,
            );
        }
        for i in 0..SIDE * SIDE * SIDE {
            let cell = [i % SIDE, i / SIDE % SIDE, i / SIDE / SIDE];
            let corner = |c: usize| {
                [
                    cell[0] + (c & 1),
                    cell[1] + (c >> 1 & 1),
                    cell[2] + (c >> 2),
                ]
            };
            let value = |c: usize| {
                let [x, y, z] = corner(c);
                values[(z * N + y) * N + x]
            };
            let pattern = (0..8).fold(0, |bits, c| bits | usize::from(value(c) < 0.0) << c);
            if pattern == 0 || pattern == 255 || (0..8).any(|c| value(c).is_nan()) {
                continue;
            }
            for triangle in &table[pattern] {
                let corners = triangle.map(|edge| {
                    let [a, b] = EDGES[edge];
                    let ends = [a, b].map(|c| {
                        let at = corner(c);
                        [0, 1, 2].map(|k| place[k] * SIDE + at[k])
                    });
                    let [x, y, z] = ends[0];
                    *known
                        .entry((z * layer + y * row + x, edge / 4))
                        .or_insert_with(|| {
                            let f = f64::from(value(a) / (value(a) - value(b)));
                            let at = |k: usize| {
                                let (p, q) = (ends[0][k] as f64, ends[1][k] as f64);
                                grid.origin[k] + grid.voxel * (p + f * (q - p))
                            };
                            mesh.points.push(Point3::new(at(0), at(1), at(2)));
                            mesh.points.len() as u32 - 1
                        })
                });
                mesh.triangles.push(corners);
            }
        }
    }
    mesh
}

/// Distance held at a voxel, NaN where nothing was seen.
fn voxel(grid: &Grid, at: [usize; 3], least_weight: f32) -> f32 {
    let block = at.map(|c| c / SIDE);
    if (0..3).any(|k| block[k] >= grid.size[k]) {
        return f32::NAN;
    }
    let place = (block[2] * grid.size[1] + block[1]) * grid.size[0] + block[0];
    if grid.index[place] == ABSENT {
        return f32::NAN;
    }
    let block = &grid.blocks[grid.index[place] as usize];
    let [x, y, z] = at.map(|c| c % SIDE);
    let i = (z * SIDE + y) * SIDE + x;
    if block.weight[i] > least_weight {
        block.distance[i]
    } else {
        f32::NAN
    }
}
