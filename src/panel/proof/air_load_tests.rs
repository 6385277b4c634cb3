//! The air's load against worked values: Roark's table 8.1 (from memory) and sums done apart from this code.

use super::air_load::*;
use super::plate;
use super::walls::Walls;
use crate::material::Material;

fn close(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got} is not {want}");
}

/// A PETG panel a metre long, 3 mm thick and 40 mm tall, in the room, held every 200 mm.
fn input(held: FaceHeld) -> AirInput {
    AirInput {
        heights: (0..=100).map(|k| [10.0 * f64::from(k), 40.0]).collect(),
        walls: Walls::even(3.0),
        fixings: (0..=5).map(|k| 200.0 * f64::from(k)).collect(),
        planned: Planned::OnPanel,
        held,
        arms_mm: Some(vec![12.0; 6]),
        material: Material::Petg,
        hot_c: 20.0,
    }
}

fn air(speed_kmh: f64) -> AirOptions {
    AirOptions {
        speed_kmh,
        ..AirOptions::default()
    }
}

#[test]
fn dynamic_pressure_is_the_standard_atmospheres() {
    // ISO 2533: 1.225 kg/m3 (opened); half of it times the square of the speed, worked by hand.
    let rows = [
        (50.0, 118.15),
        (100.0, 472.61),
        (130.0, 798.71),
        (160.0, 1209.88),
        (200.0, 1890.43),
        (250.0, 2953.80),
        (180.0, 1531.25),
    ];
    for (speed, pressure) in rows {
        close(dynamic_pressure(speed), pressure, 0.005);
    }
}

#[test]
fn one_stretch_bends_as_roark_says_and_the_face_as_a_cantilever() {
    // Held at two places 200 mm apart, 2 GPa, 1890.43 Pa: 8.7520 mm free to turn, 1.7504 mm held. The
    // face, 40 mm: w H^4 / 8 E I.
    let one = AirInput {
        heights: vec![[0.0, 40.0], [200.0, 40.0]],
        fixings: vec![0.0, 200.0],
        ..input(FaceHeld::OneEdge)
    };
    let proof = prove(&one, &air(200.0));
    let worst = proof.worst.unwrap();
    close(worst.between.most_mm, 8.7520, 0.0005);
    close(worst.between.least_mm, 1.7504, 0.0005);
    let face = 1890.43e-6 * 40f64.powi(4) / (8.0 * 2000.0 * 2.25);
    close(worst.face.most_mm, face, 1e-6);
    // 6 M / t^2 with M = w L^2 / 8.
    close(worst.stress_mpa(), 6.0 * 1890.43e-6 * 4e4 / 8.0 / 9.0, 1e-5);
    assert_eq!(proof.findings[0].code, "air-bends-past-half-wall");
}

/// A deeper flange further on, or a fixing close to its edge there, changes nothing at the others.
#[test]
fn each_fixing_holds_on_its_own_arm() {
    let mut other = input(FaceHeld::BothEdges);
    other.arms_mm = Some(vec![12.0, 12.0, 12.0, 3.0, 20.0, 20.0]);
    let [even, other] = [input(FaceHeld::BothEdges), other].map(|i| prove(&i, &air(130.0)));
    let pull = |proof: &LoadProof, k: usize| proof.fixings[k].pull_n.unwrap();
    for (k, times) in [1.0, 1.0, 1.0, 4.0, 0.6, 0.6].into_iter().enumerate() {
        close(pull(&other, k), times * pull(&even, k), 1e-9);
    }
}

#[test]
fn fixings_carry_the_whole_load_and_what_pries_at_them() {
    for (held, share) in [(FaceHeld::OneEdge, 0.5), (FaceHeld::BothEdges, 0.125)] {
        let proof = prove(&input(held), &air(130.0));
        // 798.71 Pa on 1000 by 40 mm.
        let all: f64 = proof.fixings.iter().map(|f| f.across_n).sum();
        close(all, 798.71e-6 * 40_000.0, 0.001);
        for fixing in &proof.fixings {
            let pull = fixing.across_n * 40.0 * share / 12.0;
            close(fixing.pull_n.unwrap(), pull, 1e-9);
        }
    }
}

