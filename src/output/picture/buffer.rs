//! Nearest surface at every sample.

use super::{Form, Shown, Window};
use crate::math::Vector3;
use std::ops::Range;

/// What is seen at one sample.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    /// Nearness (samples); minus infinity where nothing is seen.
    pub depth: f32,
    /// Its triangle.
    pub triangle: u32,
    /// Which of the shown, counted from 1; 0 for nothing.
    pub part: u16,
    /// Direction the surface faces, in the picture's right, up and toward, in parts of [`ONE`]. Millions of
    /// samples are filled and read, and their size is most of the time.
    faces: [i16; 3],
}

/// Share of a triangle by which it reaches over its sides, so that rounding leaves no hole between two.
const BRIM: f64 = 1e-9;
/// Samples of a row that are asked one by one.
const FEW: usize = 6;
/// Length of a sample's direction.
const ONE: f64 = 32_000.0;

impl Sample {
    /// Direction the surface faces, of length 1 or less.
    pub fn faces(&self) -> Vector3 {
        Vector3::from(self.faces.map(f64::from)) / ONE
    }
}

const NOTHING: Sample = Sample {
    depth: f32::NEG_INFINITY,
    triangle: 0,
    part: 0,
    faces: [0; 3],
};

/// All samples, row after row from the top.
pub(super) struct Buffer {
    pub size: [usize; 2],
    pub samples: Vec<Sample>,
}

impl Buffer {
    pub fn new(size: [usize; 2]) -> Self {
        Self {
            size,
            samples: vec![NOTHING; size[0] * size[1]],
        }
    }

    /// The sample at a column and row, or nothing outside.
    pub fn at(&self, column: isize, row: isize) -> &Sample {
        // A negative one becomes larger than any picture.
        let (column, row) = (column as usize, row as usize);
        if column >= self.size[0] || row >= self.size[1] {
            return &NOTHING;
        }
        let at = row * self.size[0] + column;
        self.samples.get(at).unwrap_or(&NOTHING)
    }

    /// Lays a surface over what is there.
    pub fn lay(&mut self, index: usize, shown: &Shown<'_>, window: &Window) {
        let mesh = shown.mesh;
        let within = |corners: &[u32; 3]| corners.iter().all(|i| (*i as usize) < mesh.points.len());
        let seen: Vec<[f64; 3]> = mesh
            .points
            .iter()
            .map(|p| window.see(*p + shown.moved))
            .collect();
        // Direction at each point, worked out once and not for every triangle that meets there.
        let rounded: Vec<Option<Vector3>> = match shown.form {
            Form::Sharp => Vec::new(),
            Form::Soft => {
                let mut sums = vec![Vector3::zeros(); mesh.points.len()];
                for (t, corners) in mesh.triangles.iter().enumerate() {
                    if !within(corners) {
                        continue;
                    }
                    let area = mesh.area_vector(t);
                    for &i in corners {
                        if let Some(sum) = sums.get_mut(i as usize) {
                            *sum += area;
                        }
                    }
                }
                let unit = |sum: Vector3| window.view.seen(sum).try_normalize(1e-300);
                sums.into_iter().map(unit).collect()
            }
        };
        for (t, corners) in mesh.triangles.iter().enumerate() {
            let ids = corners.map(|i| i as usize);
            let [Some(a), Some(b), Some(c)] = ids.map(|i| seen.get(i).copied()) else {
                continue;
            };
            // Most triangles of a dense scan cover no sample's middle.
            let Some(held) = self.held_by([a, b, c]) else {
                continue;
            };
            let flat = || {
                let area = window.view.seen(mesh.area_vector(t));
                area.try_normalize(1e-300).unwrap_or(Vector3::z())
            };
            let faces = match shown.form {
                Form::Sharp => [flat(); 3],
                Form::Soft => ids.map(|i| rounded.get(i).copied().flatten().unwrap_or_else(flat)),
            };
            let (part, triangle) = (u16::try_from(index + 1).unwrap_or(u16::MAX), t as u32);
            let faces = faces.map(|n| n * ONE);
            self.cover([a, b, c], held, |at, depth, share| {
                if depth as f32 > at.depth {
                    let n = faces[0] * share[0] + faces[1] * share[1] + faces[2] * share[2];
                    *at = Sample {
                        depth: depth as f32,
                        triangle,
                        part,
                        faces: [n.x as i16, n.y as i16, n.z as i16],
                    };
                }
            });
        }
    }

    /// Columns and rows of the samples whose middles the triangle may cover; `None` where there is none.
    fn held_by(&self, [a, b, c]: [[f64; 3]; 3]) -> Option<[Range<usize>; 2]> {
        let range = |k: usize| {
            let (low, high) = (a[k].min(b[k]).min(c[k]), a[k].max(b[k]).max(c[k]));
            let from = (low - 0.5).ceil().max(0.0) as usize;
            let to = ((high - 0.5).floor() + 1.0).clamp(0.0, self.size[k] as f64) as usize;
            from..to
        };
        let held = [range(0), range(1)];
        held.iter().all(|range| !range.is_empty()).then_some(held)
    }

    /// Calls `put` with each sample of `held` whose middle the triangle covers, the depth there, and the
    /// shares of its corners.
    fn cover(
        &mut self,
        [a, b, c]: [[f64; 3]; 3],
        [columns, rows]: [Range<usize>; 2],
        mut put: impl FnMut(&mut Sample, f64, [f64; 3]),
    ) {
        let whole = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        if !whole.is_finite() || whole == 0.0 {
            return;
        }
        // The share of a corner is linear across the picture; in a row it grows by the same at every step.
        let share = |p: [f64; 3], q: [f64; 3], x: f64, y: f64| {
            ((p[0] - x) * (q[1] - y) - (p[1] - y) * (q[0] - x)) / whole
        };
        let slope = |p: [f64; 3], q: [f64; 3]| (p[1] - q[1]) / whole;
        let (su, sv) = (slope(b, c), slope(c, a));
        let start = columns.start as f64 + 0.5;
        for row in rows {
            let y = row as f64 + 0.5;
            let (u0, v0) = (share(b, c, start, y), share(c, a, start, y));
            let first = row * self.size[0];
            let held = first + columns.start..first + columns.end;
            let Some(samples) = self.samples.get_mut(held) else {
                continue;
            };
            // The steps of the row that lie inside: one bound for each side of the triangle.
            let (mut low, mut high) = (0.0, samples.len() as f64);
            for (share, slope) in [(u0, su), (v0, sv), (1.0 - u0 - v0, -su - sv)] {
                // Over a few samples, asking each is quicker than the bounds.
                if samples.len() <= FEW {
                    break;
                }
                if slope > 0.0 {
                    low = f64::max(low, -share / slope - 1.0);
                } else if slope < 0.0 {
                    high = f64::min(high, -share / slope + 2.0);
                } else if share < -BRIM {
                    high = 0.0;
                }
            }
            let (low, high) = (low as usize, high as usize);
            for (step, at) in samples.iter_mut().enumerate().take(high).skip(low) {
                let (u, v) = (u0 + step as f64 * su, v0 + step as f64 * sv);
                let w = 1.0 - u - v;
                if u < -BRIM || v < -BRIM || w < -BRIM {
                    continue;
                }
                put(at, u * a[2] + v * b[2] + w * c[2], [u, v, w]);
            }
        }
    }
}
