//! What holds the panel: where screws, inserts and studs go, and the holes and bosses for them.
//!
//! One round hole near the middle holds the panel in place, all others are slots along the spine, so that
//! it can grow against what it is fixed to. No head ends up under the tray: it would grind away there and
//! could not be undone.

mod bores;
mod boss;
mod hardware;
mod holes;
mod land;
mod pattern;
mod plan;
mod reach;
#[cfg(test)]
mod tests;

pub use bores::{Bore, BoreIn, to_buy};
pub use hardware::Screw;
pub use pattern::{FlatFixings, FlatHole, lay_flat};
pub use reach::{TrayFixing, tray_fixings};

use super::proof::heat::{Thermal, slot};
use super::{Mount, PanelFault, PanelOptions, Section, Top};
use crate::diag::Finding;
use crate::gap::Survey;
use crate::math::{Point3, Vector3};
use crate::mesh::{Solid, boolean};
use land::{Land, Refusal, Seat, Surface, Wish};
use plan::plan;

/// What kind of fixing the maker wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Style {
    /// None: the panel is glued, or drilled by hand.
    #[default]
    None,
    /// Screws: from above into rivet nuts in the tray, or from outside through skin and lip.
    Screws,
    /// Threaded inserts in bosses on the hidden side.
    Inserts,
    /// Studs: up from the tray, or in from the body's skin, with a nut on the panel.
    Studs,
}

/// What the job says about the fixings. Lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct FixingOptions {
    /// What kind.
    pub style: Style,
    /// Greatest distance from one to the next.
    pub pitch_mm: f64,
    /// Its thread.
    pub screw: Screw,
    /// How much longer than its width a slot is at the least.
    pub slot_extra_mm: f64,
    /// How the panel grows against what it is fixed to: slots are made as long as that asks for, and the
    /// fixings set in them where it leaves room both ways. `None`: slots as above, set in their middles.
    pub growth: Option<Thermal>,
}

/// A slot that is to be made.
#[derive(Debug, Clone, Copy)]
struct SlotPlan {
    /// How much longer than wide (mm), in whole tenths.
    travel_mm: f64,
    /// How far the middle of a slot in the panel lies from the fastener, along the spine (mm).
    middle_mm: f64,
}

impl FixingOptions {
    /// The slot of a fixing so far along the spine from the one that is held fast (mm).
    fn slot(&self, from_fixed: f64) -> SlotPlan {
        let grown = self.growth.map(|growth| slot(&growth, from_fixed, 0.0));
        let needs = grown.map_or(0.0, |slot| slot.length_mm);
        // A rounding below a tenth is none.
        let tenths = (self.slot_extra_mm.max(needs) * 10.0 - 1e-6).ceil();
        SlotPlan {
            travel_mm: tenths / 10.0,
            middle_mm: grown.map_or(0.0, |slot| slot.middle_mm(from_fixed)),
        }
    }
}

impl Default for FixingOptions {
    fn default() -> Self {
        Self {
            style: Style::default(),
            pitch_mm: 150.0,
            screw: Screw::M5,
            slot_extra_mm: 0.0,
            growth: None,
        }
    }
}

/// What a fixing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FixingKind {
    /// A screw from above through the flange into a rivet nut in the tray.
    ScrewIntoTray,
    /// A stud that stands up from the tray, and a nut on the flange.
    StudInTray,
    /// A screw from outside through the skin and the lip, and a nut behind.
    ScrewThroughSkin,
    /// A stud bonded to the back of the skin, through the lip, and a nut behind.
    StudOnSkin,
    /// A threaded insert in a boss behind the lip, and a screw from outside through the skin.
    InsertInLip,
    /// A stud bonded to the hidden side of the face, for a bracket on the body: no hole.
    StudOnPanel,
}

impl FixingKind {
    /// Whether the panel itself has the slot, and not what it is fixed to.
    #[must_use]
    pub fn slots_the_panel(self) -> bool {
        !matches!(self, Self::InsertInLip | Self::StudOnPanel)
    }
}

