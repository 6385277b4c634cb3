//! The panel's two ends: cut off flat, returned inboard by an end wall, or faded down onto the tray.

use super::fade::Fade;
use super::foot::tray_height;
use super::loft::Loft;
use super::section::inward;
use super::stance::Stance;
use super::{End, PanelFault, PanelOptions, Section};
use crate::diag::Finding;
use crate::gap::{Obstacle, Survey};
use crate::math::{Point2, Point3, StationFrame};
use crate::mesh::{Solid, TriMesh, boolean};

/// An end wall keeps this far inside the planes of end, tray and knee (mm): no two planes then coincide,
/// which a boolean could not tell apart after rounding, and no printer shows it.
const INSET_MM: f64 = 0.05;
/// Columns and rows of an end wall: its foot follows a crowned tray, its edge a bowed face.
const ACROSS: usize = 8;
const UP: usize = 8;
/// A band of end wall less high than this, in walls, over what stands on the tray is not worth having.
const BAND_WALLS: f64 = 2.0;
/// Fades take up no more of the panel than this share each.
const MOST_SHARE: f64 = 0.4;

/// What was made of one end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndZone {
    /// How it ends.
    pub end: End,
    /// First and last arc length that the end takes up (mm): none of it where it is cut off flat.
    pub along: [f64; 2],
}

/// Both ends of a panel, left one first.
#[derive(Debug)]
pub struct Ends {
    zones: [EndZone; 2],
    walls: Vec<EndWall>,
    fades: Vec<Fade>,
}

/// An end wall and where its outside may be measured.
#[derive(Debug)]
pub struct EndWall {
    solid: Solid,
    /// The end's plane: x outward, along pointing into the panel.
    into: StationFrame,
    /// Arc length of the end (mm).
    s: f64,
    /// Lower inboard and upper outboard corner of the wall clear of the section, in the end's plane (mm).
    clear: [Point2; 2],
}

impl EndWall {
    /// Arc length of its end (mm).
    pub fn s(&self) -> f64 {
        self.s
    }

    /// Places on its outside, the way into it, and the arc length, `margin` (mm) from its edges.
    pub fn places(&self, margin: f64) -> impl Iterator<Item = (Point3, crate::math::Vector3, f64)> {
        const GRID: usize = 6;
        let [low, high] = [
            self.clear[0] + nalgebra::Vector2::repeat(margin),
            self.clear[1] - nalgebra::Vector2::repeat(margin),
        ];
        let has_room = low.x < high.x && low.y < high.y;
        let count = if has_room { GRID * GRID } else { 0 };
        let (frame, s) = (self.into, self.s);
        (0..count).map(move |i| {
            let share = |k: usize| (k as f64 + 0.5) / GRID as f64;
            let (u, v) = (share(i % GRID), share(i / GRID));
            let flat = Point2::new(low.x + u * (high.x - low.x), low.y + v * (high.y - low.y));
            (frame.to_shop(flat) + frame.along * INSET_MM, frame.along, s)
        })
    }
}

/// The course of a section's corners, read between sections as the loft joins them.
struct Course<'a> {
    survey: &'a Survey,
    stances: &'a [Stance],
}

impl Ends {
    /// Plans both ends.
    ///
    /// # Errors
    /// [`PanelFault::End`] where an end wall does not come out as a solid.
    pub fn plan(
        survey: &Survey,
        stances: &[Stance],
        sections: &[Section],
        options: &PanelOptions,
        findings: &mut Vec<Finding>,
    ) -> Result<Self, PanelFault> {
        let (from, to) = match (stances.first(), stances.last()) {
            (Some(first), Some(last)) => (first.s, last.s),
            _ => (0.0, 0.0),
        };
        let zone = |end, s| EndZone { end, along: [s, s] };
        let mut ends = Self {
            zones: [zone(options.end_left, from), zone(options.end_right, to)],
            walls: Vec::new(),
            fades: Vec::new(),
        };
        let course = Course { survey, stances };
        let length = options.fade_mm.min(MOST_SHARE * (to - from));
        for (side, (s, into)) in [(from, 1.0), (to, -1.0)].into_iter().enumerate() {
            let taken = match ends.zones[side].end {
                End::Closed => 0.0,
                End::Returned => {
                    let wall = course.end_wall(s, into, options)?;
                    let wall = course.free_of_obstacles(wall, options, findings)?;
                    ends.walls.extend(wall);
                    options.wall_mm + INSET_MM
                }
                End::Faded => {
                    if length < options.fade_mm - 0.05 {
                        findings.push(
                            Finding::warning(
                                "fade-shortened",
                                format!(
                                    "the panel is too short to fade over {:.0} mm at this end; it fades over \
                                     {length:.0} mm",
                                    options.fade_mm
                                ),
                                "ask for less fade_mm under [panel]",
                            )
                            .at(s)
                            .size(options.fade_mm - length),
                        );
                    }
                    let fade = Fade::new(s, into, length, stances, sections, options.wall_mm);
                    ends.fades.push(fade);
                    length
                }
            };
            let other = s + into * taken;
            ends.zones[side].along = [s.min(other), s.max(other)];
        }
        Ok(ends)
    }

