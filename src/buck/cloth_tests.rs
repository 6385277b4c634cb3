//! Cloth over panels and bucks given by formulas.

use super::*;
use crate::buck::course::{Course, Row};
use crate::buck::covered::Stretch;
use crate::buck::cutter::Cutter;
use crate::buck::form::{BuckOptions, design};
use crate::buck::laminate::Fibre;
use crate::buck::layup::LayupOptions;
use crate::gap::EdgeKind;
use crate::math::Point3;
use crate::panel::PanelOptions;
use crate::panel::samples::{Gap, arc, bow, straight};
use crate::progress::Progress;
use std::f64::consts::FRAC_PI_4;

fn ply(degrees: f64) -> Ply {
    Ply {
        fibre: Fibre::Carbon,
        cloth: Cloth::Woven,
        g_m2: 200.0,
        turn: degrees.to_radians(),
    }
}

fn options() -> CutOptions {
    LayupOptions::default().cut
}

/// The buck of a gap, its covered surface and its ticks.
fn buck_of(gap: &Gap) -> (Spine, Covered, Vec<f64>) {
    let survey = gap.survey();
    let panel =
        crate::panel::design(&survey, &PanelOptions::default(), &Progress::silent()).unwrap();
    let solid = BuckOptions {
        wall_mm: 0.0,
        ..BuckOptions::default()
    };
    let buck = design(&panel, &survey.spine, &solid, &Progress::silent()).unwrap();
    (survey.spine, buck.covered, buck.ticks)
}

/// A leaning face with its lip, round a bend of 80 mm: doubly curved all along.
fn nose() -> Gap {
    Gap {
        lean: |_| 0.35,
        ..Gap::plain(bow(150.0, 80.0, 250.0), EdgeKind::Cut)
    }
}

#[test]
fn a_doubly_curved_nose_is_cut_until_both_limits_hold() {
    let (spine, covered, ticks) = buck_of(&nose());
    let (sets, findings) = cut_cloth(&covered, &spine, &[ply(0.0), ply(45.0)], &options());
    assert_eq!(sets.len(), 2);
    for set in &sets {
        for piece in &set.pieces {
            assert!(piece.lies_down());
        }
    }
    // Fibres along and square to the bend shear all round it; those across the corners hardly do.
    assert!(sets[0].pieces.len() > 1, "one piece cannot lie round it");
    assert!(findings.iter().all(|f| f.code != "cloth-does-not-lie"));
    // From end to end without a hole, each lapping the one before by what is asked.
    for set in &sets {
        let [first, last] = covered.ends();
        assert_eq!(set.pieces[0].along[0], first);
        assert_eq!(set.pieces[set.pieces.len() - 1].along[1], last);
        for pair in set.pieces.windows(2) {
            assert!((pair[0].along[1] - pair[1].along[0] - 25.0).abs() < 1e-9);
            assert_eq!(pair[1].lap_to, Some(pair[0].along[1]));
        }
        // Every tick of the buck is on some piece.
        for s in &ticks {
            let on = |piece: &ClothPiece| piece.ticks.iter().any(|t| t.s == *s);
            assert!(set.pieces.iter().any(on), "{s}");
        }
        for piece in &set.pieces {
            assert!(piece.ticks.iter().all(|t| ticks.contains(&t.s)));
        }
    }
}

/// An upright wall on an arc, its top butted, is a cylinder: its pattern is the plain rectangle, ticks 50 mm
/// apart by the arc of the face, and area and length are exact to 0.05 %.
#[test]
fn a_cylinder_is_cut_as_its_rectangle() {
    let (spine, covered, _) = buck_of(&Gap::plain(arc(300.0, 100.0), EdgeKind::Rolled));
    let (sets, findings) = cut_cloth(&covered, &spine, &[ply(0.0)], &options());
    assert_eq!(findings, []);
    let [piece] = &sets[0].pieces[..] else {
        panic!("{} pieces", sets[0].pieces.len());
    };
    assert!(piece.worst_stretch() < 5e-4, "{:?}", piece.stretch);
    assert!(piece.shear.0 < 1e-3, "{:?}", piece.shear);
    let row = covered.flat_row(100.0);
    // The arc of the buck's face through a station of the spine: lengths go with the radius.
    let radius = 300.0 + row[0].x;
    let high = (row[row.len() - 1] - row[0]).norm();
    for pair in piece.ticks.windows(2) {
        let apart = (pair[1].ends[0] - pair[0].ends[0]).norm();
        assert!(
            (apart / (50.0 * radius / 300.0) - 1.0).abs() < 5e-4,
            "{apart}"
        );
    }
    let [from, to] = covered.ends();
    let arc = (to - from) * radius / 300.0;
    assert!((piece.area / (arc * high) - 1.0).abs() < 1e-3);
    let whole = covered.area_mm2(&spine, Stretch::Cloth);
    assert!((piece.area / whole - 1.0).abs() < 1e-3);
}

