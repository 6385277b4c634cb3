//! Where a fixing can sit: whole, even wall round the hole, far enough from every edge.
//!
//! The finished solid itself is asked, by rays square to the wall, so that a place is refused whatever it
//! was that cut, bent or ended the wall there.

use crate::gap::Survey;
use crate::math::{Point2, Point3, Vector2, Vector3};
use crate::mesh::{Solid, nearest::Nearest};
use crate::panel::foot::tray_height;
use crate::panel::section::Corners;
use crate::panel::{FootKind, PanelOptions, Section, Top};
use std::f64::consts::TAU;

/// Step across the wall in which it is felt out (mm).
const STEP_MM: f64 = 0.5;
/// A ray starts this far outside of the wall (mm), and the wall must be met within as much of its place.
const BEFORE_MM: f64 = 10.0;
const PLACE_MM: f64 = 2.5;
/// Wall, as shares of what was asked, that counts as there, and as no thicker than flat. The flange is met
/// nearly square, so little more than its wall is already the fillet; a lip may run askew to the ray.
const LEAST: f64 = 0.85;
const MOST_FLANGE: f64 = 1.04;
const MOST_LIP: f64 = 1.25;
/// Room between a washer and where the fillet is first felt (mm).
const BESIDE_MM: f64 = 0.5;
/// A lip begins this far above the edge of the skin it lies behind (mm).
const UNDER_SKIN_MM: f64 = 1.0;
/// Places felt out round a hole.
const ROUND: usize = 16;
/// Nothing further away than this is in a head's way (mm).
const FAR_MM: f64 = 400.0;

/// Which wall a fixing goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Surface {
    /// The flange on the tray.
    Flange,
    /// The lip behind or over the skin.
    Lip,
    /// The hidden side of the face.
    Hidden,
}

/// What a fixing needs round it (mm).
pub(super) struct Wish {
    /// From its middle to an edge.
    pub edge_mm: f64,
    /// How far its slot goes either way beyond the round hole.
    pub half_slot_mm: f64,
    /// Washers that would do, the best first.
    pub washers_mm: Vec<f64>,
}

impl Wish {
    /// A round plate that is bonded on, of one of these diameters (mm), the best first.
    pub fn pad(diameters: &[f64]) -> Self {
        Self {
            edge_mm: 0.5 * diameters.last().copied().unwrap_or(0.0),
            half_slot_mm: 0.0,
            washers_mm: diameters.to_vec(),
        }
    }
}

/// Why a place was refused.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Refusal {
    /// The flat is narrower than needed (mm).
    Narrow { has: f64, needs: f64 },
    /// The wall is cut, ended or uneven near there.
    Cut,
}

/// A place for a fixing.
#[derive(Debug, Clone)]
pub(super) struct Seat {
    /// Arc length (mm).
    pub s: f64,
    /// Its middle, on the side that lies against tray or body.
    pub at: Point3,
    /// Unit, along the spine.
    pub along: Vector3,
    /// Unit, across, toward the face.
    pub across: Vector3,
    /// Unit, into the panel.
    pub axis: Vector3,
    /// The washer that fits (mm).
    pub washer_mm: f64,
    /// The wall there (mm).
    pub thickness_mm: f64,
    /// Flange: from the outside of the face. Lip: up from the face's top. Hidden side: down from there.
    pub from_face_mm: f64,
    /// To the wall's free edge (mm).
    pub to_edge_mm: f64,
    /// Clear height over the washer's seat.
    pub room_mm: Option<f64>,
}

#[cfg(test)]
impl Seat {
    /// A seat on the level, for tests of what is done at seats.
    pub fn at_station(s: f64) -> Self {
        Self {
            s,
            at: Point3::new(0.0, s, 0.0),
            along: Vector3::y(),
            across: Vector3::x(),
            axis: Vector3::z(),
            washer_mm: 10.0,
            thickness_mm: 3.0,
            from_face_mm: 12.0,
            to_edge_mm: 12.0,
            room_mm: None,
        }
    }
}

