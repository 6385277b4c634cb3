//! Fills a job from its text and collects every fault on the way.

use super::Job;
use super::control::{self, Files, number};
use super::entry::{Entry, NO_FILE, Need, Slot, one_of};
use super::near::nearest;
use super::raw::{self, Place, place_of};
use super::table::{Clash, Draft, List};
use crate::diag::Problem;
use std::path::{Path, PathBuf};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Reads a job from `text`. `shown` is the file's name for messages, `folder` what its paths start from.
pub(super) fn read_job(text: &str, shown: &str, folder: &Path) -> Result<Job, Vec<Problem>> {
    let (tree, broken_lines) = raw::parse(text);
    let root = tree.get_ref();
    if let Some(problem) = no_job(text, shown, root, broken_lines.len()) {
        return Err(vec![problem]);
    }
    let mut check = Check {
        text,
        shown,
        folder,
        faults: Vec::new(),
        broken: broken_lines.iter().map(|fault| fault.place.line).collect(),
    };
    let mut draft = Draft::default();
    check.fill(&mut draft, root);
    let broken = check.broken.clone();
    check.faults.retain(|(at, _)| !broken.contains(&at.line));
    for fault in broken_lines {
        check.tell(fault.place, fault.what, fault.hint);
    }
    if check.faults.is_empty() {
        for clash in draft.clashes() {
            check.clash(root, clash);
        }
    }
    let files = if draft.is_one_file() {
        Files::One
    } else {
        Files::Two
    };
    for fault in control::read(text, root, files, draft.control()) {
        if !broken.contains(&fault.place.line) {
            check.tell(fault.place, fault.what, fault.hint);
        }
    }
    if check.faults.is_empty() {
        return draft.finish(folder).map_err(|problem| vec![problem]);
    }
    check.faults.sort_by_key(|(at, _)| *at);
    Err(check
        .faults
        .into_iter()
        .map(|(_, problem)| problem)
        .collect())
}

struct Check<'a> {
    text: &'a str,
    shown: &'a str,
    folder: &'a Path,
    faults: Vec<(Place, Problem)>,
    /// Lines that could not be read.
    broken: Vec<usize>,
}

/// What is to be said of a text that is no job at all, such as a letter or a manual: once, in place of a fault
/// for every line.
fn no_job(text: &str, shown: &str, root: &DeTable<'_>, broken: usize) -> Option<Problem> {
    const FEW: usize = 3;
    let said = |line: &&str| !line.trim().is_empty() && !line.trim_start().starts_with('#');
    let lines = text.lines().filter(said).count();
    let has_scans = root.keys().any(|key| key.get_ref() == "scan");
    let none = broken > FEW && (!has_scans || 2 * broken > lines);
    none.then(|| {
        Problem::new(
            format!("this is no job file: {broken} of its {lines} lines are not TOML"),
            "name a job file, such as job.toml; `gapwright new BODY TRAY` writes one to start from",
        )
        .at(shown)
    })
}

/// A value that does not fit its option.
struct Misfit {
    what: String,
    hint: String,
}

fn misfit(what: impl Into<String>, hint: impl Into<String>) -> Misfit {
    Misfit {
        what: what.into(),
        hint: hint.into(),
    }
}

