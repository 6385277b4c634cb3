//! The fixings in every file of a run.

use super::tests::{expect_well_formed, without_scripts};
use super::*;
use crate::math::{Point2, Point3, Vector3};
use crate::panel::fixings::{FixingKind, Screw, TrayFixing};
use crate::panel::{Fixing, Section};
use serde_json::Value;

/// The sample's arc of 500 mm with a flange on its tray and screws in it: outlines numbered as those of
/// a butted panel.
fn with_screws() -> Made {
    let mut made = sample::made();
    let spine = made.measured.survey.spine.clone();
    made.panel.sections = (0..=40)
        .map(|k| spine.length() * f64::from(k) / 40.0)
        .map(|s| Section {
            s,
            outline: [
                (-21.0, 0.0),
                (-12.0, 0.0),
                (-4.0, 0.0),
                (4.0, 0.0),
                (4.0, 30.0),
                (1.0, 30.0),
                (1.0, 3.0),
                (-21.0, 3.0),
            ]
            .map(|(x, z)| Point2::new(x, z))
            .to_vec(),
            hidden_face: [Point2::new(1.0, 6.0), Point2::new(1.0, 28.0)],
            outboard: None,
            finished: vec![Point2::new(4.0, 0.0), Point2::new(4.0, 30.0)],
        })
        .collect();
    made.panel.fixings = [40.0, 300.0, 580.0]
        .into_iter()
        .enumerate()
        .map(|(i, s)| {
            let frame = spine.frame_at(s);
            Fixing {
                number: i + 1,
                s,
                at: frame.to_shop(Point2::new(-9.0, 0.0)),
                axis: Vector3::z(),
                along: frame.along,
                kind: FixingKind::ScrewIntoTray,
                screw: Screw::M5,
                hole_mm: 5.5,
                slot_mm: if i == 1 { 5.5 } else { 8.5 },
                mate_hole_mm: 0.0,
                set_mm: [0.5, 0.0, -0.5][i],
                washer_mm: 15.0,
                from_face_mm: 13.0,
                to_edge_mm: 12.0,
                wall_mm: 3.0,
                skin_mm: 0.0,
                mate_mm: 0.0,
                room_mm: Some(25.0),
                head_mm: 6.2,
            }
        })
        .collect();
    let bolt = |clear: f64| TrayFixing {
        name: Some("bolt <a>".to_owned()),
        s: 200.0,
        across: -40.0,
        tool_mm: 8.0,
        clear_above_mm: clear,
        clear_below_mm: 40.0,
    };
    made.panel.tray_fixings = vec![bolt(10.0), bolt(5.0)];
    made
}

fn text<'a>(files: &'a [OutFile], path: &str) -> &'a str {
    let file = files.iter().find(|f| f.path == path).unwrap();
    std::str::from_utf8(&file.bytes).unwrap()
}

#[test]
fn the_hole_table_has_the_panels_and_the_trays_holes() {
    let made = with_screws();
    let files = files_of((&made).into()).unwrap();
    let rows: Vec<Vec<&str>> = text(&files, "holes.csv")
        .lines()
        .map(|line| line.split(',').collect())
        .collect();
    assert_eq!(rows.len(), 1 + 6);
    assert!(rows.iter().all(|row| row.len() == rows[0].len()));
    let value = |row: usize, name: &str| {
        let column = rows[0].iter().position(|c| *c == name).unwrap();
        rows[row][column]
    };
    let number = |row, name| value(row, name).parse::<f64>().unwrap();
    // Circle of radius 491 mm inboard of the spine, by hand: all six lie on it, and the tray's hole half
    // a millimetre to the maker's right of the first slot's middle.
    for row in 1..=6 {
        let (x, y) = (number(row, "x_mm") + 500.0, number(row, "y_mm"));
        assert!((x.hypot(y) - 491.0).abs() < 0.05, "{}", x.hypot(y));
        assert_eq!((value(row, "axis_z"), value(row, "screw")), ("1.000", "M5"));
    }
    assert_eq!((value(1, "part"), value(2, "part")), ("panel", "tray"));
    assert_eq!((value(1, "shape"), value(3, "shape")), ("slot", "hole"));
    let apart =
        (number(2, "x_mm") - number(1, "x_mm")).hypot(number(2, "y_mm") - number(1, "y_mm"));
    assert!((apart - 0.5).abs() < 2e-3);
    assert!(number(2, "y_mm") > number(1, "y_mm"));
    assert_eq!((value(1, "set_mm"), value(2, "set_mm")), ("0.500", "0.000"));
    assert_eq!(value(2, "width_mm"), "7.000");
}