/// A wall that fixings can go through.
pub(super) struct Land<'a> {
    probe: Nearest,
    survey: &'a Survey,
    sections: &'a [Section],
    surface: Surface,
    top: Top,
    corners: Corners,
    options: &'a PanelOptions,
}

/// The wall in one station plane: places across it by a coordinate that grows from `from` to `to`.
#[derive(Clone, Copy)]
struct Strip {
    /// Places at both ends, on the side that lies against tray or body.
    ends: [Point2; 2],
    from: f64,
    to: f64,
    foot_x: f64,
}

impl<'a> Land<'a> {
    /// `None` where the panel has no such wall.
    pub fn new(
        surface: Surface,
        solid: &Solid,
        survey: &'a Survey,
        sections: &'a [Section],
        top: Top,
        options: &'a PanelOptions,
    ) -> Option<Self> {
        if surface == Surface::Lip && !top.has_lip() {
            return None;
        }
        Some(Self {
            probe: Nearest::new(solid.mesh())?,
            survey,
            sections,
            surface,
            top,
            corners: Corners::read(top, sections.first()?),
            options,
        })
    }

    /// Wall that was asked for there (mm).
    fn asked(&self, s: f64) -> f64 {
        let shape = self.options.shape_at(s);
        match self.surface {
            Surface::Flange => shape.wall,
            Surface::Lip => shape.wall_top,
            Surface::Hidden => shape.wall_at(0.5),
        }
    }

    /// A corner of the outlines at an arc length between sections.
    fn between(&self, s: f64, of: impl Fn(&Section) -> Option<Point2>) -> Option<Point2> {
        let last = self.sections.len().checked_sub(1)?;
        let k = self
            .sections
            .partition_point(|x| x.s <= s)
            .clamp(1, last.max(1));
        let (a, b) = (self.sections.get(k - 1)?, self.sections.get(k)?);
        let share = ((s - a.s) / (b.s - a.s)).clamp(0.0, 1.0);
        let (p, q) = (of(a)?, of(b)?);
        Some(p + (q - p) * share)
    }

    fn strip(&self, s: f64) -> Option<Strip> {
        let corner = |k: usize| self.between(s, move |x| x.outline.get(k).copied());
        let foot = corner(Corners::FOOT)?;
        let (ends, from, to) = match self.surface {
            Surface::Flange => {
                let x_of = |x: &Section, least: bool| {
                    let whole = x.whole();
                    let pick = if least { f64::min } else { f64::max };
                    whole
                        .iter()
                        .map(|p| p.x)
                        .reduce(pick)
                        .map(|x| Point2::new(x, 0.0))
                };
                let a = self.between(s, |x| x_of(x, true))?.x - 1.0;
                let b = self.between(s, |x| x_of(x, false))?.x + 1.0;
                ([Point2::new(a, 0.0), Point2::new(b, 0.0)], a, b)
            }
            Surface::Lip => {
                // The side that lies against the skin: the outside behind it, the inside over it.
                let (knee, lip) = match self.top {
                    Top::Lapped => (self.corners.inner_knee(), self.corners.top() + 1),
                    Top::Tucked | Top::Butted => (self.corners.knee(), self.corners.top()),
                };
                let (knee, lip) = (corner(knee)?, corner(lip)?);
                // Past the top, so that its edge is felt.
                let length = (lip - knee).norm();
                let past = lip + (lip - knee) * (1.0 / length.max(1.0));
                ([knee, past], 0.0, (past - knee).norm())
            }
            Surface::Hidden => {
                let low = self.between(s, |x| Some(x.hidden_face[0]))?;
                let high = self.between(s, |x| Some(x.hidden_face[1]))?;
                let run = (high - low).try_normalize(1e-9)?;
                let square = Vector2::new(run.y, -run.x);
                // A place of the outside across the wall from it.
                let middle = (Corners::FOOT + self.corners.knee()) / 2;
                let out = square * (corner(middle)? - low).dot(&square);
                ([low + out, high + out], 0.0, (high - low).norm())
            }
        };
        (to > from).then_some(Strip {
            ends,
            from,
            to,
            foot_x: foot.x,
        })
    }

