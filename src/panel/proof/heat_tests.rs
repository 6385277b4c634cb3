//! Heat against worked values: class expansions from memory, arithmetic done apart from this code.

use super::heat::*;
use super::hot_source::HeatSource;
use super::walls::Walls;
use crate::material::{Backing, Material};
use std::f64::consts::PI;

/// The same temperatures for panel and backing.
fn together(panel_per_k: f64, fixed_to_per_k: f64, hot_k: f64, cold_k: f64) -> Thermal {
    Thermal {
        panel_per_k,
        fixed_to_per_k,
        fitted_c: 20.0,
        cold_c: 20.0 - cold_k,
        hot_c: 20.0 + hot_k,
        fixed_to_hot_c: 20.0 + hot_k,
        tolerance_mm: 0.5,
    }
}

fn close(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got} is not {want}");
}

#[test]
fn two_metres_grow_over_fifty_kelvin_as_worked_by_hand() {
    let against_nothing = |per_k: f64| 2000.0 * together(per_k, 0.0, 50.0, 0.0).hot_strain();
    let plastics = [
        (Material::Pla, 6.8),
        (Material::Petg, 6.0),
        (Material::Abs, 9.0),
        (Material::Asa, 9.5),
        (Material::Pa, 12.0),
    ];
    for (material, mm) in plastics {
        close(against_nothing(material.expansion_per_k()), mm, 1e-12);
    }
    let backings = [
        (Backing::Glass, 1.4),
        (Backing::Carbon, 0.2),
        (Backing::Steel, 1.2),
        (Backing::Aluminium, 2.31),
    ];
    for (backing, mm) in backings {
        close(against_nothing(backing.expansion_per_k()), mm, 1e-12);
    }
}

#[test]
fn a_slot_is_as_long_as_worked_by_hand_and_its_fixing_is_off_the_middle() {
    // ASA on steel, 900 mm, 45 K up and 35 K down, hole 6.6, tolerance 0.5: worked by hand.
    let thermal = together(95e-6, 12e-6, 45.0, 35.0);
    let got = slot(&thermal, 900.0, 6.6);
    close(got.length_mm, 13.576, 1e-9);
    close(got.toward_fixed_mm, 3.3615, 1e-9);
    close(got.away_mm, 2.6145, 1e-9);
    assert_eq!(slot(&thermal, -900.0, 6.6), got);
    // On something that grows more, the panel is left behind: the other way round.
    let other = slot(&together(12e-6, 95e-6, 45.0, 35.0), 900.0, 6.6);
    close(other.toward_fixed_mm, got.away_mm, 1e-9);
    close(other.away_mm, got.toward_fixed_mm, 1e-9);
}

#[test]
fn a_strip_bows_where_euler_says() {
    // t 3, L 300, 90e-6 1/K: pinned 0.914 K, clamped 3.655 K, worked by hand.
    let kelvin = |ends| bowing_strain(3.0, 300.0, ends).unwrap() / 90e-6;
    close(kelvin(Ends::Pinned), 0.914, 5e-4);
    close(kelvin(Ends::Clamped), 3.655, 5e-4);
    // A sine of height h over L is longer by (pi h / 2)^2 / L: the bow must take up the whole growth.
    let strain = 0.002;
    let h = bow(300.0, strain);
    let n = 100_000;
    let length: f64 = (0..n)
        .map(|i| {
            let x = (f64::from(i) + 0.5) / f64::from(n);
            let slope = PI * h / 300.0 * (PI * x).cos();
            300.0 / f64::from(n) * slope.hypot(1.0)
        })
        .sum();
    close(length / 300.0 - 1.0, strain, 0.01 * strain);
}

fn held(at: &[f64]) -> Vec<HeldAt> {
    let unplanned = |&s| HeldAt { s, travel_mm: None };
    at.iter().map(unplanned).collect()
}

/// A wall of 3 mm all along.
fn three() -> &'static Walls {
    static THREE: std::sync::LazyLock<Walls> = std::sync::LazyLock::new(|| Walls::even(3.0));
    &THREE
}

fn input<'a>(material: Material, fixings: &'a [HeldAt], segments: &'a [[f64; 2]]) -> HeatInput<'a> {
    HeatInput {
        material,
        along: [0.0, 1000.0],
        walls: three(),
        fixings,
        hole_mm: 5.5,
        segments,
    }
}

#[test]
fn a_dark_panel_of_pla_is_warned_of_and_others_are_not() {
    for (name, material) in Material::NAMES {
        let proof = prove(&input(material, &[], &[]), &HeatOptions::default());
        let soft: Vec<_> = proof
            .findings
            .iter()
            .filter(|f| f.code == "material-softens")
            .collect();
        assert_eq!(soft.len(), usize::from(material == Material::Pla), "{name}");
        if let [finding] = soft[..] {
            assert!(finding.hint.contains("PETG, ABS, ASA or PA"), "{finding}");
        }
    }
    let light = HeatOptions {
        hot_c: 45.0,
        ..HeatOptions::default()
    };
    assert!(
        prove(&input(Material::Pla, &[], &[]), &light)
            .findings
            .is_empty()
    );
    let oven = HeatOptions {
        hot_c: 120.0,
        ..HeatOptions::default()
    };
    assert!(
        prove(&input(Material::Pa, &[], &[]), &oven).findings[0]
            .hint
            .contains("more heat")
    );
}

