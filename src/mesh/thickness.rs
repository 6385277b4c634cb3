//! How thick a closed mesh is: by ray, and by the largest ball that touches the surface from within.
//!
//! The ball through a place of the surface is shrunk until nothing of the surface is left inside it (the
//! shrinking ball of J. Ma, S. W. Bae and S. Choi, 3D medial axis point approximation using nearest
//! neighbors and the normal field, The Visual Computer 28, 2012). Its diameter is the thickness to the
//! closest opposite surface. Only places where that surface faces the other way count: near an edge the
//! ball touches the side next to it, which is no wall.

use super::TriMesh;
use super::nearest::Nearest;
use crate::math::{Point3, Vector3};
use rayon::prelude::*;

/// A place counts as a wall if the surface across from it faces away by at least this (as the negated
/// cosine): lets a wall with 30 degrees of taper through and stops the corner of a block.
const FACING: f64 = 0.86;
/// Facets that turn from one to the next by less than this (as a cosine) are one side of a curve, not two
/// sides of a wall: lets a round of a few facets through and stops a rim.
const SAME_SIDE: f64 = 0.5;
/// A ray starts this far inside (mm).
const START_MM: f64 = 1e-3;
/// Times a ball is shrunk at the most, and the share of its radius by which the surface must reach into it
/// to go on: lets the facets of a curve through that turn by less than 8 degrees from one to the next, and
/// leaves a diameter at most one in a hundred too large.
const TURNS: usize = 12;
const SHRINK_EPSILON: f64 = 1e-2;

/// The wall at one place of the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallAt {
    /// The place.
    pub at: Point3,
    /// Through the wall, square to the surface (mm).
    pub ray_mm: f64,
    /// To the closest opposite surface (mm): no more than the ray.
    pub ball_mm: f64,
}

/// Measures a closed mesh that faces outward at about `count` places, spread evenly by area, and gives
/// those that are walls. Nothing within `reach` mm straight across is none. The same mesh gives the same
/// places.
#[must_use]
pub fn measure_walls(mesh: &TriMesh, count: usize, reach: f64) -> Vec<WallAt> {
    let Some(near) = Nearest::new(mesh) else {
        return Vec::new();
    };
    places(mesh, count)
        .into_par_iter()
        .filter_map(|(at, normal)| wall_at(mesh, &near, at, normal, reach))
        .collect()
}

/// Places spread evenly by area, each with its unit normal.
fn places(mesh: &TriMesh, count: usize) -> Vec<(Point3, Vector3)> {
    let areas: Vec<f64> = (0..mesh.triangles.len())
        .map(|t| 0.5 * mesh.area_vector(t).norm())
        .collect();
    let step = areas.iter().sum::<f64>() / count.max(1) as f64;
    if !(step.is_finite() && step > 0.0) {
        return Vec::new();
    }
    let mut found = Vec::with_capacity(count + 1);
    let mut next = 0.5 * step;
    let mut passed = 0.0;
    for (t, area) in areas.iter().enumerate() {
        passed += area;
        while next < passed {
            if let Some(normal) = mesh.area_vector(t).try_normalize(1e-12) {
                found.push((spread(mesh.corners(t), found.len()), normal));
            }
            next += step;
        }
    }
    found
}

/// A place in a triangle that differs from one index to the next: the sequence of M. Roberts, The
/// unreasonable effectiveness of quasirandom sequences (2018), folded into the triangle.
fn spread([a, b, c]: [Point3; 3], index: usize) -> Point3 {
    /// Powers of the inverse of the plastic number.
    const STEPS: [f64; 2] = [0.754_877_666_246_693, 0.569_840_290_998_053];
    let [mut u, mut v] = STEPS.map(|step| (0.5 + step * index as f64).fract());
    if u + v > 1.0 {
        (u, v) = (1.0 - u, 1.0 - v);
    }
    a + (b - a) * u + (c - a) * v
}