    /// What was made of the left and the right end.
    pub fn zones(&self) -> [EndZone; 2] {
        self.zones
    }

    /// The end walls that were made.
    pub fn walls(&self) -> &[EndWall] {
        &self.walls
    }

    /// Adds the end walls.
    ///
    /// # Errors
    /// [`PanelFault::End`].
    pub fn close(&self, whole: Solid) -> Result<Solid, PanelFault> {
        if self.walls.is_empty() {
            return Ok(whole);
        }
        let mut parts = vec![&whole];
        parts.extend(self.walls.iter().map(|wall| &wall.solid));
        let fault = |reason| self.fault(End::Returned, reason);
        boolean::unite(&parts)
            .map_err(|e| fault(e.to_string()))?
            .ok_or_else(|| fault("nothing is left".into()))
    }

    /// Takes away what lies above the fades.
    ///
    /// # Errors
    /// [`PanelFault::End`].
    pub fn fade(&self, solid: Solid, survey: &Survey) -> Result<Solid, PanelFault> {
        if self.fades.is_empty() {
            return Ok(solid);
        }
        let fault = |reason| self.fault(End::Faded, reason);
        let cutters = self
            .fades
            .iter()
            .map(|fade| fade.cutter(survey))
            .collect::<Result<Vec<_>, _>>()
            .map_err(|e| fault(e.to_string()))?;
        boolean::subtract(&solid, &cutters.iter().collect::<Vec<_>>())
            .map_err(|e| fault(e.to_string()))?
            .ok_or_else(|| fault("nothing is left".into()))
    }

    fn fault(&self, kind: End, reason: String) -> PanelFault {
        let zone = self.zones.iter().find(|zone| zone.end == kind);
        PanelFault::End {
            station_mm: zone.map_or(0.0, |zone| zone.along[0]),
            reason,
        }
    }

    /// Height (mm above the shop plane) to which the panel is left as lofted at arc length `s`.
    pub fn height_left(&self, s: f64) -> f64 {
        self.fades
            .iter()
            .filter_map(|fade| fade.height(s))
            .fold(f64::INFINITY, f64::min)
    }

    /// Whether an end wall stands within `margin` (mm) of arc length `s`.
    pub fn is_walled(&self, s: f64, margin: f64) -> bool {
        self.zones.iter().any(|zone| {
            zone.end == End::Returned && s > zone.along[0] - margin && s < zone.along[1] + margin
        })
    }

    /// Takes what is not there any more out of the hidden faces.
    pub fn trim_hidden(&self, sections: &mut [Section]) {
        const ROOM_MM: f64 = 1.0;
        for section in sections {
            let most = self.height_left(section.s) - ROOM_MM;
            let [low, high] = section.hidden_face;
            if high.y > most {
                let share = ((most - low.y) / (high.y - low.y).max(1e-9)).clamp(0.0, 1.0);
                section.hidden_face[1] = low + (high - low) * share;
            }
        }
    }
}

