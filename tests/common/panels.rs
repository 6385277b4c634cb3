//! Panels from the sample scans: their surveys, options drawn by a seed, and what every panel has to be.

#![allow(clippy::panic)]

use super::sim::Random;
use gapwright::gap::{EdgeKind, Survey};
use gapwright::job::Job;
use gapwright::mesh::self_cross::find_crossing;
use gapwright::mesh::topology::find_pieces;
use gapwright::panel::fixings::Style;
use gapwright::panel::{
    End, FaceStyle, FixingOptions, FootKind, Mount, Panel, PanelChange, PanelOptions, Top, design,
};
use gapwright::pipeline;
use gapwright::progress::Progress;
use parry3d_f64::math::Vector;
use parry3d_f64::shape::{TriMesh, TriMeshFlags};
use std::path::Path;

/// The samples.
pub const SAMPLES: [&str; 3] = ["nose", "skirt", "tail"];

/// The survey of a sample.
pub fn survey(sample: &str) -> Survey {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes");
    let job = Job::read(&root.join(sample).join("job.toml"))
        .unwrap_or_else(|faults| panic!("{sample}: {faults:?}"));
    pipeline::measure(&job, &Progress::silent())
        .unwrap_or_else(|fault| panic!("{sample}: {fault}"))
        .survey
}

/// Tops that an edge allows.
pub fn tops(kind: EdgeKind) -> &'static [Top] {
    match kind {
        EdgeKind::Cut => &[Top::Tucked, Top::Butted, Top::Lapped],
        EdgeKind::Rolled => &[Top::Butted, Top::Lapped],
    }
}

/// Options drawn by a seed, for a gap of this kind and length (mm).
pub fn random_options(seed: u64, kind: EdgeKind, length: f64) -> PanelOptions {
    let mut draws = Random::new(seed, 77);
    let mut pick = |n: usize| ((draws.unit() * n as f64) as usize).min(n - 1);
    let ends = [End::Closed, End::Returned, End::Faded];
    let (top, face) = (tops(kind)[pick(tops(kind).len())], pick(3));
    let (left, right, mount, style) = (ends[pick(3)], ends[pick(3)], pick(2), pick(4));
    let wall = draws.between(2.0, 4.0);
    let changes = (0..2)
        .map_while(|_| {
            draws.happens(0.4).then(|| PanelChange {
                at_mm: draws.between(0.05, 0.95) * length,
                over_mm: draws.between(40.0, 200.0),
                wall_mm: Some(wall * draws.between(0.8, 1.3)),
                flange_mm: Some(draws.between(18.0, 35.0)),
                bow_mm: Some(draws.between(-3.0, 4.0)),
                lean_deg: Some(draws.between(-8.0, 8.0)),
                ..PanelChange::default()
            })
        })
        .collect();
    let mut options = PanelOptions {
        wall_mm: wall,
        wall_top_mm: draws.happens(0.3).then(|| wall * draws.between(0.7, 1.2)),
        flange_mm: draws.between(18.0, 35.0),
        fillet_mm: draws.between(1.0, 4.0),
        seal_mm: draws.between(1.0, 4.0),
        tuck_mm: draws.between(6.0, 18.0),
        lap_mm: draws.between(8.0, 20.0),
        foot: match draws.unit() {
            x if x < 0.3 => FootKind::None,
            x if x < 0.45 => FootKind::Outboard,
            _ => FootKind::Inboard,
        },
        relief_mm: draws.between(1.0, 4.0),
        top: Some(top),
        face: [FaceStyle::Straight, FaceStyle::Bowed, FaceStyle::Tangent][face],
        bow_mm: draws.between(-4.0, 6.0),
        lean_deg: draws.between(-10.0, 12.0),
        overlay_mm: if draws.happens(0.5) {
            draws.between(0.5, 3.0)
        } else {
            0.0
        },
        mount: [Mount::Tray, Mount::Body][mount],
        end_left: left,
        end_right: right,
        fixings: FixingOptions {
            style: [Style::None, Style::Screws, Style::Inserts, Style::Studs][style],
            ..FixingOptions::default()
        },
        changes,
        ..PanelOptions::default()
    };
    if options.foot == FootKind::Outboard {
        // Nothing is laid over it, and it does not fade.
        options.overlay_mm = 0.0;
        for end in [&mut options.end_left, &mut options.end_right] {
            *end = if *end == End::Faded {
                End::Closed
            } else {
                *end
            };
        }
    }
    options
}

/// Designs a panel and holds it to what every panel has to be: one closed, edge-manifold, outward solid
/// that does not run through itself, with its wall from 0.97 to 1.15 of what was asked. Gives the wall's
/// range, or what is wrong.
pub fn sound(survey: &Survey, options: &PanelOptions) -> Result<[f64; 2], String> {
    let panel = design(survey, options, &Progress::silent()).map_err(|fault| fault.to_string())?;
    closed(&panel)?;
    let range = panel.wall.range().ok_or("no wall was measured")?;
    let whole = panel.findings.iter().all(|f| f.code != "panel-in-pieces");
    let pieces = find_pieces(panel.solid.mesh()).1;
    if whole && pieces != 1 {
        return Err(format!("{pieces} pieces"));
    }
    if range[0] < 0.97 || range[1] > 1.15 {
        return Err(format!("wall {:?} {:?}", range, panel.wall));
    }
    Ok(range)
}

/// Closed and consistent in the eyes of a general-purpose library, and nowhere through itself.
fn closed(panel: &Panel) -> Result<(), String> {
    let mesh = panel.solid.mesh();
    let points = mesh.points.iter().map(|p| Vector::new(p.x, p.y, p.z));
    let flags = TriMeshFlags::HALF_EDGE_TOPOLOGY | TriMeshFlags::ORIENTED;
    let seen = TriMesh::with_flags(points.collect(), mesh.triangles.clone(), flags)
        .map_err(|e| e.to_string())?;
    let halves = seen.topology().map_or(&[][..], |t| &t.half_edges);
    if halves.is_empty() || halves.iter().any(|h| h.twin == u32::MAX) {
        return Err("open edges".into());
    }
    match find_crossing(mesh) {
        Some(crossing) => Err(format!("runs through itself at {}", crossing.at)),
        None => Ok(()),
    }
}
