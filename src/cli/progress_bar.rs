//! A bar for long work, on a terminal only.

use crate::progress::Progress;
use indicatif::{ProgressBar, ProgressStyle};
use std::time::Duration;

/// Parts of the bar's length.
const STEPS: u64 = 1000;

/// Each stage, and the part of the whole work it is, about: one bar that runs once says how far the work
/// has come. Stages that run beside each other or are asked for seldom overlap.
const STAGES: [(&str, [f64; 2]); 20] = [
    ("reading the scans", [0.0, 0.06]),
    ("telling body and tray apart", [0.06, 0.08]),
    ("aligning the scans", [0.06, 0.10]),
    ("setting the datum", [0.08, 0.12]),
    ("finding the edge", [0.12, 0.22]),
    ("fitting the tray", [0.18, 0.24]),
    ("measuring the other side", [0.24, 0.28]),
    ("fairing the panel's lines", [0.24, 0.44]),
    ("lofting the panel", [0.24, 0.44]),
    ("making the ends", [0.24, 0.44]),
    ("cutting the flange free", [0.24, 0.44]),
    ("placing the fixings", [0.24, 0.44]),
    ("proving the panel", [0.24, 0.44]),
    ("measuring the wall", [0.24, 0.44]),
    ("planning the segments", [0.44, 0.64]),
    ("cutting the segments", [0.44, 0.64]),
    ("joining the segments", [0.44, 0.64]),
    ("laying the segments on their beds", [0.44, 0.64]),
    ("taking the tray off", [0.56, 0.72]),
    ("measuring every piece", [0.72, 1.0]),
];

/// Stages of the buck.
const BUCK: [f64; 2] = [0.50, 0.70];

/// How far the whole work has come when `work` is `share` done.
fn overall(work: &str, share: f64) -> Option<f64> {
    let known = STAGES.iter().find(|(name, _)| *name == work);
    let [from, to] = match known {
        Some((_, part)) => *part,
        None if work.ends_with("the buck") => BUCK,
        None => return None,
    };
    Some(from + (to - from) * share.clamp(0.0, 1.0))
}

/// The bar; it goes when dropped.
pub(super) struct Bar {
    bar: ProgressBar,
}

impl Bar {
    /// A bar on standard error, and the progress that moves it.
    pub fn shown() -> (Self, Progress) {
        let bar = ProgressBar::new(STEPS);
        if let Ok(style) = ProgressStyle::with_template("{bar:30} {percent:>3} %  {msg}") {
            bar.set_style(style.progress_chars("=> "));
        }
        bar.enable_steady_tick(Duration::from_millis(200));
        let moved = bar.clone();
        let watch = Progress::heard_by(move |work, share| {
            moved.set_message(work.to_owned());
            if let Some(overall) = overall(work, share) {
                // Never back: a second panel goes through the stages of the first.
                moved.set_position(moved.position().max((overall * STEPS as f64) as u64));
            }
        });
        (Self { bar }, watch)
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use std::sync::{Arc, Mutex};

    /// With a buck: what is heard of body, tray, panel, segments and buck.
    #[test]
    fn every_stage_has_its_part_of_the_bar() {
        let heard = Arc::new(Mutex::new(BTreeSet::new()));
        let into = Arc::clone(&heard);
        let watch = Progress::heard_by(move |work, share| {
            into.lock()
                .unwrap()
                .insert((work.to_owned(), (share * 100.0) as u32));
        });
        let scans = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes/nose");
        let [body, tray] = ["body.ply", "tray.ply"].map(|name| scans.join(name));
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("job.toml");
        let text = format!(
            "[scan]\nbody = {body:?}\ntray = {tray:?}\nunit = \"mm\"\n[laminate]\nway = \"buck\"\n"
        );
        std::fs::write(&path, text).unwrap();
        let job = crate::job::Job::read(&path).unwrap();
        crate::pipeline::make(&job, &watch).unwrap();
        for (work, share) in heard.lock().unwrap().iter() {
            let overall = overall(work, f64::from(*share) / 100.0);
            assert!(overall.is_some(), "{work} has no part of the bar");
        }
    }
}
