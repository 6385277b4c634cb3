//! How the gap's height runs along the edge.

use std::f64::consts::TAU;

/// A sudden change of the edge's height.
#[derive(Clone, Copy, Debug)]
pub enum Feature {
    /// The edge rises by `height` (mm) over `ramp`, from `s` on.
    Step { s: f64, height: f64, ramp: f64 },
    /// The edge is cut up by `depth` over `width` round `s`, each flank `ramp` long.
    Notch {
        s: f64,
        width: f64,
        depth: f64,
        ramp: f64,
    },
}

impl Feature {
    fn rise(&self, at: f64) -> f64 {
        let ease = |x: f64| {
            let x = x.clamp(0.0, 1.0);
            x * x * (3.0 - 2.0 * x)
        };
        match *self {
            Self::Step { s, height, ramp } => height * ease((at - s) / ramp),
            Self::Notch {
                s,
                width,
                depth,
                ramp,
            } => depth * ease((width / 2.0 - (at - s).abs()) / ramp + 1.0),
        }
    }

    /// First and last arc length where the height changes.
    pub fn reach(&self) -> (f64, f64) {
        match *self {
            Self::Step { s, ramp, .. } => (s, s + ramp),
            Self::Notch { s, width, ramp, .. } => (s - width / 2.0 - ramp, s + width / 2.0 + ramp),
        }
    }
}

/// A few waves between a least and a greatest height, and features on top.
pub struct GapLaw {
    low: f64,
    scale: f64,
    least: f64,
    /// Waves over the length, phase (rad), share.
    waves: Vec<[f64; 3]>,
    length: f64,
    pub features: Vec<Feature>,
}

impl GapLaw {
    /// Waves scaled so that the smooth part runs from `low` to `high` (mm).
    pub fn new(
        low: f64,
        high: f64,
        waves: Vec<[f64; 3]>,
        length: f64,
        features: Vec<Feature>,
    ) -> Self {
        let mut law = Self {
            low,
            scale: 0.0,
            least: 0.0,
            waves,
            length,
            features,
        };
        let sums: Vec<f64> = (0..=1000)
            .map(|k| law.sum(length * f64::from(k) / 1000.0))
            .collect();
        law.least = sums.iter().copied().fold(f64::MAX, f64::min);
        let most = sums.iter().copied().fold(f64::MIN, f64::max);
        law.scale = (high - low) / (most - law.least).max(1e-9);
        law
    }

    fn sum(&self, s: f64) -> f64 {
        let wave = |w: &[f64; 3]| w[2] * (TAU * w[0] * s / self.length + w[1]).cos();
        self.waves.iter().map(wave).sum()
    }

    /// Height of the lower edge straight above the tray (mm).
    pub fn height(&self, s: f64) -> f64 {
        let smooth = self.low + self.scale * (self.sum(s) - self.least);
        smooth + self.features.iter().map(|f| f.rise(s)).sum::<f64>()
    }
}
