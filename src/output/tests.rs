use super::*;
use crate::gap::Quality;
use serde_json::Value;
use std::collections::BTreeSet;

/// Fails unless every tag is closed in order, every attribute quoted and every `&` an entity.
pub(crate) fn expect_well_formed(text: &str) {
    let mut open: Vec<String> = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find('<') {
        for piece in rest[..at].split('&').skip(1) {
            let entity = piece.split(';').next().unwrap();
            assert!(
                ["amp", "lt", "gt", "quot", "#39"].contains(&entity),
                "&{piece}"
            );
        }
        let end = rest[at..].find('>').expect("a tag without an end") + at;
        let tag = &rest[at + 1..end];
        assert_eq!(tag.matches('"').count() % 2, 0, "{tag}");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(name));
        } else if !tag.starts_with(['?', '!']) && !tag.ends_with('/') {
            let name = tag.split_whitespace().next().unwrap();
            if !["meta", "br", "input"].contains(&name) {
                open.push(name.to_owned());
            }
        }
        rest = &rest[end + 1..];
    }
    assert!(open.is_empty(), "{open:?}");
}

fn text_of<'a>(files: &'a [OutFile], path: &str) -> &'a str {
    let file = files.iter().find(|f| f.path == path).unwrap();
    std::str::from_utf8(&file.bytes).unwrap()
}

#[test]
fn a_full_run_has_the_files_it_lists_and_the_same_bytes_again() {
    let made = sample::made();
    let (once, twice) = (
        files_of((&made).into()).unwrap(),
        files_of((&made).into()).unwrap(),
    );
    for (a, b) in once.iter().zip(&twice) {
        assert!(a.path == b.path && a.bytes == b.bytes, "{}", a.path);
    }
    let report: Value = serde_json::from_str(text_of(&once, "report.json")).unwrap();
    let listed: BTreeSet<&str> = report["files"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f.as_str().unwrap())
        .collect();
    let written: BTreeSet<&str> = once.iter().map(|f| f.path.as_str()).collect();
    assert_eq!(listed, written);
    for path in [
        "gap.csv",
        "gap_long_section.svg",
        "gap_plan.svg",
        "panel.stl",
        "readings.csv",
        "removal.svg",
        "templates/gap.svg",
        "templates/gap_A4.pdf",
        "print/segment_02.stl",
        "print/segment_02.3mf",
        "segments/all_in_place.3mf",
        "segments/segment_01.stl",
        "sheet.html",
    ] {
        assert!(written.contains(path), "{path}");
    }
}

#[test]
fn the_gap_table_has_its_columns_and_three_decimals() {
    let mut survey = sample::survey();
    survey.stations.truncate(1);
    let station = &mut survey.stations[0];
    (station.s, station.gap, station.sigma) = (1.23456, 32.0, 0.5);
    (station.edge, station.tray) = ([-0.0001, 2.0, 3.5].into(), [1.0, -2.0, 0.0].into());
    station.quality = Quality::Sparse;
    assert_eq!(
        csv::gap_csv(&survey),
        "station_mm,edge_x_mm,edge_y_mm,edge_z_mm,tray_x_mm,tray_y_mm,tray_z_mm,gap_mm,sigma_mm,quality\n\
         1.235,0.000,2.000,3.500,1.000,-2.000,0.000,32.000,0.500,sparse\n"
    );
}

