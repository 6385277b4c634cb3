//! Aligns simulated scans of 1.5 m with 200,000 points and more, 0.5 mm of noise, 40 % overlap and 20 % of
//! debris, and prints how far each is from its true pose.
//!
//! `cargo run --release --example align_accuracy [COUNT]`

#![allow(clippy::print_stdout)]

#[path = "../common/mod.rs"]
mod common;

use common::overlapping::{compare, pair_of_scans};
use gapwright::scan::align::align;
use std::time::Instant;

fn main() {
    let count = std::env::args()
        .nth(1)
        .and_then(|a| a.parse().ok())
        .unwrap_or(10);
    println!("seed  points  overlap %  residual mm  turn off deg  shift off mm  weak  seconds");
    for seed in 0..count {
        let pair = pair_of_scans(1500.0, 2.2, seed);
        let clock = Instant::now();
        match align(&pair.fixed, &pair.moving, &pair.start, 25.0) {
            Err(fault) => println!("{seed:4}  {fault}"),
            Ok(got) => {
                let (turn, shift) = compare(&pair, &got);
                println!(
                    "{seed:4} {:7} {:9.1} {:12.3} {turn:13.4} {shift:13.3} {:5} {:8.1}",
                    pair.moving.points.len(),
                    100.0 * got.overlap,
                    got.residual_mm,
                    got.weak.len(),
                    clock.elapsed().as_secs_f64()
                );
            }
        }
    }
}
