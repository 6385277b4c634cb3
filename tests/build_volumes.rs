//! The samples' panels split for four build volumes, their bucks for the least and the largest: every finished
//! segment fits in its pose, tabs and all, nothing of the workpiece is lost, and each says which one it is.

#![allow(clippy::panic)]

mod common;

use common::panels::SAMPLES;
use common::rows::{Parts, VOLUMES_MM, checked, labelled};
use gapwright::job::Job;
use rayon::prelude::*;
use std::path::Path;

#[test]
fn every_sample_is_split_for_every_build_volume() {
    for sample in SAMPLES {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes");
        let job = Job::read(&root.join(sample).join("job.toml"));
        let job = job.unwrap_or_else(|faults| panic!("{sample}: {faults:?}"));
        let parts = Parts::of(job).unwrap_or_else(|fault| panic!("{sample}: {fault}"));
        for (what, work) in parts.workpieces() {
            // A buck is ten times as heavy; the bench of this name takes it through all four.
            let step = if what == "buck" {
                VOLUMES_MM.len() - 1
            } else {
                1
            };
            let volumes: Vec<_> = VOLUMES_MM.into_iter().step_by(step).collect();
            let counts: Vec<usize> = volumes
                .into_par_iter()
                .map(|build| {
                    let row = checked(&work, &parts.printer(build))
                        .unwrap_or_else(|fault| panic!("{sample} {what} {build:?}: {fault}"));
                    assert_eq!(row.joints.len() + 1, row.segments.len());
                    labelled(&row)
                        .unwrap_or_else(|fault| panic!("{sample} {what} {build:?}: {fault}"));
                    row.segments.len()
                })
                .collect();
            // A larger volume never takes more.
            assert!(
                counts.windows(2).all(|pair| pair[1] <= pair[0]),
                "{sample} {what}: {counts:?}"
            );
        }
    }
}
