//! How much a lifted laminate bends, against the plastic wall that air and heat are worked out for.

use super::laminate::{Cloth, Fibre, Laminate, Ply};
use crate::diag::Finding;
use std::f64::consts::FRAC_PI_2;

/// Shear modulus of hand-laid cloth in its plane (MPa), from memory, low.
const SHEAR_MPA: f64 = 2500.0;
/// Across its one way of fibres a ply is little stiffer than its resin (MPa), from memory, low.
const ACROSS_MPA: f64 = 5000.0;

impl Fibre {
    /// Young's modulus (MPa) of a hand-laid ply along its fibres and across them, all from memory and
    /// on the low side, for wet lay-up: a maker's data sheet, or a strip of yours bent by a weight, comes first.
    fn ply_mpa(self, cloth: Cloth) -> [f64; 2] {
        match (cloth, self) {
            (Cloth::Woven, Self::Glass) => [15_000.0; 2],
            (Cloth::Woven, Self::Carbon) => [40_000.0; 2],
            (Cloth::Woven, Self::Aramid) => [20_000.0; 2],
            (Cloth::Unidirectional, Self::Glass) => [28_000.0, ACROSS_MPA],
            (Cloth::Unidirectional, Self::Carbon) => [80_000.0, ACROSS_MPA],
            (Cloth::Unidirectional, Self::Aramid) => [40_000.0, ACROSS_MPA],
        }
    }
}

/// Young's modulus (MPa) of a ply at an angle (rad) to the gap: the compliance of an orthotropic ply, turned
/// (any text on laminates), without its small term of the cross contraction, which makes it softer yet.
fn modulus_at(ply: &Ply, angle: f64) -> f64 {
    let [along, across] = ply.fibre.ply_mpa(ply.cloth);
    let (s, c) = (ply.turn - angle).sin_cos();
    let (s2, c2) = (s * s, c * c);
    1.0 / (c2 * c2 / along + s2 * s2 / across + s2 * c2 / SHEAR_MPA)
}

/// E t^3 of a laminate (N mm), bent along the gap or up the face, whichever way is softer: what each ply
/// adds by its distance from the middle (plate theory: Timoshenko and Woinowsky-Krieger, 1959).
#[must_use]
pub fn bending_n_mm(laminate: &Laminate) -> f64 {
    let thick = laminate.thickness_mm();
    let about = |angle: f64| {
        let mut low = -0.5 * thick;
        let mut sum = 0.0;
        for ply in &laminate.plies {
            let high = low + ply.thickness_mm(laminate.fibre_share);
            sum += 4.0 * modulus_at(ply, angle) * (high.powi(3) - low.powi(3));
            low = high;
        }
        sum
    };
    about(0.0).min(about(FRAC_PI_2))
}

/// A lifted laminate against the plastic wall of the same panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bends {
    /// Modulus of the plastic where it is hottest (MPa).
    pub plastic_mpa: f64,
    /// The plastic wall (mm).
    pub wall_mm: f64,
    /// The laminate (mm).
    pub laminate_mm: f64,
    /// How many times as much the laminate bends as the wall: E t^3 of the wall over that of the laminate.
    pub times: f64,
}

impl Bends {
    /// Holds a laminate to a plastic wall.
    #[must_use]
    pub fn of(laminate: &Laminate, plastic_mpa: f64, wall_mm: f64) -> Option<Self> {
        let times = plastic_mpa * wall_mm.powi(3) / bending_n_mm(laminate);
        times.is_finite().then_some(Self {
            plastic_mpa,
            wall_mm,
            laminate_mm: laminate.thickness_mm(),
            times,
        })
    }

    /// How thick the same laminate has to be to bend no more than the wall (mm): E t^3 goes with the
    /// third power.
    #[must_use]
    pub fn enough_mm(&self) -> f64 {
        self.laminate_mm * self.times.cbrt()
    }

    /// What there is to be said where it bends more.
    pub(super) fn finding(&self) -> Option<Finding> {
        (self.times > 1.0).then(|| {
            Finding::warning(
                "laminate-bends-more",
                format!(
                    "the laminate of {:.2} mm bends {:.1} times as much as the {:.1} mm plastic wall that \"Staying on\" is \
                     worked out for; {:.1} mm of it would bend no more",
                    self.laminate_mm,
                    self.times,
                    self.wall_mm,
                    self.enough_mm()
                ),
                "lay more plies, set fixings closer, or stiffen it behind with a core or a rib; bend a test strip before it goes on the road",
            )
            .size(self.enough_mm() - self.laminate_mm)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::buck::laminate::RESIN_KG_M3;

    fn of(fibre: Fibre, g_m2: f64, turns: &[f64]) -> Laminate {
        let ply = |degrees: &f64| Ply {
            fibre,
            cloth: Cloth::Woven,
            g_m2,
            turn: degrees.to_radians(),
        };
        Laminate {
            plies: turns.iter().map(ply).collect(),
            fibre_share: 0.45,
            resin_kg_m3: RESIN_KG_M3,
        }
    }

    /// By hand, against 3 mm of PETG at 1300 MPa, 35 100 N mm: 40 000 x 0.7407^3 = 16 257, 2.16 times;
    /// 15 000 x 0.5249^3 = 2170, 16.2 times. Three of glass with one across the corners: 7500 MPa in the
    /// middle 27th, 15 000 in the rest, 0.7874^3 of 14 722: 7187, 4.88 times.
    #[test]
    fn thin_laminates_bend_more_than_the_wall() {
        for (laminate, times) in [
            (of(Fibre::Carbon, 200.0, &[0.0, 0.0, 0.0]), 2.16),
            (of(Fibre::Glass, 300.0, &[0.0, 0.0]), 16.18),
            (of(Fibre::Glass, 300.0, &[0.0, 45.0, 0.0]), 4.88),
        ] {
            let bends = Bends::of(&laminate, 1300.0, 3.0).unwrap();
            assert!((bends.times - times).abs() < 6e-3, "{bends:?}");
            let finding = bends.finding().unwrap();
            assert_eq!(finding.code, "laminate-bends-more");
            assert!(finding.size_mm.unwrap() > 0.0);
            assert!(finding.what.contains("times as much"), "{finding}");
        }
    }

    #[test]
    fn thick_ones_do_not_and_are_not_told() {
        let thick = of(Fibre::Glass, 300.0, &[0.0; 6]);
        let bends = Bends::of(&thick, 1300.0, 3.0).unwrap();
        assert!(bends.times < 1.0 && bends.finding().is_none());
        // As thick as is said to be enough: no more and no less.
        let thin = Bends::of(&of(Fibre::Glass, 300.0, &[0.0]), 1300.0, 3.0).unwrap();
        let share = thin.enough_mm() / thin.laminate_mm;
        let enough = Bends::of(&of(Fibre::Glass, 300.0 * share, &[0.0]), 1300.0, 3.0).unwrap();
        assert!((enough.times - 1.0).abs() < 1e-9);
        assert!(Bends::of(&of(Fibre::Glass, 300.0, &[]), 1300.0, 3.0).is_none());
    }

    /// One way of fibres: stiff along them, and counted across.
    #[test]
    fn the_softer_way_counts() {
        let mut tape = of(Fibre::Carbon, 200.0, &[0.0]);
        tape.plies[0].cloth = Cloth::Unidirectional;
        let thick = tape.thickness_mm();
        assert!((bending_n_mm(&tape) / thick.powi(3) - ACROSS_MPA).abs() < 1e-6);
    }
}
