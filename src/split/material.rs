//! Printing plastics: how heavy they are, and where they go soft.

use crate::diag::Finding;

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

    /// A warning for a plastic that goes soft on a dark panel in the sun, about 70 C (common practice, no
    /// source). Glass transition of PLA: 55 to 65 C, from makers' data sheets. What colour the panel
    /// gets nobody says here, so it is told in any case.
    pub(super) fn find_softening(self) -> Option<Finding> {
        (self == Self::Pla).then(|| {
            Finding::warning(
                "material-softens",
                "PLA goes soft at 55 to 65 \u{b0}C, and a dark panel in the sun gets about 70 \u{b0}C warm",
                "print in PETG, ABS or ASA, or use these parts for trying the fit only",
            )
        })
    }
}
