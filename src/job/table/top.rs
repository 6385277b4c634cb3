//! The keys before the first table.

use super::Table;
use crate::gap::Front;
use crate::job::entry::Entry;

const FRONTS: &[(&str, Option<Front>)] = &[
    ("toward", Some(Front::Toward)),
    ("away", Some(Front::Away)),
    ("left", Some(Front::Left)),
    ("right", Some(Front::Right)),
];

pub(super) fn table<'a>(name: &'a mut String, front: &'a mut Option<Front>) -> Table<'a> {
    Table {
        name: "",
        says: "What the part is called, and which way the vehicle points.",
        entries: vec![
            Entry::text(
                "name",
                name,
                "A short name for the part, shown on the sheet.",
            ),
            Entry::choice(
                "front",
                front,
                FRONTS,
                "Where the vehicle's front lies for you, standing outside and facing the gap: toward you at a nose, away at a tail, to your left or right at a side.",
            ),
        ],
    }
}
