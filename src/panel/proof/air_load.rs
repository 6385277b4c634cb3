//! What the air does to a panel held at its fixings: how far it bends, what that strains, what each
//! fixing carries, and how far apart they may be.
//!
//! Pressure is a coefficient times the dynamic pressure in the standard atmosphere (ISO 2533, 1.225 kg/m3).
//! Two bendings are added up: of the wall alone as a strip over the fixings, and of the face from foot to
//! top. Both leave out what the corner between flange and face stiffens, so they err on the soft side.
//! Estimates for choosing, not a certificate: no gusts, no flutter, no fatigue, no creep, no print faults.

use super::plate;
use super::strip::{IN_A_ROW, Row, Strip};
use super::walls::Walls;
use crate::diag::Finding;
use crate::material::Material;
use crate::panel::section::Corners;
use crate::panel::shape::Shape;
use crate::panel::{Mount, Panel, PanelOptions, Section, Top};

/// Air at sea level in the standard atmosphere (kg/m3), ISO 2533:1975.
const AIR_KG_M3: f64 = 1.225;
/// From an end to the nearest fixing, where none are planned yet (mm). Common practice, no source.
const INSET_MM: f64 = 20.0;

/// What the job says about the air.
#[derive(Debug, Clone, PartialEq)]
pub struct AirOptions {
    /// The fastest that the vehicle goes through the air (km/h).
    pub speed_kmh: f64,
    /// Pressure on the outside less that behind the panel, as a share of the dynamic pressure; negative
    /// pulls outward.
    pub pressure_coefficient: f64,
    /// How far the panel may bend (mm).
    pub limit_mm: f64,
}

impl Default for AirOptions {
    fn default() -> Self {
        Self {
            // A fast road. A side that is sucked on as hard as the air can push: front corners see more,
            // long sides a third (from memory).
            speed_kmh: 130.0,
            pressure_coefficient: -1.0,
            limit_mm: 1.5,
        }
    }
}

/// Dynamic pressure in the standard atmosphere (Pa).
#[must_use]
pub fn dynamic_pressure(speed_kmh: f64) -> f64 {
    let metres = speed_kmh / 3.6;
    0.5 * AIR_KG_M3 * metres * metres
}

/// Where the fixings that the proof goes by come from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Planned {
    /// They are the panel's.
    OnPanel,
    /// None are planned: even steps, no longer than this (mm), are assumed.
    Assumed(f64),
}

/// How the face is held from foot to top.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FaceHeld {
    /// At one edge, where the fixings are; the other is free, for a seal holds nothing.
    OneEdge,
    /// At the fixings, and the lip is drawn against the back of the skin.
    BothEdges,
}

/// What one fixing carries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FixingLoad {
    /// Arc length (mm).
    pub s: f64,
    /// Square to the face (N).
    pub across_n: f64,
    /// Along its own axis, for the face pries at it (N); `None` where it sits in the face itself.
    pub pull_n: Option<f64>,
}

/// A bending: at best, everything held against turning; at worst, nothing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bending {
    /// At best (mm).
    pub least_mm: f64,
    /// At worst (mm).
    pub most_mm: f64,
    /// Bending stress at worst (MPa).
    pub stress_mpa: f64,
}

/// The stretch that bends most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorstStretch {
    /// From fixing to fixing, or to the panel's end (arc length, mm).
    pub along: [f64; 2],
    /// Tallest face in it (mm).
    pub height_mm: f64,
    /// From fixing to fixing.
    pub between: Bending,
    /// From foot to top.
    pub face: Bending,
}

impl WorstStretch {
    /// Both together, at best and at worst (mm).
    #[must_use]
    pub fn deflection_mm(&self) -> [f64; 2] {
        [
            self.between.least_mm + self.face.least_mm,
            self.between.most_mm + self.face.most_mm,
        ]
    }

    /// The larger bending stress (MPa); they run square to each other.
    #[must_use]
    pub fn stress_mpa(&self) -> f64 {
        self.between.stress_mpa.max(self.face.stress_mpa)
    }
}

