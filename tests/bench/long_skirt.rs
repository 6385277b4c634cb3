//! A skirt 2.2 m long, planned for a cube of 180 mm, cut, jointed, laid on its beds and written: five runs
//! and their median. One is made here; with the shared cases beside the repository, the panel from the
//! scan of one as well.
//!
//! `cargo run --release --example long_skirt`

#![allow(clippy::print_stdout, clippy::unwrap_used)]

#[path = "../common/mod.rs"]
mod common;

use gapwright::job::Job;
use gapwright::math::{Point2, Point3, Spine};
use gapwright::mesh::{Solid, TriMesh};
use gapwright::progress::Progress;
use gapwright::split::{HiddenFace, PrinterOptions, Workpiece, split};
use gapwright::{output, panel, pipeline};
use std::sync::{Arc, Mutex};
use std::time::Instant;

const LENGTH_MM: f64 = 2200.0;
const ROW_MM: f64 = 5.0;

fn main() {
    let made = Skirt::new();
    let work = Workpiece {
        name: "long skirt",
        front: Some(gapwright::math::Vector3::y()),
        solid: &made.solid,
        spine: &made.spine,
        hidden: made.hidden.clone(),
        label_on: Vec::new(),
        keep_clear: Vec::new(),
        cut_clear: Vec::new(),
        label_clear: Vec::new(),
    };
    time("made here", &work, &PrinterOptions::default());
    let Some(case) = common::shared_folder().map(|folder| folder.join("cases/skirt")) else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("job.toml");
    let [body, tray] = ["body.ply", "tray.ply"].map(|name| case.join(name));
    std::fs::write(
        &file,
        format!("[scan]\nbody = {body:?}\ntray = {tray:?}\nunit = \"m\"\n"),
    )
    .unwrap();
    let job = Job::read(&file).unwrap();
    let watch = Progress::silent();
    let survey = pipeline::measure(&job, &watch).unwrap().survey;
    let panel = panel::design(&survey, &job.panel, &watch).unwrap();
    let work = pipeline::workpiece(&job, &panel, &survey.spine);
    time("from a scan", &work, &job.printer);
}

fn time(what: &str, work: &Workpiece<'_>, printer: &PrinterOptions) {
    let printer = PrinterOptions {
        build_mm: [180.0; 3],
        ..printer.clone()
    };
    let mut count = 0;
    let begun: Arc<Mutex<Vec<(String, Instant)>>> = Arc::default();
    let mut seconds: Vec<[f64; 2]> = (0..5)
        .map(|_| {
            let folder = tempfile::tempdir().unwrap();
            let (heard, start) = (begun.clone(), Instant::now());
            let watch = Progress::heard_by(move |work, _| {
                heard
                    .lock()
                    .unwrap()
                    .push((work.to_owned(), Instant::now()));
            });
            let row = split(work, &printer, &watch).unwrap();
            let split_s = start.elapsed().as_secs_f64();
            output::write_segments(&folder.path().join("row"), work.name, &row).unwrap();
            count = row.segments.len();
            [start.elapsed().as_secs_f64(), split_s]
        })
        .collect();
    seconds.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let begun = begun.lock().unwrap();
    for pair in begun[begun.len().saturating_sub(begun.len() / 5)..].windows(2) {
        let took = pair[1].1.duration_since(pair[0].1);
        println!("  {}: {:.2} s", pair[0].0, took.as_secs_f64());
    }
    println!(
        "{what}, {:.2} m, {} triangles: {count} segments, median {:.2} s ({:.2} s of it without writing), all {:.2?}",
        work.spine.length() / 1e3,
        work.solid.mesh().triangles.len(),
        seconds[2][0],
        seconds[2][1],
        seconds.iter().map(|s| s[0]).collect::<Vec<_>>()
    );
}

