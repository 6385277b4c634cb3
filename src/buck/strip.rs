//! The strip of laminate that becomes the flange of a lifted part: laid up afterwards, with the part in its
//! place, into the corner between tray and part.

use super::laminate::Laminate;
use crate::math::Point2;
use crate::panel::{Panel, Section};

/// How large the strip is (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripSize {
    /// As deep on the tray as the panel's flange is at its deepest.
    pub flange_mm: f64,
    /// So far up the part's hidden side.
    pub lap_mm: f64,
    /// As long as the panel is where it has a flange, from its first station to its last.
    pub length_mm: f64,
}

/// Depth of a section's flange (mm); `None` where it has none.
fn depth(section: &Section) -> Option<f64> {
    let across = |points: &[Point2]| {
        let xs = points.iter().map(|p| p.x);
        let (low, high) = xs.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| {
            (a.min(x), b.max(x))
        });
        high - low
    };
    match &section.outboard {
        Some(flange) => Some(across(flange)),
        None => {
            section.flange_top()?;
            // The underside runs from the flange's tip to the foot of the face.
            section.outline.get(..4).map(across)
        }
    }
}

impl StripSize {
    /// The strip that a panel's flange asks for; `None` for a panel without one. It goes as far up the hidden
    /// side as one piece of cloth laps the next, and no less than it is deep: common practice, no source.
    #[must_use]
    pub fn of(panel: &Panel, overlap_mm: f64) -> Option<Self> {
        let flanged: Vec<(f64, f64)> = panel
            .sections
            .iter()
            .filter_map(|section| Some((section.s, depth(section)?)))
            .collect();
        let flange_mm = flanged.iter().map(|(_, depth)| *depth).reduce(f64::max)?;
        let (first, last) = (flanged.first()?, flanged.last()?);
        Some(Self {
            flange_mm,
            lap_mm: flange_mm.max(overlap_mm),
            length_mm: last.0 - first.0,
        })
    }

    /// Its whole width (mm).
    #[must_use]
    pub fn width_mm(&self) -> f64 {
        self.flange_mm + self.lap_mm
    }

    /// What one ply of it measures (mm2).
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.width_mm() * self.length_mm
    }
}

/// The strip with what it takes, which the totals hold as well.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// How large it is.
    pub size: StripSize,
    /// How many plies it has: as many as the part.
    pub plies: usize,
    /// Cloth of all plies (m2).
    pub cut_m2: f64,
    /// The same with waste (m2).
    pub buy_m2: f64,
    /// Resin with its hardener, with waste (g).
    pub resin_g: f64,
    /// Its mass once cured (g).
    pub mass_g: f64,
}

impl Strip {
    /// A strip of the same plies as a laminate.
    #[must_use]
    pub fn of(size: StripSize, laminate: &Laminate, waste: f64) -> Self {
        let one_m2 = size.area_mm2() * 1e-6;
        let plies = laminate.plies.len();
        let cut_m2 = one_m2 * plies as f64;
        Self {
            size,
            plies,
            cut_m2,
            buy_m2: cut_m2 * (1.0 + waste),
            resin_g: one_m2 * laminate.resin_g_m2() * (1.0 + waste),
            mass_g: one_m2 * laminate.g_m2(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::buck::LayupOptions;
    use crate::gap::EdgeKind;
    use crate::panel::samples::{Gap, straight};
    use crate::panel::{FootKind, PanelOptions};
    use crate::progress::Progress;

    #[test]
    fn the_strip_is_as_long_and_as_deep_as_the_flange() {
        let gap = Gap::plain(straight(400.0), EdgeKind::Cut);
        let survey = gap.survey();
        let of = |foot| {
            let options = PanelOptions {
                foot,
                ..PanelOptions::default()
            };
            let panel = crate::panel::design(&survey, &options, &Progress::silent()).unwrap();
            let ends = [&panel.sections[0], panel.sections.last().unwrap()];
            (StripSize::of(&panel, 10.0), ends[1].s - ends[0].s)
        };
        for foot in [FootKind::Inboard, FootKind::Outboard] {
            let (size, length) = of(foot);
            let size = size.unwrap();
            // As the options ask: a flange of 25 mm, and as far up again.
            assert!((size.flange_mm - 25.0).abs() < 1.0, "{foot:?} {size:?}");
            assert_eq!(size.lap_mm, size.flange_mm);
            assert!((size.length_mm - length).abs() < 1e-9);
        }
        assert_eq!(of(FootKind::None).0, None);
    }

    /// By hand: 50 mm by 2 m of three plies of 300 g glass at 0.45, 166.0 g/m2 of resin each: 0.3 m2 of
    /// cloth, 0.345 with 15 %; 0.1 m2 x 498 g x 1.15 = 57.3 g of resin; 0.1 x (900 + 498) = 139.8 g.
    #[test]
    fn what_it_takes_adds_up() {
        let size = StripSize {
            flange_mm: 20.0,
            lap_mm: 30.0,
            length_mm: 2000.0,
        };
        let strip = Strip::of(size, &LayupOptions::default().laminate, 0.15);
        assert_eq!(strip.plies, 3);
        assert!((strip.cut_m2 - 0.3).abs() < 1e-9 && (strip.buy_m2 - 0.345).abs() < 1e-9);
        assert!((strip.resin_g - 57.3).abs() < 0.05, "{strip:?}");
        assert!((strip.mass_g - 139.8).abs() < 0.05, "{strip:?}");
    }
}