impl Check<'_> {
    fn tell(&mut self, at: Place, what: String, hint: String) {
        let problem = Problem::new(what, hint).at(format!(
            "{}, line {}, column {}",
            self.shown, at.line, at.column
        ));
        self.faults.push((at, problem));
    }

    /// Whether an option of a table may stand on a line that could not be read: one within the table, or the
    /// line of any table's name. `start` is where a table of a list starts.
    fn may_hide(&self, name: &str, start: Place) -> bool {
        let line_of = |line: usize| self.text.lines().nth(line.saturating_sub(1));
        let is_name = |line: usize| line_of(line).is_some_and(|l| l.trim_start().starts_with('['));
        if self.broken.iter().any(|line| is_name(*line)) {
            return true;
        }
        let table = format!("[{name}]");
        let named = |l: &str| l.trim_start().starts_with(&table);
        let from = match self.text.lines().position(named) {
            _ if line_of(start.line).is_some_and(|l| l.trim_start().starts_with("[[")) => {
                start.line
            }
            Some(at) => at + 1,
            // A table that is nowhere may be written in dots or braces anywhere.
            None => return !self.broken.is_empty(),
        };
        let to = (from + 1..).find(|line| line_of(*line).is_none() || is_name(*line));
        let within = from..to.unwrap_or(usize::MAX);
        self.broken.iter().any(|line| within.contains(line))
    }

    fn place<T>(&self, spanned: &Spanned<T>) -> Place {
        place_of(self.text, spanned.span().start)
    }

    fn fill(&mut self, draft: &mut Draft, root: &DeTable<'_>) {
        let lists = draft.lists();
        let listed: Vec<(&str, Vec<&str>)> = lists.iter().map(|l| (l.name, l.keys())).collect();
        drop(lists);
        let mut tables = draft.tables();
        let homes: Vec<(&str, Vec<&str>)> = tables
            .iter()
            .map(|table| (table.name, table.entries.iter().map(|e| e.key).collect()))
            .chain(listed)
            .collect();
        let end = place_of(self.text, self.text.len());
        for table in &mut tables {
            if table.name.is_empty() {
                self.fill_table("", &mut table.entries, root, &homes, end);
                continue;
            }
            let found = root.iter().find(|(key, _)| key.get_ref() == table.name);
            match found.map(|(key, value)| (key, value.get_ref())) {
                Some((_, DeValue::Table(inside))) => {
                    self.fill_table(table.name, &mut table.entries, inside, &homes, end);
                }
                Some((key, _)) => self.tell(
                    self.place(key),
                    format!("\"{}\" is a table, not a value", table.name),
                    format!("write [{}] on a line of its own", table.name),
                ),
                None => {
                    self.fill_table(table.name, &mut table.entries, &DeTable::new(), &homes, end);
                }
            }
        }
        drop(tables);
        for list in &mut draft.lists() {
            self.fill_list(list, root, &homes);
        }
    }

    fn fill_list(&mut self, list: &mut List<'_>, root: &DeTable<'_>, homes: &[(&str, Vec<&str>)]) {
        let Some((key, value)) = root.iter().find(|(key, _)| key.get_ref() == list.name) else {
            return;
        };
        let name = list.name;
        let brackets = format!("write [[{name}]], with two brackets, before each");
        let Some(items) = value.get_ref().as_array() else {
            let what = format!("\"{name}\" is a list of tables");
            self.tell(self.place(key), what, brackets);
            return;
        };
        for item in items.iter() {
            let Some(table) = item.get_ref().as_table() else {
                let what = format!("an entry of \"{name}\" is a table, not a value");
                self.tell(self.place(item), what, brackets.clone());
                continue;
            };
            let at = self.place(item);
            list.add(|entries| {
                let before = self.faults.len();
                self.fill_table(name, entries, table, homes, at);
                self.faults.len() == before
            });
        }
    }

    fn fill_table(
        &mut self,
        name: &str,
        entries: &mut [Entry<'_>],
        found: &DeTable<'_>,
        homes: &[(&str, Vec<&str>)],
        missing_at: Place,
    ) {
        for (key, value) in found {
            let word: &str = key.get_ref();
            let at_top = name.is_empty();
            let is_home = homes.iter().any(|(table, _)| *table == word);
            if at_top && (is_home || control::NAMES.contains(&word)) {
                continue;
            }
            match entries.iter_mut().find(|entry| entry.key == word) {
                Some(entry) => {
                    if let Err(fault) = fill_slot(&mut entry.slot, value.get_ref(), self.folder) {
                        let what = format!("{}: {}", shown_key(name, word), fault.what);
                        self.tell(self.place(value), what, fault.hint);
                    }
                }
                None => {
                    let is_table = matches!(value.get_ref(), DeValue::Table(_));
                    let hint = whereabouts(name, word, at_top && is_table, homes);
                    let what = if is_table && at_top {
                        format!("there is no table [{word}]")
                    } else {
                        format!("there is no option {}", shown_key(name, word))
                    };
                    self.tell(self.place(key), what, hint);
                }
            }
        }
        for entry in entries.iter().filter(|e| e.need == Need::Required) {
            let missing = !found.keys().any(|key| key.get_ref() == entry.key);
            if missing && !self.may_hide(name, missing_at) {
                let what = format!("{} is missing", shown_key(name, entry.key));
                let hint = format!(
                    "write {} = {} under [{name}]: {}",
                    entry.key,
                    entry.sketch(),
                    entry.says
                );
                self.tell(missing_at, what, hint);
            }
        }
    }

    fn clash(&mut self, root: &DeTable<'_>, clash: Clash) {
        let home = root.iter().find(|(name, _)| name.get_ref() == clash.table);
        let spot = match home.map(|(name, value)| (name, value.get_ref().as_table())) {
            Some((name, Some(table))) => table
                .iter()
                .find(|(key, _)| key.get_ref() == clash.key)
                .map_or(self.place(name), |(_, value)| self.place(value)),
            // A list: its first table.
            Some((name, None)) => self.place(name),
            None => Place { line: 1, column: 1 },
        };
        let what = format!("{}: {}", shown_key(clash.table, clash.key), clash.what);
        self.tell(spot, what, clash.hint.to_owned());
    }
}

