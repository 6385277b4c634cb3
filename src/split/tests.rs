//! Splitting whole workpieces made here: an angle section swept along known curves.

use super::reach::Reach;
use super::*;
use crate::math::Point3;
use crate::mesh::self_cross::find_crossing;
use crate::mesh::{TriMesh, boolean, topology};

/// An angle: face 60 high and 3 thick with its outside on the spine, flange 25 deep, hidden side inboard.
pub(super) const ANGLE: [[f64; 2]; 6] = [
    [-25.0, 0.0],
    [0.0, 0.0],
    [0.0, 60.0],
    [-3.0, 60.0],
    [-3.0, 3.0],
    [-25.0, 3.0],
];
const FACE: [[f64; 2]; 2] = [[-3.0, 6.0], [-3.0, 58.0]];

pub(super) struct Made {
    pub(super) solid: Solid,
    pub(super) spine: Spine,
    pub(super) hidden: Vec<HiddenFace>,
}

impl Made {
    pub(super) fn workpiece(&self) -> Workpiece<'_> {
        Workpiece {
            name: "angle",
            front: Some(crate::math::Vector3::x()),
            solid: &self.solid,
            spine: &self.spine,
            hidden: self.hidden.clone(),
            label_on: Vec::new(),
            keep_clear: Vec::new(),
            cut_clear: Vec::new(),
            label_clear: Vec::new(),
        }
    }
}

pub(super) fn sweep_angle(spine: Spine, spacing: f64, raise: impl Fn(f64) -> f64) -> Made {
    let n = (spine.length() / spacing).ceil() as u32;
    let corners = ANGLE.len() as u32;
    let mut mesh = TriMesh::default();
    let mut hidden = Vec::new();
    for i in 0..=n {
        let s = spine.length() * f64::from(i) / f64::from(n);
        let frame = spine.frame_at(s);
        let lifted = |[x, z]: [f64; 2]| Point2::new(x, if z > 30.0 { z + raise(s) } else { z });
        mesh.points
            .extend(ANGLE.iter().map(|&p| frame.to_shop(lifted(p))));
        hidden.push(HiddenFace {
            s,
            face: FACE.map(lifted),
        });
        for k in 0..if i > 0 { corners } else { 0 } {
            let (a, b) = (corners * (i - 1) + k, corners * (i - 1) + (k + 1) % corners);
            mesh.triangles
                .extend([[a, a + corners, b + corners], [a, b + corners, b]]);
        }
    }
    // The section's two halves, as fans that stay inside of it.
    let caps = [[0, 1, 4], [0, 4, 5], [1, 2, 4], [2, 3, 4]];
    let end = corners * n;
    for [a, b, c] in caps {
        mesh.triangles
            .extend([[a, b, c], [end + a, end + c, end + b]]);
    }
    Made {
        solid: Solid::new(mesh).unwrap(),
        spine,
        hidden,
    }
}

pub(super) fn straight(length: f64) -> Made {
    let points: Vec<Point3> = (0..=20)
        .map(|i| Point3::new(40.0, length * f64::from(i) / 20.0 - length / 2.0, 0.0))
        .collect();
    let spine = Spine::fit(&points, &[1.0; 21], 200.0, 0.0).unwrap();
    sweep_angle(spine, 5.0, |_| 0.0)
}

/// Half a turn at a radius, the centre inboard.
pub(super) fn arc(radius: f64) -> Made {
    let points: Vec<Point3> = (-90..=90)
        .map(|d| {
            let a = f64::from(d).to_radians();
            Point3::new(radius * a.cos(), radius * a.sin(), 0.0)
        })
        .collect();
    let spine = Spine::fit(&points, &[1.0; 181], radius / 10.0, 0.0).unwrap();
    sweep_angle(spine, 5.0, |s| 10.0 * (s / 200.0).sin())
}

/// A nose like a U: two legs along x, 300 apart, and corners of 50.
pub(super) fn nose() -> Made {
    bent_like_a_u(400.0, 150.0, 50.0)
}

