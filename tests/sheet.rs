//! The build sheet of the sample nose as the real binary writes it: its order, its numbers against
//! `report.json`, its size, and, in a real browser without a screen, what it asks of the world: nothing.

#![allow(
    clippy::print_stderr,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

#[path = "common/browser.rs"]
mod browser;

use browser::{browser, driven};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Largest the page may be: it is sent by mail and opened on a phone.
const MOST_BYTES: usize = 8 << 20;

/// The chapters in the order of the work.
const ORDER: [&str; 22] = [
    "gap",
    "scale",
    "sure",
    "checks",
    "template",
    "panel",
    "positions",
    "segments",
    "assembly",
    "buck",
    "laminate",
    "fixings",
    "fitting",
    "gauging",
    "removal",
    "staying",
    "twin",
    "trying",
    "warnings",
    "cautions",
    "sources",
    "appendix",
];

struct Made {
    _folder: tempfile::TempDir,
    out: PathBuf,
    page: String,
    report: Value,
}

impl Made {
    /// A run of `make` or `measure` on the sample nose, with lines put at the end of its job.
    fn of(command: &str, more: &str) -> Self {
        Self::run(command, |job| format!("{job}\n{more}"))
    }

    /// The same, with a line of its job put in place of another.
    fn of_changed(command: &str, line: &str, by: &str) -> Self {
        Self::run(command, |job| {
            assert!(job.contains(line), "{line}");
            job.replacen(line, by, 1)
        })
    }

    fn run(command: &str, change: impl Fn(&str) -> String) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes/nose");
        let text = fs::read_to_string(sample.join("job.toml")).unwrap();
        let text = ["body", "tray"].into_iter().fold(text, |text, part| {
            let path = sample.join(format!("{part}.ply"));
            text.replace(
                &format!("\n{part} = \"{part}.ply\""),
                &format!("\n{part} = {:?}", path.display().to_string()),
            )
        });
        let job = folder.path().join("job.toml");
        fs::write(&job, change(&text)).unwrap();
        let out = folder.path().join("out");
        let run = Command::new(env!("CARGO_BIN_EXE_gapwright"))
            .arg(command)
            .arg(&job)
            .arg("--out")
            .arg(&out)
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&run.stderr);
        assert!(run.status.success(), "{told}");
        Self {
            page: fs::read_to_string(out.join("sheet.html")).unwrap(),
            report: serde_json::from_str(&fs::read_to_string(out.join("report.json")).unwrap())
                .unwrap(),
            out,
            _folder: folder,
        }
    }

    /// The anchors of the chapters as they stand in the page.
    fn chapters(&self) -> Vec<&str> {
        self.page
            .split("<section aria-labelledby=\"")
            .skip(1)
            .map(|rest| rest.split('"').next().unwrap())
            .collect()
    }

    /// Every number of the page that has a place in the report: the place, and the number as it is shown.
    fn told(&self) -> Vec<(&str, &str)> {
        self.page
            .split("data-report=\"")
            .skip(1)
            .map(|rest| {
                let (place, rest) = rest.split_once('"').unwrap();
                let (_, rest) = rest.split_once('>').unwrap();
                (place, rest.split('<').next().unwrap())
            })
            .collect()
    }
}

/// A number on the page is the report's, rounded to the decimals the page shows.
fn expect_same(place: &str, shown: &str, report: &Value) {
    // A place after a minus is of a number whose sign the page puts in words.
    let (place, bare) = place
        .strip_prefix('-')
        .map_or((place, false), |rest| (rest, true));
    let value = report
        .pointer(place)
        .unwrap_or_else(|| panic!("the report has no {place}, the page shows {shown}"));
    if let Some(text) = value.as_str() {
        assert_eq!(shown, text, "{place}");
        return;
    }
    let value = value
        .as_f64()
        .unwrap_or_else(|| panic!("{place} is no number"));
    let value = if bare { value.abs() } else { value };
    let number: f64 = shown
        .parse()
        .unwrap_or_else(|_| panic!("{place}: {shown} is no number"));
    let decimals = shown.split_once('.').map_or(0, |(_, rest)| rest.len());
    // The report itself is rounded to ten thousandths.
    let most = 0.5 * 10f64.powi(-i32::try_from(decimals).unwrap()) + 1e-4;
    assert!(
        (number - value).abs() <= most,
        "{place}: the page shows {shown}, the report has {value}"
    );
}

