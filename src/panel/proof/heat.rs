//! What heat does to a panel that is fixed to something else: how far it grows against it, how long a slot
//! has to be and where in it the fixing is set, what it does held tight, and where it goes soft.
//!
//! Free growth is strain times length; only the difference to what the panel is fixed to counts. A strip
//! held at both ends bows once its strain passes Euler's (Timoshenko and Gere, Theory of Elastic
//! Stability, chapter 2, from memory). Estimates for choosing, not a certificate.

use super::hot_source::{self, HeatSource, SourceHeat};
use super::walls::Walls;
use crate::diag::Finding;
use crate::material::{Backing, Material};
use std::f64::consts::PI;

/// What the job says about heat. Temperatures in degrees C, lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatOptions {
    /// What the panel is fixed to.
    pub fixed_to: Backing,
    /// When panel and fixings are set.
    pub fitted_c: f64,
    /// The coldest both get.
    pub cold_c: f64,
    /// The hottest the panel gets. A dark one in the sun: about 70 C (common practice, no source).
    pub hot_c: f64,
    /// What it is fixed to at that time: in the shade under a vehicle some 40 C (no source). The air
    /// there is taken to be as warm.
    pub fixed_to_hot_c: f64,
    /// How far a hole may sit from where it should, each way along the panel.
    pub slot_tolerance_mm: f64,
    /// What runs hot near the panel.
    pub sources: Vec<HeatSource>,
}

impl Default for HeatOptions {
    fn default() -> Self {
        Self {
            fixed_to: Backing::default(),
            fitted_c: 20.0,
            cold_c: -15.0,
            hot_c: 70.0,
            fixed_to_hot_c: 40.0,
            slot_tolerance_mm: 0.5,
            sources: Vec::new(),
        }
    }
}

/// Two materials and the temperatures they go through together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thermal {
    /// Expansion of the panel (1/K).
    pub panel_per_k: f64,
    /// Expansion of what it is fixed to (1/K).
    pub fixed_to_per_k: f64,
    /// Both when fitted (degrees C).
    pub fitted_c: f64,
    /// Both at their coldest (degrees C).
    pub cold_c: f64,
    /// The panel at its hottest (degrees C).
    pub hot_c: f64,
    /// What it is fixed to at that time (degrees C).
    pub fixed_to_hot_c: f64,
    /// How far a hole may sit from where it should, each way (mm).
    pub tolerance_mm: f64,
}

impl Thermal {
    /// For a panel of this plastic.
    #[must_use]
    pub fn of(material: Material, options: &HeatOptions) -> Self {
        Self {
            panel_per_k: material.expansion_per_k(),
            fixed_to_per_k: options.fixed_to.expansion_per_k(),
            fitted_c: options.fitted_c,
            cold_c: options.cold_c,
            hot_c: options.hot_c,
            fixed_to_hot_c: options.fixed_to_hot_c,
            tolerance_mm: options.slot_tolerance_mm,
        }
    }

    /// Growth of the panel against what it is fixed to, from fitted to hottest, for each mm of length;
    /// below zero where it grows less.
    #[must_use]
    pub fn hot_strain(&self) -> f64 {
        finite(
            self.panel_per_k * (self.hot_c - self.fitted_c)
                - self.fixed_to_per_k * (self.fixed_to_hot_c - self.fitted_c),
        )
    }

    /// The same from fitted to coldest; below zero where the panel shrinks more.
    #[must_use]
    pub fn cold_strain(&self) -> f64 {
        finite((self.panel_per_k - self.fixed_to_per_k) * (self.cold_c - self.fitted_c))
    }

    /// The most that a panel held tight is pressed together, for each mm of length; never below zero.
    #[must_use]
    pub fn pressed_strain(&self) -> f64 {
        self.hot_strain().max(self.cold_strain()).max(0.0)
    }
}

/// Nothing out of nothing: what is no number counts as none.
fn finite(value: f64) -> f64 {
    if value.is_finite() { value } else { 0.0 }
}

/// A slot in the panel, and where in it the fixing is set at the temperature of fitting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slot {
    /// From end to end, rounded ends included (mm): hole, travel both ways, and the tolerance at both ends.
    pub length_mm: f64,
    /// How far the fixing moves in the slot toward the fixed point, as the panel grows away from under it
    /// (mm); this much and the tolerance must be free on that side.
    pub toward_fixed_mm: f64,
    /// How far it moves the other way (mm).
    pub away_mm: f64,
}

