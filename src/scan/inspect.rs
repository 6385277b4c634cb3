//! What is in one scan file, before any job exists.

use super::noise::measure_noise;
use super::scene::prepare;
use super::{Removed, Source, Unit};
use crate::diag::{Finding, Problem};
use crate::mesh::TriMesh;
use crate::mesh::boundary::find_boundaries;
use std::path::Path;

/// What was found in a scan file.
#[derive(Debug, Clone)]
pub struct Inspection {
    /// Where it came from.
    pub source: Source,
    /// What cleaning takes out.
    pub removed: Removed,
    /// Standard deviation of the surface's local noise (mm).
    pub noise_mm: f64,
    /// Median edge length of the triangles (mm).
    pub spacing_mm: f64,
    /// Loose pieces that are kept.
    pub pieces: usize,
    /// Boundaries besides the outermost one of each piece.
    pub holes: usize,
    /// Width of the widest of these (mm).
    pub longest_hole_mm: f64,
    /// What is left after cleaning (mm, the file's own axes).
    pub mesh: TriMesh,
    /// What it means for the fit.
    pub findings: Vec<Finding>,
}

/// Holes wider than this are not bridged (mm).
const WIDEST_BRIDGED: f64 = 60.0;
/// Longer triangles than this cannot hold the shape of an edge (mm).
const COARSEST: f64 = 6.0;
/// Rounder coordinates than this lose more than a scan's own noise (mm).
const COARSEST_ROUNDING: f64 = 0.5;
/// Share of triangles without area that says something about the export.
const MANY: f64 = 0.005;

/// Reads and judges one scan file.
///
/// # Errors
/// A [`Problem`] that names the file where it cannot be read, has no triangles, or fits no unit.
pub fn inspect(path: &Path, unit: Option<Unit>) -> Result<Inspection, Problem> {
    let prepared = prepare(path, unit, "scan")?;
    let (cleaned, mut findings) = (prepared.cleaned, prepared.findings);
    let boundaries = find_boundaries(&cleaned.mesh);
    let holes = boundaries.get(cleaned.pieces..).unwrap_or_default();
    let widest = holes.iter().map(|b| b.width).fold(0.0, f64::max);
    let noise = measure_noise(&cleaned.mesh, cleaned.spacing_mm);
    let seen = Inspection {
        source: prepared.source,
        removed: cleaned.removed,
        noise_mm: noise,
        spacing_mm: cleaned.spacing_mm,
        pieces: cleaned.pieces,
        holes: holes.len(),
        longest_hole_mm: widest,
        mesh: cleaned.mesh,
        findings: Vec::new(),
    };
    findings.extend(judge(&seen));
    Ok(Inspection { findings, ..seen })
}

fn judge(seen: &Inspection) -> Vec<Finding> {
    let mut findings = Vec::new();
    if let Some(step) = rounding_step(&seen.mesh).filter(|&s| s >= COARSEST_ROUNDING) {
        findings.push(
            Finding::warning(
                "rounded-points",
                format!("the points of the file are rounded to {step} mm"),
                "the fit cannot be better than that: export the scan again with more decimals or in a binary format",
            )
            .size(step),
        );
    }
    let share = seen.removed.degenerate as f64 / seen.source.triangles.max(1) as f64;
    if share > MANY {
        findings.push(Finding::warning(
            "many-degenerate",
            format!(
                "{} of {} triangles ({:.1} %) have no area and were dropped",
                seen.removed.degenerate,
                seen.source.triangles,
                100.0 * share
            ),
            "the export rounds or thins the mesh; export it again at full detail if you can",
        ));
    }
    if seen.spacing_mm > COARSEST {
        findings.push(
            Finding::warning(
                "coarse",
                format!(
                    "the triangles are {:.1} mm long: an edge is rounded off by about as much",
                    seen.spacing_mm
                ),
                "scan again from nearer, or export at the highest detail",
            )
            .size(seen.spacing_mm),
        );
    }
    if seen.longest_hole_mm > WIDEST_BRIDGED {
        findings.push(
            Finding::warning(
                "wide-hole",
                format!(
                    "the surface has {} holes, the widest {:.0} mm across; up to 60 mm are bridged along the edge",
                    seen.holes, seen.longest_hole_mm
                ),
                "if one lies on the edge or on the tray under it, scan that place again",
            )
            .size(seen.longest_hole_mm),
        );
    }
    if seen.source.size_mm.iter().fold(0.0, |a: f64, &b| a.max(b)) < 300.0 {
        findings.push(Finding::warning(
            "small",
            "the scan is less than 300 mm long: that is no vehicle's edge, or the unit is wrong",
            "compare one length with a tape and set the unit",
        ));
    }
    findings
}

/// The coarsest of 5, 2 and 1 times a power of ten that nearly all coordinates are multiples of (mm).
fn rounding_step(mesh: &TriMesh) -> Option<f64> {
    let stride = (mesh.points.len() / 2000).max(1);
    let sample: Vec<f64> = mesh
        .points
        .iter()
        .step_by(stride)
        .flat_map(|p| [p.x, p.y, p.z])
        .collect();
    if sample.len() < 60 {
        return None;
    }
    [5.0, 2.0, 1.0, 0.5].into_iter().find(|step| {
        let on = sample
            .iter()
            .filter(|&&v| ((v / step) - (v / step).round()).abs() < 1e-3)
            .count();
        on as f64 > 0.98 * sample.len() as f64
    })
}
