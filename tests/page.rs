//! The page to take points on, and the model that turns, in a real browser without a screen. Skipped, with
//! a message, where there is no Chromium.

#![allow(
    clippy::print_stderr,
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

use gapwright::math::{Point3, Vector3};
use gapwright::mesh::TriMesh;
use gapwright::output::viewer::{self, AtFirst, Lines, Model, Part, Stance, Tone};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const HANDS: &str = include_str!("page/hands.js");
const STEADY: &str = include_str!("page/steady.js");
const TAKE_POINTS: &str = include_str!("page/take_points.js");
const COMPARE_PICTURE: &str = include_str!("page/compare_picture.js");
const SHOW_PARTS: &str = include_str!("page/show_parts.js");
const STAND_STILL: &str = include_str!("page/stand_still.js");

/// Sides of the box that is scanned (mm).
const BOX: [f64; 3] = [900.0, 500.0, 250.0];

fn browser() -> Option<PathBuf> {
    let paths = std::env::var_os("PATH")?;
    let found = std::env::split_paths(&paths)
        .flat_map(|folder| ["chromium", "chromium-browser"].map(|name| folder.join(name)))
        .find(|path| path.is_file());
    if found.is_none() {
        eprintln!("skipped: there is no Chromium on this machine");
    }
    found
}

/// A box about the origin, its sides cut into squares of 25 mm, facing outward.
fn box_mesh([a, b, c]: [f64; 3]) -> TriMesh {
    let mut mesh = TriMesh::default();
    let half = Vector3::new(a, b, c) / 2.0;
    for axis in 0..3 {
        for side in [-1.0, 1.0] {
            let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
            let (n, m) = ((half[u] / 12.5) as u32, (half[v] / 12.5) as u32);
            let first = mesh.points.len() as u32;
            for (i, k) in (0..=n).flat_map(|i| (0..=m).map(move |k| (i, k))) {
                let mut p = Vector3::zeros();
                p[axis] = side * half[axis];
                p[u] = half[u] * (2.0 * f64::from(i) / f64::from(n) - 1.0);
                p[v] = half[v] * (2.0 * f64::from(k) / f64::from(m) - 1.0);
                mesh.points.push(Point3::from(p));
            }
            for (i, k) in (0..n).flat_map(|i| (0..m).map(move |k| (i, k))) {
                let at = |i: u32, k: u32| first + i * (m + 1) + k;
                let [p, q, r, s] = [at(i, k), at(i + 1, k), at(i + 1, k + 1), at(i, k + 1)];
                let turned = |[x, y, z]: [u32; 3]| if side > 0.0 { [x, y, z] } else { [x, z, y] };
                mesh.triangles.extend([[p, q, r], [p, r, s]].map(turned));
            }
        }
    }
    mesh
}

fn as_obj(mesh: &TriMesh, scale: f64) -> String {
    let mut text = String::new();
    for p in &mesh.points {
        text += &format!("v {} {} {}\n", p.x * scale, p.y * scale, p.z * scale);
    }
    for [a, b, c] in &mesh.triangles {
        text += &format!("f {} {} {}\n", a + 1, b + 1, c + 1);
    }
    text
}

