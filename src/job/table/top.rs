//! The keys before the first table.

use super::Table;
use crate::job::entry::Entry;

pub(super) fn table(name: &mut String) -> Table<'_> {
    Table {
        name: "",
        says: "What the part is called.",
        entries: vec![Entry::text(
            "name",
            name,
            "A short name for the part, shown on the sheet.",
        )],
    }
}
