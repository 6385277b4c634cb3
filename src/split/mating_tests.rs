//! Segments put together and put together wrongly, judged by a collision library that has no part in
//! making them (parry): right pairs seat and keep their fit, wrong ones are stopped short.

use super::tests::{arc, check, nose, printer, straight};
use super::*;
use crate::math::{Point3, StationFrame, Vector3};
use crate::mesh::nearest::Nearest;
use nalgebra::{Isometry3, Rotation3, Translation3, UnitQuaternion};
use std::f64::consts::PI;

/// A wrong pair is stopped at least this far short of seating (mm), as the project asks.
const SHORT_MM: f64 = 3.0;
/// Where the way to the seat begins (mm), and the steps it is looked at in.
const FROM_MM: f64 = 60.0;
const STEP_MM: f64 = 0.5;

fn surface(solid: &Solid) -> Nearest {
    Nearest::new(solid.mesh()).unwrap()
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

/// Half a turn about an axis through a point.
fn half_turn(about: Vector3, through: Point3) -> Isometry3<f64> {
    let turn = UnitQuaternion::from_axis_angle(&nalgebra::Unit::new_normalize(about), PI);
    Isometry3::from_parts(Translation3::from(through - turn * through), turn)
}

/// How far short of seating a piece is stopped that comes along a direction (mm); zero if it seats.
fn stopped_short(piece: &Nearest, pose: &Isometry3<f64>, way: Vector3, other: &Nearest) -> f64 {
    let mut short = FROM_MM;
    while short > 0.0 {
        let moved = Translation3::from(-way * short) * pose;
        if piece.distance_when_moved(&moved, other) < 1e-6 {
            return short;
        }
        short -= STEP_MM;
    }
    0.0
}

/// An end that can be offered to a tab: the piece, and what brings that end to the joint's own place.
struct End {
    what: String,
    piece: usize,
    pose: Isometry3<f64>,
}

/// Every end but the right one, each way round it can be held, for the tab of joint `at`.
///
/// `middle` is the middle of what is joined, in the station plane.
fn wrong_ends(made: &super::tests::Made, row: &Segments, at: usize, middle: Point2) -> Vec<End> {
    let frame = |s: f64| made.spine.frame_at(s);
    let here = frame(row.joints[at].s);
    let middle = |f: &StationFrame| f.to_shop(middle);
    let last = row.segments.len() - 1;
    let mut ends = Vec::new();
    for (piece, segment) in row.segments.iter().enumerate() {
        let [left, right] = segment.along.map(frame);
        if piece != at + 1 {
            ends.push(End {
                what: format!("left end of {}", piece + 1),
                piece,
                pose: onto(&left, &here),
            });
        }
        ends.push(End {
            what: format!("left end of {} upside down and inside out", piece + 1),
            piece,
            pose: onto(&left, &here) * half_turn(left.along, middle(&left)),
        });
        let turns = [
            ("end for end", Vector3::z()),
            ("end for end and upside down", right.outward),
        ];
        for (how, axis) in turns {
            ends.push(End {
                what: format!(
                    "right end of {} {how}{}",
                    piece + 1,
                    if piece == last { ", which is free" } else { "" }
                ),
                piece,
                pose: onto(&right, &here) * half_turn(axis, middle(&right)),
            });
        }
    }
    ends
}

/// The middle of the angle's wall, which is 60 high and 3 thick.
const WALL: Point2 = Point2::new(-1.5, 30.0);
/// A bar 45 by 60, as a solid buck is.
const BAR: [f64; 2] = [45.0, 60.0];

fn bar(length: f64) -> super::tests::Made {
    let made = straight(length);
    let corner = Point3::new(40.0 - BAR[0], -length / 2.0, 0.0);
    let size = Vector3::new(BAR[0], length, BAR[1]);
    super::tests::Made {
        solid: Solid::new(crate::mesh::samples::block(corner, size)).unwrap(),
        hidden: Vec::new(),
        ..made
    }
}

/// Offers every wrong end for which `tried` holds to every joint.
fn expect_stopped(
    made: &super::tests::Made,
    row: &Segments,
    middle: Point2,
    tried: impl Fn(&End) -> bool,
) -> usize {
    assert!(row.joints.len() >= 4, "{}", row.joints.len());
    let surfaces: Vec<Nearest> = row.segments.iter().map(|s| surface(&s.in_place)).collect();
    let mut count = 0;
    for at in 0..row.joints.len() {
        let way = row.joints[at].seats_along;
        for end in wrong_ends(made, row, at, middle).into_iter().filter(&tried) {
            // The neighbour comes toward the segment with tab or pins, against the way that is moved.
            let short = stopped_short(&surfaces[end.piece], &end.pose, -way, &surfaces[at]);
            assert!(
                short >= SHORT_MM,
                "{} stops {short} mm short at joint {}",
                end.what,
                row.joints[at].letter
            );
            count += 1;
        }
    }
    count
}

#[test]
fn no_wrong_pair_comes_within_three_millimetres_of_seating() {
    let made = straight(900.0);
    let row = check(&made, &printer(180.0));
    let tried = expect_stopped(&made, &row, WALL, |_| true);
    assert!(tried > 60, "{tried}");
}

#[test]
fn no_wrong_pair_of_a_solid_bar_comes_near_its_seat() {
    let made = bar(900.0);
    let row = check(&made, &printer(180.0));
    assert_eq!(row.findings, vec![]);
    let tried = expect_stopped(
        &made,
        &row,
        Point2::new(-BAR[0] / 2.0, BAR[1] / 2.0),
        |_| true,
    );
    assert!(tried > 60, "{tried}");
}

/// A web turned inside out stands on the other side of the wall, where no pin reaches it: the tongue beside
/// the web stops it.
#[test]
fn webs_with_pins_stop_every_wrong_pair() {
    let made = straight(900.0);
    let options = PrinterOptions {
        joint: JointWish::Bulkhead,
        ..printer(180.0)
    };
    let row = check(&made, &options);
    assert_eq!(row.findings, vec![]);
    assert!(row.joints.iter().all(|j| j.kind == JointKind::Bulkhead));
    // Two pins and a tongue.
    assert!(row.joints.iter().all(|j| j.keys.len() == 3));
    let tried = expect_stopped(&made, &row, WALL, |_| true);
    assert!(tried > 60, "{tried}");
}

/// From the lowest face that takes pins upward: a screw's hole beside them leaves a wall of three beads at least.
#[test]
fn a_screw_breaks_into_no_socket() {
    for high in [37.0, 42.0, 52.0] {
        let mut made = straight(500.0);
        for row in &mut made.hidden {
            row.face[1].y = row.face[0].y + high;
        }
        let options = PrinterOptions {
            joint: JointWish::Bulkhead,
            ..printer(180.0)
        };
        let row = check(&made, &options);
        let pins = |joint: &Joint| -> Vec<f64> {
            let pins = joint.keys.iter().filter(|key| key.into_mm >= key.long_mm);
            pins.map(|key| key.leaves_mm).collect()
        };
        for joint in &row.joints {
            let leaves = pins(joint);
            assert_eq!(leaves.len(), 2, "{joint:?}");
            assert!(leaves.iter().all(|wall| *wall >= 1.2), "{high} {leaves:?}");
        }
    }
}

/// Where the fit takes more than half of a wall of 3 mm there is no room for a tongue.
#[test]
fn a_web_without_a_tongue_says_so() {
    let made = straight(900.0);
    let options = PrinterOptions {
        joint: JointWish::Bulkhead,
        fit_mm: 1.7,
        ..printer(180.0)
    };
    let row = check(&made, &options);
    let told = (row.findings.iter()).filter(|f| f.code == "web-without-tongue");
    let at: usize = told.map(|f| f.stations().count()).sum();
    assert_eq!(at, row.joints.len(), "{:?}", row.findings);
}

#[test]
fn right_pairs_slide_home_without_touching() {
    let pinned = PrinterOptions {
        joint: JointWish::Bulkhead,
        ..printer(180.0)
    };
    expect_slide(&straight(900.0), &printer(180.0));
    expect_slide(&bar(900.0), &printer(180.0));
    expect_slide(&straight(900.0), &pinned);
}

fn expect_slide(made: &super::tests::Made, options: &PrinterOptions) {
    let row = check(made, options);
    for (joint, pair) in row.joints.iter().zip(row.segments.windows(2)) {
        let [own, next] = [0, 1].map(|k| surface(&pair[k].in_place));
        let mut short = FROM_MM;
        while short > 0.3 {
            let moved = Isometry3::from(Translation3::from(joint.seats_along * short));
            let clear = next.distance_when_moved(&moved, &own);
            // The cuts' own faces and the webs' come nearer as the pair closes.
            let least = (options.fit_mm - 0.05).min(short - 0.01);
            assert!(clear >= least, "{short} {clear}");
            short -= 1.0;
        }
    }
}

/// Distance from what stands past the cut to the neighbour (mm): the least over points on all of it.
fn least_clearance(joint: &Joint, frame: &StationFrame, own: &Solid, next: &Nearest) -> f64 {
    let mesh = own.mesh();
    let past = |p: &Point3| (p - frame.origin).dot(&frame.along);
    let near = |p: &Point3| (p - frame.origin).norm() < 120.0;
    let mut least = f64::INFINITY;
    let mut looked_at = 0;
    for triangle in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(triangle);
        for i in 0..=8 {
            for k in 0..=8 - i {
                let (u, v) = (f64::from(i) / 8.0, f64::from(k) / 8.0);
                let p = a + (b - a) * u + (c - a) * v;
                if past(&p) > 0.05 && past(&p) < 30.0 && near(&p) {
                    least = least.min(next.distance(p));
                    looked_at += 1;
                }
            }
        }
    }
    assert!(looked_at > 200, "{joint:?}");
    least
}

