//! Bad input through the real binary: one clear error each (what, where, what to do), exit code 2, and
//! nothing left behind.

#![allow(clippy::expect_used, clippy::panic)]

#[path = "common/sim/ply.rs"]
mod ply;

use gapwright::math::{Point3, Vector3};
use gapwright::mesh::TriMesh;
use gapwright::scan::read::read_mesh;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A sample scan as it is in its file.
fn sample(name: &str, scan: &str) -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    root.join("sample-meshes").join(name).join(scan)
}

/// Every name below a folder, files with their length.
fn names(folder: &Path) -> Vec<(PathBuf, u64)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let size = fs::metadata(&path).expect("a file").len();
        if path.is_dir() {
            found.extend(names(&path));
            found.push((path, 0));
        } else {
            found.push((path, size));
        }
    }
    found.sort();
    found
}

/// A folder with the nose's two scans and a job for them.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let bench = Self {
            folder: tempfile::tempdir().expect("a folder"),
        };
        for scan in ["body.ply", "tray.ply"] {
            fs::copy(sample("nose", scan), bench.path(scan)).expect("a copy");
        }
        bench.job("unit = \"mm\"\n");
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A job with this after its two scans.
    fn job(&self, more: &str) {
        self.job_of("body.ply", "tray.ply", more);
    }

    fn job_of(&self, body: &str, tray: &str, more: &str) {
        let text = format!("[scan]\nbody = \"{body}\"\ntray = \"{tray}\"\n{more}");
        fs::write(self.path("job.toml"), text).expect("a job");
    }

    /// The body's scan under another name, changed.
    fn body_as(&self, name: &str, change: impl FnOnce(&mut TriMesh)) {
        let mut mesh = read_mesh(&sample("nose", "body.ply")).expect("a scan").mesh;
        change(&mut mesh);
        ply::write_ply(&self.path(name), &mesh).expect("a file");
    }

    fn run(&self, args: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_gapwright"))
            .args(args)
            .current_dir(self.folder.path())
            .output()
            .expect("the binary runs")
    }

    /// `make` fails with one error that holds all of these words.
    fn expect_error(&self, words: &[&str]) {
        self.expect_error_of(&["make", "job.toml"], words);
    }

    fn expect_error_of(&self, args: &[&str], words: &[&str]) {
        let before = names(self.folder.path());
        let run = self.run(args);
        let told = String::from_utf8_lossy(&run.stderr);
        assert_eq!(run.status.code(), Some(2), "{told}");
        assert!(run.stdout.is_empty(), "{args:?} said something");
        assert_eq!(told.matches("error: ").count(), 1, "{told}");
        for part in ["error: ", "\n  where: ", "\n  to do: "]
            .iter()
            .chain(words)
        {
            assert!(told.contains(part), "no \"{part}\" in\n{told}");
        }
        assert!(!told.contains("panicked"), "{told}");
        assert_eq!(names(self.folder.path()), before, "{args:?} left something");
    }

    /// A body's file with these bytes fails with these words, in `make` and in `inspect`.
    fn expect_bad_file(&self, name: &str, bytes: &[u8], words: &[&str]) {
        fs::write(self.path(name), bytes).expect("a file");
        self.job_of(name, "tray.ply", "unit = \"mm\"\n");
        let mut words = words.to_vec();
        words.push(name);
        self.expect_error(&words);
        self.expect_error_of(&["inspect", name], &words);
    }
}

/// A binary STL of triangles with these corners.
fn stl(count: u32, corners: &[[f32; 3]]) -> Vec<u8> {
    let mut bytes = vec![b' '; 80];
    bytes.extend(count.to_le_bytes());
    for triangle in corners.chunks_exact(3) {
        bytes.extend([0; 12]);
        bytes.extend(triangle.iter().flatten().flat_map(|v| v.to_le_bytes()));
        bytes.extend([0, 0]);
    }
    bytes
}

const CORNER: [[f32; 3]; 3] = [[0.0, 0.0, 0.0], [900.0, 0.0, 0.0], [0.0, 90.0, 0.0]];

