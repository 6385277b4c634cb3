//! Keys of a lapped joint: tongues under the tab that sit in grooves of the neighbour's hidden side, at
//! heights of their own for each joint.
//!
//! A tongue reaches into the neighbour's wall, not only along it. So what has no groove at that height
//! stops it at its end face, a tongue's length short of seating: another segment's end, an end turned
//! upside down, and the visible side of one turned inside out.

use super::super::cut::sweep;
use super::super::{PrinterOptions, Workpiece};
use super::code::{Site, TICK_MM, heights_within, ticks};
use super::hidden::HiddenSide;
use super::tab::edges;
use super::{CLEAR_OF_CUT_MM, Form, Key, grown_by};
use crate::math::{Point3, Vector2};
use crate::mesh::nearest::Nearest;
use crate::mesh::{Solid, SolidFault};

/// Length of a tongue past the cut where there is room for it (mm): what it stops a wrong pair short by.
pub(in crate::split) const LONG_MM: f64 = 6.0;
/// A tongue shorter than this past the cut is none (mm).
const LEAST_LONG_MM: f64 = 3.5;

/// How large a tongue is made (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Gauge {
    /// Its width: whole beads of 0.4 mm about its middle, and a wall that holds.
    wide: f64,
    /// How far it reaches past the cut.
    long: f64,
    /// Left between it and the tab's edges.
    edge: f64,
    /// Whether the tab lies over all of it, or only where it begins.
    covered: Covered,
}

/// How much of a tongue a tab lies over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Covered {
    All,
    /// Where the tab's lower edge rises, the tongue goes on beside it, held by its root and its upper side.
    AtTheCut,
}

/// Sizes of tongues, the next where there is no room for the one before. The tab's lower edge rises at 45
/// degrees, so that a shorter tongue goes lower too, and one that needs no tab over all of it lower still: so
/// the lowest face that takes a tab has two heights.
const GAUGES: [Gauge; 3] = [
    Gauge {
        wide: 3.0,
        long: LONG_MM,
        edge: 0.5,
        covered: Covered::All,
    },
    Gauge {
        wide: 2.0,
        long: 4.0,
        edge: 0.0,
        covered: Covered::All,
    },
    Gauge {
        wide: 2.0,
        long: 4.0,
        edge: 0.0,
        covered: Covered::AtTheCut,
    },
];
/// How many sizes there are.
pub(super) const SIZES: usize = GAUGES.len();

/// How far a tongue reaches into the neighbour's wall where the wall allows it (mm), and at least.
const INTO_WALL_MM: f64 = 0.9;
const LEAST_INTO_WALL_MM: f64 = 0.4;
/// Most of a wall that a groove takes: a third at least stays.
pub(in crate::split) const MOST_OF_WALL: f64 = 0.6;
/// Lead-in at the tip: its length (mm), and the share of its width that each side draws back.
const LEAD_IN_MM: f64 = 2.0;
const DRAW_BACK: f64 = 0.2;
/// How much less the tip reaches into the wall (mm), where more than the least is left.
const TIP_MM: f64 = 0.3;
/// How far a tongue is rooted in the end of its own wall, and in its tab past the lead-in (mm).
const ROOT_MM: f64 = 0.5;
/// Wall left between two grooves (mm).
const BETWEEN_MM: f64 = 1.0;
/// How far a ray looks for the other side of the wall (mm).
const MOST_WALL_MM: f64 = 60.0;

/// The room for keys at a cut.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct KeyRoom {
    /// Heights there is room for, in ticks.
    heights: Vec<u16>,
    /// The thinnest wall there (mm).
    wall: f64,
    gauge: Gauge,
}

/// What a tongue grows from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Root {
    /// The tab that lies over it.
    Tab,
    /// The web behind it, and it goes through the neighbour's web.
    Web,
}

/// How far a tongue is rooted in its web (mm), and how far it stands off the wall there: as much wall is
/// left toward the pins, which keep further off.
const WEB_ROOT_MM: f64 = 3.0;
const WEB_OVER_MM: f64 = 1.2;

/// The keys of one joint.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Keyway {
    root: Root,
    /// Heights of their middles over the lower end of the hidden face, at the cut (mm).
    heights: Vec<f64>,
    /// Depth of the grooves (mm), and what they leave of the wall.
    deep: f64,
    leaves: f64,
    /// Length of a tongue past the cut (mm).
    long: f64,
    /// Width of a tongue (mm).
    wide: f64,
    /// How far a tongue reaches into the wall (mm).
    into: f64,
}

