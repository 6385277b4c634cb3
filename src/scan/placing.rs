//! To scale, into one pose, and taken apart: two scans as the datum needs them.

use super::align::{Alignment, align};
use super::control::{Control, Part};
use super::pairs::{NamedPair, fit_pairs};
use super::scale::{Reference, ScaleFit, fit_scale, judge_scale};
use super::scene::{Prepared, prepare};
use super::separate::{Belongs, Seeds, part_of, separate};
use super::{ScanOptions, Unit};
use crate::diag::{Finding, Problem};
use crate::math::rigid_fit::{Size, fit_similarity, principal_spread};
use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;
use crate::mesh::pieces::label_pieces;
use crate::progress::Progress;
use nalgebra::{Isometry3, Matrix4};

/// How the scans were brought to scale and into one frame.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Placing {
    /// Scale of the body's scan by known distances, where there were any.
    pub body_scale: Option<ScaleFit>,
    /// Scale of the tray's scan.
    pub tray_scale: Option<ScaleFit>,
    /// The tray's scan onto the body's, where the two came in two poses.
    pub alignment: Option<Registration>,
    /// Whether body and tray were told apart by their shape.
    pub separated: bool,
}

/// Share of the overlap's residual by which two scans may be off as a whole: noise averages out over an
/// overlap, drift does not. An assumption, not measured; where a way is hardly held the whole residual
/// counts.
const LEFT_AS_A_WHOLE: f64 = 0.3;

impl Placing {
    /// Standard uncertainty of the body's height over the tray from bringing the two into one pose (mm);
    /// zero for one pose.
    #[must_use]
    pub fn registration_mm(&self) -> f64 {
        self.alignment.as_ref().map_or(0.0, |held| {
            let share = if held.weak.is_empty() {
                LEFT_AS_A_WHOLE
            } else {
                1.0
            };
            share * held.residual_mm
        })
    }

    /// Standard uncertainty of a length as a share of it, from measured distances; zero where none was
    /// given and the scale is taken as it comes.
    #[must_use]
    pub fn scale_relative(&self) -> f64 {
        let scales = [&self.body_scale, &self.tray_scale];
        let relative = scales
            .into_iter()
            .flatten()
            .map(|fit| fit.sigma / fit.factor);
        relative.fold(0.0, f64::max)
    }
}

/// Two scans brought into one pose.
#[derive(Debug, Clone, PartialEq)]
pub struct Registration {
    /// Named pairs that were used.
    pub pairs: usize,
    /// Root mean square distance of those pairs in the first alignment (mm).
    pub pairs_residual_mm: f64,
    /// Share of the smaller scan that lies on the other, 0 to 1.
    pub overlap: f64,
    /// Root mean square distance of the overlap's surfaces (mm).
    pub residual_mm: f64,
    /// Ways the overlap hardly holds, in words of the shop frame, weakest first.
    pub weak: Vec<String>,
}

/// Both scans, in one frame and to scale.
pub(super) struct Placed {
    pub body: Prepared,
    pub tray: Prepared,
    pub placing: Placing,
    pub surface: Option<Alignment>,
    pub findings: Vec<Finding>,
}

/// Reads the files and places them.
pub(super) fn place(options: &ScanOptions, watch: &Progress) -> Result<Placed, Problem> {
    if options.body == options.tray {
        return place_one(options, watch);
    }
    let (body, tray) = rayon::join(
        || prepare(&options.body, options.body_unit, "body"),
        || prepare(&options.tray, options.tray_unit, "tray"),
    );
    let (mut body, mut tray) = (body?, tray?);
    let mut findings = std::mem::take(&mut body.findings);
    findings.append(&mut tray.findings);
    let control = &options.control;
    let mut placing = Placing::default();
    let mut surface = None;
    let pairs = shared_points(&body, &tray, control);
    if in_one_pose(&pairs, control, &mut findings) {
        // One pose, one scan session: one scale for both.
        let mut references = references(control, Part::Body, &body);
        references.extend(self::references(control, Part::Tray, &tray));
        let (part, unit) = match control.distances.first().map(|d| d.scan) {
            Some(Part::Tray) => ("tray", tray.source.unit),
            _ => ("body", body.source.unit),
        };
        let fit = scale_by(&references, control, unit, part, &mut findings)?;
        if let Some(fit) = &fit {
            body.scale_by(fit.factor);
            tray.scale_by(fit.factor);
        }
        (placing.body_scale, placing.tray_scale) = (fit.clone(), fit);
    } else {
        for (part, word, scan) in [
            (Part::Body, "body", &mut body),
            (Part::Tray, "tray", &mut tray),
        ] {
            let references = references(control, part, scan);
            let fit = scale_by(&references, control, scan.source.unit, word, &mut findings)?;
            if let Some(fit) = &fit {
                scan.scale_by(fit.factor);
            }
            match part {
                Part::Body => placing.body_scale = fit,
                Part::Tray => placing.tray_scale = fit,
            }
        }
        watch.tell("aligning the scans", 0.0);
        let both = format!("{} and {}", options.body.display(), options.tray.display());
        let ((used, pairs_residual_mm), fit) =
            align_two(&body, &tray, control, &mut findings).map_err(|problem| problem.at(&both))?;
        tray.move_by(&fit.pose);
        placing.alignment = Some(Registration {
            pairs: used,
            pairs_residual_mm,
            overlap: fit.overlap,
            residual_mm: fit.residual_mm,
            weak: Vec::new(),
        });
        surface = Some(fit);
        let seeds = seeds_mm(control, &body, &tray);
        split_aligned(&mut body, &mut tray, &seeds).map_err(|problem| problem.at(&both))?;
        placing.separated = true;
    }
    Ok(Placed {
        body,
        tray,
        placing,
        surface,
        findings,
    })
}