/// A panel as it is for a long side: an outside that stands up from a flange with a fillet, its top tucked
/// behind the edge, 26 to 84 mm high, bowed in plan.
struct Skirt {
    solid: Solid,
    spine: Spine,
    hidden: Vec<HiddenFace>,
}

/// Outside and inside of the section at a height of the edge, from the flange's end to the lip's, point
/// across from point.
fn section(high: f64) -> Vec<[Point2; 2]> {
    let mut across = vec![
        [[-25.0, 0.0], [-25.0, 3.0]],
        [[-15.0, 0.0], [-15.0, 3.0]],
        [[-6.5, 0.0], [-6.0, 3.0]],
    ];
    let outside = [[-4.0, 0.0], [-2.0, 0.0], [0.0, 0.0], [0.0, 2.0], [0.0, 4.0]];
    for (k, out) in outside.into_iter().enumerate() {
        let angle = f64::from(k as u8 + 1) / 6.0 * std::f64::consts::FRAC_PI_2;
        let inside = [-6.0 + 3.0 * angle.sin(), 6.0 - 3.0 * angle.cos()];
        across.push([out, inside]);
    }
    across.push([[0.0, 6.0], [-3.0, 6.0]]);
    for share in [0.33, 0.66] {
        across.push([[0.0, share * high], [-3.0, share * high]]);
    }
    across.extend([
        [[0.0, high - 4.0], [-3.0, high - 5.0]],
        [[-4.3, high + 1.0], [-7.3, high]],
        [[-4.3, high + 6.0], [-7.3, high + 6.0]],
        [[-4.3, high + 11.5], [-7.3, high + 11.5]],
    ]);
    across
        .into_iter()
        .map(|pair| pair.map(|[x, z]| Point2::new(x, z)))
        .collect()
}

impl Skirt {
    fn new() -> Self {
        const RADIUS_MM: f64 = 9000.0;
        let points: Vec<Point3> = (0..=220)
            .map(|i| {
                let angle = (f64::from(i) * LENGTH_MM / 220.0 - LENGTH_MM / 2.0) / RADIUS_MM;
                Point3::new(
                    RADIUS_MM * angle.cos() - RADIUS_MM,
                    RADIUS_MM * angle.sin(),
                    0.0,
                )
            })
            .collect();
        let spine = Spine::fit(&points, &vec![1.0; points.len()], 100.0, 0.0).unwrap();
        let rows = (spine.length() / ROW_MM).ceil() as u32;
        let mut mesh = TriMesh::default();
        let mut hidden = Vec::new();
        let mut around = 0;
        for i in 0..=rows {
            let s = spine.length() * f64::from(i) / f64::from(rows);
            let frame = spine.frame_at(s);
            let high = 55.0 + 29.0 * (s / 300.0).sin();
            let section = section(high);
            let outside = section.iter().map(|pair| pair[0]);
            let inside = section.iter().rev().map(|pair| pair[1]);
            let outline: Vec<Point2> = outside.chain(inside).collect();
            around = outline.len() as u32;
            mesh.points
                .extend(outline.iter().map(|&p| frame.to_shop(p)));
            hidden.push(HiddenFace {
                s,
                face: [Point2::new(-3.0, 7.0), Point2::new(-3.0, high - 6.0)],
            });
            for k in 0..if i > 0 { around } else { 0 } {
                let (a, b) = (around * (i - 1) + k, around * (i - 1) + (k + 1) % around);
                mesh.triangles
                    .extend([[a, a + around, b + around], [a, b + around, b]]);
            }
        }
        let end = around * rows;
        for k in 0..around / 2 - 1 {
            let (a, b) = (k, k + 1);
            let (c, d) = (around - 2 - k, around - 1 - k);
            for [p, q, r] in [[a, b, c], [a, c, d]] {
                mesh.triangles
                    .extend([[p, q, r], [end + p, end + r, end + q]]);
            }
        }
        Self {
            solid: Solid::new(mesh).unwrap(),
            spine,
            hidden,
        }
    }
}