/// One fixing. Lengths in mm, shop frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Fixing {
    /// Its number, counted from 1 at the maker's left.
    pub number: usize,
    /// Arc length along the spine.
    pub s: f64,
    /// Middle of its hole, on the side that lies against the tray or the body.
    pub at: Point3,
    /// Unit, from what the panel is fixed to into the panel.
    pub axis: Vector3,
    /// Unit, the way a slot runs, to the maker's right.
    pub along: Vector3,
    /// What it is.
    pub kind: FixingKind,
    /// Its thread.
    pub screw: Screw,
    /// Width of the hole in the panel; zero where there is none.
    pub hole_mm: f64,
    /// Overall length of the slot, in the panel or in what it is fixed to; the width of the hole for the
    /// one round hole.
    pub slot_mm: f64,
    /// Width of the hole in what the panel is fixed to that `slot_mm` is the length of, where the slot is
    /// not in the panel; zero where it is.
    pub mate_hole_mm: f64,
    /// Where in the slot the fastener is set, from the middle, to the maker's right.
    pub set_mm: f64,
    /// Outer diameter of the washer that fits.
    pub washer_mm: f64,
    /// From the middle of the hole square to the outside of the face.
    pub from_face_mm: f64,
    /// From there to the free edge of the wall.
    pub to_edge_mm: f64,
    /// The panel's wall there.
    pub wall_mm: f64,
    /// The body's skin that it goes through or is bonded to; zero on the tray.
    pub skin_mm: f64,
    /// From the panel to the outside of that skin; zero on the tray.
    pub mate_mm: f64,
    /// Clear height over the washer's seat; `None` where nothing stands over it.
    pub room_mm: Option<f64>,
    /// What head or nut and washer take up of it.
    pub head_mm: f64,
}

/// The fixings of a panel.
pub(super) struct Fixed {
    pub solid: Solid,
    pub fixings: Vec<Fixing>,
}

impl Fixing {
    /// Stretch of arc length round it that no cut between segments may enter (mm): the edge distance to
    /// either side of its slot and washer.
    #[must_use]
    pub fn keep_clear(&self) -> [f64; 2] {
        let half = 0.5 * self.slot_mm.max(self.washer_mm) + edge_distance(self.screw);
        [self.s - half, self.s + half]
    }

    /// Whether something of this thickness on the hidden side of the face passes it (mm): its washer or
    /// head lies on the flange, clear of that.
    #[must_use]
    pub fn lets_past(&self, thickness_mm: f64) -> bool {
        let on_flange = matches!(
            self.kind,
            FixingKind::ScrewIntoTray | FixingKind::StudInTray
        );
        let half = 0.5 * self.washer_mm.max(self.screw.head_diameter());
        on_flange && self.from_face_mm - half - self.wall_mm >= thickness_mm + PAST_WASHER_MM
    }
}

/// Left between a washer and what passes it (mm): a screw may sit that far off the middle of its hole (ISO 273,
/// medium: 4.5 for M4, 5.5 for M5, 6.6 for M6, so 0.25 to 0.3 mm to either side).
const PAST_WASHER_MM: f64 = 0.3;

