//! From two files to a scene in the shop frame.

use super::clean::{Cleaned, clean};
use super::datum::{Datum, DatumFault, Facing, find_datum};
use super::noise::measure_noise;
use super::placing::{Placed, place, tell_weak_ways};
use super::read::{RawScan, read_mesh};
use super::unit::guess_unit;
use super::unit_doubt::impossible;
use super::{Removed, Scan, ScanOptions, Scene, Source, Unit, UnitFrom};
use crate::diag::{Finding, Problem};
use crate::math::Point3;
use crate::mesh::TriMesh;
use crate::progress::Progress;
use nalgebra::Matrix4;
use rayon::prelude::*;
use std::path::Path;

/// How much of a scan is kept around the rim: in plan, and below and above the tray's plane (mm).
struct Near {
    plan: f64,
    height: [f64; 2],
}

/// The body is kept to well above the edge: the skin's direction is all that is needed.
const BODY: Near = Near {
    plan: 160.0,
    height: [-15.0, 360.0],
};
/// The tray is kept with what stands on it; the floor below it goes.
const TRAY: Near = Near {
    plan: 260.0,
    height: [-30.0, 80.0],
};

/// A file that was read, put into millimetres and cleaned.
#[derive(Clone)]
pub(super) struct Prepared {
    pub source: Source,
    pub cleaned: Cleaned,
    /// File units to the frame both scans share (mm).
    pub to_common: Matrix4<f64>,
    pub findings: Vec<Finding>,
}

/// Reads, cleans and judges both scans and sets them into the shop frame.
///
/// # Errors
/// A [`Problem`] that names the file: it cannot be read, its unit cannot be guessed, or the two do not
/// make a gap (swapped, apart, in different units).
pub fn read_scene(options: &ScanOptions, watch: &Progress) -> Result<Scene, Problem> {
    watch.tell("reading the scans", 0.0);
    let Placed {
        body,
        tray,
        mut placing,
        surface,
        mut findings,
    } = place(options, watch)?;
    watch.tell("setting the datum", 0.0);
    let datum = find_datum(&body.cleaned.mesh, &tray.cleaned.mesh)
        .map_err(|fault| misplaced(&fault, options))?;
    watch.tell("setting the datum", 0.7);
    if let (Some(surface), Some(registration)) = (&surface, &mut placing.alignment) {
        let (weak, told) = tell_weak_ways(surface, &datum.to_shop);
        registration.weak = weak;
        findings.extend(told);
    }
    findings.extend(datum.findings.iter().cloned());
    let (body, tray) = rayon::join(
        || into_shop(body, &datum, datum.body_facing, &BODY),
        || into_shop(tray, &datum, datum.tray_facing, &TRAY),
    );
    watch.tell("setting the datum", 1.0);
    findings.extend(options.conditions.findings());
    Ok(Scene {
        conditions: options.conditions,
        body,
        tray,
        rim: datum.rim,
        tray_flatness_mm: datum.flatness_mm,
        placing,
        findings,
    })
}

fn misplaced(fault: &DatumFault, options: &ScanOptions) -> Problem {
    Problem::new(fault.to_string(), fault.hint()).at(format!(
        "{} and {}",
        options.body.display(),
        options.tray.display()
    ))
}

/// Reads a file, finds its unit and cleans it. `part` names it in findings.
pub(super) fn prepare(path: &Path, asked: Option<Unit>, part: &str) -> Result<Prepared, Problem> {
    let raw = read_mesh(path).map_err(|fault| fault.about(path))?;
    let mut findings = raw.notes.clone();
    let size = size_of(&raw.mesh);
    let (unit, unit_from) = choose_unit(&raw, asked, size, part, &mut findings)
        .map_err(|problem| problem.at(path.display()))?;
    let scale = unit.millimetres();
    let RawScan {
        mut mesh,
        sha256,
        triangles,
        points,
        removed,
        ..
    } = raw;
    for p in &mut mesh.points {
        p.coords *= scale;
    }
    let mut cleaned = clean(mesh);
    add_removed(&mut cleaned.removed, &removed);
    if cleaned.mesh.triangles.is_empty() {
        return Err(Problem::new(
            format!("nothing of the {part}'s scan is left after cleaning"),
            "scan again; `gapwright inspect` shows what was taken out",
        )
        .at(path.display()));
    }
    let source = Source {
        path: path.to_path_buf(),
        sha256,
        unit,
        unit_from,
        triangles,
        points,
        size_mm: size.map(|s| s * scale),
    };
    Ok(Prepared {
        source,
        cleaned,
        to_common: Matrix4::new_scaling(scale),
        findings,
    })
}

fn add_removed(sum: &mut Removed, more: &Removed) {
    sum.not_finite += more.not_finite;
    sum.degenerate += more.degenerate;
    sum.duplicate += more.duplicate;
}

/// Sides of the box round the points that are finite, without the outermost thousandth on each side.
pub(super) fn size_of(mesh: &TriMesh) -> [f64; 3] {
    std::array::from_fn(|axis| {
        let stride = (mesh.points.len() / 40_000).max(1);
        let mut values: Vec<f64> = mesh
            .points
            .iter()
            .step_by(stride)
            .map(|p| p[axis])
            .filter(|v| v.is_finite())
            .collect();
        let lo = crate::math::robust::quantile(&mut values, 0.001).unwrap_or(0.0);
        let hi = crate::math::robust::quantile(&mut values, 0.999).unwrap_or(0.0);
        hi - lo
    })
}

