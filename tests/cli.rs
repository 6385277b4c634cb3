//! The real binary: help that teaches, faults told plainly, nothing overwritten, nothing left behind.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

fn gapwright(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_gapwright"))
        .args(args)
        .current_dir(folder)
        .output()
        .unwrap()
}

fn errors(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut all: Vec<String> = entries
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    all.sort();
    all
}

/// A folder with two files that are no scans, and a job with this after its scans.
fn bench(more: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("body.ply"), "no scan").unwrap();
    fs::write(folder.path().join("tray.ply"), "no scan").unwrap();
    let job = format!("[scan]\nbody = \"body.ply\"\ntray = \"tray.ply\"\n{more}");
    fs::write(folder.path().join("job.toml"), job).unwrap();
    folder
}

#[test]
fn help_teaches_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let help = gapwright(folder.path(), &["--help"]);
    assert_eq!(help.status.code(), Some(0));
    for command in [
        "inspect",
        "new",
        "measure",
        "verify",
        "make",
        "completions",
        "manual",
    ] {
        assert!(said(&help).contains(command));
        let own = gapwright(folder.path(), &[command, "--help"]);
        assert_eq!(own.status.code(), Some(0));
        let text = said(&own);
        assert!(
            text.contains("Example:\n  gapwright") && text.contains("Next:"),
            "{text}"
        );
    }
    let bare = gapwright(folder.path(), &[]);
    assert_eq!(bare.status.code(), Some(2));
    assert!(errors(&bare).contains("The usual way"));
    let typo = gapwright(folder.path(), &["mesure", "job.toml"]);
    assert_eq!(typo.status.code(), Some(2));
    assert!(errors(&typo).contains("measure"), "{}", errors(&typo));
}

#[test]
fn all_faults_of_a_job_are_told_at_once_and_nothing_is_written() {
    let folder =
        bench("[gap]\nstation_mm = 900\n[panel]\nwal_mm = 3\n[printer]\nfit_mm = \"0,2\"\n");
    for command in ["measure", "make"] {
        let run = gapwright(folder.path(), &[command, "job.toml"]);
        assert_eq!(run.status.code(), Some(2));
        let text = errors(&run);
        for words in [
            "where: job.toml, line 5, column 14",
            "choose 1 to 50 mm",
            "did you mean wall_mm?",
            "write 0.2, without quotes",
            "3 errors; nothing was written",
        ] {
            assert!(text.contains(words), "{words}\n{text}");
        }
        assert!(said(&run).is_empty() && !text.contains('\u{1b}'));
        assert_eq!(names(folder.path()), ["body.ply", "job.toml", "tray.ply"]);
    }
}

#[test]
fn missing_files_are_named() {
    let folder = tempfile::tempdir().unwrap();
    for args in [
        &["measure", "gone.toml"][..],
        &["make", "gone.toml"],
        &["inspect", "gone.ply"],
        &["new", "gone.ply", "gone.ply"],
        &["measure", "."],
    ] {
        let run = gapwright(folder.path(), args);
        assert_eq!(run.status.code(), Some(2), "{args:?}");
        let text = errors(&run);
        assert!(
            text.starts_with("error: ") && text.contains("to do: "),
            "{args:?}\n{text}"
        );
        assert!(text.contains(args[1]), "{args:?}\n{text}");
    }
    assert!(names(folder.path()).is_empty());
}

#[test]
fn scans_that_are_none_fail_once_and_leave_nothing() {
    let folder = bench("");
    for command in ["measure", "make"] {
        let run = gapwright(folder.path(), &[command, "job.toml"]);
        assert_eq!(run.status.code(), Some(2));
        assert_eq!(
            errors(&run).matches("error: ").count(),
            1,
            "{}",
            errors(&run)
        );
        assert_eq!(names(folder.path()), ["body.ply", "job.toml", "tray.ply"]);
    }
}

#[test]
fn a_folder_that_is_no_earlier_run_is_refused_before_any_work() {
    let folder = bench("");
    let precious = folder.path().join("precious");
    fs::create_dir(&precious).unwrap();
    fs::write(precious.join("notes.txt"), "mine").unwrap();
    let run = gapwright(folder.path(), &["make", "job.toml", "--out", "precious"]);
    assert_eq!(run.status.code(), Some(2));
    assert!(errors(&run).contains("left alone"), "{}", errors(&run));
    assert_eq!(names(&precious), ["notes.txt"]);
}

#[test]
fn new_does_not_overwrite() {
    let folder = bench("");
    let before = fs::read_to_string(folder.path().join("job.toml")).unwrap();
    let run = gapwright(folder.path(), &["new", "body.ply", "tray.ply"]);
    assert_eq!(run.status.code(), Some(2));
    assert!(errors(&run).contains("left alone") && errors(&run).contains("job.toml"));
    assert_eq!(
        fs::read_to_string(folder.path().join("job.toml")).unwrap(),
        before
    );
}

