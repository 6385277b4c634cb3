//! Rows of segments for build volumes, held against what every row has to be. Sizes are measured here on
//! the finished solids, volumes by booleans of segment and workpiece.

use gapwright::buck::form;
use gapwright::gap::Survey;
use gapwright::job::Job;
use gapwright::math::Point3;
use gapwright::mesh::{Solid, TriMesh, boolean, self_cross, topology};
use gapwright::panel::{self, Panel};
use gapwright::pipeline;
use gapwright::progress::Progress;
use gapwright::split::{JointKind, PrinterOptions, Segments, Workpiece, split};
use manifold_rust::manifold::Manifold;
use manifold_rust::types::{BooleanEngine, MeshGL64, OpType};

/// Build volumes: of small, usual and large printers (mm).
pub const VOLUMES_MM: [[f64; 3]; 4] = [
    [180.0, 180.0, 180.0],
    [220.0, 220.0, 250.0],
    [256.0, 256.0, 256.0],
    [300.0, 300.0, 400.0],
];

/// What is split in these tests: a panel and the buck it is laid up on.
pub struct Parts {
    pub job: Job,
    pub survey: Survey,
    pub panel: Panel,
    pub buck: form::Buck,
}

impl Parts {
    /// Reads a job, surveys and designs.
    pub fn of(job: Job) -> Result<Self, String> {
        let watch = Progress::silent();
        let survey = (pipeline::measure(&job, &watch).map_err(|fault| fault.to_string())?).survey;
        let panel = panel::design(&survey, &job.panel, &watch).map_err(|f| f.to_string())?;
        let options = job.buck.clone().unwrap_or_default();
        let buck = form::design(&panel, &survey.spine, &options, &watch);
        Ok(Self {
            buck: buck.map_err(|fault| format!("buck: {fault}"))?,
            job,
            survey,
            panel,
        })
    }

    pub fn workpieces(&self) -> [(&'static str, Workpiece<'_>); 2] {
        let spine = &self.survey.spine;
        [
            ("panel", pipeline::workpiece(&self.job, &self.panel, spine)),
            (
                "buck",
                pipeline::buck_workpiece(&self.job, &self.buck, spine),
            ),
        ]
    }

    pub fn printer(&self, build_mm: [f64; 3]) -> PrinterOptions {
        PrinterOptions {
            build_mm,
            ..self.job.printer.clone()
        }
    }
}

/// Splits a workpiece and checks the row.
pub fn checked(work: &Workpiece<'_>, printer: &PrinterOptions) -> Result<Segments, String> {
    let row = split(work, printer, &Progress::silent()).map_err(|fault| fault.to_string())?;
    check(work, printer, &row)?;
    Ok(row)
}

fn hold(holds: bool, what: impl Fn() -> String) -> Result<(), String> {
    if holds { Ok(()) } else { Err(what()) }
}

fn bounds(points: impl Iterator<Item = Point3>) -> [Point3; 2] {
    points.fold(
        [
            Point3::new(f64::INFINITY, f64::INFINITY, f64::INFINITY),
            Point3::new(f64::NEG_INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY),
        ],
        |[low, high], p| [low.inf(&p), high.sup(&p)],
    )
}

/// What every row has to be: each segment closed, in one piece, not running through itself, inside of the
/// build volume less its margin as it lies on the bed with its tabs; all of them together the workpiece
/// but for what is listed.
pub fn check(work: &Workpiece<'_>, printer: &PrinterOptions, row: &Segments) -> Result<(), String> {
    let [width, depth, height] = printer.build_mm;
    let margin = printer.margin_mm;
    let room = [width - 2.0 * margin, depth - 2.0 * margin, height - margin];
    let in_one = topology::find_pieces(work.solid.mesh()).1;
    for segment in &row.segments {
        let n = segment.number;
        let [low, high] = bounds(segment.on_bed.mesh().points.iter().copied());
        for (k, room) in room.into_iter().enumerate() {
            // A thousandth is what rounding to f32 may add.
            hold(high[k] - low[k] <= room + 1e-3, || {
                format!("segment {n} is {:.3} in a room of {room}", high[k] - low[k])
            })?;
        }
        hold(low.z == 0.0, || format!("segment {n} is not on z = 0"))?;
        let middle = nalgebra::center(&low, &high);
        hold(middle.x.abs() < 1e-3 && middle.y.abs() < 1e-3, || {
            format!("segment {n} is not in the middle of its bed")
        })?;
        // What lies on the bed is the piece in place, tabs and all, and nothing else.
        let moved = segment.in_place.mesh().points.iter();
        let [low2, high2] = bounds(moved.map(|p| segment.to_bed * p));
        hold(
            (low - low2).amax().max((high - high2).amax()) < 1e-3,
            || format!("segment {n} on its bed is another than in place"),
        )?;
        let largest = self_cross::largest_coordinate(segment.in_place.mesh());
        for (where_, solid) in [("in place", &segment.in_place), ("on bed", &segment.on_bed)] {
            // What is on the bed was rounded in place first.
            let crossing = self_cross::find_crossing_rounded(solid.mesh(), largest);
            hold(crossing.is_none(), || {
                format!(
                    "segment {n} {where_} runs through itself: {crossing:?}, {:?}",
                    segment.label
                )
            })?;
            let pieces = topology::find_pieces(solid.mesh()).1;
            hold(pieces == 1 || in_one > 1, || {
                format!("segment {n} {where_} is in {pieces} pieces")
            })?;
        }
        hold(segment.pose.scores.steady_mm > 1.0, || {
            format!("segment {n} does not stand")
        })?;
    }
    reach_past(work, row)?;
    cover(work, row)?;
    apart(row)
}

