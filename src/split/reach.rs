//! How far the workpiece reaches across and up at closely spaced stations: what planning and cutting
//! look at instead of the mesh.

use super::joint::HiddenSide;
use super::turn::find_hull;
use super::{PrinterOptions, Workpiece};
use crate::math::{Point2, Point3, Spine, StationFrame, Vector2};

/// The workpiece in one station plane.
#[derive(Debug, Clone)]
pub(super) struct Reached {
    pub(super) frame: StationFrame,
    /// Innermost and outermost offset (mm), `None` where the plane meets nothing.
    pub(super) across: Option<[f64; 2]>,
    /// Lowest and highest point (mm); meaningless where `across` is `None`.
    pub(super) height: [f64; 2],
    /// Corners of the section's convex hull in (x outward, z up), anticlockwise.
    pub(super) hull: Vec<Point2>,
    /// Area of the section (mm2).
    pub(super) area: f64,
    /// Centroid of the section (shop frame).
    pub(super) centroid: Point3,
    /// Twice the area over the outline's length (mm): the wall of a thin section.
    pub(super) wall: f64,
    /// Innermost and outermost offset of a tab here (mm), `None` where the hidden side has no room.
    pub(super) tab: Option<[f64; 2]>,
    /// Curvature in plan (1/mm).
    pub(super) curvature: f64,
}

/// The workpiece at evenly spaced stations from its first point to its last.
#[derive(Debug, Clone)]
pub(super) struct Reach {
    /// Arc length of the first station (mm).
    pub(super) start: f64,
    /// Spacing (mm).
    pub(super) step: f64,
    pub(super) stations: Vec<Reached>,
}

/// Spacing the stations have unless closer ones are asked for (mm), and the most stations.
pub(super) const STEP_MM: f64 = 1.0;
const MOST_STATIONS: f64 = 20_000.0;

impl Reach {
    /// Measures the workpiece at stations [`STEP_MM`] apart. `None` if it has no length along its spine.
    pub(super) fn measure(work: &Workpiece, printer: &PrinterOptions) -> Option<Self> {
        Self::measure_every(work, printer, STEP_MM)
    }

    /// Measures the workpiece at stations no farther apart than a spacing (mm).
    pub(super) fn measure_every(
        work: &Workpiece,
        printer: &PrinterOptions,
        spacing: f64,
    ) -> Option<Self> {
        let mesh = work.solid.mesh();
        let locator = Locator::new(work.spine);
        let along: Vec<f64> = mesh.points.iter().map(|p| locator.arc_length(p)).collect();
        let (first, last) = along
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &s| {
                (a.min(s), b.max(s))
            });
        let length = last - first;
        if !(length.is_finite() && length > spacing) {
            return None;
        }
        let count = (length / spacing).ceil().min(MOST_STATIONS);
        let step = length / count;
        let hidden = HiddenSide::new(work);
        let stations = (0..=count as usize)
            .map(|i| {
                let s = first + step * i as f64;
                Reached {
                    frame: work.spine.frame_at(s),
                    across: None,
                    height: [f64::INFINITY, f64::NEG_INFINITY],
                    hull: Vec::new(),
                    area: 0.0,
                    centroid: Point3::origin(),
                    wall: 0.0,
                    tab: hidden.tab_across(s, printer),
                    curvature: work.spine.curvature_at(s),
                }
            })
            .collect();
        let mut reach = Self {
            start: first,
            step,
            stations,
        };
        let mut outlines = vec![Outline::default(); reach.stations.len()];
        for t in &mesh.triangles {
            let corners = t.map(|i| (mesh.points[i as usize], along[i as usize]));
            for k in 0..3 {
                // Each edge comes once in each direction.
                if t[k] < t[(k + 1) % 3] {
                    reach.add_edge(corners[k], corners[(k + 1) % 3]);
                }
            }
            reach.add_triangle(corners, &mut outlines);
        }
        reach.close_sections(&outlines);
        if work.hidden.is_empty() {
            // Pins stand anywhere in the section.
            for station in &mut reach.stations {
                station.tab = station.across;
            }
        }
        Some(reach)
    }

    /// Adds what a triangle cuts out of the outline of every station it passes.
    fn add_triangle(&self, corners: [(Point3, f64); 3], outlines: &mut [Outline]) {
        let (low, high) = (corners.iter().map(|c| c.1))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| {
                (a.min(s), b.max(s))
            });
        let from = ((low - self.start) / self.step).ceil().max(0.0) as usize;
        for (i, outline) in outlines.iter_mut().enumerate().skip(from) {
            let s = self.start + self.step * i as f64;
            if s >= high {
                break;
            }
            // One edge goes up through the station and one down.
            let (mut up, mut down) = (None, None);
            for k in 0..3 {
                let (a, b) = (&corners[k], &corners[(k + 1) % 3]);
                if (a.1 <= s) != (b.1 <= s) {
                    let p = a.0 + (b.0 - a.0) * ((s - a.1) / (b.1 - a.1));
                    let place = if a.1 <= s { &mut up } else { &mut down };
                    *place = Some(self.stations[i].frame.to_section(p));
                }
            }
            if let (Some(p), Some(q)) = (down, up) {
                outline.add(p, q);
            }
        }
    }

    fn close_sections(&mut self, outlines: &[Outline]) {
        for (station, outline) in self.stations.iter_mut().zip(outlines) {
            station.hull = find_hull(&station.hull);
            let area = outline.twice_area.abs() / 2.0;
            station.area = area;
            station.wall = 2.0 * area / outline.length.max(1e-9);
            let c = outline.moment / (3.0 * outline.twice_area);
            station.centroid = if area > 1e-9 && c.x.is_finite() && c.y.is_finite() {
                station.frame.to_shop(Point2::from(c))
            } else {
                station.frame.origin
            };
        }
    }

    /// Widens every station an edge passes.
    fn add_edge(&mut self, a: (Point3, f64), b: (Point3, f64)) {
        let (a, b) = if a.1 <= b.1 { (a, b) } else { (b, a) };
        // A hundredth of a step keeps the first and last station from missing the ends by rounding.
        let from = ((a.1 - self.start) / self.step - 0.01).ceil().max(0.0);
        let to = ((b.1 - self.start) / self.step + 0.01).floor();
        let mut i = from as usize;
        while i as f64 <= to && i < self.stations.len() {
            let s = self.start + self.step * i as f64;
            let share = ((s - a.1) / (b.1 - a.1).max(1e-12)).clamp(0.0, 1.0);
            let p = a.0 + (b.0 - a.0) * share;
            let station = &mut self.stations[i];
            let in_plane = station.frame.to_section(p);
            let x = in_plane.x;
            station.hull.push(in_plane);
            station.across = Some(match station.across {
                Some([low, high]) => [low.min(x), high.max(x)],
                None => [x, x],
            });
            station.height = [station.height[0].min(p.z), station.height[1].max(p.z)];
            i += 1;
        }
    }

    /// Index of the last station.
    pub(super) fn last(&self) -> usize {
        self.stations.len().saturating_sub(1)
    }

    /// Arc length of a station (mm).
    pub(super) fn arc_length(&self, station: usize) -> f64 {
        self.start + self.step * station as f64
    }

    /// How many stations a length takes, rounded up; no more than there can be.
    pub(super) fn stations_in(&self, length: f64) -> usize {
        (length / self.step - 1e-9).ceil().clamp(0.0, MOST_STATIONS) as usize
    }
}

