//! How far long work has come, told to whoever listens.

use std::sync::atomic::{AtomicBool, Ordering};

type Listener = Box<dyn Fn(&str, f64) + Send + Sync>;

/// Handed to every long stage. The stage tells it where it is; a listener, if there is one, shows it.
#[derive(Default)]
pub struct Progress {
    listener: Option<Listener>,
    cancelled: AtomicBool,
}

impl Progress {
    /// Nobody listens.
    #[must_use]
    pub fn silent() -> Self {
        Self::default()
    }

    /// `listener` is called with the name of the work under way and its share done, 0 to 1.
    /// It may be called from any thread.
    pub fn heard_by(listener: impl Fn(&str, f64) + Send + Sync + 'static) -> Self {
        Self {
            listener: Some(Box::new(listener)),
            cancelled: AtomicBool::new(false),
        }
    }

    /// Says that `work` is `share` done (0 to 1).
    pub fn tell(&self, work: &str, share: f64) {
        if let Some(listener) = &self.listener {
            listener(work, share);
        }
    }

    /// Asks the work to stop at the next chance.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// Whether someone asked the work to stop.
    #[must_use]
    pub fn is_cancelled(&self) -> bool {
        self.cancelled.load(Ordering::Relaxed)
    }
}
