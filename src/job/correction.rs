//! The correction file that `gapwright verify` writes beside the readings.

use super::raw;
use crate::diag::Problem;
use crate::gap::readings::Correction;
use serde::Deserialize;
use std::path::Path;

/// A correction and the survey it is for.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectionFile {
    /// Short name of the survey, as in `readings.csv`.
    pub survey: String,
    /// The correction.
    pub correction: Correction,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    survey: String,
    scale: f64,
    left_mm: f64,
    right_mm: f64,
}

/// Reads it.
///
/// # Errors
/// A [`Problem`] if it is no such file, or corrects more than readings ever should.
pub(super) fn read_correction(path: &Path) -> Result<CorrectionFile, Problem> {
    let text = raw::read_text(path)?;
    let wrong = |what: String| {
        Problem::new(
            what,
            "take the correction.toml that `gapwright verify` wrote, as it is, or write correction = \"none\"",
        )
        .at(path.display())
    };
    let raw: Raw = toml::from_str(&text)
        .map_err(|e| wrong(format!("this is no correction ({})", e.message())))?;
    let most = 100.0;
    let fits = (0.8..=1.25).contains(&raw.scale)
        && raw.left_mm.abs() <= most
        && raw.right_mm.abs() <= most;
    if !fits {
        return Err(wrong(
            "the correction is larger than any scan needs".to_owned(),
        ));
    }
    Ok(CorrectionFile {
        survey: raw.survey,
        correction: Correction {
            scale: raw.scale,
            left: raw.left_mm,
            right: raw.right_mm,
        },
    })
}
