//! Cutting the flange free of what stands on the tray.

use super::foot::tray_height;
use super::profile::Profile;
use super::stance::Stance;
use super::{PanelFault, PanelOptions, Relief, Section, loft::Loft};
use crate::diag::Finding;
use crate::gap::{Obstacle, Survey};
use crate::math::Point2;
use crate::mesh::{Solid, boolean};

/// What stands no higher than this above the tray is left to the glue line (mm).
const LEAST_HEIGHT_MM: f64 = 1.5;
/// A tooth of flange narrower than this between two cuts, or a cut and an end, goes as well (mm).
const LEAST_TOOTH_MM: f64 = 6.0;
/// The cutter reaches this far past the flange's tip and under the tray (mm).
const PAST_TIP_MM: f64 = 2.0;
const UNDER_TRAY_MM: f64 = 3.0;
/// The cutter reaches this far past the outside of the face where the face itself is cut (mm).
const PAST_FACE_MM: f64 = 2.0;
/// Room between a cut in the flange and the inside of the face, which stays whole (mm).
const BESIDE_FACE_MM: f64 = 0.3;
/// Least band of face left over a cut through its foot, in walls.
const BAND_WALLS: f64 = 2.0;
/// Length between the cutter's outlines (mm).
const CUTTER_STEP_MM: f64 = 3.0;

/// One cut: where it lies and how far out it goes.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Zone {
    along: [f64; 2],
    /// Outermost offset of what stands there, without room (mm).
    outermost: f64,
    height: f64,
}

/// The panel's own lines, read between sections.
struct Guide {
    tip: Profile,
    face: Profile,
    inside: Profile,
    top: Profile,
}

/// Cuts `whole` free of every obstacle that reaches it, with the room asked for. A cut is open towards
/// the inboard side, so that the panel still slides into place.
///
/// # Errors
/// [`PanelFault::Relief`] where a cut leaves no solid.
pub fn cut(
    whole: Solid,
    survey: &Survey,
    stances: &[Stance],
    sections: &[Section],
    options: &PanelOptions,
    findings: &mut Vec<Finding>,
) -> Result<(Solid, Vec<Relief>), PanelFault> {
    let profile = |value: &dyn Fn(usize) -> f64| {
        let along = stances.iter().map(|stance| stance.s).collect();
        Profile::new(along, (0..stances.len()).map(value).collect())
    };
    let guide = Guide {
        tip: profile(&|i| stances[i].outside.tip.x),
        face: profile(&|i| stances[i].outside.foot.x),
        inside: profile(&|i| sections[i].hidden_face[0].x),
        top: profile(&|i| sections[i].hidden_face[1].y),
    };
    let (Some(first), Some(last)) = (stances.first(), stances.last()) else {
        return Ok((whole, Vec::new()));
    };
    let zones = merge(zones(survey, &guide, [first.s, last.s], options.relief_mm));
    let mut cutters = Vec::new();
    let mut reliefs = Vec::new();
    for zone in &zones {
        let zone = to_ends(*zone, [first.s, last.s]);
        cutters.push(cutter(&zone, survey, &guide, options, findings)?);
        reliefs.push(Relief {
            along: zone.along,
            height: zone.height,
        });
    }
    if cutters.is_empty() {
        return Ok((whole, reliefs));
    }
    let fault = |reason: String| PanelFault::Relief {
        station_mm: zones.first().map_or(0.0, |zone| zone.along[0]),
        reason,
    };
    let solid = boolean::subtract(&whole, &cutters.iter().collect::<Vec<_>>())
        .map_err(|e| fault(e.to_string()))?
        .ok_or_else(|| fault("nothing of the panel is left".into()))?;
    Ok((solid, reliefs))
}

/// What stands high enough within the panel's foot, with room round it.
fn zones(survey: &Survey, guide: &Guide, ends: [f64; 2], room: f64) -> Vec<Zone> {
    let reaches = |o: &Obstacle| {
        let [from, to] = [o.along[0] - room, o.along[1] + room];
        if !(o.height > LEAST_HEIGHT_MM && from < ends[1] && to > ends[0]) {
            return None;
        }
        let steps = ((to - from) / CUTTER_STEP_MM).ceil().clamp(1.0, 1e5) as usize;
        let hit = (0..=steps).any(|i| {
            let s = from + (to - from) * i as f64 / steps as f64;
            o.across[1] + room > guide.tip.at(s) && o.across[0] - room < guide.face.at(s)
        });
        hit.then_some(Zone {
            along: [from, to],
            outermost: o.across[1],
            height: o.height,
        })
    };
    survey.obstacles.iter().filter_map(reaches).collect()
}

