//! What is cut into a buck for the bench: holes for dowels, air and clamps, and places to wedge the part
//! off.

use super::BuckFault;
use super::course::outward;
use crate::math::{Point2, Point3, StationFrame, Vector3};
use crate::mesh::{Solid, TriMesh};

/// Sides of a hole; they lie outside of the round, so that what is round goes in.
const SIDES: usize = 24;
/// Air and clamps (mm). Common practice, no source.
const AIR_MM: f64 = 3.0;
const CLAMP_MM: f64 = 6.5;
/// How deep a dowel stands in the base, in dowels.
const DOWEL_DEEP: f64 = 2.0;
/// Left round a dowel (mm).
const ROUND_DOWEL_MM: f64 = 3.0;
/// Room between a dowel and its hole (mm).
const DOWEL_FIT_MM: f64 = 0.2;
/// Width of a wedge's place, and how far it reaches up behind the cloth (mm).
const WEDGE_MM: f64 = 18.0;
const WEDGE_BEHIND_MM: f64 = 6.0;
/// Depth of a wedge's place in a solid buck, and what it leaves of a wall (mm): the wedge bears on six beads
/// of 0.4.
const WEDGE_DEEP_MM: f64 = 5.0;
const WEDGE_LEAVES_MM: f64 = 2.4;

/// What is cut in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DetailKind {
    /// A blind hole in the base, for a dowel in the bench board.
    BoardDowel,
    /// A hole along the buck through a rib, for a dowel or bolt between two pieces.
    RibDowel,
    /// A hole from the back to the run-out under the foot: to blow air under the part, and a cell's vent.
    Air,
    /// A hole through the plinth, for a screw or clamp.
    Clamp,
    /// A place to wedge the part off, at the cloth's lower edge.
    Wedge,
}

/// One of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Detail {
    /// What it is.
    pub kind: DetailKind,
    /// Arc length along the spine (mm).
    pub s: f64,
    /// A point of it (shop frame, mm).
    pub at: Point3,
    /// Diameter of a hole, width of a wedge's place (mm).
    pub size_mm: f64,
}

/// The buck where something is cut in.
pub struct Site<'a> {
    /// Arc length (mm).
    pub s: f64,
    /// The station plane.
    pub frame: StationFrame,
    /// The front without grooves, from base to top.
    pub front: &'a [Point2],
    /// Offset of the back (mm).
    pub back: f64,
    /// The foot's trim line, as a corner of the front.
    pub foot: usize,
    /// How far the cloth goes on past the trim line (mm).
    pub allowance: f64,
    /// Height of the plinth (mm).
    pub base: f64,
    /// Thickness of the wall (mm); `None` if the buck is solid.
    pub wall: Option<f64>,
}

/// What is cut in and its shape.
pub type Cut = (Detail, Solid);

