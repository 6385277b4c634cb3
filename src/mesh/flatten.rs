//! Laying a curved surface flat as woven cloth lies on it: fibres hardly stretch, the weave shears.

use super::TriMesh;
use super::banded::Banded;
use crate::math::{Point2, Vector2, Vector3};
use nalgebra::{Matrix2, Vector6};

/// Steps at the most, and the share of the energy that a step must still gain.
const STEPS: usize = 80;
const GAIN: f64 = 1e-7;
/// Damping of the first step, by how much it changes, and where a step is given up.
const DAMPING: f64 = 1e-3;
const EASE: f64 = 0.3;
const TIGHTEN: f64 = 4.0;
const MOST_DAMPING: f64 = 1e8;
/// A triangle smaller than this (mm2) says nothing about stretch.
const LEAST_AREA: f64 = 1e-9;

/// How cloth gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weave {
    /// Direction of the warp in the flat, from x (rad). The weft runs square to it.
    pub turn: f64,
    /// How stiff it is in shear, as a share of its stiffness along the fibres.
    pub shear_share: f64,
}

/// What cloth does in one triangle as it goes from the flat onto the surface.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Strain {
    /// Stretch along the warp: how much longer it is on the surface than in the flat, as a share.
    pub warp: f64,
    /// The same along the weft.
    pub weft: f64,
    /// Change of the right angle between them (rad), positive where it closes.
    pub shear: f64,
}

/// A triangle of the surface: its corners, where they lie in its own plane, and its area.
struct Facet {
    corners: [usize; 3],
    edges: Matrix2<f64>,
    area: f64,
}

/// A surface that is being laid flat.
struct Sheet {
    facets: Vec<Facet>,
    warp: Vector2,
    weft: Vector2,
    shear_share: f64,
}

/// How one triangle's warp and weft lie on the surface.
struct Carried {
    /// From the flat to the triangle's own plane.
    map: Matrix2<f64>,
    /// Weights of the two edges of the flat triangle in warp and weft.
    weights: [Vector2; 2],
    /// Where a unit of warp and of weft come to lie.
    fibres: [Vector2; 2],
}

impl Sheet {
    fn new(mesh: &TriMesh, weave: Weave) -> Self {
        let facets = (mesh.triangles.iter().enumerate()).filter_map(|(t, corners)| {
            let [a, b, c] = mesh.corners(t);
            let (u, v): (Vector3, Vector3) = (b - a, c - a);
            let x = u.try_normalize(1e-12)?;
            let along = v.dot(&x);
            let height = (v - x * along).norm();
            let area = 0.5 * u.norm() * height;
            (area > LEAST_AREA).then(|| Facet {
                corners: corners.map(|i| i as usize),
                edges: Matrix2::new(u.norm(), along, 0.0, height),
                area,
            })
        });
        let (sin, cos) = weave.turn.sin_cos();
        Self {
            facets: facets.collect(),
            warp: Vector2::new(cos, sin),
            weft: Vector2::new(-sin, cos),
            shear_share: weave.shear_share,
        }
    }

    /// `None` where the flat triangle is turned over or has no area.
    fn carry(&self, facet: &Facet, flat: &[Point2]) -> Option<Carried> {
        let [a, b, c] = facet.corners;
        let (origin, b, c) = (flat.get(a)?, flat.get(b)?, flat.get(c)?);
        let edges = Matrix2::from_columns(&[b - origin, c - origin]);
        let area = edges.determinant();
        if area <= LEAST_AREA || area.is_nan() {
            return None;
        }
        let inverse = edges.try_inverse()?;
        let map = facet.edges * inverse;
        let weights = [inverse * self.warp, inverse * self.weft];
        Some(Carried {
            map,
            weights,
            fibres: [map * self.warp, map * self.weft],
        })
    }

    /// Half the sum of all squares: area times what the fibres stretch, and a little of what they shear.
    /// Shear is counted as the cotangent of the angle between them, which is the shear while it is small
    /// and grows past all bounds as the weave closes. Infinite where a triangle is turned over.
    fn energy(&self, flat: &[Point2]) -> f64 {
        let mut sum = 0.0;
        for facet in &self.facets {
            let Some(carried) = self.carry(facet, flat) else {
                return f64::INFINITY;
            };
            let [p, q] = carried.fibres;
            let cot = p.dot(&q) / p.perp(&q);
            let stretch = (p.norm() - 1.0).powi(2) + (q.norm() - 1.0).powi(2);
            sum += 0.5 * facet.area * (stretch + self.shear_share * cot * cot);
        }
        sum
    }

