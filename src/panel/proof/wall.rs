//! Measures the wall of the finished solid, normal to its surface.
//!
//! At each sample of the outside two things are measured: the way through along the inward normal, and
//! the distance to the closest point of the surface across the wall. The second is what a ball between
//! the surfaces would see and is never fooled by a normal that runs askew to the far side.

use crate::diag::Finding;
use crate::math::{Point2, Point3, Vector3};
use crate::mesh::{Solid, nearest::Nearest};
use crate::panel::ends::Ends;
use crate::panel::loft::Loft;
use crate::panel::outboard;
use crate::panel::section::Corners;
use crate::panel::{PanelOptions, Section, Shape};
use rayon::prelude::*;
use std::ops::Range;

/// Least and most wall that pass, as shares of what was asked.
const LEAST_SHARE: f64 = 0.97;
const MOST_SHARE: f64 = 1.15;
/// A ray starts this far under the surface (mm), so as not to meet the triangle it leaves from.
const START_MM: f64 = 0.01;

/// A wall thickness and where it was met.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extreme {
    /// Thickness (mm).
    pub mm: f64,
    /// What was asked there (mm).
    pub asked_mm: f64,
    /// Arc length along the spine (mm).
    pub station_mm: f64,
}

impl Extreme {
    /// The thickness as a share of what was asked.
    #[must_use]
    pub fn share(&self) -> f64 {
        self.mm / self.asked_mm
    }
}

/// Least and most wall of one part of the panel, by what was asked there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thickness {
    /// Thinnest place.
    pub least: Extreme,
    /// Thickest place.
    pub most: Extreme,
    /// How many places were measured.
    pub samples: usize,
}

/// The measured wall. A part is `None` where the panel has none of it, or none far enough from corners,
/// ends and cuts to say anything.
#[derive(Debug, Clone, PartialEq)]
pub struct WallProof {
    /// What was asked at the foot where nothing changes along the spine (mm).
    pub asked_mm: f64,
    /// The visible face.
    pub face: Option<Thickness>,
    /// The lip behind a cut edge.
    pub lip: Option<Thickness>,
    /// The foot flange.
    pub flange: Option<Thickness>,
    /// The walls of returned ends.
    pub end: Option<Thickness>,
}

impl WallProof {
    /// The same wall on the mirror image of a panel along a spine of this length (mm).
    #[must_use]
    pub fn mirrored(&self, length: f64) -> Self {
        let at = |e: Extreme| Extreme {
            station_mm: length - e.station_mm,
            ..e
        };
        let part = |part: Option<Thickness>| {
            part.map(|t| Thickness {
                least: at(t.least),
                most: at(t.most),
                ..t
            })
        };
        Self {
            asked_mm: self.asked_mm,
            face: part(self.face),
            lip: part(self.lip),
            flange: part(self.flange),
            end: part(self.end),
        }
    }

    /// Least and most wall as shares of what was asked, over all parts; `None` where nothing could be
    /// measured.
    #[must_use]
    pub fn range(&self) -> Option<[f64; 2]> {
        self.over_all(Extreme::share)
    }

    /// Thinnest and thickest of those places (mm).
    #[must_use]
    pub fn met_mm(&self) -> Option<[f64; 2]> {
        self.over_all(|at| at.mm)
    }

    /// Least and most that was asked at those places (mm).
    #[must_use]
    pub fn asked_range(&self) -> Option<[f64; 2]> {
        self.over_all(|at| at.asked_mm)
    }

    fn over_all(&self, of: fn(&Extreme) -> f64) -> Option<[f64; 2]> {
        let parts = [self.face, self.lip, self.flange, self.end];
        let all = (parts.iter().flatten()).flat_map(|part| [of(&part.least), of(&part.most)]);
        let range = all.fold([f64::INFINITY, 0.0], |[a, b], mm| [mm.min(a), mm.max(b)]);
        range.into_iter().all(f64::is_finite).then_some(range)
    }

