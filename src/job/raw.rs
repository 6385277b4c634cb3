//! The job file as text and as a tree of values that know where they stand.

use super::check::number_meant;
use crate::diag::Problem;
use std::path::Path;
use toml::Spanned;
use toml::de::DeTable;

/// A job is a page of text; anything larger is some other file.
const LARGEST_BYTES: u64 = 1 << 20;

/// Reads the file as UTF-8 text.
pub(super) fn read_text(path: &Path) -> Result<String, Problem> {
    let cannot = |what: &str, hint: &str| Problem::new(what, hint).at(path.display());
    let meta = std::fs::metadata(path).map_err(|e| {
        cannot(
            &format!("the job file cannot be opened ({e})"),
            "check the path; `gapwright new BODY TRAY` writes a job to start from",
        )
    })?;
    if meta.is_dir() {
        return Err(cannot(
            "this is a folder, not a job file",
            "name the job file in it, such as job.toml",
        ));
    }
    if meta.len() > LARGEST_BYTES {
        return Err(cannot(
            "this is too large to be a job file",
            "name a job file; scans are named inside it",
        ));
    }
    let bytes = std::fs::read(path).map_err(|e| {
        cannot(
            &format!("the job file cannot be read ({e})"),
            "check that you may read it",
        )
    })?;
    let text = String::from_utf8(bytes).map_err(|_| {
        cannot(
            "the job file is not UTF-8 text",
            "save it as plain text in UTF-8; scans are named inside it",
        )
    })?;
    Ok(text.strip_prefix('\u{feff}').unwrap_or(&text).to_owned())
}

/// A place in the text, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Place {
    pub line: usize,
    pub column: usize,
}

/// The place of a byte offset.
pub(super) fn place_of(text: &str, offset: usize) -> Place {
    let before = text.get(..offset.min(text.len())).unwrap_or(text);
    let start = before.rfind('\n').map_or(0, |i| i + 1);
    Place {
        line: before.matches('\n').count() + 1,
        column: before.get(start..).unwrap_or("").chars().count() + 1,
    }
}

/// A line that is not TOML.
pub(super) struct SyntaxFault {
    pub place: Place,
    pub what: String,
    pub hint: String,
}

/// The tree, as far as it could be read, and every line that could not.
pub(super) fn parse(text: &str) -> (Spanned<DeTable<'_>>, Vec<SyntaxFault>) {
    let (tree, errors) = DeTable::parse_recoverable(text);
    let faults = errors
        .iter()
        .map(|error| {
            let place = place_of(text, error.span().map_or(0, |span| span.start));
            let line = text.lines().nth(place.line - 1).unwrap_or("");
            match (with_decimal_point(line), without_unit(line)) {
                (Some(better), _) => SyntaxFault {
                    place,
                    what: "a number is written with a decimal comma".to_owned(),
                    hint: format!("use a decimal point: {better}"),
                },
                (None, Some(better)) => SyntaxFault {
                    place,
                    what: "a number is written with its unit".to_owned(),
                    hint: format!("write the number alone, in millimetres: {better}"),
                },
                (None, None) => SyntaxFault {
                    place,
                    what: format!("this is not TOML: {}", error.message()),
                    hint: "write key = value, text in \"double quotes\", and tables as [name]"
                        .to_owned(),
                },
            }
        })
        .collect();
    (tree, faults)
}

/// `key_mm = 3 mm` as `key_mm = 3`, where the line is just that.
fn without_unit(line: &str) -> Option<String> {
    let (key, value) = line.split_once('=')?;
    let (key, value) = (key.trim(), value.split('#').next()?.trim());
    // What is in quotes or brackets is no number with a unit after it.
    let plain = key.ends_with("_mm") && !value.contains(['"', '[', '{']);
    let number = number_meant(value).filter(|_| plain)?;
    Some(format!("{key} = {number}"))
}

/// `key = 3,5` as `key = 3.5`, where the line is just that.
fn with_decimal_point(line: &str) -> Option<String> {
    let (key, value) = line.split_once('=')?;
    let value = value.split('#').next()?.trim();
    let (whole, part) = value.split_once(',')?;
    let digits = |s: &str| !s.is_empty() && s.chars().all(|c| c.is_ascii_digit());
    (digits(whole.trim_start_matches('-')) && digits(part))
        .then(|| format!("{} = {whole}.{part}", key.trim()))
}
