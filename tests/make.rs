//! `make` with the real binary on the sample scans, and what it wrote read back and checked by a
//! general-purpose geometry library.

#![allow(clippy::expect_used, clippy::panic)]

#[path = "common/read_back.rs"]
mod read_back;

use parry3d_f64::math::Vector;
use read_back::{ReadBack, expect_solid};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Runs `make` on a sample with so many threads.
fn make(sample: &str, out: &Path, threads: &str) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let run = Command::new(env!("CARGO_BIN_EXE_gapwright"))
        .arg("make")
        .arg(root.join("sample-meshes").join(sample).join("job.toml"))
        .arg("--out")
        .arg(out)
        .env("RAYON_NUM_THREADS", threads)
        .output()
        .expect("the binary runs");
    let told = String::from_utf8_lossy(&run.stderr);
    assert_eq!(run.status.code(), Some(0), "{sample}: {told}");
    assert!(told.is_empty(), "{sample}: {told}");
    let said = String::from_utf8_lossy(&run.stdout);
    for words in ["gap ", "uncertainty ", "segments ", "sheet.html"] {
        assert!(said.contains(words), "{sample} says nothing of {words}");
    }
}

/// Every file below a folder, by its name seen from there.
fn files_in(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![PathBuf::new()];
    while let Some(inside) = open.pop() {
        for entry in fs::read_dir(folder.join(&inside)).expect("a folder") {
            let name = inside.join(entry.expect("an entry").file_name());
            let path = folder.join(&name);
            if path.is_dir() {
                open.push(name);
            } else {
                let bytes = fs::read(path).expect("a file");
                found.insert(name.to_string_lossy().replace('\\', "/"), bytes);
            }
        }
    }
    found
}

fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("{value} is no number"))
}

fn list(value: &Value) -> &[Value] {
    value
        .as_array()
        .unwrap_or_else(|| panic!("{value} is no list"))
}

fn expect_close(what: &str, got: f64, want: f64, share: f64) {
    assert!(
        (got - want).abs() <= share * want.abs(),
        "{what}: {got} where {want} is expected"
    );
}

/// A sample made once on one thread and once on two, its report, and what the checks of it share.
struct Made {
    _folder: tempfile::TempDir,
    out: PathBuf,
    report: Value,
    files: BTreeMap<String, Vec<u8>>,
}

impl Made {
    fn of(sample: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let [out, again] = ["one", "two"].map(|name| folder.path().join(name));
        make(sample, &out, "1");
        make(sample, &again, "2");
        let (files, others) = (files_in(&out), files_in(&again));
        assert_eq!(
            files.keys().collect::<Vec<_>>(),
            others.keys().collect::<Vec<_>>()
        );
        for (name, bytes) in &files {
            assert!(
                others[name] == *bytes,
                "{sample}: {name} depends on the thread count"
            );
        }
        let report = serde_json::from_slice(&files["report.json"]).expect("JSON");
        Self {
            _folder: folder,
            out,
            report,
            files,
        }
    }

    fn solid(&self, file: &str) -> ReadBack {
        expect_solid(&self.out.join(file))
    }

    /// The files are those the report names, and the page needs nothing from elsewhere.
    fn expect_files(&self) {
        let named: Vec<&str> = list(&self.report["files"])
            .iter()
            .filter_map(Value::as_str)
            .collect();
        assert_eq!(self.files.keys().collect::<Vec<_>>(), named);
        for name in ["sheet.html", "gap.csv", "gap_long_section.svg", "panel.stl"] {
            assert!(self.files.contains_key(name), "{name} is missing");
        }
        let page = String::from_utf8_lossy(&self.files["sheet.html"]).into_owned();
        assert!(page.contains("<svg") && page.contains("Cautions"));
        let elsewhere = ["src=\"http", "href=\"http", "url(http", "@import"];
        assert!(elsewhere.iter().all(|words| !page.contains(words)));
        assert_eq!(self.report["schema"], "gapwright-report/1");
        for key in [
            "tool", "name", "inputs", "survey", "joints", "warnings", "notes",
        ] {
            assert!(!self.report[key].is_null(), "the report has no {key}");
        }
        for scan in ["body", "tray"] {
            let matrix = list(&self.report["scan_to_shop"][scan]);
            assert!(matrix.len() == 4 && matrix.iter().all(|row| list(row).len() == 4));
            assert_eq!(
                self.report["inputs"][scan]["sha256"].as_str().map(str::len),
                Some(64)
            );
        }
    }

