//! A bar for long work, on a terminal only.

use crate::progress::Progress;
use indicatif::{ProgressBar, ProgressStyle};
use std::time::Duration;

/// Parts of the bar's length.
const STEPS: u64 = 1000;

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
            moved.set_position((share.clamp(0.0, 1.0) * STEPS as f64) as u64);
        });
        (Self { bar }, watch)
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
