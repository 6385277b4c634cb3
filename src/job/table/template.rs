//! `[template]`: what the 1:1 templates are printed on.

use super::Table;
use crate::gap::pattern::Paper;
use crate::job::entry::Entry;

const PAPERS: &[(&str, Paper)] = &[
    ("A4", Paper::A4),
    ("A3", Paper::A3),
    ("Letter", Paper::Letter),
];

pub(super) fn table(paper: &mut Paper) -> Table<'_> {
    Table {
        name: "template",
        says: "The paper templates at 1:1.",
        entries: vec![Entry::choice(
            "paper",
            paper,
            PAPERS,
            "Paper that the templates are tiled on.",
        )],
    }
}