#[test]
fn the_report_has_its_keys_and_says_nothing_of_the_machine() {
    let made = sample::made();
    let files = files_of((&made).into()).unwrap();
    let text = text_of(&files, "report.json");
    assert!(!text.contains("somewhere"));
    let report: Value = serde_json::from_str(text).unwrap();
    let keys: BTreeSet<&str> = report
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect();
    let docs = include_str!("../../docs/formats.md");
    for key in &keys {
        assert!(
            docs.contains(&format!("| `{key}` |")),
            "docs/formats.md lacks {key}"
        );
    }
    assert_eq!(report["schema"], "gapwright-report/1");
    assert_eq!(report["inputs"]["body"]["unit_from"], "guess");
    assert!((report["inputs"]["tray"]["scale"].as_f64().unwrap() - 1000.0).abs() < 1e-9);
    assert_eq!(report["scan_to_shop"]["body"][0][0], 1000.0);
    assert_eq!(report["scan_to_shop"]["tray"][3][3], 1.0);
    assert_eq!(report["survey"]["bridged"], 16);
    assert_eq!(report["survey"]["gap"]["least"]["station_mm"], 0.0);
    assert_eq!(report["survey"]["gap"]["most"]["gap_mm"], 40.0);
    assert_eq!(report["panel"]["volume_mm3"], 75_000.0);
    assert_eq!(report["joints"][0]["tab_on"], 1);
    assert_eq!(report["warnings"][0]["station_mm"], 200.0);
    // Handed on by the survey as well, and still told once.
    assert_eq!(report["notes"].as_array().unwrap().len(), 2);
    assert_eq!(report["notes"][0]["code"], "unit-guessed");
    assert_eq!(report["notes"][1]["code"], "heat-bows-held-tight");
    let staying = &report["staying_on"];
    assert_eq!(staying["air"]["pressure_pa"], 798.7076);
    assert_eq!(staying["heat"]["slots"].as_array().unwrap().len(), 4);
}

#[test]
fn a_survey_alone_has_no_panel() {
    let measured = sample::measured();
    let files = files_of((&measured).into()).unwrap();
    assert!(!files.iter().any(|f| f.path.ends_with(".stl")));
    let report: Value = serde_json::from_str(text_of(&files, "report.json")).unwrap();
    assert!(report["panel"].is_null() && report["segments"].as_array().unwrap().is_empty());
}

#[test]
fn drawings_and_sheet_are_well_formed_and_need_no_network() {
    let made = sample::made();
    let files = files_of((&made).into()).unwrap();
    let svgs = files.iter().filter(|f| f.path.ends_with(".svg"));
    assert!(svgs.clone().count() >= 15);
    for file in svgs {
        expect_well_formed(std::str::from_utf8(&file.bytes).unwrap());
    }
    let sheet = text_of(&files, "sheet.html");
    expect_well_formed(&without_scripts(sheet));
    // The letters of a picture may spell anything, and SVG is named by an address that nobody calls.
    let sheet = &without_pictures(sheet).replace("http://www.w3.org/2000/svg", "");
    for outside in [
        "http:", "https:", "<link", "<img", "url(", "src=", "fetch(", "import(", "NaN",
    ] {
        assert!(!sheet.contains(outside), "{outside}");
    }
    assert!(sheet.contains("nose &amp; &lt;tail&gt;") && sheet.contains(">32.0</span> to"));
}

/// The page without what stands inside its scripts, which is no HTML.
pub(crate) fn without_scripts(page: &str) -> String {
    let mut parts = page.split("<script");
    let mut text = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (_, inside) = part.split_once('>').unwrap();
        text.push_str("<script>");
        text.push_str(&inside[inside.find("</script>").unwrap()..]);
    }
    text
}

/// The page without the data of its pictures.
fn without_pictures(page: &str) -> String {
    let mut parts = page.split("data:image/png;base64,");
    let mut text = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        text.push_str(part.split_once('"').map_or("", |(_, rest)| rest));
    }
    text
}

#[test]
fn a_solid_comes_back_from_stl_as_it_went_out() {
    let made = sample::made();
    let bytes = stl::binary(&made.panel.solid, "nose \u{e9}");
    assert_eq!(bytes.len(), 84 + 50 * 12);
    assert!(bytes.starts_with(b"gapwright, mm: nose ? "));
    let back = stl_io::read_stl(&mut std::io::Cursor::new(&bytes)).unwrap();
    assert_eq!((back.faces.len(), back.vertices.len()), (12, 8));
    back.validate().unwrap();
    assert_eq!(back.faces[0].normal, stl_io::Normal::new([0.0, 0.0, -1.0]));
}

#[test]
fn the_summary_leaves_out_what_was_not_seen() {
    let mut survey = sample::survey();
    for station in &mut survey.stations {
        if station.quality == Quality::Bridged {
            station.gap = 99.0;
        }
    }
    let gap = GapSummary::of(&survey).unwrap();
    assert!((gap.most.gap - 40.0).abs() < 1e-9);
    assert_eq!((gap.good, gap.sparse, gap.bridged), (170, 15, 16));
    survey.stations.clear();
    assert!(GapSummary::of(&survey).is_none());
}

