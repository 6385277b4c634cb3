//! Cones, cylinders and a cap of a sphere laid flat.

use super::*;
use crate::math::Point3;
use crate::mesh::develop::develop_strip;
use std::f64::consts::{FRAC_PI_4, PI, TAU};

const CLOTH: Weave = Weave {
    turn: 0.0,
    shear_share: 1e-5,
};

/// A grid of points, `across` of them in each row.
fn grid(rows: usize, across: usize, at: impl Fn(usize, usize) -> Point3) -> Grid {
    let points = (0..rows * across).map(|k| at(k / across, k % across));
    Grid {
        points: points.collect(),
        across,
    }
}

/// A ring of a cone between two shares of its height, cut open: rings of points.
fn cone(radius: f64, height: f64, [low, high]: [f64; 2], around: usize, up: usize) -> Grid {
    grid(around + 1, up + 1, |i, j| {
        let a = TAU * i as f64 / around as f64;
        let share = low + (high - low) * j as f64 / up as f64;
        let r = radius * (1.0 - share);
        Point3::new(r * a.cos(), r * a.sin(), height * share)
    })
}

/// A start that is off on purpose: the strip between first and last column developed, the others spread
/// evenly between, and all of it bent.
fn start_of(mesh: &Grid, across: usize, bend: f64) -> Vec<Point2> {
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
            let flat = flatten(
                &mesh,
                &start_of(&mesh, 7, 0.02),
                [1403, 1417],
                Weave { turn, ..CLOTH },
            )
            .unwrap();
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
        let flat = flatten(&mesh, &start_of(&mesh, 5, 0.05), [252, 257], CLOTH).unwrap();
        for j in 0..5 {
            let length = (flat[500 + j] - flat[j]).norm();
            assert!((length / arc - 1.0).abs() < 5e-4, "{length}");
        }
        assert!(((flat[4] - flat[0]).norm() / 40.0 - 1.0).abs() < 5e-4);
    }
}

/// Two points of the cap below, beside its middle.
const CAP_HELD: [usize; 2] = [19 * 41 + 20, 21 * 41 + 20];

/// A cap of a sphere of radius 1000 with a rim of 500, as a grid pressed onto a disc. With it, its
/// azimuthal equidistant map.
fn cap() -> (Grid, Vec<Point2>) {
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
    let mesh = grid(count, count, |i, j| {
        let (along, a) = polar(i, j);
        let t = along / 1000.0;
        Point3::new(
            1000.0 * t.sin() * a.cos(),
            1000.0 * t.sin() * a.sin(),
            1000.0 * t.cos(),
        )
    });
    let mut flat = Vec::new();
    for i in 0..count {
        for j in 0..count {
            let (along, a) = polar(i, j);
            flat.push(Point2::new(along * a.cos(), along * a.sin()));
        }
    }
    (mesh, flat)
}

/// The map from flat to space in the middle of one mesh, as a matrix of three rows and two columns: from the
/// ways between the middles of opposite edges.
fn jacobian(mesh: &Grid, flat: &[Point2], t: usize) -> nalgebra::Matrix3x2<f64> {
    let n = mesh.across;
    let a = t / (n - 1) * n + t % (n - 1);
    let (b, c, d) = (a + n, a + n + 1, a + 1);
    let p = &mesh.points;
    let space = nalgebra::Matrix3x2::from_columns(&[
        nalgebra::center(&p[b], &p[c]) - nalgebra::center(&p[a], &p[d]),
        nalgebra::center(&p[d], &p[c]) - nalgebra::center(&p[a], &p[b]),
    ]);
    let plane = Matrix2::from_columns(&[
        nalgebra::center(&flat[b], &flat[c]) - nalgebra::center(&flat[a], &flat[d]),
        nalgebra::center(&flat[d], &flat[c]) - nalgebra::center(&flat[a], &flat[b]),
    ]);
    space * plane.try_inverse().unwrap()
}

/// Stretch along two fibres p and q apart by the angle g gives the map's metric [pp, pq cos g; ., qq]: its
/// eigenvalues must be the squares of the map's singular values, which another library finds.
#[test]
fn on_a_cap_of_a_sphere_stretch_and_shear_are_the_singular_values() {
    let (mesh, even) = cap();
    for turn in [0.0, 0.3] {
        let flat = flatten(&mesh, &even, CAP_HELD, Weave { turn, ..CLOTH }).unwrap();
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
        assert!((even_worst - 0.045).abs() < 0.003, "{even_worst}");
        assert!(worst <= even_worst, "{worst} {even_worst}");
        assert!(worst < 0.01, "{worst}");
    }
}

