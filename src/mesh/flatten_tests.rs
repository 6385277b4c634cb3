//! Cones, cylinders and a cap of a sphere laid flat.

use super::*;
use crate::math::Point3;
use crate::mesh::develop::develop_strip;
use std::f64::consts::{FRAC_PI_4, PI, TAU};

const CLOTH: Weave = Weave {
    turn: 0.0,
    shear_share: 1e-5,
};

/// A grid of points, `across` of them in each row, as a mesh.
fn grid(rows: usize, across: usize, at: impl Fn(usize, usize) -> Point3) -> TriMesh {
    let mut mesh = TriMesh::default();
    for i in 0..rows {
        for j in 0..across {
            mesh.points.push(at(i, j));
        }
    }
    for i in 0..rows as u32 - 1 {
        for j in 0..across as u32 - 1 {
            let n = across as u32;
            let (a, b) = (i * n + j, (i + 1) * n + j);
            mesh.triangles.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
        }
    }
    mesh
}

/// A ring of a cone between two shares of its height, cut open: rings of points.
fn cone(radius: f64, height: f64, [low, high]: [f64; 2], around: usize, up: usize) -> TriMesh {
    grid(around + 1, up + 1, |i, j| {
        let a = TAU * i as f64 / around as f64;
        let share = low + (high - low) * j as f64 / up as f64;
        let r = radius * (1.0 - share);
        Point3::new(r * a.cos(), r * a.sin(), height * share)
    })
}

/// A start that is off on purpose: the strip between first and last column developed, the others spread
/// evenly between, and all of it bent.
fn start_of(mesh: &TriMesh, across: usize, bend: f64) -> Vec<Point2> {
    let column = |j: usize| -> Vec<Point3> {
        mesh.points
            .iter()
            .skip(j)
            .step_by(across)
            .copied()
            .collect()
    };
    let flat = develop_strip(&column(0), &column(across - 1)).unwrap();
    let mut points = Vec::new();
    for (low, high) in flat.lower.iter().zip(&flat.upper) {
        for j in 0..across {
            let p = low + (high - low) * (j as f64 / (across - 1) as f64);
            let size = (high - low).norm();
            points.push(p + Vector2::new(0.0, bend * size * (p.x / size).sin()));
        }
    }
    points
}

/// Cone of radius 3 and height 4: a sector of 216 degrees; of radius 100 and height 240: 138.4615 degrees
/// (exact). Sector angle by the arc of the outer edge over the slant to it.
#[test]
fn cones_develop_to_their_sectors() {
    for (r, h, slant, degrees) in [(3.0, 4.0, 5.0, 216.0), (100.0, 240.0, 260.0, 138.4615)] {
        for turn in [0.0, FRAC_PI_4] {
            let mesh = cone(r, h, [0.0, 0.6], 400, 6);
            let flat = flatten(&mesh, &start_of(&mesh, 7, 0.02), Weave { turn, ..CLOTH }).unwrap();
            let rim: Vec<Point2> = flat.iter().step_by(7).copied().collect();
            let inner: Vec<Point2> = flat.iter().skip(6).step_by(7).copied().collect();
            // Where the edges of the sector meet, from its two straight ends.
            let (a, b) = (rim[0], inner[0]);
            let (c, d) = (rim[400], inner[400]);
            let (u, v) = (b - a, d - c);
            let k = (c - a).perp(&v) / u.perp(&v);
            let tip = a + u * k;
            assert!(((tip - a).norm() / slant - 1.0).abs() < 5e-4);
            let turned = rim.windows(2).fold(0.0, |sum, w| {
                let (p, q) = (w[0] - tip, w[1] - tip);
                sum + p.perp(&q).atan2(p.dot(&q))
            });
            let found = turned.abs().to_degrees();
            assert!((found / degrees - 1.0).abs() < 5e-4, "{found}");
            for strain in strains(&mesh, &flat, turn).unwrap() {
                assert!(strain.warp.abs() < 5e-4 && strain.weft.abs() < 5e-4);
                assert!(strain.shear.abs() < 1e-3, "{strain:?}");
            }
        }
    }
}

