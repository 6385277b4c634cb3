//! Bucks of panels given by formulas.

use super::form::{Buck, BuckOptions, Lift, OnTop, design};
use super::marks::GROOVE_MM;
use super::{BuckFault, DetailKind, DraftClass};
use crate::gap::{EdgeKind, Survey};
use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;
use crate::mesh::nearest::Nearest;
use crate::mesh::self_cross::find_crossing;
use crate::mesh::topology::find_pieces;
use crate::panel::loft::Loft;
use crate::panel::samples::{Gap, arc, bow, straight};
use crate::panel::{Panel, PanelOptions};
use crate::progress::Progress;

fn on_top() -> f64 {
    BuckOptions::default().on_top.total()
}

fn panel_of(gap: &Gap) -> (Survey, Panel) {
    let survey = gap.survey();
    let panel = crate::panel::design(&survey, &PanelOptions::default(), &Progress::silent());
    (survey, panel.unwrap())
}

fn make(gap: &Gap, options: &BuckOptions) -> (Survey, Panel, Buck) {
    let (survey, panel) = panel_of(gap);
    let buck = design(&panel, &survey.spine, options, &Progress::silent()).unwrap();
    (survey, panel, buck)
}

fn solid() -> BuckOptions {
    BuckOptions {
        wall_mm: 0.0,
        ..BuckOptions::default()
    }
}

/// Gaps of every kind: upright, leaning, changing height and place, bent outward and inward.
fn gaps() -> Vec<(&'static str, Gap)> {
    let leaning = |spine, kind| Gap {
        lean: |_| 0.35,
        ..Gap::plain(spine, kind)
    };
    vec![
        ("straight", Gap::plain(straight(400.0), EdgeKind::Rolled)),
        ("leaning", leaning(straight(400.0), EdgeKind::Cut)),
        ("bent", leaning(arc(300.0, 100.0), EdgeKind::Cut)),
        ("bow", Gap::plain(bow(150.0, 80.0, 250.0), EdgeKind::Cut)),
        (
            "uneven",
            Gap {
                edge_x: |s| 6.0 * (s / 60.0).sin(),
                edge_z: |s| 40.0 + 8.0 * (s / 90.0).cos(),
                ..Gap::plain(straight(500.0), EdgeKind::Cut)
            },
        ),
    ]
}

/// The panel's own outside as a surface, finer than its sections: what the part is meant to be.
fn intended(survey: &Survey, panel: &Panel) -> TriMesh {
    let rows = panel.sections.iter().map(|s| (s.s, s.outside()));
    let count = panel.sections[0].outside().len();
    Loft::new(&survey.spine, rows, &[]).strip(0..count - 1)
}

/// Points all over a surface, about `apart` mm.
fn points_on(mesh: &TriMesh, apart: f64) -> Vec<Point3> {
    let mut points = Vec::new();
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t);
        let n = ((b - a).norm().max((c - a).norm()) / apart).ceil().max(1.0) as usize;
        for i in 0..n {
            for j in 0..n - i {
                let (u, v) = ((i as f64 + 0.33) / n as f64, (j as f64 + 0.33) / n as f64);
                points.push(a + (b - a) * u + (c - a) * v);
            }
        }
    }
    points
}

/// Independent of how the buck was made: what is laid on with one thickness reaches as far from the buck
/// as that thickness, so a point of the intended outside must be that far from the buck's nearest point,
/// found by another library's tree of bounding volumes on the finished solid.
#[test]
fn the_face_offset_by_the_laminate_is_the_intended_outside() {
    for (name, gap) in gaps() {
        let (survey, panel, buck) = make(&gap, &solid());
        let nearest = Nearest::new(buck.solid.mesh()).unwrap();
        let off: Vec<f64> = points_on(&intended(&survey, &panel), 3.0)
            .into_iter()
            .map(|p| nearest.distance(p) - on_top())
            .collect();
        let rms = (off.iter().map(|d| d * d).sum::<f64>() / off.len() as f64).sqrt();
        let worst = off.iter().fold(0.0f64, |m, d| m.max(d.abs()));
        println!(
            "{name}: {} points, rms {rms:.3}, worst {worst:.3}",
            off.len()
        );
        assert!(
            rms < 0.15 && worst < 0.4,
            "{name}: rms {rms}, worst {worst}"
        );
    }
}

#[test]
fn every_buck_is_one_sound_body_on_a_flat_base() {
    for (name, gap) in gaps() {
        for options in [solid(), BuckOptions::default()] {
            let (_, _, buck) = make(&gap, &options);
            let mesh = buck.solid.mesh();
            assert_eq!(find_pieces(mesh).1, 1, "{name}");
            assert_eq!(find_crossing(mesh), None, "{name}");
            // The base is flat: all that faces straight down at the bottom lies in one plane, and nothing
            // lies under it.
            let (low, _) = buck.solid.bounds();
            let flat: f64 = (0..mesh.triangles.len())
                .filter(|&t| mesh.corners(t).iter().all(|p| (p.z - low.z).abs() < 1e-3))
                .map(|t| -0.5 * mesh.area_vector(t).z)
                .sum();
            let length = buck.trim[1] - buck.trim[0];
            assert!(flat > 5.0 * length, "{name}: {flat} mm2 of base");
        }
    }
}

