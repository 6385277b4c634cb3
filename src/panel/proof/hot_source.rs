//! How warm a panel gets beside something hot, from what it takes up by radiation and gives to the air.
//!
//! The source is taken as a long round pipe beside the panel, both black: a small flat piece that faces it
//! sees it with the share r / (r + distance) (view factor of a plane element and a long cylinder, Howell's
//! catalogue, from memory). Heat leaves at both faces by still air and what the panel itself radiates to
//! its surroundings, together some 10 W/m2K (from memory, low side). Hot air that rises or blows from the
//! source is not in it.

use crate::diag::Finding;

/// Stefan and Boltzmann's constant (W/m2K4), CODATA.
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
/// Heat given off for each degree above the air (W/m2K), both faces together.
const GIVEN_OFF: f64 = 10.0;
const ZERO_C: f64 = 273.15;
/// Nothing hotter than what the panel stands comes nearer than this without a shield (mm): room round an
/// exhaust, common practice, no source.
const LEAST_DISTANCE_MM: f64 = 50.0;

/// Something that runs hot near the panel.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatSource {
    /// What it is.
    pub name: String,
    /// Where along the spine (mm).
    pub at_mm: f64,
    /// From its surface to the panel's (mm).
    pub distance_mm: f64,
    /// Its surface at its hottest (degrees C); the shield's, where there is one.
    pub temperature_c: f64,
    /// Its radius, or half its width (mm).
    pub radius_mm: f64,
}

impl Default for HeatSource {
    fn default() -> Self {
        Self {
            name: String::new(),
            at_mm: 0.0,
            distance_mm: 0.0,
            temperature_c: 0.0,
            radius_mm: 25.0,
        }
    }
}

/// What a source does to the panel.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceHeat {
    /// The source.
    pub source: HeatSource,
    /// About how warm the panel gets beside it (degrees C).
    pub panel_c: f64,
    /// What the plastic stands (degrees C).
    pub stands_c: f64,
    /// The least distance at which it stays within that (mm); `None` if the air alone is too warm.
    pub keep_mm: Option<f64>,
}

impl SourceHeat {
    /// Whether the panel is too near.
    #[must_use]
    pub fn is_too_near(&self) -> bool {
        self.panel_c > self.stands_c
            || self
                .keep_mm
                .is_none_or(|least| self.source.distance_mm < least)
    }

    /// A warning where it is too near.
    pub(super) fn finding(&self) -> Option<Finding> {
        let HeatSource {
            name,
            at_mm,
            distance_mm,
            temperature_c,
            ..
        } = &self.source;
        self.is_too_near().then(|| {
            let keep = match self.keep_mm {
                Some(least) => format!(
                    "keep {least:.0} mm away, or put a shield between with air on both sides and name its temperature and distance instead"
                ),
                None => "the air there is too warm for this plastic: choose another".to_owned(),
            };
            Finding::warning(
                "heat-source-near",
                format!(
                    "{name} at {temperature_c:.0} \u{b0}C is {distance_mm:.0} mm from the panel, which may get about {:.0} \u{b0}C there and stands {:.0} \u{b0}C",
                    self.panel_c, self.stands_c
                ),
                keep,
            )
            .at(*at_mm)
            .size(*distance_mm)
        })
    }
}

/// Radiation of a black surface (W/m2).
fn radiates(temperature_c: f64) -> f64 {
    STEFAN_BOLTZMANN * (temperature_c + ZERO_C).max(0.0).powi(4)
}

/// Share of what a piece of the panel sees that is the source.
fn share_seen(radius_mm: f64, distance_mm: f64) -> f64 {
    let share = radius_mm / (radius_mm + distance_mm.max(0.0));
    if share.is_finite() {
        share.clamp(0.0, 1.0)
    } else {
        1.0
    }
}

/// Holds a source against what the plastic stands; `air_c` is the air round the panel.
pub(super) fn hold(source: &HeatSource, air_c: f64, stands_c: f64) -> SourceHeat {
    let seen = share_seen(source.radius_mm, source.distance_mm);
    SourceHeat {
        source: source.clone(),
        panel_c: panel_temperature(source.temperature_c, air_c, seen),
        stands_c,
        keep_mm: least_distance(source, air_c, stands_c),
    }
}

/// Where what is taken up equals what is given off (degrees C), by halving: the balance falls with the
/// panel's temperature.
fn panel_temperature(source_c: f64, air_c: f64, seen: f64) -> f64 {
    let gains = |panel_c: f64| {
        seen * (radiates(source_c) - radiates(panel_c)) - GIVEN_OFF * (panel_c - air_c)
    };
    let (mut low, mut high) = (source_c.min(air_c), source_c.max(air_c));
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if gains(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The distance (mm) at which the panel just gets as warm as it stands, and no less than what is kept from
/// anything hotter than that.
fn least_distance(source: &HeatSource, air_c: f64, stands_c: f64) -> Option<f64> {
    if source.temperature_c <= stands_c {
        return Some(0.0);
    }
    let share =
        GIVEN_OFF * (stands_c - air_c) / (radiates(source.temperature_c) - radiates(stands_c));
    (share > 0.0).then(|| (source.radius_mm * (1.0 / share - 1.0)).max(LEAST_DISTANCE_MM))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pipe(distance_mm: f64, temperature_c: f64) -> HeatSource {
        HeatSource {
            name: "pipe".to_owned(),
            distance_mm,
            temperature_c,
            ..HeatSource::default()
        }
    }

    #[test]
    fn a_black_surface_radiates_as_published() {
        // 459.3 W/m2 at 300 K (CODATA constant times 300^4, by hand).
        assert!((radiates(26.85) - 459.300).abs() < 0.001);
    }

    #[test]
    fn at_the_distance_to_keep_the_panel_is_as_warm_as_it_stands() {
        for (source_c, stands_c) in [(400.0, 70.0), (250.0, 85.0), (600.0, 50.0)] {
            let keep = least_distance(&pipe(50.0, source_c), 40.0, stands_c).unwrap();
            assert!(keep > LEAST_DISTANCE_MM);
            let there = hold(&pipe(keep, source_c), 40.0, stands_c);
            assert!((there.panel_c - stands_c).abs() < 1e-6, "{there:?}");
            assert!(!hold(&pipe(keep + 1.0, source_c), 40.0, stands_c).is_too_near());
            let near = hold(&pipe(keep - 1.0, source_c), 40.0, stands_c);
            assert_eq!(near.finding().unwrap().code, "heat-source-near");
        }
    }

    #[test]
    fn nearer_and_hotter_is_warmer_and_nothing_is_warmer_than_its_source() {
        let mut last = f64::INFINITY;
        for distance in [0.0, 10.0, 50.0, 100.0, 1000.0] {
            let warm = hold(&pipe(distance, 400.0), 40.0, 70.0).panel_c;
            assert!(warm < last && warm > 40.0 && warm <= 400.0);
            assert!(warm > hold(&pipe(distance, 300.0), 40.0, 70.0).panel_c);
            last = warm;
        }
    }

    #[test]
    fn what_is_cooler_than_the_plastic_stands_may_touch_it_and_hot_air_may_not() {
        assert!(!hold(&pipe(0.0, 60.0), 40.0, 70.0).is_too_near());
        let hot_air = hold(&pipe(500.0, 200.0), 80.0, 70.0);
        assert_eq!(hot_air.keep_mm, None);
        assert!(hot_air.finding().is_some());
        let odd = HeatSource {
            radius_mm: 0.0,
            ..pipe(0.0, 400.0)
        };
        assert!(hold(&odd, 40.0, 70.0).panel_c.is_finite());
    }
}