/// Centre marks of the template measured back: four strokes 6.5 mm long that point at one middle. The
/// flange is level, so distances between them are those of the tray's holes in space.
#[test]
fn the_template_has_each_trays_hole_at_its_place() {
    let made = with_screws();
    let subject = drilling::Subject {
        name: "t",
        panel: &made.panel,
        spine: &made.measured.survey.spine,
        front: Some(Front::Left),
    };
    let drawing = drilling::draw(subject).unwrap();
    let crosses: Vec<Point2> = drawing
        .items
        .iter()
        .filter_map(|item| match item {
            drawing::Item::Stroke { points, ink, .. } if *ink == drawing::Ink::Accent => {
                let [a, b] = points[..] else { return None };
                let to_the_right = (b - a).y.abs() < 1e-9 && b.x > a.x;
                let as_long = ((b - a).norm() - 6.5).abs() < 1e-9;
                (to_the_right && as_long).then(|| Point2::new(a.x - 0.5, a.y))
            }
            _ => None,
        })
        .collect();
    let holes: Vec<Point3> = made.panel.fixings.iter().map(Fixing::fastener).collect();
    assert_eq!(crosses.len(), 3);
    for i in 0..3 {
        for k in 0..i {
            let flat = (crosses[i] - crosses[k]).norm();
            let space = (holes[i] - holes[k]).norm();
            assert!((flat - space).abs() < 0.1, "{flat} {space}");
        }
    }
    // Seen from above: the maker's right to the right.
    assert!(crosses[0].x < crosses[1].x && crosses[1].x < crosses[2].x);
    let words: Vec<&str> = drawing
        .items
        .iter()
        .filter_map(|item| match item {
            drawing::Item::Text { text, .. } => Some(text.as_str()),
            _ => None,
        })
        .collect();
    for word in ["FRONT", "OUTSIDE", "50", "3"] {
        assert!(words.contains(&word), "{word}");
    }
}

#[test]
fn report_sheet_and_drawings_tell_of_the_fixings() {
    let made = with_screws();
    let files = files_of((&made).into()).unwrap();
    let report: Value = serde_json::from_str(text(&files, "report.json")).unwrap();
    let all = report["fixings"]["all"].as_array().unwrap();
    assert_eq!(all.len(), 3);
    assert_eq!(all[0]["bores"][1]["part"], "tray");
    assert_eq!(all[0]["screw_length_mm"], 12.0);
    assert_eq!(report["fixings"]["to_buy"][0]["count"], 3);
    assert_eq!(report["tray_fixings"][0]["from_above"], true);
    assert_eq!(report["tray_fixings"][1]["from_above"], false);
    let page = text(&files, "sheet.html");
    expect_well_formed(&without_scripts(page));
    for words in [
        "Fixings and drilling",
        ">3</span> \u{d7} screw M5 x 12",
        "bolt &lt;a&gt;",
        "yes, from above: the panel is 10 mm from its axis and a tool needs 8 mm",
        "from below alone",
        "No head or nut is under the tray.",
    ] {
        assert!(page.contains(words), "{words}");
    }
    for path in [
        "fixings.svg",
        "fixing_section.svg",
        "templates/drilling.svg",
    ] {
        expect_well_formed(text(&files, path));
    }
    assert!(files.iter().any(|f| f.path == "templates/drilling_A4.pdf"));
}

#[test]
fn a_panel_without_fixings_has_no_table_and_no_template() {
    let made = sample::made();
    let files = files_of((&made).into()).unwrap();
    assert!(
        !files
            .iter()
            .any(|f| f.path.contains("holes") || f.path.contains("drilling"))
    );
}