/// One file holds both.
fn place_one(options: &ScanOptions, watch: &Progress) -> Result<Placed, Problem> {
    let control = &options.control;
    let unit = options.body_unit.or(options.tray_unit);
    let mut whole = prepare(&options.body, unit, "vehicle")?;
    let mut findings = std::mem::take(&mut whole.findings);
    let mut references = references(control, Part::Body, &whole);
    references.extend(self::references(control, Part::Tray, &whole));
    let fit = scale_by(
        &references,
        control,
        whole.source.unit,
        "vehicle",
        &mut findings,
    )?;
    if let Some(fit) = &fit {
        whole.scale_by(fit.factor);
    }
    watch.tell("telling body and tray apart", 0.0);
    let belongs =
        separate(&whole.cleaned.mesh, &seeds_mm(control, &whole, &whole)).map_err(|fault| {
            Problem::new(fault.to_string(), fault.hint()).at(options.body.display())
        })?;
    let body = whole.with_mesh(part_of(&whole.cleaned.mesh, &belongs, Belongs::Body));
    let tray = whole.with_mesh(part_of(&whole.cleaned.mesh, &belongs, Belongs::Tray));
    Ok(Placed {
        body,
        tray,
        placing: Placing {
            body_scale: fit.clone(),
            tray_scale: fit,
            alignment: None,
            separated: true,
        },
        surface: None,
        findings,
    })
}

/// Takes from two aligned scans what each is for: each may show some of the other's part.
fn split_aligned(body: &mut Prepared, tray: &mut Prepared, seeds: &Seeds) -> Result<(), Problem> {
    let mut whole = body.cleaned.mesh.clone();
    let own = whole.triangles.len();
    whole.append(&tray.cleaned.mesh);
    let belongs =
        separate(&whole, seeds).map_err(|fault| Problem::new(fault.to_string(), fault.hint()))?;
    let (of_body, of_tray) = belongs.split_at(own);
    *body = body.with_mesh(part_of(&body.cleaned.mesh, of_body, Belongs::Body));
    *tray = tray.with_mesh(part_of(&tray.cleaned.mesh, of_tray, Belongs::Tray));
    Ok(())
}

fn seeds_mm(control: &Control, body: &Prepared, tray: &Prepared) -> Seeds {
    let place = |p: Option<Point3>, scan: &Prepared| p.map(|p| scan.to_common.transform_point(&p));
    Seeds {
        body: place(control.seeds.body, body),
        tray: place(control.seeds.tray, tray),
    }
}

/// The distances of one scan as its points show them (mm, in the unit read).
fn references(control: &Control, part: Part, scan: &Prepared) -> Vec<Reference> {
    let find = |name: &str| {
        let mut points = control.points(part).iter();
        points
            .find(|p| p.name == name)
            .map(|p| scan.to_common.transform_point(&p.at))
    };
    let of_part = control.distances.iter().filter(|d| d.scan == part);
    of_part
        .filter_map(|d| {
            let across = find(&d.to)? - find(&d.from)?;
            Some(Reference {
                label: format!("{} to {}", d.from, d.to),
                ends: [&d.from, &d.to].map(|name| (part, name.clone())),
                way: across.try_normalize(0.0)?,
                seen_mm: across.norm(),
                true_mm: d.mm,
            })
        })
        .collect()
}

