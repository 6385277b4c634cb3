//! A table that may stand in a job any number of times: `[[name]]`.

use crate::job::entry::Entry;

/// Lets a reader fill one table's entries; says whether the table is to be kept.
pub(in crate::job) type Fill<'f> = dyn FnMut(&mut [Entry<'_>]) -> bool + 'f;

/// What lists the entries of one such table, as they are before it is read.
type Show<'a> = dyn Fn(&mut dyn FnMut(&[Entry<'_>])) + 'a;

/// What reads one more such table.
type Add<'a> = dyn FnMut(&mut Fill<'_>) + 'a;

/// One list of tables: its name, a sentence, its entries, and where its tables go.
pub(in crate::job) struct List<'a> {
    pub name: &'static str,
    pub says: &'static str,
    show: Box<Show<'a>>,
    add: Box<Add<'a>>,
}

impl<'a> List<'a> {
    /// A list whose tables start as `T::default()` and are filled through `entries`.
    pub fn new<T: Default + 'a>(
        name: &'static str,
        into: &'a mut Vec<T>,
        entries: for<'b> fn(&'b mut T) -> Vec<Entry<'b>>,
        says: &'static str,
    ) -> Self {
        Self {
            name,
            says,
            show: Box::new(move |see| see(&entries(&mut T::default()))),
            add: Box::new(move |fill| {
                let mut item = T::default();
                if fill(&mut entries(&mut item)) {
                    into.push(item);
                }
            }),
        }
    }

    /// Shows the entries of a table that has not been read.
    pub fn show(&self, mut see: impl FnMut(&[Entry<'_>])) {
        (self.show)(&mut see);
    }

    /// Keys of one table.
    pub fn keys(&self) -> Vec<&'static str> {
        let mut keys = Vec::new();
        self.show(|entries| keys = entries.iter().map(|entry| entry.key).collect());
        keys
    }

    /// Reads one more table.
    pub fn add(&mut self, mut fill: impl FnMut(&mut [Entry<'_>]) -> bool) {
        (self.add)(&mut fill);
    }
}
