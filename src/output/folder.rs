//! A folder written whole or not at all, and an earlier run replaced only when it is one.

use super::OutFile;
use super::readings::{Kept, READINGS_FILE, keep_filled};
use super::report::SCHEMA;
use crate::diag::Problem;
use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The file that marks a folder as ours.
const MARK: &str = "report.json";

/// Says whether a run may write `folder`: it does not exist, is empty, or holds an earlier run.
///
/// # Errors
/// A [`Problem`] if it holds anything else.
pub fn check_folder(folder: &Path) -> Result<(), Problem> {
    if folder.file_name().is_none() {
        return Err(Problem::new(
            "the results need a folder of their own",
            "name one with --out, such as --out results",
        )
        .at(folder.display()));
    }
    if !folder.exists() || earlier_files(folder).is_some() {
        return Ok(());
    }
    if folder.is_dir() && fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_none()) {
        return Ok(());
    }
    Err(Problem::new(
        "this holds something that is not an earlier run, and is left alone",
        "choose another folder with --out or under [out] in the job, or clear this one yourself",
    )
    .at(folder.display()))
}

/// The files of the earlier run in `folder`, by its own report; `None` if there is no such report.
fn earlier_files(folder: &Path) -> Option<BTreeSet<PathBuf>> {
    let text = fs::read_to_string(folder.join(MARK)).ok()?;
    let report: serde_json::Value = serde_json::from_str(&text).ok()?;
    if report.get("schema")?.as_str()? != SCHEMA {
        return None;
    }
    let files = report.get("files")?.as_array()?;
    Some(
        files
            .iter()
            .filter_map(|f| f.as_str())
            .map(PathBuf::from)
            .collect(),
    )
}

/// A table of readings that the maker has filled in is worth an hour under the vehicle: it stays under its
/// name where it is for the same survey, with rows added that the new run has and it lacks, and under a name
/// of its own where it is for another.
fn keep_readings(folder: &Path, files: &mut Vec<OutFile>) {
    let Ok(old) = fs::read_to_string(folder.join(READINGS_FILE)) else {
        return;
    };
    let Some(fresh) = files.iter_mut().find(|file| file.path == READINGS_FILE) else {
        return;
    };
    match keep_filled(&old, &fresh.bytes) {
        Kept::Blank => {}
        Kept::Same(text) => fresh.bytes = text.into_bytes(),
        Kept::Other(survey) => {
            let word: String = survey.chars().filter(char::is_ascii_alphanumeric).collect();
            files.push(OutFile::new(format!("readings_{word}.csv"), old));
        }
    }
}

/// Writes `files` to `folder` and gives their paths. What the maker has put into an earlier run's folder
/// is kept.
pub(super) fn write_whole(folder: &Path, mut files: Vec<OutFile>) -> Result<Vec<PathBuf>, Problem> {
    check_folder(folder)?;
    keep_readings(folder, &mut files);
    let failed = |error: io::Error| {
        Problem::new(
            format!("the results cannot be written ({error})"),
            "check that the disk has room and that you may write here, or choose another folder with --out",
        )
        .at(folder.display())
    };
    let fresh = Scratch::beside(folder, "new").map_err(failed)?;
    for file in &files {
        let path = fresh.path.join(&file.path);
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent).map_err(failed)?;
        }
        fs::write(&path, &file.bytes).map_err(failed)?;
    }
    put_in_place(fresh, folder).map_err(failed)?;
    let mut paths: Vec<PathBuf> = files.iter().map(|file| folder.join(&file.path)).collect();
    paths.sort();
    Ok(paths)
}

/// Swaps the new folder in. If the last step fails the earlier run goes back to its place.
fn put_in_place(fresh: Scratch, folder: &Path) -> io::Result<()> {
    if !folder.exists() {
        return fs::rename(&fresh.path, folder);
    }
    let ours = earlier_files(folder).unwrap_or_default();
    carry_over(folder, Path::new(""), &ours, &fresh.path)?;
    let old = Scratch::beside(folder, "old")?;
    let aside = old.path.join("run");
    fs::rename(folder, &aside)?;
    fs::rename(&fresh.path, folder).inspect_err(|_| {
        let _ = fs::rename(&aside, folder);
    })
}