impl Slot {
    /// How far the middle of a slot in the panel lies from the fixing as it is set, along the spine (mm),
    /// for a fixing that lies so far along the spine from the one held fast. A slot in what the panel is
    /// fixed to lies off it by as much the other way.
    #[must_use]
    pub fn middle_mm(&self, from_fixed_mm: f64) -> f64 {
        // More room on the side toward the fixed point: the slot's middle lies that way.
        let toward = if from_fixed_mm > 0.0 { -1.0 } else { 1.0 };
        toward * 0.5 * (self.toward_fixed_mm - self.away_mm)
    }
}

/// The slot for a fixing at a distance along the panel from the point where it is held fast (mm, either
/// way), for a hole of this diameter.
///
/// Slot = hole + travel one way + travel the other + twice the tolerance. The fixing does not belong in
/// its middle: see [`Slot::toward_fixed_mm`]. What is no number counts as zero.
#[must_use]
pub fn slot(thermal: &Thermal, length_from_fixed_point_mm: f64, hole_mm: f64) -> Slot {
    let length = finite(length_from_fixed_point_mm.abs());
    let [hot, cold] = [thermal.hot_strain(), thermal.cold_strain()].map(|strain| strain * length);
    let toward_fixed_mm = hot.max(cold).max(0.0);
    let away_mm = (-hot.min(cold)).max(0.0);
    Slot {
        length_mm: finite(hole_mm).max(0.0)
            + toward_fixed_mm
            + away_mm
            + 2.0 * finite(thermal.tolerance_mm).max(0.0),
        toward_fixed_mm,
        away_mm,
    }
}

/// How the ends of a strip are held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Free to turn.
    Pinned,
    /// Held against turning.
    Clamped,
}

/// Strain at which a strip held at both ends bows: k pi^2 t^2 / (12 L^2), k = 1 pinned, 4 clamped. None for
/// a strip without length.
#[must_use]
pub fn bowing_strain(thickness_mm: f64, span_mm: f64, ends: Ends) -> Option<f64> {
    let k = match ends {
        Ends::Pinned => 1.0,
        Ends::Clamped => 4.0,
    };
    let strain = k * (PI * thickness_mm / span_mm).powi(2) / 12.0;
    (span_mm > 0.0 && strain.is_finite()).then_some(strain)
}

/// About how far a strip pressed together by a strain bows out between its ends (mm): 2 L sqrt(strain) / pi.
#[must_use]
pub fn bow(span_mm: f64, strain: f64) -> f64 {
    finite(2.0 * span_mm / PI * strain.max(0.0).sqrt())
}

/// What a panel held tight at its fixings would do between the two where that is worst.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bowing {
    /// The two fixings (arc length, mm).
    pub along: [f64; 2],
    /// How much warmer than when fitted it may get before it bows (K), with what it is fixed to at the
    /// temperature of fitting; `None` for a panel that does not grow.
    pub from_k: Option<f64>,
    /// How far it bows out at the most (mm); zero if it does not.
    pub bow_mm: f64,
}

/// Growth at the cut between two segments that are not joined, each held fast in its own middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndGap {
    /// Arc length of the cut (mm).
    pub s: f64,
    /// Gap to leave when fitting, so that they do not press on each other (mm).
    pub leave_mm: f64,
    /// By how much it opens at its widest (mm).
    pub opens_mm: f64,
}

/// What heat does to the panel.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatProof {
    /// The plastic.
    pub material: Material,
    /// What it is fixed to.
    pub fixed_to: Backing,
    /// Temperatures and expansions.
    pub thermal: Thermal,
    /// First and last arc length of the panel (mm).
    pub along: [f64; 2],
    /// Where it is held fast: at the fixing that has no slot, else in the middle, so that both ends
    /// travel the same (arc length, mm).
    pub fixed_at: f64,
    /// What each fixing needs, in order.
    pub slots: Vec<SlotAt>,
    /// How long its whole length grows against what it is fixed to, hot and cold (mm).
    pub growth_mm: [f64; 2],
    /// The slot at the end of the panel that travels more, for a hole of `hole_mm`.
    pub end_slot: Slot,
    /// The hole the slot is for (mm).
    pub hole_mm: f64,
    /// Cuts between segments, if these are left apart.
    pub gaps: Vec<EndGap>,
    /// Held tight instead of in slots.
    pub bowing: Option<Bowing>,
    /// What runs hot near it.
    pub sources: Vec<SourceHeat>,
    /// What was found.
    pub findings: Vec<Finding>,
}

