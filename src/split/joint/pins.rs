//! Where the pins of a bulkhead stand: inside of the section with a wall all round, as far apart as can
//! be, and for each joint in places of its own.

use super::super::PrinterOptions;
use super::hidden::inset;
use crate::math::{Point2, StationFrame};
use crate::mesh::TriMesh;

/// How far a pin reaches past the cut (mm): what it stops a wrong pair short by.
pub(in crate::split) const PIN_LONG_MM: f64 = 8.0;
/// Half diagonals of the larger and the smaller pin (mm); the second pair where the first has no room.
const SIZES_MM: [[f64; 2]; 2] = [[5.0, 3.5], [3.5, 2.5]];
/// Wall left round a socket (mm).
pub(super) const ROUND_MM: f64 = 2.5;
/// Spacing of the places tried (mm), and most of them for one joint.
const GRID_MM: f64 = 2.0;
const MOST_PLACES: usize = 400;
/// The pins of one joint stand this far apart at least (mm), in height or, on one level, across.
const APART_MM: f64 = 10.0;
/// No pin of another joint is where it could go into this one's socket: that far off (mm).
const DIFFERS_MM: f64 = 3.0;

/// The two pins of a joint in its station plane: middles (x outward, z up) and half diagonals (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pins {
    pub(super) middles: [Point2; 2],
    pub(super) halves: [f64; 2],
    section: Section,
}

/// Lowest and highest point of a section in its station plane (mm). Ends are held foot on foot, or upside down
/// with their middles at one height; where a web is joined a tongue beside it looks after low ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Section {
    low: f64,
    high: f64,
}

impl Section {
    /// One that every pin meets.
    pub(super) const ENDLESS: Self = Self {
        low: 0.0,
        high: f64::INFINITY,
    };

    pub(super) fn new([low, high]: [f64; 2]) -> Self {
        if low < high {
            Self { low, high }
        } else {
            Self::ENDLESS
        }
    }
}

impl Pins {
    pub(super) fn all(&self) -> impl Iterator<Item = (Point2, f64)> + use<> {
        self.middles.into_iter().zip(self.halves)
    }

    /// Whether this one's pins could go into the other's sockets, or over its section. Both have their larger
    /// pin lower, or on one level further inboard, so no half turn takes one for the other.
    fn fits(&self, other: &Self) -> bool {
        let passes = |k: usize| {
            let off = (self.middles[k] - other.middles[k]).amax();
            off < DIFFERS_MM + self.looser(other, k) || self.is_over(k, other.section)
        };
        passes(0) && passes(1)
    }

    /// Whether a pin passes over an end that is held foot on foot.
    fn is_over(&self, k: usize, end: Section) -> bool {
        let up = self.middles[k].y - self.section.low;
        up + self.halves[k] / 2.0 > end.high - end.low
    }

    /// Whether an end without sockets at their places lets the pins pass: upright over it, or upside down
    /// over and under it.
    fn passes_by(&self, end: Section) -> bool {
        let middle = f64::midpoint(self.section.low, self.section.high);
        let tall = end.high - end.low;
        let beside = |k: usize| {
            let off = (self.middles[k].y - middle).abs() + self.halves[k] / 2.0;
            off > tall / 2.0
        };
        let over = self.is_over(0, end) && self.is_over(1, end);
        over || (middle.is_finite() && beside(0) && beside(1))
    }

    /// Whether they would after a shift in the station plane: feet and walls of two joints need not lie at one
    /// place of it.
    fn fits_shifted(&self, other: &Self) -> bool {
        let apart = |pins: &Self| pins.middles[1] - pins.middles[0];
        let off = (apart(self) - apart(other)).amax();
        off < DIFFERS_MM + self.looser(other, 0) + self.looser(other, 1) || self.fits(other)
    }

    /// How much looser than its own a smaller pin sits in the socket of a larger one (mm).
    fn looser(&self, other: &Self, k: usize) -> f64 {
        (self.halves[k] - other.halves[k]).abs()
    }
}

/// A place for a pin, and how far it stands inside of the section (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    at: Point2,
    inside: f64,
}

/// What a plane square to the spine cuts out of a mesh, as strokes in the station plane.
pub(super) struct Slice {
    strokes: Vec<[Point2; 2]>,
}

impl Slice {
    /// The slice so far past a station plane (mm), of what lies between two offsets and no farther out.
    pub(super) fn new(mesh: &TriMesh, frame: &StationFrame, past: f64, across: [f64; 2]) -> Self {
        let off = |i: u32| {
            let p = mesh.points[i as usize];
            (p, (p - frame.origin).dot(&frame.along) - past)
        };
        let mut strokes = Vec::new();
        for t in &mesh.triangles {
            let corners = t.map(off);
            let below = corners.iter().filter(|c| c.1 <= 0.0).count();
            if below == 0 || below == 3 {
                continue;
            }
            let mut ends = Vec::with_capacity(2);
            for k in 0..3 {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                if (a.1 <= 0.0) != (b.1 <= 0.0) {
                    let p = a.0 + (b.0 - a.0) * (a.1 / (a.1 - b.1));
                    ends.push(frame.to_section(p));
                }
            }
            if let [a, b] = ends[..] {
                let within = |p: &Point2| p.x > across[0] - 1.0 && p.x < across[1] + 1.0;
                if within(&a) && within(&b) {
                    strokes.push([a, b]);
                }
            }
        }
        Self { strokes }
    }