    /// A warning where the wall is not what was asked: under 97 % or over 115 % of it.
    #[must_use]
    pub fn finding(&self) -> Option<Finding> {
        let parts = [
            ("face", self.face),
            ("lip", self.lip),
            ("flange", self.flange),
            ("end", self.end),
        ];
        let far = |at: Extreme| (at.share() - 1.0).abs();
        parts
            .into_iter()
            .filter_map(|(name, part)| part.map(|part| (name, part)))
            .flat_map(|(name, part)| [(name, part.least), (name, part.most)])
            .filter(|(_, at)| !(LEAST_SHARE..=MOST_SHARE).contains(&at.share()))
            .max_by(|a, b| far(a.1).total_cmp(&far(b.1)))
            .map(|(name, at)| {
                Finding::warning(
                    "wall-off",
                    format!(
                        "the wall of the {name} is {:.2} mm where {:.2} mm was asked",
                        at.mm, at.asked_mm
                    ),
                    "the gap changes too fast there for an even wall: look at that place before printing",
                )
                .at(at.station_mm)
                .size(at.mm)
            })
    }
}

/// Where the panel was cut or added to after the loft, and its wall is not what was lofted.
#[derive(Debug, Clone, Default)]
pub struct Away {
    /// First and last arc length of each such stretch (mm).
    pub stretches: Vec<[f64; 2]>,
    /// Round holes and bosses.
    pub balls: Vec<Ball>,
}

/// A place and the room round it.
#[derive(Debug, Clone, Copy)]
pub struct Ball {
    /// Its middle (shop frame, mm).
    pub at: Point3,
    /// Its radius (mm).
    pub radius_mm: f64,
}

impl Ball {
    fn misses(&self, at: Point3) -> bool {
        (at - self.at).norm() > self.radius_mm
    }
}

/// What a panel was lofted as.
#[derive(Debug, Clone, Copy)]
pub struct Lofts<'a> {
    /// Without a flange that runs outboard.
    pub bare: &'a Loft,
    /// With it, where there is one.
    pub flanged: Option<&'a Loft>,
}

/// Measures face, lip and flange of `solid`, which was lofted through `sections` and then shaped at its
/// `ends`, away from where it was cut or added to. Places within a wall and a fillet of a corner, an end or
/// a cut are left out; on a lip too short for that, within a wall. Where the panel fades, what is left of it
/// is measured.
#[must_use]
pub fn prove(
    solid: &Solid,
    lofts: Lofts<'_>,
    sections: &[Section],
    corners: Corners,
    away: &Away,
    ends: &Ends,
    options: &PanelOptions,
) -> WallProof {
    let loft = lofts.bare;
    let through = Nearest::new(solid.mesh());
    let shapes: Vec<Shape> = loft.along.iter().map(|&s| options.shape_at(s)).collect();
    let most = |of: fn(&Shape) -> f64| shapes.iter().map(of).fold(0.0, f64::max);
    let wall = most(Shape::thickest);
    let mut margin = wall + most(|shape| shape.fillet);
    if lofts.flanged.is_some() {
        // The face begins on top of the flange, not at the foot.
        margin += wall;
    }
    let field = Field {
        loft,
        sections,
        sharp: corners.sharp(),
        away,
        ends,
        knee: corners.knee(),
        fillet: [corners.fillet(), corners.fillet_end()],
        shapes,
        wall,
        margin,
    };
    let [face, lip, flange] = corners.walls();
    let measure = |(outside, inside): (Range<usize>, Range<usize>), part| {
        let across = Nearest::new(&loft.strip(inside))?;
        let samples = field.samples(outside, part);
        let measured: Vec<Measured> = samples
            .par_iter()
            .map(|sample| {
                let closest = across.distance(sample.at);
                let from = sample.at - sample.normal * START_MM;
                let reach = 20.0 * wall;
                let ray = through
                    .as_ref()
                    .and_then(|mesh| mesh.ray(from, -sample.normal, reach))
                    .map_or(closest, |way| way + START_MM);
                Measured {
                    s: sample.s,
                    asked: sample.asked,
                    mm: [closest.min(ray), closest.max(ray)],
                }
            })
            .collect();
        summary(&measured)
    };
    WallProof {
        asked_mm: options.wall_mm,
        face: measure(face, Part::Face),
        lip: measure(lip, Part::Lip),
        flange: match lofts.flanged {
            None => measure(flange, Part::Flange),
            Some(loft) => outboard_flange(&field, loft, through.as_ref()),
        },
        end: through
            .as_ref()
            .and_then(|mesh| end_walls(mesh, ends, away, margin, options)),
    }
}

