//! The rules of the layout that the compiler does not hold: who may use whom, file length, and that every
//! folder says what it is for.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

/// Longest a file may be, tests not counted.
const MOST_LINES: usize = 600;
/// Half of all files stay under this.
const MEDIAN_LINES: usize = 200;

/// What each part of the crate may use, besides itself.
const MAY_USE: &[(&str, &[&str])] = &[
    ("diag", &[]),
    ("progress", &[]),
    ("material", &[]),
    ("math", &["diag", "progress"]),
    ("mesh", &["diag", "progress", "math"]),
    ("scan", &["diag", "progress", "math", "mesh"]),
    ("gap", &["diag", "progress", "math", "mesh", "scan"]),
    (
        "panel",
        &[
            "diag", "progress", "material", "math", "mesh", "scan", "gap",
        ],
    ),
    (
        "buck",
        &[
            "diag", "progress", "material", "math", "mesh", "scan", "gap", "panel",
        ],
    ),
    (
        "split",
        &[
            "diag", "progress", "material", "math", "mesh", "scan", "gap",
        ],
    ),
    (
        "job",
        &[
            "diag", "progress", "material", "math", "mesh", "scan", "gap", "panel", "buck", "split",
        ],
    ),
    (
        "output",
        &[
            "diag", "progress", "material", "math", "mesh", "scan", "gap", "panel", "buck", "split",
        ],
    ),
    (
        "pipeline",
        &[
            "diag", "progress", "material", "math", "mesh", "scan", "gap", "panel", "buck",
            "split", "job", "output",
        ],
    ),
    (
        "cli",
        &[
            "diag", "progress", "material", "math", "mesh", "scan", "gap", "panel", "buck",
            "split", "job", "output", "pipeline",
        ],
    ),
];

/// Crates that only some parts may name.
const KEPT_IN: &[(&str, &[&str])] = &[
    ("serde", &["job", "output"]),
    ("serde_json", &["output"]),
    ("toml", &["job"]),
    ("manifold_rust", &["mesh"]),
    ("parry3d_f64", &["mesh"]),
    ("clap", &["cli"]),
    ("indicatif", &["cli"]),
];

/// Names that say nothing about what is inside.
const EMPTY_NAMES: &[&str] = &["utils", "util", "helpers", "helper", "manager", "common"];

struct Source {
    path: PathBuf,
    /// First part of the path inside `src`, without the ending.
    part: String,
    /// Lines up to the tests.
    code: Vec<String>,
    is_test: bool,
}

fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    walk(&root, &root, &mut found);
    found.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(found.len() > 20, "the sources were not found");
    found
}

fn walk(root: &Path, folder: &Path, found: &mut Vec<Source>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            walk(root, &path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            let inside = path.strip_prefix(root).unwrap().with_extension("");
            let part = inside.iter().next().unwrap().to_string_lossy().into_owned();
            let text = fs::read_to_string(&path).unwrap();
            let is_test = is_test_module(&path);
            let code = production(&text);
            found.push(Source {
                path,
                part,
                code,
                is_test,
            });
        }
    }
}

/// Whether the file is a module that its parent declares under `#[cfg(test)]`.
fn is_test_module(path: &Path) -> bool {
    let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
    let folder = path.parent().unwrap();
    let parents = [
        folder.join("mod.rs"),
        folder.join("lib.rs"),
        folder.with_extension("rs"),
    ];
    parents.iter().filter(|p| *p != path).any(|parent| {
        let text = fs::read_to_string(parent).unwrap_or_default();
        let lines: Vec<&str> = text.lines().collect();
        lines.windows(2).any(|pair| {
            pair[0].trim() == "#[cfg(test)]"
                && pair[1].split_whitespace().last() == Some(format!("{stem};").as_str())
        })
    })
}

/// The lines before an inline test module.
fn production(text: &str) -> Vec<String> {
    let lines: Vec<&str> = text.lines().collect();
    let end = lines
        .windows(2)
        .position(|pair| {
            pair[0] == "#[cfg(test)]" && pair[1].starts_with("mod ") && pair[1].ends_with('{')
        })
        .unwrap_or(lines.len());
    lines[..end].iter().map(|line| (*line).to_owned()).collect()
}