impl Course<'_> {
    /// The two sections on either side of `s` and the share of the second.
    fn around(&self, s: f64) -> Option<(&Stance, &Stance, f64)> {
        let last = self.stances.len().checked_sub(1)?;
        let k = self
            .stances
            .partition_point(|stance| stance.s <= s)
            .clamp(1.min(last), last);
        let (a, b) = (self.stances.get(k.saturating_sub(1))?, self.stances.get(k)?);
        let share = if b.s > a.s {
            (s - a.s) / (b.s - a.s)
        } else {
            0.0
        };
        Some((a, b, share.clamp(0.0, 1.0)))
    }

    /// Middle of the face's wall at arc length `s`, at a share `up` of the face's height.
    fn middle(&self, s: f64, up: f64) -> Option<Point3> {
        const STEP: f64 = 0.02;
        let (a, b, share) = self.around(s)?;
        let at = |stance: &Stance| {
            let outside = &stance.outside;
            let flat = outside.face_at(up);
            let square = inward(outside.face_at(up + STEP) - outside.face_at(up - STEP));
            let half = 0.5 * stance.shape.wall_at(up);
            stance.frame.to_shop(flat + square * half)
        };
        let (p, q) = (at(a), at(b));
        Some(p + (q - p) * share)
    }

    /// The end wall at arc length `s`; `into` is 1 where the panel goes on to the right of it, else -1.
    fn end_wall(&self, s: f64, into: f64, options: &PanelOptions) -> Result<EndWall, PanelFault> {
        let fault = |reason: String| PanelFault::End {
            station_mm: s,
            reason,
        };
        let stance = self
            .around(s)
            .map(|(a, b, share)| if share > 0.5 { b } else { a })
            .ok_or_else(|| fault("there is no section".into()))?;
        let mut frame = stance.frame;
        frame.along *= into;
        let outside = &stance.outside;
        let depth = options.return_mm.unwrap_or(options.flange_mm);
        let inner = outside.foot.x - depth;
        let mut mesh = TriMesh::default();
        for layer in [INSET_MM, INSET_MM + options.wall_mm] {
            for row in 0..=UP {
                let up = row as f64 / UP as f64;
                let edge = self
                    .meet(s, into, &frame, layer, up)
                    .ok_or_else(|| fault("there is no section".into()))?;
                let x = frame.to_section(edge).x;
                for column in 0..=ACROSS {
                    let back = (x - inner) * column as f64 / ACROSS as f64;
                    let mut point = edge - frame.outward * back;
                    let (at, off) = self.survey.spine.locate(point.xy());
                    let tray = tray_height(&self.survey.tray, at, off) + INSET_MM;
                    point.z = tray + (outside.knee.y - INSET_MM - tray) * up;
                    mesh.points.push(point);
                }
            }
        }
        mesh.triangles = slab(UP + 1, ACROSS + 1);
        if mesh.signed_volume() < 0.0 {
            mesh.triangles.iter_mut().for_each(|t| t.swap(1, 2));
        }
        let (wall, fillet) = (stance.shape.thickest(), stance.shape.fillet);
        let flange = outside.tip.y.max(outside.foot.y) + 2.0 * wall + fillet;
        let face = outside.face().map(|p| p.x).fold(f64::MAX, f64::min) - 2.0 * wall;
        Ok(EndWall {
            solid: Solid::new(mesh).map_err(|e| fault(e.to_string()))?,
            into: frame,
            s,
            clear: [
                Point2::new(inner, flange),
                Point2::new(face, outside.knee.y),
            ],
        })
    }

    /// Where the middle of the face's wall meets the plane `layer` mm inside the end.
    fn meet(&self, s: f64, into: f64, end: &StationFrame, layer: f64, up: f64) -> Option<Point3> {
        let mut at = s + into * layer;
        let mut point = self.middle(at, up)?;
        for _ in 0..12 {
            let short = layer - (point - end.origin).dot(&end.along);
            at += into * short;
            point = self.middle(at, up)?;
        }
        // What is left of the way is less than rounding; the wall stays plane.
        point += end.along * (layer - (point - end.origin).dot(&end.along));
        Some(point)
    }

    /// The wall less room round what stands where it goes; `None` where hardly any of it would be left.
    fn free_of_obstacles(
        &self,
        mut wall: EndWall,
        options: &PanelOptions,
        findings: &mut Vec<Finding>,
    ) -> Result<Option<EndWall>, PanelFault> {
        let room = options.relief_mm;
        let low = wall.clear[0].x;
        let into = wall
            .into
            .along
            .dot(&self.survey.spine.frame_at(wall.s).along);
        let through = wall.s + into.signum() * (options.wall_mm + INSET_MM);
        let zone = [wall.s.min(through) - room, wall.s.max(through) + room];
        let meets = |o: &&Obstacle| {
            let in_way = o.along[0] < zone[1] && o.along[1] > zone[0] && o.across[1] + room > low;
            in_way
                && o.across[0] - room < wall.clear[1].x
                && o.height > super::relief::LEAST_HEIGHT_MM
        };
        let met: Vec<&Obstacle> = self.survey.obstacles.iter().filter(meets).collect();
        let (Some(tallest), Some(outermost)) = (
            met.iter().map(|o| o.height).max_by(f64::total_cmp),
            met.iter().map(|o| o.across[1]).max_by(f64::total_cmp),
        ) else {
            return Ok(Some(wall));
        };
        let fault = |reason: String| PanelFault::End {
            station_mm: wall.s,
            reason,
        };
        let (bottom, top) = (self.survey.tray.height(wall.s, low), wall.clear[1].y);
        let about = |code, what: String, hint: &str| {
            Finding::warning(code, what, hint).at(wall.s).size(tallest)
        };
        if top - bottom - tallest - room < BAND_WALLS * options.wall_mm {
            findings.push(about(
                "end-blocked",
                format!(
                    "something {tallest:.1} mm high stands where the end wall goes; it is left out"
                ),
                "move what stands there, or end the panel closed or faded",
            ));
            return Ok(None);
        }
        findings.push(about(
            "end-notched",
            format!("the end wall is cut free of something {tallest:.1} mm high"),
            "see that no light shows there",
        ));
        let outline = |s: f64| {
            let x = [low - 2.0, outermost + room];
            let z = x.map(|x| tray_height(&self.survey.tray, s, x));
            vec![
                Point2::new(x[0], z[0] - 2.0),
                Point2::new(x[1], z[1] - 2.0),
                Point2::new(x[1], z[1] + tallest + room),
                Point2::new(x[0], z[0] + tallest + room),
            ]
        };
        let outlines: Vec<(f64, Vec<Point2>)> = zone.map(|s| (s, outline(s))).into();
        let placed = outlines.iter().map(|(s, corners)| (*s, corners.as_slice()));
        let block = Loft::new(&self.survey.spine, placed, &[[0, 1, 2], [0, 2, 3]]);
        let block = Solid::new(block.mesh().clone()).map_err(|e| fault(e.to_string()))?;
        let left = boolean::subtract(&wall.solid, &[&block]).map_err(|e| fault(e.to_string()))?;
        wall.clear[0].y = wall.clear[0].y.max(bottom + tallest + room);
        Ok(left.map(|solid| EndWall { solid, ..wall }))
    }
}