#[test]
fn joints_keep_their_fit_along_bends_too() {
    for (made, size) in [
        (straight(500.0), 200.0),
        (arc(300.0), 200.0),
        (nose(), 180.0),
        (bar(500.0), 200.0),
    ] {
        for fit_mm in [0.15, 0.25, 0.4] {
            let options = PrinterOptions {
                fit_mm,
                ..printer(size)
            };
            let row = check(&made, &options);
            for (joint, pair) in row.joints.iter().zip(row.segments.windows(2)) {
                assert!(!joint.keys.is_empty(), "{joint:?}");
                let frame = made.spine.frame_at(joint.s);
                let next = surface(&pair[1].in_place);
                let clear = least_clearance(joint, &frame, &pair[0].in_place, &next);
                assert!((clear - fit_mm).abs() <= 0.05, "{clear} for {fit_mm}");
            }
        }
    }
}

/// The visible side is the angle's outside: nothing of a joint stands out of it or breaks through it, and
/// a third of the wall of 3 mm is left at least.
#[test]
fn nothing_of_a_joint_shows_outside() {
    let made = straight(500.0);
    let row = check(&made, &printer(200.0));
    for segment in &row.segments {
        let (low, high) = segment.in_place.bounds();
        // The spine of the straight sample runs at x = 40.
        assert!(high.x <= 40.0 + 1e-3 && low.z >= -1e-3 && high.z <= 60.0 + 1e-3);
        let surface = surface(&segment.in_place);
        let y = |share: f64| low.y + (high.y - low.y) * share;
        for i in 1..400 {
            for z in (8..56).map(|z| f64::from(z) + 0.37) {
                let at = y(f64::from(i) / 400.0);
                let from = Point3::new(41.0, at, z);
                let hit = surface.ray(from, -Vector3::x(), 100.0);
                // Past its own end there is only the tab, behind the neighbour's wall.
                if hit.is_some_and(|d| d < 2.0) {
                    let inside = Point3::new(39.99, at, z);
                    let wall = surface.ray(inside, -Vector3::x(), 100.0).unwrap();
                    assert!(wall + 0.01 >= 1.0, "{wall} at {at} {z}");
                }
            }
        }
    }
}

