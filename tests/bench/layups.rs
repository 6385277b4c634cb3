//! `make` with everything that is laid up on the three samples: on a printed core, on a solid and on a hollow
//! buck, pictures, patterns and sheet included. Five runs each, with the median, and what was found.
//!
//! `cargo run --release --example layups`; for two cores, `RAYON_NUM_THREADS=2` before it
#![allow(clippy::print_stdout, clippy::unwrap_used)]

use gapwright::progress::Progress;
use gapwright::{job::Job, output, pipeline};
use std::path::Path;
use std::time::Instant;

const RUNS: usize = 5;

fn main() {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes");
    for sample in ["nose", "skirt", "tail"] {
        for (what, lines) in [
            ("core", "[laminate]\nway = \"core\"\n"),
            (
                "solid buck",
                "[laminate]\nway = \"buck\"\n[buck]\nwall_mm = 0.0\n",
            ),
            (
                "hollow buck",
                "[laminate]\nway = \"buck\"\n[buck]\nwall_mm = 5.0\n",
            ),
        ] {
            let folder = tempfile::tempdir().unwrap();
            let from = samples.join(sample);
            for name in ["body.ply", "tray.ply"] {
                std::fs::copy(from.join(name), folder.path().join(name)).unwrap();
            }
            let job = folder.path().join("job.toml");
            let text = std::fs::read_to_string(from.join("job.toml")).unwrap();
            std::fs::write(&job, format!("{text}\n{lines}")).unwrap();
            let mut pieces = 0;
            let mut seconds: Vec<f64> = (0..RUNS)
                .map(|_| {
                    let start = Instant::now();
                    let job = Job::read(&job).unwrap();
                    let made = pipeline::make(&job, &Progress::silent()).unwrap();
                    output::write_all(&job.out, &made).unwrap();
                    let sets = made.layup.iter().flat_map(|layup| &layup.sets);
                    pieces = sets.map(|set| set.pieces.len()).sum();
                    start.elapsed().as_secs_f64()
                })
                .collect();
            seconds.sort_by(f64::total_cmp);
            println!(
                "{sample}, {what}: median {:.2} s of {seconds:.2?}, {pieces} pieces of cloth",
                seconds[RUNS / 2]
            );
        }
    }
}
