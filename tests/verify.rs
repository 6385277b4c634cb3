//! Readings held to a survey with the real binary: go, shim, rescan, the shim list, and every kind of
//! bad table.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

fn gapwright(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_gapwright"))
        .args(args)
        .current_dir(folder)
        .output()
        .unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn errors(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// The tail's survey, measured once for all tests: the job's text and the blank table.
fn surveyed() -> &'static (String, String) {
    static ONCE: OnceLock<(String, String)> = OnceLock::new();
    ONCE.get_or_init(|| {
        let scans = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("sample-meshes/tail");
        let path = |name: &str| scans.join(name).to_string_lossy().replace('\\', "/");
        let job = format!(
            "[scan]\nbody = \"{}\"\ntray = \"{}\"\nunit = \"cm\"\n",
            path("body.ply"),
            path("tray.ply")
        );
        let bench = tempfile::tempdir().unwrap();
        fs::write(bench.path().join("job.toml"), &job).unwrap();
        let run = gapwright(bench.path(), &["measure", "job.toml"]);
        assert_eq!(run.status.code(), Some(0), "{}", errors(&run));
        let table = fs::read_to_string(bench.path().join("out/readings.csv")).unwrap();
        (job, table)
    })
}

/// The table with the readings filled in: `reading(kind, predicted)`, blank where that gives nothing.
fn filled(reading: impl Fn(usize, &str, f64) -> Option<String>) -> String {
    let table = &surveyed().1;
    let mut lines = table.lines();
    let mut text = format!("{}\n", lines.next().unwrap());
    for (i, line) in lines.enumerate() {
        let cells: Vec<&str> = line.splitn(10, ',').collect();
        let value = reading(i, cells[2], cells[6].parse().unwrap()).unwrap_or_default();
        text += &format!("{},{value},{}\n", cells[..8].join(","), cells[9]);
    }
    text
}

/// Verifies a table against the tail's job, with this after the job's text.
fn verify(table: &str, more: &str) -> (Output, tempfile::TempDir) {
    let bench = tempfile::tempdir().unwrap();
    fs::write(
        bench.path().join("job.toml"),
        format!("{}{more}", surveyed().0),
    )
    .unwrap();
    fs::write(bench.path().join("r.csv"), table).unwrap();
    let run = gapwright(bench.path(), &["verify", "job.toml", "r.csv"]);
    (run, bench)
}

#[test]
fn the_table_lists_lengths_and_gaps() {
    let table = &surveyed().1;
    let count = |kind: &str| {
        table
            .lines()
            .filter(|l| l.split(',').nth(2) == Some(kind))
            .count()
    };
    assert!(count("straight") + count("along") >= 2, "{table}");
    assert!((6..=10).contains(&count("gap")), "{table}");
    assert!(
        table
            .lines()
            .skip(1)
            .all(|l| l.split(',').nth(8) == Some(""))
    );
}

#[test]
fn readings_that_agree_say_go() {
    let (run, bench) = verify(&filled(|_, _, p| Some(format!("{:.1}", p + 0.2))), "");
    assert_eq!(run.status.code(), Some(0), "{}{}", said(&run), errors(&run));
    assert!(said(&run).contains("GO:") && said(&run).contains("p = "));
    assert!(!bench.path().join("correction.toml").exists());
}

/// Straight between the corners of a polyline at a distance along it.
fn at(line: &[([f64; 3], f64)], along: f64, value: impl Fn(&[f64; 3]) -> f64) -> f64 {
    let k = line
        .partition_point(|p| p.1 <= along)
        .clamp(1, line.len() - 1);
    let (a, b) = (&line[k - 1], &line[k]);
    let share = ((along - a.1) / (b.1 - a.1)).clamp(0.0, 1.0);
    value(&a.0) * (1.0 - share) + value(&b.0) * share
}

/// The simulated vehicle read at the places the table names: the survey of its scan may be off, and bent,
/// as far as its budget says and no further.
#[test]
fn readings_of_the_true_vehicle_say_go() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("sample-meshes/tail/truth.json");
    let truth: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    let mut edge: Vec<([f64; 3], f64)> = Vec::new();
    let mut gaps: Vec<([f64; 3], f64)> = Vec::new();
    for station in truth["stations"].as_array().unwrap() {
        let p = [0, 1, 2].map(|k| station["edge"][k].as_f64().unwrap());
        let step = edge.last().map_or(0.0, |(q, _)| {
            (0..3).map(|k| (p[k] - q[k]).powi(2)).sum::<f64>().sqrt()
        });
        let along = edge.last().map_or(0.0, |e| e.1) + step;
        edge.push((p, along));
        gaps.push((
            [station["gap_tray_normal"].as_f64().unwrap(), 0.0, 0.0],
            along,
        ));
    }
    let whole = edge[edge.len() - 1].1;
    let table = &surveyed().1;
    let mut lines = table.lines();
    let mut text = format!("{}\n", lines.next().unwrap());
    let rows: Vec<Vec<&str>> = lines.map(|l| l.splitn(10, ',').collect()).collect();
    let surveyed_whole: f64 = rows[0][5].parse().unwrap();
    for cells in rows {
        let from: f64 = cells[4].parse().unwrap();
        let value = match cells[2] {
            "gap" => at(&gaps, from, |p| p[0]),
            kind => {
                let to: f64 = cells[5].parse().unwrap();
                let [a, b] = [from, to].map(|x| x / surveyed_whole * whole);
                let chord =
                    (0..3).map(|k| (at(&edge, a, |p| p[k]) - at(&edge, b, |p| p[k])).powi(2));
                if kind == "along" {
                    b - a
                } else {
                    chord.sum::<f64>().sqrt()
                }
            }
        };
        text += &format!("{},{value:.1},{}\n", cells[..8].join(","), cells[9]);
    }
    let (run, _bench) = verify(&text, "");
    assert_eq!(run.status.code(), Some(0), "{}{}", said(&run), errors(&run));
}

