//! `[buck]`: what the part is laid up on and lifted off.

use super::Table;
use crate::buck::{BuckOptions, Lift, OnTop};
use crate::job::entry::Entry;

const LIFTS: &[(&str, Lift)] = &[("auto", Lift::Auto), ("up", Lift::Up), ("out", Lift::Out)];

/// The table while it is being filled.
pub(super) struct BuckDraft {
    options: BuckOptions,
    draft_deg: f64,
}

impl Default for BuckDraft {
    fn default() -> Self {
        let options = BuckOptions::default();
        Self {
            // A thousandth of a degree hides what going to radians and back rounds.
            draft_deg: (options.draft.to_degrees() * 1e3).round() / 1e3,
            options,
        }
    }
}

impl BuckDraft {
    /// The options, with what goes on top of the buck.
    pub(super) fn finish(self, on_top: OnTop) -> BuckOptions {
        BuckOptions {
            on_top,
            draft: self.draft_deg.to_radians(),
            ..self.options
        }
    }
}

pub(super) fn table(draft: &mut BuckDraft) -> Table<'_> {
    let (o, length) = (&mut draft.options, Entry::length);
    Table {
        name: "buck",
        says: "The buck, where [laminate] says way = \"buck\".",
        entries: vec![
            length(
                "allowance_mm",
                &mut o.allowance_mm,
                [12.0, 100.0],
                "How far the cloth goes on past the trim line, all round.",
            ),
            length(
                "base_mm",
                &mut o.base_mm,
                [10.0, 200.0],
                "Height of the plinth under that.",
            ),
            length(
                "depth_mm",
                &mut o.depth_mm,
                [8.0, 500.0],
                "Depth of the buck behind the rearmost of the face.",
            ),
            length(
                "wall_mm",
                &mut o.wall_mm,
                [0.0, 30.0],
                "Wall of a hollow buck, open at the base; 0 for a solid one.",
            ),
            length(
                "rib_mm",
                &mut o.rib_mm,
                [20.0, 500.0],
                "Greatest distance from one rib of a hollow buck to the next.",
            ),
            length(
                "dowel_mm",
                &mut o.dowel_mm,
                [2.0, 20.0],
                "Thickness of the dowels.",
            ),
            length(
                "cloth_radius_mm",
                &mut o.cloth_radius_mm,
                [0.0, 30.0],
                "Least radius the cloth takes in a hollow corner.",
            ),
            Entry::number(
                "draft_deg",
                &mut draft.draft_deg,
                ([0.0, 30.0], "degrees"),
                "Draft that is asked for along the lift.",
            ),
            Entry::choice(
                "lift",
                &mut o.lift,
                LIFTS,
                "How the part is lifted off: up, level outward, or whichever way leaves the most draft.",
            ),
        ],
    }
}