/// Length of the legs, half of the width, radius of the corners.
fn bent_like_a_u(leg: f64, half: f64, r: f64) -> Made {
    let mut points = Vec::new();
    let mut put = |x: f64, y: f64| points.push(Point3::new(x, y, 0.0));
    for i in 0..40 {
        put(-leg + (leg - r) * f64::from(i) / 40.0, -half);
    }
    for d in (0..90).step_by(5) {
        let a = f64::from(d).to_radians();
        put(-r + r * a.sin(), -half + r - r * a.cos());
    }
    for i in 0..40 {
        put(0.0, (half - r) * (f64::from(i) / 20.0 - 1.0));
    }
    for d in (0..90).step_by(5) {
        let a = f64::from(d).to_radians();
        put(-r + r * a.cos(), half - r + r * a.sin());
    }
    for i in 0..=40 {
        put(-r - (leg - r) * f64::from(i) / 40.0, half);
    }
    let spine = Spine::fit(&points, &vec![1.0; points.len()], 15.0, 0.0).unwrap();
    sweep_angle(spine, 4.0, |_| 0.0)
}

pub(super) fn printer(size: f64) -> PrinterOptions {
    PrinterOptions {
        build_mm: [size; 3],
        ..PrinterOptions::default()
    }
}

/// What must hold for every row of segments.
pub(super) fn check(made: &Made, printer: &PrinterOptions) -> Segments {
    let result = split(&made.workpiece(), printer, &Progress::silent()).unwrap();
    let room = room(printer);
    assert_eq!(result.joints.len() + 1, result.segments.len());
    let tabs: f64 = (result.joints.iter())
        .map(|j| j.tab_volume_mm3 - j.cut_volume_mm3)
        .sum();
    let sum: f64 = result.segments.iter().map(|s| s.in_place.volume()).sum();
    let whole = made.solid.volume();
    assert!(
        ((sum + cut_away(&result) - tabs) / whole - 1.0).abs() < 1e-3,
        "{sum} {tabs} {whole}"
    );
    for (i, s) in result.segments.iter().enumerate() {
        assert_eq!(s.number, i + 1);
        assert!(
            (0..3).all(|k| s.size_mm[k] <= room[k] + 1e-3),
            "{:?}",
            s.size_mm
        );
        assert!(s.on_bed.bounds().0.z == 0.0);
        let swell = 1.0 / (1.0 - printer.shrink_percent / 100.0);
        let ratio = s.on_bed.volume() / s.in_place.volume() / swell.powi(3);
        assert!((ratio - 1.0).abs() < 1e-5, "{ratio}");
        assert!((s.estimate.part_mm3 / s.on_bed.volume() - 1.0).abs() < 1e-9);
        assert_eq!(topology::find_pieces(s.in_place.mesh()).1, 1);
        assert_eq!(find_crossing(s.in_place.mesh()), None);
    }
    for pair in result.segments.windows(2) {
        let common = boolean::intersect(&pair[0].in_place, &pair[1].in_place).unwrap();
        // Only their common cut: rounding of its corners to f32.
        assert!(common.map_or(0.0, |c| c.volume()) < 0.05);
    }
    result
}

/// What the labels took (mm3).
fn cut_away(result: &Segments) -> f64 {
    let labels = result.segments.iter().filter_map(|s| s.label.as_ref());
    labels.map(|label| label.volume_mm3).sum()
}

fn expect_tabs(result: &Segments) {
    assert_eq!(result.findings, vec![]);
    for joint in &result.joints {
        assert!(joint.tab_volume_mm3 > 1000.0, "{joint:?}");
    }
}

#[test]
fn a_straight_skirt_is_split_evenly() {
    let made = straight(1500.0);
    let result = check(&made, &printer(250.0));
    expect_tabs(&result);
    let lengths: Vec<f64> = result
        .segments
        .iter()
        .map(|s| s.along[1] - s.along[0])
        .collect();
    let even = 1500.0 / lengths.len() as f64;
    assert!(
        lengths.iter().all(|l| (l - even).abs() < 3.0),
        "{lengths:?}"
    );
}

/// A straight bar with a tab is a rectangle of length l + tab and width w; it fits a square of side a
/// turned by 45 degrees if (l + tab + w) / sqrt 2 <= a, and no other turn takes a longer one unless it
/// lies square (plane geometry). The fewest segments follow by counting.
#[test]
fn as_few_segments_as_plane_geometry_allows() {
    for (length, size) in [
        (600.0, 180.0),
        (1000.0, 220.0),
        (1490.0, 256.0),
        (205.0, 220.0),
    ] {
        let made = straight(length);
        let printer = printer(size);
        let side = size - 2.0 * printer.margin_mm;
        let reach = (side * 2f64.sqrt() - 25.0).max(side);
        let mut fewest = 1;
        // All but the last carry a tab.
        while f64::from(fewest - 1) * (reach - printer.tab_mm) + reach < length {
            fewest += 1;
        }
        let result = check(&made, &printer);
        expect_tabs(&result);
        assert_eq!(result.segments.len() as i32, fewest, "{length} {size}");
    }
}