#[test]
fn job_and_readings_the_wrong_way_round_are_told_as_that() {
    let bench = tempfile::tempdir().unwrap();
    fs::write(bench.path().join("job.toml"), &surveyed().0).unwrap();
    fs::write(bench.path().join("r.csv"), &surveyed().1).unwrap();
    let run = gapwright(bench.path(), &["verify", "r.csv", "job.toml"]);
    assert_eq!(run.status.code(), Some(2));
    let told = errors(&run);
    assert!(told.contains("wrong way round"), "{told}");
    assert!(
        told.contains("to do: gapwright verify job.toml r.csv"),
        "{told}"
    );
    assert_eq!(told.matches("error:").count(), 1, "{told}");
}

/// Read back as it was written, a table of predictions agrees with itself to what it is rounded to.
#[test]
fn what_is_predicted_reads_back_as_no_difference() {
    let (run, _bench) = verify(&filled(|_, _, p| Some(format!("{p:.1}"))), "");
    let told = said(&run);
    let rows = told.lines().skip_while(|line| !line.starts_with("  check"));
    let off: Vec<f64> = rows
        .skip(1)
        .map_while(|row| row.split_whitespace().nth(3)?.parse().ok())
        .collect();
    assert!(off.len() >= 8, "{told}");
    assert!(off.iter().all(|off| off.abs() < 0.11), "{told}");
}

/// On a seal that takes up less than the survey is known to, agreement is not enough.
#[test]
fn what_the_seal_does_not_take_up_says_shim_and_names_the_line_for_the_job() {
    let seal = "[gap]\nedge = \"rolled\"\n[panel]\nseal_foam_mm = 5.0\nseal_mm = 3.4\n";
    let bench = tempfile::tempdir().unwrap();
    fs::write(
        bench.path().join("job.toml"),
        format!("{}{seal}", surveyed().0),
    )
    .unwrap();
    let run = gapwright(bench.path(), &["measure", "job.toml"]);
    assert_eq!(run.status.code(), Some(0), "{}", errors(&run));
    let path = bench.path().join("out/readings.csv");
    let table = fs::read_to_string(&path).unwrap();
    let lines: Vec<String> = table
        .lines()
        .map(|line| {
            let cells: Vec<&str> = line.splitn(10, ',').collect();
            if cells[2] != "gap" {
                return line.to_owned();
            }
            let off: f64 = cells[6].parse::<f64>().unwrap() + 1.2;
            format!("{},{off:.1},{}", cells[..8].join(","), cells[9])
        })
        .collect();
    fs::write(&path, lines.join("\n")).unwrap();
    let run = gapwright(bench.path(), &["verify", "job.toml", "out/readings.csv"]);
    let told = said(&run);
    assert_eq!(run.status.code(), Some(1), "{told}{}", errors(&run));
    assert!(
        told.contains("SHIM: ") && told.contains("takes up"),
        "{told}"
    );
    assert!(
        told.contains("\n  correction = \"out/correction.toml\"\n"),
        "{told}"
    );
    let job = fs::read_to_string(bench.path().join("job.toml")).unwrap();
    let with = "[gap]\ncorrection = \"out/correction.toml\"\n";
    fs::write(bench.path().join("job.toml"), job.replace("[gap]\n", with)).unwrap();
    let run = gapwright(bench.path(), &["measure", "job.toml"]);
    assert_eq!(run.status.code(), Some(0), "{}", errors(&run));
}