/// What the triangles cut out of one station plane, summed up.
#[derive(Clone, Default)]
struct Outline {
    /// Shoelace sum (mm2).
    twice_area: f64,
    /// Shoelace moment: six times the area times the centroid.
    moment: Vector2,
    /// Length of the outline (mm).
    length: f64,
}

impl Outline {
    fn add(&mut self, p: Point2, q: Point2) {
        let twice = p.coords.perp(&q.coords);
        self.twice_area += twice;
        self.moment += (p.coords + q.coords) * twice;
        self.length += (q - p).norm();
    }
}

/// Finds arc lengths of many points: [`Spine::locate`] looks at the whole spine for each, this at a
/// coarse row of samples and then only at the fine ones near by.
struct Locator {
    start: f64,
    frames: Vec<(StationFrame, f64)>,
}

/// Spacing of the fine samples (mm), how many of them make a coarse one, and how far the samples go on
/// past the spine's ends (mm).
const FINE_MM: f64 = 2.0;
const COARSE: usize = 16;
const BEYOND_MM: f64 = 60.0;

impl Locator {
    fn new(spine: &Spine) -> Self {
        let start = -BEYOND_MM;
        let count = ((spine.length() + 2.0 * BEYOND_MM) / FINE_MM).ceil() as usize;
        let frames = (0..=count)
            .map(|i| {
                let s = start + FINE_MM * i as f64;
                (spine.frame_at(s), spine.curvature_at(s))
            })
            .collect();
        Self { start, frames }
    }

    fn distance(&self, sample: usize, plan: Point2) -> f64 {
        (self.frames[sample].0.origin.xy() - plan).norm()
    }

    fn arc_length(&self, point: &Point3) -> f64 {
        let plan = point.xy();
        let nearest_coarse = (0..self.frames.len())
            .step_by(COARSE)
            .map(|i| self.distance(i, plan))
            .fold(f64::INFINITY, f64::min);
        // Every fine sample lies within half a coarse step of a coarse one.
        let within = nearest_coarse + FINE_MM * COARSE as f64;
        let mut best = (f64::INFINITY, 0);
        for c in (0..self.frames.len()).step_by(COARSE) {
            if self.distance(c, plan) <= within {
                let to = (c + COARSE / 2 + 1).min(self.frames.len());
                for i in c.saturating_sub(COARSE / 2)..to {
                    let d = self.distance(i, plan);
                    if d < best.0 {
                        best = (d, i);
                    }
                }
            }
        }
        let (frame, curvature) = &self.frames[best.1];
        let d = point - frame.origin;
        let shrink = (1.0 + curvature * d.dot(&frame.outward)).max(0.2);
        self.start + FINE_MM * best.1 as f64 + d.dot(&frame.along) / shrink
    }
}
