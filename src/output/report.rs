//! `report.json`: what a program needs to know about a run. The keys are listed in `docs/formats.md`.

use super::buck_part::{BuckPart, buck_part};
use super::budget::{BudgetPart, OutlookPart, budget_part, outlook_part};
use super::csv::quality_word;
use super::fit_part::{FitPart, fit_part};
use super::fixings_part::{FixingsPart, TrayFixingPart, fixings_part, tray_fixings_part};
use super::joint_part::{JointPart, LabelPart, joints_part, label_part};
use super::laminate_part::{LaminatePart, laminate_part};
use super::panel_part::{PanelPart, panel_part};
use super::pieces_part::{PiecePart, pieces_part};
use super::placing::{PlacingPart, placing_part};
use super::pose_part::{PosePart, pose_part};
use super::positions_part::{PositionsPart, positions_part};
use super::readings::{instrument_word, kind_word};
use super::removal_part::{RemovalPart, removal_part};
use super::staying_part::{StayingPart, staying_part};
use super::twin_part::{TwinPart, twin_part};
use super::{ALL_IN_PLACE, GapSummary, Run, coupon_file, print_3mf, segment_file};
use crate::diag::{Finding, Problem, Weight};
use crate::gap::readings::Check;
use crate::gap::{EdgeKind, Station, Survey};
use crate::panel::Top;
use crate::scan::{Inspection, Removed, Scan, Source, UnitFrom};
use crate::split::{
    Coupon, Estimate, FILAMENT_MM, JoinStep, LAYER_MM, OVERHANG_DEG, SUPPORT_FILL, Segment,
    Segments, letter,
};
use nalgebra::Matrix4;
use serde::Serialize;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// Name and version of the report's layout.
pub(super) const SCHEMA: &str = "gapwright-report/1";

#[derive(Serialize)]
struct Report<'a> {
    schema: &'static str,
    tool: Tool,
    name: &'a str,
    inputs: Both<Input>,
    scan_to_shop: Both<[[f64; 4]; 4]>,
    conditions: String,
    placing: PlacingPart<'a>,
    survey_id: &'a str,
    survey: SurveyPart,
    uncertainty_budget: BudgetPart,
    verdict: Option<OutlookPart>,
    checks: Vec<CheckPart<'a>>,
    panel: Option<PanelPart>,
    fixings: Option<FixingsPart>,
    tray_fixings: Vec<TrayFixingPart<'a>>,
    removal: Option<RemovalPart<'a>>,
    fit: Option<FitPart>,
    staying_on: Option<StayingPart<'a>>,
    positions: Option<PositionsPart>,
    segments: Vec<SegmentPart>,
    joints: Vec<JointPart>,
    assembly: Vec<StepPart>,
    print: Option<PrintPart>,
    coupons: Vec<CouponPart>,
    twin: Option<TwinPart>,
    buck: Option<BuckPart>,
    laminate: Option<LaminatePart>,
    pieces: Vec<PiecePart<'a>>,
    warnings: Vec<FindingPart<'a>>,
    notes: Vec<FindingPart<'a>>,
    files: &'a [String],
}

#[derive(Serialize)]
struct Tool {
    name: &'static str,
    version: &'static str,
}

#[derive(Serialize)]
struct Both<T> {
    body: T,
    tray: T,
}

#[derive(Serialize)]
struct Input {
    #[serde(flatten)]
    source: SourcePart,
    scale: f64,
    pieces: usize,
    noise_mm: f64,
    spacing_mm: f64,
    removed: RemovedPart,
}

#[derive(Serialize)]
struct SourcePart {
    name: String,
    sha256: String,
    unit: &'static str,
    unit_from: &'static str,
    triangles: usize,
    points: usize,
    size_mm: [f64; 3],
}

#[derive(Serialize)]
struct RemovedPart {
    not_finite: usize,
    degenerate: usize,
    duplicate: usize,
    floaters: usize,
    floater_triangles: usize,
    surroundings: usize,
}

#[derive(Serialize)]
struct SurveyPart {
    stations: usize,
    good: usize,
    sparse: usize,
    bridged: usize,
    good_share: f64,
    length_mm: f64,
    gap: Option<GapPart>,
    sigma_median_mm: f64,
    sigma_most_mm: f64,
    edge_kind: &'static str,
    edge_radius_mm: f64,
    tray_flatness_mm: f64,
    obstacles: Vec<ObstaclePart>,
}

#[derive(Serialize)]
struct GapPart {
    least: GapAt,
    most: GapAt,
    mean_mm: f64,
}

