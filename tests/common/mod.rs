//! What several test programs share.
#![allow(dead_code, clippy::panic)]

pub mod against_truth;
pub mod gap_fields;
pub mod moved_tray;
pub mod overlapping;
pub mod panels;
pub mod rows;
pub mod sim;

use gapwright::job::Job;
use std::path::{Path, PathBuf};

/// The folder of shared real data beside the repository, where there is one.
pub fn shared_folder() -> Option<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    [root.join("../shared"), root.join("../../shared")]
        .into_iter()
        .find(|p| p.is_dir())
}

/// The shared cases with two scans each, and the unit that these are in.
const SHARED_CASES: [(&str, &str); 4] = [
    ("nose", "m"),
    ("nose_fine", "mm"),
    ("skirt", "m"),
    ("tail", "mm"),
];

/// A job for each of the shared cases, with nothing decided; none where they are not beside the repository.
pub fn shared_jobs() -> Vec<(&'static str, Job)> {
    let Some(cases) = shared_folder().map(|folder| folder.join("cases")) else {
        return Vec::new();
    };
    let made = SHARED_CASES.into_iter().map(|(case, unit)| {
        let scan = |name: &str| cases.join(case).join(name);
        let text = format!(
            "[scan]\nbody = {:?}\ntray = {:?}\nunit = \"{unit}\"\n",
            scan("body.ply"),
            scan("tray.ply")
        );
        let folder = tempfile::tempdir().unwrap_or_else(|fault| panic!("{fault}"));
        let job = folder.path().join("job.toml");
        std::fs::write(&job, text).unwrap_or_else(|fault| panic!("{fault}"));
        let job = Job::read(&job).unwrap_or_else(|faults| panic!("{case}: {faults:?}"));
        (case, job)
    });
    made.collect()
}
