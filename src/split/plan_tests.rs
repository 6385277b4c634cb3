//! Planning and laying whole workpieces, held against an exhaustive search that shares no code with the
//! planner.

use super::plan::plan_cuts;
use super::reach::{Reach, STEP_MM};
use super::tests::{ANGLE, Made, arc, check, nose, printer, straight, sweep_angle};
use super::*;
use crate::math::robust::Draws;
use crate::math::{Point3, Vector3};

/// A short angle along a curve of three arcs, its upper half raised and lowered.
fn any_workpiece(draws: &mut Draws) -> Made {
    let mut any = |low: f64, high: f64| low + (high - low) * draws.below(10_001) as f64 / 1e4;
    let length = any(150.0, 380.0);
    let bends = [0; 3].map(|_| any(-1.0 / 150.0, 1.0 / 90.0));
    let (mut p, mut heading) = (Point3::origin(), any(0.0, 6.0));
    let mut points = Vec::new();
    let steps = 60;
    for i in 0..=steps {
        points.push(p);
        heading += bends[(3 * i / (steps + 1)).min(2)] * length / steps as f64;
        p += Vector3::new(heading.cos(), heading.sin(), 0.0) * (length / steps as f64);
    }
    let spine = Spine::fit(&points, &vec![1.0; points.len()], 40.0, 0.0).unwrap();
    let (swing, wave) = (any(0.0, 12.0), any(40.0, 120.0));
    sweep_angle(spine, 6.0, move |s| swing * (s / wave).sin())
}

fn any_printer(draws: &mut Draws) -> PrinterOptions {
    let mut any = |low: f64, high: f64| low + (high - low) * draws.below(10_001) as f64 / 1e4;
    PrinterOptions {
        build_mm: [any(75.0, 130.0), any(75.0, 130.0), any(85.0, 190.0)],
        margin_mm: 2.0,
        tab_mm: 8.0,
        tab_wall_mm: 2.0,
        ..PrinterOptions::default()
    }
}

/// The rings of a workpiece made here, and what the printer has room for.
struct Oracle {
    rings: Vec<Vec<Point3>>,
    alongs: Vec<Vector3>,
    places: Vec<f64>,
    room: [f64; 3],
    tab_mm: f64,
    reach_in: f64,
}

/// Kept free of the room here, so that steps of the turn and the slack that the planner keeps decide
/// nothing (mm).
const SPARE: f64 = 0.3;

impl Oracle {
    fn new(made: &Made, printer: &PrinterOptions) -> Self {
        let frames: Vec<_> = made
            .hidden
            .iter()
            .map(|h| made.spine.frame_at(h.s))
            .collect();
        let rings = (made.hidden.iter().zip(&frames))
            .map(|(row, frame)| {
                let raised = row.face[1].y - 58.0;
                let lift = |z: f64| if z > 30.0 { z + raised } else { z };
                (ANGLE
                    .iter()
                    .map(|&[x, z]| frame.to_shop(Point2::new(x, lift(z)))))
                .collect()
            })
            .collect();
        Self {
            rings,
            alongs: frames.iter().map(|f| f.along).collect(),
            places: made.hidden.iter().map(|h| h.s).collect(),
            room: room(printer),
            tab_mm: printer.tab_mm,
            // A tab lies inboard of the hidden face, over the flange; its root there is inside of it.
            reach_in: printer.fit_mm + printer.tab_wall_mm,
        }
    }

    fn last(&self) -> usize {
        self.rings.len() - 1
    }

    /// All corners of a segment, its tab among them.
    fn corners(&self, from: usize, to: usize) -> Vec<Point3> {
        let mut all: Vec<Point3> = self.rings[from..=to].concat();
        if to < self.last() {
            let end = self.places[to] + self.tab_mm;
            for i in to..=self.last() {
                // The inside of the face, pushed inboard by the tab; one ring further than it reaches.
                let inside = self.rings[i][3];
                let outside = self.rings[i][2];
                let inboard = (inside - outside).normalize() * self.reach_in;
                let beyond = (self.places[i] - end).max(0.0);
                let back = self.alongs[i] * beyond;
                all.push(inside + inboard - back);
                all.push(inside - back);
                if self.places[i] >= end {
                    break;
                }
            }
        }
        all
    }