/// What the air does to the panel.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadProof {
    /// What was asked.
    pub options: AirOptions,
    /// Pressure on the panel, without its sign (Pa).
    pub pressure_pa: f64,
    /// The plastic.
    pub material: Material,
    /// How hot it is taken to be (degrees C), and how stiff it is then (MPa).
    pub hot_c: f64,
    /// Young's modulus at that temperature (MPa).
    pub stiffness_mpa: f64,
    /// Wall where it bends most, print alone (mm).
    pub wall_mm: f64,
    /// Where the fixings come from.
    pub planned: Planned,
    /// How the face is held.
    pub held: FaceHeld,
    /// What each fixing carries, in order.
    pub fixings: Vec<FixingLoad>,
    /// The stretch that bends most; `None` for a panel without sections.
    pub worst: Option<WorstStretch>,
    /// How far apart fixings may be so that the panel keeps the limit at its tallest (mm); `None` where
    /// the face alone bends further, or where there is no load.
    pub widest_pitch_mm: Option<f64>,
    /// What was found.
    pub findings: Vec<Finding>,
}

/// What the proof looks at. Lengths in mm.
#[derive(Debug, Clone)]
pub struct AirInput {
    /// Height of the face by arc length, in order.
    pub heights: Vec<[f64; 2]>,
    /// Wall, print alone.
    pub walls: Walls,
    /// Arc lengths of the fixings, in order.
    pub fixings: Vec<f64>,
    /// Where they come from.
    pub planned: Planned,
    /// How the face is held.
    pub held: FaceHeld,
    /// Arm on which each fixing holds against the face's prying, in the fixings' order; `None` where they
    /// are not pried at.
    pub arms_mm: Option<Vec<f64>>,
    /// The plastic.
    pub material: Material,
    /// How hot it gets (degrees C).
    pub hot_c: f64,
}

impl AirInput {
    /// For a panel of this plastic at its hottest.
    #[must_use]
    pub fn of(
        panel: &Panel,
        options: &PanelOptions,
        air: &AirOptions,
        (material, hot_c): (Material, f64),
    ) -> Self {
        let whole = panel.sections.iter().filter(|s| !panel.is_faded(s.s));
        let heights: Vec<[f64; 2]> = whole
            .filter_map(|section| Some([section.s, face_height(panel.top, section)?]))
            .collect();
        let ends = ends_of(&heights).unwrap_or_default();
        let fixings: Vec<f64> = panel.fixings.iter().map(|f| f.s).collect();
        let (planned, fixings) = if fixings.len() < 2 {
            let pitch = options.fixings.pitch_mm;
            (Planned::Assumed(pitch), even_steps(ends, pitch))
        } else {
            (Planned::OnPanel, fixings)
        };
        let lip_holds = panel.top == Top::Tucked
            && options.mount == Mount::Tray
            && air.pressure_coefficient < 0.0;
        let arms_mm = arms(panel, options, planned, &fixings);
        Self {
            heights,
            walls: Walls::of(panel, options),
            fixings,
            planned,
            held: if lip_holds {
                FaceHeld::BothEdges
            } else {
                FaceHeld::OneEdge
            },
            arms_mm,
            material,
            hot_c,
        }
    }
}

/// Height of the face that the air gets at (mm).
fn face_height(top: Top, section: &Section) -> Option<f64> {
    let foot = section.outline.get(Corners::FOOT)?;
    let top = section.outline.get(Corners::read(top, section).knee())?;
    Some((top - foot).norm()).filter(|h| h.is_finite())
}

fn ends_of(heights: &[[f64; 2]]) -> Option<[f64; 2]> {
    Some([heights.first()?[0], heights.last()?[0]])
}

/// The shorter way from each fixing to where the panel tips over: foot or flange's edge, for either way of
/// the load. A lip is held in its middle, and so is a flange whose fixings are only assumed; a stud on the
/// face itself is not pried at.
fn arms(
    panel: &Panel,
    options: &PanelOptions,
    planned: Planned,
    fixings: &[f64],
) -> Option<Vec<f64>> {
    let middle = |depth: fn(&Shape) -> f64| -> Vec<f64> {
        let half = |s: &f64| 0.5 * depth(&options.shape_at(*s));
        fixings.iter().map(half).collect()
    };
    let arms = match (options.mount, panel.top) {
        (Mount::Tray, _) if planned == Planned::OnPanel => (panel.fixings.iter())
            .map(|fixing| fixing.from_face_mm.min(fixing.to_edge_mm))
            .collect(),
        (Mount::Tray, _) => middle(|shape| shape.flange),
        (Mount::Body, Top::Tucked) => middle(|shape| shape.tuck),
        (Mount::Body, Top::Lapped) => middle(|shape| shape.lap),
        (Mount::Body, Top::Butted) => return None,
    };
    Some(arms.into_iter().map(|arm| arm.max(1.0)).collect())
}

