//! How the part is laminated: which way, what lies on what, and at what heat it cures.

use super::form::OnTop;
use super::laminate::{Cloth, Fibre, Laminate, Ply, RESIN_KG_M3};
use crate::diag::Finding;
use crate::material::Material;
use std::f64::consts::FRAC_PI_4;

/// Laid up in one go, resin thicker than this heats itself (mm). Common practice, no source: the maker's
/// data sheet says how much.
const THICK_MM: f64 = 5.0;
/// Room temperature and what lies near it asks for no oven (degrees C).
const WARM_C: f64 = 30.0;

/// How the part comes about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Way {
    /// It is printed and nothing is laid on.
    #[default]
    None,
    /// The print stays in as a core, and the laminate goes on its outside.
    Core,
    /// The laminate goes on a printed buck and is lifted off.
    Buck,
}

/// What to do where the cure is hotter than the print stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CureRule {
    /// Refuse the job.
    #[default]
    Refuse,
    /// Go on, with a warning.
    GoOn,
}

/// What goes on beside the plies (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coats {
    /// Filler on the laminate.
    pub filler_mm: f64,
    /// Primer and paint on that.
    pub primer_mm: f64,
    /// What is sanded away again.
    pub sanding_mm: f64,
    /// Release between buck and laminate, wax or film.
    pub release_mm: f64,
}

impl Coats {
    /// What is left of filler, primer and paint on the laminate (mm).
    #[must_use]
    pub fn left_mm(&self) -> f64 {
        self.filler_mm + self.primer_mm - self.sanding_mm
    }
}

/// How cloth is cut. Lengths in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutOptions {
    /// How far one piece laps the next.
    pub overlap_mm: f64,
    /// Width of the cloth on its roll.
    pub roll_mm: f64,
    /// Longest piece that is wanted.
    pub piece_mm: f64,
    /// How far cloth on a core goes on past its edges.
    pub edge_mm: f64,
    /// Share that is bought on top for waste.
    pub waste: f64,
}

/// What the job says about the laminate.
#[derive(Debug, Clone, PartialEq)]
pub struct LayupOptions {
    /// How the part comes about.
    pub way: Way,
    /// The plies.
    pub laminate: Laminate,
    /// Whether nobody named them.
    pub assumed: bool,
    /// What else goes on.
    pub coats: Coats,
    /// How cloth is cut.
    pub cut: CutOptions,
    /// The hottest it gets while it cures (degrees C).
    pub cure_c: f64,
    /// What to do where that is too hot for the print.
    pub cure_rule: CureRule,
}

impl Default for LayupOptions {
    fn default() -> Self {
        Self {
            way: Way::None,
            laminate: Laminate {
                plies: usual_plies(),
                fibre_share: 0.45,
                resin_kg_m3: RESIN_KG_M3,
            },
            assumed: true,
            coats: Coats {
                filler_mm: 0.4,
                primer_mm: 0.3,
                sanding_mm: 0.2,
                release_mm: 0.1,
            },
            cut: CutOptions {
                overlap_mm: 25.0,
                roll_mm: 1000.0,
                piece_mm: 1500.0,
                edge_mm: 15.0,
                waste: 0.15,
            },
            cure_c: 23.0,
            cure_rule: CureRule::Refuse,
        }
    }
}

/// What is laid up where the job names no plies: woven glass along, across the corners, along. It is
/// symmetric and balanced.
#[must_use]
pub fn usual_plies() -> Vec<Ply> {
    let ply = |turn| Ply {
        fibre: Fibre::Glass,
        cloth: Cloth::Woven,
        g_m2: 300.0,
        turn,
    };
    vec![ply(0.0), ply(FRAC_PI_4), ply(0.0)]
}

impl LayupOptions {
    /// What goes on top of a buck.
    #[must_use]
    pub fn on_top(&self) -> OnTop {
        OnTop {
            release_mm: self.coats.release_mm,
            laminate_mm: self.laminate.thickness_mm(),
            filler_mm: self.coats.left_mm().max(0.0),
        }
    }

    /// How far a core lies inside of the finished outside (mm): no release, for the core stays in.
    #[must_use]
    pub fn overlay_mm(&self) -> f64 {
        self.laminate.thickness_mm() + self.coats.left_mm().max(0.0)
    }

    /// Whether the cure is hotter than a print of this plastic stands without sagging.
    #[must_use]
    pub fn is_too_hot_for(&self, material: Material) -> bool {
        self.cure_c > material.service_c() || self.cure_c.is_nan()
    }