#[test]
fn the_page_goes_as_the_work_goes_and_shows_the_numbers_of_the_report() {
    let made = Made::of("make", "[laminate]\nway = \"buck\"\n");
    let chapters = made.chapters();
    let places: Vec<Option<usize>> = chapters
        .iter()
        .map(|id| ORDER.iter().position(|other| other == id))
        .collect();
    assert!(places.iter().all(Option::is_some), "{chapters:?}");
    assert!(places.is_sorted_by(|a, b| a < b), "{chapters:?}");
    // Those that wait for an option of the job may be missing.
    let waits = ["positions", "fixings", "laminate", "twin"];
    // A buck is printed in place of the panel, whose prints come last, for trying only.
    let waits = [&waits[..], &["segments", "assembly"]].concat();
    for id in ORDER.iter().filter(|id| !waits.contains(id)) {
        assert!(chapters.contains(id), "{id} is missing");
    }
    let before_all = made.page.split("<nav").next().unwrap();
    assert!(before_all.contains("Print the buck, in "));
    assert!(before_all.contains("href=\"#trying\"") && !before_all.contains("href=\"#segments\""));
    // A thin laminate is softer than plastic, has no top for a seal, and its flange takes cloth.
    for said in [
        "softer</b> than the plastic",
        "a bare edge",
        "on the ledge behind the top",
        "of that for <a href=\"#fitting\">",
    ] {
        assert!(made.page.contains(said), "{said}");
    }
    assert!(!made.page.contains("A laminate is stiffer"));
    let first = |tile: &str| before_all.find(tile).unwrap();
    assert!(first("to print: the buck") < first("plastic panel, for trying only"));
    let word = made.report["verdict"]["word"].as_str().unwrap();
    assert!(before_all.contains(&format!("data-verdict=\"{word}\"")));
    assert!(made.page.len() < MOST_BYTES, "{} bytes", made.page.len());

    let told = made.told();
    for (place, shown) in &told {
        expect_same(place, shown, &made.report);
    }
    let places: BTreeSet<&str> = told.iter().map(|(place, _)| *place).collect();
    let rows = |key: &str| made.report[key].as_array().unwrap().len();
    for (key, of_each) in [
        (
            "segments",
            &[
                "along_mm/0",
                "along_mm/1",
                "estimate/mass_g",
                "estimate/hours",
            ][..],
        ),
        ("checks", &["predicted_mm", "tolerance_mm"]),
        ("coupons", &["along_mm/0", "along_mm/1"]),
        ("assembly", &["station_mm", "clamp_mm/0", "clamp_mm/1"]),
    ] {
        assert!(rows(key) > 0, "{key}");
        for (i, name) in (0..rows(key)).flat_map(|i| of_each.iter().map(move |name| (i, name))) {
            let place = format!("/{key}/{i}/{name}");
            assert!(places.contains(place.as_str()), "the page lacks {place}");
        }
    }
    for place in [
        "/survey/gap/least/gap_mm",
        "/survey/gap/most/gap_mm",
        "/survey/length_mm",
        "/survey/good",
        "/survey/stations",
        "/uncertainty_budget/expanded_mm",
        "/panel/wall/face/least/mm",
        "/print/total/mass_g",
        "/buck/total/mass_g",
        "/buck/total/hours",
        "/buck/wall_mm",
        "/buck/segments/0/estimate/mass_g",
        "/buck/assembly/0/station_mm",
        "/scan_to_shop/body/0/0",
    ] {
        assert!(places.contains(place), "the page lacks {place}");
    }
}