/// Opens `page` with the hands and a script that uses them, and gives what the script put into the page.
/// Whatever the browser's console says fails the test, driver's remarks on speed aside.
fn driven(browser: &Path, page: &str, script: &str, more: &[&str]) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let html = page
        .replace("<body>", &format!("<body><script>{STEADY}</script>"))
        .replace(
            "</body>",
            &format!("<script>{HANDS}</script><script>{script}</script></body>"),
        );
    let path = folder.path().join("driven.html");
    fs::write(&path, html).unwrap();
    let run = Command::new(browser)
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--use-gl=angle",
            "--use-angle=swiftshader",
            "--enable-unsafe-swiftshader",
            "--enable-logging=stderr",
            "--window-size=1200,800",
            "--virtual-time-budget=30000",
            "--dump-dom",
        ])
        .args(more)
        .arg(format!(
            "--user-data-dir={}",
            folder.path().join("profile").display()
        ))
        .arg(format!("file://{}", path.display()))
        .output()
        .unwrap();
    let log = String::from_utf8_lossy(&run.stderr);
    let said: Vec<&str> = log
        .lines()
        .filter(|line| line.contains("CONSOLE") && !line.contains("GL Driver Message"))
        .collect();
    assert!(said.is_empty(), "{said:?}");
    let dom = String::from_utf8_lossy(&run.stdout);
    let told = dom
        .split_once("<pre id=\"told\">")
        .and_then(|(_, rest)| rest.split_once("</pre>"))
        .unwrap_or_else(|| panic!("the script did not end\n{log}"));
    serde_json::from_str(&told.0.replace("&gt;", ">").replace("&amp;", "&")).unwrap()
}

fn triple(value: &toml::Value) -> [f64; 3] {
    let numbers: Vec<f64> = value
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_float().unwrap())
        .collect();
    numbers.try_into().unwrap()
}

/// How far a point is from the surface of the box, in its own unit.
fn off_box(at: [f64; 3], scale: f64) -> f64 {
    let over: Vec<f64> = (0..3).map(|k| at[k].abs() - scale * BOX[k] / 2.0).collect();
    over.iter().copied().fold(f64::NEG_INFINITY, f64::max).abs()
}

