//! `make` on two scans of about a million triangles each (the nose sample, each triangle parted in
//! sixteen), as it stands and with a buck, cloth and positions: five runs each, reading included, with the
//! median and the most memory used.
//!
//! `cargo run --release --example big_job`
#![allow(clippy::print_stdout, clippy::unwrap_used)]

#[path = "../common/sim/ply.rs"]
mod ply;

use gapwright::math::Point3;
use gapwright::mesh::TriMesh;
use gapwright::progress::Progress;
use gapwright::scan::read::read_mesh;
use gapwright::{job::Job, output, pipeline};
use std::path::Path;
use std::time::Instant;

fn main() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["body.ply", "tray.ply"] {
        let sample = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("sample-meshes/nose")
            .join(name);
        let mut mesh = read_mesh(&sample).unwrap().mesh;
        mesh = parted(&parted(&mesh));
        println!("{name}: {} triangles", mesh.triangles.len());
        ply::write_ply(&folder.path().join(name), &mesh).unwrap();
    }
    for (what, more) in [("as it stands", ""), ("everything on", EVERYTHING)] {
        let job = folder.path().join("job.toml");
        let text = format!(
            "front = \"toward\"\n[scan]\nbody = \"body.ply\"\ntray = \"tray.ply\"\nunit = \"mm\"\n{more}"
        );
        std::fs::write(&job, text).unwrap();
        let mut seconds: Vec<f64> = (0..5)
            .map(|_| {
                let start = Instant::now();
                let job = Job::read(&job).unwrap();
                let made = pipeline::make(&job, &Progress::silent()).unwrap();
                output::write_all(&job.out, &made).unwrap();
                start.elapsed().as_secs_f64()
            })
            .collect();
        seconds.sort_by(f64::total_cmp);
        println!(
            "{what}: median {:.2} s of {seconds:.2?}, {}",
            seconds[2],
            most_memory()
        );
    }
}

/// A buck with its cloth, and two more positions of the tray.
const EVERYTHING: &str = "[laminate]\nway = \"buck\"\n\
    [[position]]\nname = \"back\"\nforward_mm = -25.0\n\
    [[position]]\nname = \"far\"\nforward_mm = -50.0\n";

/// Each triangle as four, through the middles of its sides.
fn parted(mesh: &TriMesh) -> TriMesh {
    let mut points = mesh.points.clone();
    let mut sides: Vec<(u32, u32)> = mesh
        .triangles
        .iter()
        .flat_map(|t| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])])
        .map(|(a, b)| (a.min(b), a.max(b)))
        .collect();
    sides.sort_unstable();
    sides.dedup();
    let first = points.len();
    points.extend(sides.iter().map(|&(a, b)| {
        let (p, q) = (mesh.points[a as usize], mesh.points[b as usize]);
        Point3::from((p.coords + q.coords) / 2.0)
    }));
    let middle = |a: u32, b: u32| {
        let k = sides.binary_search(&(a.min(b), a.max(b))).unwrap();
        (first + k) as u32
    };
    let triangles = mesh
        .triangles
        .iter()
        .flat_map(|&[a, b, c]| {
            let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
            [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
        })
        .collect();
    TriMesh { points, triangles }
}

/// The process's high-water mark, where the system tells it.
fn most_memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM"));
    line.map_or("memory not told by this system".into(), |l| {
        format!("most memory {}", l[6..].trim())
    })
}
