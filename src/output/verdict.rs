//! What readings said about a survey, for programs.

use super::{Verified, WrittenCorrection};
use crate::gap::readings::{Test, Verdict};
use serde_json::{Value, json};

impl Verified {
    /// The answer to everything that was read: the worse of the two, where both survey and fitted panel
    /// were.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        let survey = self.judgement.as_ref().map_or(Verdict::Go, |j| j.verdict);
        let fitted = match &self.shims {
            Some(list) if list.shims.iter().any(|s| !s.good) => Verdict::Shim,
            _ => Verdict::Go,
        };
        if survey == Verdict::Go {
            fitted
        } else {
            survey
        }
    }
}

fn test_part(test: Test) -> Value {
    json!({"chi_square": test.chi_square, "degrees": test.degrees, "p": test.p})
}

/// The answer as JSON; `written` is where the correction went.
#[must_use]
pub fn verified_json(verified: &Verified, written: Option<&WrittenCorrection>) -> String {
    let judgement = verified.judgement.as_ref().map(|j| {
        let readings: Vec<Value> = j
            .held
            .iter()
            .map(|h| {
                json!({
                    "check": h.reading.name,
                    "at_mm": h.reading.at,
                    "to_mm": h.reading.to,
                    "reading_mm": h.reading.value,
                    "predicted_mm": h.predicted,
                    "tolerance_mm": h.tolerance,
                    "left_over_mm": h.left_over,
                })
            })
            .collect();
        json!({
            "verdict": j.verdict.word(),
            "before": test_part(j.before),
            "after": test_part(j.after),
            "scale": j.correction.scale,
            "left_mm": j.correction.left,
            "right_mm": j.correction.right,
            "doubt": {"scale": j.doubt[0], "left_mm": j.doubt[1], "right_mm": j.doubt[2]},
            "taken_up_mm": j.taken_up.map(|[side, _]| side),
            "scale_known": j.scale_known,
            "wanders_mm": j.wanders.map(|[_, needs]| needs),
            "rescan_mm": j.stretch,
            "odd": j.odd,
            "local_mm": j.local,
            "gaps_read": j.gaps,
            "readings": readings,
        })
    });
    let shims = verified.shims.as_ref().map(|list| {
        let places: Vec<Value> = list
            .shims
            .iter()
            .map(|s| {
                json!({
                    "check": s.name, "at_mm": s.at, "reading_mm": s.read,
                    "meant_mm": s.wanted, "pack_mm": s.pack, "good": s.good,
                })
            })
            .collect();
        json!({"tolerance_mm": list.tolerance, "strip_mm": list.strip, "places": places})
    });
    let value = json!({
        "survey": verified.survey_id,
        "verdict": verified.verdict().word(),
        "judgement": judgement,
        "shims": shims,
        "blank": verified.blank,
        "correction": written.map(|w| w.path.display().to_string()),
        "correction_line": written.map(|w| &w.line),
    });
    format!("{value:#}\n")
}
