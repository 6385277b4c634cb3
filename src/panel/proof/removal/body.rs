//! The body as it stands in the way, from a scan that only sees its outside.
//!
//! A fused scan carries on round an edge with a surface that is not there, and shows a back where it
//! looked at none. So near the edge what looks inboard is left out, since a scan from outside cannot see
//! it. A cut skin is put in from the survey: a slab as thick as the job says, from its edge up. The
//! rounding of the scan about that edge goes. Under a rolled edge nothing hangs lower than the surveyed
//! edge, which is the lowest point of the true skin: the survey has taken out what the fusion adds there.

use crate::gap::{EdgeKind, Survey};
use crate::math::locator::Locator;
use crate::math::{Point2, Point3};
use crate::mesh::TriMesh;
use crate::panel::lines::hidden_skin;
use crate::panel::{PanelOptions, Top};
use rayon::prelude::*;

/// How far inboard of the spine faces that look inboard are left out (mm): deeper than the false backs
/// that fused scans show, 10 to 25 mm behind the skin.
const INBOARD_MM: f64 = 60.0;
/// The same outboard: the skin may stand outside of the edge.
const OUTBOARD_MM: f64 = 25.0;
/// A face looks inboard, or down, if its normal does so by this much.
const LOOKS: f64 = 0.35;
/// The skin of a scan is rounded this far up from a cut edge (mm).
const ROUNDED_MM: f64 = 12.0;
/// A rounded edge hangs at most this far below the surveyed one (mm).
const BELOW_MM: f64 = 15.0;
/// How far inboard and outboard of a rolled edge the scan is held to it (mm): the return and the roll.
const ROLL_MM: [f64; 2] = [25.0, 15.0];
/// How far the slab goes up past a lip (mm).
const PAST_LIP_MM: f64 = 15.0;
/// Stations further apart than this are not joined by one slab (mm).
const JOINED_MM: f64 = 60.0;

/// The scan without what it cannot have seen, and with the skin of a cut edge put in.
pub(super) fn body_in_the_way(scan: &TriMesh, survey: &Survey, options: &PanelOptions) -> TriMesh {
    let locator = Locator::new(&survey.spine, INBOARD_MM + OUTBOARD_MM, OUTBOARD_MM);
    let edges: Vec<(f64, Point2)> = survey
        .stations
        .iter()
        .map(|station| {
            let frame = survey.spine.frame_at(station.s);
            (station.s, frame.to_section(station.edge))
        })
        .collect();
    let seen = |t: &[u32; 3]| -> bool {
        let corners = t.map(|i| scan.points.get(i as usize).copied());
        let [Some(a), Some(b), Some(c)] = corners else {
            return false;
        };
        let centre = Point3::from((a.coords + b.coords + c.coords) / 3.0);
        let Some(normal) = (b - a).cross(&(c - a)).try_normalize(1e-12) else {
            return true;
        };
        let Some((s, x, outward)) = locator.locate_facing(centre.xy()) else {
            return true;
        };
        let Some(edge) = nearest_edge(&edges, s) else {
            return true;
        };
        let near = x > edge.x - INBOARD_MM && x < edge.x + OUTBOARD_MM;
        if !near {
            return true;
        }
        let out = normal.dot(&outward);
        let looks_in = out < -LOOKS && normal.z > -LOOKS;
        let false_edge = survey.edge_kind == EdgeKind::Cut
            && (centre.z < edge.y + ROUNDED_MM && centre.z > edge.y - BELOW_MM
                || normal.z < -LOOKS && centre.z < edge.y + 2.0 * INBOARD_MM);
        !looks_in && !false_edge
    };
    let held = |p: &Point3| -> Point3 {
        let edge = locator.locate(p.xy()).and_then(|(s, x)| {
            let edge = nearest_edge(&edges, s)?;
            let near = x > edge.x - ROLL_MM[0] && x < edge.x + ROLL_MM[1];
            (near && p.z > edge.y - BELOW_MM).then_some(edge.y)
        });
        Point3::new(p.x, p.y, edge.map_or(p.z, |z| p.z.max(z)))
    };
    let mut body = TriMesh {
        points: match survey.edge_kind {
            EdgeKind::Cut => scan.points.clone(),
            EdgeKind::Rolled => scan.points.par_iter().map(held).collect(),
        },
        triangles: scan.triangles.par_iter().copied().filter(seen).collect(),
    };
    if survey.edge_kind == EdgeKind::Cut {
        add_skin(&mut body, survey, options);
    }
    body
}

fn nearest_edge(edges: &[(f64, Point2)], s: f64) -> Option<Point2> {
    let k = edges.partition_point(|e| e.0 < s);
    let after = edges.get(k);
    let before = k.checked_sub(1).and_then(|k| edges.get(k));
    match (before, after) {
        (Some(a), Some(b)) => Some(if s - a.0 < b.0 - s { a.1 } else { b.1 }),
        (Some(one), None) | (None, Some(one)) => Some(one.1),
        (None, None) => None,
    }
}

/// A slab through the stations: outside, bottom and back.
fn add_skin(body: &mut TriMesh, survey: &Survey, options: &PanelOptions) {
    let changes = options.changes.iter();
    let lip = match options.top_for(survey.edge_kind) {
        Top::Lapped => changes
            .filter_map(|c| c.lap_mm)
            .fold(options.lap_mm, f64::max),
        Top::Tucked | Top::Butted => changes
            .filter_map(|c| c.tuck_mm)
            .fold(options.tuck_mm, f64::max),
    };
    let height = lip + PAST_LIP_MM;
    let mut last: Option<(f64, u32)> = None;
    for station in &survey.stations {
        let frame = survey.spine.frame_at(station.s);
        let [edge, skin] = [station.edge, station.silhouette].map(|p| frame.to_section(p));
        let lean = station.lean.clamp(-1.0, 1.0);
        let back = edge.x - hidden_skin(edge, skin, lean, options.skin_mm);
        let across = options.skin_mm / lean.cos();
        let up = |x: f64| Point2::new(x - height * lean.tan(), edge.y + height);
        let (front, foot) = (
            Point2::new(back + across, edge.y),
            Point2::new(back, edge.y),
        );
        let row = [up(front.x), front, foot, up(foot.x)].map(|p| frame.to_shop(p));
        if !row.iter().all(|p| p.iter().all(|v| v.is_finite())) {
            continue;
        }
        let first = body.points.len() as u32;
        body.points.extend(row);
        if let Some((_, before)) = last.filter(|(s, _)| station.s - s <= JOINED_MM) {
            for k in 0..3 {
                let (a, b, c, d) = (before + k, before + k + 1, first + k + 1, first + k);
                body.triangles.extend([[a, b, c], [a, c, d]]);
            }
        }
        last = Some((station.s, first));
    }
}
