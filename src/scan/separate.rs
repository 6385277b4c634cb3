//! One scan that holds everything: what of it is body, and what is tray.
//!
//! Every large near-plane patch is tried as the tray, with what stands over it as the body, and the datum
//! of each is set as if two files had been given. The tray is the patch that has the longest rim over it,
//! faces up as the body faces out, and lies highest; so neither the floor nor a flat side is taken. From
//! that datum the tray's local height is followed (trays are crowned and twisted), what stands free of it
//! is taken apart into pieces, and each goes to the side it belongs to: what hangs at the height of the
//! body's lower edge or above is body, what stands on the tray below that is tray.

use super::datum::{Datum, Facing, candidate_planes, find_datum, sample};
use super::rim_heights::RimHeights;
use super::tray_heights::TrayHeights;
use crate::math::plane_fit::{Patch, PlaneFit};
use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;
use crate::mesh::pieces::label_pieces;
use crate::mesh::weld::with_points_used;
use rayon::prelude::*;
use thiserror::Error;

/// Points in the scan (mm) the maker knows the part of.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Seeds {
    /// A point on the body.
    pub body: Option<Point3>,
    /// A point on the tray.
    pub tray: Option<Point3>,
}

/// Why a scan cannot be taken apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum SeparateFault {
    /// Nothing in it is a tray with a body over it.
    #[error("no flat surface with a body's edge over it was found in the scan")]
    NoTray,
    /// No flat surface near the tray's seed point has a body over it.
    #[error("`tray_seed` does not lie on a flat surface with a body's edge over it")]
    TraySeed,
    /// What holds the body's seed point was not taken for the body.
    #[error("`body_seed` does not lie on the body as it was found")]
    BodySeed,
}

impl SeparateFault {
    /// What the maker should do.
    #[must_use]
    pub fn hint(self) -> &'static str {
        match self {
            Self::NoTray => {
                "check that the scan shows the undertray's top and the body's edge above it; if it does, give `tray_seed` and `body_seed`, a point on each, in the job"
            }
            Self::TraySeed => "pick a point on the open part of the undertray's top, near the gap",
            Self::BodySeed => {
                "pick a point on the body's outside, a hand's breadth above its lower edge"
            }
        }
    }
}

/// What a triangle belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Belongs {
    /// The body.
    Body,
    /// The tray, with what stands on it.
    Tray,
    /// The floor and whatever else lies below the tray.
    Neither,
}

/// What lies further than this below the tray is not the tray (mm): a plate's own edge passes, a floor
/// under a wheel's height of clearance goes.
const BELOW_TRAY: f64 = 30.0;
/// Up to this height above the tray's local surface everything is tray (mm): noise and fusion's rounding.
const ON_TRAY: f64 = 6.0;
/// Patches of the tray lie within this of its plane when it is tried (mm).
const BAND: f64 = 24.0;
/// What stands at least this far over a plane is tried as its body (mm): clear of a crowned tray.
const OVER: f64 = 15.0;

/// Says for every triangle of a cleaned scan (mm, any pose) what it belongs to.
///
/// # Errors
/// [`SeparateFault`] where no tray with a body over it is found, or where the seeds contradict what was.
pub fn separate(mesh: &TriMesh, seeds: &Seeds) -> Result<Vec<Belongs>, SeparateFault> {
    let planes = candidate_planes(&sample(mesh));
    let largest = planes.first().map_or(0.0, |p| p.area);
    let tried: Vec<Option<(f64, Datum)>> = planes
        .par_iter()
        .map(|plane| try_plane(mesh, plane, largest, seeds))
        .collect();
    let best = tried
        .into_iter()
        .flatten()
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let Some((_, datum)) = best else {
        return Err(match seeds.tray {
            Some(_) => SeparateFault::TraySeed,
            None => SeparateFault::NoTray,
        });
    };
    let shop = Leveled::new(mesh, &datum);
    let belongs = shop.assign();
    if [Belongs::Body, Belongs::Tray]
        .iter()
        .any(|part| !belongs.contains(part))
    {
        return Err(SeparateFault::NoTray);
    }
    if let Some(seed) = seeds.body
        && nearest_triangle(mesh, seed).map(|t| belongs[t]) != Some(Belongs::Body)
    {
        return Err(SeparateFault::BodySeed);
    }
    Ok(belongs)
}

/// The triangles of one part, with the points they use.
#[must_use]
pub fn part_of(mesh: &TriMesh, belongs: &[Belongs], part: Belongs) -> TriMesh {
    let triangles = mesh.triangles.iter().zip(belongs);
    let own = triangles.filter(|(_, b)| **b == part).map(|(t, _)| *t);
    with_points_used(&mesh.points, own.collect())
}