    /// Adds up the linear system of one step: squares of the slopes, and minus the slope of the energy.
    fn slopes(&self, flat: &[Point2], system: &mut Banded, push: &mut [f64]) -> Option<()> {
        for facet in &self.facets {
            let Carried {
                map,
                weights,
                fibres: [p, q],
            } = self.carry(facet, flat)?;
            let (lp, lq) = (p.norm(), q.norm());
            let (up, uq) = (p / lp, q / lq);
            let (cos, sin) = (up.dot(&uq), up.perp(&uq));
            // Slope of each residual by where warp and weft come to lie.
            let steep = (self.shear_share * facet.area).sqrt() / (sin * sin * sin);
            let root = facet.area.sqrt();
            let rows = [
                (root * (lp - 1.0), [up * root, Vector2::zeros()]),
                (root * (lq - 1.0), [Vector2::zeros(), uq * root]),
                (
                    (self.shear_share * facet.area).sqrt() * cos / sin,
                    [
                        (uq - up * cos) * (steep / lp),
                        (up - uq * cos) * (steep / lq),
                    ],
                ),
            ];
            let turned = map.transpose();
            for (value, by) in rows {
                let mut slope = Vector6::<f64>::zeros();
                for (weight, by) in weights.iter().zip(by) {
                    // A corner that moves by d moves the fibre by minus the map of its weight times d.
                    let back = turned * by;
                    for (k, w) in [-(weight.x + weight.y), weight.x, weight.y]
                        .into_iter()
                        .enumerate()
                    {
                        slope[2 * k] -= w * back.x;
                        slope[2 * k + 1] -= w * back.y;
                    }
                }
                let place = |k: usize| 2 * facet.corners[k / 2] + k % 2;
                for i in 0..6 {
                    push[place(i)] -= slope[i] * value;
                    for j in 0..6 {
                        if place(j) <= place(i) {
                            system.add(place(i), place(j), slope[i] * slope[j]);
                        }
                    }
                }
            }
        }
        Some(())
    }
}

/// Lays a surface flat so that cloth cut to it lies on the surface with the least stretch along its fibres
/// and, of what is left, the least shear: the least of area times the squares of both, found by damped
/// steps of Gauss and Newton (Levenberg 1944, Marquardt 1963) from a flat start with one point for each of
/// the mesh's, none of its triangles turned over. Surfaces that can be developed come out with no stretch
/// and no shear; for others it is the energy form of the nets of inextensible fibres after Chebyshev.
///
/// Points should be numbered so that neighbours have numbers close to each other: the work grows with the
/// square of the widest difference. `None` if the start does not fit the mesh or is turned over somewhere.
#[must_use]
pub fn flatten(mesh: &TriMesh, start: &[Point2], weave: Weave) -> Option<Vec<Point2>> {
    if start.len() != mesh.points.len() || start.len() < 3 {
        return None;
    }
    let sheet = Sheet::new(mesh, weave);
    let reach = (sheet.facets.iter())
        .map(|facet| {
            let [a, b, c] = facet.corners;
            a.max(b).max(c) - a.min(b).min(c)
        })
        .max()?;
    let mut flat = start.to_vec();
    let mut energy = sheet.energy(&flat);
    if !energy.is_finite() {
        return None;
    }
    let mut damping = DAMPING;
    for _ in 0..STEPS {
        let mut system = Banded::new(2 * flat.len(), 2 * reach + 1);
        let mut push = vec![0.0; 2 * flat.len()];
        sheet.slopes(&flat, &mut system, &mut push)?;
        let mut gained = 0.0;
        while damping < MOST_DAMPING {
            let step = system.damped(damping).solve(&push);
            let moved: Vec<Point2> = (flat.iter().enumerate())
                .map(|(i, p)| match step.as_deref() {
                    Some(step) => p + Vector2::new(step[2 * i], step[2 * i + 1]),
                    None => Point2::new(f64::NAN, f64::NAN),
                })
                .collect();
            let after = sheet.energy(&moved);
            if after < energy {
                gained = (energy - after) / energy.max(1e-300);
                flat = moved;
                energy = after;
                damping = (damping * EASE).max(1e-12);
                break;
            }
            damping *= TIGHTEN;
        }
        if gained <= GAIN {
            break;
        }
    }
    Some(flat)
}

/// What the cloth does in every triangle; a triangle without area does nothing. `None` if the flat does not
/// fit the mesh or is turned over somewhere.
#[must_use]
pub fn strains(mesh: &TriMesh, flat: &[Point2], turn: f64) -> Option<Vec<Strain>> {
    if flat.len() != mesh.points.len() {
        return None;
    }
    let whole = Sheet::new(
        mesh,
        Weave {
            turn,
            shear_share: 0.0,
        },
    );
    let mut facets = whole.facets.iter().peekable();
    let mut all = Vec::with_capacity(mesh.triangles.len());
    for triangle in &mesh.triangles {
        let is_next = |facet: &&Facet| facet.corners == triangle.map(|i| i as usize);
        let strain = match facets.next_if(|facet| is_next(facet)) {
            None => Strain::default(),
            Some(facet) => {
                let [p, q] = whole.carry(facet, flat)?.fibres;
                Strain {
                    warp: p.norm() - 1.0,
                    weft: q.norm() - 1.0,
                    shear: p.dot(&q).atan2(p.perp(&q)),
                }
            }
        };
        all.push(strain);
    }
    Some(all)
}

#[cfg(test)]
#[path = "flatten_tests.rs"]
mod tests;