#[test]
fn gaps_slots_and_bow_go_with_the_lengths_they_belong_to() {
    let segments = [[0.0, 300.0], [300.0, 700.0], [700.0, 1000.0]];
    let fixings = held(&[20.0, 180.0, 400.0, 560.0]);
    let proof = prove(
        &input(Material::Asa, &fixings, &segments),
        &HeatOptions::default(),
    );
    // 95e-6 over 50 K less 23.1e-6 over 20 K; 35 K down for the difference. By hand.
    let (hot, cold) = (4.288e-3, -2.5165e-3);
    close(proof.growth_mm[0], 1000.0 * hot, 1e-9);
    close(proof.growth_mm[1], 1000.0 * cold, 1e-9);
    close(
        proof.end_slot.length_mm,
        5.5 + 500.0 * (hot - cold) + 1.0,
        1e-9,
    );
    assert_eq!(proof.fixed_at, 500.0);
    let [first, second] = proof.gaps[..] else {
        panic!("{:?}", proof.gaps)
    };
    assert_eq!([first.s, second.s], [300.0, 700.0]);
    close(first.leave_mm, 350.0 * hot, 1e-9);
    close(second.opens_mm, -350.0 * cold, 1e-9);
    let bowing = proof.bowing.unwrap();
    assert_eq!(bowing.along, [180.0, 400.0]);
    close(bowing.bow_mm, 440.0 / PI * hot.sqrt(), 1e-9);
    let note = proof
        .findings
        .iter()
        .find(|f| f.code == "heat-bows-held-tight")
        .unwrap();
    assert_eq!(note.station_mm, Some(290.0));
    // Thick and closely fixed it stays straight.
    let stiff = HeatInput {
        walls: &Walls::even(20.0),
        ..input(Material::Asa, &fixings, &[])
    };
    assert_eq!(
        prove(&stiff, &HeatOptions::default())
            .bowing
            .unwrap()
            .bow_mm,
        0.0
    );
}

#[test]
fn planned_slots_are_held_against_the_round_hole_they_start_from() {
    // ASA on steel as in the worked slot, 900 mm from the round hole: 6.976 mm longer than wide; 100 mm
    // from it, 0.664 mm of travel and 1.0 mm of tolerance. By hand.
    let options = HeatOptions {
        fixed_to: Backing::Steel,
        hot_c: 65.0,
        fixed_to_hot_c: 65.0,
        cold_c: -15.0,
        ..HeatOptions::default()
    };
    let at = |s: f64, mm: f64| HeldAt {
        s,
        travel_mm: Some(mm),
    };
    let fixings = [at(0.0, 7.0), at(900.0, 0.0), at(1000.0, 1.6)];
    let input = HeatInput {
        hole_mm: 6.6,
        ..input(Material::Asa, &fixings, &[])
    };
    let proof = prove(&input, &options);
    assert_eq!(proof.fixed_at, 900.0);
    let [left, round, right] = proof.slots[..] else {
        panic!("{:?}", proof.slots)
    };
    close(left.slot.length_mm, 13.576, 1e-9);
    close(left.middle_mm, 0.5 * (3.3615 - 2.6145), 1e-9);
    assert_eq!(round.slot.length_mm, 6.6);
    close(right.needs_mm(6.6), 1.664, 1e-9);
    assert!(right.middle_mm < 0.0);
    let short: Vec<_> = proof
        .findings
        .iter()
        .filter(|f| f.code == "slots-short")
        .collect();
    assert_eq!(short.len(), 1);
    assert_eq!(short[0].station_mm, Some(1000.0));
    assert!(short[0].hint.contains("1.7"), "{}", short[0]);
    let long = [at(0.0, 7.0), at(900.0, 0.0), at(1000.0, 1.7)];
    let fine = HeatInput {
        fixings: &long,
        ..input
    };
    assert!(
        !prove(&fine, &options)
            .findings
            .iter()
            .any(|f| f.code == "slots-short")
    );
}

#[test]
fn odd_numbers_give_numbers() {
    let odd = [f64::NAN, f64::INFINITY, -1.0, 0.0];
    for a in odd {
        for b in odd {
            let thermal = Thermal {
                hot_c: a,
                cold_c: b,
                tolerance_mm: a,
                ..together(a, b, 1.0, 1.0)
            };
            let got = slot(&thermal, a, b);
            assert!(got.length_mm.is_finite() && got.toward_fixed_mm >= 0.0 && got.away_mm >= 0.0);
            let mut fixings = held(&[a, b, a]);
            fixings[1].travel_mm = Some(a);
            let options = HeatOptions {
                hot_c: a,
                fixed_to_hot_c: b,
                sources: vec![HeatSource {
                    name: "x".to_owned(),
                    at_mm: a,
                    distance_mm: b,
                    temperature_c: a,
                    radius_mm: b,
                }],
                ..HeatOptions::default()
            };
            let proof = prove(
                &HeatInput {
                    along: [a, b],
                    walls: &Walls::even(a),
                    ..input(Material::Abs, &fixings, &[[a, b], [b, a]])
                },
                &options,
            );
            assert!(proof.growth_mm.iter().all(|v| v.is_finite()), "{a} {b}");
            assert!(proof.bowing.is_none_or(|bowing| bowing.bow_mm.is_finite()));
        }
    }
}

/// Pinned, a strip bows at pi^2 t^2 / (12 L^2): half the wall stands a quarter of the warming.
#[test]
fn the_thinner_of_two_even_stretches_bows_first() {
    let fixings = held(&[100.0, 150.0, 200.0]);
    let walls = Walls(vec![[0.0, 6.0], [160.0, 6.0], [170.0, 3.0], [400.0, 3.0]]);
    let proof = |walls: &Walls| {
        let input = HeatInput {
            walls,
            ..input(Material::Petg, &fixings, &[])
        };
        prove(&input, &HeatOptions::default()).bowing.unwrap()
    };
    let (thin, thick) = (proof(&walls), proof(&Walls::even(6.0)));
    assert_eq!(thin.along, [150.0, 200.0]);
    assert!((4.0 * thin.from_k.unwrap() - thick.from_k.unwrap()).abs() < 1e-9);
}
