//! Gaps given by formulas, with the body and tray as sheets made from the same formulas.

use super::path::{Move, Path, Side};
use super::*;
use crate::diag::Weight;
use crate::gap::EdgeKind;
use crate::math::{Point2, Vector3};
use crate::panel::samples::{Draws, Gap, arc, straight};
use crate::panel::{Panel, Top};

/// A sheet through rows of section points, one row every 5 mm along the spine.
fn sheet(gap: &Gap, row: impl Fn(f64) -> Vec<Point2>) -> TriMesh {
    let length = gap.spine.length();
    let n = (length / 5.0).round() as usize;
    let mut mesh = TriMesh::default();
    let mut across = 0;
    for i in 0..=n {
        let s = length * i as f64 / n as f64;
        let points = row(s);
        across = points.len() as u32;
        let frame = gap.spine.frame_at(s);
        mesh.points.extend(points.iter().map(|&p| frame.to_shop(p)));
    }
    for i in 0..n as u32 {
        for k in 1..across {
            let (a, b) = (i * across + k - 1, i * across + k);
            let (c, d) = (b + across, a + across);
            mesh.triangles.extend([[a, d, c], [a, c, b]]);
        }
    }
    mesh
}

/// Outside of a cut skin, as a perfect scan sees it.
fn cut_body(gap: &Gap) -> TriMesh {
    sheet(gap, |s| {
        let (x, z, lean) = ((gap.edge_x)(s), (gap.edge_z)(s), (gap.lean)(s));
        let out = x + gap.skin / lean.cos();
        (0..=10)
            .map(|k| 6.0 * f64::from(k))
            .map(|up| Point2::new(out - up * lean.tan(), z + up))
            .collect()
    })
}

/// A rolled edge: its outside, down round the roll and a return of 15 mm inboard.
fn rolled_body(gap: &Gap) -> TriMesh {
    sheet(gap, |s| {
        let (x, z, r) = ((gap.edge_x)(s), (gap.edge_z)(s), gap.skin);
        let mut row = vec![Point2::new(x - 15.0, z), Point2::new(x, z)];
        row.extend((1..=6).map(|k| {
            let a = f64::from(k) * 15f64.to_radians();
            Point2::new(x + r * a.sin(), z + r - r * a.cos())
        }));
        row.push(Point2::new(x + r, z + 60.0));
        row
    })
}

fn flat_tray(gap: &Gap) -> TriMesh {
    sheet(gap, |s| {
        let c = (gap.tray)(s);
        (0..=13)
            .map(|k| 30.0 - 10.0 * f64::from(k))
            .map(|x| Point2::new(x, c[0] + c[1] * x + c[2] * x * x))
            .collect()
    })
}

struct Built {
    gap: Gap,
    survey: crate::gap::Survey,
    panel: Panel,
    options: PanelOptions,
    body: TriMesh,
    tray: TriMesh,
}

fn build(gap: Gap, options: PanelOptions) -> Built {
    let survey = gap.survey();
    let panel = crate::panel::design(&survey, &options, &Progress::silent()).unwrap();
    let body = match gap.kind {
        EdgeKind::Cut => cut_body(&gap),
        EdgeKind::Rolled => rolled_body(&gap),
    };
    let tray = flat_tray(&gap);
    Built {
        gap,
        survey,
        panel,
        options,
        body,
        tray,
    }
}

impl Built {
    fn prove(&self, paths: Vec<Path>) -> RemovalProof {
        self.prove_with(&TriMesh::default(), paths)
    }

    /// With something that joints add.
    fn prove_with(&self, joints: &TriMesh, paths: Vec<Path>) -> RemovalProof {
        let removal = RemovalOptions { paths, front: None };
        let surfaces = [&self.body, &self.tray].map(|mesh| Surface {
            mesh,
            noise_mm: 0.1,
        });
        prove(
            (&self.panel, joints),
            &self.survey,
            surfaces,
            &self.options,
            &removal,
            &Progress::silent(),
        )
    }
}

fn shift(name: &str, x: f64, y: f64, z: f64) -> Path {
    Path {
        name: name.to_owned(),
        moves: vec![Move::Shift(Vector3::new(x, y, z))],
    }
}