/// A fixing as heat sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldAt {
    /// Arc length (mm).
    pub s: f64,
    /// How much longer than wide its slot is (mm), zero for a round hole; `None` where none is planned yet.
    pub travel_mm: Option<f64>,
}

/// What a fixing needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlotAt {
    /// The fixing.
    pub held: HeldAt,
    /// Its slot, for a hole of the proof's `hole_mm`.
    pub slot: Slot,
    /// How far the slot's middle lies from the fixing as it is set, along the spine (mm).
    pub middle_mm: f64,
}

impl SlotAt {
    /// From end to end as it is made: as planned, or as long as it has to be (mm).
    #[must_use]
    pub fn made_mm(&self, hole_mm: f64) -> f64 {
        (self.held.travel_mm).map_or(self.slot.length_mm, |travel| hole_mm + travel)
    }

    /// How much longer than wide the slot has to be (mm).
    #[must_use]
    pub fn needs_mm(&self, hole_mm: f64) -> f64 {
        self.slot.length_mm - hole_mm
    }
}

/// What the proof looks at. Lengths in mm.
#[derive(Debug, Clone, Copy)]
pub struct HeatInput<'a> {
    /// The plastic.
    pub material: Material,
    /// First and last arc length of the panel.
    pub along: [f64; 2],
    /// Its wall, print alone.
    pub walls: &'a Walls,
    /// The fixings, in order.
    pub fixings: &'a [HeldAt],
    /// Hole of a fixing.
    pub hole_mm: f64,
    /// First and last arc length of each segment, in order.
    pub segments: &'a [[f64; 2]],
}

/// Works out what heat does to the panel.
#[must_use]
pub fn prove(input: &HeatInput<'_>, options: &HeatOptions) -> HeatProof {
    let thermal = Thermal::of(input.material, options);
    let [from, to] = input.along.map(finite);
    let length = (to - from).max(0.0);
    let bowing = find_bowing(input, &thermal);
    let sources: Vec<SourceHeat> = options
        .sources
        .iter()
        .map(|source| hot_source::hold(source, options.fixed_to_hot_c, input.material.service_c()))
        .collect();
    let mut findings: Vec<Finding> = find_softening(input.material, options.hot_c)
        .into_iter()
        .collect();
    findings.extend(sources.iter().filter_map(SourceHeat::finding));
    findings.extend(bowing.as_ref().and_then(tight_note));
    let fixed_at = fixed_point(input.fixings, [from, to]);
    let hole_mm = finite(input.hole_mm).max(0.0);
    let slots: Vec<SlotAt> = input
        .fixings
        .iter()
        .map(|&held| slot_at(&thermal, held, fixed_at, hole_mm))
        .collect();
    findings.extend(short_slots(&slots, fixed_at, hole_mm));
    HeatProof {
        material: input.material,
        fixed_to: options.fixed_to,
        thermal,
        along: [from, to],
        fixed_at,
        slots,
        growth_mm: [thermal.hot_strain(), thermal.cold_strain()].map(|strain| strain * length),
        end_slot: slot(&thermal, (fixed_at - from).max(to - fixed_at), hole_mm),
        hole_mm,
        gaps: end_gaps(&thermal, input.segments),
        bowing,
        sources,
        findings,
    }
}

/// The planned fixing without a slot that lies nearest the middle, else the middle itself.
fn fixed_point(fixings: &[HeldAt], [from, to]: [f64; 2]) -> f64 {
    let middle = 0.5 * (from + to);
    let round = fixings
        .iter()
        .filter(|f| f.travel_mm == Some(0.0) && f.s.is_finite());
    round
        .map(|f| f.s)
        .min_by(|a, b| (a - middle).abs().total_cmp(&(b - middle).abs()))
        .unwrap_or(middle)
}

fn slot_at(thermal: &Thermal, held: HeldAt, fixed_at: f64, hole_mm: f64) -> SlotAt {
    let from_fixed = finite(held.s - fixed_at);
    let slot = if held.travel_mm == Some(0.0) && from_fixed == 0.0 {
        Slot {
            length_mm: hole_mm,
            toward_fixed_mm: 0.0,
            away_mm: 0.0,
        }
    } else {
        slot(thermal, from_fixed, hole_mm)
    };
    SlotAt {
        held,
        slot,
        middle_mm: slot.middle_mm(from_fixed),
    }
}