#[test]
fn a_scale_and_a_height_say_shim_and_the_job_takes_the_correction() {
    let table = filled(|_, kind, p| {
        let lifted = if kind == "gap" { 6.0 } else { 0.0 };
        Some(format!("{:.1}", p * 1.012 + lifted))
    });
    let (run, bench) = verify(&table, "");
    assert_eq!(run.status.code(), Some(1), "{}{}", said(&run), errors(&run));
    assert!(said(&run).contains("SHIM:"), "{}", said(&run));
    let text = fs::read_to_string(bench.path().join("correction.toml")).unwrap();
    let value = |key: &str| -> f64 {
        let line = text.lines().find(|l| l.starts_with(key)).unwrap();
        line.split(" = ").nth(1).unwrap().parse().unwrap()
    };
    assert!((value("scale") - 1.012).abs() < 0.003, "{text}");
    assert!(
        (value("left_mm") - 6.0).abs() < 0.5 && (value("right_mm") - 6.0).abs() < 0.5,
        "{text}"
    );
    let job = format!("{}[gap]\ncorrection = \"correction.toml\"\n", surveyed().0);
    fs::write(bench.path().join("job.toml"), job).unwrap();
    let run = gapwright(bench.path(), &["measure", "job.toml"]);
    assert_eq!(run.status.code(), Some(0), "{}", errors(&run));
    assert!(said(&run).contains("corrected by your readings"));
    // Read again at the places of the corrected survey, the vehicle agrees.
    let again = fs::read_to_string(bench.path().join("out/readings.csv")).unwrap();
    let first = surveyed()
        .1
        .lines()
        .nth(5)
        .unwrap()
        .split(',')
        .next()
        .unwrap();
    assert!(
        !again.contains(first),
        "a corrected survey has its own name"
    );
    let mut lines = again.lines();
    let mut table = format!("{}\n", lines.next().unwrap());
    for line in lines {
        let cells: Vec<&str> = line.splitn(10, ',').collect();
        table += &format!("{},{},{}\n", cells[..8].join(","), cells[6], cells[9]);
    }
    fs::write(bench.path().join("r2.csv"), table).unwrap();
    let run = gapwright(bench.path(), &["verify", "job.toml", "r2.csv"]);
    assert_eq!(run.status.code(), Some(0), "{}{}", said(&run), errors(&run));
}

#[test]
fn a_bulge_says_rescan_and_names_the_stretch() {
    let (run, bench) = verify(
        &filled(|i, _, p| Some(format!("{:.1}", if i == 6 { p + 15.0 } else { p }))),
        "",
    );
    assert_eq!(run.status.code(), Some(1), "{}", errors(&run));
    let text = said(&run);
    assert!(
        text.contains("RESCAN:") && text.contains("G3") && text.contains("scan again from"),
        "{text}"
    );
    assert!(!bench.path().join("correction.toml").exists());
}

#[test]
fn a_fitted_panel_gets_its_shims() {
    let id = surveyed()
        .1
        .lines()
        .nth(1)
        .unwrap()
        .split(',')
        .next()
        .unwrap();
    let head = surveyed().1.lines().next().unwrap();
    let mut table = format!("{head}\n");
    for (i, value) in [3.0, 3.1, 2.9].into_iter().enumerate() {
        table += &format!(
            "{id},F{i},fitted,gauge,{},,2.0,0.5,{value},\n",
            50 + 100 * i
        );
    }
    let (run, _bench) = verify(&table, "");
    assert_eq!(run.status.code(), Some(1), "{}", errors(&run));
    assert!(
        said(&run).contains("one strip 1.0 mm under the flange"),
        "{}",
        said(&run)
    );
}