#[derive(Serialize)]
struct GapAt {
    station_mm: f64,
    gap_mm: f64,
    sigma_mm: f64,
    quality: &'static str,
}

#[derive(Serialize)]
struct ObstaclePart {
    along_mm: [f64; 2],
    across_mm: [f64; 2],
    height_mm: f64,
}

#[derive(Serialize)]
pub(super) struct SegmentPart {
    number: usize,
    along_mm: [f64; 2],
    size_mm: [f64; 3],
    triangles: usize,
    volume_mm3: f64,
    file: String,
    print_file: String,
    print_3mf: String,
    label: Option<LabelPart>,
    pose: PosePart,
    estimate: EstimatePart,
}

#[derive(Serialize)]
pub(super) struct EstimatePart {
    mass_g: f64,
    filament_m: f64,
    hours: f64,
    support_mm3: f64,
    support_share: f64,
    overhang_mm2: f64,
}

#[derive(Serialize)]
struct PrintPart {
    material: &'static str,
    density_g_cm3: f64,
    filament_diameter_mm: f64,
    flow_mm3_s: f64,
    overhang_deg: f64,
    support_fill: f64,
    layer_mm: f64,
    shrink_percent: f64,
    total: EstimatePart,
    all_in_place: &'static str,
}

#[derive(Serialize)]
pub(super) struct StepPart {
    step: usize,
    joint: String,
    segments: [usize; 2],
    station_mm: f64,
    clamp_mm: [f64; 2],
}

#[derive(Serialize)]
struct CheckPart<'a> {
    check: &'a str,
    kind: &'static str,
    instrument: &'static str,
    at_mm: f64,
    to_mm: Option<f64>,
    station_mm: f64,
    predicted_mm: f64,
    tolerance_mm: f64,
}

#[derive(Serialize)]
struct CouponPart {
    number: usize,
    along_mm: [f64; 2],
    size_mm: [f64; 3],
    volume_mm3: f64,
    file: String,
}

#[derive(Serialize)]
struct FindingPart<'a> {
    code: &'a str,
    what: &'a str,
    station_mm: Option<f64>,
    also_mm: Vec<f64>,
    size_mm: Option<f64>,
    hint: &'a str,
}

/// Ten thousandths of a millimetre: far below anything measured, and short to read.
pub(super) fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4 + 0.0
}

fn rows(m: &Matrix4<f64>) -> [[f64; 4]; 4] {
    std::array::from_fn(|i| std::array::from_fn(|j| m[(i, j)] + 0.0))
}

pub(super) fn unit_from_word(from: UnitFrom) -> &'static str {
    match from {
        UnitFrom::Format => "format",
        UnitFrom::Job => "job",
        UnitFrom::Guess => "guess",
    }
}

pub(super) fn edge_word(kind: EdgeKind) -> &'static str {
    match kind {
        EdgeKind::Cut => "cut",
        EdgeKind::Rolled => "rolled",
    }
}

pub(super) fn top_word(top: Top) -> &'static str {
    match top {
        Top::Tucked => "tucked",
        Top::Butted => "butted",
        Top::Lapped => "lapped",
    }
}

/// The file's name alone: where it lies on this machine is nobody's business, and would change the bytes.
pub(super) fn file_name(path: &Path) -> String {
    path.file_name()
        .map_or_else(|| path.to_string_lossy(), |name| name.to_string_lossy())
        .into_owned()
}

fn source_part(source: &Source) -> SourcePart {
    SourcePart {
        name: file_name(&source.path),
        sha256: source.sha256.clone(),
        unit: source.unit.symbol(),
        unit_from: unit_from_word(source.unit_from),
        triangles: source.triangles,
        points: source.points,
        size_mm: source.size_mm.map(rounded),
    }
}

fn removed_part(removed: &Removed) -> RemovedPart {
    RemovedPart {
        not_finite: removed.not_finite,
        degenerate: removed.degenerate,
        duplicate: removed.duplicate,
        floaters: removed.floaters,
        floater_triangles: removed.floater_triangles,
        surroundings: removed.surroundings,
    }
}

fn input(scan: &Scan) -> Input {
    let turn_and_scale = scan.to_shop.fixed_view::<3, 3>(0, 0).determinant();
    Input {
        source: source_part(&scan.source),
        scale: turn_and_scale.cbrt(),
        pieces: scan.pieces,
        noise_mm: rounded(scan.noise_mm),
        spacing_mm: rounded(scan.spacing_mm),
        removed: removed_part(&scan.removed),
    }
}

fn gap_at(station: &Station) -> GapAt {
    GapAt {
        station_mm: rounded(station.s),
        gap_mm: rounded(station.gap),
        sigma_mm: rounded(station.sigma),
        quality: quality_word(station.quality),
    }
}