/// Looks for the room at a cut, for tongues no larger than of a size. `None` where no key goes: too low a
/// tab, too thin a wall for the fit.
pub(super) fn find_room(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    surface: &Nearest,
    (cut, size): (f64, usize),
) -> Option<KeyRoom> {
    (GAUGES.iter().skip(size))
        .find_map(|gauge| room_for(work, hidden, printer, surface, (cut, *gauge)))
}

fn room_for(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    surface: &Nearest,
    (cut, gauge): (f64, Gauge),
) -> Option<KeyRoom> {
    let long = gauge.long.min(printer.tab_mm - 1.0);
    if long < LEAST_LONG_MM {
        return None;
    }
    let here = hidden.face_at(work, cut)?;
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut wall = f64::INFINITY;
    let half = gauge.wide / 2.0 + gauge.edge;
    for past in [0.3, long / 2.0, long + printer.fit_mm] {
        let face = hidden.face_at(work, cut + past)?;
        // How much higher over the face's end the same height is there than at the cut.
        let shift = height_at(&here, &face, 0.0);
        let risen = match gauge.covered {
            Covered::All => past.min(long),
            Covered::AtTheCut => 0.0,
        };
        let [a, b] = edges(printer, face.height, risen);
        low = low.max(a + half - shift);
        high = high.min(b - half - shift);
    }
    let heights = heights_within(low, high);
    for past in [0.3, long / 2.0, long + printer.fit_mm] {
        let face = hidden.face_at(work, cut + past)?;
        for &height in &heights {
            let up = height_at(&here, &face, TICK_MM * f64::from(height));
            // From just inside of the material.
            let from = face.at(up, -0.05);
            let through = surface.ray(from, -face.away, MOST_WALL_MM)?;
            wall = wall.min(through + 0.05);
        }
    }
    let room = KeyRoom {
        heights,
        wall,
        gauge: Gauge { long, ..gauge },
    };
    (!room.heights.is_empty() && room.reaches(printer) >= LEAST_INTO_WALL_MM).then_some(room)
}

/// The height over the lower end of `there` that is as high as `up` is over that of `here`: a tongue runs
/// straight along, wherever the face's end goes.
fn height_at(here: &super::hidden::FaceHere, there: &super::hidden::FaceHere, up: f64) -> f64 {
    let rise = there.up.z;
    if rise.abs() < 0.2 {
        return up;
    }
    (here.at(up, 0.0).z - there.foot.z) / rise
}

impl KeyRoom {
    /// The joint as its code is chosen for it; `wall` is how high the wall is there (mm).
    pub(super) fn site(&self, printer: &PrinterOptions, wall: f64) -> Site {
        let apart = self.gauge.wide + 2.0 * printer.fit_mm + BETWEEN_MM;
        Site {
            heights: self.heights.clone(),
            apart: (apart / TICK_MM).ceil() as u16,
            wall: ticks(wall),
        }
    }

    fn deep(&self, printer: &PrinterOptions) -> f64 {
        (printer.fit_mm + INTO_WALL_MM).min(MOST_OF_WALL * self.wall)
    }

    fn reaches(&self, printer: &PrinterOptions) -> f64 {
        self.deep(printer) - printer.fit_mm
    }

    /// The keys at these heights.
    pub(super) fn keyway(&self, printer: &PrinterOptions, code: &[u16], root: Root) -> Keyway {
        let heights = code.iter().map(|&at| TICK_MM * f64::from(at)).collect();
        let deep = self.deep(printer);
        Keyway {
            root,
            heights,
            deep,
            leaves: self.wall - deep,
            long: self.gauge.long,
            wide: self.gauge.wide,
            into: self.reaches(printer),
        }
    }
}

/// Half of a tongue's or groove's width and how far both ways off the face it reaches, at a place past
/// the cut.
struct Across {
    past: f64,
    half: f64,
    off: [f64; 2],
}

/// Places from one to another, so close that a bend of 50 mm radius bows 0.003 mm between them.
fn spread(from: f64, to: f64) -> Vec<f64> {
    const APART_MM: f64 = 1.0;
    let steps = ((to - from) / APART_MM).ceil().max(1.0);
    (0..=steps as usize)
        .map(|i| from + (to - from) * i as f64 / steps)
        .collect()
}