impl Site<'_> {
    fn corner(&self, i: usize) -> Point2 {
        self.front.get(i).copied().unwrap_or_else(Point2::origin)
    }

    /// A point of the front, so far under the foot's trim line.
    fn under_foot(&self, by: f64) -> Point2 {
        let (bottom, foot) = (self.corner(0), self.corner(self.foot));
        let run = (foot - bottom).try_normalize(1e-9);
        foot - run.unwrap_or_else(nalgebra::Vector2::y) * by
    }

    fn across(&self, kind: DetailKind, at: Point2, size_mm: f64) -> Result<Cut, BuckFault> {
        let past = 2.0;
        let from = self.frame.to_shop(Point2::new(self.back - past, at.y));
        let to = self.frame.to_shop(Point2::new(at.x + past, at.y));
        Ok((
            self.detail(kind, self.frame.to_shop(at), size_mm),
            rod(from, to, size_mm)?,
        ))
    }

    fn detail(&self, kind: DetailKind, at: Point3, size_mm: f64) -> Detail {
        Detail {
            kind,
            s: self.s,
            at,
            size_mm,
        }
    }

    /// The air hole.
    pub fn air(&self) -> Result<Cut, BuckFault> {
        self.across(
            DetailKind::Air,
            self.under_foot(0.6 * self.allowance),
            AIR_MM,
        )
    }

    /// The hole for a clamp, through the plinth.
    pub fn clamp(&self) -> Result<Cut, BuckFault> {
        let bottom = self.corner(0);
        let at = bottom + nalgebra::Vector2::new(0.0, 0.5 * self.base);
        self.across(DetailKind::Clamp, at, CLAMP_MM)
    }

    /// The hole for a dowel of the board, in the middle of the base.
    pub fn board_dowel(&self, dowel: f64) -> Result<Cut, BuckFault> {
        let bottom = self.corner(0);
        let mouth = Point2::new(0.5 * (bottom.x + self.back), bottom.y);
        let up = |by: f64| self.frame.to_shop(mouth + nalgebra::Vector2::new(0.0, by));
        let size = dowel + DOWEL_FIT_MM;
        Ok((
            self.detail(DetailKind::BoardDowel, up(0.0), size),
            rod(up(-1.0), up(DOWEL_DEEP * dowel), size)?,
        ))
    }

    /// Two holes along the buck through a rib of this thickness, where it is wide enough for them.
    pub fn rib_dowels(&self, dowel: f64, thick: f64) -> Result<Vec<Cut>, BuckFault> {
        let (low, high) = (self.corner(0).y, self.corner(self.front.len() - 1).y);
        let size = dowel + DOWEL_FIT_MM;
        let need = size + 2.0 * ROUND_DOWEL_MM;
        let mut cuts = Vec::new();
        for share in [0.3, 0.7] {
            let z = low + share * (high - low);
            // The narrowest over the hole's height.
            let width = |z: f64| self.front_at(z) - self.back;
            let least = width(z - 0.5 * need).min(width(z + 0.5 * need));
            if least < need {
                continue;
            }
            let middle = self.frame.to_shop(Point2::new(self.back + 0.5 * least, z));
            let reach = self.frame.along * (0.5 * thick + 1.0);
            cuts.push((
                self.detail(DetailKind::RibDowel, middle, size),
                rod(middle - reach, middle + reach, size)?,
            ));
        }
        Ok(cuts)
    }

    /// Offset of the front at a height.
    fn front_at(&self, z: f64) -> f64 {
        let edge = self.front.windows(2).find(|e| e[0].y <= z && z <= e[1].y);
        match edge {
            Some(e) if e[1].y > e[0].y => {
                e[0].x + (e[1].x - e[0].x) * (z - e[0].y) / (e[1].y - e[0].y)
            }
            Some(e) => e[0].x.min(e[1].x),
            None => self.back,
        }
    }

    /// The place for a wedge: from behind the cloth's lower edge down over half of the plinth.
    pub fn wedge(&self) -> Result<Cut, BuckFault> {
        let deep = self.wall.map_or(WEDGE_DEEP_MM, |wall| {
            (wall - WEDGE_LEAVES_MM).clamp(0.4, WEDGE_DEEP_MM)
        });
        let behind = WEDGE_BEHIND_MM.min(0.4 * self.allowance);
        let (high, low) = (
            self.under_foot(self.allowance - behind),
            self.under_foot(self.allowance + 0.5 * self.base),
        );
        let out = outward(high - low);
        let corners = [
            low - out * deep,
            low + out * 3.0,
            high + out * 3.0,
            high - out * deep,
        ];
        let side = |along: f64| {
            let shift = self.frame.along * along;
            corners.map(|p| self.frame.to_shop(p) + shift)
        };
        let [half, mid] = [0.5 * WEDGE_MM, 0.5];
        let solid = prism(&side(-half), &side(half))?;
        let at = self.frame.to_shop(low + (high - low) * mid);
        Ok((self.detail(DetailKind::Wedge, at, WEDGE_MM), solid))
    }
}

/// A round rod between two points.
fn rod(from: Point3, to: Point3, thick: f64) -> Result<Solid, BuckFault> {
    let axis = (to - from).try_normalize(1e-9).unwrap_or_else(Vector3::z);
    let side = if axis.z.abs() < 0.9 {
        Vector3::z()
    } else {
        Vector3::x()
    };
    let u = side.cross(&axis).normalize();
    let v = axis.cross(&u);
    let radius = 0.5 * thick / (std::f64::consts::PI / SIDES as f64).cos();
    let ring = |centre: Point3| -> Vec<Point3> {
        (0..SIDES)
            .map(|k| std::f64::consts::TAU * (k as f64 + 0.5) / SIDES as f64)
            .map(|a| centre + (u * a.cos() + v * a.sin()) * radius)
            .collect()
    };
    prism(&ring(from), &ring(to))
}

/// A closed body between two like polygons, both anticlockwise seen from the second toward the first.
fn prism(from: &[Point3], to: &[Point3]) -> Result<Solid, BuckFault> {
    let n = from.len() as u32;
    let mut mesh = TriMesh {
        points: from.iter().chain(to).copied().collect(),
        triangles: Vec::new(),
    };
    for i in 1..n.saturating_sub(1) {
        mesh.triangles.push([0, i + 1, i]);
        mesh.triangles.push([n, n + i, n + i + 1]);
    }
    for i in 0..n {
        let k = (i + 1) % n;
        mesh.triangles.extend([[i, k, n + k], [i, n + k, n + i]]);
    }
    if mesh.signed_volume() < 0.0 {
        mesh.triangles.iter_mut().for_each(|t| t.swap(0, 1));
    }
    Ok(Solid::new(mesh)?)
}
