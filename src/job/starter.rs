//! A job to start from, and the list of options for the documents.

use super::control;
use super::entry::{Entry, Need, Slot};
use super::table::{Draft, List};
use crate::scan::Unit;
use std::fmt::Write;

/// One scan as the starter writes it.
#[derive(Debug, Clone, PartialEq)]
pub struct ScanNote {
    /// Path as the job should name it.
    pub path: String,
    /// What was found in the file, a line each.
    pub found: Vec<String>,
    /// The unit, where it could only be guessed.
    pub guessed: Option<Unit>,
}

/// Writes a job that runs as it stands: the two scans, and every other option as a comment with its
/// default and a sentence. A guessed unit stays a comment, so that the guess goes on being reported
/// until the maker has confirmed it.
#[must_use]
pub fn starter(name: &str, body: &ScanNote, tray: &ScanNote) -> String {
    let mut text = String::from(
        "# A job for gapwright. It runs as it stands: gapwright make <this file>\n\
         # Take the # away before an option to change it. Lengths are in mm, with a decimal point.\n",
    );
    for table in Draft::default().tables() {
        let _ = writeln!(text, "\n# {}", table.says);
        if !table.name.is_empty() {
            let _ = writeln!(text, "[{}]", table.name);
        }
        for entry in &table.entries {
            let _ = writeln!(text, "\n# {}", entry.says);
            let note = match (table.name, entry.key) {
                ("", "name") => {
                    let _ = writeln!(text, "name = {}", quoted(name));
                    continue;
                }
                ("scan", "body" | "body_unit") => Some(body),
                ("scan", "tray" | "tray_unit") => Some(tray),
                // Whoever takes its number sign away gets what was found, not what stands first in a list.
                ("scan", "unit") if body.guessed == tray.guessed => Some(body),
                _ => None,
            };
            match note {
                Some(note) if entry.need == Need::Required => {
                    for line in &note.found {
                        let _ = writeln!(text, "# Found: {line}.");
                    }
                    let _ = writeln!(text, "{} = {}", entry.key, quoted(&note.path));
                }
                Some(ScanNote {
                    guessed: Some(unit),
                    ..
                }) => {
                    text.push_str("# This one is only a guess from the size; check it.\n");
                    let _ = writeln!(text, "# {} = {}", entry.key, quoted(unit.symbol()));
                }
                _ => {
                    let example = match (entry.default_text(), &entry.slot) {
                        (None, Slot::MaybeLength(..) | Slot::MaybeNumber(..)) => {
                            " Left out as it stands; the number is an example."
                        }
                        _ => "",
                    };
                    let _ = writeln!(text, "# May be {}.{example}", entry.allowed());
                    let _ = writeln!(text, "# {} = {}", entry.key, shown_default(entry));
                }
            }
        }
    }
    for list in Draft::default().lists() {
        offer(&mut text, &list);
    }
    text.push_str(control::EXAMPLE);
    text
}

/// A table that may stand any number of times, as a comment.
fn offer(text: &mut String, list: &List<'_>) {
    let _ = writeln!(
        text,
        "\n# {} As many as there are; take the number signs away to use one.\n#   [[{}]]",
        list.says, list.name
    );
    list.show(|entries| {
        for entry in entries {
            let _ = writeln!(
                text,
                "#   # {} May be {}.\n#   {} = {}",
                entry.says,
                entry.allowed(),
                entry.key,
                shown_default(entry)
            );
        }
    });
}

/// The default, or an allowed value where there is none.
fn shown_default(entry: &Entry<'_>) -> String {
    let default = entry.default_text();
    default.unwrap_or_else(|| match &entry.slot {
        Slot::Choice(choice) => quoted(choice.words.first().copied().unwrap_or_default()),
        Slot::File(_) | Slot::Text(_) => quoted(""),
        _ => entry.sketch(),
    })
}