fn survey_part(survey: &Survey, flatness: f64) -> SurveyPart {
    let gap = GapSummary::of(survey);
    let count = |of: fn(&GapSummary) -> usize| gap.as_ref().map_or(0, of);
    let value = |of: fn(&GapSummary) -> f64| gap.as_ref().map_or(0.0, of);
    SurveyPart {
        stations: survey.stations.len(),
        good: count(|g| g.good),
        sparse: count(|g| g.sparse),
        bridged: count(|g| g.bridged),
        good_share: rounded(value(GapSummary::good_share)),
        length_mm: rounded(value(|g| g.length_mm)),
        sigma_median_mm: rounded(value(|g| g.sigma_median_mm)),
        sigma_most_mm: rounded(value(|g| g.sigma_most_mm)),
        gap: gap.as_ref().map(|g| GapPart {
            least: gap_at(&g.least),
            most: gap_at(&g.most),
            mean_mm: rounded(g.mean_mm),
        }),
        edge_kind: edge_word(survey.edge_kind),
        edge_radius_mm: rounded(survey.edge_radius_mm),
        tray_flatness_mm: rounded(flatness),
        obstacles: survey
            .obstacles
            .iter()
            .map(|o| ObstaclePart {
                along_mm: o.along.map(rounded),
                across_mm: o.across.map(rounded),
                height_mm: rounded(o.height),
            })
            .collect(),
    }
}

/// A segment whose files lie in `folder`, empty or ending in a slash.
pub(super) fn segment_part(folder: &str, segment: &Segment) -> SegmentPart {
    let file = segment_file(segment.number);
    let mesh = segment.in_place.mesh();
    SegmentPart {
        number: segment.number,
        along_mm: segment.along.map(rounded),
        size_mm: segment.size_mm.map(rounded),
        triangles: mesh.triangles.len(),
        volume_mm3: rounded(mesh.signed_volume()),
        file: format!("{folder}segments/{file}"),
        print_file: format!("{folder}print/{file}"),
        print_3mf: format!("{folder}{}", print_3mf(segment.number)),
        label: segment.label.as_ref().map(|l| label_part(l, rounded)),
        pose: pose_part(segment, rounded),
        estimate: estimate_part(&segment.estimate),
    }
}

pub(super) fn estimate_part(estimate: &Estimate) -> EstimatePart {
    EstimatePart {
        mass_g: rounded(estimate.mass_g),
        filament_m: rounded(estimate.filament_mm / 1e3),
        hours: rounded(estimate.hours),
        support_mm3: rounded(estimate.support_mm3),
        support_share: rounded(estimate.support_share()),
        overhang_mm2: rounded(estimate.overhang_mm2),
    }
}

fn print_part(segments: &Segments) -> PrintPart {
    let print = &segments.print;
    PrintPart {
        material: print.material.name(),
        density_g_cm3: print.material.density_g_cm3(),
        filament_diameter_mm: FILAMENT_MM,
        flow_mm3_s: print.flow_mm3_s,
        overhang_deg: OVERHANG_DEG,
        support_fill: SUPPORT_FILL,
        layer_mm: LAYER_MM,
        shrink_percent: print.shrink_percent,
        total: estimate_part(&segments.estimate()),
        all_in_place: ALL_IN_PLACE,
    }
}

/// How the joints of a row are closed, in their order.
pub(super) fn assembly_part(parts: &Segments) -> Vec<StepPart> {
    parts.assembly.iter().enumerate().map(step_part).collect()
}

fn step_part((index, step): (usize, &JoinStep)) -> StepPart {
    StepPart {
        step: index + 1,
        joint: letter(step.joint.saturating_sub(1)),
        segments: [step.joint, step.joint + 1],
        station_mm: rounded(step.s),
        clamp_mm: step.clamp.map(rounded),
    }
}

fn check_part(check: &Check) -> CheckPart<'_> {
    CheckPart {
        check: &check.name,
        kind: kind_word(check.kind),
        instrument: instrument_word(check.instrument),
        at_mm: rounded(check.at),
        to_mm: check.to.map(rounded),
        station_mm: rounded(check.s),
        predicted_mm: rounded(check.predicted),
        tolerance_mm: rounded(check.tolerance),
    }
}

fn coupon_part(coupon: &Coupon) -> CouponPart {
    CouponPart {
        number: coupon.number,
        along_mm: coupon.along.map(rounded),
        size_mm: coupon.size_mm.map(rounded),
        volume_mm3: rounded(coupon.on_bed.volume()),
        file: coupon_file(coupon.number),
    }
}