/// A straight hollow buck's volume by hand: the solid one's less the cells'.
#[test]
fn a_hollow_buck_has_the_wall_it_says() {
    let gap = Gap::plain(straight(400.0), EdgeKind::Rolled);
    let (_, _, buck) = make(&gap, &BuckOptions::default());
    assert_eq!(buck.cells[1], 0);
    // From points of the outside inward: rays that leave the material after the wall.
    let mesh = buck.solid.mesh();
    let nearest = Nearest::new(mesh).unwrap();
    let at = buck
        .sections
        .iter()
        .find(|section| section.s > 190.0)
        .unwrap();
    let middle_of_cell = {
        let ribs = &buck.ribs;
        let k = ribs.partition_point(|r| *r < at.s);
        0.5 * (ribs[k - 1] + ribs[k])
    };
    let face = at.face[0].x;
    let from = Point3::new(face - 0.01, middle_of_cell, 15.0);
    let wall = nearest.ray(from, -Vector3::x(), 100.0).unwrap() + 0.01;
    assert!((wall - 5.0).abs() < 1e-3, "{wall}");
    let (low, high) = buck.solid.bounds();
    let back = Point3::new(low.x + 0.01, middle_of_cell, 15.0);
    let wall = nearest.ray(back, Vector3::x(), 100.0).unwrap() + 0.01;
    assert!((wall - 5.0).abs() < 1e-3, "{wall}");
    let roof = Point3::new(0.5 * (low.x + high.x), middle_of_cell, high.z - 0.01);
    let wall = nearest.ray(roof, -Vector3::z(), 100.0).unwrap() + 0.01;
    assert!((wall - 5.0).abs() < 1e-3, "{wall}");
}

/// The grooves are cut as deep as said, and stand where said: probed on the solid.
#[test]
fn trim_line_and_ticks_are_grooves() {
    let gap = Gap::plain(straight(400.0), EdgeKind::Rolled);
    let (_, _, buck) = make(&gap, &solid());
    let nearest = Nearest::new(buck.solid.mesh()).unwrap();
    let face = buck.sections[0].face[0];
    let depth = |s: f64, z: f64| {
        let from = Point3::new(face.x + 5.0, s, z);
        nearest.ray(from, -Vector3::x(), 50.0).unwrap() - 5.0
    };
    assert!((depth(123.0, face.y) - GROOVE_MM).abs() < 0.01);
    assert!(depth(123.0, face.y + 2.0).abs() < 1e-3);
    for end in buck.trim {
        assert!((depth(end, face.y + 10.0) - GROOVE_MM).abs() < 0.01);
    }
    assert_eq!(buck.ticks, [50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0]);
    assert!((depth(150.0, face.y - 4.0) - GROOVE_MM).abs() < 0.01);
    assert!(depth(150.0, face.y + 4.0).abs() < 1e-3);
    assert!(depth(150.0, face.y - 11.0).abs() < 1e-3);
}

#[test]
fn details_are_there() {
    for (options, dowel) in [
        (solid(), DetailKind::BoardDowel),
        (BuckOptions::default(), DetailKind::RibDowel),
    ] {
        let (_, _, buck) = make(&Gap::plain(straight(400.0), EdgeKind::Rolled), &options);
        for kind in [dowel, DetailKind::Air, DetailKind::Clamp, DetailKind::Wedge] {
            assert!(buck.details.iter().any(|d| d.kind == kind), "{kind:?}");
        }
        // No cut runs through any but the dowels that pin it.
        for detail in buck
            .details
            .iter()
            .filter(|d| d.kind != DetailKind::RibDowel)
        {
            assert!(
                buck.keep_clear
                    .iter()
                    .any(|[a, b]| *a < detail.s && detail.s < *b),
                "{detail:?}"
            );
        }
    }
}

#[test]
fn a_straight_face_lifts_off_outward_and_a_wrapped_one_is_split() {
    let (_, _, buck) = make(&Gap::plain(straight(400.0), EdgeKind::Rolled), &solid());
    assert_eq!(buck.pieces.len(), 1);
    assert!(buck.draft.worst > 0.3 && buck.findings.iter().all(|f| f.code != "buck-draft"));
    let up = BuckOptions {
        lift: Lift::Up,
        ..solid()
    };
    let (_, _, buck) = make(&Gap::plain(straight(400.0), EdgeKind::Rolled), &up);
    // Upright: it drags all over.
    assert!(buck.draft.area(DraftClass::None) > 0.99 * buck.draft.whole());
    let (_, _, buck) = make(
        &Gap::plain(bow(150.0, 80.0, 250.0), EdgeKind::Rolled),
        &solid(),
    );
    assert_eq!(buck.pieces.len(), 2, "{:?}", buck.pieces);
    assert!(buck.findings.iter().any(|f| f.code == "buck-draft"));
}