/// A box scanned in centimetres, its page as the binary writes it.
fn points_page(folder: &Path) -> String {
    fs::write(folder.join("bo x.obj"), as_obj(&box_mesh(BOX), 0.1)).unwrap();
    let run = Command::new(env!("CARGO_BIN_EXE_gapwright"))
        .args(["inspect", "bo x.obj", "--unit", "cm"])
        .current_dir(folder)
        .output()
        .unwrap();
    assert!(
        run.status.success(),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
    assert!(String::from_utf8_lossy(&run.stdout).contains("open bo x.points.html"));
    fs::read_to_string(folder.join("bo x.points.html")).unwrap()
}

#[test]
fn points_are_taken_from_the_surface_under_the_pointer() {
    let Some(browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let told = driven(&browser, &points_page(folder.path()), TAKE_POINTS, &[]);

    // The lines are TOML, and every point lies on the box. A centimetre with three decimals, over a box of
    // 90 cm in 65,535 steps.
    let first: toml::Table = told["first"].as_str().unwrap().parse().unwrap();
    let body = first["points"]["body"].as_table().unwrap();
    assert!(
        told["first"]
            .as_str()
            .unwrap()
            .starts_with("[points.body]\np1 = [")
    );
    assert_eq!(body.len(), 3);
    let [a, m, b] = ["p1", "p2", "p3"].map(|name| triple(&body[name]));
    for at in [a, m, b] {
        assert!(off_box(at, 0.1) < 0.002, "{at:?}");
    }
    // A parallel view keeps the middle: three places in line on one face.
    for k in 0..3 {
        assert!(
            (a[k] + b[k] - 2.0 * m[k]).abs() < 0.005,
            "{a:?} {m:?} {b:?}"
        );
    }
    // What the page says of the last two: centimetres, and millimetres.
    let far = (0..3).map(|k| (b[k] - m[k]).powi(2)).sum::<f64>().sqrt();
    let said = told["far"].as_str().unwrap();
    let (in_file, in_mm) = said.split_once(" in the file = ").unwrap();
    assert!(
        (in_file.parse::<f64>().unwrap() - far).abs() < 0.003,
        "{said}"
    );
    let in_mm: f64 = in_mm.strip_suffix(" mm").unwrap().parse().unwrap();
    assert!((in_mm - 10.0 * far).abs() < 0.1, "{said}");

    // A drag takes no point but turns; after the wheel the same place is still under the pointer.
    assert_eq!(told["after_drag"], told["first"]);
    let zoomed: toml::Table = told["zoomed"].as_str().unwrap().parse().unwrap();
    let zoomed = zoomed["points"]["body"].as_table().unwrap();
    let [before, after] = ["p4", "p5"].map(|name| triple(&zoomed[name]));
    for k in 0..3 {
        assert!((before[k] - after[k]).abs() < 0.005, "{before:?} {after:?}");
    }
    assert!(
        (0..3).any(|k| (before[k] - m[k]).abs() > 0.5),
        "the drag turned nothing"
    );

    // Names are put right as they are typed, none stands twice, and points can be taken out.
    let edited: toml::Table = told["edited"].as_str().unwrap().parse().unwrap();
    let tray = edited["points"]["tray"].as_table().unwrap();
    let names: Vec<&str> = tray.keys().map(String::as_str).collect();
    assert_eq!(names, ["left_corner-1", "p3", "p3_2"]);
    assert_eq!(told["left"], 0);
    assert_eq!(told["keyboard"], 1);
}

#[test]
fn the_picture_and_the_points_agree() {
    let Some(browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let told = driven(&browser, &points_page(folder.path()), COMPARE_PICTURE, &[]);
    // Places where the picture shows surface all round give a point, places that show paper give none.
    let (inside, outside) = (&told["surface"], &told["paper"]);
    assert!(
        inside[0].as_u64().unwrap() > 30 && outside[0].as_u64().unwrap() > 30,
        "{told}"
    );
    assert_eq!(inside[1], 0, "surface without a point");
    assert_eq!(outside[1], 0, "a point on bare paper");
}

#[test]
fn parts_are_shown_hidden_and_pulled_apart() {
    let Some(browser) = browser() else { return };
    let [low, high] = [box_mesh(BOX), box_mesh([300.0, 200.0, 400.0])];
    let part = |name, mesh, tone, away| Part {
        name,
        mesh,
        tone,
        lines: Lines::RimsAndFolds,
        away,
        at_first: AtFirst::Shown,
        label: None,
    };
    let parts = [
        part("low", &low, Tone::Pale, Vector3::zeros()),
        part("high", &high, Tone::Accent, Vector3::z() * 600.0),
    ];
    let model = Model {
        parts: &parts,
        stance: Stance {
            across: Vector3::x(),
            up: Vector3::z(),
        },
        mm: 1.0,
        says: "two boxes",
    };
    let page = format!(
        "<!DOCTYPE html><html><head><style>:root{{--ink:#000000;--paper:#ffffff;--faint:#888888;--rule:#888888;--accent:#b3261e}}\
         {}</style></head><body>{}<script>{}</script></body></html>",
        viewer::STYLE,
        viewer::element(&model),
        viewer::SCRIPT
    );
    let told = driven(&browser, &page, SHOW_PARTS, &[]);
    // The high box stands out of the low one's top in the middle; its top is 200 mm up.
    assert_eq!(told["both"]["part"], 1);
    assert_eq!(told["hidden"]["part"], 0);
    assert_eq!(told["shown"]["part"], 1);
    // Pulled apart it stands 600 mm higher, but keeps its own coordinates.
    let seen =
        told["apart"]["seen"][2].as_f64().unwrap() - told["apart"]["at"][2].as_f64().unwrap();
    assert!((seen - 600.0).abs() < 1e-6, "{told}");
    assert!(
        (told["apart"]["at"][2].as_f64().unwrap() - 200.0).abs() < 0.01,
        "{told}"
    );
}

#[test]
fn a_browser_that_cannot_draw_it_shows_a_still_picture() {
    let Some(browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let page = points_page(folder.path());
    let told = driven(&browser, &page, STAND_STILL, &["--disable-3d-apis"]);
    assert_eq!(told["turns"], false);
    assert!(told["dots"].as_u64().unwrap() > 500, "{told}");
    assert!(
        told["says"].as_str().unwrap().contains("stands still"),
        "{told}"
    );
}
