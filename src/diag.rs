//! What goes wrong and what is worth knowing, as values. Nothing here prints.
//!
//! A [`Problem`] stops the work. A [`Finding`] travels with a stage's result, so that it reaches the
//! report and the sheet without a side channel.

use std::fmt;

/// A reason why the work cannot go on: what, where, and what to do next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// What is wrong, in one sentence without a full stop.
    pub what: String,
    /// The file, line or station it is about, if there is one.
    pub place: Option<String>,
    /// What the maker should do next.
    pub hint: String,
}

impl Problem {
    /// A problem that is about no place in particular.
    pub fn new(what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            place: None,
            hint: hint.into(),
        }
    }

    /// The same problem with the place it is about. A place already known is kept: the code nearest the
    /// fault knows best.
    #[must_use]
    pub fn at(mut self, place: impl fmt::Display) -> Self {
        if self.place.is_none() {
            self.place = Some(place.to_string());
        }
        self
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.what)?;
        if let Some(place) = &self.place {
            write!(f, "\n  where: {place}")?;
        }
        write!(f, "\n  to do: {}", self.hint)
    }
}

impl std::error::Error for Problem {}

/// How much a [`Finding`] matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Good to know; nothing to do.
    Note,
    /// May spoil the fit; the hint says what to do.
    Warning,
}

/// Something found on the way that the maker should know.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// How much it matters.
    pub weight: Weight,
    /// A short fixed name for programs and tests, such as `unit-guessed`.
    pub code: &'static str,
    /// What was found, in one sentence without a full stop.
    pub what: String,
    /// Arc length along the spine in millimetres, where it is about a place on the gap.
    pub station_mm: Option<f64>,
    /// Further arc lengths (mm) of which the same is to be said.
    pub also_mm: Vec<f64>,
    /// How large it is in millimetres, where that says something.
    pub size_mm: Option<f64>,
    /// What it means for the fit and what to do; empty for a plain note.
    pub hint: String,
}

impl Finding {
    /// A note: good to know, nothing to do.
    pub fn note(code: &'static str, what: impl Into<String>) -> Self {
        Self {
            weight: Weight::Note,
            code,
            what: what.into(),
            station_mm: None,
            also_mm: Vec::new(),
            size_mm: None,
            hint: String::new(),
        }
    }

    /// A warning with what to do about it.
    pub fn warning(code: &'static str, what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self {
            weight: Weight::Warning,
            hint: hint.into(),
            ..Self::note(code, what)
        }
    }

    /// The same finding, placed at an arc length of the spine (mm).
    #[must_use]
    pub fn at(mut self, station_mm: f64) -> Self {
        self.station_mm = Some(station_mm);
        self
    }

    /// The same finding, said of every one of these arc lengths (mm).
    #[must_use]
    pub fn at_all(mut self, stations_mm: impl IntoIterator<Item = f64>) -> Self {
        let mut all = stations_mm.into_iter();
        self.station_mm = all.next();
        self.also_mm = all.collect();
        self
    }

    /// Every arc length it is about (mm).
    pub fn stations(&self) -> impl Iterator<Item = f64> {
        self.station_mm
            .into_iter()
            .chain(self.also_mm.iter().copied())
    }

    /// The same finding with its size (mm).
    #[must_use]
    pub fn size(mut self, size_mm: f64) -> Self {
        self.size_mm = Some(size_mm);
        self
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.weight {
            Weight::Note => write!(f, "note: {}", self.what)?,
            Weight::Warning => write!(f, "warning: {}", self.what)?,
        }
        let stations: Vec<String> = self
            .stations()
            .map(|s| format!("{:.0}", s.round() + 0.0))
            .collect();
        match stations.len() {
            0 => {}
            1 => write!(f, " (station {} mm)", stations.join(""))?,
            _ => write!(f, " (stations {} mm)", stations.join(", "))?,
        }
        if !self.hint.is_empty() {
            write!(f, "; {}", self.hint)?;
        }
        Ok(())
    }
}
