//! Pieces of cloth, cut flat: the covered surface laid flat for each way the fibres run, in as few pieces
//! as lie down without creases.

use super::covered::Covered;
use super::laminate::{Cloth, Ply};
use super::layup::CutOptions;
use crate::diag::Finding;
use crate::math::{Point2, Point3, Spine, Vector2};
use crate::mesh::develop::develop_strip;
use crate::mesh::flatten::{Grid, Strain, Weave, flat_area, flatten, strains};
use rayon::prelude::*;
use std::f64::consts::{FRAC_PI_2, PI};

/// Fibres hardly give: no stretch past this (share), either way.
pub const MOST_STRETCH: f64 = 0.01;
/// From here on the weave resists and wants to be watched (rad).
pub const SHEAR_SHOWS: f64 = 30.0 * PI / 180.0;
/// Past this it creases (rad). Plain weave locks at 40 to 55 degrees, twill at 50 to 60 (from memory).
pub const MOST_SHEAR: f64 = 45.0 * PI / 180.0;
/// Stiffness of dry woven cloth in shear before it locks, as a share of that along its fibres. From memory, no
/// source opened: picture frames take some hundredths of a newton for each mm of side and radian, and the
/// fibres of 300 g/m2 of glass some thousand newtons for each mm of width. What comes out hardly hangs on
/// it: a tenth or ten times of it leads to the same net (see the tests of `mesh::flatten`).
const SHEAR_SHARE: f64 = 1e-5;
/// Rows of the surface and corners of a row stand no farther apart (mm).
const ROW_MM: f64 = 8.0;
const CORNER_MM: f64 = 8.0;
/// A first look is taken with meshes so many times as long, and a piece is given up on it where it passes the
/// limit of shear by so much (rad), or that of stretch so many times: large meshes feel less of the worst
/// shear than small ones, and a little stretch of their own.
const FIRST_LOOK: f64 = 2.0;
const SURELY_SHEARED: f64 = 5.0 * PI / 180.0;
const SURELY_STRETCHED: f64 = 2.0;
/// A piece has as many rows at least.
const LEAST_ROWS: f64 = 12.0;
/// No piece is cut shorter than this (mm).
const LEAST_PIECE_MM: f64 = 40.0;
/// A tick nearer to a piece's end is left out (mm).
const TICK_CLEAR_MM: f64 = 1.0;

/// A station on a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct ClothTick {
    /// Arc length (mm).
    pub s: f64,
    /// On the lower edge and on the upper.
    pub ends: [Point2; 2],
}

/// One piece of cloth, seen from outside, its middle running along x (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct ClothPiece {
    /// What it covers, from and to (arc length, mm), its lap over the piece before included.
    pub along: [f64; 2],
    /// Up to here it laps the piece before (arc length, mm).
    pub lap_to: Option<f64>,
    /// The cut, closed.
    pub outline: Vec<Point2>,
    /// The part's edges on it: along the foot and along the top.
    pub edges: [Vec<Point2>; 2],
    /// The part's ends on it, where they lie on this piece.
    pub ends: Vec<Vec<Point2>>,
    /// Where the lap ends.
    pub lap: Option<Vec<Point2>>,
    /// Stations.
    pub ticks: Vec<ClothTick>,
    /// Its middle.
    pub middle: Point2,
    /// Least and most stretch along either way of its fibres (shares).
    pub stretch: [f64; 2],
    /// Most shear (rad), and where (arc length, mm).
    pub shear: (f64, f64),
    /// Its area in the flat (mm2).
    pub area: f64,
    /// The area it covers (mm2): less than its own where it shears.
    pub covers: f64,
}

impl ClothPiece {
    fn worst_stretch(&self) -> f64 {
        self.stretch[1].max(-self.stretch[0])
    }

    /// Whether it lies down within both limits.
    #[must_use]
    pub fn lies_down(&self) -> bool {
        self.worst_stretch() <= MOST_STRETCH && self.shear.0 <= MOST_SHEAR
    }

    /// How wide it is across its warp (mm).
    #[must_use]
    pub fn across(&self, turn: f64) -> f64 {
        let weft = Vector2::new(-turn.sin(), turn.cos());
        let spans = self.outline.iter().map(|p| p.coords.dot(&weft));
        let (low, high) = spans.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
            (a.min(v), b.max(v))
        });
        high - low
    }
}

