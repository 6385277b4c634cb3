//! Every warning and note has a fixed code, and a test that brings it about: here those that take files,
//! through the real binary; the others beside the code that finds them.

#![allow(clippy::expect_used, clippy::panic)]

#[path = "common/sim/ply.rs"]
mod ply;

use gapwright::math::Point3;
use gapwright::mesh::TriMesh;
use gapwright::scan::read::read_mesh;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn sample(name: &str, scan: &str) -> TriMesh {
    let file = root().join("sample-meshes").join(name).join(scan);
    read_mesh(&file).expect("a scan").mesh
}

struct Bench(tempfile::TempDir);

impl Bench {
    /// A folder with the two scans of a sample, each changed, and a job for them.
    fn new(
        name: &str,
        body: impl FnOnce(&mut TriMesh),
        tray: impl FnOnce(&mut TriMesh),
        more: &str,
    ) -> Self {
        let bench = Self(tempfile::tempdir().expect("a folder"));
        let [mut of_body, mut of_tray] = ["body.ply", "tray.ply"].map(|scan| sample(name, scan));
        body(&mut of_body);
        tray(&mut of_tray);
        for (file, mesh) in [("body.ply", &of_body), ("tray.ply", &of_tray)] {
            ply::write_ply(&bench.path(file), mesh).expect("a file");
        }
        let job = format!("[scan]\nbody = \"body.ply\"\ntray = \"tray.ply\"\n{more}");
        fs::write(bench.path("job.toml"), job).expect("a job");
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn run(&self, args: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_gapwright"))
            .args(args)
            .current_dir(self.0.path())
            .output()
            .expect("the binary runs")
    }

    /// Every code that `measure` finds, with its whole entry in the report.
    fn measured(&self) -> BTreeMap<String, serde_json::Value> {
        let run = self.run(&["measure", "job.toml", "--json"]);
        assert_eq!(
            run.status.code(),
            Some(0),
            "{}",
            String::from_utf8_lossy(&run.stderr)
        );
        codes(&serde_json::from_slice(&run.stdout).expect("JSON"))
    }
}

/// Every object with a code, anywhere in a report.
fn codes(value: &serde_json::Value) -> BTreeMap<String, serde_json::Value> {
    let mut found = BTreeMap::new();
    match value {
        serde_json::Value::Array(all) => all.iter().for_each(|v| found.extend(codes(v))),
        serde_json::Value::Object(all) => {
            if let Some(code) = all.get("code").and_then(|c| c.as_str()) {
                found.insert(code.to_owned(), value.clone());
            }
            all.values().for_each(|v| found.extend(codes(v)));
        }
        _ => {}
    }
    found
}

fn as_it_is(_: &mut TriMesh) {}

/// Takes out what lies nearer than `radius` mm to a place.
fn with_hole(mesh: &mut TriMesh, at: Point3, radius: f64) {
    let points = &mesh.points;
    mesh.triangles
        .retain(|t| t.iter().all(|&i| (points[i as usize] - at).norm() > radius));
}

/// Where the surveyed edge of a sample lies in its files, in the middle of its length.
fn edge_of(name: &str) -> Point3 {
    let bench = Bench::new(name, as_it_is, as_it_is, "unit = \"mm\"\n");
    let run = bench.run(&["measure", "job.toml", "--json"]);
    let told: serde_json::Value = serde_json::from_slice(&run.stdout).expect("JSON");
    let matrix = &told["report"]["scan_to_shop"]["body"];
    let entry = |i: usize, j: usize| matrix[i][j].as_f64().expect("a matrix");
    let to_shop = nalgebra::Matrix4::from_fn(entry);
    let csv = fs::read_to_string(bench.path("out/gap.csv")).expect("gap.csv");
    let rows: Vec<&str> = csv.lines().skip(1).collect();
    let row: Vec<f64> = rows[rows.len() / 2]
        .split(',')
        .map_while(|v| v.parse().ok())
        .collect();
    let back = to_shop.try_inverse().expect("a way back");
    back.transform_point(&Point3::new(row[1], row[2], row[3]))
}

#[test]
fn what_spoils_a_scan_is_told_by_inspect() {
    let broken = |mesh: &mut TriMesh| {
        for p in &mut mesh.points {
            *p = Point3::new(p.x.round(), p.y.round(), p.z.round());
        }
        let many = mesh.triangles.len() / 50;
        let flat: Vec<[u32; 3]> = mesh.triangles[..many]
            .iter()
            .map(|t| [t[0], t[1], t[0]])
            .collect();
        mesh.triangles.extend(flat);
        with_hole(mesh, mesh.points[mesh.points.len() / 2], 60.0);
    };
    let bench = Bench::new("nose", broken, as_it_is, "");
    let run = bench.run(&["inspect", "body.ply", "--no-page", "--json"]);
    let found = codes(&serde_json::from_slice(&run.stdout).expect("JSON"));
    for code in ["rounded-points", "many-degenerate", "wide-hole"] {
        assert!(found.contains_key(code), "no {code} in {:?}", found.keys());
    }
    // Every third point of a small corner of a scan: coarse, and no vehicle's edge.
    let corner = TriMesh {
        points: (0..9)
            .map(|i| Point3::new(30.0 * f64::from(i % 3), 30.0 * f64::from(i / 3), 0.0))
            .collect(),
        triangles: vec![
            [0, 1, 4],
            [0, 4, 3],
            [1, 2, 5],
            [1, 5, 4],
            [3, 4, 7],
            [3, 7, 6],
            [4, 5, 8],
            [4, 8, 7],
        ],
    };
    ply::write_ply(&bench.path("corner.ply"), &corner).expect("a file");
    let args = [
        "inspect",
        "corner.ply",
        "--no-page",
        "--json",
        "--unit",
        "mm",
    ];
    let found = codes(&serde_json::from_slice(&bench.run(&args).stdout).expect("JSON"));
    for code in ["coarse", "small"] {
        assert!(found.contains_key(code), "no {code} in {:?}", found.keys());
    }
    let plain = bench.run(&["inspect", "tray.ply", "--no-page"]);
    let said = String::from_utf8_lossy(&plain.stdout);
    assert!(said.contains("good for"), "{said}");
}

#[test]
fn a_gap_in_the_edge_is_bridged_and_said_with_its_station() {
    let at = edge_of("nose");
    let bench = Bench::new(
        "nose",
        |mesh| with_hole(mesh, at, 28.0),
        as_it_is,
        "unit = \"mm\"\n",
    );
    let found = bench.measured();
    let told = found
        .get("bridged")
        .unwrap_or_else(|| panic!("the hole is told: {at} {found:#?}"));
    let station = told["station_mm"].as_f64().expect("a station");
    // The hole is in the middle of a length of 1356 mm.
    assert!((station - 678.0).abs() < 30.0, "{told}");
    assert!(found.contains_key("edge-kind"), "the kind of edge is told");
}

#[test]
fn points_and_distances_are_told_from_each_other() {
    let at = |mesh: &TriMesh, i: usize| mesh.points[i];
    let body = sample("nose", "body.ply");
    let picks = [
        at(&body, 100),
        at(&body, body.points.len() / 2),
        at(&body, body.points.len() - 100),
    ];
    let points = |scale: f64| -> String {
        let names = ["left", "middle", "right"];
        let lines = names.iter().zip(&picks);
        lines
            .map(|(name, p)| {
                format!(
                    "{name} = [{}, {}, {}]\n",
                    p.x * scale,
                    p.y * scale,
                    p.z * scale
                )
            })
            .collect()
    };
    let job = format!(
        "unit = \"mm\"\n[points.body]\n{0}[points.tray]\n{0}",
        points(1.0)
    );
    let found = Bench::new("nose", as_it_is, as_it_is, &job).measured();
    for code in ["one-pose", "scale-unproved"] {
        assert!(found.contains_key(code), "no {code} in {:?}", found.keys());
    }
}

/// Codes that production code gives and no test names.
#[test]
fn every_code_is_named_in_a_test() {
    let mut given: BTreeMap<String, PathBuf> = BTreeMap::new();
    let mut tested = String::new();
    let mut folders = vec![root().join("src"), root().join("tests")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            if path.extension().is_none_or(|e| e != "rs") {
                continue;
            }
            let text = fs::read_to_string(&path).expect("a source file");
            let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
            let is_test = path.starts_with(root().join("tests"))
                || name.is_some_and(|n| n.ends_with("tests.rs"));
            let (code, test) = match text.find("#[cfg(test)]\nmod tests {") {
                _ if is_test => ("", text.as_str()),
                Some(at) => text.split_at(at),
                None => (text.as_str(), ""),
            };
            tested.push_str(test);
            for opening in ["Finding::warning(", "Finding::note("] {
                for part in code.split(opening).skip(1) {
                    let quoted = part.trim_start().strip_prefix('"');
                    if let Some(code) = quoted.and_then(|q| q.split('"').next()) {
                        given.insert(code.to_owned(), path.clone());
                    }
                }
            }
        }
    }
    assert!(given.len() > 50, "{} codes", given.len());
    let missing: Vec<_> = given
        .iter()
        .filter(|(code, _)| !tested.contains(&format!("\"{code}\"")))
        .collect();
    assert!(missing.is_empty(), "no test names {missing:#?}");
}