fn wall_at(
    mesh: &TriMesh,
    near: &Nearest,
    at: Point3,
    normal: Vector3,
    reach: f64,
) -> Option<WallAt> {
    let inside = at - normal * START_MM;
    let (way, across) = near.ray_to(inside, -normal, reach)?;
    let ray_mm = way + START_MM;
    let mut ball = ray_mm;
    let mut touched = across;
    for _ in 0..TURNS {
        let middle = at - normal * (0.5 * ball);
        let (closest, triangle) = near.closest_on(middle);
        if (closest - middle).norm() >= 0.5 * ball * (1.0 - SHRINK_EPSILON) {
            break;
        }
        let near_by = mesh.area_vector(triangle).try_normalize(1e-12)?;
        if near_by.dot(&normal) > SAME_SIDE {
            break;
        }
        // The ball that touches the surface at both places.
        let chord = at - closest;
        let depth = chord.dot(&normal);
        let smaller = chord.norm_squared() / depth;
        if !(depth > 0.0 && smaller < ball) {
            break;
        }
        (ball, touched) = (smaller, triangle);
    }
    let facing = mesh.area_vector(touched).try_normalize(1e-12)?;
    (facing.dot(&normal) <= -FACING).then_some(WallAt {
        at,
        ray_mm,
        ball_mm: ball,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::samples::{block, octasphere, torus};

    fn range(walls: &[WallAt], of: fn(&WallAt) -> f64) -> [f64; 2] {
        walls
            .iter()
            .map(of)
            .fold([f64::INFINITY, 0.0], |[a, b], mm| [a.min(mm), b.max(mm)])
    }

    /// A plate is as thick as it is, and its rims are no walls: only the two faces are measured, for the
    /// ball from a rim is as small as the plate and touches a face.
    #[test]
    fn a_plate_is_as_thick_as_it_is() {
        let walls = measure_walls(
            &block(Point3::origin(), Vector3::new(80.0, 50.0, 3.0)),
            2000,
            100.0,
        );
        let [least, most] = range(&walls, |w| w.ball_mm);
        assert!((least - 3.0).abs() < 1e-6 && (most - 3.0).abs() < 1e-6);
        let [least, most] = range(&walls, |w| w.ray_mm);
        assert!((least - 3.0).abs() < 1e-6 && (most - 3.0).abs() < 1e-6);
        // Faces 8000 of 8780 mm2, less what lies within half the wall of a rim: 77 by 47 of 80 by 50.
        let share = walls.len() as f64 / 2000.0;
        let want = 2.0 * 77.0 * 47.0 / 8780.0;
        assert!((share - want).abs() < 0.03, "{share} {want}");
    }

    /// Every ball in a sphere is the sphere; in a torus the tube.
    #[test]
    fn round_bodies_have_their_diameters() {
        // Facets fine enough that their normals pass the middle by less than a hundredth of the radius.
        let mut sphere = octasphere(7);
        sphere.points.iter_mut().for_each(|p| p.coords *= 20.0);
        let walls = measure_walls(&sphere, 500, 100.0);
        let [least, most] = range(&walls, |w| w.ball_mm);
        assert!(
            walls.len() > 450 && least > 39.0 && most < 40.1,
            "{} {least} {most}",
            walls.len()
        );
        let ring = torus(300.0, 20.0, 200, 100);
        let [least, most] = range(&measure_walls(&ring, 500, 100.0), |w| w.ball_mm);
        assert!(least > 39.0 && most < 40.1, "{least} {most}");
    }

    /// A wedge of 20 degrees, cut off where it is 1 mm and 11 mm thick across. Square to one face at
    /// distance x from its edge a ray goes through x tan 20; the ball that touches both has the diameter
    /// 2 x tan 10 (plane geometry).
    #[test]
    fn in_a_wedge_the_ball_is_smaller_than_the_ray() {
        let turn = 20f64.to_radians();
        let (near, far) = (5.0, 30.0);
        let corner = |x: f64, up: f64, y: f64| Point3::new(x, y, x * up.tan());
        let mut mesh = TriMesh::default();
        for y in [0.0, 60.0] {
            mesh.points.extend([
                corner(near, 0.0, y),
                corner(far, 0.0, y),
                corner(far, turn, y),
                corner(near, turn, y),
            ]);
        }
        let quads: [[u32; 4]; 6] = [
            [0, 1, 2, 3],
            [7, 6, 5, 4],
            [0, 4, 5, 1],
            [1, 5, 6, 2],
            [2, 6, 7, 3],
            [3, 7, 4, 0],
        ];
        mesh.triangles = quads
            .iter()
            .flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]])
            .collect();
        assert!(mesh.signed_volume() > 0.0);
        let walls = measure_walls(&mesh, 3000, 100.0);
        let under: Vec<&WallAt> = walls
            .iter()
            .filter(|w| w.at.z == 0.0 && w.at.x > 8.0 && w.at.x < 24.0)
            .filter(|w| w.at.y > 8.0 && w.at.y < 52.0)
            .collect();
        assert!(under.len() > 200);
        for wall in under {
            let x = wall.at.x;
            assert!((wall.ray_mm - x * turn.tan()).abs() < 1e-6);
            let ball = 2.0 * x * (0.5 * turn).tan();
            assert!(
                (wall.ball_mm - ball).abs() < 0.01 * ball,
                "{} {ball}",
                wall.ball_mm
            );
        }
    }

    #[test]
    fn nothing_has_no_walls() {
        assert!(measure_walls(&TriMesh::default(), 100, 10.0).is_empty());
        let wide = block(Point3::origin(), Vector3::repeat(50.0));
        assert!(measure_walls(&wide, 100, 10.0).is_empty());
    }
}