fn shown_key(table: &str, key: &str) -> String {
    if table.is_empty() {
        key.to_owned()
    } else {
        format!("{table}.{key}")
    }
}

/// Where an unknown key probably belongs.
fn whereabouts(table: &str, key: &str, is_table: bool, homes: &[(&str, Vec<&str>)]) -> String {
    let names: Vec<&str> = homes
        .iter()
        .map(|(name, _)| *name)
        .filter(|name| !name.is_empty())
        .collect();
    if is_table {
        return match nearest(key, &names) {
            Some(near) => format!("did you mean [{near}]?"),
            None => format!("the tables are [{}]", names.join("], [")),
        };
    }
    let own: &[&str] = homes
        .iter()
        .find(|(name, _)| *name == table)
        .map_or(&[], |(_, keys)| keys);
    let others = || homes.iter().filter(|(name, _)| *name != table);
    // The very word under another table is what was meant, however near a word of this one comes.
    let same = others().find_map(|(name, keys)| {
        let word = keys.iter().find(|word| **word == key)?;
        Some((*name, *word))
    });
    if let (None, Some(near)) = (same, nearest(key, own)) {
        return format!("did you mean {near}?");
    }
    let elsewhere =
        same.or_else(|| others().find_map(|(name, keys)| Some((*name, nearest(key, keys)?))));
    match elsewhere {
        Some(("", near)) => {
            format!("did you mean {near}, above the first table?")
        }
        Some((name, near)) => format!("did you mean {near} under [{name}]?"),
        None => format!("the options here are {}", own.join(", ")),
    }
}

fn fill_slot(slot: &mut Slot<'_>, value: &DeValue<'_>, folder: &Path) -> Result<(), Misfit> {
    match slot {
        Slot::Length(target, bounds) => **target = length(value, *bounds)?,
        Slot::Number(target, bounds, unit) => **target = measure(value, *bounds, unit)?,
        Slot::MaybeLength(target, bounds) => **target = Some(length(value, *bounds)?),
        Slot::MaybeNumber(target, bounds, unit) => {
            **target = Some(measure(value, *bounds, unit)?);
        }
        Slot::Box(target, bounds) => {
            let wanted = "write three lengths in mm with decimal points, such as [220, 220, 250]";
            let items = value
                .as_array()
                .ok_or_else(|| misfit(format!("{} is not a list", shown(value)), wanted))?;
            if items.len() != target.len() {
                return Err(misfit(
                    format!("the list has {} entries", items.len()),
                    wanted,
                ));
            }
            for (number, item) in target.iter_mut().zip(items.iter()) {
                *number = length(item.get_ref(), *bounds)?;
            }
        }
        Slot::Point(target) => {
            let wanted = "write it as [x, y, z] in the file's units, with decimal points";
            let numbers: Option<Vec<f64>> = value
                .as_array()
                .and_then(|items| items.iter().map(|i| number(i.get_ref())).collect());
            let point = numbers.and_then(|n| <[f64; 3]>::try_from(n).ok());
            let three = || misfit(format!("{} is not three numbers", shown(value)), wanted);
            **target = Some(point.ok_or_else(three)?);
        }
        Slot::Choice(choice) => {
            let typed = text(value)?;
            let meant = choice.words.iter().position(|word| *word == typed);
            let hint = || match nearest(typed, &choice.words) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("write {}", one_of(&choice.words)),
            };
            let index = meant.ok_or_else(|| misfit(format!("\"{typed}\" is unknown"), hint()))?;
            (choice.choose)(index);
        }
        Slot::Text(target) => **target = text(value)?.to_owned(),
        Slot::File(target) => **target = file(value, folder)?,
        Slot::MaybeFile(target) => {
            **target = match text(value)? {
                NO_FILE => None,
                _ => Some(file(value, folder)?),
            }
        }
        Slot::Folder(target) => **target = PathBuf::from(text(value)?),
    }
    Ok(())
}

