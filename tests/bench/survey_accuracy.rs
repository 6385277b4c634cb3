//! Surveys many simulated scans and prints how far each is from its truth, and all pooled.
//!
//! `cargo run --release --example survey_accuracy [FIRST_SEED [COUNT]]`

#![allow(clippy::print_stdout)]

#[path = "../common/mod.rs"]
mod common;

use common::against_truth::{TrueEdge, compare, survey_of};
use common::sim::{Case, ScanQuality};

fn main() {
    let mut numbers = std::env::args()
        .skip(1)
        .filter_map(|a| a.parse::<u64>().ok());
    let first = numbers.next().unwrap_or(100);
    let count = numbers.next().unwrap_or(24);
    let mut pooled = Vec::new();
    println!(
        "case                edge     gap bias   RMS   P95   edge P95  good %  covered %  stray  in 2 sigma %"
    );
    for seed in first..first + count {
        let (name, case, [noise, voxel, drift]) = match seed % 6 {
            0 => ("nose", Case::nose(seed), [1.5, 4.0, 1.5]),
            1 => ("skirt", Case::skirt(seed), [1.5, 4.0, 2.0]),
            2 => ("tail", Case::tail(seed), [1.2, 3.0, 1.0]),
            3 => ("nose fine", Case::nose(seed), [0.5, 2.5, 0.3]),
            4 => ("random", Case::random(seed), [1.5, 4.0, 1.5]),
            _ => ("random", Case::random(seed), [1.2, 3.0, 1.0]),
        };
        let scan = case.scan(ScanQuality {
            noise,
            voxel,
            drift,
        });
        match survey_of(&scan) {
            Err(problem) => println!("{name:10} {seed}: {problem}"),
            Ok((scene, survey)) => {
                let e = compare(&scene, &survey, &TrueEdge::of(&scan));
                println!(
                    "{name:10} {seed:4}  {:?} as {:?}  {:+6.2} {:6.2} {:5.2} {:8.2} {:8.1} {:8.1} {:7} {:8.1}   sigma {:.2}",
                    scan.truth.edge_kind,
                    survey.edge_kind,
                    e.bias(),
                    e.rms(),
                    e.p95(),
                    e.edge_p95(),
                    100.0 * e.good_share(),
                    100.0 * e.covered,
                    e.stray,
                    100.0 * e.within_two_sigma(),
                    survey.stations[survey.stations.len() / 2].sigma,
                );
                pooled.extend(e.in_sigmas);
            }
        }
    }
    let inside = pooled.iter().filter(|e| e.abs() <= 2.0).count();
    println!(
        "pooled: {:.1} % of {} true gaps within 2 sigma",
        100.0 * inside as f64 / pooled.len() as f64,
        pooled.len()
    );
}
