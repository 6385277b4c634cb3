//! Drawing scales: round ones, the largest that fits.

use crate::math::Vector2;

/// How many millimetres of paper one millimetre of the part gets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    paper_per_model: f64,
}

/// Steps of a decade that make a round scale.
const STEPS: [f64; 9] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0];

impl Scale {
    /// The largest round scale at which `model_mm` is no longer than `paper_mm`, at most 10:1.
    /// Lengths that are not positive give 1:1.
    #[must_use]
    pub fn fitting(model_mm: f64, paper_mm: f64) -> Self {
        let need = model_mm / paper_mm;
        if !(need.is_finite() && need > 0.0) {
            return Self {
                paper_per_model: 1.0,
            };
        }
        // Enlargements in the standard's own steps, then reductions.
        if let Some(times) = [10.0, 5.0, 2.0].into_iter().find(|t| need * t <= 1.0) {
            return Self {
                paper_per_model: times,
            };
        }
        let decade = 10f64.powf(need.max(1.0).log10().floor());
        let found = STEPS
            .iter()
            .map(|step| step * decade)
            .find(|n| need <= n * (1.0 + 1e-12));
        Self {
            paper_per_model: 1.0 / found.unwrap_or(10.0 * decade),
        }
    }

    /// The largest round scale at which a box of the part fits a box of paper (mm, width and height).
    #[must_use]
    pub fn fitting_both(model_mm: Vector2, paper_mm: [f64; 2]) -> Self {
        let wide = Self::fitting(model_mm.x, paper_mm[0]);
        let tall = Self::fitting(model_mm.y, paper_mm[1]);
        if wide.times(tall) < 1.0 { wide } else { tall }
    }

    /// Paper from part (mm).
    #[must_use]
    pub fn to_paper(self, model_mm: f64) -> f64 {
        model_mm * self.paper_per_model
    }

    /// Part from paper (mm).
    #[must_use]
    pub fn to_model(self, paper_mm: f64) -> f64 {
        paper_mm / self.paper_per_model
    }

    /// The same, so many times larger.
    #[must_use]
    pub fn enlarged(self, times: f64) -> Self {
        Self {
            paper_per_model: self.paper_per_model * times,
        }
    }

    /// How many times larger than another scale.
    #[must_use]
    pub fn times(self, other: Self) -> f64 {
        self.paper_per_model / other.paper_per_model
    }

    /// As drawings write it: `1:5` or `2:1`.
    #[must_use]
    pub fn name(self) -> String {
        if self.paper_per_model > 1.0 {
            format!("{}:1", self.paper_per_model)
        } else {
            format!("1:{}", (1e3 / self.paper_per_model).round() / 1e3)
        }
    }
}

/// The largest length of 1, 2 or 5 times a power of ten that is no longer than `most`.
#[must_use]
pub fn round_length(most: f64) -> f64 {
    if !(most.is_finite() && most > 0.0) {
        return 1.0;
    }
    let decade = 10f64.powf(most.log10().floor());
    let step = [5.0, 2.0].into_iter().find(|s| s * decade <= most);
    step.unwrap_or(1.0) * decade
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_is_round_and_the_largest_that_fits() {
        for (model, paper, name) in [
            (1400.0, 165.0, "1:10"),
            (165.0, 165.0, "1:1"),
            (166.0, 165.0, "1:1.5"),
            (30.0, 60.0, "2:1"),
            (2200.0, 165.0, "1:15"),
            (0.0, 10.0, "1:1"),
            (f64::NAN, 10.0, "1:1"),
        ] {
            let scale = Scale::fitting(model, paper);
            assert_eq!(scale.name(), name, "{model} on {paper}");
            assert!(model.is_nan() || scale.to_paper(model) <= paper * 1.000_001);
        }
    }

    #[test]
    fn a_box_fits_both_ways() {
        for (wide, high, name) in [
            (85.0, 240.0, "1:2"),
            (170.0, 10.0, "1:2"),
            (40.0, 60.0, "2:1"),
        ] {
            let scale = Scale::fitting_both(Vector2::new(wide, high), [85.0, 120.0]);
            assert_eq!(scale.name(), name, "{wide} x {high}");
        }
    }

    #[test]
    fn bars_have_round_lengths() {
        assert_eq!(round_length(499.0), 200.0);
        assert_eq!(round_length(500.0), 500.0);
        assert_eq!(round_length(0.19), 0.1);
        assert_eq!(round_length(-1.0), 1.0);
    }
}