/// The scale by the references; `None` without any.
fn scale_by(
    references: &[Reference],
    control: &Control,
    unit: Unit,
    part: &str,
    findings: &mut Vec<Finding>,
) -> Result<Option<ScaleFit>, Problem> {
    if references.is_empty() {
        findings.push(Finding::note(
            "scale-unproved",
            format!("no distance on the vehicle was given for the {part}'s scan, so its scale is as the file has it"),
        ));
        return Ok(None);
    }
    let fit = fit_scale(references, control.pick_sigma_mm).ok_or_else(|| {
        Problem::new(
            format!("the {part}'s scale cannot be found from one distance, or from points that lie on one another"),
            "give two distances at least, better three, each between two points well apart",
        )
    })?;
    findings.extend(judge_scale(&fit, unit, part)?);
    Ok(Some(fit))
}

/// Points that both scans name, in the order of the body's (mm, each in its scan's frame).
fn shared_points(body: &Prepared, tray: &Prepared, control: &Control) -> Vec<NamedPair> {
    let in_tray = |name: &str| control.tray_points.iter().find(|p| p.name == name);
    let points = control.body_points.iter();
    points
        .filter_map(|p| {
            Some(NamedPair {
                name: p.name.clone(),
                tray: tray.to_common.transform_point(&in_tray(&p.name)?.at),
                body: body.to_common.transform_point(&p.at),
            })
        })
        .collect()
}

/// Whether the scans lie in one pose as they are: no point is named in both, or all lie where they should.
fn in_one_pose(pairs: &[NamedPair], control: &Control, findings: &mut Vec<Finding>) -> bool {
    let apart = pairs.iter().map(|p| (p.tray - p.body).norm());
    let most = apart.fold(0.0, f64::max);
    let is_one = most <= 5.0 * control.pick_sigma_mm;
    if is_one && !pairs.is_empty() {
        findings.push(Finding::note(
            "one-pose",
            format!("the two scans already lie in one pose: their named points differ by {most:.1} mm at most"),
        ));
    }
    is_one
}

/// Least error a start from pairs is taken to have (mm).
const LEAST_START_ERROR: f64 = 15.0;

/// The tray's scan onto the body's: pairs used and their residual, and the fit.
fn align_two(
    body: &Prepared,
    tray: &Prepared,
    control: &Control,
    findings: &mut Vec<Finding>,
) -> Result<((usize, f64), Alignment), Problem> {
    let pairs = shared_points(body, tray, control);
    compare_sizes(&pairs, control, findings)?;
    let coarse = fit_pairs(&pairs, control.pick_sigma_mm)?;
    findings.extend(coarse.findings.iter().cloned());
    let start_error = LEAST_START_ERROR.max(3.0 * coarse.residual_mm);
    let fit = align(
        &body.cleaned.mesh,
        &tray.cleaned.mesh,
        &coarse.pose,
        start_error,
    )
    .map_err(|fault| {
        Problem::new(
            fault.to_string(),
            "scan again so that both scans show the same stretch of tray and skin all along the gap, or scan body and tray in one go",
        )
    })?;
    findings.push(
        Finding::note(
            "aligned",
            format!(
                "the tray's scan was moved onto the body's by {} named points and the surface both show: {:.0} % of the smaller scan, to {:.2} mm root mean square",
                coarse.used,
                100.0 * fit.overlap,
                fit.residual_mm
            ),
        )
        .size(fit.residual_mm),
    );
    Ok(((coarse.used, coarse.residual_mm), fit))
}

/// Two scans of one vehicle must have it in one size.
fn compare_sizes(
    pairs: &[NamedPair],
    control: &Control,
    findings: &mut Vec<Finding>,
) -> Result<(), Problem> {
    let points: Vec<(Point3, Point3)> = pairs.iter().map(|p| (p.tray, p.body)).collect();
    let Ok(fit) = fit_similarity(&points, Size::Fitted) else {
        return Ok(());
    };
    let spread: Vec<Point3> = pairs.iter().map(|p| p.body).collect();
    let width: f64 = principal_spread(&spread).iter().map(|s| s * s).sum();
    let sigma = control.pick_sigma_mm * (2.0 / (pairs.len() as f64 * width.max(1e-9))).sqrt();
    let off = (fit.scale - 1.0).abs();
    let residual = fit.mean_square.sqrt();
    if off > 0.5 && residual < 0.02 * width.sqrt() {
        return Err(Problem::new(
            format!(
                "the named points lie {:.4} times as far apart in the body's scan as in the tray's: one of the two units is wrong",
                fit.scale
            ),
            "set body_unit and tray_unit in the job",
        ));
    }
    if off > 0.003 && off > 3.0 * sigma && residual < 5.0 * control.pick_sigma_mm {
        findings.push(Finding::warning(
            "sizes-differ",
            format!(
                "by the named points the body's scan is {:.2} % {} than the tray's",
                100.0 * off,
                if fit.scale > 1.0 { "larger" } else { "smaller" }
            ),
            "measure distances on the vehicle for both scans, two at least for each",
        ));
    }
    Ok(())
}

