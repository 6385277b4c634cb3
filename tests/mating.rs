//! The samples' segments put together wrongly, judged by a general-purpose collision library: each wrong
//! end is moved along the joint's seating direction, and must be stopped at least 3 mm short.

#![allow(clippy::panic)]

mod common;

use common::panels::SAMPLES;
use common::rows::{Parts, checked};
use gapwright::job::Job;
use gapwright::math::{Point2, Point3, StationFrame, Vector3};
use gapwright::mesh::Solid;
use gapwright::split::{Joint, JointWish, Segments, Workpiece};
use nalgebra::{Isometry3, Rotation3, Translation3, UnitQuaternion};
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::intersection_test;
use parry3d_f64::shape::TriMesh;
use std::f64::consts::PI;
use std::path::Path;

/// The joints that are tried.
const WISHES: [JointWish; 2] = [JointWish::Tab, JointWish::Bulkhead];

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

/// A place of the wall at a station, so far up the hidden face there as a share of its height.
fn wall(work: &Workpiece<'_>, s: f64, share: f64) -> Point2 {
    let off = |at: f64| (at - s).abs();
    let near = work
        .hidden
        .iter()
        .min_by(|a, b| off(a.s).total_cmp(&off(b.s)));
    near.map_or_else(Point2::origin, |row| {
        let [low, high] = row.face;
        low + (high - low) * share + nalgebra::Vector2::new(1.5, 0.0)
    })
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
            let middle = frame.to_shop(wall(work, s, share));
            let seat = here.to_shop(wall(work, row.joints[at].s, share));
            let to = onto(&frame, &here);
            let to = match turn {
                Some(axis) => to * half_turn(axis(&frame), middle),
                None => to,
            };
            Translation3::from(seat - to * middle) * to
        };
        if piece != at + 1 {
            ends.push(End {
                what: format!("left end of {number}"),
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
                what: format!("{how} of {number}"),
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
    for sample in SAMPLES {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes");
        let job = Job::read(&root.join(sample).join("job.toml"));
        let job = job.unwrap_or_else(|faults| panic!("{sample}: {faults:?}"));
        let parts = Parts::of(job).unwrap_or_else(|fault| panic!("{sample}: {fault}"));
        let [(_, work), _] = parts.workpieces();
        for wish in WISHES {
            let mut printer = parts.printer(parts.job.printer.build_mm);
            printer.joint = wish;
            let row = checked(&work, &printer).unwrap_or_else(|f| panic!("{sample} {wish:?}: {f}"));
            hold(sample, wish, &work, &row);
        }
    }
}

fn hold(sample: &str, wish: JointWish, work: &Workpiece<'_>, row: &Segments) {
    let surfaces: Vec<TriMesh> = row.segments.iter().map(|s| surface(&s.in_place)).collect();
    let (mut tried, mut told) = (0, 0);
    let mut through = Vec::new();
    for (at, joint) in row.joints.iter().enumerate() {
        if joint.keys.is_empty() {
            let codes = [
                "joint-without-key",
                "joint-without-pins",
                "joint-without-tab",
            ];
            let finding = (row.findings.iter())
                .find(|f| codes.contains(&f.code) && f.station_mm == Some(joint.s));
            assert!(finding.is_some(), "{sample}: {joint:?} without a word");
            for k in [at, at + 1] {
                let label = &row.segments[k].label;
                let words = label
                    .iter()
                    .flat_map(|l| l.lines.join(" ").chars().collect::<Vec<_>>());
                let text: String = words.collect();
                let has = text.split(' ').any(|word| word == joint.letter);
                assert!(has, "{sample}: segment {} lacks {}", k + 1, joint.letter);
            }
            told += 1;
            continue;
        }
        // Where another joint has the same key, or is too low to have one and so passes under this one's, it is
        // told.
        let told_of = |other: usize| {
            let keys = row.joints.get(other).map(|j| &j.keys);
            keys.is_some_and(|keys| keys.is_empty() || *keys == joint.keys)
        };
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
            if !(stopped || end.joint.is_some_and(told_of)) {
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
    assert!(tried > 0 || told == row.joints.len(), "{sample} {wish:?}");
    assert!(
        through.is_empty(),
        "{sample} {wish:?} let through: {through:?}"
    );
}