#[test]
fn the_widest_pitch_just_keeps_the_limit_in_a_long_row() {
    for held in [FaceHeld::OneEdge, FaceHeld::BothEdges] {
        let options = air(160.0);
        let pitch = prove(&input(held), &options).widest_pitch_mm.unwrap();
        let row = |pitch: f64| {
            let three = AirInput {
                heights: vec![[0.0, 40.0], [3.0 * pitch, 40.0]],
                fixings: (0..=3).map(|k| pitch * f64::from(k)).collect(),
                ..input(held)
            };
            prove(&three, &options)
        };
        let just = row(pitch).worst.unwrap().deflection_mm()[1];
        close(just, options.limit_mm, 0.01);
        assert!(row(0.98 * pitch).findings.is_empty());
        assert_eq!(row(1.02 * pitch).findings.len(), 1);
    }
    // A face that bends past the limit by itself: no pitch helps, and the hint does not name one.
    let tall = AirInput {
        heights: vec![[0.0, 150.0], [400.0, 150.0]],
        fixings: vec![0.0, 200.0, 400.0],
        ..input(FaceHeld::OneEdge)
    };
    let proof = prove(&tall, &air(130.0));
    assert_eq!(proof.widest_pitch_mm, None);
    assert!(
        proof.findings[0].hint.contains("ribs"),
        "{}",
        proof.findings[0]
    );
}

#[test]
fn a_face_that_leans_on_its_lip_bends_as_a_plate() {
    let proof = prove(&input(FaceHeld::BothEdges), &air(130.0));
    let face = proof.worst.unwrap().face;
    // Timoshenko and Woinowsky-Krieger: endless plates, 5/384 and 1/384 q a^4 / D (tables 8 and 35).
    let d = 2000.0 * 27.0 / (12.0 * (1.0 - plate::POISSON.powi(2)));
    let unit = 798.71e-6 * 40f64.powi(4) / d;
    close(face.most_mm, 0.01302 * unit, 0.01 * face.most_mm);
    close(face.least_mm, 0.00260 * unit, 0.01 * face.least_mm);
}

#[test]
fn heat_softens_and_the_tallest_face_of_a_stretch_counts() {
    let cold = prove(&input(FaceHeld::OneEdge), &air(130.0)).worst.unwrap();
    let hot = AirInput {
        hot_c: 70.0,
        ..input(FaceHeld::OneEdge)
    };
    let hot = prove(&hot, &air(130.0)).worst.unwrap();
    // 2000 MPa in the room, 1300 MPa at 70 degrees (material classes, from memory).
    close(
        hot.deflection_mm()[1] / cold.deflection_mm()[1],
        2000.0 / 1300.0,
        1e-9,
    );
    let mut bump = input(FaceHeld::OneEdge);
    bump.heights[50][1] = 150.0;
    let worst = prove(&bump, &air(130.0)).worst.unwrap();
    assert_eq!((worst.along, worst.height_mm), ([400.0, 600.0], 150.0));
}

#[test]
fn nothing_blows_on_a_panel_that_stands_still_and_odd_numbers_do_no_harm() {
    let still = prove(&input(FaceHeld::OneEdge), &air(0.0));
    assert_eq!(still.worst.unwrap().deflection_mm(), [0.0, 0.0]);
    assert_eq!(still.widest_pitch_mm, None);
    assert!(still.findings.is_empty());
    for odd in [f64::NAN, f64::INFINITY, 0.0, -1.0] {
        let input = AirInput {
            heights: vec![[0.0, odd], [odd, 1.0]],
            walls: Walls::even(odd),
            fixings: vec![0.0, odd],
            ..input(FaceHeld::BothEdges)
        };
        let pitch = prove(&input, &air(odd)).widest_pitch_mm;
        assert!(pitch.is_none_or(f64::is_finite), "{odd}");
    }
    let none = AirInput {
        heights: Vec::new(),
        ..input(FaceHeld::OneEdge)
    };
    assert_eq!(prove(&none, &air(130.0)).worst, None);
}

/// A strip bends as the cube of its thickness (Roark, table 8.1), and is strained as its square.
#[test]
fn a_stretch_bends_by_its_own_wall() {
    let even = input(FaceHeld::OneEdge);
    let thick = AirInput {
        walls: Walls::even(6.0),
        ..even.clone()
    };
    let mut walls: Vec<[f64; 2]> = (0..=100).map(|k| [10.0 * f64::from(k), 6.0]).collect();
    walls
        .iter_mut()
        .filter(|w| w[0] > 420.0 && w[0] < 580.0)
        .for_each(|w| w[1] = 3.0);
    let thinned = AirInput {
        walls: Walls(walls),
        ..even
    };
    let [thick, thinned] = [thick, thinned].map(|input| prove(&input, &air(130.0)));
    let (all, worst) = (thick.worst.unwrap(), thinned.worst.unwrap());
    assert!(
        worst.along[0] >= 400.0 && worst.along[1] <= 600.0,
        "{worst:?}"
    );
    assert_eq!((thick.wall_mm, thinned.wall_mm), (6.0, 3.0));
    close(worst.face.most_mm / all.face.most_mm, 8.0, 1e-9);
    close(worst.face.stress_mpa / all.face.stress_mpa, 4.0, 1e-9);
}