    /// A closed outline.
    pub(super) fn of(corners: &[Point2]) -> Self {
        let next = corners.iter().cycle().skip(1);
        Self {
            strokes: corners.iter().zip(next).map(|(a, b)| [*a, *b]).collect(),
        }
    }

    /// How far inside of the section a point lies (mm), negative outside.
    pub(super) fn inside(&self, p: Point2) -> f64 {
        let mut crossings = 0_usize;
        let mut least = f64::INFINITY;
        for [a, b] in &self.strokes {
            if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y) {
                crossings += 1;
            }
            let edge = b - a;
            let share = (p - a).dot(&edge) / edge.norm_squared().max(1e-18);
            least = least.min((a + edge * share.clamp(0.0, 1.0) - p).norm());
        }
        if crossings % 2 == 1 { least } else { -least }
    }

    fn bounds(&self) -> Option<[Point2; 2]> {
        self.strokes.iter().flatten().fold(None, |found, p| {
            Some(found.map_or([*p, *p], |[a, b]: [Point2; 2]| [a.inf(p), b.sup(p)]))
        })
    }
}

/// The places on a grid that lie inside of all slices, with the least distance from their outlines.
pub(super) fn find_spots(slices: &[Slice], printer: &PrinterOptions) -> Vec<Spot> {
    let Some([low, high]) = slices.first().and_then(Slice::bounds) else {
        return Vec::new();
    };
    let need = need(SIZES_MM[1][1], printer);
    let mut grid = GRID_MM;
    loop {
        let count = |a: f64, b: f64| ((b - a) / grid).floor().max(0.0) + 1.0;
        let steps = [count(low.x, high.x), count(low.y, high.y)];
        if steps[0] * steps[1] > 20.0 * MOST_PLACES as f64 {
            grid *= 2.0;
            continue;
        }
        // On whole multiples of the grid, so that joints differ by whole steps.
        let first = [low.x, low.y].map(|v| (v / grid).ceil() * grid);
        let mut spots = Vec::new();
        for i in 0..steps[0] as usize {
            for k in 0..steps[1] as usize {
                let at = Point2::new(first[0] + grid * i as f64, first[1] + grid * k as f64);
                let inside =
                    (slices.iter().map(|slice| slice.inside(at))).fold(f64::INFINITY, f64::min);
                if inside >= need {
                    spots.push(Spot { at, inside });
                }
            }
        }
        if spots.len() <= MOST_PLACES {
            return spots;
        }
        grid *= 2.0;
    }
}

/// How far inside of the section the middle of a pin must lie (mm).
fn need(half: f64, printer: &PrinterOptions) -> f64 {
    half + printer.fit_mm * std::f64::consts::SQRT_2 + ROUND_MM
}

/// A hidden face this high has room for the pins of a bulkhead (mm): the smaller pair, one over the other in
/// a web whose underside rises at 45 degrees, a step of the grid left to each of them.
pub(in crate::split) fn least_pinned_mm(printer: &PrinterOptions) -> f64 {
    let [large, small] = SIZES_MM[1].map(|half| need(half, printer));
    let up = large * (1.0 + std::f64::consts::SQRT_2) + APART_MM + small + 2.0 * GRID_MM;
    // Across there must be room as well, in a web half as deep as it is high.
    up.max(2.0 * (2.0 * large + GRID_MM)) + 2.0 * inset(printer)
}

/// The pins of all joints, and the joints whose pins another one's sockets take, as pairs.
///
/// `sections` are those of the joints, `free` those of the row's free ends.
pub(super) fn choose_pins(
    spots: &[Option<Vec<Spot>>],
    (sections, free): (&[Section], [Section; 2]),
    printer: &PrinterOptions,
) -> (Vec<Option<Pins>>, Vec<[usize; 2]>) {
    let mut chosen: Vec<Option<Pins>> = Vec::with_capacity(spots.len());
    let mut shared = Vec::new();
    for (joint, spots) in spots.iter().enumerate() {
        let spots = spots.as_deref().unwrap_or_default();
        let section = sections.get(joint).copied().unwrap_or(Section::ENDLESS);
        let ends: Vec<Section> = sections.iter().chain(&free).copied().collect();
        let taken: Vec<(usize, Pins)> = (chosen.iter().enumerate())
            .filter_map(|(i, pins)| Some((i, (*pins)?)))
            .collect();
        let last: Vec<(usize, Pins)> = taken.last().copied().into_iter().collect();
        // Unlike any other's wherever that is held, or at least where it should be, or then unlike the last
        // one's.
        let ways: [Way<'_>; 4] = [
            (&taken, &ends, Pins::fits_shifted),
            (&taken, &ends, Pins::fits),
            (&last, &ends, Pins::fits),
            (&last, &[], Pins::fits),
        ];
        let found = ways.into_iter().find_map(|(others, ends, alike)| {
            let good = |pins: &Pins| {
                !ends.iter().any(|&end| pins.passes_by(end))
                    && !(others.iter()).any(|(_, other)| alike(pins, other) || alike(other, pins))
            };
            SIZES_MM
                .iter()
                .find_map(|&halves| best_pair(spots, (halves, section), printer, good))
        });
        if let Some(pins) = found {
            let fits = |other: &Pins| pins.fits(other) || other.fits(&pins);
            let same = taken.iter().rev().find(|(_, other)| fits(other));
            shared.extend(same.map(|(i, _)| [*i, joint]));
        }
        chosen.push(found);
    }
    (chosen, shared)
}

