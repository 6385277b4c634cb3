//! The joints between segments: what is joined to one segment and cut out of the next, so that they go
//! together one way only.

mod bulkhead;
mod code;
mod findings;
mod hidden;
mod key;
mod lack;
mod lapped;
mod pinned;
mod pins;
mod tab;

pub(super) use hidden::{FaceHere, HiddenSide};
pub(super) use pins::{PIN_LONG_MM, least_pinned_mm};
pub use tab::LEAD_IN_MM;

use super::plan::{Cut, TabRoom};
use super::reach::Reach;
use super::{PrinterOptions, SplitFault, Workpiece};
pub(super) use key::{LONG_MM, MOST_OF_WALL};

use crate::diag::Finding;
use crate::math::{Vector2, Vector3};
use crate::mesh::nearest::Nearest;
use crate::mesh::topology::find_pieces;
use crate::mesh::{Solid, boolean};
use code::{Coded, Site, choose_codes, ticks};
use findings::repeated_keys;
use hidden::LEAST_FACE_MM;
use key::{KeyRoom, Keyway, Root};
use lack::Lack;
use lapped::lap;
use pinned::{pin, spots_at};
use pins::{Section, Spot, choose_pins};
use rayon::prelude::*;

/// How much nearer than the fit a joint may come to its neighbour (mm).
const FIT_TOLERANCE_MM: f64 = 0.05;
/// What is checked against the neighbour begins so far past the cut (mm), which both solids share.
const CLEAR_OF_CUT_MM: f64 = 0.02;
/// A common volume below this is rounding (mm3).
const CONTACT_MM3: f64 = 0.01;

/// Which kind of joint the user wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum JointWish {
    /// A tab, and a bulkhead where the hidden face is very high or there is none.
    #[default]
    Auto,
    /// A tab.
    Tab,
    /// A pinned bulkhead.
    Bulkhead,
}

impl JointWish {
    /// Every wish, with its word in a job.
    pub const NAMES: [(&'static str, Self); 3] = [
        ("auto", Self::Auto),
        ("tab", Self::Tab),
        ("bulkhead", Self::Bulkhead),
    ];
}

/// How a joint holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JointKind {
    /// A tab on the hidden side of one segment laps the next.
    Tab,
    /// Pins in the cut, through webs where the wall is thin.
    Bulkhead,
    /// Nothing holds but glue on the cut.
    Butt,
}

impl JointKind {
    /// Its word in the report and on the sheet.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Tab => "tab",
            Self::Bulkhead => "bulkhead",
            Self::Butt => "butt",
        }
    }

    /// What the trade calls it.
    #[must_use]
    pub fn trade_name(self) -> &'static str {
        match self {
            Self::Tab => "lapped tab",
            Self::Bulkhead => "pinned bulkhead",
            Self::Butt => "butt joint",
        }
    }
}

/// One key of a joint: a tongue under the tab that sits in a groove of the neighbour, or a pin in a
/// socket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Key {
    /// Height of its middle over the lower end of the straight hidden face at the cut (mm); of a pin where
    /// there is no such face, over the spine.
    pub height_mm: f64,
    /// Where it stands in the station plane: outward of the spine and up (mm).
    pub at_mm: [f64; 2],
    /// Width of what goes in (mm); its groove is wider by the fit on each side.
    pub wide_mm: f64,
    /// How far it reaches past the cut (mm): so far short of seating a wrong neighbour is stopped.
    pub long_mm: f64,
    /// How far a tongue reaches into the neighbour's wall (mm); a pin, past the cut.
    pub into_mm: f64,
    /// What a groove leaves of the wall, or a socket all round itself at least (mm).
    pub leaves_mm: f64,
}

/// A joint between a segment and the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Arc length of the cut (mm).
    pub s: f64,
    /// Its letter, which stands on both segments beside the cut.
    pub letter: String,
    /// How it holds.
    pub kind: JointKind,
    /// Number of the segment that carries the tab.
    pub tab_on: usize,
    /// What the joint adds to the volume (mm3).
    pub tab_volume_mm3: f64,
    /// What the joint takes away for grooves, sockets and holes (mm3).
    pub cut_volume_mm3: f64,
    /// Room left between the joint's parts (mm).
    pub fit_mm: f64,
    /// How far it reaches past the cut (mm).
    pub reach_mm: f64,
    /// Area to glue, the cut's own faces left out (mm2).
    pub glue_mm2: f64,
    /// What keeps it from going together with anything else; empty where there is no room.
    pub keys: Vec<Key>,
    /// Unit vector in which the segment with the tab is moved to seat it (shop frame); in a bend, round the
    /// bend's centre.
    pub seats_along: Vector3,
}