fn choose_unit(
    raw: &RawScan,
    asked: Option<Unit>,
    size: [f64; 3],
    part: &str,
    findings: &mut Vec<Finding>,
) -> Result<(Unit, UnitFrom), Problem> {
    if let Some(unit) = raw.unit {
        if asked.is_some_and(|a| a != unit) {
            findings.push(Finding::warning(
                "unit-of-format",
                format!(
                    "the job gives another unit for the {part}, but its format is always in {}",
                    unit.symbol()
                ),
                "take the unit out of the job, or export the scan in another format",
            ));
        }
        return Ok((unit, UnitFrom::Format));
    }
    if let Some(unit) = asked {
        return match impossible(size, unit, part) {
            Some(problem) => Err(problem),
            None => Ok((unit, UnitFrom::Job)),
        };
    }
    let longest = size.into_iter().fold(0.0, f64::max);
    let Some(guess) = guess_unit(size) else {
        return Err(Problem::new(
            format!(
                "the {part}'s scan is {longest:.3} units long, which fits no unit: 0.3 to 8 m is expected"
            ),
            "set its unit in the job (mm, cm, m or in), or cut the scan down to the gap",
        ));
    };
    let others = match guess.others.as_slice() {
        [] => String::new(),
        others => format!(
            " (it could also be {})",
            others
                .iter()
                .map(|u| u.symbol())
                .collect::<Vec<_>>()
                .join(" or ")
        ),
    };
    findings.push(Finding::warning(
        "unit-guessed",
        format!(
            "the {part}'s file does not say its unit; from its size ({:.0} mm long) it was taken as {}{others}",
            longest * guess.unit.millimetres(),
            guess.unit.symbol()
        ),
        "compare one length with a tape, then set the unit in the job",
    ));
    Ok((guess.unit, UnitFrom::Guess))
}

/// Moves a cleaned scan into the shop frame and keeps what is near the gap.
fn into_shop(prepared: Prepared, datum: &Datum, facing: Facing, near: &Near) -> Scan {
    let Prepared {
        source,
        cleaned,
        to_common,
        ..
    } = prepared;
    let Cleaned {
        mut mesh,
        mut removed,
        spacing_mm,
        pieces,
    } = cleaned;
    for p in &mut mesh.points {
        *p = datum.to_shop * *p;
    }
    if facing == Facing::Inward {
        for t in &mut mesh.triangles {
            t.swap(1, 2);
        }
    }
    let before = mesh.triangles.len();
    mesh = keep_near(mesh, &datum.rim, near);
    removed.surroundings = before - mesh.triangles.len();
    Scan {
        noise_mm: measure_noise(&mesh, spacing_mm),
        to_shop: datum.to_shop.to_homogeneous() * to_common,
        mesh,
        spacing_mm,
        pieces,
        source,
        removed,
    }
}

/// Size of a cell of the plan mask (mm).
const CELL: f64 = 20.0;

/// Drops triangles away from the rim in plan or in height, and the points only they used.
fn keep_near(mesh: TriMesh, rim: &[Point3], near: &Near) -> TriMesh {
    let Some(first) = rim.first() else {
        return mesh;
    };
    let (lo, hi) = rim
        .iter()
        .fold((*first, *first), |(l, h), p| (l.inf(p), h.sup(p)));
    let reach = (near.plan / CELL).ceil();
    let origin = lo.xy() - nalgebra::Vector2::repeat((reach + 1.0) * CELL);
    let columns = ((hi.x - origin.x) / CELL + reach) as usize + 2;
    let rows = ((hi.y - origin.y) / CELL + reach) as usize + 2;
    let mut mask = vec![false; columns * rows];
    for p in rim.iter().step_by(2) {
        let c = (p.xy() - origin) / CELL;
        let (c0, r0, n) = (c.x as usize, c.y as usize, reach as usize);
        for r in r0.saturating_sub(n)..=(r0 + n).min(rows - 1) {
            for q in c0.saturating_sub(n)..=(c0 + n).min(columns - 1) {
                let d = (q as f64 - c.x + 0.5).hypot(r as f64 - c.y + 0.5);
                if d <= reach {
                    mask[r * columns + q] = true;
                }
            }
        }
    }
    let keep: Vec<bool> = mesh
        .points
        .par_iter()
        .map(|p| {
            let c = (p.xy() - origin) / CELL;
            p.z >= near.height[0]
                && p.z <= near.height[1]
                && c.x >= 0.0
                && c.y >= 0.0
                && (c.x as usize) < columns
                && (c.y as usize) < rows
                && mask[c.y as usize * columns + c.x as usize]
        })
        .collect();
    let triangles: Vec<[u32; 3]> = mesh
        .triangles
        .into_iter()
        .filter(|t| t.iter().all(|&i| keep[i as usize]))
        .collect();
    crate::mesh::weld::drop_unused_points(TriMesh {
        points: mesh.points,
        triangles,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_format_that_fixes_its_unit_wins_over_the_job_and_says_so() {
        let raw = RawScan {
            mesh: TriMesh::default(),
            unit: Some(Unit::Metre),
            sha256: String::new(),
            triangles: 0,
            points: 0,
            removed: Removed::default(),
            notes: Vec::new(),
        };
        let mut findings = Vec::new();
        let mut chosen = |asked| choose_unit(&raw, asked, [1.0; 3], "body", &mut findings).unwrap();
        assert_eq!(chosen(None), (Unit::Metre, UnitFrom::Format));
        assert_eq!(chosen(Some(Unit::Metre)), (Unit::Metre, UnitFrom::Format));
        assert_eq!(chosen(Some(Unit::Inch)), (Unit::Metre, UnitFrom::Format));
        let codes: Vec<&str> = findings.iter().map(|f| f.code).collect();
        assert_eq!(codes, ["unit-of-format"]);
    }
}