fn finding_part(finding: &Finding) -> FindingPart<'_> {
    FindingPart {
        code: finding.code,
        what: &finding.what,
        station_mm: finding.station_mm.map(rounded),
        also_mm: finding.also_mm.iter().copied().map(rounded).collect(),
        size_mm: finding.size_mm.map(rounded),
        hint: &finding.hint,
    }
}

fn build<'a>(run: Run<'a>, files: &'a [String]) -> Report<'a> {
    let scene = &run.measured.scene;
    let of_weight = |weight| {
        let all = run.findings().into_iter();
        all.filter(|f| f.weight == weight)
            .map(finding_part)
            .collect()
    };
    let parts = run.made.map(|(_, segments)| segments);
    Report {
        schema: SCHEMA,
        tool: Tool {
            name: env!("CARGO_PKG_NAME"),
            version: env!("CARGO_PKG_VERSION"),
        },
        name: &run.measured.name,
        inputs: Both {
            body: input(&scene.body),
            tray: input(&scene.tray),
        },
        scan_to_shop: Both {
            body: rows(&scene.body.to_shop),
            tray: rows(&scene.tray.to_shop),
        },
        conditions: scene.conditions.in_words(),
        placing: placing_part(run.measured),
        survey_id: &run.measured.survey_id,
        checks: run.measured.checks.iter().map(check_part).collect(),
        coupons: run.coupons.iter().map(coupon_part).collect(),
        twin: run.twin.map(twin_part),
        buck: run.buck.map(buck_part),
        laminate: laminate_part(run),
        pieces: pieces_part(run.pieces),
        uncertainty_budget: budget_part(run.measured, rounded),
        verdict: outlook_part(run.measured, rounded),
        survey: survey_part(&run.measured.survey, scene.tray_flatness_mm),
        panel: run.made.map(|(panel, _)| panel_part(panel)),
        fixings: run.made.map(|(panel, _)| fixings_part(panel)),
        tray_fixings: run
            .made
            .map_or_else(Vec::new, |(panel, _)| tray_fixings_part(panel)),
        removal: run.removal.map(removal_part),
        positions: positions_part(run, rounded),
        fit: run.fit.map(|proof| fit_part(proof, rounded)),
        staying_on: run.staying_on.map(staying_part),
        segments: parts.map_or_else(Vec::new, |p| {
            p.segments.iter().map(|s| segment_part("", s)).collect()
        }),
        joints: parts.map_or_else(Vec::new, |p| joints_part(p, rounded)),
        assembly: parts.map_or_else(Vec::new, assembly_part),
        print: parts.map(print_part),
        warnings: of_weight(Weight::Warning),
        notes: of_weight(Weight::Note),
        files,
    }
}

/// The text of `report.json`; `files` is everything the run writes.
pub(super) fn report(run: Run<'_>, files: &[String]) -> String {
    // The layout holds no map with other keys than text, so there is nothing that could fail.
    serde_json::to_string_pretty(&build(run, files)).unwrap_or_default() + "\n"
}

fn ended(result: Value) -> String {
    format!("{result:#}\n")
}

/// What a run tells a program on standard output: the report, and where the files are.
#[must_use]
pub fn run_json(run: Run<'_>, folder: &Path) -> String {
    ended(json!({
        "made": true,
        "folder": folder.to_string_lossy(),
        "report": build(run, &[]),
    }))
}

/// What an inspection tells a program on standard output.
#[must_use]
pub fn inspection_json(seen: &[Inspection], pages: &[PathBuf], problems: &[Problem]) -> String {
    let scans: Vec<Value> = seen
        .iter()
        .map(|scan| {
            json!({
                "source": source_part(&scan.source),
                "removed": removed_part(&scan.removed),
                "pieces": scan.pieces,
                "noise_mm": rounded(scan.noise_mm),
                "spacing_mm": rounded(scan.spacing_mm),
                "holes": scan.holes,
                "longest_hole_mm": rounded(scan.longest_hole_mm),
                "findings": scan.findings.iter().map(finding_part).collect::<Vec<_>>(),
            })
        })
        .collect();
    ended(json!({ "scans": scans, "pages": pages, "problems": problems_value(problems) }))
}

fn problems_value(problems: &[Problem]) -> Vec<Value> {
    let one = |p: &Problem| json!({ "what": p.what, "where": p.place, "to_do": p.hint });
    problems.iter().map(one).collect()
}

/// What a run that could not be made tells a program on standard output.
#[must_use]
pub fn problems_json(problems: &[Problem]) -> String {
    ended(json!({ "made": false, "problems": problems_value(problems) }))
}