/// The wall of a flange that runs outboard, from its underside up, half a wall within its tip and away
/// from the fillet.
fn outboard_flange(field: &Field<'_>, loft: &Loft, through: Option<&Nearest>) -> Option<Thickness> {
    let [under, top] = outboard::edges();
    let across = Nearest::new(&loft.strip(top))?;
    let mesh = loft.mesh();
    let mut measured = Vec::new();
    for (outline, section) in field.sections.iter().enumerate() {
        let (shape, s) = (&field.shapes[outline], section.s);
        let flange = section.outboard.as_deref()?;
        let corner = |k: usize| mesh.points[outline * loft.count + k];
        let (foot, tip) = (corner(under.start), corner(under.end));
        let depth = (tip - foot).norm();
        // From where the fillet ends to half a wall within the tip.
        let [from, to] = [flange[5].x - flange[0].x, depth - shape.wall];
        for share in [0.1, 0.5, 0.9] {
            let x = from + (to - from) * share;
            let flat = flange[0] + (flange[2] - flange[0]) * (x / depth);
            let middle = corner(under.start + 1);
            // Two straight pieces, from foot over the middle to the tip.
            let half = (middle - foot).norm();
            let at = if x < half {
                foot + (middle - foot) * (x / half)
            } else {
                middle + (tip - middle) * ((x - half) / (depth - half).max(1e-9))
            };
            let off_balls = field.away.balls.iter().all(|ball| ball.misses(at));
            if to <= from || !field.is_clear(s, flat) || !off_balls {
                continue;
            }
            let closest = across.distance(at);
            let from = at + Vector3::z() * START_MM;
            let way = through
                .and_then(|mesh| mesh.ray(from, Vector3::z(), 20.0 * field.wall))
                .map_or(closest, |way| way + START_MM);
            measured.push(Measured {
                s,
                asked: shape.wall,
                mm: [closest.min(way), closest.max(way)],
            });
        }
    }
    summary(&measured)
}

/// The way through the walls of returned ends. A place whose ray leaves by a cut is none of theirs.
fn end_walls(
    mesh: &Nearest,
    ends: &Ends,
    away: &Away,
    margin: f64,
    options: &PanelOptions,
) -> Option<Thickness> {
    let mut measured = Vec::new();
    for wall in ends.walls() {
        let is_cut = |[from, to]: &[f64; 2]| {
            let room = options.wall_mm + margin;
            from - room < wall.s() && to + room > wall.s()
        };
        if away.stretches.iter().any(is_cut) {
            continue;
        }
        for (at, inward, s) in wall.places(margin) {
            let from = at + inward * START_MM;
            if let Some(way) = mesh.ray(from, inward, 20.0 * options.wall_mm) {
                let way = way + START_MM;
                measured.push(Measured {
                    s,
                    asked: options.wall_mm,
                    mm: [way, way],
                });
            }
        }
    }
    summary(&measured)
}

/// The wall at one place: least and most of the ways to measure it (mm).
struct Measured {
    s: f64,
    asked: f64,
    mm: [f64; 2],
}

