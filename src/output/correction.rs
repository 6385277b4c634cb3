//! The correction that readings gave, as a file for the job.

use super::seen_from::seen_from;
use crate::diag::Problem;
use crate::gap::readings::Correction;
use std::path::{Path, PathBuf};

/// Name of the file a correction goes to, beside the readings.
pub const CORRECTION_FILE: &str = "correction.toml";

/// A correction that was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrittenCorrection {
    /// Where it is.
    pub path: PathBuf,
    /// The line of the job that uses it, for under `[gap]`.
    pub line: String,
}

/// Writes a correction beside the readings it follows from, for the job they were held to. One written
/// earlier is replaced. `quoted` sets a text as a job writes it.
///
/// # Errors
/// A [`Problem`] if it cannot be written.
pub fn write_correction(
    job: &Path,
    readings: &Path,
    survey: &str,
    correction: &Correction,
    quoted: impl Fn(&str) -> String,
) -> Result<WrittenCorrection, Problem> {
    let path = readings.with_file_name(CORRECTION_FILE);
    let [of_job, of_readings] = [job, readings].map(|file| match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    });
    let named = match seen_from(of_job, of_readings).as_str() {
        "" => CORRECTION_FILE.to_owned(),
        folder => format!("{folder}/{CORRECTION_FILE}"),
    };
    let line = format!("correction = {}", quoted(&named));
    let text = format!(
        "# Correction of survey {survey} by readings on the vehicle.\n\
         # To use it, write in the job under [gap]: {line}\n\
         survey = \"{survey}\"\n\
         # Every length of the survey times this.\n\
         scale = {:.6}\n\
         # Added to the gap at the left and the right end, straight in between (mm).\n\
         left_mm = {:.3}\n\
         right_mm = {:.3}\n",
        correction.scale,
        correction.left + 0.0,
        correction.right + 0.0
    );
    // Written whole or not at all.
    let part = path.with_extension("toml.part");
    let written = std::fs::write(&part, text).and_then(|()| std::fs::rename(&part, &path));
    written.map_err(|error| {
        let _ = std::fs::remove_file(&part);
        Problem::new(
            format!("the correction cannot be written ({error})"),
            "check that you may write beside the readings",
        )
        .at(path.display())
    })?;
    Ok(WrittenCorrection { path, line })
}