    /// The table's columns, its order, and a gap that is the distance between its own two points.
    fn expect_gaps(&self) {
        let text = String::from_utf8_lossy(&self.files["gap.csv"]).into_owned();
        let mut lines = text.lines();
        assert_eq!(
            lines.next(),
            Some(
                "station_mm,edge_x_mm,edge_y_mm,edge_z_mm,tray_x_mm,tray_y_mm,tray_z_mm,gap_mm,sigma_mm,quality"
            )
        );
        let mut last = f64::NEG_INFINITY;
        let mut count = 0;
        for line in lines {
            let cells: Vec<&str> = line.split(',').collect();
            let v: Vec<f64> = cells[..9]
                .iter()
                .map(|cell| cell.parse().expect("a number"))
                .collect();
            assert!(["good", "sparse", "bridged"].contains(&cells[9]), "{line}");
            assert!(v[0] > last && v[7] > 0.0 && v[8] > 0.0, "{line}");
            let between = Vector::new(v[1] - v[4], v[2] - v[5], v[3] - v[6]);
            assert!((between.length() - v[7]).abs() < 0.01, "{line}");
            (last, count) = (v[0], count + 1);
        }
        assert_eq!(self.report["survey"]["stations"], count);
        expect_close(
            "length",
            last,
            number(&self.report["survey"]["length_mm"]),
            1e-3,
        );
    }

    /// Panel and segments are sound, of the volume the report gives, and make each other up.
    fn expect_solids(&self, build: [f64; 3], margin: f64) {
        let panel = self.solid("panel.stl");
        expect_close(
            "volume of the panel",
            panel.volume,
            number(&self.report["panel"]["volume_mm3"]),
            1e-4,
        );
        let rows = list(&self.report["segments"]);
        let joints = list(&self.report["joints"]);
        assert!(rows.len() > 1 && joints.len() + 1 == rows.len());
        let mut segments = Vec::new();
        for row in rows {
            let file = row["file"].as_str().expect("a file");
            let in_place = self.solid(file);
            expect_close(file, in_place.volume, number(&row["volume_mm3"]), 1e-4);
            let on_bed = self.solid(row["print_file"].as_str().expect("a file"));
            expect_close(file, on_bed.volume, in_place.volume, 1e-4);
            // Rounding to the file's 32-bit numbers moves a corner by a few hundred-thousandths.
            assert!(on_bed.low.z.abs() < 1e-3, "{file} does not lie on its bed");
            let size = on_bed.high - on_bed.low;
            let room = [
                build[0] - 2.0 * margin,
                build[1] - 2.0 * margin,
                build[2] - margin,
            ];
            for (axis, size) in [size.x, size.y, size.z].into_iter().enumerate() {
                assert!(size <= room[axis] + 1e-3, "{file}: {size} in {room:?}");
                let told = number(&row["size_mm"][axis]);
                assert!((size - told).abs() < 1e-3, "{file}: {size} {told}");
            }
            self.expect_3mf(row, &on_bed);
            segments.push(in_place);
        }
        let all = self.objects("segments/all_in_place.3mf");
        assert_eq!(all.len(), segments.len());
        for (i, (object, segment)) in all.iter().zip(&segments).enumerate() {
            let number = format!("segment {} of {}", i + 1, segments.len());
            assert!(object.name.ends_with(&number), "{}", object.name);
            assert_eq!(object.triangles, segment.mesh.num_triangles());
            expect_close(&number, object.volume, segment.volume, 1e-5);
        }
        let all: f64 = segments.iter().map(|s| s.volume).sum();
        let tabs: f64 = (joints.iter())
            .map(|j| number(&j["tab_volume_mm3"]) - number(&j["cut_volume_mm3"]))
            .sum();
        assert!(joints.iter().all(|j| number(&j["tab_volume_mm3"]) > 0.0));
        let labels: f64 = (list(&self.report["segments"]).iter())
            .filter(|segment| segment["label"].is_object())
            .map(|segment| number(&segment["label"]["volume_mm3"]))
            .sum();
        let bare = all - tabs + labels;
        expect_close("segments less tabs", bare, panel.volume, 1e-3);
        expect_cover(&panel, &segments);
    }
}