#[test]
fn a_tucked_lip_goes_down_and_not_out() {
    let built = build(
        Gap::plain(straight(300.0), EdgeKind::Cut),
        PanelOptions::default(),
    );
    assert_eq!(built.panel.top, Top::Tucked);
    let out = shift("out", 40.0, 0.0, 0.0);
    let proof = built.prove(vec![shift("down", 0.0, 0.0, -60.0), out]);
    let [down, out] = &proof.paths[..] else {
        panic!("two ways");
    };
    assert!(down.is_clear(), "{down:?}");
    // Drawn with this much room behind the skin, paint aside.
    let room = built.options.clearance_mm;
    let tightest = down.tightest.unwrap();
    assert!((tightest.mm - room).abs() < 0.1, "{tightest:?}");
    // Moving out, the lip meets the back of the skin after that room.
    let first = out.tightest.unwrap();
    assert_eq!(first.parts, [Part::Panel, Part::Body]);
    assert!((first.moment.share * 40.0 - room).abs() < 0.1, "{first:?}");
    let Outcome::Fouls {
        trim_mm: Some(trim),
        other_mount,
    } = out.outcome
    else {
        panic!("{out:?}");
    };
    // All that stands higher than the edge less the paint has to go: the tuck and that paint.
    let top = built.panel.sections[20].outline.iter().map(|p| p.y);
    let top = top.fold(0.0, f64::max);
    let meant = top - (built.gap.edge_z)(100.0) + proof.allowance_mm;
    assert!((trim - meant).abs() < 0.4, "{trim} for {meant}");
    // A flat tray slides out from under a panel that stays with the body.
    assert_eq!(other_mount, OtherMount::Clears);
    assert_eq!(proof.best, Some(0));
    assert_eq!(proof.findings.len(), 1);
}

#[test]
fn a_trim_of_that_height_clears_the_way_and_a_little_less_does_not() {
    let gap = Gap::plain(straight(200.0), EdgeKind::Cut);
    let whole = build(gap, PanelOptions::default());
    let out = || vec![shift("out", 30.0, 0.0, 0.0)];
    let Outcome::Fouls {
        trim_mm: Some(trim),
        ..
    } = whole.prove(out()).paths[0].outcome
    else {
        panic!("fouls");
    };
    // Cut the mesh itself at that height and sweep what is left.
    for (off, fouls) in [(trim + 0.2, false), (trim - 0.5, true)] {
        let mut cut = build(
            Gap::plain(straight(200.0), EdgeKind::Cut),
            PanelOptions::default(),
        );
        let top = cut.panel.solid.mesh().bounds().unwrap().1.z;
        let knife = crate::mesh::samples::block(
            Point3::new(-500.0, -500.0, top - off),
            Vector3::new(1000.0, 1000.0, 200.0),
        );
        let knife = crate::mesh::Solid::new(knife).unwrap();
        cut.panel.solid = crate::mesh::boolean::subtract(&cut.panel.solid, &[&knife])
            .unwrap()
            .unwrap();
        assert_eq!(!cut.prove(out()).paths[0].is_clear(), fouls, "{off}");
    }
}

#[test]
fn a_land_under_a_rolled_edge_goes_out_with_the_seal_for_room() {
    let built = build(
        Gap::plain(straight(300.0), EdgeKind::Rolled),
        PanelOptions::default(),
    );
    let proof = built.prove(vec![
        shift("out", 80.0, 0.0, 0.0),
        shift("up", 0.0, 0.0, 9.0),
    ]);
    assert!(proof.paths[0].is_clear());
    let tightest = proof.paths[0].tightest.unwrap();
    // The top stands the seal and one coat under the edge; the proof takes off two coats.
    let meant = built.options.seal_mm - built.options.paint_mm;
    assert!((tightest.mm - meant).abs() < 0.1, "{tightest:?}");
    let up = proof.paths[1].tightest.unwrap();
    assert!(!proof.paths[1].is_clear());
    assert!((up.moment.share * 9.0 - meant).abs() < 0.1, "{up:?}");
}

#[test]
fn what_stands_on_the_tray_counts() {
    let mut built = build(
        Gap::plain(straight(300.0), EdgeKind::Rolled),
        PanelOptions::default(),
    );
    // A stay 60 mm high behind the return: it has to clear the return on its way out.
    let stay = crate::mesh::samples::block(
        Point3::new(-70.0, 90.0, 0.0),
        Vector3::new(20.0, 20.0, 60.0),
    );
    let first = built.tray.points.len() as u32;
    built.tray.points.extend(stay.points);
    let moved = stay.triangles.iter().map(|t| t.map(|i| i + first));
    built.tray.triangles.extend(moved);
    let proof = built.prove(vec![
        shift("out", 80.0, 0.0, 0.0),
        shift("down", 0.0, 0.0, -70.0),
    ]);
    let first = proof.paths[0].tightest.unwrap();
    assert_eq!(first.parts, [Part::Tray, Part::Body]);
    // The return ends 15 mm inboard of the edge, the stay starts 50 mm inboard of it; paint between.
    let gap = 35.0 - proof.allowance_mm;
    assert!((first.moment.share * 80.0 - gap).abs() < 0.1, "{first:?}");
    assert!(matches!(
        proof.paths[0].outcome,
        Outcome::Fouls { trim_mm: None, .. }
    ));
    assert!(proof.paths[1].is_clear());
    assert_eq!(proof.best, Some(1));
}