    /// What is to be said about plies and cure on a print of this plastic.
    #[must_use]
    pub fn findings(&self, material: Material) -> Vec<Finding> {
        let mut found = Vec::new();
        let laminate = &self.laminate;
        if self.assumed {
            found.push(Finding::warning(
                "laminate-assumed",
                format!(
                    "no ply is named, so {} plies were taken, {:.1} mm in all: print and cloth are sized for them",
                    laminate.plies.len(),
                    laminate.thickness_mm()
                ),
                "write a [[ply]] for each layer that will really be laid, as the starter job and docs/formats.md show",
            ));
        }
        if !laminate.is_symmetric() {
            found.push(Finding::warning(
                "laminate-not-symmetric",
                "the laminate does not read the same from both faces, so it curls as it cools and in the heat",
                "lay the same plies in the same directions on both sides of its middle",
            ));
        }
        if !laminate.is_balanced() {
            found.push(Finding::warning(
                "laminate-not-balanced",
                "more fibre runs at some angle than at its mirror image, so the part twists under a pull and in the heat",
                "for every ply at an angle lay one at the same angle the other way, or turn it to 0, 45 or 90 degrees if it is woven",
            ));
        }
        let thick = laminate.thickness_mm();
        if thick > THICK_MM {
            found.push(
                Finding::warning(
                    "laminate-exotherm",
                    format!("{thick:.1} mm of resin and cloth in one go heats itself as it sets"),
                    "lay it up in several goes, each set before the next, and follow the resin's data sheet on thickness",
                )
                .size(thick),
            );
        }
        let [soft, _] = material.glass_transition_c();
        if self.is_too_hot_for(material) {
            found.push(Finding::warning(
                "cure-too-hot",
                format!(
                    "the cure at {:.0} C is over the {:.0} C that a print of {} holds its form at (it softens from {soft:.0} C), \
                     and the job says to go on",
                    self.cure_c,
                    material.service_c(),
                    material.name()
                ),
                "try a piece first: the print may sag, and the part with it; or cure cooler and longer, as the resin's data sheet allows",
            ));
        } else if self.cure_c > WARM_C {
            found.push(Finding::note(
                "cure-warm",
                format!(
                    "the cure at {:.0} C is within the {:.0} C that a print of {} holds its form at; heat it slowly, and let \
                     the resin set before it goes in",
                    self.cure_c,
                    material.service_c(),
                    material.name()
                ),
            ));
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_on_what_adds_up() {
        let options = LayupOptions::default();
        // By hand: three plies of 300 g at 2540 kg/m3 and a share of 0.45 are 0.7874 mm; 0.4 + 0.3 - 0.2.
        assert!((options.overlay_mm() - (0.7874 + 0.5)).abs() < 1e-4);
        assert!((options.on_top().total() - (0.7874 + 0.5 + 0.1)).abs() < 1e-4);
    }

    #[test]
    fn the_usual_plies_are_symmetric_and_balanced() {
        let found = LayupOptions::default().findings(Material::Petg);
        // Named by nobody, which is told, with what they come to: 3 x 0.2625 mm by hand.
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].code, "laminate-assumed");
        assert!(found[0].what.contains("3 plies were taken, 0.8 mm in all"));
        assert_eq!(named().findings(Material::Petg), []);
    }

    fn named() -> LayupOptions {
        LayupOptions {
            assumed: false,
            ..LayupOptions::default()
        }
    }

    #[test]
    fn plies_and_cure_are_judged() {
        let codes = |options: &LayupOptions| -> Vec<&str> {
            let found = options.findings(Material::Petg);
            found.iter().map(|f| f.code).collect()
        };
        let mut options = named();
        options.laminate.plies[2].turn = 0.4;
        assert_eq!(
            codes(&options),
            ["laminate-not-symmetric", "laminate-not-balanced"]
        );
        let mut options = named();
        options.laminate.plies = vec![options.laminate.plies[0]; 20];
        options.cure_c = 60.0;
        // 20 x 0.2625 = 5.2 mm by hand.
        assert_eq!(codes(&options), ["laminate-exotherm", "cure-warm"]);
        // PETG softens from 75 C: data sheets; see `material`.
        options.laminate.plies.truncate(1);
        options.cure_c = 71.0;
        assert_eq!(codes(&options), ["cure-too-hot"]);
        assert!(!options.is_too_hot_for(Material::Asa));
        options.cure_c = f64::NAN;
        assert!(options.is_too_hot_for(Material::Asa));
    }
}