/// Triangles of a closed slab: two layers of `rows` times `columns` points, one after the other.
fn slab(rows: usize, columns: usize) -> Vec<[u32; 3]> {
    let at = |layer: usize, row: usize, column: usize| {
        (layer * rows * columns + row * columns + column) as u32
    };
    let mut triangles = Vec::new();
    let mut quad = |a: u32, b: u32, c: u32, d: u32| triangles.extend([[a, b, c], [a, c, d]]);
    for i in 0..rows - 1 {
        for j in 0..columns - 1 {
            quad(
                at(0, i, j),
                at(0, i, j + 1),
                at(0, i + 1, j + 1),
                at(0, i + 1, j),
            );
            quad(
                at(1, i, j),
                at(1, i + 1, j),
                at(1, i + 1, j + 1),
                at(1, i, j + 1),
            );
        }
    }
    let (top, far) = (rows - 1, columns - 1);
    for j in 0..far {
        quad(at(0, 0, j), at(1, 0, j), at(1, 0, j + 1), at(0, 0, j + 1));
        quad(
            at(0, top, j),
            at(0, top, j + 1),
            at(1, top, j + 1),
            at(1, top, j),
        );
    }
    for i in 0..top {
        quad(at(0, i, 0), at(0, i + 1, 0), at(1, i + 1, 0), at(1, i, 0));
        quad(
            at(0, i, far),
            at(1, i, far),
            at(1, i + 1, far),
            at(0, i + 1, far),
        );
    }
    triangles
}