fn summary(measured: &[Measured]) -> Option<Thickness> {
    let place = |at: &Measured, mm: f64| Extreme {
        mm,
        asked_mm: at.asked,
        station_mm: at.s,
    };
    let by = |k: usize| {
        move |a: &&Measured, b: &&Measured| (a.mm[k] / a.asked).total_cmp(&(b.mm[k] / b.asked))
    };
    let least = measured.iter().min_by(by(0))?;
    let most = measured.iter().max_by(by(1))?;
    Some(Thickness {
        least: place(least, least.mm[0]),
        most: place(most, most.mm[1]),
        samples: measured.len(),
    })
}

/// A place on the outside.
struct Sample {
    s: f64,
    at: Point3,
    normal: Vector3,
    /// Wall that was asked for there (mm).
    asked: f64,
}

/// What decides where the wall may be measured.
struct Field<'a> {
    loft: &'a Loft,
    sections: &'a [Section],
    sharp: Vec<usize>,
    away: &'a Away,
    ends: &'a Ends,
    /// Corner at the top of the face.
    knee: usize,
    /// Corners at the ends of the fillet: on the face, on the flange.
    fillet: [usize; 2],
    shapes: Vec<Shape>,
    /// The thickest wall (mm).
    wall: f64,
    margin: f64,
}

/// Parts whose corners are kept clear of in different ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part {
    Face,
    Lip,
    Flange,
}

/// Where in a triangle the samples lie, as shares of its corners.
const SPREAD: [[f64; 3]; 4] = [
    [1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0],
    [0.7, 0.15, 0.15],
    [0.15, 0.7, 0.15],
    [0.15, 0.15, 0.7],
];

/// The same on a lip, whose corners leave little more than its middle.
const MIDDLES: [[f64; 3]; 3] = [[0.5, 0.25, 0.25], [0.25, 0.5, 0.25], [0.25, 0.25, 0.5]];

