//! What a laminate takes: mass of the part, and fibre, resin and films to buy.

use super::laminate::{Cloth, Fibre, Laminate};
use super::strip::{Strip, StripSize};

/// A bag's film goes so far past the cloth on every side, for its seal (mm), and so much more of it is
/// taken up by pleats. Common practice, no source.
const SEAL_MM: f64 = 150.0;
const PLEATS: f64 = 1.25;

/// One kind of cloth to buy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClothNeed {
    /// What it is made of.
    pub fibre: Fibre,
    /// How its fibres run.
    pub cloth: Cloth,
    /// Its weight (g/m2).
    pub g_m2: f64,
    /// How many plies of it there are.
    pub plies: usize,
    /// What the pieces measure together, with those of the flange's strip (m2).
    pub cut_m2: f64,
    /// To buy, with waste (m2).
    pub buy_m2: f64,
}

impl ClothNeed {
    /// What is bought weighs so much (g).
    #[must_use]
    pub fn buy_g(&self) -> f64 {
        self.buy_m2 * self.g_m2
    }
}

/// What a laminate takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Bill {
    /// Area of the part under the laminate (m2).
    pub part_m2: f64,
    /// Mass of the laminate that stays on the part, without overlaps (g).
    pub laminate_g: f64,
    /// Cloth by kind, in the order of the plies.
    pub cloths: Vec<ClothNeed>,
    /// Resin with its hardener, to mix, with waste (g).
    pub resin_g: f64,
    /// Peel ply, with waste (m2).
    pub peel_ply_m2: f64,
    /// Release film on that, with waste (m2).
    pub release_film_m2: f64,
    /// Film for the bag (m2).
    pub bag_m2: f64,
    /// The strip that becomes the flange of a lifted part: in the cloth and in the resin above.
    pub strip: Option<Strip>,
}

/// What is to be covered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Areas {
    /// The part (mm2).
    pub part: f64,
    /// The part and what goes past its edges (mm2).
    pub cloth: f64,
    /// The longest way along and across the cloth (mm).
    pub spread: [f64; 2],
    /// The strip for the flange, where one is laid up afterwards.
    pub strip: Option<StripSize>,
}

/// Adds up what a laminate takes over these areas. `cut` is the area of the pieces of every ply, overlaps
/// included (mm2), in the order of the plies; `waste` a share on top.
#[must_use]
pub fn add_up(laminate: &Laminate, areas: Areas, cut: &[f64], waste: f64) -> Bill {
    let m2 = |mm2: f64| mm2 * 1e-6;
    let more = 1.0 + waste;
    let mut cloths: Vec<ClothNeed> = Vec::new();
    let mut resin_g = 0.0;
    for (ply, area) in laminate.plies.iter().zip(cut) {
        let area = m2(*area + areas.strip.map_or(0.0, |strip| strip.area_mm2()));
        resin_g += area * ply.resin_g_m2(laminate.fibre_share, laminate.resin_kg_m3) * more;
        let same = |need: &&mut ClothNeed| {
            (need.fibre, need.cloth) == (ply.fibre, ply.cloth)
                && (need.g_m2 - ply.g_m2).abs() < 1e-9
        };
        match cloths.iter_mut().find(same) {
            Some(need) => {
                need.plies += 1;
                need.cut_m2 += area;
                need.buy_m2 += area * more;
            }
            None => cloths.push(ClothNeed {
                fibre: ply.fibre,
                cloth: ply.cloth,
                g_m2: ply.g_m2,
                plies: 1,
                cut_m2: area,
                buy_m2: area * more,
            }),
        }
    }
    let part_m2 = m2(areas.part);
    let [along, across] = areas.spread;
    Bill {
        part_m2,
        laminate_g: part_m2 * laminate.g_m2(),
        cloths,
        resin_g,
        peel_ply_m2: m2(areas.cloth) * more,
        release_film_m2: m2(areas.cloth) * more,
        bag_m2: m2((along + 2.0 * SEAL_MM) * (across + 2.0 * SEAL_MM)) * PLEATS,
        strip: (areas.strip).map(|size| Strip::of(size, laminate, waste)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::buck::laminate::{Ply, RESIN_KG_M3};

    /// By hand, from the worked values of a ply: 200 g of carbon at 0.5 hold 127.8 g of resin, 300 g of
    /// glass 135.8; half a square metre of part, 0.6 to cut, 15 % on top.
    #[test]
    fn amounts_add_up() {
        let ply = |fibre, g_m2| Ply {
            fibre,
            cloth: Cloth::Woven,
            g_m2,
            turn: 0.0,
        };
        let laminate = Laminate {
            plies: vec![
                ply(Fibre::Carbon, 200.0),
                ply(Fibre::Glass, 300.0),
                ply(Fibre::Carbon, 200.0),
            ],
            fibre_share: 0.5,
            resin_kg_m3: RESIN_KG_M3,
        };
        let areas = Areas {
            part: 0.5e6,
            cloth: 0.6e6,
            spread: [2000.0, 300.0],
            strip: None,
        };
        let bill = add_up(&laminate, areas, &[0.6e6; 3], 0.15);
        assert!((bill.laminate_g - 0.5 * (700.0 + 2.0 * 127.8 + 135.8)).abs() < 0.1);
        assert!((bill.resin_g - 0.6 * 1.15 * (2.0 * 127.8 + 135.8)).abs() < 0.1);
        let [carbon, glass] = &bill.cloths[..] else {
            panic!("{bill:?}");
        };
        assert_eq!((carbon.plies, glass.plies), (2, 1));
        assert!((carbon.buy_m2 - 1.38).abs() < 1e-9 && (glass.buy_m2 - 0.69).abs() < 1e-9);
        assert!((carbon.buy_g() - 276.0).abs() < 1e-6);
        assert!((bill.peel_ply_m2 - 0.69).abs() < 1e-9);
        assert!((bill.bag_m2 - 2.3 * 0.6 * 1.25).abs() < 1e-9);
        assert_eq!(bill.strip, None);
        // A strip of 50 mm by 2 m, 0.1 m2: as much of each ply, with its resin and waste, in the totals.
        let size = StripSize {
            flange_mm: 25.0,
            lap_mm: 25.0,
            length_mm: 2000.0,
        };
        let strip = Some(size);
        let with = add_up(&laminate, Areas { strip, ..areas }, &[0.6e6; 3], 0.15);
        for ((with, bare), plies) in with.cloths.iter().zip(&bill.cloths).zip([2.0, 1.0]) {
            assert!((with.buy_m2 - bare.buy_m2 - 0.115 * plies).abs() < 1e-9);
        }
        let strip = with.strip.unwrap();
        assert!((strip.buy_m2 - 0.345).abs() < 1e-9);
        assert!((with.resin_g - bill.resin_g - strip.resin_g).abs() < 1e-9);
    }
}
