//! The laminate planned over the surface it covers: what it takes, and what is to be minded.

use super::bill::{Areas, Bill, add_up};
use super::cloth::{ClothSet, cut_cloth};
use super::covered::{Covered, Stretch};
use super::layup::{LayupOptions, Way};
use super::stiffness::Bends;
use super::strip::StripSize;
use crate::diag::Finding;
use crate::material::Material;
use crate::math::{Point2, Spine};

/// Slope of a core's edge where the laminate runs out over it (rad). Common practice, no source: fibres
/// that turn more in one go part from the core and do not carry.
const CHAMFER: f64 = 30.0 * std::f64::consts::PI / 180.0;
/// Cloth does not lie round an outside corner sharper than this (mm). Common practice, no source.
pub const LEAST_ROUND_MM: f64 = 3.0;
/// A corner of the section that turns more is an edge to be rounded (rad).
const EDGE: f64 = 20.0 * std::f64::consts::PI / 180.0;

/// A print set in by so much less or more than what goes on is told (mm).
const PROUD_MM: f64 = 0.05;

/// What is done to a core before the cloth goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoreEdge {
    /// Length over which the core's free edges are chamfered, for its wall (mm).
    pub chamfer_mm: f64,
    /// Radius to which its outside corners are rounded (mm).
    pub round_mm: f64,
    /// Where such a corner is sharpest (arc length, mm), and how far it turns (rad), if there is any.
    pub sharpest: Option<(f64, f64)>,
}

/// A core's outside in one station plane and what goes on it, in (x outward, z up), mm, from foot to top.
#[derive(Debug, Clone, PartialEq)]
pub struct LayupSection {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// The print's outside.
    pub face: Vec<Point2>,
    /// The laminate's outside.
    pub laid: Vec<Point2>,
    /// The finished outside.
    pub finished: Vec<Point2>,
}

/// The laminate over its surface.
#[derive(Debug, Clone)]
pub struct Layup {
    /// What the job says.
    pub options: LayupOptions,
    /// What it covers.
    pub areas: Areas,
    /// What it takes.
    pub bill: Bill,
    /// What is done to a core's edges, where there is a core.
    pub core: Option<CoreEdge>,
    /// A core in section, with what goes on it.
    pub section: Option<LayupSection>,
    /// How much a lifted laminate bends against the plastic wall; `None` where a core stays in.
    pub bends: Option<Bends>,
    /// The pieces of cloth.
    pub sets: Vec<ClothSet>,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}

/// What the laminate lies on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Under {
    /// The print's plastic.
    pub material: Material,
    /// The hottest the part gets (degrees C).
    pub hot_c: f64,
    /// The panel's wall in plastic, that of a core (mm).
    pub wall_mm: f64,
    /// The strip for the flange, where one is laid up afterwards.
    pub strip: Option<StripSize>,
    /// How far the print lies inside of the finished outside (mm).
    pub set_in_mm: f64,
}

/// Plans the laminate over a surface on a print.
#[must_use]
pub fn plan(covered: &Covered, spine: &Spine, options: &LayupOptions, under: Under) -> Layup {
    let areas = Areas {
        part: covered.area_mm2(spine, Stretch::Part),
        cloth: covered.area_mm2(spine, Stretch::Cloth),
        spread: covered.spread(spine),
        strip: under.strip,
    };
    let mut findings = options.findings(under.material);
    let bends = (options.way == Way::Buck)
        .then(|| {
            let plastic = under.material.stiffness().at(under.hot_c);
            Bends::of(&options.laminate, plastic, under.wall_mm)
        })
        .flatten();
    findings.extend(bends.as_ref().and_then(Bends::finding));
    let core = (options.way == Way::Core).then(|| {
        let sharpest = covered
            .sharpest()
            .map(|(turn, s)| (s, turn))
            .filter(|(_, turn)| *turn > EDGE);
        CoreEdge {
            chamfer_mm: under.wall_mm / CHAMFER.tan(),
            round_mm: LEAST_ROUND_MM,
            sharpest,
        }
    });
    if let Some((s, turn)) = core.as_ref().and_then(|core| core.sharpest) {
        findings.push(
            Finding::note(
                "core-edge-sharp",
                format!(
                    "the core's outside turns {:.0} degrees in one corner; round it to {LEAST_ROUND_MM:.0} mm before the \
                     cloth goes on, or it lifts off there",
                    turn.to_degrees()
                ),
            )
            .at(s),
        );
    }
    let on_top = match options.way {
        Way::Buck => options.on_top().total(),
        Way::Core | Way::None => options.overlay_mm(),
    };
    let proud = on_top - under.set_in_mm;
    if proud.abs() > PROUD_MM {
        findings.push(
            Finding::warning(
                "laminate-not-allowed-for",
                format!(
                    "what goes on the print comes to {on_top:.2} mm, and the print is set in by {:.2} mm: the finished \
                     outside comes out {:.2} mm {}",
                    under.set_in_mm,
                    proud.abs(),
                    if proud > 0.0 { "proud" } else { "low" }
                ),
                "sand, fill or lay up as much less or more, or check that the gap takes it",
            )
            .size(proud),
        );
    }
    let plies = &options.laminate.plies;
    let (sets, creases) = cut_cloth(covered, spine, plies, &options.cut);
    findings.extend(creases);
    let cut: Vec<f64> = (1..=plies.len())
        .map(|number| {
            let of = sets.iter().find(|set| set.plies.contains(&number));
            of.map_or(areas.cloth, ClothSet::area)
        })
        .collect();
    let section = core.as_ref().and_then(|_| {
        let thick = options.laminate.thickness_mm();
        let (s, [face, laid, finished]) = covered.laid_on(spine, [0.0, thick, on_top])?;
        Some(LayupSection {
            s,
            face,
            laid,
            finished,
        })
    });
    Layup {
        section,
        bends,
        sets,
        bill: add_up(&options.laminate, areas, &cut, options.cut.waste),
        options: options.clone(),
        areas,
        core,
        findings,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gap::EdgeKind;
    use crate::panel::PanelOptions;
    use crate::panel::samples::{Gap, straight};
    use crate::progress::Progress;

    /// A tucked panel's face meets its lip in a sharp corner; a core that is not set in stands proud.
    #[test]
    fn a_sharp_corner_and_a_core_that_is_not_set_in_are_told() {
        let gap = Gap {
            lean: |_| 0.35,
            ..Gap::plain(straight(400.0), EdgeKind::Cut)
        };
        let survey = gap.survey();
        let panel =
            crate::panel::design(&survey, &PanelOptions::default(), &Progress::silent()).unwrap();
        let covered = Covered::core(&panel, 15.0).unwrap();
        let options = LayupOptions {
            way: Way::Core,
            assumed: false,
            ..LayupOptions::default()
        };
        let on = |set_in_mm| {
            let under = Under {
                material: Material::Petg,
                hot_c: 70.0,
                wall_mm: 3.0,
                strip: None,
                set_in_mm,
            };
            let layup = plan(&covered, &survey.spine, &options, under);
            let codes: Vec<&str> = layup.findings.iter().map(|f| f.code).collect();
            (codes, layup)
        };
        let (codes, layup) = on(0.0);
        assert_eq!(codes, ["core-edge-sharp", "laminate-not-allowed-for"]);
        // 3 mm at 30 degrees: 5.196 mm by hand.
        // A core stays in and stiffens it.
        assert_eq!(layup.bends, None);
        assert!((layup.core.unwrap().chamfer_mm - 5.196).abs() < 1e-3);
        assert_eq!(on(options.overlay_mm()).0, ["core-edge-sharp"]);
    }
}