/// Text as a job writes it.
#[must_use]
pub fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// Every option as a table in Markdown, as it stands in `docs/formats.md`.
#[must_use]
pub fn options_table() -> String {
    let mut text = String::from(
        "| table | option | allowed | default | what it is |\n|---|---|---|---|---|\n",
    );
    let mut row = |home: &str, entry: &Entry<'_>| {
        let default = match (entry.need, entry.default_text()) {
            (Need::Required, _) => "required".to_owned(),
            (Need::Optional, Some(default)) => format!("`{default}`"),
            (Need::Optional, None) => "left out".to_owned(),
        };
        let _ = writeln!(
            text,
            "| {home} | `{}` | {} | {default} | {} |",
            entry.key,
            entry.allowed(),
            entry.says
        );
    };
    for table in Draft::default().tables() {
        let home = match table.name {
            "" => "(top)".to_owned(),
            name => format!("`[{name}]`"),
        };
        table.entries.iter().for_each(|entry| row(&home, entry));
    }
    for list in Draft::default().lists() {
        let home = format!("`[[{}]]`", list.name);
        list.show(|entries| entries.iter().for_each(|entry| row(&home, entry)));
    }
    for [table, option, allowed, default, says] in control::ROWS {
        let _ = writeln!(
            text,
            "| `{table}` | {option} | {allowed} | {default} | {says} |"
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::check::read_job;

    fn note(path: &str, guessed: Option<Unit>) -> ScanNote {
        ScanNote {
            path: path.to_owned(),
            found: vec!["1000 triangles".to_owned()],
            guessed,
        }
    }

    /// The starter with every comment taken off its options.
    fn opened(starter: &str) -> String {
        starter
            .lines()
            .map(|line| match line.strip_prefix("# ") {
                Some(option)
                    if option
                        .split_once(" = ")
                        .is_some_and(|(k, _)| !k.contains(' ')) =>
                {
                    option
                }
                _ => line,
            })
            .collect::<Vec<_>>()
            .join("\n")
    }

    #[test]
    fn the_starter_runs_as_it_stands_and_every_option_in_it_is_its_default() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("a \"b\".ply"), "ply").unwrap();
        std::fs::write(folder.path().join("tray.ply"), "ply").unwrap();
        let text = starter("nose", &note("a \"b\".ply", None), &note("tray.ply", None));
        let plain = read_job(&text, "job.toml", folder.path()).unwrap();
        assert_eq!(plain.name, "nose");
        assert_eq!(plain.scan.body_unit, None);
        let mut all = read_job(&opened(&text), "job.toml", folder.path()).unwrap();
        assert_eq!(all.scan.body_unit, Some(Unit::Millimetre));
        (all.scan.body_unit, all.scan.tray_unit) = (None, None);
        assert!(all.front.is_some());
        all.front = None;
        // Examples, and neither foil nor the whole bed.
        assert_eq!(all.panel.return_mm, Some(27.0));
        assert_eq!(all.panel.wall_top_mm, Some(4.0));
        (all.panel.return_mm, all.panel.wall_top_mm) = (None, None);

        assert!(all.scan.conditions.findings().is_empty());
        all.scan.conditions = crate::scan::Conditions::default();
        all.scan.control.seeds = crate::scan::separate::Seeds::default();
        assert_eq!(plain, all);
    }

    #[test]
    fn a_guessed_unit_is_offered_and_not_decided() {
        let text = starter("x", &note("b", Some(Unit::Inch)), &note("t", None));
        assert!(text.contains("\n# body_unit = \"in\"\n"));
        assert!(text.contains("\n# unit = \"mm\"\n"));
        let inches = |name| note(name, Some(Unit::Inch));
        let text = starter("x", &inches("b"), &inches("t"));
        assert!(text.contains("\n# unit = \"in\"\n"), "{text}");
    }

    #[test]
    fn starter_documents_and_reader_know_the_same_options() {
        let docs = include_str!("../../docs/formats.md");
        let list = options_table();
        assert!(docs.contains(&list), "docs/formats.md should hold\n{list}");
        let text = starter("x", &note("b", None), &note("t", None));
        let mut draft = Draft::default();
        for table in draft.tables() {
            for entry in &table.entries {
                assert!(opened(&text).contains(&format!("\n{} = ", entry.key)));
            }
        }
    }
}