#[test]
fn an_empty_survey_is_drawn_without_a_fall() {
    let mut measured = sample::measured();
    measured.survey.stations.clear();
    for file in files_of((&measured).into()).unwrap() {
        if file.path.ends_with(".svg") {
            expect_well_formed(std::str::from_utf8(&file.bytes).unwrap());
        }
    }
}

#[test]
fn the_report_and_the_sheet_say_how_the_tray_comes_off() {
    let made = sample::made();
    let files = files_of((&made).into()).unwrap();
    let report: Value = serde_json::from_str(text_of(&files, "report.json")).unwrap();
    let removal = &report["removal"];
    assert_eq!(removal["best"], "straight down");
    let [down, out] = [&removal["paths"][0], &removal["paths"][1]];
    assert_eq!(down["moves"][0]["shift_mm"][2], -60.0);
    assert_eq!(down["tightest"]["clearance_mm"], 1.25);
    assert_eq!(down["clear"], true);
    assert!(down["trim_mm"].is_null());
    assert_eq!(out["tightest"]["move"], 1);
    assert_eq!(out["trim_mm"], 10.5);
    assert_eq!(out["other_mount_clears"], true);
    let page = text_of(&files, "sheet.html");
    assert!(page.contains("clear with 10.5 mm off the top; clear with the other mount"));
    let picture = text_of(&files, "removal.svg");
    assert!(picture.contains("straight down") && picture.contains("1.2 \u{b1} 0.8 mm"));
}

#[test]
fn further_positions_have_their_tables_their_drawing_and_their_panels() {
    use crate::gap::position::Setting;
    use crate::math::Vector3;
    use crate::panel::proof::positions::{Held, PositionProof, PositionsProof, Served, judge};
    let mut made = sample::made();
    made.measured.positions = vec![Setting {
        name: "far & <out>".to_owned(),
        word: "far_out".to_owned(),
        way: Vector3::new(25.0, 0.0, 0.0),
        survey: sample::survey(),
    }];
    let left = |left_mm| {
        let at = crate::panel::proof::positions::LeftAt {
            s: 10.0,
            left_mm,
            sigma_mm: 0.5,
            residual_mm: (left_mm - 3.0f64).max(0.0),
            judged: true,
        };
        PositionProof {
            name: "far & <out>".to_owned(),
            word: "far_out".to_owned(),
            stations: vec![at],
            aside: Some((25.0, 10.0)),
            covered: f64::from(u8::from(left_mm <= 3.0)),
        }
    };
    let positions = vec![left(1.8), left(9.0)];
    made.positions = Some(PositionsMade {
        proof: PositionsProof {
            held: Held::OnTray,
            served: Served::OneEach,
            findings: judge(Served::OneEach, &positions, Held::OnTray),
            positions,
        },
        own: vec![OwnMade {
            setting: 0,
            panel: made.panel.clone(),
            segments: made.segments.clone(),
        }],
    });
    let files = files_of((&made).into()).unwrap();
    let sheet = text_of(&files, "sheet.html");
    expect_well_formed(&without_scripts(sheet));
    assert!(sheet.contains("far &amp; &lt;out&gt;") && sheet.contains("panel_far_out.stl"));
    expect_well_formed(text_of(&files, "gap_positions.svg"));
    let report: Value = serde_json::from_str(text_of(&files, "report.json")).unwrap();
    let far = &report["positions"]["positions"][1];
    assert_eq!(far["panel_file"], "panel_far_out.stl");
    assert_eq!(
        (far["way_mm"][0].as_f64(), far["most_left"]["mm"].as_f64()),
        (Some(25.0), Some(9.0))
    );
    let warnings = report["warnings"].as_array().unwrap();
    assert!(
        warnings
            .iter()
            .any(|w| w["code"] == "positions-not-covered")
    );
    for path in ["gap_far_out.csv", "positions/far_out/print/segment_01.stl"] {
        assert!(files.iter().any(|f| f.path == path), "{path}");
    }
}
