//! A plane through points that do not all belong to it.
//!
//! RANSAC (Fischler and Bolles, CACM 24(6), 1981) finds who belongs; total least squares on those, with
//! Tukey's weights, gives the plane.

use super::robust::{Draws, biweight};
use super::{Point3, Vector3};
use nalgebra::{Matrix3, SymmetricEigen};

/// A small patch of surface: where it is, which way it faces (unit), how large it is.
#[derive(Debug, Clone, Copy)]
pub struct Patch {
    /// Centre.
    pub at: Point3,
    /// Unit normal.
    pub normal: Vector3,
    /// Area.
    pub area: f64,
}

/// A plane `normal . p = offset`, with the normal on the side its patches face.
#[derive(Debug, Clone, Copy)]
pub struct PlaneFit {
    /// Unit normal.
    pub normal: Vector3,
    /// Signed distance of the plane from the origin.
    pub offset: f64,
    /// Area of the patches within the band that face the same way.
    pub area: f64,
}

impl PlaneFit {
    /// Signed height of a point above the plane.
    #[must_use]
    pub fn height(&self, p: Point3) -> f64 {
        p.coords.dot(&self.normal) - self.offset
    }
}

/// Draws for three points of a plane that holds a fifth of the patches, at 99.9 % (Hartley and Zisserman,
/// Multiple View Geometry, 2nd ed., section 4.7: log 0.001 / log(1 - 0.2^3) = 860).
const DRAWS: usize = 860;

/// A patch belongs only if it faces within about 32 degrees of the plane's normal.
const FACING: f64 = 0.85;

/// The plane with the most area of `patches` within `band` of it and facing its way, refined on those.
/// `None` where there are fewer than three patches or all are in a line.
#[must_use]
pub fn fit_plane(patches: &[Patch], band: f64) -> Option<PlaneFit> {
    if patches.len() < 3 {
        return None;
    }
    let mut draws = Draws::seeded(1);
    let mut best: Option<PlaneFit> = None;
    for _ in 0..DRAWS {
        let [a, b, c] = std::array::from_fn(|_| patches[draws.below(patches.len())]);
        let Some(mut normal) = (b.at - a.at).cross(&(c.at - a.at)).try_normalize(1e-9) else {
            continue;
        };
        if normal.dot(&a.normal) < 0.0 {
            normal = -normal;
        }
        if [a, b, c].iter().any(|p| p.normal.dot(&normal) < FACING) {
            continue;
        }
        let mut plane = PlaneFit {
            normal,
            offset: a.at.coords.dot(&normal),
            area: 0.0,
        };
        plane.area = patches
            .iter()
            .filter(|p| p.normal.dot(&normal) > FACING && plane.height(p.at).abs() < band)
            .map(|p| p.area)
            .sum();
        if best.is_none_or(|b| plane.area > b.area) {
            best = Some(plane);
        }
    }
    let mut plane = best?;
    for _ in 0..6 {
        plane = refine(patches, &plane, band)?;
    }
    Some(plane)
}

/// One step of weighted total least squares (the normal is the direction of least spread).
fn refine(patches: &[Patch], plane: &PlaneFit, band: f64) -> Option<PlaneFit> {
    let (mut sum, mut mean) = (0.0, Vector3::zeros());
    let weigh = |p: &Patch| {
        if p.normal.dot(&plane.normal) > FACING {
            p.area * biweight(4.685 * plane.height(p.at) / (1.5 * band))
        } else {
            0.0
        }
    };
    for p in patches {
        let w = weigh(p);
        sum += w;
        mean += w * p.at.coords;
    }
    if sum <= 0.0 {
        return None;
    }
    mean /= sum;
    let mut spread = Matrix3::zeros();
    for p in patches {
        let d = p.at.coords - mean;
        spread += weigh(p) * d * d.transpose();
    }
    let eigen = SymmetricEigen::try_new(spread, 1e-15, 200)?;
    let least = eigen.eigenvalues.imin();
    let mut normal: Vector3 = eigen.eigenvectors.column(least).into_owned();
    if normal.dot(&plane.normal) < 0.0 {
        normal = -normal;
    }
    Some(PlaneFit {
        normal,
        offset: mean.dot(&normal),
        area: sum,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn patch(x: f64, y: f64, z: f64, normal: Vector3) -> Patch {
        Patch {
            at: Point3::new(x, y, z),
            normal,
            area: 1.0,
        }
    }

    /// Check value R7: the plane z = 2x + 3y + 1.
    #[test]
    fn finds_the_plane_among_clutter() {
        let n = Vector3::new(-2.0, -3.0, 1.0).normalize();
        let mut patches = Vec::new();
        for i in 0..20 {
            for j in 0..20 {
                let (x, y) = (f64::from(i), f64::from(j));
                patches.push(patch(x, y, 2.0 * x + 3.0 * y + 1.0, n));
                if (i + j) % 3 == 0 {
                    patches.push(patch(x, y, 80.0 - x, Vector3::z()));
                }
            }
        }
        let plane = fit_plane(&patches, 0.1).unwrap();
        assert!((plane.normal - Vector3::new(-0.534522, -0.801784, 0.267261)).norm() < 1e-6);
        assert!((plane.offset - 0.267261).abs() < 1e-6);
    }

    /// Check value R7: corners of a square at +e, -e, +e, -e lie about z = 0.
    #[test]
    fn a_twisted_square_lies_about_its_middle() {
        let z = Vector3::z();
        let e = 0.5;
        let patches = [
            patch(0.0, 0.0, e, z),
            patch(10.0, 0.0, -e, z),
            patch(10.0, 10.0, e, z),
            patch(0.0, 10.0, -e, z),
        ];
        let plane = fit_plane(&patches, 5.0).unwrap();
        assert!((plane.normal - z).norm() < 1e-9 && plane.offset.abs() < 1e-9);
    }

    #[test]
    fn points_in_a_line_make_no_plane() {
        let patches: Vec<Patch> = (0..9)
            .map(|i| patch(f64::from(i), 0.0, 0.0, Vector3::z()))
            .collect();
        assert!(fit_plane(&patches, 1.0).is_none());
    }
}