#[test]
fn a_scan_that_is_missing() {
    let bench = Bench::new();
    bench.job_of("gone.ply", "tray.ply", "");
    bench.expect_error(&[
        "there is no file",
        "gone.ply",
        "job.toml, line 2",
        "check the name",
    ]);
    bench.expect_error_of(&["inspect", "gone.ply"], &["no such file", "gone.ply"]);
}

#[test]
fn a_file_without_a_mesh() {
    let bench = Bench::new();
    bench.expect_bad_file(
        "empty.ply",
        b"",
        &["the file is empty", "export the scan again"],
    );
    let text = b"three-wheeler, left side, second try";
    for name in ["notes.stl", "notes.ply", "notes.glb", "notes.step"] {
        bench.expect_bad_file(name, text, &["STL, PLY, OBJ or GLB"]);
    }
    // OBJ has no mark by which to know it.
    bench.expect_bad_file("notes.obj", text, &["no triangles (0 points)", "export"]);
    bench.expect_bad_file("none.stl", &stl(0, &[]), &["no triangles", "export"]);
    bench.expect_bad_file(
        "cloud.obj",
        b"v 0 0 0\nv 1 0 0\nv 0 1 0\n",
        &["no triangles (3 points)", "point cloud"],
    );
    let cloud = b"ply\nformat ascii 1.0\nelement vertex 2\nproperty float x\nproperty float y\n\
        property float z\nend_header\n0 0 0\n1 0 0\n";
    bench.expect_bad_file(
        "cloud.ply",
        cloud,
        &["no triangles (2 points)", "point cloud"],
    );
}

#[test]
fn a_scan_with_the_wrong_ending() {
    let bench = Bench::new();
    let whole = fs::read(sample("nose", "body.ply")).expect("a scan");
    bench.expect_bad_file(
        "body.stl",
        &whole,
        &["name says STL, but it holds PLY", "ending"],
    );
}

#[test]
fn a_file_that_ends_early_or_lies_about_its_length() {
    let bench = Bench::new();
    let whole = fs::read(sample("nose", "body.ply")).expect("a scan");
    let half = &whole[..whole.len() / 2];
    bench.expect_bad_file("half.ply", half, &["cut short", "copy the file again"]);
    let at = |words: &[u8]| {
        let mut windows = whole.windows(words.len());
        windows.position(|w| w == words).expect("a header") + words.len()
    };
    for words in [&b"element vertex "[..], b"element face "] {
        let mut lying = whole.clone();
        // Seven digits more: far more than the file holds.
        lying.splice(at(words)..at(words), *b"9999999");
        bench.expect_bad_file("lying.ply", &lying, &["cut short", "99999"]);
    }
    let more = stl(4_000_000_000, &CORNER);
    bench.expect_bad_file("lying.stl", &more, &["cut short", "4000000000"]);
}

#[test]
fn a_scan_without_a_finite_triangle() {
    let bench = Bench::new();
    let spoiled = [
        [f32::NAN, 1.0, 2.0],
        [3.0, f32::INFINITY, 4.0],
        [f32::NAN; 3],
    ];
    let words = ["finite coordinates", "scan is spoiled"];
    bench.expect_bad_file("nan.stl", &stl(1, &spoiled), &words);
    bench.body_as("nan.ply", |mesh| {
        mesh.points.fill(Point3::new(f64::NAN, 0.0, 0.0))
    });
    bench.job_of("nan.ply", "tray.ply", "unit = \"mm\"\n");
    bench.expect_error(&words);
    bench.expect_error_of(&["inspect", "nan.ply"], &words);
}

#[test]
fn tray_and_body_swapped() {
    let bench = Bench::new();
    for (name, unit) in [("nose", "mm"), ("skirt", "m"), ("tail", "cm")] {
        for scan in ["body.ply", "tray.ply"] {
            fs::copy(sample(name, scan), bench.path(scan)).expect("a copy");
        }
        bench.job_of("tray.ply", "body.ply", &format!("unit = \"{unit}\"\n"));
        bench.expect_error(&[
            "look swapped",
            "tray.ply and body.ply",
            "swap `body` and `tray`",
        ]);
    }
}