#[test]
fn fixed_to_the_body_the_tray_drops_and_cannot_rise() {
    let options = PanelOptions {
        mount: Mount::Body,
        ..PanelOptions::default()
    };
    let built = build(Gap::plain(straight(300.0), EdgeKind::Cut), options);
    let proof = built.prove(vec![
        shift("down", 0.0, 0.0, -50.0),
        shift("up", 0.0, 0.0, 5.0),
    ]);
    assert!(proof.paths[0].is_clear() && !proof.paths[1].is_clear());
    let first = proof.paths[1].tightest.unwrap();
    assert_eq!(first.parts, [Part::Tray, Part::Panel]);
    let room = proof.let_down_mm - proof.allowance_mm;
    assert!((first.moment.share * 5.0 - room).abs() < 0.1, "{first:?}");
}

#[test]
fn the_usual_ways_are_tried_and_every_gap_of_the_samples_has_one() {
    for (spine, kind) in [
        (straight(300.0), EdgeKind::Cut),
        (arc(300.0, 60.0), EdgeKind::Cut),
        (arc(200.0, 90.0), EdgeKind::Rolled),
    ] {
        let built = build(Gap::plain(spine, kind), PanelOptions::default());
        let proof = built.prove(Vec::new());
        assert!(proof.paths.len() >= 4);
        assert!(proof.paths[0].is_clear(), "{:?}", proof.paths[0]);
        assert!(proof.best_path().unwrap().is_clear());
        assert!(proof.findings.iter().all(|f| f.code != "removal-fouls"));
    }
}

/// The sweep against small steps of a whole scene with parry's distance between meshes, on 20 seeds: gaps,
/// ways and tops at random.
#[test]
fn scenes_at_random_agree_with_many_small_steps() {
    let mut blocked = 0;
    for seed in 1..=20 {
        let mut draws = Draws(seed * 7919 + 3);
        draws.next();
        let kind = if draws.next() < 0.5 {
            EdgeKind::Cut
        } else {
            EdgeKind::Rolled
        };
        let spine = if draws.next() < 0.5 {
            straight(80.0)
        } else {
            arc(draws.between(120.0, 300.0), 25.0)
        };
        let mut gap = Gap::plain(spine, kind);
        gap.skin = 3.0;
        let options = PanelOptions {
            tuck_mm: draws.between(4.0, 15.0),
            clearance_mm: draws.between(0.5, 4.0),
            seal_mm: draws.between(1.0, 5.0),
            ..PanelOptions::default()
        };
        let mut built = build(gap, options);
        // Tall enough to be in the way of some.
        built.tray.points.iter_mut().for_each(|p| p.z -= 0.2);
        let way = Vector3::new(
            draws.between(-1.0, 1.0) * 12.0,
            draws.between(-1.0, 1.0) * 8.0,
            -draws.between(0.0, 20.0),
        );
        let tilt = Move::Tilt {
            lower: [Side::Outer, Side::Inner, Side::Left, Side::Right][(seed % 4) as usize],
            angle: draws.between(0.02, 0.1),
            beyond: draws.between(0.0, 60.0),
        };
        let path = Path {
            name: "any".to_owned(),
            moves: vec![tilt, Move::Shift(way)],
        };
        let proof = built.prove(vec![path]);
        let swept = &proof.paths[0];
        let dense = dense_least(&built, &swept.path, proof.allowance_mm);
        if swept.is_clear() {
            let mm = swept.tightest.map_or(WITHIN_MM, |t| t.mm);
            assert!((mm - dense).abs() < 0.2, "seed {seed}: {mm} {dense}");
        } else {
            blocked += 1;
            assert!(dense < 0.2, "seed {seed}: blocked, yet {dense}");
        }
        assert!(dense > 0.0 || !swept.is_clear(), "seed {seed}: missed");
    }
    assert!((4..=16).contains(&blocked), "{blocked} blocked");
}