    /// Whether the corners fit with a direction up in some of 360 turns.
    fn fits_with(&self, corners: &[Point3], up: Vector3) -> bool {
        // No pose takes what is longer than the room's diagonal.
        let long = corners.iter().map(|p| (p - corners[0]).norm());
        if long.fold(0.0, f64::max) > Vector3::from(self.room).norm() {
            return false;
        }
        let spin =
            nalgebra::UnitQuaternion::rotation_between(&up, &Vector3::z()).unwrap_or_else(|| {
                nalgebra::UnitQuaternion::from_euler_angles(std::f64::consts::PI, 0.0, 0.0)
            });
        let turned: Vec<Point3> = corners.iter().map(|p| spin * p).collect();
        let extent = |axis: Vector3| {
            let along = turned.iter().map(|p| p.coords.dot(&axis));
            let high = along.clone().fold(f64::NEG_INFINITY, f64::max);
            high - along.fold(f64::INFINITY, f64::min)
        };
        extent(Vector3::z()) <= self.room[2] - SPARE
            && (0..360).any(|half_deg| {
                let (sin, cos) = (f64::from(half_deg) * 0.5).to_radians().sin_cos();
                extent(Vector3::new(cos, sin, 0.0)) <= self.room[0] - SPARE
                    && extent(Vector3::new(-sin, cos, 0.0)) <= self.room[1] - SPARE
            })
    }

    fn is_long_enough(&self, from: usize, to: usize) -> bool {
        let joints = f64::from(u8::from(from > 0)) + f64::from(u8::from(to < self.last()));
        // Stations are a millimetre apart: two ends may each fall back by one.
        self.places[to] - self.places[from] >= joints * (self.tab_mm + 1.0) + 7.0
    }

    fn has_tab_room(&self, at: usize) -> bool {
        let (first, last) = (self.places[0], self.places[self.last()]);
        self.places[at] - self.tab_mm > first + 1.0 && self.places[at] + self.tab_mm < last - 1.0
    }

    /// Upright, turned in plan; and standing on a straight piece's end, which is steady.
    fn fits(&self, from: usize, to: usize) -> bool {
        let corners = self.corners(from, to);
        let straight = self.alongs[from].dot(&self.alongs[to]) > 0.9999;
        self.fits_with(&corners, Vector3::z())
            || (straight && self.fits_with(&corners, self.alongs[from]))
    }

    /// Whether a segment from one ring to another is long enough, has room for its tab and fits.
    fn may_be(&self, from: usize, to: usize) -> bool {
        to > from
            && self.is_long_enough(from, to)
            && (to == self.last() || self.has_tab_room(to))
            && (self.rings[to][0] - self.rings[from][0]).norm() < 260.0
            && self.fits(from, to)
    }

    /// Cuts that make it with no more than so many, if there are any: every set of cuts at the rings is
    /// tried, from one end to the other. What can be reached with so many cuts is all that matters for those
    /// that follow.
    fn any_row(&self, cuts: usize) -> Option<Vec<usize>> {
        let last = self.last();
        let mut reached: Vec<Option<Vec<usize>>> = vec![None; last + 1];
        reached[0] = Some(Vec::new());
        let mut at = vec![0];
        for more in (0..=cuts).rev() {
            if let Some(&from) = at.iter().find(|&&from| self.may_be(from, last)) {
                return reached[from].clone();
            }
            let mut next = Vec::new();
            for to in (1..last).filter(|_| more > 0) {
                if reached[to].is_none()
                    && let Some(&from) = at.iter().find(|&&from| self.may_be(from, to))
                {
                    let row = reached[from].iter().flatten().copied().chain([to]);
                    reached[to] = Some(row.collect());
                    next.push(to);
                }
            }
            at = next;
        }
        None
    }
}