/// A warning where planned slots are shorter than heat asks for.
fn short_slots(slots: &[SlotAt], fixed_at: f64, hole_mm: f64) -> Option<Finding> {
    let short = slots.iter().filter(|at| {
        let from_fixed = at.held.s != fixed_at;
        let travel = at.held.travel_mm;
        from_fixed && travel.is_some_and(|mm| mm + 1e-9 < at.needs_mm(hole_mm))
    });
    let count = short.clone().count();
    let worst = short.max_by(|a, b| a.slot.length_mm.total_cmp(&b.slot.length_mm))?;
    let needs = worst.needs_mm(hole_mm);
    Some(
        Finding::warning(
            "slots-short",
            format!(
                "{count} of {} slots are shorter than heat asks for: the worst is {:.1} mm longer than wide and needs {needs:.1} mm",
                slots.len(),
                worst.held.travel_mm.unwrap_or_default()
            ),
            format!("set slot_extra_mm to {:.1} under [fixings]", (needs * 10.0).ceil() / 10.0),
        )
        .at(worst.held.s)
        .size(needs),
    )
}

/// A warning for a plastic that gets hotter than it stands.
fn find_softening(material: Material, hot_c: f64) -> Option<Finding> {
    let [from, to] = material.glass_transition_c();
    let soft = if from < to {
        format!("{from:.0} to {to:.0} \u{b0}C")
    } else {
        format!("about {from:.0} \u{b0}C")
    };
    let stands = material.service_c();
    (hot_c > stands).then(|| {
        Finding::warning(
            "material-softens",
            format!(
                "{} goes soft at {soft} and should not get hotter than {stands:.0} \u{b0}C under load; the panel is reckoned with {hot_c:.0} \u{b0}C, as a dark one gets in the sun",
                material.name()
            ),
            format!(
                "print in {}, or use these parts for trying the fit only; a light colour stays cooler: then set hot_c under [heat]",
                standing(hot_c)
            ),
        )
    })
}

/// The plastics that stand a temperature, in words.
fn standing(hot_c: f64) -> String {
    let names: Vec<&str> = Material::NAMES
        .iter()
        .filter(|(_, material)| material.service_c() >= hot_c)
        .map(|(name, _)| *name)
        .collect();
    match names.split_last() {
        None => "a plastic for more heat than any named here".to_owned(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}

fn end_gaps(thermal: &Thermal, segments: &[[f64; 2]]) -> Vec<EndGap> {
    let middle = |along: &[f64; 2]| 0.5 * (along[0] + along[1]);
    segments
        .windows(2)
        .filter_map(|pair| {
            let [left, right] = pair else { return None };
            let apart = finite((middle(right) - middle(left)).abs());
            let [hot, cold] = [thermal.hot_strain(), thermal.cold_strain()].map(|e| e * apart);
            Some(EndGap {
                s: finite(left[1]),
                leave_mm: hot.max(cold).max(0.0),
                opens_mm: (-hot.min(cold)).max(0.0),
            })
        })
        .collect()
}

/// The stretch that bows furthest, or else the one that would bow first.
fn find_bowing(input: &HeatInput<'_>, thermal: &Thermal) -> Option<Bowing> {
    let pressed = thermal.pressed_strain();
    let stretches = input.fixings.windows(2).filter_map(|pair| {
        let [a, b] = pair else { return None };
        let along = [a.s, b.s];
        let span = b.s - a.s;
        // In a row the panel bows in and out by turns, as if each fixing let it turn.
        let limit = bowing_strain(input.walls.thinnest(along), span, Ends::Pinned)?;
        let bowing = Bowing {
            along,
            from_k: (thermal.panel_per_k > 0.0).then(|| limit / thermal.panel_per_k),
            bow_mm: if pressed > limit {
                bow(span, pressed)
            } else {
                0.0
            },
        };
        Some((bowing, limit))
    });
    let worst = stretches.max_by(|(x, first), (y, second)| {
        let further = x.bow_mm.total_cmp(&y.bow_mm);
        further.then(second.total_cmp(first))
    });
    worst.map(|(bowing, _)| bowing)
}

fn tight_note(bowing: &Bowing) -> Option<Finding> {
    (bowing.bow_mm > 0.0).then(|| {
        let [a, b] = bowing.along;
        Finding {
            hint: "hold it fast at one fixing in the middle and let it slide in slots at all others".to_owned(),
            ..Finding::note(
                "heat-bows-held-tight",
                format!(
                    "held tight at every fixing, the panel would bow out by about {:.1} mm between stations {a:.0} and {b:.0} mm when hot",
                    bowing.bow_mm
                ),
            )
        }
        .at(0.5 * (a + b))
        .size(bowing.bow_mm)
    })
}