/// Plans the fixings, makes their bosses and holes, and says what could not be had.
///
/// # Errors
/// [`PanelFault::Fixing`] where a hole leaves no solid.
pub(super) fn fix(
    solid: Solid,
    survey: &Survey,
    sections: &[Section],
    top: Top,
    options: &PanelOptions,
    findings: &mut Vec<Finding>,
) -> Result<Fixed, PanelFault> {
    let mut fixed = Fixed {
        solid,
        fixings: Vec::new(),
    };
    let wanted = &options.fixings;
    let (Some(first), Some(last)) = (sections.first(), sections.last()) else {
        return Ok(fixed);
    };
    let Some(kind) = kind_for(options.mount, wanted.style, top, findings) else {
        return Ok(fixed);
    };
    let found = lay_out(
        kind,
        &fixed.solid,
        survey,
        sections,
        top,
        options,
        [first.s, last.s],
    );
    let (kind, laid) = match found {
        Laid::Seats(laid) => (kind, laid),
        Laid::TooNarrow { has, needs } if kind.is_on_lip() => {
            findings.push(
                Finding::warning(
                    "lip-too-short",
                    format!(
                        "the lip is {has:.1} mm high, and a hole for {} in it needs {needs:.1} mm; studs are to be \
                         bonded to the hidden side instead",
                        wanted.screw.name()
                    ),
                    match top {
                        Top::Lapped => {
                            "raise lap_mm under [panel], or ask for a smaller screw under [fixings]"
                        }
                        Top::Tucked | Top::Butted => {
                            "raise tuck_mm under [panel], or ask for a smaller screw under [fixings]"
                        }
                    },
                )
                .size(needs),
            );
            let kind = FixingKind::StudOnPanel;
            let again = lay_out(
                kind,
                &fixed.solid,
                survey,
                sections,
                top,
                options,
                [first.s, last.s],
            );
            match again {
                Laid::Seats(laid) => (kind, laid),
                Laid::TooNarrow { has, needs } => {
                    findings.push(no_room(has, needs, wanted.screw));
                    return Ok(fixed);
                }
            }
        }
        Laid::TooNarrow { has, needs } => {
            findings.push(no_room(has, needs, wanted.screw));
            return Ok(fixed);
        }
    };
    for s in &laid.dropped {
        findings.push(
            Finding::warning(
                "fixing-dropped",
                "a fixing is left out, for there is no whole flat for it within half a pitch",
                "move what stands there, ask for another pitch_mm, or glue that stretch",
            )
            .at(*s),
        );
    }
    if let Some((s, gap)) = laid.widest
        && gap > 1.3 * wanted.pitch_mm
    {
        findings.push(
            Finding::warning(
                "fixings-far-apart",
                format!(
                    "{gap:.0} mm lie between two fixings where {:.0} mm were asked",
                    wanted.pitch_mm
                ),
                "see what keeps them apart there, or stiffen the panel between them",
            )
            .at(s)
            .size(gap),
        );
    }
    let middle = 0.5 * (first.s + last.s);
    let round = laid
        .seats
        .iter()
        .enumerate()
        .min_by(|a, b| (a.1.s - middle).abs().total_cmp(&(b.1.s - middle).abs()))
        .map(|(i, _)| i);
    let fixed_at = round
        .and_then(|i| laid.seats.get(i))
        .map_or(middle, |seat| seat.s);
    fixed.fixings = laid
        .seats
        .iter()
        .enumerate()
        .map(|(i, seat)| fixing(i, seat, kind, (round == Some(i), fixed_at), options))
        .collect();
    findings.extend(fixed.fixings.iter().filter_map(head_finding));
    fixed.solid = cut(fixed.solid, &laid.seats, &fixed.fixings)?;
    Ok(fixed)
}

/// From the middle of a hole to an edge (mm): two diameters (AC 43.13-1B, for sheet metal; taken over for
/// printed walls, for want of a better source).
fn edge_distance(screw: Screw) -> f64 {
    2.0 * screw.diameter()
}

impl FixingKind {
    fn is_on_lip(self) -> bool {
        matches!(
            self,
            Self::ScrewThroughSkin | Self::StudOnSkin | Self::InsertInLip
        )
    }

    fn surface(self) -> Surface {
        match self {
            Self::ScrewIntoTray | Self::StudInTray => Surface::Flange,
            Self::StudOnPanel => Surface::Hidden,
            _ => Surface::Lip,
        }
    }
}

/// What mount and style come to. A screw into an insert in the flange would have its head under the tray.
fn kind_for(
    mount: Mount,
    style: Style,
    top: Top,
    findings: &mut Vec<Finding>,
) -> Option<FixingKind> {
    match (mount, style, top) {
        (_, Style::None, _) => None,
        (Mount::Tray, Style::Screws, _) => Some(FixingKind::ScrewIntoTray),
        (Mount::Tray, Style::Studs, _) => Some(FixingKind::StudInTray),
        (Mount::Tray, Style::Inserts, _) => {
            findings.push(Finding::warning(
                "heads-under-tray",
                "inserts in the flange would have the screws' heads under the tray, where they grind away; \
                 studs that stand up from the tray are planned instead",
                "write style = \"studs\" or \"screws\" under [fixings], or mount = \"body\" under [panel]",
            ));
            Some(FixingKind::StudInTray)
        }
        (Mount::Body, _, Top::Butted) => {
            findings.push(Finding::note(
                "studs-bonded",
                "a panel butted under the edge has no lip to put a screw through: studs are to be bonded to \
                 the hidden side of the face, for brackets on the body",
            ));
            Some(FixingKind::StudOnPanel)
        }
        // A lip over the skin shows: nothing is bonded to it, a screw goes through both.
        (Mount::Body, _, Top::Lapped) => Some(FixingKind::ScrewThroughSkin),
        (Mount::Body, Style::Screws, _) => Some(FixingKind::ScrewThroughSkin),
        (Mount::Body, Style::Inserts, _) => Some(FixingKind::InsertInLip),
        (Mount::Body, Style::Studs, _) => Some(FixingKind::StudOnSkin),
    }
}