#[test]
fn no_row_with_fewer_segments_exists_for_a_hundred_workpieces() {
    let mut draws = Draws::seeded(2024);
    let (mut counts, mut checked) = ([0; 12], 0);
    while checked < 100 {
        let made = any_workpiece(&mut draws);
        let printer = any_printer(&mut draws);
        let work = made.workpiece();
        let result = match split(&work, &printer, &Progress::silent()) {
            Ok(result) => result,
            // A bend that the build volume does not take: the search must find nothing either.
            Err(SplitFault::TooSmall { .. }) => {
                let oracle = Oracle::new(&made, &printer);
                assert_eq!(oracle.any_row(9), None);
                continue;
            }
            Err(other) => panic!("{other}"),
        };
        checked += 1;
        let room = room(&printer);
        for segment in &result.segments {
            let (low, high) = segment.on_bed.bounds();
            assert!((0..3).all(|k| high[k] - low[k] <= room[k] + 1e-3));
        }
        let cuts = result.joints.len();
        counts[cuts] += 1;
        if cuts > 0 {
            let oracle = Oracle::new(&made, &printer);
            let fewer = oracle.any_row(cuts - 1);
            assert_eq!(fewer, None, "{checked}: {cuts} cuts where fewer do");
        }
    }
    // Most need cuts, or there is nothing to confirm.
    assert!(
        counts[0] < 30 && counts[2..].iter().sum::<i32>() > 30,
        "{counts:?}"
    );
}

#[test]
fn closer_stations_give_no_fewer_segments() {
    let room = Room {
        slack: FIRST_SLACK_MM,
        poses: Poses::All,
    };
    let (straight, arc, nose) = (straight(1490.0), arc(400.0), nose());
    for made in [&straight, &arc, &nose] {
        for size in [160.0, 177.0, 193.0, 220.0, 256.0, 301.0] {
            let printer = printer(size);
            let work = made.workpiece();
            let plan = plan_cuts(&work, &printer, room).unwrap();
            let half = plan::cuts_at_spacing(&work, &printer, room, STEP_MM / 2.0);
            assert!(half.unwrap() >= plan.cuts.len(), "{size}");
        }
    }
}

/// Standing, a bar of 1490 mm needs (1490 - 395) / 375 more than one segment of 395 mm, all but the last
/// with a tab of 20 mm; lying down, a bed of 100 mm takes at most 90 sqrt 2 - 25 = 102 mm.
#[test]
fn a_tall_narrow_printer_has_the_segments_stand() {
    let options = PrinterOptions {
        build_mm: [100.0, 100.0, 400.0],
        ..PrinterOptions::default()
    };
    let result = check(&straight(1490.0), &options);
    assert_eq!(result.segments.len(), 4);
    for segment in &result.segments {
        assert!(
            matches!(segment.pose.lies, Lies::OnLeftEnd | Lies::OnRightEnd),
            "{:?}",
            segment.pose
        );
        assert!(segment.pose.scores.steady_mm > STEADY_MM);
    }
    assert!(
        result
            .findings
            .iter()
            .any(|f| f.code == "segment-stands-tall")
    );
}

/// A point is in a convex hull if no line parts it from all points (the separation theorem), tried here in
/// 720 directions.
#[test]
fn every_segment_stands_steady_in_the_middle_of_its_bed() {
    for (made, size) in [
        (straight(900.0), 220.0),
        (arc(300.0), 180.0),
        (nose(), 220.0),
    ] {
        for segment in &check(&made, &printer(size)).segments {
            let mesh = segment.on_bed.mesh();
            let (low, high) = segment.on_bed.bounds();
            assert!((low.x + high.x).abs() < 1e-3 && (low.y + high.y).abs() < 1e-3);
            assert_eq!(low.z, 0.0);
            let centre = crate::mesh::measure::measure(mesh).unwrap().centroid;
            // The centre is over what touches, whichever way it is pushed.
            let touching: Vec<Point3> = mesh
                .points
                .iter()
                .filter(|p| p.z <= 0.05)
                .copied()
                .collect();
            for half_deg in 0..720 {
                let (sin, cos) = (f64::from(half_deg) * 0.5).to_radians().sin_cos();
                let way = |p: &Point3| p.x * cos + p.y * sin;
                let furthest = touching.iter().map(way).fold(f64::NEG_INFINITY, f64::max);
                assert!(furthest > way(&centre), "{half_deg}: {:?}", segment.pose);
            }
            assert!(segment.pose.fitting > 0);
            assert!(!segment.pose.why.is_empty());
        }
    }
}