/// The parts a line of code names after `crate::`, one or a braced list; comments do not count.
fn parts_used(code: &str) -> Vec<String> {
    let mut used = Vec::new();
    let mut rest = code;
    while let Some(at) = rest.find("crate::") {
        let before = rest[..at].chars().last();
        rest = &rest[at + "crate::".len()..];
        if before.is_some_and(|c| c.is_alphanumeric() || c == '_') {
            continue;
        }
        if let Some(list) = rest.strip_prefix('{') {
            // The names at depth one of the list.
            let (mut depth, mut name) = (1, String::new());
            for c in list.chars() {
                match c {
                    '{' => depth += 1,
                    '}' => depth -= 1,
                    ',' if depth == 1 => used.push(std::mem::take(&mut name)),
                    c if depth == 1 => name.push(c),
                    _ => {}
                }
                if depth == 0 {
                    break;
                }
            }
            used.push(name);
        } else {
            used.push(rest.to_owned());
        }
    }
    used.iter()
        .map(|name| {
            name.trim()
                .chars()
                .take_while(|c| c.is_alphanumeric() || *c == '_')
                .collect()
        })
        .filter(|name: &String| !name.is_empty())
        .collect()
}

fn without_comments(code: &[String]) -> String {
    code.iter()
        .map(|line| {
            line.split_once("//")
                .map_or(line.as_str(), |(before, _)| before)
        })
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn no_part_uses_one_to_its_right() {
    let mut wrong = Vec::new();
    for source in sources()
        .iter()
        .filter(|s| !["lib", "main"].contains(&s.part.as_str()))
    {
        let allowed = MAY_USE.iter().find(|(part, _)| *part == source.part);
        let Some((_, allowed)) = allowed else {
            wrong.push(format!(
                "{}: {} has no place in the order",
                source.path.display(),
                source.part
            ));
            continue;
        };
        for used in parts_used(&without_comments(&source.code)) {
            let known = MAY_USE.iter().any(|(part, _)| *part == used);
            if known && used != source.part && !allowed.contains(&used.as_str()) {
                wrong.push(format!("{}: uses {used}", source.path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn crates_stay_where_they_are_wrapped() {
    let mut wrong = Vec::new();
    for source in sources() {
        let code = without_comments(&source.code);
        for (name, parts) in KEPT_IN {
            let named =
                code.contains(&format!("{name}::")) || code.contains(&format!("use {name};"));
            if named && !parts.contains(&source.part.as_str()) {
                wrong.push(format!("{}: names {name}", source.path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn only_the_edges_touch_the_disk() {
    let mut wrong = Vec::new();
    for source in sources().iter().filter(|s| !s.is_test) {
        let inside = source.path.to_string_lossy().replace('\\', "/");
        let is_edge = ["job", "output", "cli"].contains(&source.part.as_str())
            || inside.contains("/src/scan/read/");
        if !is_edge && without_comments(&source.code).contains("fs::") {
            wrong.push(inside);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn files_stay_short_and_half_of_them_very_short() {
    let mut lengths = Vec::new();
    for source in sources().iter().filter(|s| !s.is_test) {
        let count = source.code.len();
        assert!(
            count <= MOST_LINES,
            "{} has {count} lines",
            source.path.display()
        );
        lengths.push(count);
    }
    lengths.sort_unstable();
    let median = lengths[lengths.len() / 2];
    assert!(median < MEDIAN_LINES, "the median file has {median} lines");
}

#[test]
fn every_folder_says_what_it_is_for_and_no_name_is_empty() {
    for source in sources() {
        let stem = source
            .path
            .file_stem()
            .unwrap()
            .to_string_lossy()
            .into_owned();
        assert!(
            !EMPTY_NAMES.contains(&stem.as_str()),
            "{}",
            source.path.display()
        );
        if stem == "mod" || stem == "lib" {
            let first = source.code.first().map(String::as_str).unwrap_or("");
            assert!(
                first.len() > 10 && first.starts_with("//! "),
                "{}",
                source.path.display()
            );
        }
    }
}

#[test]
fn the_reader_of_paths_sees_lists_and_skips_look_alikes() {
    assert_eq!(
        parts_used("use crate::gap::{Survey, x}; crate::mesh::y()"),
        ["gap", "mesh"]
    );
    assert_eq!(
        parts_used("use crate::{diag::{A, B}, panel};"),
        ["diag", "panel"]
    );
    assert!(parts_used("use my_crate::cli;").is_empty());
}