/// A file that exists, as the text writes it.
fn file(value: &DeValue<'_>, folder: &Path) -> Result<PathBuf, Misfit> {
    let path = folder.join(text(value)?);
    let meta = std::fs::metadata(&path);
    if !meta.is_ok_and(|meta| meta.is_file()) {
        return Err(misfit(
            format!("there is no file {}", path.display()),
            "check the name; paths are seen from the job file's folder",
        ));
    }
    Ok(PathBuf::from(text(value)?))
}

/// A length in mm between two bounds.
fn length(value: &DeValue<'_>, bounds: [f64; 2]) -> Result<f64, Misfit> {
    measure(value, bounds, "mm")
}

/// A number in a unit between two bounds.
fn measure(value: &DeValue<'_>, [least, most]: [f64; 2], unit: &str) -> Result<f64, Misfit> {
    if let DeValue::String(typed) = value {
        return Err(misfit(
            format!("\"{typed}\" is text, not a number"),
            match number_meant(typed).filter(|_| unit == "mm") {
                Some(number) => format!("write {number}, without quotes; lengths are in mm"),
                None => format!("write a number of {unit} without quotes, such as 3.5"),
            },
        ));
    }
    let number = number(value);
    match number {
        None => Err(misfit(
            format!("{} is not a number", shown(value)),
            format!("write a number of {unit}, such as 3.5"),
        )),
        Some(n) if n >= least && n <= most => Ok(n),
        Some(n) => Err(misfit(
            format!("{n} {unit} is out of range"),
            format!("choose {least} to {most} {unit}"),
        )),
    }
}

/// The number (mm) in `3,5`, `3.5 mm` or `1.2 m`.
pub(super) fn number_meant(typed: &str) -> Option<f64> {
    let typed = typed.trim();
    let end = typed
        .find(|c: char| !(c.is_ascii_digit() || ".,-".contains(c)))
        .unwrap_or(typed.len());
    let (digits, unit) = typed.split_at_checked(end)?;
    let factor = match unit.trim() {
        "" | "mm" => 1.0,
        "cm" => 10.0,
        "m" => 1000.0,
        "in" | "\"" => 25.4,
        _ => return None,
    };
    let number: f64 = digits.replace(',', ".").parse().ok()?;
    Some(number * factor)
}

fn text<'v>(value: &'v DeValue<'_>) -> Result<&'v str, Misfit> {
    let wanted = "write text in \"double quotes\"";
    match value.as_str() {
        Some(typed) if !typed.trim().is_empty() => Ok(typed),
        Some(_) => Err(misfit("the text is empty", wanted)),
        None => Err(misfit(format!("{} is not text", shown(value)), wanted)),
    }
}

/// A value as a message names it.
fn shown(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("\"{text}\""),
        DeValue::Integer(digits) => digits.to_string(),
        DeValue::Float(digits) => digits.to_string(),
        DeValue::Boolean(state) => state.to_string(),
        DeValue::Datetime(date) => date.to_string(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

#[cfg(test)]
#[path = "check_tests.rs"]
mod tests;
