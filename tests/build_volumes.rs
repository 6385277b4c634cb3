//! The samples' panels and bucks split for four build volumes: every finished segment fits in its pose,
//! tabs and all, and nothing of the workpiece is lost.

#![allow(clippy::panic)]

mod common;

use common::panels::SAMPLES;
use common::rows::{Parts, VOLUMES_MM, checked};
use gapwright::job::Job;
use std::path::Path;

#[test]
fn every_sample_is_split_for_every_build_volume() {
    for sample in SAMPLES {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes");
        let job = Job::read(&root.join(sample).join("job.toml"));
        let job = job.unwrap_or_else(|faults| panic!("{sample}: {faults:?}"));
        let parts = Parts::of(job).unwrap_or_else(|fault| panic!("{sample}: {fault}"));
        for (what, work) in parts.workpieces() {
            let mut counts = Vec::new();
            for build in VOLUMES_MM {
                let row = checked(&work, &parts.printer(build))
                    .unwrap_or_else(|fault| panic!("{sample} {what} {build:?}: {fault}"));
                assert_eq!(row.joints.len() + 1, row.segments.len());
                counts.push(row.segments.len());
            }
            // A larger volume never takes more.
            assert!(
                counts.windows(2).all(|pair| pair[1] <= pair[0]),
                "{sample} {what}: {counts:?}"
            );
        }
    }
}