/// The pieces of one or more plies that are cut alike.
#[derive(Debug, Clone, PartialEq)]
pub struct ClothSet {
    /// Numbers of the plies, from 1.
    pub plies: Vec<usize>,
    /// The cloth.
    pub ply: Ply,
    /// Its pieces, from the maker's left.
    pub pieces: Vec<ClothPiece>,
    /// Stretches that no piece could be laid out for, from and to (arc length, mm).
    pub bare: Vec<[f64; 2]>,
}

impl ClothSet {
    /// What the pieces of one ply measure together (mm2).
    #[must_use]
    pub fn area(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.area).sum()
    }
}

/// Direction of the warp within half a turn, or within a quarter where warp and weft are alike (rad).
fn direction(ply: &Ply) -> f64 {
    let period = match ply.cloth {
        Cloth::Woven => FRAC_PI_2,
        Cloth::Unidirectional => PI,
    };
    let turn = ply.turn.rem_euclid(period);
    // What is a hair under a whole period is none.
    if period - turn < 1e-9 { 0.0 } else { turn }
}

/// Whether two directions of a warp (rad) are one.
fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

/// Cuts the cloth for every ply. Plies whose fibres run alike share their pieces, but for every second of
/// them seams are moved over by twice the lap, so that laps do not lie on each other.
#[must_use]
pub fn cut_cloth(
    covered: &Covered,
    spine: &Spine,
    plies: &[Ply],
    options: &CutOptions,
) -> (Vec<ClothSet>, Vec<Finding>) {
    // Every second ply of a direction is cut with its laps moved, so that they do not pile up.
    let mut counts: Vec<(f64, usize)> = Vec::new();
    let cuts: Vec<(f64, usize)> = plies
        .iter()
        .map(|ply| {
            let turn = direction(ply);
            let before = match counts.iter_mut().find(|(other, _)| alike(*other, turn)) {
                Some((_, count)) => {
                    *count += 1;
                    *count - 1
                }
                None => {
                    counts.push((turn, 1));
                    0
                }
            };
            (turn, before % 2)
        })
        .collect();
    let same = |a: (f64, usize), b: (f64, usize)| alike(a.0, b.0) && a.1 == b.1;
    let mut ways: Vec<(f64, usize)> = Vec::new();
    for &cut in &cuts {
        if !ways.iter().any(|way| same(*way, cut)) {
            ways.push(cut);
        }
    }
    // Laying a piece flat takes long, and no way of cutting needs another's pieces.
    let pieces: Vec<_> = ways
        .par_iter()
        .map(|&(turn, moved)| {
            let moved = 2.0 * options.overlap_mm * moved as f64;
            Cutter {
                covered,
                spine,
                turn,
                moved,
                options,
            }
            .pieces()
        })
        .collect();
    let mut sets: Vec<(ClothSet, (f64, usize))> = Vec::new();
    for (i, (ply, &cut)) in plies.iter().zip(&cuts).enumerate() {
        let known = sets
            .iter_mut()
            .find(|(set, other)| same(*other, cut) && set.ply.is_cut_from(ply));
        if let Some((set, _)) = known {
            set.plies.push(i + 1);
            continue;
        }
        let of = ways.iter().zip(&pieces).find(|(way, _)| same(**way, cut));
        let (pieces, bare) = of.map_or_else(Default::default, |(_, pieces)| pieces.clone());
        let set = ClothSet {
            plies: vec![i + 1],
            ply: *ply,
            pieces,
            bare,
        };
        sets.push((set, cut));
    }
    let sets: Vec<ClothSet> = sets.into_iter().map(|(set, _)| set).collect();
    let findings = judge(&sets, options);
    (sets, findings)
}