#[test]
fn a_face_too_low_for_keys_of_their_own_says_so() {
    let made = straight(900.0);
    let low = |mm: f64, fit_mm: f64| {
        let mut made = straight(900.0);
        for row in &mut made.hidden {
            row.face[1].y = row.face[0].y + mm;
        }
        let options = PrinterOptions {
            fit_mm,
            ..printer(180.0)
        };
        check(&made, &options)
    };
    let told = |row: &Segments, code: &str| {
        let found = row.findings.iter().filter(|f| f.code == code);
        found.map(|f| f.what.clone()).collect::<Vec<_>>()
    };
    // Room for as many as there are.
    let row = low(17.0, 0.25);
    assert!(
        told(&row, "joint-keys-repeat").is_empty(),
        "{:?}",
        row.findings
    );
    for (i, one) in row.joints.iter().enumerate() {
        assert!(row.joints[..i].iter().all(|other| other.keys != one.keys));
    }
    // Room for three, which do not go round: but neighbours never share one.
    let row = low(8.0, 0.25);
    let repeats = told(&row, "joint-keys-repeat");
    let first = repeats[0].split("; ").next().unwrap();
    assert!(
        first.starts_with("joint A also takes the left end of segment "),
        "{repeats:?}"
    );
    let ends: Vec<&str> = first.split(" and ").collect();
    assert!(
        ends.iter().all(|end| !end.ends_with("segment 3")),
        "{repeats:?}"
    );
    let surfaces: Vec<Nearest> = row.segments.iter().map(|s| surface(&s.in_place)).collect();
    for (at, pair) in row.joints.windows(2).enumerate() {
        let [one, other] = [0, 1].map(|k| made.spine.frame_at(pair[k].s));
        for (tab, next, pose) in [
            (at, at + 2, onto(&other, &one)),
            (at + 1, at + 1, onto(&one, &other)),
        ] {
            let way = row.joints[tab].seats_along;
            let short = stopped_short(&surfaces[next], &pose, -way, &surfaces[tab]);
            assert!(short >= SHORT_MM, "{short} {pair:?}");
        }
    }
    // Half of the wall goes into the fit.
    let row = low(17.0, 1.7);
    let at = (row.findings.iter()).find(|f| f.code == "joint-without-key");
    assert_eq!(at.unwrap().stations().count(), row.joints.len());
}

#[test]
fn every_joint_has_a_letter_of_its_own() {
    let letters: Vec<String> = [0, 1, 25, 26, 51, 52].map(letter).into();
    assert_eq!(letters, ["A", "B", "Z", "AA", "AZ", "BA"]);
}
