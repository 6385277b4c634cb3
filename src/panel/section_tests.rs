use super::*;

fn outside(lip: Option<Point2>) -> Outside {
    Outside {
        tip: Point2::new(-25.0, 0.0),
        middle: Point2::new(-15.0, 0.0),
        near: Point2::new(-6.0, 0.0),
        foot: Point2::new(0.0, 0.0),
        kind: FootKind::Inboard,
        between: Vec::new(),
        knee: Point2::new(0.0, 40.0),
        lip,
    }
}

fn wall(edges: usize) -> PlaneWall {
    PlaneWall {
        face: vec![3.0; edges + 1],
        lip: 3.0,
        flange: 3.0,
    }
}

fn built(outside: &Outside, fillet: f64) -> Section {
    let mut finished: Vec<Point2> = outside.face().collect();
    let edges = finished.len() - 1;
    finished.extend(outside.lip);
    build(0.0, outside, &wall(edges), fillet, finished)
}

/// The same outside with a face on an arc of so much sagitta, leaned by so much at its foot.
fn bowed(lip: Option<Point2>, bow: f64, lean: f64) -> Outside {
    let mut outside = outside(lip);
    let shift = Vector2::new(40.0 * lean.tan(), 0.0);
    for p in [
        &mut outside.tip,
        &mut outside.middle,
        &mut outside.near,
        &mut outside.foot,
    ] {
        *p += shift;
    }
    outside.between = super::super::face::arc(outside.foot, outside.knee, bow, [8.0, 3.0]);
    outside
}

fn area(outline: &[Point2]) -> f64 {
    let n = outline.len();
    (0..n)
        .map(|i| outline[i].coords.perp(&outline[(i + 1) % n].coords))
        .sum::<f64>()
        / 2.0
}

#[test]
fn an_upright_section_has_the_area_of_its_parts() {
    let section = built(&outside(None), 3.0);
    assert_eq!(
        section.outline.len(),
        Corners::of(Top::Butted, FaceStyle::Straight, FootKind::Inboard).count()
    );
    // Flange, face, and what four chords of the fillet leave of a square less a quarter circle.
    let chords = 9.0 - 4.0 * 0.5 * 9.0 * (std::f64::consts::FRAC_PI_8).sin();
    assert!((area(&section.outline) - (25.0 * 3.0 + 37.0 * 3.0 + chords)).abs() < 1e-9);
    assert_eq!(
        section.hidden_face,
        [Point2::new(-3.0, 7.0), Point2::new(-3.0, 39.0)]
    );
}

#[test]
fn the_cap_covers_the_outline() {
    let leaned = Point2::new(-4.0, 50.0);
    for (top, lip) in [(Top::Butted, None), (Top::Tucked, Some(leaned))] {
        let corners = Corners::of(top, FaceStyle::Straight, FootKind::Inboard);
        let outline = built(&outside(lip), 3.0).outline;
        assert_eq!(outline.len(), corners.count());
        let pieces: Vec<f64> = corners
            .cap()
            .iter()
            .map(|t| area(&t.map(|i| outline[i as usize])))
            .collect();
        assert!(pieces.iter().all(|&a| a > 0.0), "{pieces:?}");
        assert!((pieces.iter().sum::<f64>() - area(&outline)).abs() < 1e-9);
        assert_eq!(pieces.len(), outline.len() - 2);
    }
}

#[test]
fn the_wall_across_a_lip_is_what_was_asked() {
    for x in [-6.0, 0.0, 3.0] {
        let lip = Point2::new(x, 50.0);
        let section = built(&outside(Some(lip)), 3.0);
        let along = (lip - Point2::new(0.0, 40.0)).normalize();
        for inner in [6, 7] {
            let wall = along.perp(&(section.outline[inner] - lip));
            assert!((wall - 3.0).abs() < 1e-9, "{x}: corner {inner} {wall}");
        }
    }
}

#[test]
fn a_short_face_gets_a_smaller_fillet() {
    let mut short = outside(None);
    short.knee.y = 8.0;
    assert!((fitting_fillet(&short, &wall(1), 3.0) - 1.25).abs() < 1e-9);
    let section = built(&short, 1.25);
    assert!(section.hidden_face[0].y <= section.hidden_face[1].y);
    assert!(area(&section.outline) > 0.0);
}

#[test]
fn bowed_and_leaned_faces_have_an_even_wall_and_a_whole_cap() {
    for (top, lip) in [
        (Top::Butted, None),
        (Top::Tucked, Some(Point2::new(-4.0, 50.0))),
    ] {
        for bow in [-5.0, 0.0, 2.0, 8.0] {
            for lean in [-0.3, 0.0, 0.3] {
                let outside = bowed(lip, bow, lean);
                let section = built(&outside, fitting_fillet(&outside, &wall(FACE_EDGES), 3.0));
                let corners = Corners::of(top, FaceStyle::Bowed, FootKind::Inboard);
                let outline = &section.outline;
                assert_eq!(outline.len(), corners.count());
                assert_eq!(Corners::read(top, &section), corners);
                let pieces = corners.cap();
                let pieces = pieces.iter().map(|t| area(&t.map(|i| outline[i as usize])));
                let (least, sum) =
                    pieces.fold((f64::MAX, 0.0), |(least, sum), a| (least.min(a), sum + a));
                assert!(least > 0.0, "{top:?} {bow} {lean}: {least}");
                assert!((sum - area(outline)).abs() < 1e-9);
                // Every inner corner of the face lies a wall from the edges it stands across from.
                for k in corners.inner_knee() + 1..corners.fillet() {
                    let across = corners.knee() - (k - corners.inner_knee());
                    let edge = (outline[across + 1] - outline[across]).normalize();
                    let way = edge.perp(&(outline[k] - outline[across]));
                    assert!((way - 3.0).abs() < 1e-9, "{bow} {lean}: {way}");
                }
                // The hidden face is straight and stands nowhere in the wall.
                let [low, high] = section.hidden_face;
                let run = (high - low).normalize();
                for p in &outline[corners.inner_knee() + 1..=corners.fillet()] {
                    if p.y > low.y && p.y < high.y {
                        let off = run.perp(&(p - low));
                        assert!((-0.41..1e-9).contains(&off), "{bow} {lean}: {off}");
                    }
                }
            }
        }
    }
}

#[test]
fn without_a_flange_the_wall_stands_on_the_tray() {
    for bow in [-3.0, 0.0, 5.0] {
        let mut outside = bowed(Some(Point2::new(-4.0, 50.0)), bow, 0.1);
        outside.kind = FootKind::None;
        let mut wall = wall(FACE_EDGES);
        wall.flange = 0.0;
        let section = build(0.0, &outside, &wall, 0.0, Vec::new());
        let corners = Corners::of_outside(&outside);
        let outline = &section.outline;
        assert_eq!(outline.len(), corners.count());
        assert!(outline[0].y.abs() < 1e-9);
        let [foot, up] = outside.first_edge();
        let across = (up - foot).normalize().perp(&(outline[0] - foot));
        assert!((across - 3.0).abs() < 1e-9, "{across}");
        let cap = corners.cap();
        let pieces = cap.iter().map(|t| area(&t.map(|i| outline[i as usize])));
        let (least, sum) = pieces.fold((f64::MAX, 0.0), |(least, sum), a| (least.min(a), sum + a));
        assert!(
            least > 0.0 && (sum - area(outline)).abs() < 1e-9,
            "{bow}: {least}"
        );
    }
}
