//! The faired lines a panel is built from: outside of the face, height of the top, course of the lip.

use super::fair::{Fairing, fair};
use super::fairness::{Fairness, Left};
use super::profile::Profile;
use super::{LineUp, PanelFault, PanelOptions, Shape, Top};
use crate::diag::Finding;
use crate::gap::{EdgeKind, Survey};
use crate::math::{Point2, Spine};

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
const STEEPEST_FACE: f64 = 0.4;
/// The knee stays this far under the edge, paint aside (mm).
pub const KNEE_ROOM_MM: f64 = 0.7;

/// Length over which the level is averaged that a leaned skin is placed at (mm).
const LEVEL: Fairing = Fairing {
    length_mm: 300.0,
    least_bound: f64::MAX,
    greatest_bound: f64::MAX,
};
/// Tangent of the lean below which a knee is no longer moved along the skin.
const UPRIGHT: f64 = 0.05;
/// A knee that gives way along the skin stays between the heights found this far to either side (mm).
const KNEE_REACH_MM: f64 = 40.0;
/// A face that is short of the silhouette by less than this is not told (mm).
const HELD_MM: f64 = 0.5;
/// Least length of a lip (mm).
const LEAST_LIP_MM: f64 = 2.0;

/// Where the outside of the panel goes, along the spine.
#[derive(Debug, Clone)]
pub struct Lines {
    /// Height of the top land, or of the knee under a lip (mm).
    pub height: Profile,
    /// Arc lengths of the usable stations (mm), rising.
    pub stations: Vec<f64>,
    /// Lean of the body's skin over the edge (rad), positive inboard going up.
    pub skin_lean: Profile,
    top: Top,
    course: Course,
    left: Vec<Left>,
    /// Where the face could not come out as far as asked, and by how much it is short (mm).
    held: Option<(f64, f64)>,
}

/// What runs along the top.
#[derive(Debug, Clone)]
enum Course {
    /// A land, with the outward offset of the face's outside.
    Land(Profile),
    Lip(Box<LipCourse>),
}

/// The lip lies in the skin's own surface, set back by the room behind it. A step or a notch cut into
/// one skin then leaves the lip fair: only its ends move.
#[derive(Debug, Clone)]
struct LipCourse {
    /// Offset of the lip's outside (mm) at `level`.
    skin: Profile,
    /// A height near the edge that runs without steps (mm).
    level: Profile,
    /// Lean (rad), positive inboard going up.
    lean: Profile,
    /// Height of the lip's top (mm).
    summit: Profile,
    /// How far the face stands inboard of where the lip's surface meets the knee (mm).
    inboard: Profile,
}

/// A lip above the knee.
#[derive(Debug, Clone, Copy)]
pub struct Lip {
    /// Lean (rad), positive inboard going up.
    pub lean: f64,
    /// Length from the knee (mm).
    pub length: f64,
}

/// Stations with their values.
struct Faired<'a> {
    seen: &'a [Seen],
    stations: Vec<f64>,
    sigmas: Vec<f64>,
}

impl Faired<'_> {
    fn of(&self, value: impl Fn(usize, &Seen) -> f64, fairing: Fairing) -> Vec<f64> {
        let values: Vec<f64> = self
            .seen
            .iter()
            .enumerate()
            .map(|(i, p)| value(i, p))
            .collect();
        fair(&self.stations, &values, &self.sigmas, fairing)
    }

    /// How far faired heights and offsets leave the stations.
    fn left(
        &self,
        (up, height): (&[f64], impl Fn(usize, &Seen) -> f64),
        (out, offset): (&[f64], impl Fn(usize, &Seen) -> f64),
    ) -> Vec<Left> {
        let faired = self.seen.iter().zip(up).zip(out).enumerate();
        faired
            .map(|(i, ((seen, up), out))| Left {
                s: seen.s,
                up: up - height(i, seen),
                out: out - offset(i, seen),
            })
            .collect()
    }

    fn profile(&self, values: Vec<f64>) -> Profile {
        Profile::new(self.stations.clone(), values)
    }
}

impl Lines {
    /// Fairs the survey's stations.
    ///
    /// # Errors
    /// [`PanelFault::TooFewStations`].
    pub fn from_survey(survey: &Survey, options: &PanelOptions) -> Result<Self, PanelFault> {
        let top = options.top_for(survey.edge_kind);
        let seen = read_stations(survey, top, options);
        if seen.len() < 2 {
            return Err(PanelFault::TooFewStations { found: seen.len() });
        }
        let faired = Faired {
            stations: seen.iter().map(|p| p.s).collect(),
            sigmas: seen.iter().map(|p| p.sigma).collect(),
            seen: &seen,
        };
        let shapes: Vec<Shape> = seen.iter().map(|p| options.shape_at(p.s)).collect();
        Ok(match top {
            Top::Butted => Self::with_land(&faired, &shapes, options),
            Top::Tucked | Top::Lapped => Self::with_lip(&faired, &shapes, top, options),
        })
    }