/// Tells in the shop frame which ways the overlap does not hold.
pub(super) fn tell_weak_ways(
    surface: &Alignment,
    to_shop: &Isometry3<f64>,
) -> (Vec<String>, Vec<Finding>) {
    let ways: Vec<String> = surface
        .weak
        .iter()
        .map(|way| {
            let (turn, shift) = (to_shop * way.turn, to_shop * way.shift);
            if shift.norm() >= turn.norm() {
                format!(
                    "sliding {}",
                    axis_words(&shift, ["across the gap", "along the gap", "up and down"])
                )
            } else {
                format!(
                    "turning {}",
                    axis_words(
                        &turn,
                        [
                            "about the line across the gap",
                            "about the line along the gap",
                            "about the upright",
                        ]
                    )
                )
            }
        })
        .collect();
    if ways.is_empty() {
        return (ways, Vec::new());
    }
    let finding = Finding::warning(
        "alignment-weak",
        format!(
            "the surface both scans show hardly holds the tray's scan against {}: an error of 1 mm in it may move the tray's scan by {:.0} mm that way",
            ways.join(", or "),
            1.0 / surface
                .weak
                .first()
                .map_or(1.0, |w| w.hold)
                .max(1e-4)
                .sqrt()
        ),
        "scan again so that both show something that stands out in that way: a corner, an end of the tray, the skin's bend",
    );
    (ways, vec![finding])
}

fn axis_words(way: &Vector3, words: [&str; 3]) -> String {
    words[way.iamax()].to_owned()
}

impl Prepared {
    fn scale_by(&mut self, factor: f64) {
        for p in &mut self.cleaned.mesh.points {
            p.coords *= factor;
        }
        self.cleaned.spacing_mm *= factor;
        self.to_common = Matrix4::new_scaling(factor) * self.to_common;
    }

    fn move_by(&mut self, pose: &Isometry3<f64>) {
        for p in &mut self.cleaned.mesh.points {
            *p = pose * *p;
        }
        self.to_common = pose.to_homogeneous() * self.to_common;
    }

    fn with_mesh(&self, mesh: TriMesh) -> Self {
        let mut part = self.clone();
        part.cleaned.pieces = label_pieces(&mesh).1.len();
        part.cleaned.mesh = mesh;
        part
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scan::align::WeakWay;

    #[test]
    fn points_that_lie_farther_apart_in_one_scan_are_told() {
        let corners = [
            [0.0, 0.0, 0.0],
            [900.0, 0.0, 0.0],
            [0.0, 600.0, 0.0],
            [50.0, 40.0, 300.0],
        ];
        let pairs = |scale: f64| -> Vec<NamedPair> {
            let places = corners.iter().enumerate();
            places
                .map(|(i, c)| NamedPair {
                    name: format!("p{i}"),
                    tray: Point3::from(*c),
                    body: Point3::from(*c) * scale,
                })
                .collect()
        };
        let control = Control::default();
        let mut findings = Vec::new();
        compare_sizes(&pairs(1.0), &control, &mut findings).unwrap();
        assert!(findings.is_empty(), "{findings:?}");
        compare_sizes(&pairs(1.02), &control, &mut findings).unwrap();
        assert!(
            findings[0].code == "sizes-differ" && findings[0].what.contains("2.00 % larger"),
            "{findings:?}"
        );
        let problem = compare_sizes(&pairs(25.4), &control, &mut findings).unwrap_err();
        assert!(problem.what.contains("25.4000 times"), "{problem}");
    }

    #[test]
    fn a_way_that_the_overlap_hardly_holds_is_told_in_words() {
        let mut surface = Alignment {
            pose: Isometry3::identity(),
            overlap: 0.5,
            residual_mm: 0.3,
            centre: Point3::origin(),
            weak: Vec::new(),
        };
        let to_shop = Isometry3::identity();
        assert_eq!(tell_weak_ways(&surface, &to_shop), (Vec::new(), Vec::new()));
        surface.weak.push(WeakWay {
            turn: Vector3::zeros(),
            shift: Vector3::y(),
            hold: 0.0025,
        });
        let (ways, findings) = tell_weak_ways(&surface, &to_shop);
        assert_eq!(ways, ["sliding along the gap"]);
        // A hold of 0.0025 is a twentieth: 1 mm square to the surface is 20 mm along.
        assert!(
            findings[0].code == "alignment-weak" && findings[0].what.contains("20 mm"),
            "{findings:?}"
        );
    }
}
