//! What several test programs share.
#![allow(dead_code)]

pub mod against_truth;
pub mod gap_fields;
pub mod moved_tray;
pub mod overlapping;
pub mod panels;
pub mod rows;
pub mod sim;

use std::path::{Path, PathBuf};

/// The folder of shared real data beside the repository, where there is one.
pub fn shared_folder() -> Option<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    [root.join("../shared"), root.join("../../shared")]
        .into_iter()
        .find(|p| p.is_dir())
}
