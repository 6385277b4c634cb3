//! Materials: how heavy, how stiff, how much they grow, and where they go soft.
//!
//! All values are class values for choosing, not those of a spool: a manufacturer's data sheet comes first.
//! Where no source is named, a value is from memory.

/// A class of printing plastic.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Material {
    /// Polylactide.
    Pla,
    /// Polyethylene terephthalate, glycol-modified.
    #[default]
    Petg,
    /// Acrylonitrile butadiene styrene.
    Abs,
    /// Acrylonitrile styrene acrylate.
    Asa,
    /// Polyamide.
    Pa,
}

/// Temperature that stiffness "in the room" is for (degrees C).
pub const ROOM_C: f64 = 20.0;

/// How stiff a plastic is, printed solid, along its beads (Young's modulus).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stiffness {
    /// At [`ROOM_C`] (MPa, which is N/mm2).
    pub room_mpa: f64,
    /// At `hot_c` (MPa).
    pub hot_mpa: f64,
    /// The hottest that a modulus is stated for (degrees C).
    pub hot_c: f64,
}

impl Stiffness {
    /// Young's modulus (MPa) at a temperature: straight between the room's and the hot one, the room's
    /// below. Above `hot_c` the value at `hot_c` is handed back: what the plastic still holds there nobody
    /// states, so a caller must hold the temperature against [`Material::service_c`] as well.
    #[must_use]
    pub fn at(&self, temperature_c: f64) -> f64 {
        let span = self.hot_c - ROOM_C;
        let share = if span > 0.0 {
            ((temperature_c - ROOM_C) / span).clamp(0.0, 1.0)
        } else {
            1.0
        };
        self.room_mpa + share * (self.hot_mpa - self.room_mpa)
    }
}

impl Material {
    /// Every class, with its trade name.
    pub const NAMES: [(&'static str, Self); 5] = [
        ("PLA", Self::Pla),
        ("PETG", Self::Petg),
        ("ABS", Self::Abs),
        ("ASA", Self::Asa),
        ("PA", Self::Pa),
    ];

    /// Its trade name.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, material)| *material == self)
            .map_or("", |(name, _)| name)
    }

    /// Density (g/cm3): PLA and PETG from makers' data sheets, the others class values from memory. PA
    /// runs from 1.01 (PA 12) to 1.14 (PA 6); the heavier is taken, so that no spool comes out short.
    #[must_use]
    pub fn density_g_cm3(self) -> f64 {
        match self {
            Self::Pla => 1.24,
            Self::Petg => 1.27,
            Self::Abs => 1.04,
            Self::Asa => 1.07,
            Self::Pa => 1.14,
        }
    }

    /// How much it grows with heat: linear expansion (1/K). From memory; data sheets of ABS say 70e-6 to
    /// 150e-6, of ASA 60e-6 to 110e-6.
    #[must_use]
    pub fn expansion_per_k(self) -> f64 {
        match self {
            Self::Pla => 68e-6,
            Self::Petg => 60e-6,
            Self::Abs => 90e-6,
            Self::Asa => 95e-6,
            Self::Pa => 120e-6,
        }
    }

    /// How stiff it is. All from memory, on the soft side of what is seen; PA as it is once it has taken
    /// up the air's moisture.
    #[must_use]
    pub fn stiffness(self) -> Stiffness {
        let (room_mpa, hot_mpa, hot_c) = match self {
            Self::Pla => (3000.0, 2000.0, 50.0),
            Self::Petg => (2000.0, 1300.0, 70.0),
            Self::Abs => (2000.0, 1500.0, 80.0),
            Self::Asa => (2000.0, 1500.0, 80.0),
            Self::Pa => (1200.0, 500.0, 80.0),
        };
        Stiffness {
            room_mpa,
            hot_mpa,
            hot_c,
        }
    }

    /// Where it turns from glass to rubber, from and to (degrees C): PLA and PETG from makers' data
    /// sheets, the others from memory. PA passes it in use, but its crystals hold it up.
    #[must_use]
    pub fn glass_transition_c(self) -> [f64; 2] {
        match self {
            Self::Pla => [55.0, 65.0],
            Self::Petg => [75.0, 85.0],
            Self::Abs => [105.0, 105.0],
            Self::Asa => [100.0, 100.0],
            Self::Pa => [45.0, 60.0],
        }
    }

    /// The hottest that a part under a light load should get (degrees C). Common practice, no source: a
    /// few degrees below the glass transition, more where the load lasts. PA: under its slow creep.
    #[must_use]
    pub fn service_c(self) -> f64 {
        match self {
            Self::Pla => 50.0,
            Self::Petg => 70.0,
            Self::Abs | Self::Asa => 85.0,
            Self::Pa => 90.0,
        }
    }
}

/// What a panel is fixed to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Backing {
    /// Mild steel.
    Steel,
    /// Aluminium.
    #[default]
    Aluminium,
    /// Glass fibre in epoxy or polyester.
    Glass,
    /// Carbon fibre in epoxy.
    Carbon,
    /// Plywood, along its faces.
    Plywood,
    /// Polypropylene or polyethylene.
    Polypropylene,
}

impl Backing {
    /// Every kind, as the job names it.
    pub const NAMES: [(&'static str, Self); 6] = [
        ("steel", Self::Steel),
        ("aluminium", Self::Aluminium),
        ("glass", Self::Glass),
        ("carbon", Self::Carbon),
        ("plywood", Self::Plywood),
        ("polypropylene", Self::Polypropylene),
    ];

    /// As the job names it.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, backing)| *backing == self)
            .map_or("", |(name, _)| name)
    }

    /// Linear expansion (1/K), all from memory.
    #[must_use]
    pub fn expansion_per_k(self) -> f64 {
        match self {
            Self::Steel => 12e-6,
            Self::Aluminium => 23.1e-6,
            Self::Glass => 14e-6,
            Self::Carbon => 2e-6,
            Self::Plywood => 6e-6,
            Self::Polypropylene => 120e-6,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stiffness_falls_with_heat_and_never_below_the_hot_one() {
        for (name, material) in Material::NAMES {
            let e = material.stiffness();
            assert_eq!(e.at(-15.0), e.room_mpa, "{name}");
            assert_eq!(e.at(e.hot_c), e.hot_mpa, "{name}");
            assert_eq!(e.at(500.0), e.hot_mpa, "{name}");
            let half = e.at(0.5 * (ROOM_C + e.hot_c));
            assert!(
                (half - 0.5 * (e.room_mpa + e.hot_mpa)).abs() < 1e-9,
                "{name}"
            );
        }
    }

    #[test]
    fn what_is_used_in_the_sun_is_told_apart_by_its_service_temperature() {
        // A dark panel in the sun, about 70 C: common practice, no source. PLA: data sheets.
        let fit = |m: Material| m.service_c() >= 70.0;
        assert!(!fit(Material::Pla));
        assert!([Material::Petg, Material::Abs, Material::Asa, Material::Pa].map(fit) == [true; 4]);
        // Nothing that is glass in use may be used up to where it turns soft.
        for m in [Material::Pla, Material::Petg, Material::Abs, Material::Asa] {
            assert!(m.service_c() < m.glass_transition_c()[0], "{}", m.name());
        }
    }
}
