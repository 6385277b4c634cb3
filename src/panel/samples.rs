//! Surveys of gaps given by formulas, for the tests.

use crate::gap::{Budget, EdgeKind, Obstacle, Quality, Station, Survey, TrayStrip};
use crate::math::{Point2, Point3, Spine, Vector3};

/// A gap given by formulas of the arc length (mm).
pub struct Gap {
    pub spine: Spine,
    pub kind: EdgeKind,
    /// Offset of the edge from the spine (mm).
    pub edge_x: fn(f64) -> f64,
    /// Height of the edge above the shop plane (mm).
    pub edge_z: fn(f64) -> f64,
    /// Lean of the skin (rad).
    pub lean: fn(f64) -> f64,
    /// Height of the tray: the coefficients of its row.
    pub tray: fn(f64) -> [f64; 3],
    /// Thickness of a cut skin, or radius of a rolled edge (mm).
    pub skin: f64,
    /// Whether the edge moves inboard with the lean where it rises above 40 mm: a cut in one skin.
    pub follow: bool,
    pub obstacles: Vec<Obstacle>,
    /// Standard deviation of the noise on edge and lean's line (mm), and its seed.
    pub noise: f64,
    pub seed: u64,
}

/// Even draws from 0 to 1 (Knuth's 64-bit linear congruential generator).
pub struct Draws(pub u64);

impl Draws {
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.next()
    }

    /// Standard normal, as the sum of twelve draws.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

/// A straight spine.
pub fn straight(length: f64) -> Spine {
    let n = (length / 10.0) as usize;
    through((0..=n).map(|i| Point2::new(0.0, length * i as f64 / n as f64)))
}

/// An arc of this radius, bulging outward.
pub fn arc(radius: f64, degrees: f64) -> Spine {
    let length = radius * degrees.to_radians();
    let n = (length / 4.0).ceil() as usize;
    through((0..=n).map(|i| {
        let a = degrees.to_radians() * (i as f64 / n as f64 - 0.5);
        Point2::new(radius * a.cos(), radius * a.sin())
    }))
}

/// A U: leg, corner, middle, corner, leg.
pub fn bow(leg: f64, corner: f64, middle: f64) -> Spine {
    let quarter = corner * std::f64::consts::FRAC_PI_2;
    let half = 0.5 * middle;
    let total = 2.0 * (leg + quarter) + middle;
    let n = (total / 2.0).ceil() as usize;
    through((0..=n).map(|i| {
        let s = total * i as f64 / n as f64 - 0.5 * total;
        let (side, s) = (s.signum(), s.abs());
        let (x, y) = if s < half {
            (0.0, s)
        } else if s < half + quarter {
            let a = (s - half) / corner;
            (corner * (a.cos() - 1.0), half + corner * a.sin())
        } else {
            (-corner - (s - half - quarter), half + corner)
        };
        Point2::new(x, side * y)
    }))
}

fn through(plan: impl Iterator<Item = Point2>) -> Spine {
    let points: Vec<Point3> = plan.map(|p| Point3::new(p.x, p.y, 0.0)).collect();
    Spine::fit(&points, &vec![1.0; points.len()], 8.0, 0.0).unwrap()
}

impl Gap {
    /// Level, 40 mm high, upright.
    pub fn plain(spine: Spine, kind: EdgeKind) -> Self {
        Self {
            spine,
            kind,
            edge_x: |_| 0.0,
            edge_z: |_| 40.0,
            lean: |_| 0.0,
            tray: |_| [0.0; 3],
            skin: 3.0,
            follow: false,
            obstacles: Vec::new(),
            noise: 0.0,
            seed: 1,
        }
    }

    /// Stations about 5 mm apart, unevenly.
    pub fn survey(&self) -> Survey {
        let length = self.spine.length();
        let n = (length / 5.0).round().max(2.0) as usize;
        let mut draws = Draws(self.seed);
        let stations = (0..=n)
            .map(|i| {
                let uneven = if i > 0 && i < n {
                    1.5 * (draws.next() - 0.5)
                } else {
                    0.0
                };
                let s = length * i as f64 / n as f64 + uneven;
                self.station(s, &mut draws)
            })
            .collect();
        let rows = (length / 10.0).ceil() as usize;
        let along: Vec<f64> = (0..=rows)
            .map(|i| length * i as f64 / rows as f64)
            .collect();
        Survey {
            stations,
            edge_kind: self.kind,
            edge_radius_mm: if self.kind == EdgeKind::Rolled {
                self.skin
            } else {
                0.0
            },
            tray: TrayStrip {
                rows: along.iter().map(|&s| (self.tray)(s)).collect(),
                along,
            },
            obstacles: self.obstacles.clone(),
            findings: Vec::new(),
            spine: self.spine.clone(),
        }
    }

    fn station(&self, s: f64, draws: &mut Draws) -> Station {
        let (x, z, lean) = ((self.edge_x)(s), (self.edge_z)(s), (self.lean)(s));
        let x = if self.follow {
            x - (z - 40.0) * lean.tan()
        } else {
            x
        };
        let edge = Point2::new(
            x + self.noise * draws.normal(),
            z + self.noise * draws.normal(),
        );
        let skin = match self.kind {
            EdgeKind::Rolled => Point2::new(edge.x + self.skin, edge.y + self.skin),
            EdgeKind::Cut => {
                let up = if lean < 0.0 { 30.0 } else { 0.0 };
                let out = self.skin / lean.cos() - up * lean.tan();
                Point2::new(edge.x + out, edge.y + up)
            }
        };
        let c = (self.tray)(s);
        let tray = c[0] + c[1] * x + c[2] * x * x;
        let frame = self.spine.frame_at(s);
        Station {
            s,
            edge: frame.to_shop(edge),
            silhouette: frame.to_shop(skin),
            tray: frame.to_shop(Point2::new(x, tray)),
            tray_normal: Vector3::z(),
            lean: lean + 0.05 * self.noise * draws.normal(),
            gap: z - tray,
            sigma: 0.5,
            budget: Budget {
                noise: 0.5,
                ..Budget::default()
            },
            quality: Quality::Good,
        }
    }
}
