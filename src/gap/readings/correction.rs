//! What readings change about a survey.

use crate::diag::Finding;
use crate::gap::Survey;
use crate::math::Point3;

/// A correction of a survey: every length times `scale`, then the gap changed by a straight line along
/// the spine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// True length for a length of the survey.
    pub scale: f64,
    /// Added to the gap at the left end (mm).
    pub left: f64,
    /// Added to the gap at the right end (mm).
    pub right: f64,
}

impl Correction {
    /// The correction that changes nothing.
    pub const NONE: Self = Self {
        scale: 1.0,
        left: 0.0,
        right: 0.0,
    };

    /// What is added to the gap at a share of the spine's length, 0 at the left (mm).
    #[must_use]
    pub fn added(&self, share: f64) -> f64 {
        self.left + (self.right - self.left) * share
    }

    /// This correction and then another as one.
    #[must_use]
    pub fn then(&self, next: &Self) -> Self {
        Self {
            scale: self.scale * next.scale,
            left: self.left * next.scale + next.left,
            right: self.right * next.scale + next.right,
        }
    }

    /// The survey as corrected, with a finding that says so. The edge moves along the tray's normal; the
    /// tray keeps its shape.
    #[must_use]
    pub fn apply(&self, survey: &Survey) -> Survey {
        let k = self.scale;
        let mut made = survey.clone();
        made.spine = survey.spine.scaled(k);
        made.edge_radius_mm *= k;
        let length = survey.spine.length().max(1e-9);
        let grown = |p: Point3| Point3::from(p.coords * k);
        for st in &mut made.stations {
            let added = self.added(st.s / length);
            let shift = st.tray_normal * added;
            st.edge = grown(st.edge) + shift;
            st.silhouette = grown(st.silhouette) + shift;
            st.tray = grown(st.tray);
            st.s *= k;
            st.gap = k * st.gap + added;
            st.sigma *= k;
            st.budget = st.budget.scaled(k);
        }
        for s in &mut made.tray.along {
            *s *= k;
        }
        for row in &mut made.tray.rows {
            *row = [row[0] * k, row[1], row[2] / k];
        }
        for obstacle in &mut made.obstacles {
            obstacle.along = obstacle.along.map(|s| s * k);
            obstacle.across = obstacle.across.map(|x| x * k);
            obstacle.height *= k;
        }
        for finding in &mut made.findings {
            finding.station_mm = finding.station_mm.map(|s| s * k);
            finding.also_mm.iter_mut().for_each(|s| *s *= k);
        }
        made.findings.push(Finding::note(
            "corrected",
            format!(
                "corrected by your readings: lengths times {k:.5}, the gap {:+.2} mm at the left end and {:+.2} mm \
                 at the right; scans are drawn at the new scale, the body where it was scanned",
                self.left, self.right
            ),
        ));
        made
    }
}