#[test]
fn what_cannot_be_used_is_refused() {
    let (survey, panel) = panel_of(&Gap::plain(straight(200.0), EdgeKind::Rolled));
    for (allowance_mm, laminate_mm) in [(2.0, 2.0), (f64::NAN, 2.0), (25.0, -1.0)] {
        let options = BuckOptions {
            allowance_mm,
            on_top: OnTop {
                laminate_mm,
                ..BuckOptions::default().on_top
            },
            ..solid()
        };
        let made = design(&panel, &survey.spine, &options, &Progress::silent());
        assert!(matches!(made, Err(BuckFault::BadValue { .. })));
    }
    let stopped = Progress::silent();
    stopped.cancel();
    let made = design(&panel, &survey.spine, &solid(), &stopped);
    assert!(matches!(made, Err(BuckFault::Cancelled)));
}

#[test]
fn a_bend_that_leaves_no_room_is_told() {
    let (survey, panel) = panel_of(&Gap::plain(bow(150.0, 14.0, 250.0), EdgeKind::Rolled));
    let made = design(&panel, &survey.spine, &solid(), &Progress::silent());
    assert!(
        matches!(made, Err(BuckFault::TooTight { .. })),
        "{:?}",
        made.map(|b| b.cells)
    );
}

#[test]
fn cells_left_solid_are_told() {
    let codes = |gap: &Gap, options: &BuckOptions| -> Vec<&'static str> {
        let (survey, panel) = panel_of(gap);
        let made = design(&panel, &survey.spine, options, &Progress::silent());
        made.map_or_else(
            |_| Vec::new(),
            |buck| buck.findings.iter().map(|f| f.code).collect(),
        )
    };
    let thick = BuckOptions {
        wall_mm: 29.0,
        ..BuckOptions::default()
    };
    let told = codes(&Gap::plain(straight(300.0), EdgeKind::Rolled), &thick);
    assert!(told.contains(&"buck-cell-solid"), "{told:?}");
}

/// A lip that laps the skin stands up over a face that leans in under it: the corner between them is
/// hollow from outside, and cloth bridges a sharp one.
#[test]
fn a_hollow_corner_is_filled_for_the_cloth_and_told() {
    let gap = Gap::plain(straight(300.0), EdgeKind::Cut);
    let options = PanelOptions {
        top: Some(crate::panel::Top::Lapped),
        lean_deg: 20.0,
        ..PanelOptions::default()
    };
    let survey = gap.survey();
    let panel = crate::panel::design(&survey, &options, &Progress::silent()).unwrap();
    let buck = design(&panel, &survey.spine, &solid(), &Progress::silent()).unwrap();
    let told: Vec<_> = (buck.findings.iter())
        .filter(|f| f.code == "buck-corner-eased")
        .collect();
    assert_eq!(told.len(), 1, "{:?}", buck.findings);
    // A corner that turns by 20 degrees: a round of radius r lies r (1 / cos 10 - 1) off it.
    let options = BuckOptions::default();
    let radius = options.cloth_radius_mm.max(options.on_top.total());
    let off = radius * (1.0 / 10f64.to_radians().cos() - 1.0);
    assert!(
        (told[0].size_mm.unwrap() - off).abs() < 0.02,
        "{told:?} {off}"
    );
}

/// The face leans in over a bend whose middle lies behind it: the tighter the bend, the less is left for the
/// cloth to run out on, and past that there is no buck.
#[test]
fn a_run_out_that_a_bend_leaves_no_room_for_is_told() {
    let leaning = |radius: f64| Gap {
        lean: |_| 0.6,
        ..Gap::plain(arc(radius, 90.0), EdgeKind::Cut)
    };
    let made = |radius: f64| {
        let (survey, panel) = panel_of(&leaning(radius));
        let options = BuckOptions {
            allowance_mm: 60.0,
            ..solid()
        };
        design(&panel, &survey.spine, &options, &Progress::silent())
    };
    let told = |buck: &Buck| buck.findings.iter().any(|f| f.code == "buck-run-out-short");
    assert!(!told(&made(200.0).unwrap()));
    let tighter: Vec<_> = (8..32).rev().map(|r| made(2.5 * f64::from(r))).collect();
    assert!(tighter.iter().flatten().any(told));
    assert!(
        tighter
            .iter()
            .any(|buck| matches!(buck, Err(BuckFault::TooTight { .. })))
    );
}