/// All rows of cuts on a coarse grid are tried: none shorter may exist.
#[test]
fn as_few_segments_as_trying_every_row() {
    for (made, size) in [(arc(150.0), 160.0), (arc(120.0), 200.0), (nose(), 220.0)] {
        let printer = printer(size);
        let result = check(&made, &printer);
        let reach = Reach::measure(&made.workpiece(), &printer).unwrap();
        let grid: Vec<usize> = (0..reach.last())
            .step_by(10)
            .chain([reach.last()])
            .collect();
        let room = room(&printer);
        let fits = |from: usize, to: usize| {
            let mut plan = Vec::new();
            for at in &reach.stations[from..=to] {
                let across = at.across.unwrap();
                plan.extend(across.map(|x| at.frame.to_shop(Point2::new(x, 0.0)).xy()));
            }
            if to < reach.last() {
                for at in &reach.stations[to..=(to + 20).min(reach.last())] {
                    let Some(across) = at.tab else {
                        return false;
                    };
                    plan.extend(across.map(|x| at.frame.to_shop(Point2::new(x, 0.0)).xy()));
                }
            }
            // No turn takes what is longer than the diagonal.
            let long = plan.iter().map(|p| (p - plan[0]).norm());
            if long.fold(0.0, f64::max) > room[0].hypot(room[1]) {
                return false;
            }
            (0..360).any(|half_deg| {
                let turn = nalgebra::Rotation2::new((f64::from(half_deg) * 0.5).to_radians());
                let (low, high) = plan.iter().map(|p| turn * p).fold(
                    (Point2::new(1e9, 1e9), Point2::new(-1e9, -1e9)),
                    |(a, b), p| (a.inf(&p), b.sup(&p)),
                );
                high.x - low.x <= room[0] && high.y - low.y <= room[1]
            })
        };
        let mut fewest = vec![usize::MAX; grid.len()];
        fewest[0] = 0;
        for j in 1..grid.len() {
            for i in 0..j {
                if fewest[i] != usize::MAX && fewest[i] + 1 < fewest[j] && fits(grid[i], grid[j]) {
                    fewest[j] = fewest[i] + 1;
                }
            }
        }
        let fewest = fewest[grid.len() - 1];
        assert!(
            result.segments.len() <= fewest,
            "{} for {fewest}",
            result.segments.len()
        );
    }
}

#[test]
fn an_arc_is_split_with_its_tabs() {
    let result = check(&arc(400.0), &printer(200.0));
    expect_tabs(&result);
}

/// A plane through one leg would go through the other.
#[test]
fn a_nose_is_cut_one_leg_at_a_time() {
    let made = nose();
    let result = check(&made, &printer(180.0));
    expect_tabs(&result);
    // Cuts keep away from the corners where they can.
    for joint in &result.joints {
        assert!(
            made.spine.curvature_at(joint.s).abs() < 1.0 / 100.0,
            "{joint:?}"
        );
    }
}

#[test]
fn a_short_workpiece_stays_whole() {
    let mut made = straight(100.0);
    // Without a hidden side it gets no label.
    made.hidden.clear();
    let result = check(&made, &printer(220.0));
    assert_eq!(result.segments.len(), 1);
    assert_eq!(result.segments[0].in_place, made.solid);
}

#[test]
fn a_low_face_is_left_alone_or_reported() {
    let mut made = straight(600.0);
    // Too low for a tab about the place where even segments would be cut.
    for row in &mut made.hidden {
        if (row.s - 300.0).abs() < 45.0 {
            row.face[1].y = row.face[0].y + 4.0;
        }
    }
    let result = check(&made, &printer(320.0));
    expect_tabs(&result);
    assert!(result.joints.iter().all(|j| (j.s - 300.0).abs() > 60.0));
    made.hidden.clear();
    let bare = check(&made, &printer(320.0));
    // One warning for all of them, with the place of each.
    assert_eq!(bare.findings.len(), 1, "{:?}", bare.findings);
    assert_eq!(bare.findings[0].code, "joint-without-pins");
    let told: Vec<f64> = bare.findings[0].stations().collect();
    let at: Vec<f64> = bare.joints.iter().map(|joint| joint.s).collect();
    assert_eq!(told, at);
    assert!(bare.joints.iter().all(|j| j.tab_volume_mm3 == 0.0));
}

