//! The segments of samples and shared cases put together wrongly, judged by a general-purpose collision library: each wrong
//! end is moved along the joint's seating direction, and must be stopped at least 3 mm short.

#![allow(clippy::panic, clippy::print_stdout)]

mod common;

use common::panels::SAMPLES;
use common::rows::Parts;
use gapwright::job::Job;
use gapwright::math::{Point2, Point3, StationFrame, Vector2, Vector3};
use gapwright::mesh::Solid;
use gapwright::progress::Progress;
use gapwright::split::{Joint, JointWish, PrinterOptions, Segments, Workpiece, split};
use nalgebra::{Isometry3, Rotation3, Translation3, UnitQuaternion};
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::intersection_test;
use parry3d_f64::shape::TriMesh;
use rayon::prelude::*;
use std::f64::consts::PI;
use std::path::Path;

/// Places on the way in that are looked at (mm short of seating): none nearer than what is asked.
fn on_the_way() -> impl Iterator<Item = f64> {
    let near = (6..=20).map(|k| f64::from(k) * 0.5);
    near.chain((11..=60).map(f64::from))
}

fn surface(solid: &Solid) -> TriMesh {
    let points = solid.mesh().points.iter();
    let points = points.map(|p| Vector::new(p.x, p.y, p.z)).collect();
    TriMesh::new(points, solid.mesh().triangles.clone()).unwrap_or_else(|e| panic!("{e}"))
}

fn pose(move_: &Isometry3<f64>) -> Pose {
    let axis = move_.rotation.scaled_axis();
    let by = move_.translation.vector;
    Pose::new(
        Vector::new(by.x, by.y, by.z),
        Vector::new(axis.x, axis.y, axis.z),
    )
}

/// The move that takes one station plane onto another.
fn onto(from: &StationFrame, to: &StationFrame) -> Isometry3<f64> {
    let axes = |f: &StationFrame| {
        let columns = nalgebra::Matrix3::from_columns(&[f.outward, f.along, Vector3::z()]);
        UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(columns))
    };
    let turn = axes(to) * axes(from).inverse();
    Isometry3::from_parts(Translation3::from(to.origin - turn * from.origin), turn)
}

fn half_turn(about: Vector3, through: Point3) -> Isometry3<f64> {
    let turn = UnitQuaternion::from_axis_angle(&nalgebra::Unit::new_normalize(about), PI);
    Isometry3::from_parts(Translation3::from(through - turn * through), turn)
}

struct End {
    what: String,
    piece: usize,
    /// The joint it belongs to, if it is no free end.
    joint: Option<usize>,
    pose: Isometry3<f64>,
}

/// A place at a station, so far up there as a share of its height: in the wall along the hidden face, or in the
/// middle of what is solid.
fn place(work: &Workpiece<'_>, s: f64, share: f64) -> Point2 {
    let off = |at: f64| (at - s).abs();
    let near = work
        .hidden
        .iter()
        .min_by(|a, b| off(a.s).total_cmp(&off(b.s)));
    if let Some(row) = near {
        let [low, high] = row.face;
        return low + (high - low) * share + Vector2::new(1.5, 0.0);
    }
    let frame = work.spine.frame_at(s);
    let (mut low, mut high) = (Point2::new(1e9, 1e9), Point2::new(-1e9, -1e9));
    for p in &work.solid.mesh().points {
        let d = p - frame.origin;
        if d.dot(&frame.along).abs() < 15.0 && d.dot(&frame.outward).abs() < 150.0 {
            let p = frame.to_section(*p);
            (low, high) = (low.inf(&p), high.sup(&p));
        }
    }
    Point2::new(
        f64::midpoint(low.x, high.x),
        low.y + (high.y - low.y) * share,
    )
}

/// What an end is turned about.
type Axis = fn(&StationFrame) -> Vector3;