    fn place(&self, s: f64, strip: &Strip, c: f64) -> Point3 {
        let share = (c - strip.from) / (strip.to - strip.from);
        let mut flat = strip.ends[0] + (strip.ends[1] - strip.ends[0]) * share;
        if self.surface == Surface::Flange {
            flat.y = tray_height(&self.survey.tray, s, flat.x);
        }
        self.survey.spine.frame_at(s).to_shop(flat)
    }

    /// Into the panel, from what it is fixed to.
    fn axis(&self, s: f64, strip: &Strip) -> Vector3 {
        let frame = self.survey.spine.frame_at(s);
        match self.surface {
            Surface::Flange => Vector3::z(),
            Surface::Hidden | Surface::Lip => {
                let run = strip.ends[1] - strip.ends[0];
                let inward = frame.outward * -run.y + Vector3::z() * run.x;
                let inward = inward.try_normalize(1e-12).unwrap_or(-frame.outward);
                let is_over = self.surface == Surface::Lip && self.top == Top::Lapped;
                if is_over { -inward } else { inward }
            }
        }
    }

    /// The wall at a place (mm), met from the side that lies against tray or body.
    fn thickness(&self, at: Point3, axis: Vector3) -> Option<f64> {
        self.through(at, axis).map(|[first, last]| last - first)
    }

    /// Where the wall begins and ends over a place (mm).
    fn through(&self, at: Point3, axis: Vector3) -> Option<[f64; 2]> {
        let from = at - axis * BEFORE_MM;
        let first = self.probe.ray(from, axis, 2.0 * BEFORE_MM)?;
        if (first - BEFORE_MM).abs() > PLACE_MM {
            return None;
        }
        let inside = from + axis * (first + 0.01);
        let wall = self.probe.ray(inside, axis, FAR_MM)? + 0.01;
        Some([first - BEFORE_MM, first - BEFORE_MM + wall])
    }

    fn is_flat(&self, wall: Option<f64>, asked: f64) -> bool {
        let most = match self.surface {
            Surface::Flange => MOST_FLANGE,
            Surface::Lip | Surface::Hidden => MOST_LIP,
        };
        self.is_there(wall, asked) && wall.is_some_and(|t| t <= most * asked)
    }

    fn is_there(&self, wall: Option<f64>, asked: f64) -> bool {
        wall.is_some_and(|t| t >= LEAST * asked)
    }

    /// The flat part of the wall in a station plane: its free edge and its edge at the face.
    fn flat(&self, s: f64, strip: &Strip, axis: Vector3) -> Option<[f64; 2]> {
        let steps = ((strip.to - strip.from) / STEP_MM).ceil().clamp(1.0, 1e4) as usize;
        let at = |i: usize| strip.from + (strip.to - strip.from) * i as f64 / steps as f64;
        let walls: Vec<Option<f64>> = (0..=steps)
            .map(|i| self.thickness(self.place(s, strip, at(i)), axis))
            .collect();
        let asked = self.asked(s);
        let (mut best, mut start) = ((0, 0), None);
        for (i, wall) in walls.iter().enumerate() {
            if !self.is_flat(*wall, asked) {
                start = None;
                continue;
            }
            let first = *start.get_or_insert(i);
            if i - first > best.1 - best.0 {
                best = (first, i);
            }
        }
        if best.1 == best.0 {
            return None;
        }
        let beyond = |i: Option<usize>| i.and_then(|i| walls.get(i)).copied().flatten();
        let [low, high] = [at(best.0), at(best.1)];
        let face_is_high = match self.surface {
            Surface::Flange => self.is_there(beyond(Some(best.1 + 1)), asked),
            Surface::Lip => false,
            Surface::Hidden => true,
        };
        Some(if face_is_high {
            [low, high]
        } else {
            [high, low]
        })
    }

