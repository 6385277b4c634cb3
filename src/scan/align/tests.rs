use super::*;
use crate::math::robust::Draws;

/// A deviate of standard deviation 1: the sum of twelve uniform ones less six.
fn deviate(draws: &mut Draws) -> f64 {
    let uniform = |draws: &mut Draws| draws.below(1 << 30) as f64 / f64::from(1 << 30);
    (0..12).map(|_| uniform(draws)).sum::<f64>() - 6.0
}

/// Check value R4: Low 2004, equation 10.
#[test]
fn the_row_is_lows() {
    let row = row(&Vector3::new(1.0, 2.0, 3.0), &Vector3::z());
    assert_eq!(row, Vector6::new(2.0, -1.0, 0.0, 0.0, 0.0, 1.0));
}

/// Check value R5: six points on the axes with normals along them leave all turns open.
#[test]
fn points_on_the_axes_hold_no_turn() {
    let mut pairs = Vec::new();
    for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
        for side in [-1.0, 1.0] {
            let p = Point3::from(side * axis);
            let pair = Pair {
                p,
                q: p + 0.01 * axis,
                normal: axis,
                own: axis,
            };
            pairs.extend([pair; 6]);
        }
    }
    let step = Step::of(&pairs).unwrap();
    let weak = step.weak();
    assert_eq!(weak.len(), 3);
    assert!(weak.iter().all(|w| w.shift.norm() < 1e-9 && w.hold < 1e-12));
    assert!((step.shift - Vector3::repeat(0.01)).norm() < 1e-12 && step.turn.norm() < 1e-12);
}

/// Check value R6: Chetverikov and others 2005 (from memory). Of 100 pairs with a share of 0.8 in place,
/// 80 are kept.
#[test]
fn the_share_in_place_is_kept() {
    let squares: Vec<f64> = (0..100)
        .map(|k| if k < 80 { 1.0 } else { 900.0 + f64::from(k) })
        .collect();
    assert_eq!(best_count(&squares, 100), 80);
    // e / share^3 by hand: three of four at 1 give 1 / 0.75^3 = 2.37, all four 2.5 at a mean of 2.5.
    assert_eq!(best_count(&[1.0, 1.0, 1.0, 7.0], 4), 3);
    assert_eq!(best_count(&[1.0, 1.0, 1.0, 6.0], 4), 4);
    assert_eq!(best_count(&[], 10), 0);
}

/// A sheet bent like a tray and a skin, `n` by `n` points 5 mm apart from `x0` on, with noise.
fn scan(x0: f64, n: usize, noise: f64, seed: u64) -> TriMesh {
    let mut draws = Draws::seeded(seed);
    let mut mesh = TriMesh::default();
    for i in 0..n {
        for j in 0..n {
            let (x, y) = (x0 + 5.0 * i as f64, 5.0 * j as f64);
            let up = (y - 150.0 - 40.0 * (x / 300.0).cos()).max(0.0);
            let z = 6.0 * (x / 200.0).sin() + 0.9 * up * up / (up + 30.0);
            let shake = Vector3::from_fn(|_, _| noise * deviate(&mut draws));
            mesh.points.push(Point3::new(x, y, z) + shake);
        }
    }
    for i in 0..n as u32 - 1 {
        for j in 0..n as u32 - 1 {
            let a = i * n as u32 + j;
            let b = a + n as u32;
            mesh.triangles.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
        }
    }
    mesh
}

#[test]
fn a_flat_plate_is_told_to_slide_and_stays_where_it_was_put() {
    let plate = |seed| {
        let mut mesh = scan(0.0, 81, 0.0, 1);
        let mut draws = Draws::seeded(seed);
        for p in &mut mesh.points {
            p.z = 0.5 * deviate(&mut draws);
        }
        mesh
    };
    let start = Isometry3::new(Vector3::new(7.0, -4.0, 3.0), Vector3::new(0.01, 0.0, 0.02));
    let got = align(&plate(1), &plate(2), &start, 20.0).unwrap();
    assert_eq!(got.weak.len(), 3, "{:?}", got.weak);
    // Held: height and the two tilts. Kept: both shifts in the plane and the turn in it.
    assert!((got.pose * Point3::new(200.0, 200.0, 0.0)).z.abs() < 0.1);
    assert!((got.pose.translation.x - 7.0).abs() < 2.0);
    assert!((got.pose.rotation.scaled_axis().z - 0.02).abs() < 1e-3);
}

#[test]
fn scans_of_different_places_and_empty_ones_are_refused() {
    let a = scan(0.0, 71, 0.5, 1);
    let b = scan(330.0, 71, 0.5, 2);
    let fault = align(&a, &b, &Isometry3::identity(), 15.0).unwrap_err();
    assert!(matches!(fault, AlignFault::Apart { .. }), "{fault}");
    let none = TriMesh::default();
    let here = Isometry3::identity();
    assert_eq!(align(&a, &none, &here, 15.0), Err(AlignFault::Empty));
    assert_eq!(align(&none, &a, &here, 15.0), Err(AlignFault::Empty));
}