/// Every end but the right one, each way round it can be held, brought to a joint's place: wall on wall, the
/// feet level while it is upright, the middles otherwise.
fn wrong_ends(work: &Workpiece<'_>, row: &Segments, at: usize) -> Vec<End> {
    let here = work.spine.frame_at(row.joints[at].s);
    let mut ends = Vec::new();
    for (piece, segment) in row.segments.iter().enumerate() {
        let number = piece + 1;
        let [left, right] = segment.along;
        let bring = |s: f64, turn: Option<Axis>, share: f64| {
            let frame = work.spine.frame_at(s);
            let middle = frame.to_shop(place(work, s, share));
            let seat = here.to_shop(place(work, row.joints[at].s, share));
            let to = onto(&frame, &here);
            let to = match turn {
                Some(axis) => to * half_turn(axis(&frame), middle),
                None => to,
            };
            Translation3::from(seat - to * middle) * to
        };
        if piece != at + 1 {
            ends.push(End {
                what: format!("left end of segment {number}"),
                piece,
                joint: piece.checked_sub(1),
                pose: bring(left, None, 0.0),
            });
        }
        let after = (piece + 1 < row.segments.len()).then_some(piece);
        let turns: [(&str, f64, Option<usize>, Axis, f64); 3] = [
            (
                "left end, upside down and inside out,",
                left,
                piece.checked_sub(1),
                |f| f.along,
                0.5,
            ),
            (
                "right end, end for end,",
                right,
                after,
                |_| Vector3::z(),
                0.0,
            ),
            (
                "right end, end for end and upside down,",
                right,
                after,
                |f| f.outward,
                0.5,
            ),
        ];
        for (how, end, joint, axis, share) in turns {
            ends.push(End {
                what: format!("{how} of segment {number}"),
                piece,
                joint,
                pose: bring(end, Some(axis), share),
            });
        }
    }
    ends
}

#[test]
fn wrong_ends_of_the_samples_are_stopped_short() {
    SAMPLES.into_par_iter().for_each(|sample| {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes");
        let job = Job::read(&root.join(sample).join("job.toml"));
        let job = job.unwrap_or_else(|faults| panic!("{sample}: {faults:?}"));
        let ways = [
            ("tabs", JointWish::Tab),
            ("webs", JointWish::Bulkhead),
            ("buck", JointWish::Auto),
        ];
        expect_stopped(sample, job, &ways);
    });
}

#[test]
fn wrong_ends_of_the_shared_cases_are_stopped_short() {
    let jobs = common::shared_jobs();
    if jobs.is_empty() {
        println!("skipped: no shared cases beside the repository");
    }
    jobs.into_par_iter()
        // The fine scan is of the same nose.
        .filter(|(case, _)| *case != "nose_fine")
        .for_each(|(case, job)| {
            let ways = [("tabs", JointWish::Tab), ("buck", JointWish::Auto)];
            expect_stopped(&format!("shared {case}"), job, &ways);
        });
}

/// Splits a job's panel and buck and offers every wrong end to every joint.
fn expect_stopped(name: &str, job: Job, ways: &[(&str, JointWish)]) {
    let parts = Parts::of(job).unwrap_or_else(|fault| panic!("{name}: {fault}"));
    let [(_, panel), (_, buck)] = parts.workpieces();
    for &(what, joint) in ways {
        let work = if what == "buck" { &buck } else { &panel };
        let printer = PrinterOptions {
            joint,
            ..parts.job.printer.clone()
        };
        let row = split(work, &printer, &Progress::silent());
        let row = row.unwrap_or_else(|f| panic!("{name} {what}: {f}"));
        hold(&format!("{name} {what}"), work, &row);
    }
}

fn hold(what: &str, work: &Workpiece<'_>, row: &Segments) {
    let surfaces: Vec<TriMesh> = row.segments.iter().map(|s| surface(&s.in_place)).collect();
    let keyless: Vec<&Joint> = row.joints.iter().filter(|j| j.keys.is_empty()).collect();
    assert!(keyless.is_empty(), "{what}: {keyless:?}");
    let mut tried = 0;
    let mut through = Vec::new();
    for (at, joint) in row.joints.iter().enumerate() {
        for end in wrong_ends(work, row, at) {
            let stopped = on_the_way().any(|short| {
                // It comes toward the segment with the tab, against the way that one is moved.
                let moved = Translation3::from(joint.seats_along * short) * end.pose;
                intersection_test(
                    &pose(&moved),
                    &surfaces[end.piece],
                    &Pose::identity(),
                    &surfaces[at],
                )
                .unwrap_or_else(|e| panic!("{e}"))
                .intersecting
            });
            if !stopped {
                let keys = |j: Option<&Joint>| -> Vec<_> {
                    let keys = j.iter().flat_map(|j| &j.keys);
                    keys.map(|key| (key.at_mm, key.height_mm, key.wide_mm))
                        .collect()
                };
                let its = end.joint.and_then(|k| row.joints.get(k));
                through.push(format!(
                    "{} at {}, keys {:?} for {:?}",
                    end.what,
                    joint.letter,
                    keys(its),
                    keys(Some(joint))
                ));
            }
            tried += 1;
        }
    }
    assert!(tried > 0, "{what}");
    assert!(through.is_empty(), "{what} let through: {through:?}");
}