    /// The seat at an arc length, or why there is none.
    pub fn seat(&self, s: f64, wish: &Wish) -> Result<Seat, Refusal> {
        let strip = self.strip(s).ok_or(Refusal::Cut)?;
        let axis = self.axis(s, &strip);
        let [free, face] = self.flat(s, &strip, axis).ok_or(Refusal::Cut)?;
        let has = (face - free).abs();
        let toward = (face - free).signum();
        // Flat that is needed at the face's side.
        let beside = |washer: f64| match self.surface {
            Surface::Flange => 0.5 * washer + BESIDE_MM,
            Surface::Lip => wish.edge_mm + UNDER_SKIN_MM,
            Surface::Hidden => 0.5 * washer,
        };
        let (washer, spare) = wish
            .washers_mm
            .iter()
            .map(|&w| (w, has - wish.edge_mm.max(0.5 * w) - beside(w)))
            .find(|(_, spare)| *spare >= 0.0)
            .ok_or_else(|| {
                let least = wish.washers_mm.last().copied().unwrap_or(0.0);
                Refusal::Narrow {
                    has,
                    needs: wish.edge_mm.max(0.5 * least) + beside(least),
                }
            })?;
        // A bonded plate sits as near to the top as it goes, a hole in the middle of what is free.
        let c = match self.surface {
            Surface::Hidden => face - toward * beside(washer),
            _ => free + toward * (wish.edge_mm.max(0.5 * washer) + 0.5 * spare),
        };
        let at = self.place(s, &strip, c);
        let step = self.place(s, &strip, c + 0.5 * toward) - at;
        let across = (step - axis * step.dot(&axis))
            .try_normalize(1e-12)
            .ok_or(Refusal::Cut)?;
        let along = self.survey.spine.frame_at(s).along;
        let ring = |radius: f64| {
            (0..ROUND).map(move |k| {
                let (sin, cos) = (TAU * (k as f64 + 0.5) / ROUND as f64).sin_cos();
                let u = radius * cos + wish.half_slot_mm * cos.signum();
                (u, radius * sin)
            })
        };
        let wall_at = |(u, v): (f64, f64)| self.thickness(at + along * u + across * v, axis);
        let to_face = (face - c).abs();
        let asked = self.asked(s);
        let even = ring(0.5 * washer).all(|place| self.is_flat(wall_at(place), asked));
        let whole = ring(wish.edge_mm)
            .filter(|place| place.1 <= to_face)
            .all(|place| self.is_there(wall_at(place), asked));
        let thickness_mm = self.thickness(at, axis).ok_or(Refusal::Cut)?;
        if !(even && whole) {
            return Err(Refusal::Cut);
        }
        let over = |(u, v): (f64, f64)| {
            let under = at + along * u + across * v;
            let [_, end] = self.through(under, axis)?;
            let from = under + axis * (end + 0.2);
            self.probe.ray(from, axis, FAR_MM).map(|way| way + 0.2)
        };
        let panel = ring(0.5 * washer).filter_map(over).reduce(f64::min);
        let under_body = self.surface == Surface::Flange && self.options.foot != FootKind::Outboard;
        let body = under_body
            .then(|| self.edge_height(s).map(|z| z - at.z - thickness_mm))
            .flatten();
        let room_mm = match (panel, body) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        let from_face_mm = match self.surface {
            Surface::Flange => (strip.foot_x - c).abs(),
            Surface::Lip => c,
            Surface::Hidden => strip.to - c,
        };
        Ok(Seat {
            s,
            at,
            along,
            across,
            axis,
            washer_mm: washer,
            thickness_mm,
            from_face_mm,
            to_edge_mm: (c - free).abs(),
            room_mm,
        })
    }

    /// Height of the body's edge nearest an arc length.
    fn edge_height(&self, s: f64) -> Option<f64> {
        let stations = self.survey.stations.iter();
        stations
            .min_by(|a, b| (a.s - s).abs().total_cmp(&(b.s - s).abs()))
            .map(|station| station.edge.z)
    }
}