/// A rib on the hidden side that the workpiece does not speak of: the tab would lie in it.
#[test]
fn a_tab_that_would_touch_its_neighbour_is_left_out() {
    let mut made = straight(400.0);
    let rib = crate::mesh::samples::block(
        Point3::new(35.0, -30.0, 20.0),
        crate::math::Vector3::new(3.0, 60.0, 20.0),
    );
    let rib = Solid::new(rib).unwrap();
    made.solid = boolean::unite(&[&made.solid, &rib]).unwrap().unwrap();
    let options = printer(250.0);
    let result = split(&made.workpiece(), &options, &Progress::silent()).unwrap();
    assert_eq!(result.joints.len(), 1);
    assert_eq!(result.findings.len(), 1);
    assert_eq!(result.findings[0].code, "tab-in-the-way");
}

#[test]
fn a_build_volume_smaller_than_the_section_says_what_it_needs() {
    let made = straight(500.0);
    for build_mm in [
        [220.0, 220.0, 20.0],
        [40.0, 40.0, 250.0],
        [20.0, 400.0, 250.0],
    ] {
        let small = PrinterOptions {
            build_mm,
            ..PrinterOptions::default()
        };
        let fault = split(&made.workpiece(), &small, &Progress::silent()).unwrap_err();
        let SplitFault::TooSmall { least, .. } = fault else {
            panic!("{fault}");
        };
        // What it says is enough is enough.
        let enough = PrinterOptions {
            build_mm: [0, 1, 2].map(|k| least[k].max(build_mm[k]) + 1.0),
            ..small
        };
        check(&made, &enough);
    }
    let none = PrinterOptions {
        build_mm: [8.0, 220.0, 250.0],
        ..PrinterOptions::default()
    };
    assert!(matches!(
        split(&made.workpiece(), &none, &Progress::silent()),
        Err(SplitFault::BadOption { .. })
    ));
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let made = nose();
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| split(&made.workpiece(), &printer(180.0), &Progress::silent()).unwrap())
    };
    let (one, two) = (run(1), run(2));
    for (a, b) in one.segments.iter().zip(&two.segments) {
        assert_eq!(a.in_place, b.in_place);
        assert_eq!(a.on_bed, b.on_bed);
    }
    assert_eq!(one.joints, two.joints);
}

#[test]
fn cancelling_stops() {
    let watch = Progress::silent();
    watch.cancel();
    let made = straight(600.0);
    let stopped = split(&made.workpiece(), &printer(180.0), &watch);
    assert_eq!(stopped.unwrap_err(), SplitFault::Stopped);
}

/// Area of the angle's section (mm2): face and flange less their common corner.
const ANGLE_AREA: f64 = 60.0 * 3.0 + 22.0 * 3.0;

#[test]
fn coupons_are_slices_of_the_workpiece_that_lie_on_a_cut_face() {
    let printer = PrinterOptions::default();
    let made = straight(600.0);
    let coupons = cut_coupons(&made.workpiece(), &printer, Some(200.0)).unwrap();
    assert_eq!(coupons.len(), 3);
    for (coupon, from) in coupons.iter().zip([0.0, 191.0, 582.0]) {
        let volume = ANGLE_AREA * COUPON_MM;
        assert!(
            (coupon.on_bed.volume() / volume - 1.0).abs() < 1e-3,
            "{}",
            coupon.on_bed.volume()
        );
        assert!((coupon.along[0] - from).abs() < 1.5, "{:?}", coupon.along);
        let mut size = coupon.size_mm;
        size[..2].sort_by(f64::total_cmp);
        assert!((size[2] - 18.0).abs() < 0.01, "{size:?}");
        let flat = coupon
            .on_bed
            .mesh()
            .points
            .iter()
            .filter(|p| p.z.abs() < 1e-4);
        assert!(flat.count() >= ANGLE.len());
    }
}

#[test]
fn coupons_of_a_bent_workpiece_do_not_reach_its_other_leg() {
    let printer = PrinterOptions::default();
    for (made, worst) in [(nose(), Some(420.0)), (arc(300.0), None)] {
        let work = made.workpiece();
        let coupons = cut_coupons(&work, &printer, worst).unwrap();
        assert_eq!(coupons.len(), if worst.is_some() { 3 } else { 2 });
        for coupon in &coupons {
            let (low, high) = coupon.in_place.bounds();
            assert!((high - low).xy().norm() < 60.0, "{low} {high}");
            assert!(
                coupon.size_mm[2] > 15.0 && coupon.size_mm[2] < 28.0,
                "{:?}",
                coupon.size_mm
            );
            assert_eq!(topology::find_pieces(coupon.on_bed.mesh()).1, 1);
        }
    }
    let short = straight(30.0);
    assert_eq!(
        cut_coupons(&short.workpiece(), &printer, Some(15.0))
            .unwrap()
            .len(),
        1
    );
}

