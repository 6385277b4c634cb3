//! Invented vehicles, drawn from a seed.

use super::gap_law::{Feature, GapLaw};
use super::plan::{Bend, Plan};
use super::random::Random;
use super::section::{Edge, Section};
use super::vehicle::{Fastener, Tray, Tyre, Vehicle};
use gapwright::scan::Unit;
use std::f64::consts::{FRAC_PI_2, PI};

/// The axis that points up in the written file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UpAxis {
    Y,
    Z,
}

/// A vehicle and how its scan is written.
pub struct Case {
    pub vehicle: Vehicle,
    pub unit: Unit,
    pub up: UpAxis,
    pub seed: u64,
}

/// What the vehicle is like where it is scanned.
#[derive(Clone, Copy)]
enum Kind {
    Nose,
    Skirt,
    Tail,
}

impl Case {
    /// The three-wheeler's nose: about 1.4 m, lip rolled inboard.
    pub fn nose(seed: u64) -> Self {
        let mut random = Random::new(seed, 1);
        let r = &mut random;
        let lip = lip(r);
        let lean = r.between(3.0, 9.0);
        build(seed, r, Kind::Nose, lip, lean, (20.0, 48.0))
    }

    /// The motorhome's side skirt: 2.2 m, cut edge, a step and a notch.
    pub fn skirt(seed: u64) -> Self {
        let mut random = Random::new(seed, 2);
        let r = &mut random;
        let lean = r.between(2.0, 6.0);
        build(seed, r, Kind::Skirt, Edge::Cut, lean, (30.0, 62.0))
    }

    /// The gravity racer's tail: a U with tight corners, cut edge.
    pub fn tail(seed: u64) -> Self {
        let mut random = Random::new(seed, 3);
        let r = &mut random;
        let lean = r.between(4.0, 7.0);
        build(seed, r, Kind::Tail, Edge::Cut, lean, (18.0, 42.0))
    }

    /// Any of the three shapes, with either edge.
    pub fn random(seed: u64) -> Self {
        let mut random = Random::new(seed, 4);
        let r = &mut random;
        let kind = [Kind::Nose, Kind::Skirt, Kind::Tail][(r.next_bits() % 3) as usize];
        let edge = if r.happens(0.5) { lip(r) } else { Edge::Cut };
        let steepest = if matches!(kind, Kind::Tail) {
            6.0
        } else {
            12.0
        };
        let lean = r.between(0.0, steepest);
        let low = r.between(16.0, 40.0);
        let high = low + r.between(8.0, 45.0);
        build(seed, r, kind, edge, lean, (low, high))
    }
}

fn lip(r: &mut Random) -> Edge {
    Edge::Lip {
        radius: r.between(5.0, 10.0),
        length: r.between(10.0, 20.0),
        rise: r.between(4.0_f64, 14.0).to_radians(),
    }
}