fn no_room(has: f64, needs: f64, screw: Screw) -> Finding {
    Finding::warning(
        "no-room-for-fixings",
        format!(
            "no fixing has room: {has:.1} mm of flat, and {} needs {needs:.1} mm",
            screw.name()
        ),
        "make flange_mm larger under [panel] or ask for a smaller screw under [fixings]",
    )
    .size(needs)
}

struct LaidOut {
    seats: Vec<Seat>,
    dropped: Vec<f64>,
    widest: Option<(f64, f64)>,
}

enum Laid {
    Seats(LaidOut),
    TooNarrow { has: f64, needs: f64 },
}

fn lay_out(
    kind: FixingKind,
    solid: &Solid,
    survey: &Survey,
    sections: &[Section],
    top: Top,
    options: &PanelOptions,
    ends: [f64; 2],
) -> Laid {
    let wanted = &options.fixings;
    let screw = wanted.screw;
    let edge = edge_distance(screw);
    let middle = 0.5 * (ends[0] + ends[1]);
    // The one held fast lies within half a pitch of the middle.
    let half_slot = |s: f64| {
        let from_fixed = (s - middle).abs() + 0.5 * wanted.pitch_mm;
        0.5 * wanted.slot(from_fixed).travel_mm
    };
    let longest = |ends: &[f64; 2]| ends.iter().map(|&s| half_slot(s)).fold(0.0, f64::max);
    let mut wish = match kind {
        FixingKind::StudOnPanel => Wish::pad(&hardware::PADS_MM),
        FixingKind::InsertInLip => Wish {
            edge_mm: edge.max(0.5 * boss::outer(screw) + 1.0),
            half_slot_mm: 0.0,
            washers_mm: vec![boss::outer(screw)],
        },
        _ => Wish {
            edge_mm: edge,
            half_slot_mm: longest(&ends),
            washers_mm: vec![screw.large_washer(), screw.washer()],
        },
    };
    let Some(land) = Land::new(kind.surface(), solid, survey, sections, top, options) else {
        return Laid::TooNarrow {
            has: 0.0,
            needs: 2.0 * edge,
        };
    };
    let mut narrow: Option<(f64, f64)> = None;
    let spare = wish.edge_mm + wish.half_slot_mm + 5.0;
    let slots = wish.half_slot_mm > 0.0;
    let mut seat = |s: f64| {
        if slots {
            wish.half_slot_mm = half_slot(s);
        }
        match land.seat(s, &wish) {
            Ok(seat) => Some(seat),
            Err(Refusal::Narrow { has, needs }) => {
                if narrow.is_none_or(|(most, _)| has > most) {
                    narrow = Some((has, needs));
                }
                None
            }
            Err(Refusal::Cut) => None,
        }
    };
    let planned = plan(
        [ends[0] + spare, ends[1] - spare],
        wanted.pitch_mm,
        3.0 * screw.diameter() + 2.0 * longest(&ends),
        &mut seat,
    );
    match (planned.seats.is_empty(), narrow) {
        (true, Some((has, needs))) => Laid::TooNarrow { has, needs },
        _ => Laid::Seats(LaidOut {
            seats: planned.seats,
            dropped: planned.dropped,
            widest: planned.widest,
        }),
    }
}