fn judge(sets: &[ClothSet], options: &CutOptions) -> Vec<Finding> {
    let mut found = Vec::new();
    let all = || {
        sets.iter()
            .flat_map(|set| set.pieces.iter().map(move |piece| (set, piece)))
    };
    let name = |set: &ClothSet| {
        let numbers: Vec<String> = set.plies.iter().map(usize::to_string).collect();
        format!("ply {}", numbers.join(" and "))
    };
    if let Some((set, [from, to])) = (sets.iter()).find_map(|set| Some((set, *set.bare.first()?))) {
        found.push(
            Finding::warning(
                "cloth-cannot-be-laid-out",
                format!(
                    "there is no pattern for {} between {from:.0} and {to:.0} mm: the surface folds over as it is laid flat",
                    name(set)
                ),
                "take a pattern there from the part with paper, and cut darts",
            )
            .at(0.5 * (from + to)),
        );
    }
    if let Some((set, piece)) = all()
        .filter(|(_, piece)| !piece.lies_down())
        .max_by(|a, b| a.1.worst_stretch().total_cmp(&b.1.worst_stretch()))
    {
        found.push(
            Finding::warning(
                "cloth-does-not-lie",
                format!(
                    "{} stretches by {:.1} % along its fibres and shears by {:.0} degrees between {:.0} and {:.0} mm even in short pieces",
                    name(set),
                    100.0 * piece.worst_stretch(),
                    piece.shear.0.to_degrees(),
                    piece.along[0],
                    piece.along[1]
                ),
                "cut darts there and lap them, or use a looser weave or mat",
            )
            .at(0.5 * (piece.along[0] + piece.along[1])),
        );
    }
    if let Some((set, piece)) = all()
        .filter(|(_, piece)| piece.lies_down() && piece.shear.0 > SHEAR_SHOWS)
        .max_by(|a, b| a.1.shear.0.total_cmp(&b.1.shear.0))
    {
        found.push(
            Finding::warning(
                "cloth-shears",
                format!(
                    "{} shears by {:.0} degrees on its way round the bend",
                    name(set),
                    piece.shear.0.to_degrees()
                ),
                "work it down from the middle outward, and cut a dart if it creases; it is thicker there",
            )
            .at(piece.shear.1),
        );
    }
    if let Some((set, piece)) = all()
        .map(|(set, piece)| ((set, piece), piece.across(direction(&set.ply))))
        .filter(|(_, across)| *across > options.roll_mm)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(at, _)| at)
    {
        let across = piece.across(direction(&set.ply));
        found.push(
            Finding::warning(
                "cloth-wider-than-roll",
                format!(
                    "a piece of {} is {across:.0} mm across its warp, and the roll is {:.0} mm wide",
                    name(set),
                    options.roll_mm
                ),
                "use a wider roll, or turn the ply",
            )
            .at(piece.along[0])
            .size(across),
        );
    }
    found
}

/// What cuts one way of fibres.
struct Cutter<'a> {
    covered: &'a Covered,
    spine: &'a Spine,
    turn: f64,
    /// Seams are moved over by so much (mm).
    moved: f64,
    options: &'a CutOptions,
}

impl Cutter<'_> {
    /// The pieces, from left to right: the whole, halved until each lies down; and what none could be laid
    /// out for.
    fn pieces(&self) -> (Vec<ClothPiece>, Vec<[f64; 2]>) {
        self.pieces_between(self.covered.ends())
    }

    fn pieces_between(&self, [from, to]: [f64; 2]) -> (Vec<ClothPiece>, Vec<[f64; 2]>) {
        let [first, _] = self.covered.ends();
        let lap = from > first;
        let start = if lap {
            from - self.options.overlap_mm
        } else {
            from
        };
        let start = start.max(first);
        let room = 0.5 * (to - from) - self.moved - LEAST_PIECE_MM;
        let lap_to = lap.then_some(from);
        let long = to - from > self.options.piece_mm;
        let hopeless = || room >= 0.0 && self.is_hopeless([start, to], lap_to);
        let piece = (!long && !hopeless())
            .then(|| self.piece([start, to], lap_to, 1.0))
            .flatten();
        let fits = |piece: &ClothPiece| {
            piece.lies_down() && piece.across(self.turn) <= self.options.roll_mm
        };
        match piece {
            Some(piece) if fits(&piece) || room < 0.0 => (vec![piece], Vec::new()),
            None if room < 0.0 => (Vec::new(), vec![[from, to]]),
            _ => {
                let middle = 0.5 * (from + to) + self.moved;
                let (mut left, right) = rayon::join(
                    || self.pieces_between([from, middle]),
                    || self.pieces_between([middle, to]),
                );
                left.0.extend(right.0);
                left.1.extend(right.1);
                left
            }
        }
    }

    /// Whether a first look at a long piece already shows that it does not lie down.
    fn is_hopeless(&self, [from, to]: [f64; 2], lap_to: Option<f64>) -> bool {
        to - from >= LEAST_ROWS * FIRST_LOOK * ROW_MM
            && (self.piece([from, to], lap_to, FIRST_LOOK)).is_some_and(|piece| {
                piece.shear.0 > MOST_SHEAR + SURELY_SHEARED
                    || piece.worst_stretch() > SURELY_STRETCHED * MOST_STRETCH
            })
    }

    /// The surface between two stations laid flat, with meshes so many times as long as they should be.
    fn piece(&self, [from, to]: [f64; 2], lap_to: Option<f64>, longer: f64) -> Option<ClothPiece> {
        let net = Net::new(self, [from, to], lap_to, longer)?;
        let weave = Weave {
            turn: self.turn,
            shear_share: SHEAR_SHARE,
        };
        let laid = [net.unrolled(), Some(net.even())]
            .into_iter()
            .flatten()
            .find_map(|start| flatten(&net.mesh, &start, net.held(), weave))?;
        let found = strains(&net.mesh, &laid, self.turn)?;
        Some(net.piece([from, to], lap_to, &laid, &found))
    }
}

