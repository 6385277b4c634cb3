//! A row of segments that is printed and joined: the panel's own, that of its twin, that of the buck.

use super::{BUCK_FOLDER, Run, TWIN_FOLDER};
use crate::gap::Front;
use crate::math::Spine;
use crate::split::Segments;

/// Whose segments a row holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RowOf {
    /// The panel's.
    Panel,
    /// Those of the panel for the vehicle's other side.
    Twin,
    /// Those of what the part is laid up on.
    Buck,
}

/// A row, in a shop frame of its own.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row<'a> {
    /// Whose it is.
    pub of: RowOf,
    /// Its segments.
    pub parts: &'a Segments,
    /// Its spine.
    pub spine: &'a Spine,
    /// Where the vehicle's front lies from it.
    pub front: Option<Front>,
}

impl<'a> Row<'a> {
    /// All rows of a run, the panel's first.
    pub fn all(run: Run<'a>) -> Vec<Self> {
        let spine = &run.measured.survey.spine;
        let front = run.measured.front;
        let panel = run
            .made
            .map(|(_, parts)| (RowOf::Panel, parts, spine, front));
        let twin = run.twin.map(|made| {
            let front = front.map(Front::mirrored);
            (RowOf::Twin, &made.segments, &made.twin.spine, front)
        });
        let buck = run
            .buck
            .map(|made| (RowOf::Buck, &made.segments, spine, front));
        [panel, twin, buck]
            .into_iter()
            .flatten()
            .map(|(of, parts, spine, front)| Self {
                of,
                parts,
                spine,
                front,
            })
            .collect()
    }

    /// One of them, where there is one.
    pub fn find(run: Run<'a>, of: RowOf) -> Option<Self> {
        Self::all(run).into_iter().find(|row| row.of == of)
    }
}

impl RowOf {
    /// Folder of its files: empty, or ending in a slash.
    pub fn folder(self) -> &'static str {
        match self {
            Self::Panel => "",
            Self::Twin => TWIN_FOLDER,
            Self::Buck => BUCK_FOLDER,
        }
    }

    /// Where `report.json` has what stands in it, as the beginning of a JSON pointer.
    pub fn place(self) -> &'static str {
        match self {
            Self::Panel => "",
            Self::Twin => "/twin",
            Self::Buck => "/buck",
        }
    }

    /// Where `report.json` has what all its prints together take.
    pub fn total(self) -> &'static str {
        match self {
            Self::Panel => "/print/total",
            Self::Twin => "/twin/total",
            Self::Buck => "/buck/total",
        }
    }

    /// What follows "segment" in its titles, so that no two pictures are named alike.
    pub fn whose(self) -> &'static str {
        match self {
            Self::Panel => "",
            Self::Twin => ", other side",
            Self::Buck => ", buck",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::sample;

    #[test]
    fn a_row_is_found_where_it_was_made() {
        let made = sample::made();
        let rows = Row::all((&made).into());
        assert_eq!(rows.len(), 1 + usize::from(made.twin.is_some()));
        assert!(Row::find((&made).into(), RowOf::Panel).is_some());
        assert!(Row::find((&made).into(), RowOf::Buck).is_none());
    }
}
