//! What the user says about single cuts.

/// What is asked of a place along the workpiece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CutRule {
    /// There is a cut.
    #[default]
    Pin,
    /// There is none.
    Forbid,
}

impl CutRule {
    /// Every rule, with its word in a job.
    pub const NAMES: [(&'static str, Self); 2] = [("pin", Self::Pin), ("forbid", Self::Forbid)];

    /// Its word in a job.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, rule)| *rule == self)
            .map_or("", |(name, _)| name)
    }
}

/// A cut the user wants at a place, or wants kept off it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutWish {
    /// Arc length (mm). A pinned cut is made within half a millimetre of it.
    pub at_mm: f64,
    /// Pinned or forbidden.
    pub rule: CutRule,
    /// How far to each side of the place cuts are forbidden (mm). A pin does not look at it.
    pub reach_mm: f64,
}

impl Default for CutWish {
    fn default() -> Self {
        Self {
            at_mm: 0.0,
            rule: CutRule::default(),
            reach_mm: 20.0,
        }
    }
}