fn fixing(
    index: usize,
    seat: &Seat,
    kind: FixingKind,
    (is_round, fixed_at): (bool, f64),
    options: &PanelOptions,
) -> Fixing {
    let wanted = &options.fixings;
    let screw = wanted.screw;
    // As the lip is set back: `lines` leaves this much behind the skin.
    let (skin_mm, mate_mm) = if kind.is_on_lip() {
        let behind = options.clearance_mm + 2.0 * options.paint_mm;
        (options.skin_mm, options.skin_mm + behind)
    } else {
        (0.0, 0.0)
    };
    let hole_mm = match kind {
        FixingKind::InsertInLip => screw.insert_hole(),
        FixingKind::StudOnPanel => 0.0,
        _ => screw.clearance_hole(),
    };
    let mate_hole_mm = if kind.slots_the_panel() {
        0.0
    } else {
        screw.clearance_hole()
    };
    let width = hole_mm.max(mate_hole_mm).min(screw.clearance_hole());
    let planned = if is_round {
        SlotPlan {
            travel_mm: 0.0,
            middle_mm: 0.0,
        }
    } else {
        wanted.slot(seat.s - fixed_at)
    };
    Fixing {
        number: index + 1,
        s: seat.s,
        at: seat.at,
        axis: seat.axis,
        along: seat.along,
        kind,
        screw,
        hole_mm,
        slot_mm: width + planned.travel_mm,
        mate_hole_mm,
        set_mm: if kind.slots_the_panel() {
            -planned.middle_mm
        } else {
            planned.middle_mm
        },
        washer_mm: seat.washer_mm,
        from_face_mm: seat.from_face_mm,
        to_edge_mm: seat.to_edge_mm,
        wall_mm: seat.thickness_mm,
        skin_mm,
        mate_mm,
        room_mm: seat.room_mm,
        head_mm: match kind {
            FixingKind::ScrewIntoTray => screw.washer_thickness() + screw.head_height(),
            FixingKind::StudInTray | FixingKind::ScrewThroughSkin | FixingKind::StudOnSkin => {
                screw.washer_thickness() + screw.nut_height() + screw.two_threads()
            }
            FixingKind::InsertInLip => 0.0,
            FixingKind::StudOnPanel => hardware::PAD_STUD_MM,
        },
    }
}

fn head_finding(fixing: &Fixing) -> Option<Finding> {
    let room = fixing.room_mm?;
    (room < fixing.head_mm).then(|| {
        Finding::warning(
            "head-fouls",
            format!(
                "head and washer of fixing {} take {:.1} mm, and {room:.1} mm are clear over the flange",
                fixing.number, fixing.head_mm
            ),
            "use a low head there, a smaller screw, or glue that place",
        )
        .at(fixing.s)
        .size(fixing.head_mm - room)
    })
}

/// Adds the bosses, then takes the holes away.
fn cut(solid: Solid, seats: &[Seat], fixings: &[Fixing]) -> Result<Solid, PanelFault> {
    let fault = |s: f64| {
        move |reason: String| PanelFault::Fixing {
            station_mm: s,
            reason,
        }
    };
    let (mut bosses, mut bores) = (Vec::new(), Vec::new());
    for (seat, fixing) in seats.iter().zip(fixings) {
        let told = fault(fixing.s);
        match fixing.kind {
            FixingKind::StudOnPanel => {}
            FixingKind::InsertInLip => {
                bosses.push(boss::body(seat, fixing.screw).map_err(told)?);
                bores.push(boss::pocket(seat, fixing.screw).map_err(told)?);
            }
            _ => bores.push(holes::bore(seat, fixing).map_err(told)?),
        }
    }
    let told = fault(fixings.first().map_or(0.0, |f| f.s));
    let mut solid = solid;
    if !bosses.is_empty() {
        let parts: Vec<&Solid> = std::iter::once(&solid).chain(&bosses).collect();
        solid = boolean::unite(&parts)
            .map_err(|e| told(e.to_string()))?
            .ok_or_else(|| told("nothing of the panel is left".into()))?;
    }
    if !bores.is_empty() {
        solid = boolean::subtract(&solid, &bores.iter().collect::<Vec<_>>())
            .map_err(|e| told(e.to_string()))?
            .ok_or_else(|| told("nothing of the panel is left".into()))?;
    }
    Ok(solid)
}
