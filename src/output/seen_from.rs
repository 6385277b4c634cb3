//! How a job names a file.

use std::path::{Component, Path};

/// `path` as a file in `folder` should name it, with forward slashes; absolute where the two share
/// nothing.
#[must_use]
pub fn seen_from(folder: &Path, path: &Path) -> String {
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    let (Ok(folder), Ok(path)) = (folder.canonicalize(), path.canonicalize()) else {
        return path.to_string_lossy().into_owned();
    };
    let from: Vec<Component<'_>> = folder.components().collect();
    let to: Vec<Component<'_>> = path.components().collect();
    let shared = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    // With nothing but the root in common a relative path says no more than the absolute one.
    if shared < 2 {
        return path.to_string_lossy().into_owned();
    }
    let up = from.iter().skip(shared).map(|_| "..".into());
    let down = to
        .iter()
        .skip(shared)
        .map(|part| part.as_os_str().to_string_lossy());
    up.chain(down).collect::<Vec<_>>().join("/")
}