/// The letter of a joint, counted from 0: A to Z, then AA.
#[must_use]
pub fn letter(joint: usize) -> String {
    let last = char::from(b'A' + (joint % 26) as u8);
    match joint / 26 {
        0 => last.to_string(),
        more => letter(more - 1) + &last.to_string(),
    }
}

/// Which form of a joint's part to make.
#[derive(Clone, Copy)]
enum Form {
    /// With its root, as it is joined.
    Whole,
    /// What goes into the neighbour, grown toward it by all of the fit but the tolerance: it must still
    /// touch nothing.
    Grown,
}

/// How much larger than it is a part is checked (mm).
fn grown_by(fit_mm: f64) -> f64 {
    (fit_mm - FIT_TOLERANCE_MM).max(0.0)
}

/// The segments with their joints' parts, the joints, and what was found.
pub(super) struct Jointed {
    pub(super) segments: Vec<Solid>,
    pub(super) joints: Vec<Joint>,
    pub(super) findings: Vec<Finding>,
}

/// What one joint needs of its two segments.
struct Parts {
    kind: JointKind,
    add: Vec<Solid>,
    add_next: Vec<Solid>,
    cut_own: Vec<Solid>,
    cut_next: Vec<Solid>,
    keys: Vec<Key>,
    glue_mm2: f64,
    /// Height a tab's root holds on to (mm).
    held_mm: f64,
    lacks: Vec<Lack>,
}

impl Parts {
    fn butt(lack: Lack) -> Self {
        Self {
            kind: JointKind::Butt,
            add: Vec::new(),
            add_next: Vec::new(),
            cut_own: Vec::new(),
            cut_next: Vec::new(),
            keys: Vec::new(),
            glue_mm2: 0.0,
            held_mm: 0.0,
            lacks: vec![lack],
        }
    }
}

impl Parts {
    /// A tab where pins were wanted: what they lack comes with it.
    fn in_place_of(mut self, pinned: Self) -> Self {
        let with = |mut lack: Lack| {
            if self.kind == JointKind::Tab {
                lack.what += ", so it has a lapped tab in their place";
                lack.hint = "nothing, where a tab will do; otherwise move the cut to where the face is higher";
            }
            lack
        };
        let of_pins: Vec<Lack> = pinned.lacks.into_iter().map(with).collect();
        self.lacks.splice(0..0, of_pins);
        self
    }
}

/// One cut and what lies on both sides of it.
struct Place<'a> {
    /// Number of the segment before it.
    number: usize,
    s: f64,
    own: &'a Solid,
    next: &'a Solid,
}

fn without_pins(why: &str) -> Parts {
    Parts::butt(Lack::new(
        "joint-without-pins",
        format!("has no pins: {why}"),
        "glue it end to end and dowel it where it is thick, or move the cut",
    ))
}

fn without_tongue() -> Lack {
    Lack::new(
        "web-without-tongue",
        "closes with the other one turned inside out as well, the wall being too thin or the face too low for a tongue",
        "see that both visible sides look the same way before you glue it",
    )
}

fn without_tab(code: &'static str, why: &str) -> Parts {
    Parts::butt(Lack::new(
        code,
        format!("has no tab: {why}"),
        "glue it on a strip of your own, or move the cut by another build volume or tab length",
    ))
}

fn without_key() -> Lack {
    Lack::new(
        "joint-without-key",
        "has no key: the hidden face is too low or the wall too thin for its fit",
        "go by the letters and numbers on the segments when you put it together",
    )
}

fn held_loosely() -> Lack {
    Lack::new(
        "tab-loosely-held",
        format!(
            "has a tab whose root holds on to less than {:.0} mm of height",
            LEAST_FACE_MM / 2.0
        ),
        "glue the root as well, or move the cut by another build volume or tab length",
    )
}