/// An angle on its foot prints without support, and its joints' layers run along the pull.
#[test]
fn an_angle_stands_on_its_foot() {
    for segment in &check(&straight(900.0), &printer(256.0)).segments {
        let Pose { lies, scores, .. } = &segment.pose;
        assert_eq!(*lies, Lies::FootDown, "{:?}", segment.pose);
        assert!(scores.overhang_mm2 < 1.0 && scores.layers_to_pull < 1e-6);
        let length = segment.along[1] - segment.along[0];
        assert!((scores.contact_mm2 / (25.0 * length) - 1.0).abs() < 1e-3);
        assert!((scores.height_mm - 60.0).abs() < 1e-3);
        assert_eq!(segment.estimate.support_mm3, 0.0);
    }
}

fn wish(at_mm: f64, rule: CutRule, reach_mm: f64) -> CutWish {
    CutWish {
        at_mm,
        rule,
        reach_mm,
    }
}

#[test]
fn pins_and_forbidden_places_are_kept() {
    let made = straight(1500.0);
    let mut options = printer(250.0);
    let free = check(&made, &options);
    options.cuts = vec![
        wish(333.0, CutRule::Pin, 0.0),
        wish(free.joints[3].s, CutRule::Forbid, 50.0),
    ];
    let result = check(&made, &options);
    assert!(result.joints.iter().any(|j| (j.s - 333.0).abs() <= 0.5));
    let shut = free.joints[3].s;
    assert!(result.joints.iter().all(|j| (j.s - shut).abs() > 50.0));
}

#[test]
fn a_wish_that_cannot_be_had_says_what_can() {
    let made = straight(1500.0);
    let options = printer(250.0);
    for (wishes, near) in [
        // Too near to the end for its tab: 5 mm and a tab of 20 from there.
        (vec![wish(10.0, CutRule::Pin, 0.0)], Some(25.0)),
        (vec![wish(-5.0, CutRule::Pin, 0.0)], Some(25.0)),
        // Two joints of 20 mm each and 5 between.
        (
            vec![
                wish(700.0, CutRule::Pin, 0.0),
                wish(720.0, CutRule::Pin, 0.0),
            ],
            Some(745.0),
        ),
        (
            vec![
                wish(700.0, CutRule::Forbid, 30.0),
                wish(701.0, CutRule::Pin, 0.0),
            ],
            Some(731.0),
        ),
    ] {
        let asked = PrinterOptions {
            cuts: wishes.clone(),
            ..options.clone()
        };
        let fault = split(&made.workpiece(), &asked, &Progress::silent()).unwrap_err();
        let SplitFault::Wish { nearest, .. } = fault else {
            panic!("{fault}");
        };
        let off = nearest.zip(near).map(|(a, b)| (a - b).abs());
        assert!(off.is_some_and(|off| off <= 1.0), "{wishes:?} {fault}");
        // What is offered works.
        let mut had = asked;
        let last = had.cuts.len() - 1;
        had.cuts[last].at_mm = nearest.unwrap();
        assert!(split(&made.workpiece(), &had, &Progress::silent()).is_ok());
    }
    let asked = PrinterOptions {
        cuts: vec![wish(750.0, CutRule::Forbid, 400.0)],
        ..options
    };
    let fault = split(&made.workpiece(), &asked, &Progress::silent()).unwrap_err();
    let SplitFault::Wish { nearest, .. } = fault else {
        panic!("{fault}");
    };
    let reach = nearest.unwrap();
    // A bar of 25 mm takes 240 sqrt 2 - 25 = 314.4 mm of a diagonal; its tab of 20 mm takes some of that.
    assert!((147.0..157.0).contains(&reach), "{reach}");
    let with = |reach_mm: f64| {
        let mut options = asked.clone();
        options.cuts[0].reach_mm = reach_mm;
        split(&made.workpiece(), &options, &Progress::silent())
    };
    assert!(with(reach).is_ok());
    assert!(matches!(with(reach + 1.0), Err(SplitFault::Wish { .. })));
    let shown = crate::diag::Problem::from(fault);
    assert!(
        shown.to_string().contains("400 mm to each side of 750 mm"),
        "{shown}"
    );
}