/// Copies every file that is not the earlier run's own, unless the new run writes one of that name.
fn carry_over(from: &Path, inside: &Path, ours: &BTreeSet<PathBuf>, to: &Path) -> io::Result<()> {
    for entry in fs::read_dir(from.join(inside))? {
        let entry = entry?;
        let path = inside.join(entry.file_name());
        let target = to.join(&path);
        if entry.file_type()?.is_dir() {
            carry_over(from, &path, ours, to)?;
        } else if !ours.contains(&path) && !target.exists() {
            if let Some(parent) = target.parent() {
                fs::create_dir_all(parent)?;
            }
            fs::copy(entry.path(), target)?;
        }
    }
    Ok(())
}

/// A folder beside another one that goes when it is dropped, with all that is still in it.
struct Scratch {
    path: PathBuf,
}

impl Scratch {
    fn beside(folder: &Path, what: &str) -> io::Result<Self> {
        let mut name = OsString::from(".");
        name.push(folder.file_name().unwrap_or_default());
        name.push(format!(".{what}.{}", std::process::id()));
        let path = folder.with_file_name(name);
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent)?;
        }
        fs::create_dir(&path)?;
        Ok(Self { path })
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.path);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(text: &str) -> Vec<OutFile> {
        let report = format!("{{\"schema\":\"{SCHEMA}\",\"files\":[\"report.json\",\"a/b.txt\"]}}");
        vec![OutFile::new(MARK, report), OutFile::new("a/b.txt", text)]
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut all: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        all.sort();
        all
    }

    #[test]
    fn an_earlier_run_is_replaced_and_the_makers_own_files_stay() {
        let bench = tempfile::tempdir().unwrap();
        let out = bench.path().join("deep/out");
        write_whole(&out, files("one")).unwrap();
        fs::write(out.join("readings.csv"), "mine").unwrap();
        fs::write(out.join("a/note.txt"), "mine too").unwrap();
        write_whole(&out, files("two")).unwrap();
        assert_eq!(fs::read_to_string(out.join("a/b.txt")).unwrap(), "two");
        assert_eq!(
            fs::read_to_string(out.join("readings.csv")).unwrap(),
            "mine"
        );
        assert_eq!(
            fs::read_to_string(out.join("a/note.txt")).unwrap(),
            "mine too"
        );
        assert_eq!(names(&bench.path().join("deep")), ["out"]);
    }

    #[test]
    fn a_file_the_new_run_no_longer_writes_goes() {
        let bench = tempfile::tempdir().unwrap();
        let out = bench.path().join("out");
        write_whole(&out, files("one")).unwrap();
        let fewer = files("").into_iter().take(1).collect();
        write_whole(&out, fewer).unwrap();
        assert_eq!(names(&out), ["report.json"]);
    }

    #[test]
    fn a_folder_with_other_things_is_refused_and_untouched() {
        let bench = tempfile::tempdir().unwrap();
        let out = bench.path().join("out");
        fs::create_dir(&out).unwrap();
        write_whole(&out, files("into an empty one")).unwrap();
        fs::write(out.join(MARK), "{\"schema\":\"something else\"}").unwrap();
        let problem = write_whole(&out, files("two")).unwrap_err();
        assert!(problem.to_string().contains("left alone"), "{problem}");
        assert_eq!(
            fs::read_to_string(out.join("a/b.txt")).unwrap(),
            "into an empty one"
        );
        assert_eq!(names(bench.path()), ["out"]);
    }

    #[test]
    fn a_failed_write_leaves_nothing_behind() {
        let bench = tempfile::tempdir().unwrap();
        let out = bench.path().join("out");
        let clash = vec![
            OutFile::new("x", "a file"),
            OutFile::new("x/y", "and a folder"),
        ];
        assert!(write_whole(&out, clash).is_err());
        assert!(names(bench.path()).is_empty());
        assert!(check_folder(Path::new("/")).is_err());
        fs::write(&out, "a file").unwrap();
        assert!(check_folder(&out).is_err());
    }
}