/// Gives the bare segments their joints.
///
/// A tab that would touch its neighbour, or does not hold on to its own segment, is left out with a
/// finding; so are keys there is no room for.
///
/// # Errors
/// When the kernel fails.
pub(super) fn join_segments(
    work: &Workpiece,
    printer: &PrinterOptions,
    reach: &Reach,
    cuts: &[Cut],
    bare: Vec<Solid>,
) -> Result<Jointed, SplitFault> {
    let hidden = HiddenSide::new(work);
    let kinds: Vec<JointKind> = (cuts.iter())
        .map(|cut| choose_kind(work, &hidden, printer, cut, reach.arc_length(cut.station)))
        .collect();
    let places: Vec<(f64, JointKind)> = (cuts.iter().zip(&kinds))
        .map(|(cut, kind)| (reach.arc_length(cut.station), *kind))
        .collect();
    let (rooms, coded) = choose_keys(work, &hidden, printer, &places);
    let keyways: Vec<Option<Keyway>> = (rooms.iter().zip(&coded.codes).zip(&kinds))
        .map(|((room, code), kind)| {
            let root = match kind {
                JointKind::Bulkhead => Root::Web,
                JointKind::Tab | JointKind::Butt => Root::Tab,
            };
            Some(room.as_ref()?.keyway(printer, code.as_ref()?, root))
        })
        .collect();
    let spots: Vec<Option<Vec<Spot>>> = (cuts.par_iter().zip(&kinds))
        .map(|(cut, kind)| {
            let pinned = *kind == JointKind::Bulkhead;
            pinned.then(|| spots_at(work, &hidden, printer, reach, cut.station))
        })
        .collect();
    let section = |station: usize| match &reach.stations[station] {
        at if work.hidden.is_empty() && at.across.is_some() => Section::new(at.height),
        _ => Section::ENDLESS,
    };
    let sections: Vec<Section> = cuts.iter().map(|cut| section(cut.station)).collect();
    // A step inside, where the plane meets the whole end.
    let free = [1.min(reach.last()), reach.last().saturating_sub(1)].map(section);
    let (pins, like) = choose_pins(&spots, (&sections, free), printer);
    let parts = (cuts.par_iter().zip(bare.par_windows(2)))
        .enumerate()
        .map(|(i, (cut, pair))| {
            let place = Place {
                number: i + 1,
                s: reach.arc_length(cut.station),
                own: &pair[0],
                next: &pair[1],
            };
            match kinds[i] {
                JointKind::Tab => lap(work, &hidden, printer, &place, keyways[i].as_ref()),
                JointKind::Bulkhead => {
                    let (pins, tongue) = (pins[i].as_ref(), keyways[i].as_ref());
                    let pinned = pin(work, &hidden, printer, &place, (pins, tongue))?;
                    if pinned.kind != JointKind::Butt || work.hidden.is_empty() {
                        return Ok(pinned);
                    }
                    let tongue = keyways[i].as_ref().map(Keyway::under_a_tab);
                    let lapped = lap(work, &hidden, printer, &place, tongue.as_ref())?;
                    Ok(lapped.in_place_of(pinned))
                }
                JointKind::Butt => Ok(without_tab(
                    "joint-without-tab",
                    "the hidden face is too low or too short there",
                )),
            }
        })
        .collect::<Result<Vec<_>, _>>()?;
    put_together(work, printer, reach, cuts, bare, parts, (&coded, &like))
}

/// The room for keys at each cut, and the heights they get there: of the largest size of tongue with which
/// no wrong end goes in, or of the size with which the fewest do.
fn choose_keys(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    places: &[(f64, JointKind)],
) -> (Vec<Option<KeyRoom>>, Coded) {
    let surface = Nearest::new(work.solid.mesh()).filter(|_| !work.hidden.is_empty());
    let wall = |s: f64| hidden.face_at(work, s).map_or(0.0, |face| face.height);
    let ends = [work.hidden.first(), work.hidden.last()];
    let free = ends.map(|row| row.map_or(0, |row| ticks(wall(row.s))));
    let mut best: Option<(Vec<Option<KeyRoom>>, Coded)> = None;
    for size in 0..key::SIZES {
        let room = |&(s, kind): &(f64, JointKind)| {
            let surface = surface.as_ref().filter(|_| kind != JointKind::Butt)?;
            key::find_room(work, hidden, printer, surface, (s, size))
        };
        let rooms: Vec<Option<KeyRoom>> = places.par_iter().map(room).collect();
        let sites: Vec<Site> = (rooms.iter().zip(places))
            .map(|(room, &(s, _))| match room {
                Some(room) => room.site(printer, wall(s)),
                None => Site::without_key(ticks(wall(s))),
            })
            .collect();
        let coded = choose_codes(&sites, free);
        if best
            .as_ref()
            .is_none_or(|(_, had)| coded.taken() < had.taken())
        {
            best = Some((rooms, coded));
        }
        if best.as_ref().is_some_and(|(_, had)| had.taken() == 0) {
            break;
        }
    }
    best.unwrap_or_else(|| (Vec::new(), choose_codes(&[], free)))
}

