//! The covered surface between two stations as a grid, to be laid flat, and the piece of cloth it makes.

use super::cloth::{ClothPiece, ClothTick};
use super::covered::Covered;
use super::cutter::Cutter;
use super::patch::{Patch, at_height, heights_between};
use crate::math::{Point2, Point3, Vector2};
use crate::mesh::develop::develop_strip;
use crate::mesh::flatten::{Grid, Strain, flat_area};

/// Rows of the surface and corners of a row stand no farther apart (mm).
pub const ROW_MM: f64 = 8.0;
const CORNER_MM: f64 = 8.0;
/// A piece has as many rows at least.
pub const LEAST_ROWS: f64 = 12.0;
/// A tick nearer to a piece's end is left out (mm).
const TICK_CLEAR_MM: f64 = 1.0;

/// A patch of the surface as a grid, row by row.
pub struct Net<'a> {
    places: Vec<f64>,
    /// Heights of the patch's corners, and at which point of a row each comes.
    heights: Vec<(f64, usize)>,
    /// Points in a row.
    across: usize,
    pub mesh: Grid,
    own: Patch,
    lapping: Patch,
    covered: &'a Covered,
}

impl<'a> Net<'a> {
    /// `lapping` is what is covered with the laps; `longer`, how many times as long the meshes are as they
    /// should be.
    pub fn new(cutter: &Cutter<'a>, own: Patch, lapping: Patch, longer: f64) -> Option<Self> {
        let covered = cutter.covered;
        let [from, to] = lapping.along;
        let row_mm = (ROW_MM * longer).min((to - from) / LEAST_ROWS);
        let mut places = Covered::places(from, to, row_mm);
        let mut marks = ticks_between(covered, from, to);
        marks.extend(covered.trim);
        marks.push(own.along[0]);
        marks.retain(|s| from < *s && *s < to);
        // A row at every mark, and none so close to one that triangles become needles.
        places.retain(|s| {
            *s == from || *s == to || marks.iter().all(|mark| (mark - s).abs() > 0.2 * row_mm)
        });
        marks.retain(|s| s - from > 1e-6 && to - s > 1e-6);
        places.extend(marks);
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let mut heights = heights_between(lapping.up);
        if heights.iter().all(|t| (t - own.up[0]).abs() > 1e-6) {
            heights.push(own.up[0]);
            heights.sort_by(f64::total_cmp);
        }
        let flat: Vec<Vec<Point2>> = (places.iter())
            .map(|s| {
                let row = covered.flat_row(*s);
                let cut = heights.iter().map(|t| at_height(&row, *t));
                cut.collect::<Option<_>>()
            })
            .collect::<Option<_>>()?;
        // As many points between two corners of a row as its longest run asks for anywhere.
        let parts: Vec<usize> = (1..heights.len())
            .map(|j| {
                let longest = (flat.iter())
                    .filter_map(|row| Some((row.get(j)? - row.get(j - 1)?).norm()))
                    .fold(0.0, f64::max);
                (longest / (CORNER_MM * longer)).ceil().max(1.0) as usize
            })
            .collect();
        let mut before = 0;
        let starts = std::iter::once(0).chain(parts.iter().map(|count| {
            before += count;
            before
        }));
        let heights: Vec<(f64, usize)> = heights.into_iter().zip(starts).collect();
        let across = parts.iter().sum::<usize>() + 1;
        let mut mesh = Grid {
            points: Vec::new(),
            across,
        };
        for (s, row) in places.iter().zip(&flat) {
            let frame = cutter.spine.frame_at(*s);
            let mut points = vec![frame.to_shop(*row.first()?)];
            for (pair, parts) in row.windows(2).zip(&parts) {
                points.extend((1..=*parts).map(|k| {
                    let p = pair[0] + (pair[1] - pair[0]) * (k as f64 / *parts as f64);
                    frame.to_shop(p)
                }));
            }
            mesh.points.extend(points);
        }
        Some(Self {
            places,
            heights,
            across,
            mesh,
            own,
            lapping,
            covered,
        })
    }