/// Pieces add up to the surface and their laps, to half a percent.
#[test]
fn pieces_add_up_to_the_surface_and_the_laps() {
    let (spine, covered, _) = buck_of(&nose());
    let (sets, _) = cut_cloth(&covered, &spine, &[ply(0.0)], &options());
    let whole = covered.area_mm2(&spine, Stretch::Cloth);
    let laps: f64 = (sets[0].pieces.iter())
        .filter_map(|piece| Some([piece.along[0], piece.lap_to?]))
        .map(|[from, to]| {
            let rows: Vec<Vec<Point3>> = Covered::places(from, to, 1.0)
                .into_iter()
                .map(|s| covered.row(&spine, s))
                .collect();
            rows.windows(2)
                .flat_map(|pair| pair[0].windows(2).zip(pair[1].windows(2)))
                .map(|(a, b)| 0.5 * (b[1] - a[0]).cross(&(a[1] - b[0])).norm())
                .sum::<f64>()
        })
        .sum();
    // Cloth that is sheared covers less than it measures: by the cosine of the shear (from the area of a
    // parallelogram).
    let found: f64 = sets[0].pieces.iter().map(|piece| piece.covers).sum();
    for piece in &sets[0].pieces {
        let share = piece.covers / piece.area;
        assert!(piece.shear.0.cos() < share && share < 1.0, "{share}");
    }
    assert!(
        (found / (whole + laps) - 1.0).abs() < 5e-3,
        "{found} {whole} {laps}"
    );
}

#[test]
fn plies_that_run_alike_share_their_pieces_and_seams_are_moved() {
    let (spine, covered, _) = buck_of(&Gap::plain(straight(900.0), EdgeKind::Rolled));
    let cut = CutOptions {
        piece_mm: 500.0,
        ..options()
    };
    let plies = [0.0, 45.0, 90.0, -45.0, 180.0].map(ply);
    let (sets, findings) = cut_cloth(&covered, &spine, &plies, &cut);
    let numbers: Vec<&[usize]> = sets.iter().map(|set| set.plies.as_slice()).collect();
    assert_eq!(numbers, [&[1usize, 5][..], &[2], &[3], &[4]]);
    assert_eq!(findings, []);
    let seam = |k: usize| sets[k].pieces[0].along[1];
    assert!((seam(2) - seam(0)).abs() > 2.0 * cut.overlap_mm - 1e-9);
    assert!((seam(3) - seam(1)).abs() > 2.0 * cut.overlap_mm - 1e-9);
    assert!((direction(&ply(-45.0)) - FRAC_PI_4).abs() < 1e-12);
}

#[test]
fn a_narrow_roll_cuts_shorter_pieces_and_one_too_narrow_is_told() {
    let (spine, covered, _) = buck_of(&Gap::plain(straight(600.0), EdgeKind::Rolled));
    let across = |roll_mm: f64, degrees: f64| {
        let cut = CutOptions {
            roll_mm,
            ..options()
        };
        cut_cloth(&covered, &spine, &[ply(degrees)], &cut)
    };
    // Along the gap the piece is as wide as the surface is high, at 45 degrees far wider.
    assert_eq!(across(200.0, 0.0).0[0].pieces.len(), 1);
    let (sets, findings) = across(300.0, 45.0);
    assert!(sets[0].pieces.len() > 1 && findings.is_empty());
    assert!(sets[0].pieces.iter().all(|p| p.across(FRAC_PI_4) <= 300.0));
    let (_, findings) = across(50.0, 0.0);
    assert_eq!(findings[0].code, "cloth-wider-than-roll");
}

/// A belt of a sphere, as far up and down as these latitudes (rad), round a spine on its equator.
fn belt(radius: f64, degrees: f64, reach: f64) -> (Spine, Covered) {
    let spine = arc(radius, degrees);
    let at = |angle: f64| Point2::new(radius * (angle.cos() - 1.0), radius * angle.sin());
    let length = spine.length();
    let rows: Vec<Row> = (Covered::places(0.0, length, 4.0).into_iter())
        .map(|s| Row {
            s,
            points: (-8..=8)
                .map(|k| at(0.9 * reach * f64::from(k) / 8.0))
                .collect(),
        })
        .collect();
    let past = vec![[at(-reach), at(reach)]; rows.len()];
    let face = Course { rows };
    let covered = Covered::carried(&face, &past, [0.05 * length, 0.95 * length]);
    (spine, covered)
}