fn put_together(
    work: &Workpiece,
    printer: &PrinterOptions,
    reach: &Reach,
    cuts: &[Cut],
    bare: Vec<Solid>,
    parts: Vec<Parts>,
    (coded, like): (&Coded, &[[usize; 2]]),
) -> Result<Jointed, SplitFault> {
    let mut findings = Vec::new();
    for (i, solid) in bare.iter().enumerate() {
        let (_, pieces) = find_pieces(solid.mesh());
        if pieces > 1 {
            findings.push(
                Finding::warning(
                    "segment-in-pieces",
                    format!("segment {} is in {pieces} pieces", i + 1),
                    "look at it before printing",
                )
                .at(reach.arc_length(if i == 0 { 0 } else { cuts[i - 1].station })),
            );
        }
    }
    let made = (0..bare.len())
        .into_par_iter()
        .map(|i| {
            let before = i.checked_sub(1).and_then(|k| parts.get(k));
            build(i + 1, &bare[i], parts.get(i), before)
        })
        .collect::<Result<Vec<_>, _>>()?;
    let mut joints = Vec::with_capacity(cuts.len());
    let mut lacks = Vec::with_capacity(cuts.len());
    for (i, part) in parts.into_iter().enumerate() {
        let s = reach.arc_length(cuts[i].station);
        joints.push(Joint {
            s,
            letter: letter(i),
            kind: part.kind,
            tab_on: i + 1,
            tab_volume_mm3: made[i].added[1] + made[i + 1].added[0],
            cut_volume_mm3: made[i].taken[1] + made[i + 1].taken[0],
            fit_mm: printer.fit_mm,
            reach_mm: match part.kind {
                JointKind::Tab => printer.tab_mm,
                JointKind::Bulkhead => PIN_LONG_MM,
                JointKind::Butt => 0.0,
            },
            glue_mm2: part.glue_mm2,
            keys: part.keys,
            seats_along: work.spine.frame_at(s).along,
        });
        let mut lacking = part.lacks;
        if part.kind == JointKind::Tab {
            if part.held_mm < LEAST_FACE_MM / 2.0 {
                lacking.push(held_loosely());
            }
            if joints
                .last()
                .is_some_and(|joint: &Joint| joint.keys.is_empty())
            {
                lacking.push(without_key());
            }
        }
        lacks.push((s, lacking));
    }
    findings.extend(lack::tell(&lacks));
    findings.extend(repeated_keys(&joints, coded, like));
    Ok(Jointed {
        segments: made.into_iter().map(|m| m.solid).collect(),
        joints,
        findings,
    })
}

/// A segment with its joints' parts.
struct Built {
    solid: Solid,
    /// Volume added and taken for the joint before it and the one after it (mm3).
    added: [f64; 2],
    taken: [f64; 2],
}

fn build(
    number: usize,
    bare: &Solid,
    after: Option<&Parts>,
    before: Option<&Parts>,
) -> Result<Built, SplitFault> {
    let fault = |f: boolean::BooleanFault| SplitFault::not_made(number, f);
    let mut solid = bare.clone();
    let none = Vec::new();
    let (mut added, mut taken) = ([0.0; 2], [0.0; 2]);
    let adds = [
        before.map_or(&none, |p| &p.add_next),
        after.map_or(&none, |p| &p.add),
    ];
    let cuts = [
        before.map_or(&none, |p| &p.cut_next),
        after.map_or(&none, |p| &p.cut_own),
    ];
    for (k, parts) in adds.into_iter().enumerate().filter(|(_, p)| !p.is_empty()) {
        let all: Vec<&Solid> = std::iter::once(&solid).chain(parts).collect();
        let more = boolean::unite(&all).map_err(fault)?;
        let more = more.ok_or(SplitFault::NoLength)?;
        added[k] = more.volume() - solid.volume();
        solid = more;
    }
    for (k, parts) in cuts.into_iter().enumerate().filter(|(_, p)| !p.is_empty()) {
        let all: Vec<&Solid> = parts.iter().collect();
        let less = boolean::subtract(&solid, &all).map_err(fault)?;
        let less = less.ok_or(SplitFault::NoLength)?;
        taken[k] = solid.volume() - less.volume();
        solid = less;
    }
    Ok(Built {
        solid,
        added,
        taken,
    })
}

/// The lower end of the hidden face and its direction up, in the station plane at an arc length.
fn face_in_plane(work: &Workpiece, hidden: &HiddenSide, s: f64) -> [Vector2; 2] {
    let frame = work.spine.frame_at(s);
    let Some(face) = hidden.face_at(work, s) else {
        return [Vector2::zeros(), Vector2::y()];
    };
    let foot = frame.to_section(face.foot).coords;
    [foot, frame.to_section(face.foot + face.up).coords - foot]
}

/// A hidden face higher than this (mm) bends too easily for a tab to keep it in line. Our choice.
const HIGH_FACE_MM: f64 = 120.0;

/// Which kind of joint a cut gets.
fn choose_kind(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    cut: &Cut,
    s: f64,
) -> JointKind {
    if cut.tab == TabRoom::None {
        return JointKind::Butt;
    }
    if work.hidden.is_empty() {
        return JointKind::Bulkhead;
    }
    match printer.joint {
        JointWish::Tab => JointKind::Tab,
        JointWish::Bulkhead => JointKind::Bulkhead,
        JointWish::Auto => match hidden.face_at(work, s) {
            Some(face) if face.height > HIGH_FACE_MM => JointKind::Bulkhead,
            _ => JointKind::Tab,
        },
    }
}