/// The datum with this plane as the tray, and what speaks for it.
fn try_plane(
    mesh: &TriMesh,
    plane: &PlaneFit,
    largest: f64,
    seeds: &Seeds,
) -> Option<(f64, Datum)> {
    [1.0, -1.0]
        .into_iter()
        .filter_map(|side| {
            let height = |p: Point3| side * plane.height(p);
            if seeds.tray.is_some_and(|p| height(p).abs() > BAND)
                || seeds.body.is_some_and(|p| height(p) < 0.0)
            {
                return None;
            }
            let pick = |wanted: &dyn Fn([Point3; 3], usize) -> bool| {
                let all = 0..mesh.triangles.len();
                let wanted = all.filter(|&t| wanted(mesh.corners(t), t));
                with_points_used(&mesh.points, wanted.map(|t| mesh.triangles[t]).collect())
            };
            let body = pick(&|corners, _| corners.iter().all(|&p| height(p) > OVER));
            let tray = pick(&|corners, t| {
                corners.iter().all(|&p| height(p).abs() < BAND)
                    && mesh.area_vector(t).dot(&plane.normal) > 0.0
            });
            let datum = find_datum(&body, &tray).ok()?;
            // One scan faces one way all over; a side or the floor taken for the tray shows the body
            // from behind.
            let up = datum.to_shop * (side * plane.normal);
            if datum.body_facing != datum.tray_facing || up.z < 0.5 {
                return None;
            }
            let level = datum.rim.first()?.z;
            let length: f64 = datum.rim.windows(2).map(|w| (w[1] - w[0]).norm()).sum();
            let worth = length / (1.0 + 0.001 * level) * (plane.area / largest).sqrt();
            Some((worth, datum))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

fn nearest_triangle(mesh: &TriMesh, seed: Point3) -> Option<usize> {
    let off = |t: usize| {
        let [a, b, c] = mesh.corners(t).map(|p| p - seed);
        (a + b + c).norm_squared()
    };
    (0..mesh.triangles.len()).min_by(|&a, &b| off(a).total_cmp(&off(b)))
}

/// The scan in the shop frame, with what is known of the tray and the rim.
struct Leveled<'a> {
    mesh: &'a TriMesh,
    points: Vec<Point3>,
    /// Heights above the tray's local surface.
    heights: Vec<f64>,
    rim: &'a [Point3],
}

/// A piece that reaches this high over the tray is body, or what stands beside it (mm).
const TALL: f64 = 90.0;

impl<'a> Leveled<'a> {
    fn new(mesh: &'a TriMesh, datum: &'a Datum) -> Self {
        let points: Vec<Point3> = mesh.points.iter().map(|p| datum.to_shop * p).collect();
        let way = match datum.tray_facing {
            Facing::Outward => 1.0,
            Facing::Inward => -1.0,
        };
        let patches: Vec<Patch> = (0..mesh.triangles.len())
            .filter_map(|t| {
                let [a, b, c] = mesh.triangles[t].map(|i| points[i as usize]);
                let normal = (b - a).cross(&(c - a)) * way;
                Some(Patch {
                    at: Point3::from((a.coords + b.coords + c.coords) / 3.0),
                    area: 0.5 * normal.norm(),
                    normal: normal.try_normalize(1e-12)?,
                })
            })
            .filter(|p| p.normal.dot(&Vector3::z()) > 0.8)
            .collect();
        let tray = TrayHeights::new(&patches);
        let heights = points.par_iter().map(|p| p.z - tray.at(p.xy())).collect();
        Self {
            mesh,
            points,
            heights,
            rim: &datum.rim,
        }
    }

    fn least_and_most(&self, t: usize) -> (f64, f64) {
        let heights = self.mesh.triangles[t].map(|i| self.heights[i as usize]);
        heights
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), h| {
                (lo.min(*h), hi.max(*h))
            })
    }

    fn assign(&self) -> Vec<Belongs> {
        // Pieces of what stands free of the tray's surface.
        let free: Vec<usize> = (0..self.mesh.triangles.len())
            .filter(|&t| self.least_and_most(t).1 > ON_TRAY)
            .collect();
        let raised = TriMesh {
            points: self.points.clone(),
            triangles: free.iter().map(|&t| self.mesh.triangles[t]).collect(),
        };
        let (labels, pieces) = label_pieces(&raised);
        let mut span = vec![(f64::INFINITY, f64::NEG_INFINITY); pieces.len()];
        for (&t, &l) in free.iter().zip(&labels) {
            let (lo, hi) = self.least_and_most(t);
            let s = &mut span[l as usize];
            *s = (s.0.min(lo), s.1.max(hi));
        }
        let is_tall = |label: u32| span[label as usize].1 > TALL;
        let tall = free
            .iter()
            .zip(&labels)
            .filter(|(_, l)| is_tall(**l))
            .flat_map(|(&t, _)| self.mesh.triangles[t])
            .map(|i| (self.points[i as usize], self.heights[i as usize]));
        let edge = RimHeights::new(self.rim, tall, ON_TRAY);
        let mut belongs: Vec<Belongs> = (0..self.mesh.triangles.len())
            .map(|t| match self.least_and_most(t) {
                (_, most) if most < -BELOW_TRAY => Belongs::Neither,
                (least, _) if least < -BELOW_TRAY => Belongs::Neither,
                _ => Belongs::Tray,
            })
            .collect();
        for (&t, &l) in free.iter().zip(&labels) {
            let (lowest, highest) = span[l as usize];
            let stands_on_tray = lowest < ON_TRAY && highest <= TALL;
            let [a, b, c] = self.mesh.triangles[t].map(|i| i as usize);
            let middle = (self.heights[a] + self.heights[b] + self.heights[c]) / 3.0;
            let at = (self.points[a].coords + self.points[b].coords + self.points[c].coords) / 3.0;
            if !stands_on_tray && middle > 0.5 * edge.near(at.xy().into()) {
                belongs[t] = Belongs::Body;
            }
        }
        belongs
    }
}
