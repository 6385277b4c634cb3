//! How sure the gap at a station is: named parts, combined as squares (GUM, ISO/IEC Guide 98-3, 5.1.2).

use super::{Quality, Station};

/// One reason for doubt about the gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Scatter of the edge and the tray, less what smoothing takes out.
    Noise,
    /// What fusing views into a grid does to an edge, and doubt about the kind of edge.
    Rounding,
    /// Slow bending of the whole scan, as far as the tray shows it.
    Drift,
    /// Setting the two scans together.
    Registration,
    /// The scan's scale.
    Scale,
    /// The tray's tilt under the edge.
    Datum,
    /// Carrying the edge or tray across what was not seen, or a step right beside the station.
    Bridging,
}

impl Part {
    /// Every part, in the order they are shown.
    pub const ALL: [Self; 7] = [
        Self::Noise,
        Self::Rounding,
        Self::Drift,
        Self::Registration,
        Self::Scale,
        Self::Datum,
        Self::Bridging,
    ];

    /// Short name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Noise => "noise",
            Self::Rounding => "rounding",
            Self::Drift => "drift",
            Self::Registration => "registration",
            Self::Scale => "scale",
            Self::Datum => "datum",
            Self::Bridging => "bridging",
        }
    }

    /// What the part stands for, in words.
    #[must_use]
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Noise => "scatter of the scan about edge and tray",
            Self::Rounding => "the edge rounded by fusing views, and what kind of edge it is",
            Self::Drift => "slow bending of the whole scan",
            Self::Registration => "setting two scans together",
            Self::Scale => "the scan's scale",
            Self::Datum => "the tray's tilt under the edge",
            Self::Bridging => "what is not seen, and steps",
        }
    }

    /// What the maker can do about it.
    #[must_use]
    pub fn advice(self) -> &'static str {
        match self {
            Self::Noise => {
                "scan slower, in even light and from nearer, with a dull surface: tape or chalk spray on what shines"
            }
            Self::Rounding => {
                "read the gaps of readings.csv with a caliper and run verify: they take out what the edge is off by as a whole; a finer scan, or `edge` set in the job, makes it smaller"
            }
            Self::Drift => {
                "scan in one sweep without going back, with things of many shapes in view, or in two shorter scans"
            }
            Self::Registration => {
                "put more marks on body and tray, well apart, and scan both in one pose"
            }
            Self::Scale => "take two long lengths with a tape and run verify",
            Self::Datum => "scan more of the tray to both sides of the edge",
            Self::Bridging => {
                "scan what is missing, looking up under the edge and down at the tray, or read the gap there"
            }
        }
    }

    /// Whether it lifts, lowers or tilts the gap as a whole, so that one strip of packing takes it out.
    /// The others change along the edge.
    #[must_use]
    pub fn is_common(self) -> bool {
        matches!(self, Self::Rounding | Self::Registration | Self::Scale)
    }
}

/// Standard uncertainties of one station's gap (mm).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Budget {
    /// [`Part::Noise`].
    pub noise: f64,
    /// [`Part::Rounding`].
    pub rounding: f64,
    /// [`Part::Drift`].
    pub drift: f64,
    /// [`Part::Registration`].
    pub registration: f64,
    /// [`Part::Scale`].
    pub scale: f64,
    /// [`Part::Datum`].
    pub datum: f64,
    /// [`Part::Bridging`].
    pub bridging: f64,
}

impl Budget {
    /// One part (mm).
    #[must_use]
    pub fn part(&self, part: Part) -> f64 {
        match part {
            Part::Noise => self.noise,
            Part::Rounding => self.rounding,
            Part::Drift => self.drift,
            Part::Registration => self.registration,
            Part::Scale => self.scale,
            Part::Datum => self.datum,
            Part::Bridging => self.bridging,
        }
    }

    fn over(parts: impl Fn(Part) -> f64) -> Self {
        Self {
            noise: parts(Part::Noise),
            rounding: parts(Part::Rounding),
            drift: parts(Part::Drift),
            registration: parts(Part::Registration),
            scale: parts(Part::Scale),
            datum: parts(Part::Datum),
            bridging: parts(Part::Bridging),
        }
    }

    fn sum(&self, counts: impl Fn(Part) -> bool) -> f64 {
        let squares = Part::ALL.into_iter().filter(|&p| counts(p));
        squares.map(|p| self.part(p).powi(2)).sum::<f64>().sqrt()
    }

    /// Combined standard uncertainty (mm).
    #[must_use]
    pub fn combined(&self) -> f64 {
        self.sum(|_| true)
    }

    /// Expanded uncertainty (mm), U = 2u: about 95 % (GUM 6.3.3).
    #[must_use]
    pub fn expanded(&self) -> f64 {
        2.0 * self.combined()
    }

