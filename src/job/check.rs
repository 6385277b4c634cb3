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
    let mut check = Check {
        text,
        shown,
        folder,
        faults: Vec::new(),
        // What is missing may stand on a line that could not be read.
        tell_missing: broken_lines.is_empty(),
    };
    let mut draft = Draft::default();
    check.fill(&mut draft, root);
    let broken: Vec<usize> = broken_lines.iter().map(|fault| fault.place.line).collect();
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
    tell_missing: bool,
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
            if missing && self.tell_missing {
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
    if let Some(near) = nearest(key, own) {
        return format!("did you mean {near}?");
    }
    let elsewhere = homes
        .iter()
        .filter(|(name, _)| *name != table)
        .find_map(|(name, keys)| Some((*name, nearest(key, keys)?)));
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
fn number_meant(typed: &str) -> Option<f64> {
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
mod tests {
    use super::*;
    use crate::gap::EdgeKind;
    use crate::scan::Unit;

    /// A folder with two files that stand in for scans.
    fn bench() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for name in ["body.ply", "tray.ply"] {
            std::fs::write(folder.path().join(name), "ply").unwrap();
        }
        folder
    }

    const SCANS: &str = "[scan]\nbody = \"body.ply\"\ntray = \"tray.ply\"\n";

    fn read(text: &str) -> Result<Job, Vec<String>> {
        let folder = bench();
        read_job(text, "job.toml", folder.path())
            .map_err(|faults| faults.iter().map(ToString::to_string).collect())
    }

    #[test]
    fn a_short_job_gets_the_defaults() {
        let job = read(&format!(
            "name = \"nose\"\n{SCANS}unit = \"m\"\ntray_unit = \"in\"\n[gap]\nedge = \"rolled\"\n[panel]\nwall_mm = 4\n"
        ))
        .unwrap();
        assert_eq!(job.name, "nose");
        assert_eq!(job.scan.body_unit, Some(Unit::Metre));
        assert_eq!(job.scan.tray_unit, Some(Unit::Inch));
        assert_eq!(job.gap.edge, Some(EdgeKind::Rolled));
        assert_eq!(job.panel.wall_mm, 4.0);
        assert_eq!(job.printer, crate::split::PrinterOptions::default());
        assert!(job.scan.body.ends_with("body.ply"));
        assert!(job.out.ends_with("out"));
    }

    #[test]
    fn positions_of_the_tray_are_read_and_need_a_front() {
        let two = "[[position]]\nname = \"mid\"\nforward_mm = 25\n[[position]]\nname = \"far\"\nforward_mm = 50\nup_mm = -2.5\n";
        let job = read(&format!("front = \"toward\"\n{SCANS}{two}")).unwrap();
        let told: Vec<_> = job
            .positions
            .iter()
            .map(|p| (p.name.as_str(), p.forward_mm, p.up_mm))
            .collect();
        assert_eq!(told, [("mid", 25.0, 0.0), ("far", 50.0, -2.5)]);
        let faults = read(&format!("{SCANS}{two}")).unwrap_err();
        assert_eq!(faults.len(), 1);
        assert!(
            faults[0].contains("line 4") && faults[0].contains("where the front is"),
            "{}",
            faults[0]
        );
        let twice = read(&format!(
            "{SCANS}[[position]]\nname = \"a\"\n[[position]]\nname = \"a\"\n"
        ));
        assert!(twice.unwrap_err()[0].contains("two positions are called"));
        assert!(
            read(&format!("{SCANS}[[position]]\nup_mm = 3\n")).unwrap_err()[0]
                .contains("name is missing")
        );
    }

    #[test]
    fn every_fault_is_told_with_its_place_in_the_order_of_the_text() {
        let faults = read(
            "[scan]\nbody = \"body.ply\"\ntray = \"gone.ply\"\n[gap]\nstation_mm = 0.2\nedge = \"roled\"\n\
             [panel]\nwal_mm = 3\nflange_mm = \"25,5\"\n[printer]\nbuild_mm = [220, 220]\n[pannel]\n",
        )
        .unwrap_err();
        let want = [
            ("line 3, column 8", "there is no file"),
            ("line 5, column 14", "choose 1 to 50 mm"),
            ("line 6, column 8", "did you mean \"rolled\"?"),
            ("line 8, column 1", "did you mean wall_mm?"),
            ("line 9, column 13", "write 25.5, without quotes"),
            ("line 11, column 12", "the list has 2 entries"),
            ("line 12, column 2", "did you mean [panel]?"),
        ];
        assert_eq!(faults.len(), want.len(), "{faults:#?}");
        for (fault, (place, words)) in faults.iter().zip(want) {
            assert!(
                fault.contains(place) && fault.contains(words),
                "{fault}\n{place} {words}"
            );
        }
    }

    #[test]
    fn fixings_and_keep_outs_are_read() {
        let job = read(&format!(
            "{SCANS}[panel]\nmount = \"body\"\n[fixings]\nstyle = \"inserts\"\nscrew = \"M4\"\npitch_mm = 90\n\
             [[keep_out]]\nname = \"eye\"\nkind = \"towing point\"\nat_mm = 640\nacross_mm = -30\nsize_mm = 40\n\
             access = \"full\"\n[[keep_out]]\nname = \"lead\"\npoint = [1, 2, 3]\nup_mm = 20\nlength_mm = 9\n"
        ))
        .unwrap();
        use crate::panel::fixings::{FixingOptions, Screw, Style};
        use crate::panel::{Access, KeepOut, KeepOutKind};
        let wanted = FixingOptions {
            style: Style::Inserts,
            pitch_mm: 90.0,
            screw: Screw::M4,
            ..FixingOptions::default()
        };
        assert_eq!(job.panel.fixings, wanted);
        let eye = KeepOut {
            name: "eye".into(),
            kind: KeepOutKind::TowingPoint,
            at_mm: Some(640.0),
            across_mm: -30.0,
            size_mm: Some(40.0),
            access: Access::Full,
            ..KeepOut::default()
        };
        let lead = KeepOut {
            name: "lead".into(),
            point: Some([1.0, 2.0, 3.0]),
            up_mm: Some(20.0),
            length_mm: Some(9.0),
            ..KeepOut::default()
        };
        assert_eq!(job.panel.keep_outs, [eye, lead]);

        let faults = read(&format!("{SCANS}[fixings]\nstyle = \"inserts\"\n")).unwrap_err();
        assert!(faults[0].contains("grind away"), "{faults:?}");
    }

    #[test]
    fn a_decimal_comma_is_explained() {
        let faults = read(&format!("{SCANS}[panel]\nwall_mm = 3,5\n")).unwrap_err();
        assert_eq!(faults.len(), 1, "{faults:#?}");
        assert!(faults[0].contains("line 5") && faults[0].contains("wall_mm = 3.5"));
    }

    #[test]
    fn missing_scans_and_misplaced_keys_are_named() {
        let faults = read("wall_mm = 3\n").unwrap_err().join("\n");
        assert!(faults.contains("scan.body is missing"));
        assert!(faults.contains("scan.tray is missing"));
        assert!(faults.contains("did you mean wall_mm under [panel]?"));
    }

    #[test]
    fn values_that_do_not_go_together_are_refused() {
        let faults = read(&format!("{SCANS}[panel]\nflange_mm = 12\nwall_mm = 10\n")).unwrap_err();
        assert!(faults[0].contains("line 5, column 13") && faults[0].contains("no flat left"));
        let faults = read(&format!("{SCANS}[printer]\nmargin_mm = 100\n")).unwrap_err();
        assert!(faults[0].contains("printer.margin_mm"));
    }

    const POINTS: &str = "[points.body]\nl = [0, 0.0, 0]\nr = [1.5, 0, 0]\nf = [1, 1, 0]\n";

    #[test]
    fn points_and_distances_are_read() {
        let job = read(&format!(
            "{SCANS}pick_sigma_mm = 0.5\ntray_seed = [1, 2.5, -3]\n{POINTS}[points.tray]\nl = [0, 0, 1]\nr = [1, 0, 1]\nf = [1, 1, 1]\n\
             [[distance]]\nscan = \"body\"\nfrom = \"l\"\nto = \"r\"\nmm = 1502\n\
             [[distance]]\nscan = \"body\"\nfrom = \"l\"\nto = \"f\"\nmm = 1411.5\n"
        ))
        .unwrap();
        let control = &job.scan.control;
        assert_eq!(control.body_points.len(), 3);
        let f = control.tray_points.iter().find(|p| p.name == "f").unwrap();
        assert_eq!(f.at, crate::math::Point3::new(1.0, 1.0, 1.0));
        assert_eq!(control.distances[1].mm, 1411.5);
        assert_eq!(control.pick_sigma_mm, 0.5);
        assert_eq!(
            control.seeds.tray,
            Some(crate::math::Point3::new(1.0, 2.5, -3.0))
        );
    }

    #[test]
    fn faulty_points_and_distances_are_told_where_they_stand() {
        let faults = read(&format!(
            "{SCANS}{POINTS}odd = [1, 2]\n[points.wheel]\n[[distance]]\nscan = \"body\"\nfrom = \"l\"\nto = \"rr\"\nmm = 0\n\
             [[distance]]\nscan = \"boddy\"\nfrom = \"l\"\nlength = 3\n"
        ))
        .unwrap_err();
        let want = [
            ("line 8, column 7", "odd is not three numbers"),
            ("line 9, column 9", "points.wheel"),
            ("line 13, column 6", "no point \"rr\""),
            ("line 14, column 6", "distance.mm"),
            ("line 15, column 1", "distance.to is missing"),
            ("line 15, column 1", "distance.mm is missing"),
            ("line 18, column 1", "no option distance.length"),
        ];
        assert_eq!(faults.len(), want.len(), "{faults:#?}");
        for (fault, (place, words)) in faults.iter().zip(want) {
            assert!(
                fault.contains(place) && fault.contains(words),
                "{fault}\n{place} {words}"
            );
        }
    }

    #[test]
    fn too_few_pairs_and_distances_and_useless_points_are_told() {
        let one = "[[distance]]\nscan = \"body\"\nfrom = \"l\"\nto = \"r\"\nmm = 1502\n";
        let faults = read(&format!(
            "{SCANS}{POINTS}[points.tray]\nl = [0, 0, 1]\ng = [1, 0, 1]\n{one}"
        ))
        .unwrap_err();
        let told = faults.join("\n");
        assert_eq!(faults.len(), 4, "{told}");
        assert!(told.contains("one distance alone"));
        assert!(told.contains("point f is named in the body's scan only"));
        assert!(told.contains("point g is named in the tray's scan only"));
        assert!(told.contains("1 point is named in both"));
        let odd = read(&format!("points = 3\ndistance = 4\n{SCANS}")).unwrap_err();
        assert_eq!(odd.len(), 2, "{odd:#?}");
    }

    #[test]
    fn odd_texts_give_faults_and_no_panic() {
        for text in [
            "",
            "=",
            "[",
            "[scan",
            "scan = 3",
            "[[scan]]",
            "name = nan",
            "name = \"\"",
            "[panel]\nwall_mm = nan",
            "[panel]\nwall_mm = 1e999",
            "[panel]\nwall_mm = 0x7fffffffffffffffff",
            "[panel]\nwall_mm = 1979-05-27",
            "[panel]\nwall_mm = \"\u{fe}\"",
            "a.b.c = 1",
            "name = 1\nname = 2",
        ] {
            assert!(!read(text).unwrap_err().is_empty(), "{text}");
        }
    }

    #[test]
    fn changes_along_the_spine_are_read_and_their_faults_told() {
        let job = read(&format!(
            "{SCANS}[[panel_change]]\nat_mm = 300\nlean_deg = -4\n[[panel_change]]\nat_mm = 500\nwall_mm = 4\n"
        ))
        .unwrap();
        let changes = &job.panel.changes;
        assert_eq!((changes[0].at_mm, changes[0].lean_deg), (300.0, Some(-4.0)));
        assert_eq!((changes[1].wall_mm, changes[1].over_mm), (Some(4.0), 60.0));
        let faults = read(&format!(
            "{SCANS}[[panel_change]]\nwall_mm = 4\n[[panel_change]]\nat_mm = 3\nwal_mm = 4\nlean_deg = 80\n"
        ))
        .unwrap_err()
        .join("\n");
        for words in [
            "panel_change.at_mm is missing",
            "there is no option panel_change.wal_mm",
            "did you mean wall_mm?",
            "panel_change.lean_deg",
        ] {
            assert!(faults.contains(words), "{words}: {faults}");
        }
    }
}
