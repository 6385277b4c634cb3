//! Gapwright: from two phone scans to a closeout panel that fits the gap between a vehicle's body and
//! its undertray.

pub mod cli;
pub mod diag;
pub mod gap;
pub mod job;
pub mod math;
pub mod mesh;
pub mod output;
pub mod panel;
pub mod pipeline;
pub mod progress;
pub mod scan;
pub mod split;