#[test]
fn body_and_tray_in_different_units() {
    let bench = Bench::new();
    let words = [
        "one of the two units is wrong",
        "body.ply and tray.ply",
        "`body_unit`",
    ];
    for units in [
        "body_unit = \"in\"\ntray_unit = \"mm\"\n",
        "body_unit = \"mm\"\ntray_unit = \"in\"\n",
        "body_unit = \"cm\"\ntray_unit = \"mm\"\n",
    ] {
        bench.job(units);
        bench.expect_error(&words);
    }
    // So large that nothing else need be tried.
    bench.job("body_unit = \"mm\"\ntray_unit = \"m\"\n");
    bench.expect_error(&["in metres", "tray.ply", "write \"mm\" in its place"]);
}

#[test]
fn scans_that_do_not_face_each_other() {
    for (name, away) in [
        ("aside.ply", Vector3::new(2000.0, 0.0, 0.0)),
        ("ahead.ply", Vector3::new(0.0, 2000.0, 0.0)),
        ("above.ply", Vector3::new(0.0, 0.0, 2000.0)),
        ("below.ply", Vector3::new(0.0, 0.0, -2000.0)),
    ] {
        let bench = Bench::new();
        bench.body_as(name, |mesh| mesh.points.iter_mut().for_each(|p| *p += away));
        bench.job_of(name, "tray.ply", "unit = \"mm\"\n");
        bench.expect_error(&["does not stand over", name, "one frame"]);
    }
}

#[test]
fn the_same_scan_twice() {
    let bench = Bench::new();
    bench.job_of("tray.ply", "tray.ply", "unit = \"mm\"\n");
    bench.expect_error(&["tray.ply"]);
    bench.job_of("body.ply", "body.ply", "unit = \"mm\"\n");
    bench.expect_error(&["body.ply"]);
}

#[test]
fn a_build_volume_smaller_than_the_section() {
    let bench = Bench::new();
    for size in ["[50, 50, 50]", "[220, 220, 50]", "[50, 50, 250]"] {
        bench.job(&format!("unit = \"mm\"\n[printer]\nbuild_mm = {size}\n"));
        bench.expect_error(&[
            "build volume is too small",
            "build_mm",
            "larger build volume",
        ]);
    }
}

#[test]
fn a_place_for_the_results_that_cannot_be_used() {
    let bench = Bench::new();
    fs::create_dir(bench.path("precious")).expect("a folder");
    fs::write(bench.path("precious/notes.txt"), "mine").expect("a file");
    for (out, words) in [
        ("precious", "left alone"),
        ("job.toml", "left alone"),
        ("job.toml/out", "cannot be written"),
        ("..", "folder of their own"),
    ] {
        bench.expect_error_of(&["make", "job.toml", "--out", out], &[words, out, "--out"]);
    }
    bench.expect_error_of(
        &["new", "body.ply", "tray.ply", "--out", "body.ply/job.toml"],
        &[
            "cannot be written",
            "body.ply/job.toml",
            "another place with --out",
        ],
    );
}

/// Real scans of a table top, rounded to whole millimetres by their export: there is a surface, so it is
/// read, and what is wrong with it is told.
#[test]
fn a_phone_scan_with_faults_is_told_so() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let Some(table) = ["../shared", "../../shared"]
        .map(|up| root.join(up).join("real/phone_table/highres_export.obj"))
        .into_iter()
        .find(|path| path.exists())
    else {
        println!("skipped: no shared folder beside the repository");
        return;
    };
    let bench = Bench::new();
    let run = bench.run(&["inspect", &table.to_string_lossy()]);
    assert_eq!(run.status.code(), Some(0));
    let said = String::from_utf8_lossy(&run.stdout);
    for words in [
        "does not say its unit",
        "rounded to 1 mm",
        "have no area",
        "2 in 2 loose pieces",
        "holes      ",
    ] {
        assert!(said.contains(words), "no \"{words}\" in\n{said}");
    }
    fs::copy(&table, bench.path("table.obj")).expect("a copy");
    bench.job_of(
        "table.obj",
        "tray.ply",
        "body_unit = \"m\"\ntray_unit = \"mm\"\n",
    );
    bench.expect_error(&["table.obj"]);
}