#[test]
fn cuts_keep_clear_of_fixings() {
    let made = straight(1500.0);
    let options = printer(250.0);
    let mut work = made.workpiece();
    // Bolts every 100 mm.
    work.keep_clear = (0..15)
        .map(|i| f64::from(i) * 100.0 + 40.0)
        .map(|s| [s - 9.0, s + 9.0])
        .collect();
    let result = split(&work, &options, &Progress::silent()).unwrap();
    assert_eq!(result.findings, vec![]);
    for joint in &result.joints {
        let clear = |[a, b]: &[f64; 2]| joint.s + 20.0 <= *a || joint.s - 20.0 >= *b;
        assert!(work.keep_clear.iter().all(clear), "{}", joint.s);
    }
    // So close that no tab has room between them: told at each cut, not refused.
    work.keep_clear = (0..60)
        .map(|i| f64::from(i) * 25.0)
        .map(|s| [s, s + 5.0])
        .collect();
    let result = split(&work, &options, &Progress::silent()).unwrap();
    let told = result
        .findings
        .iter()
        .filter(|f| f.code == "cut-at-a-fixing");
    assert_eq!(told.count(), result.joints.len());
}

/// Where a tab may pass a fixing, only the cut keeps clear of it, and no segment more is needed.
#[test]
fn tabs_may_pass_fixings_that_leave_room() {
    let made = straight(1500.0);
    let options = printer(250.0);
    let mut work = made.workpiece();
    let free = split(&work, &options, &Progress::silent()).unwrap();
    let bolts: Vec<[f64; 2]> = (0..60)
        .map(|i| f64::from(i) * 25.0)
        .map(|s| [s, s + 5.0])
        .collect();
    work.cut_clear = bolts.clone();
    let result = split(&work, &options, &Progress::silent()).unwrap();
    assert_eq!(result.findings, vec![]);
    assert_eq!(result.joints.len(), free.joints.len());
    for joint in &result.joints {
        assert!(bolts.iter().all(|[a, b]| joint.s <= *a || joint.s >= *b));
    }
}

/// Lower in one place, and only a little off the middle: the seam goes there.
#[test]
fn a_short_seam_is_looked_for() {
    let points: Vec<Point3> = (0..=20)
        .map(|i| Point3::new(0.0, f64::from(i) * 20.0, 0.0))
        .collect();
    let spine = Spine::fit(&points, &[1.0; 21], 200.0, 0.0).unwrap();
    let low = |s: f64| -22.0 * (-((s - 225.0) / 12.0).powi(2)).exp();
    let made = sweep_angle(spine, 4.0, low);
    let result = check(&made, &printer(256.0));
    assert_eq!(result.joints.len(), 1);
    assert!(
        (result.joints[0].s - 225.0).abs() < 8.0,
        "{}",
        result.joints[0].s
    );
}

#[test]
fn pulled_apart_no_segment_stays_at_its_neighbour() {
    let made = nose();
    let result = check(&made, &printer(180.0));
    let away = &result.exploded.away;
    assert_eq!(away.len(), result.segments.len());
    assert_eq!(result.exploded.labels.len(), away.len());
    assert!(away.iter().sum::<Vector3>().norm() < 1e-6);
    for (pair, joint) in away.windows(2).zip(&result.joints) {
        let along = made.spine.frame_at(joint.s).along;
        assert!(((pair[1] - pair[0]) - along * PULL_MM).norm() < 1e-9);
    }
    for (i, label) in result.exploded.labels.iter().enumerate() {
        let (low, high) = result.segments[i].in_place.bounds();
        let inside = label - away[i];
        assert!(inside.z > high.z && inside.x >= low.x && inside.x <= high.x);
    }
}

#[test]
fn sections_are_measured_as_they_are() {
    let made = straight(200.0);
    let reach = Reach::measure(&made.workpiece(), &PrinterOptions::default()).unwrap();
    // Face and flange less their common corner, by hand; its centroid by moments.
    let area = 60.0 * 3.0 + 22.0 * 3.0;
    let x = (60.0 * 3.0 * -1.5 + 22.0 * 3.0 * -14.0) / area;
    let z = (60.0 * 3.0 * 30.0 + 22.0 * 3.0 * 1.5) / area;
    for i in [20, 101, 180] {
        let at = &reach.stations[i];
        assert!((at.area - area).abs() < 1e-3, "{}", at.area);
        assert!((at.wall - 2.0 * area / (2.0 * (60.0 + 25.0))).abs() < 1e-3);
        let c = at.frame.to_section(at.centroid);
        assert!((c - Point2::new(x, z)).norm() < 1e-3, "{c}");
        assert_eq!(at.hull.len(), 5);
    }
}