impl Field<'_> {
    fn samples(&self, outside: Range<usize>, part: Part) -> Vec<Sample> {
        let mesh = self.loft.mesh();
        let mut samples = Vec::new();
        for side in self.loft.sides(outside.clone()) {
            let [a, b, c] = side.triangle.map(|i| mesh.points[i as usize]);
            let Some(normal) = (b - a).cross(&(c - a)).try_normalize(1e-12) else {
                continue;
            };
            let margin = self.margin_at(side.outline, &outside, part);
            let middles: &[[f64; 3]] = if part == Part::Lip { &MIDDLES } else { &[] };
            for &share in SPREAD.iter().chain(middles) {
                let (s, flat) = self.flat(side.triangle, share);
                let at = a.coords * share[0] + b.coords * share[1] + c.coords * share[2];
                let at = Point3::from(at);
                let clear = self.is_clear(s, flat) && self.is_off_corners(s, at, margin);
                let clear = clear && self.is_past_fillet(side.outline, s, flat, part);
                if clear && self.away.balls.iter().all(|ball| ball.misses(at)) {
                    let asked = self.asked(side.outline, s, flat, part);
                    samples.push(Sample {
                        s,
                        at,
                        normal,
                        asked,
                    });
                }
            }
        }
        samples
    }

    /// Wall that was asked for at a place between an outline and the next (mm).
    fn asked(&self, outline: usize, s: f64, flat: Point2, part: Part) -> f64 {
        let at = |i: usize| {
            let (shape, corners) = (&self.shapes[i], &self.sections[i].outline);
            let (foot, knee) = (corners[Corners::FOOT].y, corners[self.knee].y);
            match part {
                Part::Face => shape.wall_at((flat.y - foot) / (knee - foot).max(1e-9)),
                Part::Lip => shape.wall_top,
                Part::Flange => shape.wall,
            }
        };
        let (a, b) = (self.loft.along[outline], self.loft.along[outline + 1]);
        let share = (s - a) / (b - a);
        at(outline) * (1.0 - share) + at(outline + 1) * share
    }

    /// Whether the way square through a leaned face comes out above the fillet, and that through a flange
    /// inboard of it: where the face leans over the flange the fillet reaches further than its radius.
    fn is_past_fillet(&self, outline: usize, s: f64, flat: Point2, part: Part) -> bool {
        let [on_face, on_flange] = self.fillet;
        let (end, next) = match part {
            Part::Face => (on_face, on_face - 1),
            Part::Flange => (on_flange, on_flange + 1),
            Part::Lip => return true,
        };
        let (a, b) = (self.loft.along[outline], self.loft.along[outline + 1]);
        let share = (s - a) / (b - a);
        let corner = |k: usize| {
            let at = |i: usize| self.sections[i].outline[k];
            at(outline) + (at(outline + 1) - at(outline)) * share
        };
        let (end, next) = (corner(end), corner(next));
        (flat - end).dot(&(next - end)) >= 0.0
    }

    /// Distance to keep from corners (mm): the margin, or on a lip too short for it 0.45 of its length,
    /// but not less than the wall.
    fn margin_at(&self, outline: usize, outside: &Range<usize>, part: Part) -> f64 {
        let corners = &self.sections[outline].outline;
        match part {
            Part::Lip => {
                let length = (corners[outside.end] - corners[outside.start]).norm();
                self.margin.min((0.45 * length).max(self.wall))
            }
            Part::Face | Part::Flange => self.margin,
        }
    }

    /// Arc length and section coordinates of a place in a triangle.
    fn flat(&self, triangle: [u32; 3], share: [f64; 3]) -> (f64, Point2) {
        let mut s = 0.0;
        let mut flat = Point2::origin();
        for (i, share) in triangle.into_iter().zip(share) {
            let (outline, corner) = (i as usize / self.loft.count, i as usize % self.loft.count);
            s += self.loft.along[outline] * share;
            flat += self.sections[outline].outline[corner].coords * share;
        }
        (s, flat)
    }

    fn is_clear(&self, s: f64, flat: Point2) -> bool {
        let along = &self.loft.along;
        let inside = |from: f64, to: f64| s > from - self.margin && s < to + self.margin;
        let at_end = along.first().is_none_or(|&a| s < a + self.margin)
            || along.last().is_none_or(|&b| s > b - self.margin);
        let cut = &self.away.stretches;
        !at_end
            && !cut.iter().any(|&[from, to]| inside(from, to))
            && !self.ends.is_walled(s, self.margin)
            && flat.y + self.wall + self.margin <= self.ends.height_left(s)
    }

    /// Whether a place keeps clear of every sharp edge, in space: where the top falls steeply along the
    /// spine its edge comes nearer than it looks in the station plane, and the way through leaves by it.
    fn is_off_corners(&self, s: f64, at: Point3, margin: f64) -> bool {
        let (along, points) = (&self.loft.along, &self.loft.mesh().points);
        let from = along.partition_point(|&a| a < s - margin).saturating_sub(1);
        let to = along.partition_point(|&a| a <= s + margin);
        let last = along.len().saturating_sub(1);
        (from..to.min(last)).all(|outline| {
            self.sharp.iter().all(|&k| {
                let corner = |outline: usize| points[outline * self.loft.count + k];
                let (a, run) = (corner(outline), corner(outline + 1) - corner(outline));
                let way = (at - a).dot(&run) / run.norm_squared().max(1e-12);
                (at - (a + run * way.clamp(0.0, 1.0))).norm() >= margin
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wall_off_by_more_than_its_bounds_is_told_where_it_is_worst() {
        let at = |mm| Extreme {
            mm,
            asked_mm: 3.0,
            station_mm: 120.0,
        };
        let proof = |least, most| WallProof {
            asked_mm: 3.0,
            face: Some(Thickness {
                least: at(least),
                most: at(most),
                samples: 9,
            }),
            lip: None,
            flange: None,
            end: None,
        };
        assert_eq!(proof(2.92, 3.4).finding(), None);
        let told = proof(2.5, 3.4).finding().unwrap();
        assert!(
            told.code == "wall-off" && told.station_mm == Some(120.0) && told.size_mm == Some(2.5),
            "{told}"
        );
        assert_eq!(proof(2.95, 3.5).finding().unwrap().size_mm, Some(3.5));
    }
}