/// A belt of a ball shears the more the longer and the higher it is; how much, `mesh::flatten` is held against
/// nets of pinned fibres for. Of a small ball no piece lies down.
#[test]
fn shear_past_thirty_degrees_and_cloth_that_does_not_lie_are_told() {
    let (spine, covered) = belt(100.0, 100.0, 0.95);
    let (sets, findings) = cut_cloth(&covered, &spine, &[ply(0.0)], &options());
    let most = sets[0].pieces.iter().map(|piece| piece.shear.0);
    let most = most.fold(0.0, f64::max).to_degrees();
    assert!((32.0..43.0).contains(&most), "{most}");
    let codes: Vec<&str> = findings.iter().map(|f| f.code).collect();
    assert_eq!(codes, ["cloth-shears"]);
    let (spine, covered) = belt(14.0, 170.0, 1.45);
    let (_, findings) = cut_cloth(&covered, &spine, &[ply(0.0)], &options());
    let codes: Vec<&str> = findings.iter().map(|f| f.code).collect();
    assert_eq!(codes, ["cloth-does-not-lie"]);
}

/// A waist: bent outward round a spine of radius 60, and inward up and down with radius 100.
fn waist() -> (Spine, Covered) {
    let spine = arc(60.0, 180.0);
    let at = |angle: f64| Point2::new(100.0 * (1.0 - angle.cos()), 100.0 * angle.sin());
    let length = spine.length();
    let rows: Vec<Row> = (Covered::places(0.0, length, 4.0).into_iter())
        .map(|s| Row {
            s,
            points: (-12..=12).map(|k| at(0.1 * f64::from(k))).collect(),
        })
        .collect();
    let past = vec![[at(-1.3), at(1.3)]; rows.len()];
    let face = Course { rows };
    let covered = Covered::carried(&face, &past, [0.05 * length, 0.95 * length]);
    (spine, covered)
}

/// A strip 188 mm long and 260 mm high, doubly curved: in one piece it creases. Cut along, both strips lie down,
/// the upper lapping the lower at every station by what is asked, with the seam's line drawn on it.
#[test]
fn a_strip_doubly_curved_across_is_cut_along_until_both_limits_hold() {
    let (spine, covered) = waist();
    let cut = options();
    let whole = Cutter {
        covered: &covered,
        spine: &spine,
        turn: 0.0,
        moved: 0.0,
        options: &cut,
    };
    let shear = whole.in_one_piece().unwrap().shear.0;
    assert!(shear > MOST_SHEAR, "{}", shear.to_degrees());
    let (sets, findings) = cut_cloth(&covered, &spine, &[ply(0.0)], &cut);
    let pieces = &sets[0].pieces;
    assert!(pieces.len() > 1, "{} pieces", pieces.len());
    assert!(pieces.iter().all(ClothPiece::lies_down), "{findings:?}");
    assert!(findings.iter().all(|f| f.code != "cloth-does-not-lie"));
    let [first, last] = covered.ends();
    for piece in pieces {
        assert_eq!(piece.along, [first, last]);
        assert!(piece.strip().is_some());
    }
    // Low to high without a hole, and the part's edges on the lowest and the highest alone.
    assert_eq!(pieces[0].up[0], 0.0);
    assert_eq!(pieces[pieces.len() - 1].up[1], 1.0);
    assert_eq!(pieces[0].edges.len(), 1);
    for pair in pieces.windows(2) {
        assert!((pair[0].up[1] - pair[1].up[0]).abs() < 1e-12);
        let [seam] = &pair[1].laps[..] else {
            panic!("{} laps", pair[1].laps.len());
        };
        assert!(seam.len() > 10);
    }
    // What is covered twice is the lap: a band of the waist 25 mm high under its middle, by the integral over
    // half a turn of (60 + 100 (1 - cos a)) 100 da from -0.25 to 0.
    let twice: f64 = pieces.iter().map(|piece| piece.covers).sum::<f64>()
        - covered.area_mm2(&spine, Stretch::Cloth);
    let band = std::f64::consts::PI * 100.0 * (160.0 * 0.25 - 100.0 * 0.25f64.sin());
    assert!((twice / band - 1.0).abs() < 0.02, "{twice} {band}");
}

/// Cloth along the gap that is higher than the roll is wide is cut along, not into ever shorter pieces.
#[test]
fn a_face_higher_than_the_roll_is_cut_along() {
    let (spine, covered, _) = buck_of(&Gap {
        edge_z: |_| 150.0,
        ..Gap::plain(straight(400.0), EdgeKind::Rolled)
    });
    let cut = CutOptions {
        roll_mm: 160.0,
        ..options()
    };
    let (sets, findings) = cut_cloth(&covered, &spine, &[ply(0.0)], &cut);
    assert_eq!(findings, []);
    let strips: Vec<_> = sets[0].pieces.iter().map(ClothPiece::strip).collect();
    assert_eq!(strips, [Some("lowest strip"), Some("highest strip")]);
}

#[test]
fn what_has_no_pattern_is_told() {
    let set = ClothSet {
        plies: vec![2],
        ply: ply(0.0),
        pieces: Vec::new(),
        bare: vec![[100.0, 140.0]],
    };
    let findings = judge(&[set], &options());
    assert_eq!(findings[0].code, "cloth-cannot-be-laid-out");
    assert_eq!(findings[0].station_mm, Some(120.0));
}