#[test]
fn the_page_reaches_out_for_nothing() {
    let made = Made::of("make", "");
    assert!(
        made.page
            .contains("<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none';")
    );
    // The one address is the name of SVG's own vocabulary.
    let page = made.page.replace("http://www.w3.org/2000/svg", "");
    for reach in [
        "http:", "https:", "src=\"", "url(", "@import", "fetch(", "href=\"/",
    ] {
        assert!(!page.contains(reach), "{reach}");
    }
    // Every link goes to a chapter or to a file of the run.
    for link in page.split("href=\"").skip(1) {
        let link = link.split('"').next().unwrap();
        match link.strip_prefix('#') {
            Some(anchor) => assert!(page.contains(&format!("id=\"{anchor}\"")), "{link}"),
            None if link.starts_with("data:image/png") => {}
            None => assert!(made.out.join(link).is_file(), "{link}"),
        }
    }
}

#[test]
fn the_other_side_has_a_chapter_with_its_segments_joints_and_files() {
    let made = Made::of_changed(
        "make",
        "# wall_mm = 3.0",
        "wall_mm = 3.0\ntwin = \"mirrored\"",
    );
    assert!(made.chapters().contains(&"twin"));
    let told = made.told();
    for (place, shown) in &told {
        expect_same(place, shown, &made.report);
    }
    let rows = made.report["twin"]["segments"].as_array().unwrap();
    for (i, row) in rows.iter().enumerate() {
        let place = format!("/twin/segments/{i}/estimate/hours");
        // In the table and under its picture.
        assert_eq!(
            told.iter().filter(|(at, _)| *at == place).count(),
            2,
            "{place}"
        );
        let file = row["print_file"].as_str().unwrap();
        assert!(made.page.contains(&format!("href=\"{file}\"")), "{file}");
    }
    let places: BTreeSet<&str> = told.iter().map(|(place, _)| *place).collect();
    for place in [
        "/twin/total/mass_g",
        "/twin/joints/0/station_mm",
        "/twin/assembly/0/clamp_mm/0",
    ] {
        assert!(places.contains(place), "the page lacks {place}");
    }
}

#[test]
fn a_survey_alone_has_the_chapters_it_can_have() {
    let made = Made::of("measure", "");
    assert_eq!(
        made.chapters(),
        [
            "gap", "scale", "sure", "checks", "template", "warnings", "cautions", "sources",
            "appendix"
        ]
    );
    for (place, shown) in made.told() {
        expect_same(place, shown, &made.report);
    }
}

#[test]
fn the_model_turns_is_taken_apart_and_the_browser_has_nothing_to_say() {
    let Some(browser) = browser() else { return };
    let made = Made::of("make", "");
    let told = driven(
        &browser,
        &made.page,
        include_str!("page/look_at_sheet.js"),
        &[],
    );
    assert_eq!(told["turns"], true);
    let names: Vec<&str> = told["boxes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|name| name.as_str().unwrap())
        .collect();
    assert_eq!(names, ["body", "tray", "panel in one piece", "segments"]);
    let segments = made.report["segments"].as_array().unwrap().len();
    assert_eq!(told["labels"].as_u64(), Some(segments as u64));
    // The whole panel is not there at first, since the segments are in its place.
    assert_eq!(told["shown"]["panel in one piece"], false);
    assert_eq!(told["shown"]["segments"], true);
    // Pulled apart, the first and the last number stand farther from each other.
    let far = |key: &str| told[key].as_f64().unwrap();
    assert!(far("apart") > 1.05 * far("together"), "{told}");
    // Every control can be reached with the keyboard, and has a name.
    assert_eq!(told["nameless"].as_array().unwrap().len(), 0, "{told}");
    // A page as wide as a phone's does not scroll sideways.
    assert_eq!(told["sideways"], false, "{told}");
    // And there is room on it to write every reading, in sight.
    let checks = made.report["checks"].as_array().unwrap().len();
    assert!(told["phone"].as_u64().is_some_and(|w| w <= 390), "{told}");
    assert_eq!(told["write"].as_u64(), Some(checks as u64), "{told}");
    assert_eq!(told["unseen"].as_u64(), Some(0), "{told}");
}

#[test]
fn without_three_dimensions_a_still_picture_stands_in() {
    let Some(browser) = browser() else { return };
    let made = Made::of("make", "");
    let still = include_str!("page/stand_still.js");
    let told = driven(&browser, &made.page, still, &["--disable-3d-apis"]);
    assert_eq!(told["turns"], false);
    assert!(told["dots"].as_u64().unwrap() > 500, "{told}");
}