/// The surface between two stations as a grid, row by row.
struct Net<'a> {
    places: Vec<f64>,
    /// Points in a row, and which of them lie on the part's lower and upper edge.
    across: usize,
    edges: [usize; 2],
    mesh: Grid,
    trim: [f64; 2],
    covered: &'a Covered,
}

impl<'a> Net<'a> {
    fn new(
        cutter: &Cutter<'a>,
        [from, to]: [f64; 2],
        lap_to: Option<f64>,
        longer: f64,
    ) -> Option<Self> {
        let covered = cutter.covered;
        let row_mm = (ROW_MM * longer).min((to - from) / LEAST_ROWS);
        let mut places = Covered::places(from, to, row_mm);
        let mut marks = ticks_between(covered, from, to);
        marks.extend(covered.trim);
        marks.extend(lap_to);
        marks.retain(|s| from < *s && *s < to);
        // A row at every mark, and none so close to one that triangles become needles.
        places.retain(|s| {
            *s == from || *s == to || marks.iter().all(|mark| (mark - s).abs() > 0.2 * row_mm)
        });
        marks.retain(|s| s - from > 1e-6 && to - s > 1e-6);
        places.extend(marks);
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        // As many corners between two of a row's as its longest run asks for anywhere.
        let corners = covered.corners();
        let flat: Vec<Vec<Point2>> = places.iter().map(|s| covered.flat_row(*s)).collect();
        let parts: Vec<usize> = (1..corners)
            .map(|j| {
                let longest = (flat.iter())
                    .filter_map(|row| Some((row.get(j)? - row.get(j - 1)?).norm()))
                    .fold(0.0, f64::max);
                (longest / (CORNER_MM * longer)).ceil().max(1.0) as usize
            })
            .collect();
        let across = parts.iter().sum::<usize>() + 1;
        let edges = [*parts.first()?, across - 1 - *parts.last()?];
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
            across,
            edges,
            mesh,
            trim: covered.trim,
            covered,
        })
    }

    fn at(&self, i: usize, j: usize) -> Point3 {
        self.mesh.points[i * self.across + j]
    }

    /// Two points of the middle line, on both sides of the middle, between which the fibres are to run as
    /// asked for.
    fn held(&self) -> [usize; 2] {
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
    fn unrolled(&self) -> Option<Vec<Point2>> {
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
    fn even(&self) -> Vec<Point2> {
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

    fn piece(
        &self,
        along: [f64; 2],
        lap_to: Option<f64>,
        flat: &[Point2],
        found: &[Strain],
    ) -> ClothPiece {
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
        let from = near(self.trim[0]).unwrap_or(0);
        let to = near(self.trim[1]).unwrap_or(rows - 1);
        let trimmed = |i: usize| -> Vec<Point2> {
            (self.edges[0]..=self.edges[1])
                .map(|j| point(i, j))
                .collect()
        };
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
            edges: self.edges.map(|j| column(j, from, to)),
            ends: (self.covered.trim.iter())
                .filter_map(|s| near(*s))
                .map(trimmed)
                .collect(),
            lap: lap_to.and_then(near).map(row),
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

#[cfg(test)]
#[path = "cloth_tests.rs"]
mod tests;
