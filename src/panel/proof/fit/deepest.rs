//! The deepest place of the finished part inside either scan, looked for all over its surface.

use super::{Context, Deepest};
use crate::gap::{OBSTACLE_HEIGHT, Station};
use crate::math::locator::Locator;
use crate::math::robust::median;
use crate::math::{Point3, Vector3};
use crate::panel::Top;
use rayon::prelude::*;

/// Places on the surface lie no further apart than this (mm).
const STEP_MM: f64 = 4.0;
/// One place in some sixteen thousand of a normal distribution is further off than this many sigmas: a
/// panel has about as many places.
const OF_MANY: f64 = 4.0;

/// Two standard uncertainties hold 95 % (GUM 6.3.3).
const OF_ONE: f64 = 2.0;

/// Rings round a place that part a disc evenly: their radius as a share of the disc's, and places on each.
const RINGS: [(f64, u32); 2] = [(0.5, 6), (0.9, 12)];

/// Deepest places, each `None` where nothing touches.
pub struct Found {
    pub body: Option<Deepest>,
    pub tray: Option<Deepest>,
}

/// A place of the finished surface.
struct Place {
    at: Point3,
    s: f64,
}

pub fn find_deepest(context: &Context<'_>, body_noise_mm: f64, tray_scatter_mm: f64) -> Found {
    let places = places(context);
    let deepest = |depth: &(dyn Fn(&Place) -> Option<f64> + Sync),
                   explained: &dyn Fn(&Station) -> f64| {
        let depths: Vec<Option<f64>> = places.par_iter().map(depth).collect();
        let (place, mm) = places
            .iter()
            .zip(depths)
            .filter_map(|(place, depth)| depth.map(|depth| (place, depth)))
            .filter(|(_, depth)| *depth > 0.0)
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        let station = station_near(context, place.s)?;
        Some(Deepest {
            mm,
            explained_mm: explained(station),
            station_mm: place.s,
            at: place.at,
        })
    };
    Found {
        body: deepest(&|place| in_body(context, place), &|station| {
            OF_ONE * station.sigma + OF_MANY * body_noise_mm
        }),
        // What stands lower than that the survey calls no obstacle, and no flange is cut free of it.
        tray: deepest(&|place| in_tray(context, place), &|_| {
            OBSTACLE_HEIGHT.max(OF_MANY * tray_scatter_mm)
        }),
    }
}

fn station_near<'a>(context: &Context<'a>, s: f64) -> Option<&'a Station> {
    let near = |a: &&Station, b: &&Station| (a.s - s).abs().total_cmp(&(b.s - s).abs());
    context.survey.stations.iter().min_by(near)
}

/// Depth in the tray, as far as it holds over what the scan resolves: half of what lies within one edge
/// length round the place. No sampled surface shows what is narrower than two of its steps (Shannon 1949),
/// so what stands on a single point of a fused scan is the fusion's own.
fn in_tray(context: &Context<'_>, place: &Place) -> Option<f64> {
    let height = context.scans.height_over_tray(place.at)?;
    if height >= 0.0 {
        return None;
    }
    let mut near = vec![height];
    for (ring, count) in RINGS {
        let reach = ring * context.scans.tray_spacing_mm;
        near.extend((0..count).filter_map(|k| {
            let turn = std::f64::consts::TAU * f64::from(k) / f64::from(count);
            let aside = Vector3::new(turn.cos(), turn.sin(), 0.0) * reach;
            context.scans.height_over_tray(place.at + aside)
        }));
    }
    let depth = (-median(&mut near)?).min(-height);
    (depth > 0.0).then_some(())?;
    context.scans.to_tray(place.at).map(|way| way.min(depth))
}

fn in_body(context: &Context<'_>, place: &Place) -> Option<f64> {
    let paint = context.options.paint_mm;
    match context.panel.top {
        Top::Butted => {
            let under = context.scans.under.as_ref()?;
            let above = under.ray(place.at, Vector3::z(), super::REACH_OFF_MM);
            let below = under.ray(place.at, -Vector3::z(), super::REACH_IN_MM);
            // Inside is above the surface that faces down and nowhere below another.
            match (above, below) {
                (None, Some(_)) => Some(under.distance(place.at) + paint),
                (Some(way), _) if way < paint => Some(paint - under.distance(place.at)),
                _ => None,
            }
        }
        top @ (Top::Tucked | Top::Lapped) => {
            let frame = context.survey.spine.frame_at(place.s);
            let station = station_near(context, place.s)?;
            if place.at.z < station.edge.z + context.scans.rounding_mm || context.is_at_end(place.s)
            {
                return None;
            }
            let behind = context.scans.behind(place.at, frame.outward)? * station.lean.cos();
            Some(match top {
                Top::Lapped => behind + paint,
                Top::Tucked | Top::Butted => context.options.skin_mm + paint - behind,
            })
        }
    }
}

/// Places all over the finished surface: the print's, set out where it carries paint.
fn places(context: &Context<'_>) -> Vec<Place> {
    let mesh = context.panel.solid.mesh();
    let spine = &context.survey.spine;
    let locator = Locator::new(spine, 250.0, 20.0);
    (0..mesh.triangles.len())
        .into_par_iter()
        .flat_map_iter(|t| {
            let corners = mesh.corners(t);
            let normal = mesh.area_vector(t).try_normalize(1e-12);
            spread(corners).filter_map({
                let locator = &locator;
                move |at| {
                    let (s, _) = locator.locate(at.xy())?;
                    let normal = normal?;
                    // The visible face and the lip face outward; underside, land and hidden side do not.
                    let painted = normal.dot(&spine.outward_at(s)) > 0.5;
                    let over = if painted {
                        context.options.paint_mm + context.options.shape_at(s).overlay
                    } else {
                        0.0
                    };
                    Some(Place {
                        at: at + normal * over,
                        s,
                    })
                }
            })
        })
        .collect()
}

/// Places in a triangle, its corners among them, in rows no further apart than the step.
fn spread([a, b, c]: [Point3; 3]) -> impl Iterator<Item = Point3> {
    let longest = (b - a).norm().max((c - a).norm()).max((c - b).norm());
    let parts = (longest / STEP_MM).ceil().clamp(1.0, 200.0) as usize;
    (0..=parts).flat_map(move |i| {
        (0..=parts - i).map(move |k| {
            let (u, v) = (i as f64 / parts as f64, k as f64 / parts as f64);
            a + (b - a) * u + (c - a) * v
        })
    })
}