#[test]
fn programs_get_json() {
    let folder = bench("[panel]\nwal_mm = 3\n");
    let run = gapwright(folder.path(), &["measure", "job.toml", "--json"]);
    let told: serde_json::Value = serde_json::from_str(&said(&run)).unwrap();
    assert_eq!(told["made"], false);
    assert_eq!(told["problems"][0]["to_do"], "did you mean wall_mm?");
}

/// A level sheet of small triangles with a slight bow, 800 by 100 units, as binary STL.
fn sheet() -> Vec<u8> {
    let point = |i: u32, k: u32| {
        let (x, y) = (i as f32 * 5.0, k as f32 * 5.0);
        [x, y, (x / 300.0).sin() * 4.0]
    };
    let mut facets = Vec::new();
    for (i, k) in (0..160).flat_map(|i| (0..20).map(move |k| (i, k))) {
        let [a, b, c, d] =
            [(i, k), (i + 1, k), (i + 1, k + 1), (i, k + 1)].map(|(i, k)| point(i, k));
        facets.extend([[a, b, c], [a, c, d]]);
    }
    let mut bytes = vec![b' '; 80];
    bytes.extend((facets.len() as u32).to_le_bytes());
    for corners in facets {
        bytes.extend([0; 12]);
        bytes.extend(corners.iter().flatten().flat_map(|v| v.to_le_bytes()));
        bytes.extend([0, 0]);
    }
    bytes
}

#[test]
fn scans_are_inspected_and_a_job_is_started() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("scans")).unwrap();
    fs::write(folder.path().join("scans/it's a \u{e4}.stl"), sheet()).unwrap();
    let scan = "scans/it's a \u{e4}.stl";
    let run = gapwright(folder.path(), &["inspect", scan, "--no-page", "--quiet"]);
    assert!(run.status.success() && names(folder.path()) == ["scans"]);
    let run = gapwright(folder.path(), &["inspect", scan, "--unit", "mm", "--json"]);
    assert_eq!(names(folder.path()), ["it's a \u{e4}.points.html", "scans"]);
    let told: serde_json::Value = serde_json::from_str(&said(&run)).unwrap();
    assert_eq!(told["scans"][0]["source"]["triangles"], 6400);
    assert_eq!(told["scans"][0]["source"]["unit_from"], "job");
    assert_eq!(told["scans"][0]["holes"], 0);
    assert_eq!(told["pages"][0], "it's a \u{e4}.points.html");
    let run = gapwright(folder.path(), &["inspect", scan, "gone.stl"]);
    assert_eq!(run.status.code(), Some(2));
    assert!(said(&run).contains("size       800 x 100 x") && errors(&run).contains("gone.stl"));

    fs::create_dir(folder.path().join("nose")).unwrap();
    let run = gapwright(
        folder.path(),
        &["new", scan, scan, "--out", "nose/nose.toml"],
    );
    assert_eq!(run.status.code(), Some(0), "{}", errors(&run));
    let job = fs::read_to_string(folder.path().join("nose/nose.toml")).unwrap();
    assert!(
        job.contains("body = \"../scans/it's a \u{e4}.stl\""),
        "{job}"
    );
    assert!(
        job.contains("name = \"nose\"") && job.contains("\n# body_unit = \"mm\"\n"),
        "{job}"
    );
    // The job itself is in order: what stops the run is that a sheet is no body.
    let run = gapwright(folder.path(), &["measure", "nose/nose.toml", "--quiet"]);
    assert_eq!(run.status.code(), Some(2));
    assert!(
        !errors(&run).contains("line ") && said(&run).is_empty(),
        "{}",
        errors(&run)
    );
    assert_eq!(names(&folder.path().join("nose")), ["nose.toml"]);
}

#[test]
fn manual_and_completions_name_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let page = gapwright(folder.path(), &["manual"]);
    assert_eq!(page.status.code(), Some(0));
    let page = said(&page);
    assert!(page.contains(".TH gapwright 1"), "{page}");
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let words = gapwright(folder.path(), &["completions", shell]);
        assert_eq!(words.status.code(), Some(0));
        for command in ["inspect", "new", "measure", "verify", "make"] {
            assert!(said(&words).contains(command), "{shell}");
            let heading = format!(".SH \"GAPWRIGHT {}\"", command.to_uppercase());
            assert!(page.contains(&heading), "{heading}");
        }
    }
    assert!(page.contains("\\-\\-unit") && page.contains("Exit codes"));
    assert!(names(folder.path()).is_empty());
}