fn dense_least(built: &Built, path: &Path, allowance: f64) -> f64 {
    use crate::mesh::nearest::Nearest;
    let body = super::body::body_in_the_way(&built.body, &built.survey, &built.options);
    let body = Nearest::new(&body).unwrap();
    let panel = built.panel.solid.mesh();
    let moving = [panel, &built.tray].map(|mesh| Nearest::new(mesh).unwrap());
    let mut at = nalgebra::Isometry3::identity();
    let mut least = WITHIN_MM;
    for step in &path.moves {
        let motion = step.motion(panel.bounds().unwrap());
        for k in 0..=100 {
            let pose = motion.after(f64::from(k) / 100.0) * at;
            for mesh in &moving {
                least = least.min(mesh.distance_when_moved(&pose, &body) - allowance);
            }
        }
        at = motion.after(1.0) * at;
    }
    least.max(0.0)
}

/// The survey's sigma is 0.5 mm: 3 mm behind the skin are plenty, half a millimetre is not; and where lip or
/// tray touch before anything moves, that is told.
#[test]
fn room_to_spare_too_little_and_none_are_told_apart() {
    let told = |clearance_mm: f64, change: fn(&mut Built)| -> Vec<&'static str> {
        let options = PanelOptions {
            clearance_mm,
            ..PanelOptions::default()
        };
        let mut built = build(Gap::plain(straight(300.0), EdgeKind::Cut), options);
        change(&mut built);
        // The lip of 10 mm is past the skin's end when the panel has come half a millimetre nearer to it.
        let proof = built.prove(vec![shift("down", 3.0, 0.0, -60.0)]);
        proof.findings.iter().map(|f| f.code).collect()
    };
    assert_eq!(told(3.0, |_| ()), ["removal-clear"]);
    assert_eq!(told(1.0, |_| ()), ["removal-tight"]);
}

#[test]
fn what_touches_before_anything_moves_is_told() {
    let code = |stretches| touching(Some((stretches, 40.0)), 300.0).map(|f| (f.code, f.weight));
    assert_eq!(code(1), Some(("removal-touching", Weight::Note)));
    assert_eq!(code(20), Some(("removal-touching", Weight::Warning)));
    let built = build(
        Gap::plain(straight(300.0), EdgeKind::Cut),
        PanelOptions::default(),
    );
    let mut proof = built.prove(vec![shift("down", 0.0, 0.0, -60.0)]);
    proof.left_out = 2;
    assert!(
        findings(&proof)
            .iter()
            .any(|f| f.code == "removal-left-out")
    );
}

/// A plate behind the face, as a joint's web is: it goes down with the panel, fouls what stands under the
/// skin on the way inboard, and is told of where it stands in the body from the start.
#[test]
fn the_backs_of_joints_come_along() {
    let mut built = build(
        Gap::plain(straight(300.0), EdgeKind::Cut),
        PanelOptions::default(),
    );
    let plate = |x: f64, z: f64| TriMesh {
        points: [(0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 8.0)]
            .map(|(x0, z0)| {
                built
                    .gap
                    .spine
                    .frame_at(150.0)
                    .to_shop(Point2::new(x + x0, z + z0))
            })
            .to_vec(),
        triangles: vec![[0, 1, 2], [0, 2, 3]],
    };
    let back = plate(-30.0, 10.0);
    let (post, inside) = (plate(-50.0, 10.0), plate(-27.0, 12.0));
    let ways = || vec![shift("down", 0.0, 0.0, -60.0), shift("in", -20.0, 0.0, 0.0)];
    let body = built.body.clone();
    let clear = |built: &Built, joints: &TriMesh| -> Vec<bool> {
        let proof = built.prove_with(joints, ways());
        proof.paths.iter().map(PathResult::is_clear).collect()
    };
    // A post 12 mm behind the plate's back.
    built.body.append(&post);
    assert_eq!(clear(&built, &TriMesh::default()), [true, true]);
    assert_eq!(clear(&built, &back), [true, false]);
    assert!(
        built
            .prove_with(&back, ways())
            .findings
            .iter()
            .all(|f| f.code != "joint-meets-body")
    );
    built.body = body;
    built.body.append(&inside);
    let told = built.prove_with(&back, ways()).findings;
    let told = told.iter().find(|f| f.code == "joint-meets-body").unwrap();
    assert!((told.station_mm.unwrap() - 150.0).abs() < 5.0, "{told:?}");
}