/// Joins cuts that overlap or would leave a narrow tooth between them.
fn merge(mut zones: Vec<Zone>) -> Vec<Zone> {
    zones.sort_by(|a, b| a.along[0].total_cmp(&b.along[0]));
    let mut merged: Vec<Zone> = Vec::new();
    for zone in zones {
        match merged.last_mut() {
            Some(last) if zone.along[0] < last.along[1] + LEAST_TOOTH_MM => {
                last.along[1] = last.along[1].max(zone.along[1]);
                last.outermost = last.outermost.max(zone.outermost);
                last.height = last.height.max(zone.height);
            }
            _ => merged.push(zone),
        }
    }
    merged
}

/// A cut that nearly reaches an end of the panel goes through it.
fn to_ends(mut zone: Zone, ends: [f64; 2]) -> Zone {
    if zone.along[0] < ends[0] + LEAST_TOOTH_MM {
        zone.along[0] = ends[0] - PAST_TIP_MM;
    }
    if zone.along[1] > ends[1] - LEAST_TOOTH_MM {
        zone.along[1] = ends[1] + PAST_TIP_MM;
    }
    zone
}

/// The body to take away for one cut.
fn cutter(
    zone: &Zone,
    survey: &Survey,
    guide: &Guide,
    options: &PanelOptions,
    findings: &mut Vec<Finding>,
) -> Result<Solid, PanelFault> {
    let [from, to] = zone.along;
    let middle = 0.5 * (from + to);
    let steps = ((to - from) / CUTTER_STEP_MM).ceil().clamp(1.0, 1e5) as usize;
    let places: Vec<f64> = (0..=steps)
        .map(|i| from + (to - from) * i as f64 / steps as f64)
        .collect();
    let tray = |s: f64, x: f64| tray_height(&survey.tray, s, x);
    // Height a cut through the face may have, so that a band of it stays; the least along the cut.
    let face_room = places
        .iter()
        .map(|&s| guide.top.at(s) - tray(s, guide.face.at(s)) - BAND_WALLS * options.wall_mm)
        .fold(f64::INFINITY, f64::min)
        .max(options.wall_mm);
    let through_face = places
        .iter()
        .any(|&s| zone.outermost > guide.inside.at(s) - BESIDE_FACE_MM);
    let wanted = zone.height + options.relief_mm;
    let over_flange = 1.6 * options.wall_mm + options.fillet_mm + 1.0;
    let height = if through_face {
        wanted.max(over_flange).min(face_room)
    } else {
        over_flange
    };

    let outlines: Vec<[Point2; 4]> = places
        .iter()
        .map(|&s| {
            let inner = guide.tip.at(s) - PAST_TIP_MM;
            let outer = if through_face {
                guide.face.at(s) + PAST_FACE_MM
            } else {
                (zone.outermost + options.relief_mm)
                    .min(guide.inside.at(s) - BESIDE_FACE_MM)
                    .max(inner + 0.5 * PAST_TIP_MM)
            };
            let (z_in, z_out) = (tray(s, inner), tray(s, outer));
            // Under a lip that leans over the flange the cut stays below it.
            let over = |z: f64| {
                let below_lip = if through_face {
                    f64::INFINITY
                } else {
                    guide.top.at(s) - z
                };
                z + height.min(below_lip.max(1.3 * options.wall_mm))
            };
            [
                Point2::new(inner, z_in - UNDER_TRAY_MM),
                Point2::new(outer, z_out - UNDER_TRAY_MM),
                Point2::new(outer, over(z_out)),
                Point2::new(inner, over(z_in)),
            ]
        })
        .collect();
    findings.push(if through_face {
        let hint = if wanted > face_room {
            "it is taller than the gap leaves room for: move it, or expect to cut the panel by hand"
        } else {
            "a hole shows in the face there: move what stands there, if it can be moved"
        };
        Finding::warning(
            "face-notched",
            format!("something {:.1} mm high stands under the face; its foot is cut out", zone.height),
            hint,
        )
    } else {
        Finding::note(
            "flange-relieved",
            format!("the flange is cut free of something {:.1} mm high", zone.height),
        )
    }
    .at(middle)
    .size(to - from));
    let placed = places
        .iter()
        .copied()
        .zip(outlines.iter().map(|o| o.as_slice()));
    let loft = Loft::new(&survey.spine, placed, &[[0, 1, 2], [0, 2, 3]]);
    Solid::new(loft.mesh().clone()).map_err(|e| PanelFault::Relief {
        station_mm: middle,
        reason: e.to_string(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cuts_that_leave_a_thin_tooth_become_one() {
        let zone = |from, to, outermost, height| Zone {
            along: [from, to],
            outermost,
            height,
        };
        let merged = merge(vec![
            zone(200.0, 220.0, -9.0, 4.0),
            zone(100.0, 120.0, -12.0, 5.0),
            zone(124.0, 130.0, -8.0, 3.0),
        ]);
        assert_eq!(
            merged,
            [zone(100.0, 130.0, -8.0, 5.0), zone(200.0, 220.0, -9.0, 4.0)]
        );
        assert_eq!(to_ends(merged[0], [96.0, 400.0]).along, [94.0, 130.0]);
    }
}