    /// Which point of a row stands at a height, if it is on the net.
    fn column_at(&self, t: f64) -> Option<usize> {
        let found = self.heights.iter().find(|(own, _)| (own - t).abs() < 1e-6);
        found.map(|(_, column)| *column)
    }

    fn at(&self, i: usize, j: usize) -> Point3 {
        self.mesh.points[i * self.across + j]
    }

    /// Two points of the middle line, on both sides of the middle, between which the fibres are to run as
    /// asked for.
    pub fn held(&self) -> [usize; 2] {
        let rows = self.places.len();
        let (half, by) = (rows / 2, (rows / 8).max(1));
        [half.saturating_sub(by), (half + by).min(rows - 1)]
            .map(|i| i * self.across + self.middle())
    }

    /// Which point of a row is its middle.
    fn middle(&self) -> usize {
        (self.across / 2).min(self.across - 2)
    }

    /// A start that keeps the surface's bend in its own plane: the middle strip developed, the others
    /// laid beside it square. Turned so that its middle runs along x.
    pub fn unrolled(&self) -> Option<Vec<Point2>> {
        let (rows, n) = (self.places.len(), self.across);
        let middle = self.middle();
        let column = |j: usize| -> Vec<Point3> { (0..rows).map(|i| self.at(i, j)).collect() };
        let strip = develop_strip(&column(middle), &column(middle + 1))?;
        let mut flat = vec![Point2::origin(); rows * n];
        let half = rows / 2;
        let [before, after] = self.held().map(|k| k / n);
        let run = (strip.lower[after] - strip.lower[before]).try_normalize(1e-12)?;
        let turned = |p: &Point2| {
            let v = p - strip.lower[half];
            Point2::new(v.dot(&run), run.perp(&v))
        };
        for i in 0..rows {
            flat[i * n + middle] = turned(&strip.lower[i]);
            flat[i * n + middle + 1] = turned(&strip.upper[i]);
        }
        let mut beside = |from: usize, to: usize, side: f64| -> Option<()> {
            for i in 0..rows {
                let (a, b) = (i.saturating_sub(1), (i + 1).min(rows - 1));
                let along = (self.at(b, from) - self.at(a, from)).try_normalize(1e-12)?;
                let run = (flat[b * n + from] - flat[a * n + from]).try_normalize(1e-12)?;
                let rung = self.at(i, to) - self.at(i, from);
                let ahead = rung.dot(&along);
                let square = (rung - along * ahead).norm();
                let left = Vector2::new(-run.y, run.x);
                flat[i * n + to] = flat[i * n + from] + run * ahead + left * (side * square);
            }
            Some(())
        };
        for j in middle + 2..n {
            beside(j - 1, j, 1.0)?;
        }
        for j in (0..middle).rev() {
            beside(j + 1, j, -1.0)?;
        }
        Some(flat)
    }

    /// A start that is never turned over: rows and columns straight, spaced as the surface is on average.
    pub fn even(&self) -> Vec<Point2> {
        let (rows, n) = (self.places.len(), self.across);
        let mean = |all: &mut dyn Iterator<Item = f64>, count: usize| {
            all.sum::<f64>() / count.max(1) as f64
        };
        let mut x = vec![0.0];
        for i in 1..rows {
            let step = mean(
                &mut (0..n).map(|j| (self.at(i, j) - self.at(i - 1, j)).norm()),
                n,
            );
            x.push(x[i - 1] + step.max(1e-3));
        }
        let mut y = vec![0.0];
        for j in 1..n {
            let step = mean(
                &mut (0..rows).map(|i| (self.at(i, j) - self.at(i, j - 1)).norm()),
                rows,
            );
            y.push(y[j - 1] + step.max(1e-3));
        }
        let half = x[rows / 2];
        (0..rows * n)
            .map(|k| Point2::new(x[k / n] - half, y[k % n]))
            .collect()
    }

