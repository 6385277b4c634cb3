//! Panels and bucks of the samples and of the shared cases, split for four build volumes: how many
//! segments, how long it took, what was found, and what does not hold.
//!
//! `cargo run --release --example build_volumes`

#![allow(clippy::print_stdout, clippy::panic)]

#[path = "../common/mod.rs"]
mod common;

use common::panels::SAMPLES;
use common::rows::{Parts, VOLUMES_MM, check, triangles};
use gapwright::job::Job;
use gapwright::progress::Progress;
use gapwright::split::split;
use std::collections::BTreeMap;
use std::path::Path;
use std::time::Instant;

fn main() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes");
    for sample in SAMPLES {
        let job = Job::read(&root.join(sample).join("job.toml"));
        try_job(
            sample,
            job.unwrap_or_else(|faults| panic!("{sample}: {faults:?}")),
        );
    }
    let shared = common::shared_jobs();
    if shared.is_empty() {
        println!("no shared cases beside the repository: left out");
    }
    for (case, job) in shared {
        try_job(&format!("shared {case}"), job);
    }
}

fn try_job(name: &str, job: Job) {
    let parts = match Parts::of(job) {
        Ok(parts) => parts,
        Err(fault) => return println!("{name}: {fault}"),
    };
    for (what, work) in parts.workpieces() {
        for build in VOLUMES_MM {
            let printer = parts.printer(build);
            let start = Instant::now();
            let row = split(&work, &printer, &Progress::silent());
            let seconds = start.elapsed().as_secs_f64();
            let size = build.map(|side| format!("{side:.0}")).join("x");
            let row = match row {
                Ok(row) => row,
                Err(fault) => {
                    println!("{name} {what} {size}: {fault}");
                    continue;
                }
            };
            let holds = check(&work, &printer, &row).map_or_else(|f| f, |()| "holds".into());
            let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
            for joint in &row.joints {
                *kinds.entry(joint.kind.name()).or_default() += 1;
                if joint.keys.is_empty() {
                    *kinds.entry("without key").or_default() += 1;
                }
            }
            let mut found: BTreeMap<&str, usize> = BTreeMap::new();
            for finding in &row.findings {
                *found.entry(finding.code).or_default() += 1;
            }
            let mut said: BTreeMap<String, usize> = BTreeMap::new();
            for segment in &row.segments {
                let label = segment.label.as_ref();
                let words = label.map(|l| format!("{:.0} mm {}", l.height_mm, l.lines.join("|")));
                *said.entry(words.unwrap_or_default()).or_default() += 1;
            }
            println!(
                "{name} {what} {size}: {} segments, {seconds:.2} s, {} triangles, joints {kinds:?}, found {found:?}, labels {said:?}: {holds}",
                row.segments.len(),
                triangles(&row)
            );
        }
    }
}