/// A quarter of a cylinder of radius 80, 83 and 77: 125.6637, 130.3761 and 120.9513 long (exact).
#[test]
fn cylinders_develop_to_their_arcs() {
    for (radius, arc) in [(80.0, 125.6637), (83.0, 130.3761), (77.0, 120.9513)] {
        let mesh = grid(101, 5, |i, j| {
            let a = 0.5 * PI * i as f64 / 100.0;
            Point3::new(radius * a.cos(), radius * a.sin(), 10.0 * j as f64)
        });
        let flat = flatten(&mesh, &start_of(&mesh, 5, 0.05), CLOTH).unwrap();
        for j in 0..5 {
            let length = (flat[500 + j] - flat[j]).norm();
            assert!((length / arc - 1.0).abs() < 5e-4, "{length}");
        }
        assert!(((flat[4] - flat[0]).norm() / 40.0 - 1.0).abs() < 5e-4);
    }
}

/// A cap of a sphere of radius 1000 with a rim of 500, as a grid pressed onto a disc. With it, its
/// azimuthal equidistant map.
fn cap() -> (TriMesh, Vec<Point2>) {
    let count = 41;
    let reach = 1000.0 * 0.5f64.asin();
    let polar = |i: usize, j: usize| {
        let x = 2.0 * i as f64 / (count - 1) as f64 - 1.0;
        let y = 2.0 * j as f64 / (count - 1) as f64 - 1.0;
        // The square is pressed onto the disc ring by ring.
        let r = x.abs().max(y.abs());
        let a = y.atan2(x);
        (reach * r, if r > 0.0 { a } else { 0.0 })
    };
    let mut mesh = grid(count, count, |i, j| {
        let (along, a) = polar(i, j);
        let t = along / 1000.0;
        Point3::new(
            1000.0 * t.sin() * a.cos(),
            1000.0 * t.sin() * a.sin(),
            1000.0 * t.cos(),
        )
    });
    // Every square is split toward the middle: else those at the corners would be needles on the rim.
    let half = (count - 1) / 2;
    for i in 0..count - 1 {
        for j in 0..count - 1 {
            if (i < half) != (j < half) {
                let (a, b) = ((i * count + j) as u32, ((i + 1) * count + j) as u32);
                let first = 2 * (i * (count - 1) + j);
                mesh.triangles[first] = [a, b, a + 1];
                mesh.triangles[first + 1] = [b, b + 1, a + 1];
            }
        }
    }
    let mut flat = Vec::new();
    for i in 0..count {
        for j in 0..count {
            let (along, a) = polar(i, j);
            flat.push(Point2::new(along * a.cos(), along * a.sin()));
        }
    }
    (mesh, flat)
}

/// The map from flat to space of one triangle, as a matrix of three rows and two columns.
fn jacobian(mesh: &TriMesh, flat: &[Point2], t: usize) -> nalgebra::Matrix3x2<f64> {
    let [a, b, c] = mesh.triangles[t].map(|i| i as usize);
    let p = &mesh.points;
    let space = nalgebra::Matrix3x2::from_columns(&[p[b] - p[a], p[c] - p[a]]);
    let plane = Matrix2::from_columns(&[flat[b] - flat[a], flat[c] - flat[a]]);
    space * plane.try_inverse().unwrap()
}