/// Each bad table, and words that say what is wrong with it.
#[test]
fn bad_tables_are_named_and_nothing_is_written() {
    let good = filled(|_, _, p| Some(format!("{p:.1}")));
    let id = surveyed()
        .1
        .lines()
        .nth(1)
        .unwrap()
        .split(',')
        .next()
        .unwrap();
    let head = surveyed().1.lines().next().unwrap();
    let row = |rest: &str| format!("{head}\n{id},{rest}\n");
    let cases = [
        (String::new(), "empty"),
        ("\n\n,,,\n".to_owned(), "empty"),
        (format!("{head}\n"), "no readings"),
        (surveyed().1.clone(), "are blank"),
        ("a,b,c\n1,2,3\n".to_owned(), "lacks the column survey"),
        (
            row("G1,gap,caliper,99999,,30,1,30,"),
            "the edge runs from 0 to",
        ),
        (
            row("G1,gap,caliper,-60,,30,1,30,"),
            "the edge runs from 0 to",
        ),
        (
            row("G1,gap,caliper,50,,30,1,about 30,"),
            "\"about 30\" in reading_mm is not a number",
        ),
        (row("G1,gap,caliper,50,,30,1,nan,"), "is not a number"),
        (row("G1,gap,caliper,50,,30,1,-4,"), "reads -4 mm"),
        (row("G1,hole,caliper,50,,30,1,30,"), "no kind \"hole\""),
        (row("G1,gap,caliper,50,,30,1,30,0,7,9"), "cells under"),
        (
            row("F1,fitted,gauge,50,,,1,2,"),
            "nothing says what was meant",
        ),
        (
            row("L1,straight,tape,50,,30,1,300,"),
            "begins where it ends",
        ),
        (
            filled(|_, _, p| Some(format!("{:.3}", p / 25.4))),
            "in inches",
        ),
        (
            filled(|_, _, p| Some(format!("{:.2}", p / 10.0))),
            "in centimetres",
        ),
        (
            good.replace(id, "abcdefabcdef"),
            "made for survey abcdefabcdef",
        ),
        (good.replacen(id, "abcdefabcdef", 1), "different surveys"),
        (good.replace(id, ""), "no row names its survey"),
    ];
    for (table, words) in cases {
        let (run, bench) = verify(&table, "");
        let text = errors(&run);
        assert_eq!(run.status.code(), Some(2), "{words}\n{}{text}", said(&run));
        assert!(
            text.contains(words) && text.contains("to do: "),
            "{words}\n{text}"
        );
        assert!(text.contains("r.csv"), "{text}");
        assert!(!bench.path().join("correction.toml").exists());
    }
}

#[test]
fn missing_files_and_bad_corrections_are_named() {
    let (_, bench) = verify("", "");
    for args in [
        ["verify", "gone.toml", "r.csv"],
        ["verify", "job.toml", "gone.csv"],
        ["verify", "job.toml", "."],
    ] {
        let run = gapwright(bench.path(), &args);
        assert_eq!(run.status.code(), Some(2));
        assert!(errors(&run).contains("to do: "), "{}", errors(&run));
    }
    // A table that is in the folder of the results is named from where the maker stands.
    fs::create_dir_all(bench.path().join("out")).unwrap();
    fs::write(bench.path().join("out/readings.csv"), "").unwrap();
    let run = gapwright(bench.path(), &["verify", "job.toml", "readings.csv"]);
    assert_eq!(run.status.code(), Some(2));
    let told = errors(&run);
    assert!(
        told.contains("gapwright verify job.toml out/readings.csv"),
        "{told}"
    );
    fs::remove_dir_all(bench.path().join("out")).unwrap();
    for (text, words) in [
        ("hello", "no correction"),
        (
            "survey = \"x\"\nscale = 25.4\nleft_mm = 0.0\nright_mm = 0.0\n",
            "larger than any scan needs",
        ),
        (
            "survey = \"x\"\nscale = 1.0\nleft_mm = nan\nright_mm = 0.0\n",
            "larger than any scan needs",
        ),
        (
            "survey = \"x\"\nscale = 1.0\nleft_mm = 0.0\nright_mm = 0.0\n",
            "was made for survey x",
        ),
    ] {
        fs::write(bench.path().join("c.toml"), text).unwrap();
        let job = format!("{}[gap]\ncorrection = \"c.toml\"\n", surveyed().0);
        fs::write(bench.path().join("job.toml"), job).unwrap();
        let run = gapwright(bench.path(), &["measure", "job.toml"]);
        assert_eq!(run.status.code(), Some(2), "{text}");
        assert!(errors(&run).contains(words), "{words}\n{}", errors(&run));
    }
}