    /// What is the same all along (mm).
    #[must_use]
    pub fn common(&self) -> f64 {
        self.sum(Part::is_common)
    }

    /// What changes along the edge (mm), so that no one strip of packing takes it out.
    #[must_use]
    pub fn wandering(&self) -> f64 {
        self.sum(|p| !p.is_common())
    }

    /// The same with every length times `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self::over(|part| self.part(part) * factor)
    }

    /// The largest part.
    #[must_use]
    pub fn dominant(&self) -> Part {
        let larger = |a: Part, b: Part| if self.part(b) > self.part(a) { b } else { a };
        Part::ALL.into_iter().fold(Part::Noise, larger)
    }

    /// Root mean square of each part over the stations that are well seen; over all of them where none is.
    #[must_use]
    pub fn overall(stations: &[Station]) -> Self {
        let good = |s: &&Station| s.quality == Quality::Good;
        let mut told: Vec<&Station> = stations.iter().filter(good).collect();
        if told.is_empty() {
            told = stations.iter().collect();
        }
        let count = told.len().max(1) as f64;
        Self::over(|part| {
            let squares = told.iter().map(|s| s.budget.part(part).powi(2));
            (squares.sum::<f64>() / count).sqrt()
        })
    }
}

/// How far a printed part may be from its drawing (mm, either way). Common practice, no source.
const PRINTED: f64 = 0.2;

/// Standard uncertainty of the clear height over a printed panel (mm), from that of the gap. The print's
/// tolerance is a rectangular distribution, so it counts as a/sqrt(3) (GUM 4.3.7); it does not touch the
/// gap itself.
#[must_use]
pub fn of_the_fit(gap: f64) -> f64 {
    gap.hypot(PRINTED / 3f64.sqrt())
}

/// Share of the scan's edge length by which an edge's height may be off as a whole. Measured on simulated
/// scans (tests/bench/survey_accuracy.rs): a tuned constant, good for 2 to 6 mm voxels.
const ROUNDING_SHARE: f64 = 0.27;
/// Bridged stretches lose this much for each millimetre to the nearest thing seen.
const BRIDGING: f64 = 0.03;
/// Beside a step, the share of it by which the height may be off: the place of a step is known to a few
/// millimetres, and its ramp is about as long.
const BESIDE_STEP: f64 = 0.35;
/// Neighbouring samples of a fused scan are not independent: smoothing takes out less than the square root
/// of their number. Share of the scatter that is left.
const LEFT_BY_SMOOTHING: f64 = 0.45;
/// The same for the tray, which is smoothed over more of its surface.
const LEFT_OF_TRAY: f64 = 0.3;

/// What is known about a station when its uncertainty is put together.
#[derive(Debug, Clone, Copy)]
pub struct Known {
    /// The gap (mm).
    pub gap: f64,
    /// Scatter of the edge's slices about the faired edge (mm).
    pub edge_scatter: f64,
    /// Scatter of the tray's faces about the fitted surface (mm).
    pub tray_scatter: f64,
    /// Distance along the spine over which the tray is smoothed (mm).
    pub tray_reach: f64,
    /// Distance to the nearest slice in which the edge is seen (mm).
    pub edge_distance: f64,
    /// Distance to the nearest row in which the tray is seen (mm).
    pub tray_distance: f64,
    /// Doubt about the kind of edge and its inner corner (mm).
    pub doubt: f64,
    /// Step of the edge right beside the station (mm).
    pub jump: f64,
    /// Edge length of the scan (mm).
    pub spacing: f64,
    /// Waviness of the tray that no tray has (mm).
    pub waviness: f64,
    /// Of the body's height over the tray from setting two scans together (mm, standard).
    pub registration: f64,
    /// Of a length as a share of it (standard).
    pub scale: f64,
}

/// Puts a station's budget together.
#[must_use]
pub fn budget(known: &Known) -> Budget {
    let far = |d: f64| BRIDGING * (d - 10.0).max(0.0);
    let tray_noise = LEFT_OF_TRAY * known.tray_scatter;
    // The gap is read from the tray's own surface along its normal, so the plane it was levelled by does
    // not enter; a tilt of the fitted surface does, and only as one less its cosine.
    let tilt = (tray_noise / known.tray_reach.max(1.0)).atan();
    Budget {
        noise: (LEFT_BY_SMOOTHING * known.edge_scatter).hypot(tray_noise),
        rounding: (ROUNDING_SHARE * known.spacing).hypot(known.doubt),
        // Body and tray bend together only in part, so the tray's waviness counts once for each.
        drift: std::f64::consts::SQRT_2 * known.waviness,
        registration: known.registration,
        scale: (known.scale * known.gap).abs(),
        datum: (known.gap * (1.0 - tilt.cos())).abs(),
        bridging: far(known.edge_distance)
            .hypot(far(known.tray_distance))
            .hypot(BESIDE_STEP * known.jump),
    }
}
