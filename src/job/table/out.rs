//! `[out]`: where the results go.

use super::Table;
use crate::job::entry::Entry;
use std::path::PathBuf;

pub(super) fn table(folder: &mut PathBuf) -> Table<'_> {
    Table {
        name: "out",
        says: "Where the results go.",
        entries: vec![Entry::folder(
            "folder",
            folder,
            "Folder for the results, seen from this file; written whole or not at all.",
        )],
    }
}
