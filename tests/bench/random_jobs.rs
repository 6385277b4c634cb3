//! Designs panels with options drawn by seed on the sample scans, and says which are not sound.
//!
//! `cargo run --release --example random_jobs [FIRST_SEED [COUNT]]`

#![allow(clippy::print_stdout, clippy::panic)]

#[path = "../common/mod.rs"]
mod common;

use common::panels::{SAMPLES, random_options, sound, survey};

fn main() {
    let mut numbers = std::env::args().skip(1).map(|a| a.parse::<u64>());
    let first = numbers.next().and_then(Result::ok).unwrap_or(1);
    let count = numbers.next().and_then(Result::ok).unwrap_or(200);
    let surveys = SAMPLES.map(survey);
    let (mut sounds, mut range) = (0, [f64::INFINITY, 0.0]);
    for seed in first..first + count {
        let k = seed as usize % surveys.len();
        let survey = &surveys[k];
        let options = random_options(seed, survey.edge_kind, survey.spine.length());
        match sound(survey, &options) {
            Ok([least, most]) => {
                sounds += 1;
                range = [least.min(range[0]), most.max(range[1])];
            }
            Err(what) => println!("{} {seed}: {what}\n  {options:?}", SAMPLES[k]),
        }
    }
    println!(
        "{sounds} of {count} sound, wall {:.3} to {:.3} of what was asked",
        range[0], range[1]
    );
}
