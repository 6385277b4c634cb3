//! A body above its tray, and what stands round it, as exact closed surfaces.
//!
//! Vehicle frame: x forward, y left, z up, mm; the tray lies near z = 0.

use super::gap_law::GapLaw;
use super::plan::{Place, Plan};
use super::section::Section;
use super::solids::{append, block, sweep, turn};
use super::truth::TruthStation;
use gapwright::math::{Point3, Vector3};
use gapwright::mesh::TriMesh;

/// A tray plate, raised along x by `crown`, along y by `dish`, twisted by `twist` (mm at the rim).
pub struct Tray {
    pub half: [f64; 2],
    pub crown: f64,
    pub dish: f64,
    pub twist: f64,
    pub thickness: f64,
    /// Reach outboard of the body's edge, inboard of it at the ends, and past the ends.
    pub outboard: f64,
    pub inboard: f64,
    pub overrun: f64,
}

impl Tray {
    /// Height of the tray's top.
    pub fn height(&self, [x, y]: [f64; 2]) -> f64 {
        let (x, y) = (x / self.half[0], y / self.half[1]);
        self.crown * (x * x - 0.5) + self.dish * (y * y - 0.5) + self.twist * x * y
    }

    /// Upward unit normal of the tray's top.
    pub fn normal(&self, [x, y]: [f64; 2]) -> Vector3 {
        let [a, b] = self.half;
        let dx = (2.0 * self.crown * x / a + self.twist * y / b) / a;
        let dy = (2.0 * self.dish * y / b + self.twist * x / a) / b;
        Vector3::new(-dx, -dy, 1.0).normalize()
    }
}

/// A domed head on the tray, at an arc length and a distance outboard.
pub struct Fastener {
    pub s: f64,
    pub u: f64,
    pub radius: f64,
    pub height: f64,
}

/// A tyre behind one end of the edge.
pub struct Tyre {
    pub at_start: bool,
    pub radius: f64,
    pub width: f64,
}

/// Everything the camera can see.
pub struct Vehicle {
    pub plan: Plan,
    pub law: GapLaw,
    pub section: Section,
    /// Height of the body above its highest edge.
    pub height: f64,
    pub tray: Tray,
    pub fasteners: Vec<Fastener>,
    /// Arc length and distance outboard.
    pub bracket: (f64, f64),
    pub stand: (f64, f64),
    pub stand_top: f64,
    pub tyre: Tyre,
    /// Height of the floor.
    pub floor: f64,
}

impl Vehicle {
    /// The lowest point of the skin at a place on the plan.
    pub fn edge(&self, place: &Place) -> Point3 {
        let [x, y] = place.xy;
        Point3::new(x, y, self.tray.height(place.xy) + self.law.height(place.s))
    }

    /// Height of the body's top edge.
    pub fn body_top(&self) -> f64 {
        let highest = self
            .arc_lengths(0.0, self.plan.length())
            .into_iter()
            .map(|s| self.edge(&self.plan.at(s)).z)
            .fold(f64::MIN, f64::max);
        highest + self.height
    }

    /// Arc lengths close enough together that chords stray less than 0.02 mm.
    fn arc_lengths(&self, from: f64, to: f64) -> Vec<f64> {
        let mut all = vec![from];
        let mut s = from;
        while s < to {
            let bend = self
                .plan
                .at(s)
                .curvature
                .max(self.plan.at(s + 5.0).curvature);
            let near_feature = self.law.features.iter().any(|f| {
                let (first, last) = f.reach();
                s > first - 6.0 && s < last + 1.0
            });
            let step = if near_feature {
                0.5
            } else {
                (0.1 / bend.max(1e-9)).sqrt().min(5.0)
            };
            s = if s + 1.2 * step > to { to } else { s + step };
            all.push(s);
        }
        all
    }

    /// The body's skin.
    pub fn body(&self) -> TriMesh {
        let top = self.body_top();
        let rings: Vec<Vec<Point3>> = self
            .arc_lengths(0.0, self.plan.length())
            .into_iter()
            .map(|s| {
                let place = self.plan.at(s);
                let edge = self.edge(&place);
                self.section
                    .outline(top - edge.z)
                    .into_iter()
                    .map(|[u, z]| {
                        let [x, y] = place.offset(u);
                        Point3::new(x, y, edge.z + z)
                    })
                    .collect()
            })
            .collect();
        sweep(&rings)
    }

