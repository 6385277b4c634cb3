//! Predicts go, shim or rescan for many simulated scans and holds each to the truth.
//!
//! `cargo run --release --example verdicts [FIRST_SEED [COUNT]]`

#![allow(clippy::print_stdout)]

#[path = "../common/mod.rs"]
mod common;

use common::against_truth::{TrueEdge, compare, judge_errors, survey_of};
use common::sim::{Case, ScanQuality};
use gapwright::gap::seal::{Footing, Room, Seal, choose_seal};
use gapwright::gap::verdict::{Verdict, expect};
use gapwright::panel::PanelOptions;

/// Foams tried on every scan (mm), each at the middle of its working range.
const FOAMS: [f64; 8] = [3.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0];

#[derive(Default)]
struct Tally {
    right: usize,
    all: usize,
    /// Rows: predicted; columns: judged on the truth; go, shim, rescan.
    table: [[usize; 3]; 3],
}

impl Tally {
    fn add(&mut self, predicted: Verdict, judged: Verdict) {
        self.all += 1;
        self.right += usize::from(predicted == judged);
        self.table[place(predicted)][place(judged)] += 1;
    }
}

fn place(verdict: Verdict) -> usize {
    match verdict {
        Verdict::Go => 0,
        Verdict::Shim => 1,
        Verdict::Rescan => 2,
    }
}

fn main() {
    let mut numbers = std::env::args()
        .skip(1)
        .filter_map(|a| a.parse::<u64>().ok());
    let first = numbers.next().unwrap_or(300);
    let count = numbers.next().unwrap_or(24);
    let names: Vec<String> = ["default", "chosen"]
        .map(String::from)
        .into_iter()
        .chain(FOAMS.map(|free| format!("foam {free}")))
        .collect();
    let mut tallies: Vec<Tally> = names.iter().map(|_| Tally::default()).collect();
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
        let (scene, survey) = match survey_of(&scan) {
            Ok(found) => found,
            Err(problem) => {
                println!("{name:10} {seed}: {problem}");
                continue;
            }
        };
        let errors = compare(&scene, &survey, &TrueEdge::of(&scan)).along;
        let default = PanelOptions::default().room(survey.edge_kind);
        let at_middle = |seal: Seal| Room::of_foam(seal.free_mm, seal.middle_mm);
        let chosen = choose_seal(&survey.stations, Footing::Scans);
        let rooms = [Some(default), chosen.map(at_middle)]
            .into_iter()
            .chain(FOAMS.map(|free| Some(at_middle(Seal::of(free)))));
        let mut line = format!("{name:10} {seed:4} {:?}", survey.edge_kind);
        for (room, tally) in rooms.zip(&mut tallies) {
            let Some(room) = room else {
                line += "  -";
                continue;
            };
            let Some(outlook) = expect(&survey.stations, room, Footing::Scans) else {
                continue;
            };
            let judged = judge_errors(&errors, room);
            tally.add(outlook.verdict, judged);
            let mark = if outlook.verdict == judged { ' ' } else { '*' };
            line += &format!("  {:?}/{judged:?}{mark}", outlook.verdict);
        }
        let chosen = chosen.map_or_else(|| "none".into(), |s| format!("{} mm", s.free_mm));
        println!("{line}  chosen {chosen}");
    }
    println!("seal: right of all; predicted go, shim, rescan by judged go, shim, rescan");
    for (name, tally) in names.iter().zip(&tallies) {
        println!(
            "{name:10} {:2} of {:2}  {:?}",
            tally.right, tally.all, tally.table
        );
    }
}
