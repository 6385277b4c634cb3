//! How sure the gap at a station is: named parts, combined as squares (GUM, ISO/IEC Guide 98-3, 5.1.2).

/// Standard uncertainties of one station's gap (mm).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Budget {
    /// Scatter of the edge and the tray, less what smoothing takes out.
    pub noise: f64,
    /// What fusing views into a grid does to an edge, and what is assumed of the skin behind it.
    pub rounding: f64,
    /// Slow bending of the whole scan, as far as the tray shows it.
    pub drift: f64,
    /// Carrying the edge or tray across what was not seen, or a step right beside the station.
    pub bridging: f64,
}

impl Budget {
    /// Combined standard uncertainty (mm).
    #[must_use]
    pub fn combined(&self) -> f64 {
        [self.noise, self.rounding, self.drift, self.bridging]
            .iter()
            .map(|u| u * u)
            .sum::<f64>()
            .sqrt()
    }
}

/// Share of the scan's edge length by which an edge's height may be off as a whole. Measured on simulated
/// scans (tests/survey.rs): a tuned constant, good for 2 to 6 mm voxels.
const ROUNDING_SHARE: f64 = 0.27;
/// Bridged stretches lose this much for each millimetre to the nearest thing seen.
const BRIDGING: f64 = 0.03;
/// Beside a step, the share of it by which the height may be off: the place of a step is known to a few
/// millimetres, and its ramp is about as long.
const BESIDE_STEP: f64 = 0.35;
/// Neighbouring samples of a fused scan are not independent: smoothing takes out less than the square root
/// of their number. Share of the scatter that is left.
const LEFT_BY_SMOOTHING: f64 = 0.45;

/// What is known about a station when its uncertainty is put together.
#[derive(Debug, Clone, Copy)]
pub struct Known {
    /// Scatter of the edge's slices about the faired edge (mm).
    pub edge_scatter: f64,
    /// Scatter of the tray's faces about the fitted surface (mm).
    pub tray_scatter: f64,
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
}

/// Puts a station's budget together.
#[must_use]
pub fn budget(known: &Known) -> Budget {
    let far = |d: f64| BRIDGING * (d - 10.0).max(0.0);
    Budget {
        noise: (LEFT_BY_SMOOTHING * known.edge_scatter).hypot(0.3 * known.tray_scatter),
        rounding: (ROUNDING_SHARE * known.spacing).hypot(known.doubt),
        // Body and tray bend together only in part, so the tray's waviness counts once for each.
        drift: std::f64::consts::SQRT_2 * known.waviness,
        bridging: far(known.edge_distance)
            .hypot(far(known.tray_distance))
            .hypot(BESIDE_STEP * known.jump),
    }
}