/// Shear of a net of pinned fibres on a sphere of radius 1, its middle fibres great circles that cross square
/// at the pole: the way of Mack and Taylor (1956), every knot at one distance from the two before it. Knots
/// are `step` apart; (i, j) counts from the middle along both.
fn pinned_net(count: usize, step: f64) -> impl Fn(f64, f64) -> f64 {
    type V = crate::math::Vector3;
    let axis = |k: usize| {
        let a = k as f64 * step;
        (a.sin(), a.cos())
    };
    let start = |k: usize| {
        let (sin, cos) = axis(k);
        let mut row = vec![V::zeros(); count];
        row[0] = V::new(sin, 0.0, cos);
        row
    };
    let mut knots: Vec<Vec<V>> = (0..count).map(start).collect();
    for (k, knot) in knots[0].iter_mut().enumerate() {
        let (sin, cos) = axis(k);
        *knot = V::new(0.0, sin, cos);
    }
    for i in 1..count {
        for j in 1..count {
            // Both neighbours are at the same distance: the new knot is the old one turned half round the
            // middle between them.
            let (a, b, old) = (knots[i - 1][j], knots[i][j - 1], knots[i - 1][j - 1]);
            let mid = (a + b).normalize();
            knots[i][j] = mid * (2.0 * mid.dot(&old)) - old;
        }
    }
    move |u: f64, v: f64| {
        let cell = |i: usize, j: usize| {
            let k = &knots;
            let p = k[i + 1][j] + k[i + 1][j + 1] - k[i][j] - k[i][j + 1];
            let q = k[i][j + 1] + k[i + 1][j + 1] - k[i][j] - k[i + 1][j];
            std::f64::consts::FRAC_PI_2 - p.angle(&q)
        };
        // Cells stand for their middles, and the net is the same on the other side of its axes, turned over.
        let mirrored = |i: i64, j: i64| {
            let side = |k: i64| if k < 0 { (-k - 1, -1.0) } else { (k, 1.0) };
            let ((i, a), (j, b)) = (side(i), side(j));
            a * b * cell(i as usize, j as usize)
        };
        let (x, y) = (u.abs() / step - 0.5, v.abs() / step - 0.5);
        let (i, j) = (x.floor() as i64, y.floor() as i64);
        let (s, t) = (x - i as f64, y - j as f64);
        let low = mirrored(i, j) * (1.0 - s) + mirrored(i + 1, j) * s;
        let high = mirrored(i, j + 1) * (1.0 - s) + mirrored(i + 1, j + 1) * s;
        low * (1.0 - t) + high * t
    }
}

/// The net of pinned fibres agrees with the equation of such nets (Chebyshev 1878): the mixed derivative of
/// the shear is the curvature times its cosine, so that near the middle it is u v.
#[test]
fn a_pinned_net_shears_as_its_equation_says() {
    let shear = pinned_net(400, 0.0025);
    assert!((shear(0.2, 0.15) / 0.03 - 1.0).abs() < 1e-3);
    let (u, v, d) = (0.6, 0.7, 0.02);
    let mixed = (shear(u + d, v + d) - shear(u + d, v - d) - shear(u - d, v + d)
        + shear(u - d, v - d))
        / (4.0 * d * d);
    assert!((mixed / shear(u, v).cos() - 1.0).abs() < 2e-3, "{mixed}");
}

/// A square of a sphere, `half` (rad) to every side along the great circles through its middle, laid flat.
fn square_of_a_sphere(half: f64, count: usize, weave: Weave) -> (Grid, Vec<Point2>) {
    let radius = 1000.0;
    let place = |k: usize| half * (2.0 * k as f64 / (count - 1) as f64 - 1.0);
    let mesh = grid(count, count, |i, j| {
        let v = crate::math::Vector3::new(place(i).tan(), place(j).tan(), 1.0).normalize();
        Point3::from(v * radius)
    });
    let start: Vec<Point2> = (0..count * count)
        .map(|k| Point2::new(place(k / count), place(k % count)) * radius)
        .collect();
    let middle = count / 2;
    let held = [middle - 4, middle + 4].map(|row| row * count + middle);
    let flat = flatten(&mesh, &start, held, weave).unwrap();
    (mesh, flat)
}

/// By symmetry the middle fibres stay great circles, and with them the whole net is given. On a small and on
/// a large piece, whatever the shear stiffness, as long as it is small against that of the fibres.
#[test]
fn the_weave_shears_as_a_pinned_net_on_a_sphere_does() {
    let shear = pinned_net(400, 0.0025);
    for (half, count) in [(0.2, 41), (0.6, 61)] {
        // Where fibres run along the edges of the meshes, the shear alternates a little from mesh to mesh.
        for (turn, shear_share, within) in [
            (0.0, 1e-5, 0.002),
            (FRAC_PI_4, 1e-6, 2e-4),
            (FRAC_PI_4, 1e-5, 2e-4),
            (FRAC_PI_4, 1e-4, 2e-4),
        ] {
            let weave = Weave { turn, shear_share };
            let (mesh, flat) = square_of_a_sphere(half, count, weave);
            let all = strains(&mesh, &flat, turn).unwrap();
            let back = nalgebra::Rotation2::new(-turn);
            let (mut off, mut most, mut stretched) = (0.0f64, 0.0f64, 0.0f64);
            for (t, strain) in all.iter().enumerate() {
                let a = t / (count - 1) * count + t % (count - 1);
                let corners = [a, a + 1, a + count, a + count + 1].map(|i| flat[i].coords);
                let middle = back * corners.iter().sum::<Vector2>() / 4000.0;
                let want = shear(middle.x, middle.y);
                off = off.max((strain.shear.abs() - want).abs());
                most = most.max(want);
                stretched = stretched.max(strain.warp.abs()).max(strain.weft.abs());
            }
            assert!(off < within, "{half} {weave:?}: {off} {most}");
            assert!(stretched < 1e-4, "{half} {weave:?}: {stretched}");
        }
    }
}

#[test]
fn what_cannot_be_laid_flat_is_refused() {
    let (mesh, even) = cap();
    assert_eq!(flatten(&mesh, &even[1..], CAP_HELD, CLOTH), None);
    let turned: Vec<Point2> = even.iter().map(|p| Point2::new(-p.x, p.y)).collect();
    assert_eq!(flatten(&mesh, &turned, CAP_HELD, CLOTH), None);
    assert_eq!(strains(&mesh, &turned, 0.0), None);
    assert_eq!(flatten(&Grid::default(), &[], [0, 0], CLOTH), None);
}
