//! `[buck]`: what the part is laid up on, where it is not printed itself.

use super::Table;
use crate::buck::{BuckOptions, Lift};
use crate::job::entry::Entry;

const MAKES: &[(&str, Make)] = &[("no", Make::No), ("yes", Make::Yes)];

const LIFTS: &[(&str, Lift)] = &[("auto", Lift::Auto), ("up", Lift::Up), ("out", Lift::Out)];

/// Whether a buck is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Make {
    No,
    Yes,
}

/// The table while it is being filled.
pub(super) struct BuckDraft {
    make: Make,
    options: BuckOptions,
    draft_deg: f64,
}

impl Default for BuckDraft {
    fn default() -> Self {
        let options = BuckOptions::default();
        Self {
            make: Make::No,
            // A thousandth of a degree hides what going to radians and back rounds.
            draft_deg: (options.draft.to_degrees() * 1e3).round() / 1e3,
            options,
        }
    }
}

impl BuckDraft {
    /// The options, where a buck is to be made.
    pub(super) fn finish(self) -> Option<BuckOptions> {
        (self.make == Make::Yes).then(|| BuckOptions {
            draft: self.draft_deg.to_radians(),
            ..self.options
        })
    }
}

pub(super) fn table(draft: &mut BuckDraft) -> Table<'_> {
    let (o, length) = (&mut draft.options, Entry::length);
    Table {
        name: "buck",
        says: "A buck to lay cloth on, with the part lifted off it.",
        entries: vec![
            Entry::choice("make", &mut draft.make, MAKES, "Whether it is made."),
            length(
                "laminate_mm",
                &mut o.on_top.laminate_mm,
                [0.0, 20.0],
                "Thickness of the laminate on it.",
            ),
            length(
                "filler_mm",
                &mut o.on_top.filler_mm,
                [0.0, 5.0],
                "Filler, primer and paint on the laminate, less what is sanded away.",
            ),
            length(
                "release_mm",
                &mut o.on_top.release_mm,
                [0.0, 2.0],
                "Release between buck and laminate, wax or film.",
            ),
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