    fn with_land(faired: &Faired, shapes: &[Shape], options: &PanelOptions) -> Self {
        // Breadth of the top, and from the line over the edge to the outside.
        let broad = |i: usize| shapes[i].wall_top + shapes[i].overlay;
        let out = |i: usize, p: &Seen| match options.line_up {
            LineUp::Edge => 0.5 * broad(i),
            LineUp::Silhouette => (p.skin_x - p.edge_x).clamp(0.5 * broad(i), broad(i)),
        };
        let offset = |i: usize, p: &Seen| p.edge_x + out(i, p) - shapes[i].setback;
        let under = |i: usize, p: &Seen| p.edge_z - shapes[i].seal - options.paint_mm;
        let mut face = faired.of(offset, LINE);
        let height = faired.of(under, LINE);
        let left = faired.left((&height, under), (&face, offset));
        hold_slope(&faired.stations, &mut face, STEEPEST_FACE);
        let short = |(i, p): (usize, &Seen)| (p.s, p.skin_x - p.edge_x - out(i, p));
        let held = faired.seen.iter().enumerate().map(short);
        let held = held
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|held| options.line_up == LineUp::Silhouette && held.1 > HELD_MM);
        Self {
            left,
            height: faired.profile(height),
            stations: faired.stations.clone(),
            skin_lean: faired.profile(faired.of(|_, p| p.lean, LEAN)),
            top: Top::Butted,
            course: Course::Land(faired.profile(face)),
            held,
        }
    }

    fn with_lip(faired: &Faired, shapes: &[Shape], top: Top, options: &PanelOptions) -> Self {
        let room = options.clearance_mm + 2.0 * options.paint_mm;
        // From the skin's surface to the outside of the finished lip, inboard.
        let inset = |i: usize| match top {
            Top::Lapped => -(room + shapes[i].wall_top + shapes[i].overlay),
            Top::Tucked | Top::Butted => room + shapes[i].setback,
        };
        let lean = faired.of(|_, p| p.lean, LEAN);
        let level = faired.of(|_, p| p.edge_z, LEVEL);
        let edge = faired.of(|_, p| p.edge_z, LINE);
        let in_skin = |i: usize, p: &Seen| {
            p.edge_x + (p.edge_z - level[i]) * lean[i].tan() - inset(i) / lean[i].cos()
        };
        let skin = faired.of(in_skin, LINE);
        let left = faired.left((&edge, |_, p: &Seen| p.edge_z), (&skin, in_skin));
        let wanted: Vec<f64> = edge
            .iter()
            .map(|z| z - options.paint_mm - KNEE_ROOM_MM)
            .collect();
        let along_skin = |i: usize, z: f64| skin[i] - (z - level[i]) * lean[i].tan();
        let mut face: Vec<f64> = (0..lean.len()).map(|i| along_skin(i, wanted[i])).collect();
        let free = face.clone();
        // Behind a skin the face stays on the inboard side of a jump, outside of one on the outboard side.
        let side = if top == Top::Lapped { -1.0 } else { 1.0 };
        face.iter_mut().for_each(|x| *x *= side);
        hold_slope(&faired.stations, &mut face, STEEPEST_FACE);
        face.iter_mut().for_each(|x| *x *= side);
        // Where the face has to stay off a jump, the knee follows it along the skin.
        let knee: Vec<f64> = (0..lean.len())
            .map(|i| {
                let slope = lean[i].tan();
                let shift = (free[i] - face[i]) * slope / (slope * slope + UPRIGHT * UPRIGHT);
                let [least, most] = range_near(&faired.stations, &wanted, i);
                (wanted[i] + shift).clamp(least, most)
            })
            .collect();
        let inboard = (0..lean.len())
            .map(|i| along_skin(i, knee[i]) - face[i])
            .collect();
        // A lip outside of a rolled edge laps the skin above the roll.
        let roll = faired.of(|_, p| p.roll, LINE);
        let summit = (0..lean.len())
            .map(|i| match top {
                Top::Lapped => edge[i] + roll[i] + shapes[i].lap * lean[i].cos(),
                Top::Tucked | Top::Butted => {
                    edge[i] - inset(i) * lean[i].sin() + shapes[i].tuck * lean[i].cos()
                }
            })
            .collect();
        let lean = faired.profile(lean);
        Self {
            left,
            height: faired.profile(knee),
            stations: faired.stations.clone(),
            skin_lean: lean.clone(),
            top,
            course: Course::Lip(Box::new(LipCourse {
                skin: faired.profile(skin),
                level: faired.profile(level),
                lean,
                summit: faired.profile(summit),
                inboard: faired.profile(inboard),
            })),
            held: None,
        }
    }

    /// A note where the outside could not be lined up with the silhouette.
    pub fn finding(&self) -> Option<Finding> {
        let (s, short) = self.held?;
        Some(
            Finding::note(
                "face-held",
                format!(
                    "the face stays {short:.1} mm inboard of the body's silhouette, so that its top still \
                     reaches under the edge"
                ),
            )
            .at(s)
            .size(short),
        )
    }

    /// How far the lines leave the measured edge.
    pub fn fairness(&self) -> Fairness {
        Fairness::of(&self.left)
    }

    /// How the top meets the body.
    pub fn top(&self) -> Top {
        self.top
    }

    /// Outward offset of the face's outside at arc length `s` (mm).
    pub fn face(&self, s: f64) -> f64 {
        match &self.course {
            Course::Land(face) => face.at(s),
            Course::Lip(lip) => {
                let above = self.height.at(s) - lip.level.at(s);
                lip.skin.at(s) - above * lip.lean.at(s).tan() - lip.inboard.at(s)
            }
        }
    }

    /// The lip above the knee at arc length `s` (mm), where there is one.
    pub fn lip(&self, s: f64) -> Option<Lip> {
        let Course::Lip(course) = &self.course else {
            return None;
        };
        let lean = course.lean.at(s);
        let length = (course.summit.at(s) - self.height.at(s)) / lean.cos();
        Some(Lip {
            lean,
            length: length.max(LEAST_LIP_MM),
        })
    }

    /// Arc lengths to put sections at: the stations, and more between them where they lie far apart,
    /// the spine turns, or the lines run fast.
    pub fn section_places(&self, spine: &Spine, options: &PanelOptions) -> Vec<f64> {
        const FURTHEST_MM: f64 = 6.0;
        const MOST_TURN: f64 = 0.07;
        const MOST_RISE_MM: f64 = 3.0;
        const MOST_RUN_MM: f64 = 1.0;
        const BLEND_PARTS: f64 = 16.0;
        let mut places: Vec<f64> = self.stations.first().copied().into_iter().collect();
        for pair in self.stations.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let bend = [a, 0.5 * (a + b), b]
                .map(|s| spine.curvature_at(s).abs())
                .into_iter()
                .fold(0.0, f64::max);
            let blend = options
                .blends()
                .filter(|[from, to]| *from < b && *to > a)
                .map(|[from, to]| (to - from) / BLEND_PARTS)
                .fold(f64::INFINITY, f64::min);
            let wanted = [
                (b - a) / FURTHEST_MM,
                (b - a) / blend,
                bend * (b - a) / MOST_TURN,
                (self.height.at(b) - self.height.at(a)).abs() / MOST_RISE_MM,
                (self.face(b) - self.face(a)).abs() / MOST_RUN_MM,
            ];
            let most = ((b - a) / LEAST_SPACING_MM).floor().max(1.0);
            let parts = wanted.into_iter().fold(1.0, f64::max).ceil().min(most) as usize;
            places.extend((1..=parts).map(|i| a + (b - a) * i as f64 / parts as f64));
        }
        places
    }
}