fn build(
    seed: u64,
    r: &mut Random,
    kind: Kind,
    edge: Edge,
    lean_deg: f64,
    gap: (f64, f64),
) -> Case {
    let plan = match kind {
        Kind::Nose => nose_plan(r),
        Kind::Skirt => skirt_plan(r),
        Kind::Tail => tail_plan(r),
    };
    let length = plan.length();
    let features = match kind {
        Kind::Skirt => vec![
            Feature::Step {
                s: r.between(0.25, 0.45) * length,
                height: 10.0,
                ramp: r.between(4.0, 8.0),
            },
            Feature::Notch {
                s: r.between(0.6, 0.85) * length,
                width: r.between(55.0, 90.0),
                depth: 20.0,
                ramp: r.between(6.0, 10.0),
            },
        ],
        Kind::Nose | Kind::Tail => Vec::new(),
    };
    let waves = (1..=3)
        .map(|k| {
            let k = f64::from(k);
            [
                k * r.between(0.4, 0.6),
                r.between(0.0, 2.0 * PI),
                r.between(0.4, 1.0) / k,
            ]
        })
        .collect();
    let law = GapLaw::new(gap.0, gap.1, waves, length, features);
    let section = Section {
        thickness: r.between(2.0, 4.0),
        lean: lean_deg.to_radians(),
        edge,
    };
    let (low, high) = plan.bounds();
    let half = [0, 1].map(|axis| ((high[axis] - low[axis]) / 2.0).max(150.0));
    let share = r.between(4.0, 9.0);
    let sign = |r: &mut Random| if r.happens(0.5) { 1.0 } else { -1.0 };
    let tray = Tray {
        half,
        crown: sign(r) * share * r.between(0.2, 0.6),
        dish: sign(r) * share * r.between(0.2, 0.6),
        twist: sign(r) * share * r.between(0.2, 0.6),
        thickness: 4.0,
        outboard: 50.0,
        inboard: match kind {
            Kind::Skirt => 260.0,
            Kind::Nose | Kind::Tail => 160.0,
        },
        overrun: 60.0,
    };
    let mut fasteners = Vec::new();
    let mut s = r.between(60.0, 160.0);
    while s < length - 30.0 {
        let u = if r.happens(0.7) {
            r.between(14.0, 36.0)
        } else {
            r.between(-70.0, -25.0)
        };
        fasteners.push(Fastener {
            s,
            u,
            radius: r.between(6.0, 8.0),
            height: r.between(3.0, 5.0),
        });
        s += r.between(180.0, 320.0);
    }
    let bracket = (r.between(0.2, 0.8) * length, r.between(-95.0, -65.0));
    let stand = (r.between(0.25, 0.75) * length, r.between(105.0, 125.0));
    let tyre = Tyre {
        at_start: r.happens(0.5),
        radius: r.between(220.0, 300.0),
        width: r.between(110.0, 160.0),
    };
    let floor = -r.between(65.0, 260.0);
    let stand_top = r.between(0.0, 50.0);
    let unit = match r.next_bits() % 3 {
        0 => Unit::Millimetre,
        1 => Unit::Metre,
        _ => Unit::Centimetre,
    };
    let up = if r.happens(0.5) { UpAxis::Y } else { UpAxis::Z };
    Case {
        vehicle: Vehicle {
            plan,
            law,
            section,
            height: 250.0,
            tray,
            fasteners,
            bracket,
            stand,
            stand_top,
            tyre,
            floor,
        },
        unit,
        up,
        seed,
    }
}

fn nose_plan(r: &mut Random) -> Plan {
    let ends = 1.0 / r.between(1000.0, 2000.0);
    let front = 1.0 / r.between(330.0, 480.0);
    let side = r.between(400.0, 470.0);
    let bends = [
        Bend {
            length: side,
            from: ends,
            to: front,
        },
        Bend {
            length: r.between(460.0, 540.0),
            from: front,
            to: front,
        },
        Bend {
            length: side,
            from: front,
            to: ends,
        },
    ];
    Plan::new(&bends, FRAC_PI_2)
}

fn skirt_plan(r: &mut Random) -> Plan {
    let bow = if r.happens(0.5) {
        0.0
    } else {
        1.0 / r.between(5000.0, 14000.0)
    };
    let bend = Bend {
        length: r.between(2150.0, 2250.0),
        from: bow,
        to: bow,
    };
    Plan::new(&[bend], PI)
}

fn tail_plan(r: &mut Random) -> Plan {
    let straight = |length: f64| Bend {
        length,
        from: 0.0,
        to: 0.0,
    };
    let corner = |radius: f64| Bend {
        length: FRAC_PI_2 * radius,
        from: 1.0 / radius,
        to: 1.0 / radius,
    };
    let bends = [
        straight(r.between(260.0, 340.0)),
        corner(r.between(45.0, 60.0)),
        straight(r.between(340.0, 440.0)),
        corner(r.between(45.0, 60.0)),
        straight(r.between(260.0, 340.0)),
    ];
    Plan::new(&bends, -FRAC_PI_2)
}