/// Even steps from end to end, no longer than the pitch.
fn even_steps([from, to]: [f64; 2], pitch_mm: f64) -> Vec<f64> {
    let length = to - from;
    if !(length > 0.0 && pitch_mm > 0.0) {
        return Vec::new();
    }
    let inset = INSET_MM.min(0.25 * length);
    let steps = ((length - 2.0 * inset) / pitch_mm).ceil().max(1.0);
    let step = (length - 2.0 * inset) / steps;
    (0..=steps as usize)
        .map(|k| from + inset + step * k as f64)
        .collect()
}

/// Works out what the air does to a panel.
#[must_use]
pub fn prove(input: &AirInput, options: &AirOptions) -> LoadProof {
    let pressure_pa = (options.pressure_coefficient * dynamic_pressure(options.speed_kmh)).abs();
    let stiffness_mpa = input.material.stiffness().at(input.hot_c);
    let strip = |wall_mm: f64| Strip {
        stiffness: stiffness_mpa * wall_mm.powi(3) / 12.0,
        load: pressure_pa * 1e-6,
    };
    let thinnest = input.walls.thinnest_of_all();
    let (worst, fixings) = match ends_of(&input.heights) {
        Some(ends) => bend(input, &strip, ends),
        None => (None, Vec::new()),
    };
    let mut proof = LoadProof {
        options: options.clone(),
        pressure_pa,
        material: input.material,
        hot_c: input.hot_c,
        stiffness_mpa,
        wall_mm: worst.map_or(thinnest, |worst| input.walls.thinnest(worst.along)),
        planned: input.planned,
        held: input.held,
        fixings,
        worst,
        widest_pitch_mm: widest_pitch(input, strip(thinnest), options.limit_mm),
        findings: Vec::new(),
    };
    proof.findings.extend(bends_far(&proof));
    proof
}

/// The row of fixings shares the load as one of an even wall would; each stretch bends with its own.
fn bend(
    input: &AirInput,
    strip: &impl Fn(f64) -> Strip,
    ends: [f64; 2],
) -> (Option<WorstStretch>, Vec<FixingLoad>) {
    let even = strip(input.walls.thinnest_of_all());
    let Some(row) = Row::solve(even, ends, &input.fixings) else {
        return (None, Vec::new());
    };
    let stretches = row.spans.iter().map(|span| {
        let wall_mm = input.walls.thinnest(span.along);
        let strip = strip(wall_mm);
        let height_mm = tallest(&input.heights, span.along);
        let overhang =
            !input.fixings.contains(&span.along[0]) || !input.fixings.contains(&span.along[1]);
        let most_mm = span.bent.deflection_mm * even.stiffness / strip.stiffness;
        let at_best = strip.built_in(span.along[1] - span.along[0]).deflection_mm;
        WorstStretch {
            along: span.along,
            height_mm,
            between: Bending {
                // Held against turning at its fixing, an overhang stands there as a face does.
                least_mm: if overhang {
                    most_mm
                } else {
                    at_best.min(most_mm)
                },
                most_mm,
                stress_mpa: stress(span.bent.moment, wall_mm),
            },
            face: bend_face(input.held, (strip, wall_mm), height_mm, ends),
        }
    });
    let worst = stretches.max_by(|a, b| a.deflection_mm()[1].total_cmp(&b.deflection_mm()[1]));
    (worst, carried(input, &row))
}

fn tallest(heights: &[[f64; 2]], along: [f64; 2]) -> f64 {
    // Sections just outside count as well: a short stretch may hold none.
    let before = heights
        .partition_point(|h| h[0] < along[0])
        .saturating_sub(1);
    let after = heights.partition_point(|h| h[0] <= along[1]) + 1;
    heights
        .get(before..after.min(heights.len()))
        .into_iter()
        .flatten()
        .map(|h| h[1])
        .fold(0.0, f64::max)
}

/// Bending stress under a moment for each mm of width (MPa).
fn stress(moment: f64, wall_mm: f64) -> f64 {
    6.0 * moment / wall_mm.powi(2)
}