    /// The tray with its fasteners and bracket.
    pub fn tray(&self) -> TriMesh {
        let (t, length) = (&self.tray, self.plan.length());
        let (from, to) = (-t.overrun, length + t.overrun);
        // Straight lines from the rim to the chord across the open side: on a curve that only
        // turns left they never cross.
        let chord = [from, to].map(|s| self.plan.at(s).offset(-t.inboard));
        let mix = |a: [f64; 2], b: [f64; 2], f: f64| [0, 1].map(|k| a[k] + f * (b[k] - a[k]));
        let rings: Vec<Vec<Point3>> = self
            .arc_lengths(from, to)
            .into_iter()
            .map(|s| {
                let rim = self.plan.at(s).offset(t.outboard);
                let back = mix(chord[0], chord[1], (s - from) / (to - from));
                let top: Vec<Point3> = (0..=20)
                    .map(|k| {
                        let xy = mix(rim, back, f64::from(k) / 20.0);
                        Point3::new(xy[0], xy[1], t.height(xy))
                    })
                    .collect();
                let down = Vector3::new(0.0, 0.0, -t.thickness);
                let bottom = top.iter().rev().map(|p| p + down);
                top.iter().copied().chain(bottom).collect()
            })
            .collect();
        let mut mesh = sweep(&rings);
        for f in &self.fasteners {
            let ball = (f.radius * f.radius + f.height * f.height) / (2.0 * f.height);
            let half = (f.radius / ball).asin();
            let mut profile = vec![[0.0, -1.0], [f.radius, -1.0]];
            profile.extend((0..=8).map(|k| {
                let angle = half * (1.0 - f64::from(k) / 8.0);
                [ball * angle.sin(), ball * angle.cos() - ball + f.height]
            }));
            let (foot, normal) = self.on_tray(f.s, f.u);
            append(&mut mesh, &turn(&profile, foot, normal, 32));
        }
        let (s, u) = self.bracket;
        let heading = self.plan.at(s).heading;
        let sunk = |u: f64| self.on_tray(s, u).0 - Vector3::z();
        append(
            &mut mesh,
            &block(sunk(u), heading, [20.0, 15.0], [20.0, 15.0], 4.0),
        );
        append(
            &mut mesh,
            &block(sunk(u - 13.5), heading, [20.0, 1.5], [20.0, 1.5], 30.0),
        );
        mesh
    }

    fn on_tray(&self, s: f64, u: f64) -> (Point3, Vector3) {
        let xy = self.plan.at(s).offset(u);
        (
            Point3::new(xy[0], xy[1], self.tray.height(xy)),
            self.tray.normal(xy),
        )
    }

    /// Floor, stand and tyre, and behind a straight skirt the chassis rail that closes the view.
    pub fn surroundings(&self) -> TriMesh {
        let mut mesh = TriMesh::default();
        let slab = Point3::new(0.0, 0.0, self.floor - 20.0);
        append(&mut mesh, &block(slab, 0.3, [2500.0; 2], [2500.0; 2], 20.0));

        let place = self.plan.at(self.stand.0);
        let [x, y] = place.offset(self.stand.1);
        let heading = place.heading + 0.7;
        let foot = Point3::new(x, y, self.floor);
        let rise = self.stand_top - self.floor;
        append(
            &mut mesh,
            &block(foot, heading, [55.0, 55.0], [20.0, 20.0], 0.7 * rise),
        );
        let head = foot + Vector3::new(0.0, 0.0, 0.7 * rise);
        append(
            &mut mesh,
            &block(head, heading, [20.0, 20.0], [28.0, 28.0], 0.3 * rise),
        );

        if self.plan.least_radius() > 2000.0 {
            let place = self.plan.at(self.plan.length() / 2.0);
            let [x, y] = place.offset(40.0 - self.tray.inboard);
            let half = [self.plan.length() / 2.0, 30.0];
            let foot = Point3::new(x, y, 12.0);
            append(&mut mesh, &block(foot, place.heading, half, half, 300.0));
        }

        let t = &self.tyre;
        // Clear of the tray's overrun.
        let away = t.radius + self.tray.overrun + 12.0;
        let place = if t.at_start {
            self.plan.at(-away)
        } else {
            self.plan.at(self.plan.length() + away)
        };
        let [x, y] = place.offset(-t.width - 5.0);
        let n = place.outward();
        let (r, w) = (t.radius, t.width);
        let profile = [
            [0.0, 20.0],
            [0.55 * r, 20.0],
            [0.62 * r, 3.0],
            [0.78 * r, 0.0],
            [0.9 * r, 4.0],
            [0.97 * r, 12.0],
            [r, 28.0],
            [r, w - 28.0],
            [0.97 * r, w - 12.0],
            [0.9 * r, w - 4.0],
            [0.78 * r, w],
            [0.62 * r, w - 3.0],
            [0.55 * r, w - 20.0],
            [0.0, w - 20.0],
        ];
        let hub = Point3::new(x, y, self.floor + r);
        append(
            &mut mesh,
            &turn(&profile, hub, Vector3::new(n[0], n[1], 0.0), 64),
        );
        mesh
    }

    /// The true stations, 5 mm apart, closer at steps and notches.
    pub fn stations(&self) -> Vec<TruthStation> {
        self.arc_lengths(0.0, self.plan.length())
            .into_iter()
            .map(|s| {
                let place = self.plan.at(s);
                let edge = self.edge(&place);
                let n = place.outward();
                let outward = Vector3::new(n[0], n[1], 0.0);
                let [u, up] = self.section.silhouette();
                let height = self.law.height(s);
                TruthStation {
                    s,
                    edge,
                    outward,
                    gap: height * self.tray.normal(place.xy).z,
                    tray_below: edge - Vector3::z() * height,
                    silhouette: edge + outward * u + Vector3::z() * up,
                }
            })
            .collect()
    }
}
