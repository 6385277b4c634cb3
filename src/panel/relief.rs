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
pub const LEAST_HEIGHT_MM: f64 = 1.5;
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

/// How far into the panel something stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Reach {
    /// Inboard of the face: only the flange has to give way.
    Flange,
    /// Under the face.
    Face,
}

/// One cut: where it lies and how far out it goes.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Zone {
    /// First and last arc length, with room (mm).
    along: [f64; 2],
    /// Outermost offset of what stands there, without room (mm).
    outermost: f64,
    height: f64,
    reach: Reach,
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
    let ends = [first.s, last.s];
    let found = survey
        .obstacles
        .iter()
        .filter_map(|obstacle| guide.judge(obstacle, survey, ends, options, findings))
        .collect();
    let zones: Vec<Zone> = merge(found)
        .into_iter()
        .map(|zone| to_ends(zone, ends))
        .collect();
    let mut cutters = Vec::new();
    let mut reliefs = Vec::new();
    for zone in &zones {
        findings.push(zone.finding());
        cutters.push(cutter(zone, survey, &guide, options)?);
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

impl Guide {
    /// What an obstacle asks of the panel: a cut, a finding, or nothing.
    fn judge(
        &self,
        obstacle: &Obstacle,
        survey: &Survey,
        ends: [f64; 2],
        options: &PanelOptions,
        findings: &mut Vec<Finding>,
    ) -> Option<Zone> {
        let room = options.relief_mm;
        let along = [obstacle.along[0] - room, obstacle.along[1] + room];
        let meets_panel = along[0] < ends[1] && along[1] > ends[0];
        if obstacle.height.is_nan() || obstacle.height <= LEAST_HEIGHT_MM || !meets_panel {
            return None;
        }
        let [inner, outer] = obstacle.across;
        let (mut touched, mut reach, mut beside) = (false, Reach::Flange, false);
        let mut face_room = f64::INFINITY;
        for s in places(along) {
            let (tip, inside, face) = (self.tip.at(s), self.inside.at(s), self.face.at(s));
            let in_band = outer + room > tip;
            beside |= in_band && inner >= face && inner - room < face;
            touched |= in_band && inner < face;
            if in_band && inner < face && outer > inside - BESIDE_FACE_MM {
                reach = Reach::Face;
                face_room = face_room.min(self.face_room(survey, s, options));
            }
        }
        let middle = 0.5 * (along[0] + along[1]);
        let about = |code, what: String, hint: &str| {
            Finding::warning(code, what, hint)
                .at(middle)
                .size(obstacle.height)
        };
        if !touched {
            if beside {
                findings.push(about(
                    "tight-outside",
                    format!(
                        "something {:.1} mm high stands closer than {room:.1} mm to the outside of the face",
                        obstacle.height
                    ),
                    "see that the panel goes in past it",
                ));
            }
            return None;
        }
        if obstacle.height + room > face_room {
            findings.push(about(
                "face-blocked",
                format!(
                    "something {:.1} mm high stands where the face goes, as tall as the gap; the panel is not \
                     cut for it",
                    obstacle.height
                ),
                "move it, or split the panel there; if nothing stands there, clear the scan and run again",
            ));
            return None;
        }
        Some(Zone {
            along,
            outermost: outer,
            height: obstacle.height,
            reach,
        })
    }

    /// Height a cut through the face may have, so that a band of it stays (mm).
    fn face_room(&self, survey: &Survey, s: f64, options: &PanelOptions) -> f64 {
        let foot = tray_height(&survey.tray, s, self.face.at(s));
        self.top.at(s) - foot - BAND_WALLS * options.wall_mm
    }
}

impl Zone {
    fn finding(&self) -> Finding {
        let [from, to] = self.along;
        match self.reach {
            Reach::Face => Finding::warning(
                "face-notched",
                format!(
                    "something {:.1} mm high stands under the face; its foot is cut out",
                    self.height
                ),
                "a hole shows in the face there: move what stands there, if it can be moved",
            ),
            Reach::Flange => Finding::note(
                "flange-relieved",
                format!(
                    "the flange is cut free of something {:.1} mm high",
                    self.height
                ),
            ),
        }
        .at(0.5 * (from + to))
        .size(to - from)
    }
}

/// Arc lengths to look at or cut at along a stretch.
fn places([from, to]: [f64; 2]) -> impl Iterator<Item = f64> {
    let steps = ((to - from) / CUTTER_STEP_MM).ceil().clamp(1.0, 1e5) as usize;
    (0..=steps).map(move |i| from + (to - from) * i as f64 / steps as f64)
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
                last.reach = last.reach.max(zone.reach);
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
) -> Result<Solid, PanelFault> {
    let tray = |s: f64, x: f64| tray_height(&survey.tray, s, x);
    let over_flange = 1.6 * options.wall_mm + options.fillet_mm + 1.0;
    let outline = |s: f64| {
        let inner = guide.tip.at(s) - PAST_TIP_MM;
        let (outer, height) = match zone.reach {
            Reach::Face => {
                let height = over_flange.max(zone.height + options.relief_mm);
                (guide.face.at(s) + PAST_FACE_MM, height)
            }
            Reach::Flange => {
                let outer = (zone.outermost + options.relief_mm)
                    .min(guide.inside.at(s) - BESIDE_FACE_MM)
                    .max(inner + 0.5 * PAST_TIP_MM);
                (outer, over_flange)
            }
        };
        // A band of the face stays over the cut, and the lip above the flange is not touched.
        let most = match zone.reach {
            Reach::Face => guide.face_room(survey, s, options),
            Reach::Flange => guide.top.at(s) - tray(s, guide.face.at(s)),
        };
        let height = height.min(most.max(1.3 * options.wall_mm));
        let (z_in, z_out) = (tray(s, inner), tray(s, outer));
        [
            Point2::new(inner, z_in - UNDER_TRAY_MM),
            Point2::new(outer, z_out - UNDER_TRAY_MM),
            Point2::new(outer, z_out + height),
            Point2::new(inner, z_in + height),
        ]
    };
    let outlines: Vec<(f64, [Point2; 4])> = places(zone.along).map(|s| (s, outline(s))).collect();
    let placed = outlines.iter().map(|(s, corners)| (*s, corners.as_slice()));
    let loft = Loft::new(&survey.spine, placed, &[[0, 1, 2], [0, 2, 3]]);
    Solid::new(loft.mesh().clone()).map_err(|e| PanelFault::Relief {
        station_mm: 0.5 * (zone.along[0] + zone.along[1]),
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
            reach: Reach::Flange,
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
