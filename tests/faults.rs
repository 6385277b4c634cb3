//! What stops the work, brought about through the real binary: each says what, where and what to do, ends
//! with 2, and writes nothing. Files that cannot be read at all are in `bad_input.rs`.

#![allow(clippy::expect_used, clippy::panic)]

#[path = "common/sim/ply.rs"]
mod ply;

use gapwright::math::{Point3, Vector3};
use gapwright::mesh::TriMesh;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Triangle edge of the made-up scans (mm).
const EDGE: f64 = 4.0;

/// A flat piece of scan from `corner`, so long both ways; it faces `u` x `v`.
fn sheet(mesh: &mut TriMesh, corner: Point3, u: Vector3, v: Vector3) {
    let [nu, nv] = [u, v].map(|side| (side.norm() / EDGE).ceil() as usize);
    let first = mesh.points.len() as u32;
    for i in 0..=nu {
        for j in 0..=nv {
            let at = u * (i as f64 / nu as f64) + v * (j as f64 / nv as f64);
            mesh.points.push(corner + at);
        }
    }
    let at = |i: usize, j: usize| first + (i * (nv + 1) + j) as u32;
    for i in 0..nu {
        for j in 0..nv {
            let (a, b, c, d) = (at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
}

/// A straight body 30 mm over the tray: its skin, facing outward along x, and its underside.
fn body(length: f64, underside: bool) -> TriMesh {
    let mut mesh = TriMesh::default();
    let along = Vector3::y() * length;
    let corner = Point3::new(0.0, 0.0, 30.0);
    sheet(&mut mesh, corner, along, Vector3::z() * 120.0);
    if underside {
        sheet(&mut mesh, corner, Vector3::x() * -16.0, along);
    }
    mesh
}

/// A level tray over this range across.
fn tray([from, to]: [f64; 2]) -> TriMesh {
    let mut mesh = TriMesh::default();
    let across = Vector3::x() * (to - from);
    sheet(
        &mut mesh,
        Point3::new(from, -40.0, 0.0),
        across,
        Vector3::y() * 680.0,
    );
    mesh
}

/// A ball, flat nowhere.
fn ball(radius: f64) -> TriMesh {
    let (rings, sides) = (60_u32, 120_u32);
    let mut mesh = TriMesh::default();
    for i in 0..=rings {
        for j in 0..sides {
            let (a, b) = (
                std::f64::consts::PI * f64::from(i) / f64::from(rings),
                std::f64::consts::TAU * f64::from(j) / f64::from(sides),
            );
            let out = Vector3::new(a.sin() * b.cos(), a.sin() * b.sin(), a.cos());
            mesh.points.push(Point3::from(out * radius));
        }
    }
    for i in 0..rings {
        for j in 0..sides {
            let at = |i: u32, j: u32| i * sides + j % sides;
            let (a, b, c, d) = (at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh
}

/// Runs `measure` on two scans and gives what it says as it stops.
fn refused(body: &TriMesh, tray: &TriMesh, more: &str) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, mesh) in [("body.ply", body), ("tray.ply", tray)] {
        ply::write_ply(&folder.path().join(name), mesh).expect("a scan");
    }
    let same = body.points == tray.points;
    let tray = if same { "body.ply" } else { "tray.ply" };
    let job = format!("[scan]\nbody = \"body.ply\"\ntray = \"{tray}\"\nunit = \"mm\"\n{more}");
    fs::write(folder.path().join("job.toml"), job).expect("a job");
    let run = Command::new(env!("CARGO_BIN_EXE_gapwright"))
        .args(["measure", "job.toml"])
        .current_dir(folder.path())
        .output()
        .expect("the binary runs");
    let said = String::from_utf8_lossy(&run.stderr).into_owned();
    assert_eq!(run.status.code(), Some(2), "{said}");
    assert!(said.contains("\n  to do: "), "{said}");
    assert!(!folder.path().join("out").exists(), "{said}");
    said
}

fn expect(said: &str, words: &str) {
    assert!(said.contains(words), "\"{words}\" is not in: {said}");
}

#[test]
fn a_whole_gap_is_measured() {
    // Without this the other tests could be refused for any reason.
    let (body, tray) = (body(600.0, true), tray([-200.0, 100.0]));
    let folder = tempfile::tempdir().expect("a folder");
    for (name, mesh) in [("body.ply", &body), ("tray.ply", &tray)] {
        ply::write_ply(&folder.path().join(name), mesh).expect("a scan");
    }
    let job = "[scan]\nbody = \"body.ply\"\ntray = \"tray.ply\"\nunit = \"mm\"\n";
    fs::write(folder.path().join("job.toml"), job).expect("a job");
    let run = Command::new(env!("CARGO_BIN_EXE_gapwright"))
        .args(["measure", "job.toml", "--quiet"])
        .current_dir(folder.path())
        .output()
        .expect("the binary runs");
    assert_eq!(
        run.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
}

#[test]
fn an_edge_without_its_underside() {
    let said = refused(&body(600.0, false), &tray([-200.0, 100.0]), "");
    expect(&said, "the underside of the body's edge is not in the scan");
    expect(&said, "phone held low");
}

#[test]
fn an_edge_seen_on_a_hand_s_breadth() {
    let said = refused(&body(50.0, true), &tray([-200.0, 100.0]), "");
    expect(&said, "mm of the body's edge lie over the tray");
}

#[test]
fn a_tray_that_ends_before_the_edge() {
    let said = refused(&body(600.0, true), &tray([-300.0, -60.0]), "");
    expect(&said, "does not stand over the tray's");
    expect(&said, "has to reach under the body's edge");
}

#[test]
fn a_tray_that_is_flat_nowhere() {
    let said = refused(&body(600.0, true), &ball(200.0), "");
    expect(&said, "they look swapped");
}

#[test]
fn one_scan_with_no_gap_in_it() {
    let said = refused(&ball(300.0), &ball(300.0), "");
    expect(&said, "no flat surface with a body's edge over it");
    expect(&said, "`tray_seed` and `body_seed`");
}

#[test]
fn seeds_that_lie_elsewhere() {
    let mut both = body(600.0, true);
    sheet(
        &mut both,
        Point3::new(-200.0, -40.0, 0.0),
        Vector3::x() * 300.0,
        Vector3::y() * 680.0,
    );
    let on_skin = "tray_seed = [0.0, 300.0, 140.0]\n";
    expect(
        &refused(&both, &both, on_skin),
        "`tray_seed` does not lie on a flat surface",
    );
    let on_tray = "body_seed = [60.0, 300.0, 0.0]\ntray_seed = [60.0, 300.0, 0.0]\n";
    expect(
        &refused(&both, &both, on_tray),
        "`body_seed` does not lie on the body",
    );
}

#[test]
fn a_scan_that_is_broken_all_over() {
    let mut broken = body(600.0, true);
    for p in &mut broken.points {
        *p = Point3::new(f64::NAN, 0.0, 0.0);
    }
    let said = refused(&broken, &tray([-200.0, 100.0]), "");
    expect(&said, "no triangle in the file has finite coordinates");
    for p in &mut broken.points {
        *p = Point3::new(p.y, 0.0, 0.0);
    }
    let said = refused(&broken, &tray([-200.0, 100.0]), "");
    expect(&said, "nothing of the body's scan is left after cleaning");
}

/// Text of a source file without its tests.
fn production(text: &str) -> &str {
    text.split("#[cfg(test)]\nmod ").next().unwrap_or(text)
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("a folder");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    let (folders, files): (Vec<PathBuf>, Vec<PathBuf>) = paths.partition(|path| path.is_dir());
    let name = |path: &PathBuf| path.to_string_lossy().into_owned();
    let code = files
        .into_iter()
        .filter(|path| name(path).ends_with(".rs") && !name(path).ends_with("tests.rs"));
    code.chain(folders.iter().flat_map(|folder| sources(folder)))
        .collect()
}

/// Every string in a source file, its broken lines joined.
fn strings(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut held: Option<String> = None;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match (&mut held, c) {
            (None, '\'') if chars.peek() == Some(&'"') => {
                chars.next();
            }
            (None, '/') if chars.peek() == Some(&'/') => {
                while chars.peek().is_some_and(|c| *c != '\n') {
                    chars.next();
                }
            }
            (None, '"') => held = Some(String::new()),
            (Some(_), '"') => found.extend(held.take()),
            (Some(text), '\\') => match chars.next() {
                Some('\n') => while chars.next_if(|c| c.is_whitespace()).is_some() {},
                Some(c) => text.push(c),
                None => {}
            },
            (Some(text), c) => text.push(c),
            (None, _) => {}
        }
    }
    found
}

/// A hint that names an option names one that a job has, under the table it has it in. The options are
/// those of the documents, which another test keeps equal to the reader's.
#[test]
fn hints_name_options_that_exist() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let formats = fs::read_to_string(root.join("docs/formats.md")).expect("the documents");
    let mut options: BTreeSet<(String, String)> = BTreeSet::new();
    for line in formats.lines() {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        if let [_, table, key, ..] = cells[..]
            && let Some(key) = key.strip_prefix('`').and_then(|key| key.strip_suffix('`'))
        {
            let table = table.trim_matches(['`', '[', ']']);
            options.insert((table.to_owned(), key.to_owned()));
        }
    }
    assert!(
        options.len() > 60,
        "{} options in the documents",
        options.len()
    );
    let tables: BTreeSet<&String> = options.iter().map(|(table, _)| table).collect();
    let mut seen = 0;
    let mut wrong = Vec::new();
    for file in sources(&root.join("src")) {
        let text = fs::read_to_string(&file).expect("a source");
        for said in strings(production(&text)) {
            // "... wall_mm or seal_mm under [panel]": the words before each table.
            let mut rest = said.as_str();
            while let Some((before, after)) = rest.split_once(" under [") {
                let Some((table, after)) = after.split_once(']') else {
                    break;
                };
                rest = after;
                let table = table.trim_matches('[').to_owned();
                // The tables of points have no fixed keys; a name in braces is put in as it runs.
                if table.starts_with("points") || table.contains('{') {
                    continue;
                }
                if !tables.contains(&table) {
                    wrong.push(format!("{}: no table [{table}]: {said}", file.display()));
                    continue;
                }
                let keys = before
                    .split(|c: char| !(c.is_ascii_alphanumeric() || c == '_'))
                    .filter(|word| word.ends_with("_mm") || word.ends_with("_deg"));
                for key in keys {
                    seen += 1;
                    if !options.contains(&(table.clone(), key.to_owned())) {
                        wrong.push(format!(
                            "{}: no {key} under [{table}]: {said}",
                            file.display()
                        ));
                    }
                }
            }
        }
    }
    assert!(seen > 20, "only {seen} options named in hints");
    assert!(wrong.is_empty(), "{wrong:#?}");
}
