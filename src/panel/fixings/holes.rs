//! Round holes, slots and studs as bodies to take away or add.

use super::{Fixing, land::Seat};
use crate::math::{Point3, Vector3};
use crate::mesh::{Solid, TriMesh};
use std::f64::consts::TAU;

/// A polygon stands no further off its circle than this (mm).
const SAGITTA_MM: f64 = 0.03;
/// A cutter reaches this far past the wall on either side (mm).
pub(super) const PAST_MM: f64 = 1.0;

/// The hole or slot of a fixing.
pub(super) fn bore(seat: &Seat, fixing: &Fixing) -> Result<Solid, String> {
    let outline = stadium(
        0.5 * fixing.hole_mm,
        0.5 * (fixing.slot_mm - fixing.hole_mm),
    );
    prism(seat, &outline, [-PAST_MM, seat.thickness_mm + PAST_MM])
}

/// A polygon round a circle of this radius drawn out to both sides by `half` (mm): no side of it is
/// inside the curve, so that what is cut by it is not too small.
pub(super) fn stadium(radius: f64, half: f64) -> Vec<[f64; 2]> {
    let sides = (TAU / (2.0 * (2.0 * SAGITTA_MM / radius.max(0.1)).sqrt())).ceil();
    let count = 4 * ((sides / 4.0).ceil() as usize).max(6);
    let far = radius / (TAU / (2.0 * count as f64)).cos();
    (0..count)
        .map(|k| {
            let angle = TAU * (k as f64 + 0.5) / count as f64;
            let (u, v) = (far * angle.cos(), far * angle.sin());
            [u + half * u.signum(), v]
        })
        .collect()
}

/// An outline in (along, across) of a seat, drawn out between two heights over it (mm).
pub(super) fn prism(
    seat: &Seat,
    outline: &[[f64; 2]],
    [low, high]: [f64; 2],
) -> Result<Solid, String> {
    let n = outline.len() as u32;
    let at = |u: f64, v: f64, h: f64| -> Point3 {
        let way: Vector3 = seat.along * u + seat.across * v + seat.axis * h;
        seat.at + way
    };
    let mut points: Vec<Point3> = outline.iter().map(|&[u, v]| at(u, v, low)).collect();
    points.extend(outline.iter().map(|&[u, v]| at(u, v, high)));
    let mut triangles = Vec::new();
    for i in 0..n {
        let next = (i + 1) % n;
        triangles.extend([[i, next, n + next], [i, n + next, n + i]]);
        if i > 1 {
            triangles.extend([[0, i, i - 1], [n, n + i - 1, n + i]]);
        }
    }
    if seat.along.cross(&seat.across).dot(&seat.axis) < 0.0 {
        triangles.iter_mut().for_each(|t| t.swap(1, 2));
    }
    Solid::new(TriMesh { points, triangles }).map_err(|e| e.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hole_is_nowhere_smaller_than_asked_nor_much_larger() {
        for radius in [2.25, 3.3, 12.5] {
            let outline = stadium(radius, 0.0);
            let n = outline.len();
            for i in 0..n {
                let ([a, b], [c, d]) = (outline[i], outline[(i + 1) % n]);
                let length = (c - a).hypot(d - b);
                let off = (a * d - b * c).abs() / length;
                assert!((off - radius).abs() < 1e-9, "{off}");
                assert!(a.hypot(b) - radius < 0.05);
            }
        }
    }

    #[test]
    fn a_slot_has_the_volume_of_its_parts() {
        let seat = Seat::at_station(0.0);
        let solid = prism(&seat, &stadium(2.75, 1.5), [0.0, 4.0]).unwrap();
        // A circle's area and a rectangle between its halves.
        let area = std::f64::consts::PI * 2.75 * 2.75 + 3.0 * 5.5;
        let off = solid.volume() / (4.0 * area) - 1.0;
        assert!((0.0..0.015).contains(&off), "{off}");
    }
}
