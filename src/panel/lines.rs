//! The faired lines a panel is built from: outside of the face, height of the top, lean of the lip.

use super::fair::{Fairing, fair};
use super::profile::Profile;
use super::{PanelFault, PanelOptions, Top};
use crate::gap::{EdgeKind, Survey};
use crate::math::Spine;

/// Noise is averaged over this length (mm): shorter than a notch one would want to see followed.
const FAIRING_MM: f64 = 70.0;
/// The faired lines stay within 0.75 to 1.3 mm of the stations: a 20 mm notch is kept, voxel noise not.
const LINE: Fairing = Fairing {
    length_mm: FAIRING_MM,
    least_bound: 0.75,
    greatest_bound: 1.3,
};
/// The same for the lean (rad): 0.05 over a tuck of 10 mm is half a millimetre.
const LEAN: Fairing = Fairing {
    length_mm: FAIRING_MM,
    least_bound: 0.05,
    greatest_bound: 0.12,
};
/// A lip does not lean further than this (rad): beyond it lies flat rather than stands.
const MOST_LEAN: f64 = 1.0;
/// Stations closer than this count as one (mm).
const LEAST_SPACING_MM: f64 = 0.5;
/// The face runs in or out no faster than this; where the edge jumps more, the face starts earlier and
/// stays on the inboard side.
const STEEPEST_FACE: f64 = 0.8;
/// The knee stays this far under the edge, paint aside (mm).
const KNEE_ROOM_MM: f64 = 0.7;

/// Where the outside of the panel goes, along the spine.
#[derive(Debug, Clone)]
pub struct Lines {
    /// How the top meets the body.
    pub top: Top,
    /// Outward offset of the face's outside (mm).
    pub face: Profile,
    /// Height of the top land, or of the knee under a lip (mm).
    pub height: Profile,
    /// Lean of the lip (rad), positive inboard going up.
    pub lean: Profile,
    /// Length of the lip from the knee, along the skin (mm); zeros for a land.
    pub lip: Profile,
    /// Arc lengths of the usable stations (mm), rising.
    pub stations: Vec<f64>,
}

impl Lines {
    /// Fairs the survey's stations.
    ///
    /// # Errors
    /// [`PanelFault::TooFewStations`].
    pub fn from_survey(survey: &Survey, options: &PanelOptions) -> Result<Self, PanelFault> {
        let top = options.top.unwrap_or(match survey.edge_kind {
            EdgeKind::Cut => Top::Tucked,
            EdgeKind::Rolled => Top::Butted,
        });
        let mut seen: Vec<Seen> = survey
            .stations
            .iter()
            .map(|station| {
                let frame = survey.spine.frame_at(station.s);
                let edge = frame.to_section(station.edge);
                let skin = frame.to_section(station.silhouette);
                let lean = station.lean.clamp(-MOST_LEAN, MOST_LEAN);
                Seen {
                    s: station.s,
                    edge_x: edge.x
                        - hidden_skin(edge.x, edge.y, skin.x, skin.y, lean, top, options),
                    edge_z: edge.y,
                    lean,
                    sigma: if station.sigma > 0.0 {
                        station.sigma
                    } else {
                        0.1
                    },
                }
            })
            .filter(Seen::is_finite)
            .collect();
        seen.sort_by(|a, b| a.s.total_cmp(&b.s));
        seen.dedup_by(|b, a| b.s - a.s < LEAST_SPACING_MM);
        if seen.len() < 2 {
            return Err(PanelFault::TooFewStations { found: seen.len() });
        }
        let stations: Vec<f64> = seen.iter().map(|p| p.s).collect();
        let sigmas: Vec<f64> = seen.iter().map(|p| p.sigma).collect();
        let faired = |value: fn(&Seen) -> f64, fairing| {
            let values: Vec<f64> = seen.iter().map(value).collect();
            fair(&stations, &values, &sigmas, fairing)
        };
        let edge_x = faired(|p| p.edge_x, LINE);
        let edge_z = faired(|p| p.edge_z, LINE);
        let lean = faired(|p| p.lean, LEAN);
        let (knee_drop, under) = match top {
            Top::Tucked => (
                options.paint_mm + KNEE_ROOM_MM,
                options.paint_mm + KNEE_ROOM_MM,
            ),
            Top::Butted => (0.0, options.seal_mm + options.paint_mm),
        };
        let room = options.clearance_mm + 2.0 * options.paint_mm;
        let lip = lean
            .iter()
            .map(|lean| match top {
                // The knee stands under the edge, and inboard of it by the room square to the skin.
                Top::Tucked => options.tuck_mm + (knee_drop - room * lean.sin()) / lean.cos(),
                Top::Butted => 0.0,
            })
            .collect();
        let mut face: Vec<f64> = edge_x
            .iter()
            .zip(&lean)
            .map(|(x, lean)| match top {
                Top::Tucked => x - room / lean.cos() + knee_drop * lean.tan(),
                Top::Butted => x + 0.5 * options.wall_mm,
            })
            .collect();
        hold_slope(&stations, &mut face, STEEPEST_FACE);
        let height = edge_z.iter().map(|z| z - under).collect();
        Ok(Self {
            top,
            face: Profile::new(stations.clone(), face),
            height: Profile::new(stations.clone(), height),
            lean: Profile::new(stations.clone(), lean),
            lip: Profile::new(stations.clone(), lip),
            stations,
        })
    }

