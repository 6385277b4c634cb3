//! Shims from what is left open once the panel stands in its place.

use super::choose::FITTED_TOLERANCE;
use super::{CheckKind, Reading, ReadingFault, Ruler};
use crate::gap::Survey;

/// What to do at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Shim {
    /// The reading's name.
    pub name: String,
    /// Distance along the edge (mm).
    pub at: f64,
    /// What was read (mm).
    pub read: f64,
    /// What was meant (mm).
    pub wanted: f64,
    /// Packing to put under the flange (mm); below zero it is material to take off the panel's top.
    pub pack: f64,
    /// Whether the reading is within its tolerance as it is.
    pub good: bool,
}

/// Shims all along.
#[derive(Debug, Clone, PartialEq)]
pub struct ShimList {
    /// How far a reading may be from what was meant (mm).
    pub tolerance: f64,
    /// Place by place, from the left.
    pub shims: Vec<Shim>,
    /// One strip of packing, its thickness at the left and right end (mm), that leaves every place
    /// within tolerance, where there is one.
    pub strip: Option<[f64; 2]>,
}

/// Plans shims from readings of what is left open between the fitted panel's top and the edge, held to
/// what the readings' file says was meant. `None` without such readings.
///
/// # Errors
/// [`ReadingFault`] where a reading is off the edge, below zero, or without what was meant.
pub fn plan_shims(survey: &Survey, readings: &[Reading]) -> Result<Option<ShimList>, ReadingFault> {
    let ruler = Ruler::new(survey, 0.0).ok_or(ReadingFault::NoSurvey)?;
    let length = ruler.length();
    let tolerance = FITTED_TOLERANCE;
    let mut shims = Vec::new();
    for reading in readings.iter().filter(|r| r.kind == CheckKind::Fitted) {
        let (name, at) = (reading.name.clone(), reading.at);
        if !(at >= -1.0 && at <= length + 1.0) {
            return Err(ReadingFault::OffTheGap { name, at, length });
        }
        if !(reading.value >= 0.0 && reading.value.is_finite()) {
            let value = reading.value;
            return Err(ReadingFault::NotPositive { name, value });
        }
        let Some(wanted) = reading.predicted else {
            return Err(ReadingFault::NothingMeant { name });
        };
        let off = reading.value - wanted;
        shims.push(Shim {
            name,
            at,
            read: reading.value,
            wanted,
            pack: off,
            good: off.abs() <= tolerance,
        });
    }
    if shims.is_empty() {
        return Ok(None);
    }
    shims.sort_by(|a, b| a.at.total_cmp(&b.at));
    let strip = find_strip(&shims, length, tolerance);
    Ok(Some(ShimList {
        tolerance,
        shims,
        strip,
    }))
}

/// A straight strip through the shims by least squares, level where a level one does.
fn find_strip(shims: &[Shim], length: f64, tolerance: f64) -> Option<[f64; 2]> {
    let n = shims.len() as f64;
    let mean = shims.iter().map(|s| s.pack).sum::<f64>() / n;
    let middle = shims.iter().map(|s| s.at).sum::<f64>() / n;
    let spread: f64 = shims.iter().map(|s| (s.at - middle).powi(2)).sum();
    let lean = if spread > 0.0 {
        let joint = |s: &Shim| (s.at - middle) * (s.pack - mean);
        shims.iter().map(joint).sum::<f64>() / spread
    } else {
        0.0
    };
    let serves = |lean: f64| {
        let at = |x: f64| mean + lean * (x - middle);
        let fits = shims.iter().all(|s| (s.pack - at(s.at)).abs() <= tolerance);
        fits.then(|| [at(0.0), at(length)])
    };
    serves(0.0).or_else(|| if shims.len() > 2 { serves(lean) } else { None })
}
