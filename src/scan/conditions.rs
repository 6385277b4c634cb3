//! How the vehicle stood when it was scanned. Asked for, never assumed: a body settles by millimetres
//! between stands and wheels, and a tray that hangs is not where it will be bolted.

use crate::diag::Finding;

/// What carried the vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StoodOn {
    /// Its own wheels.
    Wheels,
    /// Stands under the frame.
    Stands,
}

/// What was in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Load {
    /// Nobody and nothing.
    Empty,
    /// Driver and load as in use.
    Loaded,
}

/// How the tray was held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrayHeld {
    /// Bolted up as in use.
    Bolted,
    /// Hanging from some of its fixings, or propped.
    Hanging,
}

/// What the job says about it; `None` where it says nothing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Conditions {
    /// What carried the vehicle.
    pub stood_on: Option<StoodOn>,
    /// What was in it.
    pub load: Option<Load>,
    /// How the tray was held.
    pub tray_held: Option<TrayHeld>,
}

impl Conditions {
    /// The conditions in words, unknown ones named as such.
    #[must_use]
    pub fn in_words(&self) -> String {
        let stood = match self.stood_on {
            Some(StoodOn::Wheels) => "on its wheels",
            Some(StoodOn::Stands) => "on stands",
            None => "on wheels or stands: not said",
        };
        let load = match self.load {
            Some(Load::Empty) => "empty",
            Some(Load::Loaded) => "loaded",
            None => "empty or loaded: not said",
        };
        let tray = match self.tray_held {
            Some(TrayHeld::Bolted) => "tray bolted up",
            Some(TrayHeld::Hanging) => "tray hanging",
            None => "tray bolted up or hanging: not said",
        };
        format!("{stood}; {load}; {tray}")
    }

    /// What they mean for the fit.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        let open: Vec<&str> = [
            (self.stood_on.is_none(), "stood_on"),
            (self.load.is_none(), "load"),
            (self.tray_held.is_none(), "tray_held"),
        ]
        .into_iter()
        .filter_map(|(open, key)| open.then_some(key))
        .collect();
        if !open.is_empty() {
            findings.push(Finding::warning(
                "conditions-not-said",
                "the job does not say how the vehicle stood when it was scanned",
                format!(
                    "the gap changes by millimetres between stands and wheels, empty and loaded, tray hanging and bolted: set {} under [scan]",
                    open.join(", ")
                ),
            ));
        }
        if self.tray_held == Some(TrayHeld::Hanging) {
            findings.push(Finding::warning(
                "tray-hanging",
                "the tray hung when it was scanned, so the gap is not the one it will have bolted up",
                "bolt the tray up and scan again, or read the gaps on the vehicle with the tray bolted and use gapwright verify",
            ));
        }
        if self.stood_on == Some(StoodOn::Stands) {
            findings.push(Finding::warning(
                "on-stands",
                "the vehicle stood on stands when it was scanned: body and frame settle differently on the wheels",
                "read a few gaps again with the vehicle on its wheels, and use gapwright verify",
            ));
        }
        findings
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(conditions: Conditions) -> Vec<&'static str> {
        conditions.findings().iter().map(|f| f.code).collect()
    }

    #[test]
    fn nothing_is_assumed() {
        assert_eq!(codes(Conditions::default()), ["conditions-not-said"]);
        let half = Conditions {
            stood_on: Some(StoodOn::Wheels),
            ..Conditions::default()
        };
        assert!(
            half.findings()[0]
                .hint
                .ends_with("set load, tray_held under [scan]")
        );
        assert!(half.in_words().contains("not said"));
    }

    #[test]
    fn a_vehicle_as_in_use_has_nothing_to_say_and_a_hanging_tray_has() {
        let mut said = Conditions {
            stood_on: Some(StoodOn::Wheels),
            load: Some(Load::Empty),
            tray_held: Some(TrayHeld::Bolted),
        };
        assert!(codes(said).is_empty());
        assert_eq!(said.in_words(), "on its wheels; empty; tray bolted up");
        said.tray_held = Some(TrayHeld::Hanging);
        said.stood_on = Some(StoodOn::Stands);
        assert_eq!(codes(said), ["tray-hanging", "on-stands"]);
    }
}