    /// Arc lengths to put sections at: the stations, and more between them where they lie far apart,
    /// the spine turns, or the lines run fast.
    pub fn section_places(&self, spine: &Spine) -> Vec<f64> {
        const FURTHEST_MM: f64 = 6.0;
        const MOST_TURN: f64 = 0.07;
        const MOST_RISE_MM: f64 = 3.0;
        const MOST_RUN_MM: f64 = 1.0;
        let mut places: Vec<f64> = self.stations.first().copied().into_iter().collect();
        for pair in self.stations.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let bend = [a, 0.5 * (a + b), b]
                .map(|s| spine.curvature_at(s).abs())
                .into_iter()
                .fold(0.0, f64::max);
            let wanted = [
                (b - a) / FURTHEST_MM,
                bend * (b - a) / MOST_TURN,
                (self.height.at(b) - self.height.at(a)).abs() / MOST_RISE_MM,
                (self.face.at(b) - self.face.at(a)).abs() / MOST_RUN_MM,
            ];
            let most = ((b - a) / LEAST_SPACING_MM).floor().max(1.0);
            let parts = wanted.into_iter().fold(1.0, f64::max).ceil().min(most) as usize;
            places.extend((1..=parts).map(|i| a + (b - a) * i as f64 / parts as f64));
        }
        places
    }
}

/// What one station says, in its own plane.
struct Seen {
    s: f64,
    edge_x: f64,
    edge_z: f64,
    lean: f64,
    sigma: f64,
}

impl Seen {
    fn is_finite(&self) -> bool {
        [self.s, self.edge_x, self.edge_z, self.lean, self.sigma]
            .iter()
            .all(|v| v.is_finite())
    }
}

/// How far inboard of the surveyed edge the back of a cut skin may lie (mm), judged by the outside of
/// the skin. A scan from outside cannot see the thickness, so the edge may sit up to a skin too far
/// out; it cannot sit further out than that.
fn hidden_skin(
    edge_x: f64,
    edge_z: f64,
    skin_x: f64,
    skin_z: f64,
    lean: f64,
    top: Top,
    options: &PanelOptions,
) -> f64 {
    if top == Top::Butted {
        return 0.0;
    }
    let back = skin_x - options.skin_mm / lean.cos() - (edge_z - skin_z) * lean.tan();
    (edge_x - back).clamp(0.0, options.skin_mm)
}

/// Lowers values until none rises faster than `steepest` to either side.
pub fn hold_slope(along: &[f64], values: &mut [f64], steepest: f64) {
    for i in 1..values.len() {
        values[i] = values[i].min(values[i - 1] + steepest * (along[i] - along[i - 1]));
    }
    for i in (1..values.len()).rev() {
        values[i - 1] = values[i - 1].min(values[i] + steepest * (along[i] - along[i - 1]));
    }
}