/// The joints whose pins these must not be like, the ends that must not pass them by, and what is alike.
type Way<'a> = (&'a [(usize, Pins)], &'a [Section], Alike);

/// Whether two joints' pins are alike.
type Alike = fn(&Pins, &Pins) -> bool;

/// The two places furthest apart that are good.
fn best_pair(
    spots: &[Spot],
    (halves, section): ([f64; 2], Section),
    printer: &PrinterOptions,
    good: impl Fn(&Pins) -> bool,
) -> Option<Pins> {
    let [large, small] = halves.map(|half| need(half, printer));
    let mut best: Option<(f64, Pins)> = None;
    for a in spots.iter().filter(|spot| spot.inside >= large) {
        for b in spots.iter().filter(|spot| spot.inside >= small) {
            let apart = b.at - a.at;
            let above = apart.y >= APART_MM || (apart.y.abs() < 1e-9 && apart.x >= APART_MM);
            let length = apart.norm();
            if !above || best.as_ref().is_some_and(|found| found.0 >= length) {
                continue;
            }
            let pins = Pins {
                middles: [a.at, b.at],
                halves,
                section,
            };
            if good(&pins) {
                best = Some((length, pins));
            }
        }
    }
    best.map(|found| found.1)
}

#[cfg(test)]
impl Pins {
    pub(super) fn at(middles: [Point2; 2], halves: [f64; 2], section: Section) -> Self {
        Self {
            middles,
            halves,
            section,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outline() -> Slice {
        Slice::of(&[
            Point2::new(-40.0, 0.0),
            Point2::new(0.0, 0.0),
            Point2::new(0.0, 60.0),
            Point2::new(-40.0, 60.0),
        ])
    }

    #[test]
    fn pins_stand_inside_with_a_wall_round_them() {
        let printer = PrinterOptions::default();
        let spots = find_spots(&[outline()], &printer);
        let sections = [Section::new([0.0, 60.0]); 12];
        let of = (&sections[..], [sections[0]; 2]);
        let (pins, shared) = choose_pins(&vec![Some(spots); 12], of, &printer);
        assert!(shared.is_empty());
        for (i, one) in pins.iter().enumerate() {
            let one = one.unwrap();
            for (at, half) in one.all() {
                let room = (-at.x).min(at.x + 40.0).min(at.y).min(60.0 - at.y);
                assert!(
                    room >= half + 0.25 * 2f64.sqrt() + ROUND_MM - 1e-9,
                    "{one:?}"
                );
            }
            for other in &pins[..i] {
                let other = other.unwrap();
                let off = |k: usize| (one.middles[k] - other.middles[k]).amax();
                assert!(off(0).max(off(1)) >= DIFFERS_MM - 1e-9, "{one:?} {other:?}");
            }
        }
    }

    #[test]
    fn a_slim_section_has_no_room_for_pins() {
        let slim = Slice::of(&[
            Point2::new(-8.0, 0.0),
            Point2::new(0.0, 0.0),
            Point2::new(0.0, 60.0),
            Point2::new(-8.0, 60.0),
        ]);
        let printer = PrinterOptions::default();
        let spots = find_spots(&[slim], &printer);
        let of = (&[][..], [Section::ENDLESS; 2]);
        assert_eq!(choose_pins(&[Some(spots)], of, &printer).0, [None]);
    }

    #[test]
    fn a_hole_in_the_section_is_kept_clear_of() {
        let mut with_hole = outline();
        let hole: Vec<Point2> = (0..16)
            .map(|i| f64::from(i) * std::f64::consts::TAU / 16.0)
            .map(|a| Point2::new(-20.0 + 5.0 * a.cos(), 20.0 + 5.0 * a.sin()))
            .collect();
        with_hole.strokes.extend(Slice::of(&hole).strokes);
        let printer = PrinterOptions::default();
        let spots = find_spots(&[with_hole], &printer);
        let middle = Point2::new(-20.0, 20.0);
        assert!(spots.iter().all(|s| (s.at - middle).norm() > 5.0 + 2.5));
        assert!(spots.len() > 20);
    }
}
