//! The command line: what was asked for, the run, and what it says. The only place that prints.
//!
//! Exit codes: 0 made, or `verify` says go; 1 `verify` says shim or rescan; 2 could not run.

mod args;
mod messages;
mod paper;
mod progress_bar;
mod run;
mod verdict;

use args::Args;
use clap::Parser;
use messages::Voice;
use run::Outcome;
use std::process::ExitCode;

/// The work was done, and the answer is not good.
const NOT_GOOD: u8 = 1;
/// The work could not be done.
const COULD_NOT_RUN: u8 = 2;

/// Runs the command line of this process.
#[must_use]
pub fn run() -> ExitCode {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            let _ = error.print();
            let helped = !error.use_stderr();
            return ExitCode::from(if helped { 0 } else { COULD_NOT_RUN });
        }
    };
    let voice = Voice::of(&args);
    match run::run(&args.command, &voice) {
        Ok(Outcome::Good) => ExitCode::SUCCESS,
        Ok(Outcome::NotGood) => ExitCode::from(NOT_GOOD),
        Err(problems) => {
            voice.problems(&problems);
            ExitCode::from(COULD_NOT_RUN)
        }
    }
}