/// Every tab and pin is part of the segment that is said to carry it.
fn reach_past(work: &Workpiece<'_>, row: &Segments) -> Result<(), String> {
    for joint in row.joints.iter().filter(|j| j.kind != JointKind::Butt) {
        let frame = work.spine.frame_at(joint.s);
        let own = &row.segments[joint.tab_on - 1].in_place;
        let near = own.mesh().points.iter().filter_map(|p| {
            let d = p - frame.origin;
            let across = d.dot(&frame.outward).abs().max(d.z.abs());
            (across < 200.0).then(|| d.dot(&frame.along))
        });
        let past = near.filter(|d| *d < 60.0).fold(0.0, f64::max);
        hold(past > 5.0, || {
            format!("joint {} reaches {past:.2} mm past its cut", joint.letter)
        })?;
    }
    Ok(())
}

/// Together they cover the workpiece but for the grooves and labels listed, and what they have beyond it
/// is the tabs listed, each to 0.1 %.
fn cover(work: &Workpiece<'_>, row: &Segments) -> Result<(), String> {
    let whole = work.solid.volume();
    let solids: Vec<&Solid> = row.segments.iter().map(|s| &s.in_place).collect();
    let of = imported(work.solid);
    let shared: f64 = (solids.iter())
        .map(|part| {
            // Segment and workpiece share most of their surface, so no solid is made of what they share.
            let part = imported(part);
            of.boolean_with_engine(&part, OpType::Intersect, BooleanEngine::Exact)
                .volume()
        })
        .sum();
    let sum: f64 = solids.iter().map(|solid| solid.volume()).sum();
    let labels = row.segments.iter().filter_map(|s| s.label.as_ref());
    let labels: f64 = labels.map(|label| label.volume_mm3).sum();
    let grooves: f64 = row.joints.iter().map(|j| j.cut_volume_mm3).sum();
    let tabs: f64 = row.joints.iter().map(|j| j.tab_volume_mm3).sum();
    // A groove may take from what a joint added as well: then the workpiece lacks less.
    let lacks = whole - shared;
    hold(
        lacks < labels + grooves + 1e-3 * whole && lacks > labels - 1e-3 * whole,
        || format!("{lacks:.0} mm3 lack, {labels:.0} of labels and {grooves:.0} of grooves told"),
    )?;
    let off = sum - (whole + tabs - grooves - labels);
    hold(off.abs() < 1e-3 * whole, || {
        format!(
            "{sum:.0} mm3 where {whole:.0} and {tabs:.0} of tabs less {grooves:.0} and {labels:.0} are told"
        )
    })
}

fn imported(solid: &Solid) -> Manifold {
    let mesh = solid.mesh();
    let points = mesh.points.iter().flat_map(|p| [p.x, p.y, p.z]);
    Manifold::from_mesh_gl64(&MeshGL64 {
        num_prop: 3,
        vert_properties: points.collect(),
        tri_verts: mesh.triangles.iter().flatten().map(|&i| i.into()).collect(),
        ..MeshGL64::default()
    })
}

/// No two have room in common but the rounding of their cut.
fn apart(row: &Segments) -> Result<(), String> {
    let boxes: Vec<_> = row.segments.iter().map(|s| s.in_place.bounds()).collect();
    for (i, a) in row.segments.iter().enumerate() {
        for (k, b) in row.segments.iter().enumerate().skip(i + 1) {
            let (low, high) = (boxes[i].0.sup(&boxes[k].0), boxes[i].1.inf(&boxes[k].1));
            if (0..3).any(|axis| low[axis] > high[axis]) {
                continue;
            }
            let common = boolean::intersect(&a.in_place, &b.in_place);
            let common = common.map_err(|fault| fault.to_string())?;
            let volume = common.map_or(0.0, |c| c.volume());
            hold(volume < 0.05, || {
                format!("segments {} and {} share {volume:.3} mm3", i + 1, k + 1)
            })?;
        }
    }
    Ok(())
}

/// Every segment says which one it is of how many, in letters that a bead of 0.4 mm prints.
pub fn labelled(row: &Segments) -> Result<(), String> {
    for segment in &row.segments {
        let number = format!("{}/{}", segment.number, row.segments.len());
        let label = segment.label.as_ref();
        let label = label.ok_or_else(|| format!("segment {number} has no label"))?;
        let mut words = label.lines.iter().flat_map(|line| line.split(' '));
        hold(
            words.any(|word| word == number) && label.height_mm >= 6.0 && label.deep_mm >= 0.3,
            || format!("segment {number} says {label:?}"),
        )?;
    }
    Ok(())
}

/// How many triangles all segments together have.
pub fn triangles(row: &Segments) -> usize {
    let count = |mesh: &TriMesh| mesh.triangles.len();
    row.segments.iter().map(|s| count(s.in_place.mesh())).sum()
}