/// An object of a 3MF file as another library reads it.
struct Object {
    name: String,
    triangles: usize,
    volume: f64,
}

impl Made {
    /// The objects of a 3MF file.
    fn objects(&self, file: &str) -> Vec<Object> {
        let models = threemf::read(std::io::Cursor::new(&self.files[file])).expect("3MF");
        assert_eq!(models.len(), 1);
        let model = &models[0];
        assert_eq!(model.build.item.len(), model.resources.object.len());
        let objects = model.resources.object.iter();
        objects
            .map(|object| {
                let mesh = object.mesh.as_ref().expect("a mesh");
                let at = |i: usize| {
                    let v = &mesh.vertices.vertex[i];
                    Vector::new(v.x, v.y, v.z)
                };
                // From one of its own points, so that a small part far from the origin keeps its digits.
                let from = at(0);
                let triangles = &mesh.triangles.triangle;
                let six = triangles.iter().map(|t| {
                    let [a, b, c] = [t.v1, t.v2, t.v3].map(|i| at(i) - from);
                    a.dot(b.cross(c))
                });
                Object {
                    name: object.name.clone().expect("a name"),
                    triangles: triangles.len(),
                    volume: six.sum::<f64>() / 6.0,
                }
            })
            .collect()
    }

    /// A segment's 3MF holds what its STL on the bed holds, and the estimate is that of its volume.
    fn expect_3mf(&self, row: &Value, on_bed: &ReadBack) {
        let file = row["print_3mf"].as_str().expect("a file");
        let objects = self.objects(file);
        assert_eq!(objects.len(), 1);
        assert_eq!(objects[0].triangles, on_bed.mesh.num_triangles());
        expect_close(file, objects[0].volume, on_bed.volume, 1e-5);
        // PETG at 1.27 g/cm3 and 8 mm3/s as the printer comes; 415.752 mm of 1.75 mm filament for each
        // cm3, from the area of a circle.
        let estimate = &row["estimate"];
        let plastic = (on_bed.volume + number(&estimate["support_mm3"])) / 1e3;
        expect_close("mass", number(&estimate["mass_g"]), plastic * 1.27, 1e-4);
        let metres = number(&estimate["filament_m"]);
        expect_close("filament", metres, plastic * 0.415_752, 1e-4);
        let hours = number(&estimate["hours"]);
        expect_close("hours", hours, plastic / 8.0 / 3.6, 1e-3);
    }
}

/// Points just under the panel's surface lie in one segment and no more: volumes alone would not tell a
/// segment that is missing from one that is there twice.
fn expect_cover(panel: &ReadBack, segments: &[ReadBack]) {
    let (mut inside, mut once) = (0, 0);
    for triangle in panel.mesh.triangles() {
        let Some(normal) = triangle.normal() else {
            continue;
        };
        let at = triangle.center() - normal * 0.4;
        if panel.holds(at) {
            inside += 1;
            once += usize::from(segments.iter().filter(|s| s.holds(at)).count() == 1);
        }
    }
    assert!(inside > 1000, "only {inside} points to look at");
    // A point in a cut may be told to lie on either side of it, or on neither.
    let share = once as f64 / f64::from(inside);
    assert!(share > 0.995, "{share} of the panel is covered once");
}

/// The samples' jobs leave the printer as it comes.
const BUILD: [f64; 3] = [220.0, 220.0, 250.0];
const MARGIN: f64 = 5.0;

fn expect_sample(sample: &str, name: &str, top: &str) {
    let made = Made::of(sample);
    made.expect_files();
    made.expect_gaps();
    assert_eq!(made.report["name"], name);
    assert_eq!(made.report["panel"]["top"], top);
    made.expect_solids(BUILD, MARGIN);
}

#[test]
fn nose_with_a_rolled_lip() {
    expect_sample("nose", "three-wheeler nose", "butted");
}

#[test]
fn skirt_with_a_step_and_a_notch() {
    expect_sample("skirt", "motorhome side skirt", "tucked");
}

#[test]
fn tail_with_tight_corners() {
    expect_sample("tail", "gravity-racer tail", "tucked");
}