/// 250 mm that shrink by 0.6 % are printed 251.509 mm long: 1/(1 - s). The vehicle's side stays as it is.
#[test]
fn a_print_is_made_larger_once_for_what_it_shrinks() {
    let made = straight(250.0);
    let mut options = PrinterOptions {
        build_mm: [400.0, 60.0, 100.0],
        ..PrinterOptions::default()
    };
    let plain = check(&made, &options);
    assert!((plain.segments[0].size_mm[0] - 250.0).abs() < 1e-3);
    options.shrink_percent = 0.6;
    let result = check(&made, &options);
    assert_eq!(result.segments.len(), 1);
    let segment = &result.segments[0];
    assert!(
        (segment.size_mm[0] - 251.509).abs() < 1e-3,
        "{:?}",
        segment.size_mm
    );
    assert!((segment.size_mm[2] - 60.0 / 0.994).abs() < 1e-3);
    assert!(segment.in_place == plain.segments[0].in_place);
    assert_eq!(result.print.shrink_percent, 0.6);
    for (one, other) in cut_coupons(&made.workpiece(), &options, None)
        .unwrap()
        .iter()
        .zip(cut_coupons(&made.workpiece(), &PrinterOptions::default(), None).unwrap())
    {
        assert_eq!(one.in_place, other.in_place);
        assert!((one.size_mm[2] / other.size_mm[2] * 0.994 - 1.0).abs() < 1e-5);
    }
}

/// What fits as it is and not once it is made larger is split.
#[test]
fn fit_is_checked_on_what_is_printed() {
    let made = straight(300.0);
    let mut options = PrinterOptions {
        build_mm: [301.0, 40.0, 100.0],
        margin_mm: 0.0,
        ..PrinterOptions::default()
    };
    assert_eq!(check(&made, &options).segments.len(), 1);
    options.shrink_percent = 0.6;
    let result = check(&made, &options);
    assert_eq!(result.segments.len(), 2);
    assert_eq!(result.assembly.len(), 1);
    assert_eq!(result.assembly[0].s, result.joints[0].s);
    for bad in [-1.0, 50.0, f64::NAN] {
        options.shrink_percent = bad;
        let fault = split(&made.workpiece(), &options, &Progress::silent()).unwrap_err();
        assert!(fault.to_string().contains('%'), "{fault}");
    }
}

#[test]
fn a_segment_that_a_workpiece_brings_in_pieces_is_told() {
    let mut made = straight(400.0);
    let mut mesh = made.solid.mesh().clone();
    let loose = crate::mesh::samples::block(
        made.spine.frame_at(80.0).origin + crate::math::Vector3::new(0.0, 0.0, 90.0),
        crate::math::Vector3::repeat(8.0),
    );
    mesh.append(&loose);
    made.solid = Solid::new(mesh).unwrap();
    let row = split(&made.workpiece(), &printer(250.0), &Progress::silent()).unwrap();
    let told: Vec<_> = (row.findings.iter())
        .filter(|f| f.code == "segment-in-pieces")
        .collect();
    assert_eq!(told.len(), 1, "{:?}", row.findings);
}

/// A window in the face, of which the workpiece does not speak, where the root of the tab goes.
#[test]
fn a_tab_whose_root_finds_little_to_hold_on_to_is_told() {
    let mut made = straight(400.0);
    let options = printer(250.0);
    let cut = split(&made.workpiece(), &options, &Progress::silent()).unwrap();
    let place = made.spine.frame_at(cut.joints[0].s).origin;
    let window = crate::mesh::samples::block(
        place + crate::math::Vector3::new(-60.0, -30.0, 7.6),
        crate::math::Vector3::new(59.0, 60.0, 48.8),
    );
    let window = Solid::new(window).unwrap();
    made.solid = boolean::subtract(&made.solid, &[&window]).unwrap().unwrap();
    let result = split(&made.workpiece(), &options, &Progress::silent()).unwrap();
    let codes: Vec<&str> = result.findings.iter().map(|f| f.code).collect();
    assert!(codes.contains(&"tab-loosely-held"), "{codes:?}");
}