    /// The piece that a flat of it makes.
    pub fn piece(&self, flat: &[Point2], found: &[Strain]) -> ClothPiece {
        let along = self.lapping.along;
        let last = Patch::whole(self.covered).up[1];
        let (rows, n) = (self.places.len(), self.across);
        let point = |i: usize, j: usize| flat[i * n + j];
        let row = |i: usize| -> Vec<Point2> { (0..n).map(|j| point(i, j)).collect() };
        let column = |j: usize, from: usize, to: usize| -> Vec<Point2> {
            (from..=to).map(|i| point(i, j)).collect()
        };
        let near = |s: f64| {
            let at = self
                .places
                .iter()
                .position(|place| (place - s).abs() < 1e-5);
            at.filter(|i| (0..rows).contains(i))
        };
        let mut outline = column(0, 0, rows - 1);
        outline.extend(row(rows - 1).into_iter().skip(1));
        outline.extend(column(n - 1, 0, rows - 1).into_iter().rev().skip(1));
        outline.extend(row(0).into_iter().rev().skip(1));
        outline.pop();
        let trim = self.covered.trim;
        let from = near(trim[0]).unwrap_or(0);
        let to = near(trim[1]).unwrap_or(rows - 1);
        // The part's edges are the second corner of a row and the last but one.
        let edges = [1.0, last - 1.0].map(|t| self.column_at(t));
        let trimmed = |i: usize| -> Vec<Point2> {
            let [low, high] = [edges[0].unwrap_or(0), edges[1].unwrap_or(n - 1)];
            (low..=high).map(|j| point(i, j)).collect()
        };
        let lap_to = (along[0] < self.own.along[0]).then_some(self.own.along[0]);
        let lap_up = (self.lapping.up[0] < self.own.up[0]).then_some(self.own.up[0]);
        let ticks = ticks_between(
            self.covered,
            along[0] + TICK_CLEAR_MM,
            along[1] - TICK_CLEAR_MM,
        );
        let mut stretch = [0.0f64; 2];
        let mut shear = (0.0f64, along[0]);
        for (k, strain) in found.iter().enumerate() {
            for fibre in [strain.warp, strain.weft] {
                stretch = [stretch[0].min(fibre), stretch[1].max(fibre)];
            }
            if strain.shear.abs() > shear.0 {
                let s = self.places.get(k / self.mesh.meshes_across().max(1));
                shear = (strain.shear.abs(), s.copied().unwrap_or(along[0]));
            }
        }
        ClothPiece {
            along,
            lap_to,
            up: self.own.up.map(|t| t / last.max(1.0)),
            edges: (edges.into_iter().flatten())
                .map(|j| column(j, from, to))
                .collect(),
            ends: (trim.iter())
                .filter_map(|s| near(*s))
                .map(trimmed)
                .collect(),
            laps: (lap_to.and_then(near).map(row).into_iter())
                .chain((lap_up.and_then(|t| self.column_at(t))).map(|j| column(j, 0, rows - 1)))
                .collect(),
            ticks: (ticks.into_iter())
                .filter_map(|s| {
                    let i = near(s)?;
                    Some(ClothTick {
                        s,
                        ends: [point(i, 0), point(i, n - 1)],
                    })
                })
                .collect(),
            middle: point(rows / 2, n / 2),
            stretch,
            shear,
            area: flat_area(&self.mesh, flat),
            covers: self.mesh.area(),
            outline,
        }
    }
}

/// Stations between two arc lengths that are marked (mm), as on the buck.
fn ticks_between(covered: &Covered, from: f64, to: f64) -> Vec<f64> {
    let mut ticks = covered.ticks();
    ticks.retain(|s| from < *s && *s < to);
    ticks
}
