//! The gap in a few numbers.

use crate::gap::{Quality, Station, Survey};

/// The gap in a few numbers (mm). Least, most and mean are over the stations that were seen; over all of
/// them where none was.
#[derive(Debug, Clone, PartialEq)]
pub struct GapSummary {
    /// The station with the smallest gap.
    pub least: Station,
    /// The station with the largest gap.
    pub most: Station,
    /// Mean gap.
    pub mean_mm: f64,
    /// Median standard uncertainty of all stations.
    pub sigma_median_mm: f64,
    /// Largest standard uncertainty of all stations.
    pub sigma_most_mm: f64,
    /// Stations of good quality.
    pub good: usize,
    /// Stations where little was seen.
    pub sparse: usize,
    /// Stations where nothing was seen.
    pub bridged: usize,
    /// Length along the spine from the first to the last station.
    pub length_mm: f64,
}

impl GapSummary {
    /// Gives `None` for a survey without stations.
    #[must_use]
    pub fn of(survey: &Survey) -> Option<Self> {
        let stations = &survey.stations;
        let count = |quality| stations.iter().filter(|s| s.quality == quality).count();
        let bridged = count(Quality::Bridged);
        let told: Vec<&Station> = stations
            .iter()
            .filter(|s| s.quality != Quality::Bridged || bridged == stations.len())
            .collect();
        let least = told.iter().min_by(|a, b| a.gap.total_cmp(&b.gap))?;
        let most = told.iter().max_by(|a, b| a.gap.total_cmp(&b.gap))?;
        let mut sigmas: Vec<f64> = stations.iter().map(|s| s.sigma).collect();
        sigmas.sort_by(f64::total_cmp);
        Some(Self {
            least: (*least).clone(),
            most: (*most).clone(),
            mean_mm: told.iter().map(|s| s.gap).sum::<f64>() / told.len() as f64,
            sigma_median_mm: *sigmas.get(sigmas.len() / 2)?,
            sigma_most_mm: *sigmas.last()?,
            good: count(Quality::Good),
            sparse: count(Quality::Sparse),
            bridged,
            length_mm: stations.last()?.s - stations.first()?.s,
        })
    }

    /// Stations in all.
    #[must_use]
    pub fn stations(&self) -> usize {
        self.good + self.sparse + self.bridged
    }

    /// Share of the stations that are of good quality, 0 to 1.
    #[must_use]
    pub fn good_share(&self) -> f64 {
        self.good as f64 / self.stations().max(1) as f64
    }
}