fn bend_face(
    held: FaceHeld,
    (strip, wall_mm): (Strip, f64),
    height_mm: f64,
    ends: [f64; 2],
) -> Bending {
    match held {
        FaceHeld::OneEdge => {
            let stands = strip.standing(height_mm);
            Bending {
                least_mm: stands.deflection_mm,
                most_mm: stands.deflection_mm,
                stress_mpa: stress(stands.moment, wall_mm),
            }
        }
        FaceHeld::BothEdges => {
            let sides = [height_mm, ends[1] - ends[0]];
            let (free, firm) = (plate::supported(sides), plate::clamped(sides));
            let breadth = sides[0].min(sides[1]);
            let unit =
                strip.load * breadth.powi(4) * (1.0 - plate::POISSON.powi(2)) / strip.stiffness;
            let moment = free.moment.max(firm.moment) * strip.load * breadth * breadth;
            Bending {
                least_mm: firm.deflection * unit,
                most_mm: free.deflection * unit,
                stress_mpa: stress(moment, wall_mm),
            }
        }
    }
}

/// A fixing carries its share of the row on the tallest face beside it.
fn carried(input: &AirInput, row: &Row) -> Vec<FixingLoad> {
    // Moment at the foot for each N on the face, in heights: a face on one edge, and one that leans on
    // its lip as well (Roark, table 8.1: w L^2 / 2 and w L^2 / 8, from memory).
    let share = match input.held {
        FaceHeld::OneEdge => 0.5,
        FaceHeld::BothEdges => 0.125,
    };
    let held = row.held.iter().zip(&row.carried);
    held.map(|(&s, carried)| {
        let beside = row
            .spans
            .iter()
            .filter(|span| span.along.contains(&s))
            .map(|span| tallest(&input.heights, span.along));
        let height = beside.fold(0.0, f64::max);
        let across_n = (carried * height).abs();
        FixingLoad {
            s,
            across_n,
            pull_n: arm_at(input, s).map(|arm| across_n * share * height / arm),
        }
    })
    .collect()
}

/// Arm of the fixing at an arc length (mm).
fn arm_at(input: &AirInput, s: f64) -> Option<f64> {
    let arms = input.fixings.iter().zip(input.arms_mm.as_ref()?);
    arms.min_by(|a, b| (a.0 - s).abs().total_cmp(&(b.0 - s).abs()))
        .map(|(_, arm)| *arm)
}

fn widest_pitch(input: &AirInput, strip: Strip, limit_mm: f64) -> Option<f64> {
    let ends = ends_of(&input.heights)?;
    let thinnest = input.walls.thinnest_of_all();
    let tallest = tallest(&input.heights, ends);
    let face = bend_face(input.held, (strip, thinnest), tallest, ends);
    let left = limit_mm - face.most_mm;
    let widest = strip.widest(left, IN_A_ROW);
    (left > 0.0 && widest.is_finite()).then_some(widest)
}

/// A warning where the panel bends past its limit, or past what the theory holds for: half the wall
/// (Timoshenko and Woinowsky-Krieger, from memory).
fn bends_far(proof: &LoadProof) -> Option<Finding> {
    let worst = proof.worst?;
    let most = worst.deflection_mm()[1];
    let half = 0.5 * proof.wall_mm;
    let limit = proof.options.limit_mm;
    let (code, past) = if most > half {
        (
            "air-bends-past-half-wall",
            "half its wall, past which plates bend otherwise than reckoned here and may flutter"
                .to_owned(),
        )
    } else if most > limit {
        ("air-bends", format!("the {limit:.1} mm allowed"))
    } else {
        return None;
    };
    let [from, to] = worst.along;
    let closer = match proof.widest_pitch_mm {
        Some(pitch) if worst.between.most_mm > worst.face.most_mm => {
            format!(
                "let no two fixings stand further apart than {:.0} mm there: lower pitch_mm under [fixings], or clear \
                 what keeps one from standing between",
                pitch.min(to - from)
            )
        }
        _ => "glue ribs behind the face, for it is too tall to stand by itself".to_owned(),
    };
    Some(
        Finding::warning(
            code,
            format!(
                "at {:.0} km/h the air may bend the panel by {most:.1} mm between stations {from:.0} and {to:.0} mm: more than {past}",
                proof.options.speed_kmh
            ),
            format!("{closer}, raise wall_mm under [panel], print in something stiffer when hot, or set speed_kmh under [air] to what it does"),
        )
        .at(0.5 * (from + to))
        .size(most),
    )
}