impl Keyway {
    /// The same keys on a tab.
    pub(super) fn under_a_tab(&self) -> Self {
        Self {
            root: Root::Tab,
            ..self.clone()
        }
    }

    /// The keys as a joint tells of them, on a face with its lower end and its direction up in the station
    /// plane.
    pub(super) fn keys(&self, [foot, up]: [Vector2; 2]) -> Vec<Key> {
        let key = |&height_mm: &f64| Key {
            height_mm,
            at_mm: (foot + up * height_mm).into(),
            wide_mm: self.wide,
            long_mm: self.long,
            into_mm: self.into,
            leaves_mm: self.leaves,
        };
        self.heights.iter().map(key).collect()
    }

    /// Area of the tongues' sides and ends that glue wets (mm2).
    pub(super) fn side_area(&self) -> f64 {
        self.heights.len() as f64 * 2.0 * self.into * self.long
    }

    /// The tongues, as they are joined to the tab or grown toward the neighbour.
    pub(super) fn tongues(
        &self,
        work: &Workpiece,
        hidden: &HiddenSide,
        printer: &PrinterOptions,
        cut: f64,
        form: Form,
    ) -> Option<Result<Vec<Solid>, SolidFault>> {
        let (rooted, over) = match self.root {
            Root::Tab => {
                let over = printer.fit_mm + (1.0 + ROOT_MM).min(0.8 * printer.tab_wall_mm);
                (ROOT_MM, over)
            }
            Root::Web => (WEB_ROOT_MM, WEB_OVER_MM),
        };
        let (begin, grown) = match form {
            Form::Whole => (-rooted, 0.0),
            Form::Grown => (CLEAR_OF_CUT_MM, grown_by(printer.fit_mm)),
        };
        let over = match self.root {
            Root::Tab => over,
            Root::Web => over + grown,
        };
        let lead = LEAD_IN_MM.min(self.long / 2.0);
        let tip = TIP_MM.min((self.into - LEAST_INTO_WALL_MM).max(0.0));
        let half = self.wide / 2.0;
        let full = self.long - lead;
        let rows: Vec<Across> = (spread(begin, full)
            .into_iter()
            .chain(spread(full, self.long).into_iter().skip(1)))
        .map(|past| {
            let at_tip = ((past - full) / lead).clamp(0.0, 1.0);
            let past = if at_tip == 1.0 { past + grown } else { past };
            Across {
                past,
                half: half - at_tip * DRAW_BACK * self.wide + grown,
                off: [-(self.into - at_tip * tip + grown), over],
            }
        })
        .collect();
        self.bars(work, hidden, cut, &rows)
    }

    /// What is cut out of the neighbour for them.
    pub(super) fn grooves(
        &self,
        work: &Workpiece,
        hidden: &HiddenSide,
        printer: &PrinterOptions,
        cut: f64,
    ) -> Option<Result<Vec<Solid>, SolidFault>> {
        let over = match self.root {
            Root::Tab => 0.5,
            Root::Web => WEB_OVER_MM + printer.fit_mm,
        };
        let rows: Vec<Across> = (spread(-1.0, self.long + printer.fit_mm).into_iter())
            .map(|past| Across {
                past,
                half: self.wide / 2.0 + printer.fit_mm,
                off: [-self.deep, over],
            })
            .collect();
        self.bars(work, hidden, cut, &rows)
    }

    fn bars(
        &self,
        work: &Workpiece,
        hidden: &HiddenSide,
        cut: f64,
        rows: &[Across],
    ) -> Option<Result<Vec<Solid>, SolidFault>> {
        let here = hidden.face_at(work, cut)?;
        let mut bars = Vec::with_capacity(self.heights.len());
        for &height in &self.heights {
            let mut corners: Vec<[Point3; 4]> = Vec::with_capacity(rows.len());
            for row in rows {
                let face = hidden.face_at(work, cut + row.past)?;
                let up = height_at(&here, &face, height);
                let [near, far] = row.off;
                corners.push([
                    face.at(up - row.half, far),
                    face.at(up - row.half, near),
                    face.at(up + row.half, near),
                    face.at(up + row.half, far),
                ]);
            }
            match Solid::new(sweep(&corners)) {
                Ok(bar) => bars.push(bar),
                Err(fault) => return Some(Err(fault)),
            }
        }
        Some(Ok(bars))
    }
}
