//! What is told of a keep-out that is cut free, that hides, or that no cut can free.

use super::PanelOptions;
use super::keep_out::{Access, Done, KeepOut, KeptOut};
use super::relief::{BAND_WALLS, Guide};
use crate::diag::Finding;

pub(super) fn opened(kept: &KeptOut, word: &str) -> Finding {
    let [from, to] = kept.along;
    let what = match kept.done {
        Done::OpenAtTop => format!("{word} comes out so high that the face is cut up to its top"),
        _ => format!("{word} comes out through an opening in the face"),
    };
    let finding = match kept.done {
        Done::OpenAtTop => Finding::warning(
            "face-opened",
            what,
            "the panel is weak there: stiffen it on the hidden side, or lead it out lower",
        ),
        _ => Finding::note("face-opened", what),
    };
    finding.at(0.5 * (from + to)).size(to - from)
}

pub(super) fn blocked(word: &str, middle: f64, height: f64, options: &PanelOptions) -> Finding {
    Finding::warning(
        "face-blocked",
        format!(
            "{word} {height:.1} mm high stands where the panel goes; a cut over it would leave less than {:.1} mm of face above, so the panel is not cut for it and does not fit over it",
            BAND_WALLS * options.wall_mm
        ),
        "move it, or end the panel before it; if nothing stands there, clear the scan and run again",
    )
    .at(middle)
    .size(height)
}

/// A warning where the panel hides what must be got at from outside.
pub(super) fn covered(out: &KeepOut, kept: &KeptOut, guide: &Guide) -> Option<Finding> {
    let middle = 0.5 * (kept.along[0] + kept.along[1]);
    let behind = out.across_mm < guide.face.at(middle);
    let shut = matches!(kept.done, Done::Clear | Done::FlangeNotched | Done::NotCut);
    // That a full opening was not to be had is told already.
    let told = kept.done == Done::NotCut && out.access == Access::Full;
    (out.kind.is_used_from_outside() && behind && shut && !told).then(|| {
        Finding::warning(
            "access-covered",
            format!("the panel's face hides {} \"{}\"", out.kind.name(), out.name),
            "give that keep-out access = \"full\" to open the face there, or use it with the panel off",
        )
        .at(middle)
    })
}