/// Stretch along two fibres p and q apart by the angle g gives the map's metric [pp, pq cos g; ., qq]: its
/// eigenvalues must be the squares of the map's singular values, which another library finds.
#[test]
fn on_a_cap_of_a_sphere_stretch_and_shear_are_the_singular_values() {
    let (mesh, even) = cap();
    for turn in [0.0, 0.3] {
        let flat = flatten(&mesh, &even, Weave { turn, ..CLOTH }).unwrap();
        let all = strains(&mesh, &flat, turn).unwrap();
        let mut worst = 0.0f64;
        for (t, strain) in all.iter().enumerate() {
            let svd = jacobian(&mesh, &flat, t).singular_values();
            let (p, q) = (1.0 + strain.warp, 1.0 + strain.weft);
            let off = p * q * strain.shear.sin();
            let mean = 0.5 * (p * p + q * q);
            let root = (0.25 * (p * p - q * q).powi(2) + off * off).sqrt();
            let mut want = [(mean + root).sqrt(), (mean - root).sqrt()];
            let mut found = [svd[0], svd[1]];
            want.sort_by(f64::total_cmp);
            found.sort_by(f64::total_cmp);
            for (a, b) in want.iter().zip(found) {
                assert!((a - b).abs() < 1e-9, "{want:?} {found:?}");
            }
            worst = worst.max(strain.warp.abs()).max(strain.weft.abs());
        }
        // The equidistant map stretches the rim from 523.60 to 500 round the middle: 4.5 %.
        let of_even = strains(&mesh, &even, turn).unwrap();
        let even_worst = (of_even.iter())
            .map(|s| s.warp.abs().max(s.weft.abs()))
            .fold(0.0, f64::max);
        let shear = all.iter().map(|s| s.shear.abs()).fold(0.0, f64::max);
        println!(
            "worst stretch {worst:.5}, equidistant {even_worst:.5}, shear {:.2} degrees",
            shear.to_degrees()
        );
        assert!((even_worst - 0.045).abs() < 0.003, "{even_worst}");
        assert!(worst <= even_worst, "{worst} {even_worst}");
        assert!(worst < 0.01, "{worst}");
    }
}

/// The shear of a net of fibres that do not stretch, on a small square of a sphere: along two fibres from
/// the middle none, and at (x, y) it is x y / R2 to first order (from the equation of such a net, Chebyshev
/// 1878: the mixed derivative of the angle is minus the curvature times its sine).
#[test]
fn the_weave_shears_as_a_net_on_a_sphere_does() {
    let (radius, half) = (1000.0, 200.0);
    let mesh = grid(41, 41, |i, j| {
        let place = |k: usize| half * (k as f64 / 20.0 - 1.0) / radius;
        let v = Vector3::new(place(i).tan(), place(j).tan(), 1.0).normalize();
        Point3::from(v * radius)
    });
    let start: Vec<Point2> = (0..41 * 41)
        .map(|k| {
            Point2::new(
                half * ((k / 41) as f64 / 20.0 - 1.0),
                half * ((k % 41) as f64 / 20.0 - 1.0),
            )
        })
        .collect();
    let net = Weave {
        shear_share: 1e-7,
        ..CLOTH
    };
    let flat = flatten(&mesh, &start, net).unwrap();
    let all = strains(&mesh, &flat, 0.0).unwrap();
    let mut off = 0.0f64;
    for (t, strain) in all.iter().enumerate() {
        let middle = mesh.triangles[t]
            .iter()
            .fold(Vector2::zeros(), |sum, &i| sum + flat[i as usize].coords)
            / 3.0;
        let want = middle.x * middle.y / (radius * radius);
        off = off.max((strain.shear.abs() - want.abs()).abs());
    }
    // At the corner the shear is 0.04; second-order terms are a share (half / radius) squared of it.
    println!("off by {off}");
    assert!(off < 0.004, "{off}");
}

#[test]
fn what_cannot_be_laid_flat_is_refused() {
    let (mesh, even) = cap();
    assert_eq!(flatten(&mesh, &even[1..], CLOTH), None);
    let turned: Vec<Point2> = even.iter().map(|p| Point2::new(-p.x, p.y)).collect();
    assert_eq!(flatten(&mesh, &turned, CLOTH), None);
    assert_eq!(strains(&mesh, &turned, 0.0), None);
    assert_eq!(flatten(&TriMesh::default(), &[], CLOTH), None);
}