/// The usable stations, rising along the spine.
fn read_stations(survey: &Survey, top: Top, options: &PanelOptions) -> Vec<Seen> {
    let mut seen: Vec<Seen> = survey
        .stations
        .iter()
        .map(|station| {
            let frame = survey.spine.frame_at(station.s);
            let edge = frame.to_section(station.edge);
            let skin = frame.to_section(station.silhouette);
            let lean = station.lean.clamp(-MOST_LEAN, MOST_LEAN);
            let edge_x = match top {
                Top::Butted => edge.x,
                Top::Tucked => edge.x - hidden_skin(edge, skin, lean, options.skin_mm),
                // The outside of the skin, carried on down to the edge's height.
                Top::Lapped => skin.x - (edge.y - skin.y) * lean.tan(),
            };
            Seen {
                s: station.s,
                edge_x,
                skin_x: skin.x,
                roll: match survey.edge_kind {
                    EdgeKind::Rolled => (skin.y - edge.y).clamp(0.0, 2.0 * survey.edge_radius_mm),
                    EdgeKind::Cut => 0.0,
                },
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
    seen
}

/// Least and greatest value within reach of a station.
fn range_near(along: &[f64], values: &[f64], i: usize) -> [f64; 2] {
    let from = along.partition_point(|&s| s < along[i] - KNEE_REACH_MM);
    let to = along.partition_point(|&s| s <= along[i] + KNEE_REACH_MM);
    values[from..to]
        .iter()
        .fold([values[i]; 2], |[least, most], &v| {
            [least.min(v), most.max(v)]
        })
}

/// What one station says, in its own plane.
struct Seen {
    s: f64,
    edge_x: f64,
    edge_z: f64,
    /// Outermost of the skin.
    skin_x: f64,
    /// Height of a roll below the skin proper.
    roll: f64,
    lean: f64,
    sigma: f64,
}

impl Seen {
    fn is_finite(&self) -> bool {
        [
            self.s,
            self.edge_x,
            self.edge_z,
            self.skin_x,
            self.lean,
            self.sigma,
        ]
        .iter()
        .all(|v| v.is_finite())
    }
}

/// How far inboard of the surveyed edge the back of a cut skin may lie (mm), judged by the outside of
/// the skin. A scan from outside cannot see the thickness, so the edge may sit up to a skin too far
/// out; it cannot sit further out than that.
pub fn hidden_skin(edge: Point2, skin: Point2, lean: f64, skin_mm: f64) -> f64 {
    let back = skin.x - skin_mm / lean.cos() - (edge.y - skin.y) * lean.tan();
    (edge.x - back).clamp(0.0, skin_mm)
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
