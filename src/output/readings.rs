//! `readings.csv`: what to read on the vehicle, written with the reading left blank and read back filled in;
//! and the correction that follows from it.

use crate::diag::Problem;
use crate::gap::readings::{Check, CheckKind, Instrument, Reading};
use std::fmt::Write;
use std::path::Path;

/// The first line of `readings.csv`.
const COLUMNS: [&str; 9] = [
    "survey",
    "check",
    "kind",
    "instrument",
    "at_mm",
    "to_mm",
    "predicted_mm",
    "tolerance_mm",
    "reading_mm",
];
/// The last column, for the eye alone.
const HOW: &str = "how";

/// Name of the table in a run's folder.
pub(super) const READINGS_FILE: &str = "readings.csv";

/// Larger files are no readings.
const LARGEST_BYTES: u64 = 1 << 20;

/// Filled-in readings of one file.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// The survey they were made for, as the file names it.
    pub survey: String,
    /// The readings that are filled in, in the order of the file.
    pub taken: Vec<Reading>,
    /// How many rows were left blank.
    pub blank: usize,
}

pub(super) fn kind_word(kind: CheckKind) -> &'static str {
    match kind {
        CheckKind::Along => "along",
        CheckKind::Straight => "straight",
        CheckKind::Gap => "gap",
        CheckKind::Fitted => "fitted",
    }
}

pub(super) fn instrument_word(instrument: Instrument) -> &'static str {
    match instrument {
        Instrument::Tape => "tape",
        Instrument::Caliper => "caliper",
        Instrument::Gauge => "gauge",
    }
}

/// How to find a check on the vehicle and read it.
pub(super) fn how(check: &Check, whole: f64) -> String {
    let at = check.at;
    match check.kind {
        CheckKind::Along => {
            "soft tape laid along the body's lower edge from its left end to its right end; across a notch, straight"
                .to_owned()
        }
        CheckKind::Straight => format!(
            "tape pulled straight from {} to {}; where something is in the way, plumb both down to a level floor and tape between the marks",
            place_name(at, whole),
            place_name(check.to.unwrap_or(at), whole)
        ),
        CheckKind::Gap => format!(
            "{at:.0} mm along the edge from its left end; from the tray up to the lowest point of the edge, square to the tray"
        ),
        CheckKind::Fitted => format!(
            "{at:.0} mm along the edge from its left end; clear height left between the panel's top and the edge"
        ),
    }
}

/// A place of an edge of length `whole` (mm), found without any other measure where it has a name.
fn place_name(at: f64, whole: f64) -> String {
    let is = |place: f64| (at - place).abs() < 1.0;
    if is(0.0) {
        "the edge's left end".to_owned()
    } else if is(whole) {
        "the edge's right end".to_owned()
    } else if is(0.5 * whole) {
        "the edge's middle (half of what you read along it)".to_owned()
    } else {
        format!("{at:.0} mm along the edge")
    }
}

/// Length of the edge (mm), as far as the checks tell.
pub(super) fn edge_length(checks: &[Check]) -> f64 {
    checks.iter().filter_map(|c| c.to).fold(0.0, f64::max)
}

/// The table with the readings left blank.
pub(super) fn readings_csv(survey: &str, checks: &[Check]) -> String {
    let mut text = format!("{},{HOW}\n", COLUMNS.join(","));
    let whole = edge_length(checks);
    for check in checks {
        // A gap is read at a whole millimetre; where a length ends to the millimetre only, its prediction
        // would be another when it is read back.
        let [at, to] = match check.to {
            Some(to) => [format!("{:.1}", check.at), format!("{to:.1}")],
            None => [format!("{:.0}", check.at), String::new()],
        };
        let _ = writeln!(
            text,
            "{survey},{},{},{},{at},{to},{:.1},{:.1},,\"{}\"",
            check.name,
            kind_word(check.kind),
            instrument_word(check.instrument),
            check.predicted,
            check.tolerance,
            how(check, whole)
        );
    }
    text
}

/// What becomes of an earlier table when a new one is written.
#[derive(Debug, PartialEq)]
pub(super) enum Kept {
    /// Nothing was filled in.
    Blank,
    /// It is for the same survey: its text, and the rows it lacked.
    Same(String),
    /// It is for this other survey.
    Other(String),
}

/// Looks at an earlier table beside the new one.
pub(super) fn keep_filled(old: &str, new: &[u8]) -> Kept {
    let new = String::from_utf8_lossy(new);
    let Some(header) = old
        .lines()
        .next()
        .and_then(|first| read_header(first, "").ok())
    else {
        return Kept::Blank;
    };
    let cell = |line: &str, column: Option<usize>, separator: char| {
        let cells = fields(line, separator);
        let found = column.and_then(|i| cells.get(i));
        found.cloned().unwrap_or_default()
    };
    let reading = |line: &str| cell(line, header.columns[8], header.separator);
    if old.lines().skip(1).all(|line| reading(line).is_empty()) {
        return Kept::Blank;
    }
    let first = |text: &str, column, separator| {
        let row = text.lines().skip(1).find(|line| !line.trim().is_empty());
        row.map_or_else(String::new, |line| cell(line, column, separator))
    };
    let survey = first(old, header.columns[0], header.separator);
    if survey != first(&new, Some(0), ',') {
        return Kept::Other(survey);
    }
    let name = |line: &str| cell(line, header.columns[1], header.separator);
    let known: Vec<String> = old.lines().map(name).collect();
    let mut text = old.trim_end().to_owned();
    text.push('\n');
    if header.separator == ',' {
        for line in new
            .lines()
            .filter(|l| !known.contains(&cell(l, Some(1), ',')))
        {
            text.push_str(line);
            text.push('\n');
        }
    }
    Kept::Same(text)
}

/// Reads a filled-in table.
///
/// Columns are found by their names, in any order, those of no use here left out. Commas, semicolons or
/// tabs may stand between them. A decimal comma is taken where it cannot be a separator. Blank lines and
/// rows without a reading are skipped.
///
/// # Errors
/// Every fault of the file, each with its line.
pub fn read_readings(path: &Path) -> Result<Readings, Vec<Problem>> {
    let failed = |what: String, hint: &str| vec![Problem::new(what, hint).at(path.display())];
    let meta = std::fs::metadata(path).map_err(|e| {
        failed(
            format!("the readings cannot be opened ({e})"),
            "check the path; `gapwright measure` writes readings.csv to fill in",
        )
    })?;
    if !meta.is_file() || meta.len() > LARGEST_BYTES {
        return Err(failed(
            "this is no table of readings".to_owned(),
            "name the readings.csv that `gapwright measure` wrote, filled in",
        ));
    }
    let bytes = std::fs::read(path).map_err(|e| {
        failed(
            format!("the readings cannot be read ({e})"),
            "check that you may read the file",
        )
    })?;
    parse(
        &String::from_utf8_lossy(&bytes),
        &path.display().to_string(),
    )
}

/// Where each column stands.
struct Header {
    separator: char,
    columns: [Option<usize>; 9],
    count: usize,
}

fn parse(text: &str, shown: &str) -> Result<Readings, Vec<Problem>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut lines = text.lines().enumerate().filter(|(_, line)| {
        line.chars()
            .any(|c| !c.is_whitespace() && !",;\"".contains(c))
    });
    let Some((_, first)) = lines.next() else {
        return Err(vec![
            Problem::new(
                "the file is empty",
                "name the readings.csv that `gapwright measure` wrote, filled in",
            )
            .at(shown),
        ]);
    };
    let header = read_header(first, shown)?;
    let mut faults = Vec::new();
    let mut taken = Vec::new();
    let mut surveys: Vec<String> = Vec::new();
    let mut blank = 0;
    for (number, line) in lines {
        let place = format!("{shown}, line {}", number + 1);
        match read_row(&header, line) {
            Ok(row) => {
                if !row.survey.is_empty() && !surveys.contains(&row.survey) {
                    surveys.push(row.survey);
                }
                match row.reading {
                    Some(reading) => taken.push(reading),
                    None => blank += 1,
                }
            }
            Err(fault) => faults.push(fault.at(place)),
        }
    }
    if faults.is_empty() && taken.is_empty() {
        let what = match blank {
            0 => "there are no readings in the file".to_owned(),
            n => format!("all {n} readings are blank"),
        };
        let hint = "take the readings on the vehicle and write them in the column reading_mm";
        faults.push(Problem::new(what, hint).at(shown));
    }
    if faults.is_empty() && surveys.len() != 1 {
        let what = match surveys.len() {
            0 => "no row names its survey",
            _ => "the rows name different surveys",
        };
        let hint =
            "keep the column survey as `gapwright measure` wrote it, and one survey to a file";
        faults.push(Problem::new(what, hint).at(shown));
    }
    if faults.is_empty() {
        let survey = surveys.remove(0);
        Ok(Readings {
            survey,
            taken,
            blank,
        })
    } else {
        Err(faults)
    }
}

fn read_header(line: &str, shown: &str) -> Result<Header, Vec<Problem>> {
    let count = |c: char| line.matches(c).count();
    let separator = [';', '\t', ',']
        .into_iter()
        .max_by_key(|c| count(*c))
        .unwrap_or(',');
    let names = fields(line, separator);
    let find = |name: &str| names.iter().position(|n| n.eq_ignore_ascii_case(name));
    let columns = COLUMNS.map(find);
    let needed = [0, 2, 4, 8];
    let missing: Vec<&str> = needed
        .into_iter()
        .filter(|&i| columns[i].is_none())
        .map(|i| COLUMNS[i])
        .collect();
    if missing.is_empty() {
        return Ok(Header {
            separator,
            columns,
            count: names.len(),
        });
    }
    Err(vec![
        Problem::new(
            format!("the first line lacks the column {}", missing.join(", ")),
            "keep the first line as `gapwright measure` wrote it; docs/formats.md lists the columns",
        )
        .at(format!("{shown}, line 1")),
    ])
}

struct Row {
    survey: String,
    reading: Option<Reading>,
}

fn read_row(header: &Header, line: &str) -> Result<Row, Problem> {
    let mut cells = fields(line, header.separator);
    let [
        survey,
        check,
        kind,
        instrument,
        at,
        to,
        predicted,
        _,
        reading,
    ] = header.columns;
    if header.separator == ',' && cells.len() > header.count {
        join_decimal_comma(&mut cells, reading, header.count)?;
    }
    let cell = |column: Option<usize>| {
        let text = column.and_then(|i| cells.get(i));
        text.map_or("", |text| text.trim())
    };
    let row_survey = cell(survey).to_owned();
    if cell(reading).is_empty() {
        return Ok(Row {
            survey: row_survey,
            reading: None,
        });
    }
    let name = match cell(check) {
        "" => "a reading without a name",
        name => name,
    };
    let value = number(cell(reading), name, "reading_mm")?;
    let kinds = [
        CheckKind::Along,
        CheckKind::Straight,
        CheckKind::Gap,
        CheckKind::Fitted,
    ];
    let word = cell(kind).to_ascii_lowercase();
    let kind = kinds
        .into_iter()
        .find(|k| kind_word(*k) == word)
        .ok_or_else(|| {
            Problem::new(
                format!("{name}: there is no kind \"{word}\""),
                "write along, straight, gap or fitted",
            )
        })?;
    let word = cell(instrument).to_ascii_lowercase();
    let instruments = [Instrument::Tape, Instrument::Caliper, Instrument::Gauge];
    let instrument = match word.as_str() {
        "" if kind == CheckKind::Gap || kind == CheckKind::Fitted => Instrument::Gauge,
        "" => Instrument::Tape,
        word => instruments
            .into_iter()
            .find(|i| instrument_word(*i) == word)
            .ok_or_else(|| {
                Problem::new(
                    format!("{name}: there is no instrument \"{word}\""),
                    "write tape, caliper or gauge",
                )
            })?,
    };
    let at = number(cell(at), name, "at_mm")?;
    let to = match cell(to) {
        "" => None,
        text => Some(number(text, name, "to_mm")?),
    };
    let predicted = match cell(predicted) {
        "" => None,
        text => Some(number(text, name, "predicted_mm")?),
    };
    Ok(Row {
        survey: row_survey,
        reading: Some(Reading {
            name: name.to_owned(),
            kind,
            instrument,
            at,
            to,
            predicted,
            value,
        }),
    })
}

/// A row with one cell too many, where the reading's column and the next hold digits alone, was meant
/// with a decimal comma.
fn join_decimal_comma(
    cells: &mut Vec<String>,
    reading: Option<usize>,
    count: usize,
) -> Result<(), Problem> {
    let digits = |text: &str| {
        let text = text.trim();
        !text.is_empty() && text.chars().all(|c| c.is_ascii_digit())
    };
    if let Some(i) = reading
        && cells.len() == count + 1
        && let (Some(whole), Some(part)) = (cells.get(i), cells.get(i + 1))
        && digits(whole)
        && digits(part)
    {
        let joined = format!("{}.{}", whole.trim(), part.trim());
        cells[i] = joined;
        cells.remove(i + 1);
        return Ok(());
    }
    Err(Problem::new(
        format!("the row has {} cells under {count} columns", cells.len()),
        "write a decimal point, such as 31.5, or put text that holds commas in \"quotes\"",
    ))
}

/// A number with a decimal point or one decimal comma.
fn number(text: &str, name: &str, column: &str) -> Result<f64, Problem> {
    let plain = text.replace(',', ".");
    let plain = plain.trim_end_matches("mm").trim_end();
    match plain.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => Err(Problem::new(
            format!("{name}: \"{text}\" in {column} is not a number"),
            "write millimetres, such as 31.5, or leave the reading blank",
        )),
    }
}

/// Cells of a line. Quotes hold separators and double themselves.
fn fields(line: &str, separator: char) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    let mut chars = line.trim_end_matches('\r').chars().peekable();
    while let Some(c) = chars.next() {
        let cell = cells.len() - 1;
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                cells[cell].push('"');
            }
            '"' => quoted = !quoted,
            c if c == separator && !quoted => cells.push(String::new()),
            c => cells[cell].push(c),
        }
    }
    for cell in &mut cells {
        *cell = cell.trim().to_owned();
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str =
        "survey,check,kind,instrument,at_mm,to_mm,predicted_mm,tolerance_mm,reading_mm,how\n";

    fn taken(text: &str) -> Vec<Reading> {
        parse(text, "r.csv").unwrap().taken
    }

    fn faults(text: &str) -> String {
        let faults = parse(text, "r.csv").unwrap_err();
        let all: Vec<String> = faults.iter().map(ToString::to_string).collect();
        all.join("\n")
    }

    #[test]
    fn what_is_written_comes_back_blank_and_filled() {
        let checks = [
            Check {
                name: "L1".into(),
                kind: CheckKind::Straight,
                instrument: Instrument::Tape,
                at: 0.0,
                to: Some(731.0),
                s: 0.0,
                predicted: 700.04,
                tolerance: 1.9,
            },
            Check {
                name: "G1".into(),
                kind: CheckKind::Gap,
                instrument: Instrument::Caliper,
                at: 15.0,
                to: None,
                s: 15.0,
                predicted: 31.25,
                tolerance: 1.3,
            },
        ];
        let blank = readings_csv("abc", &checks);
        assert!(faults(&blank).contains("all 2 readings are blank"));
        let filled = blank.replace(",1.9,,", ",1.9,702.5,");
        let read = parse(&filled, "r.csv").unwrap();
        assert_eq!((read.survey.as_str(), read.blank), ("abc", 1));
        assert_eq!(read.taken[0].value, 702.5);
        assert_eq!(read.taken[0].to, Some(731.0));
        assert_eq!(read.taken[0].kind, CheckKind::Straight);
    }

    #[test]
    fn a_decimal_comma_is_taken_where_it_is_no_separator() {
        for row in [
            "abc,G1,gap,caliper,15,,31.2,1.3,\"31,5\",how",
            "abc,G1,gap,caliper,15,,31.2,1.3,31,5,how",
            "abc,G1,gap,caliper,15,,31.2,1.3,31.5,how",
        ] {
            let read = taken(&format!("{HEAD}\n,,,,\n{row}\n\n"));
            assert_eq!(read.len(), 1, "{row}");
            assert_eq!(read[0].value, 31.5);
        }
        let semicolons = format!("{HEAD}abc,G1,gap,,15,,31.2,1.3,R,how").replace(',', ";");
        assert_eq!(taken(&semicolons.replace('R', "31,5"))[0].value, 31.5);
        let unclear = faults(&format!(
            "{HEAD}abc,G1,gap,caliper,15,5,,31,2,1,3,31,5,how\n"
        ));
        assert!(
            unclear.contains("line 2") && unclear.contains("decimal point"),
            "{unclear}"
        );
    }

    #[test]
    fn a_filled_table_is_kept_and_gets_what_it_lacks() {
        let blank = format!("{HEAD}abc,G1,gap,caliper,15,,31.2,1.3,,\"a, b\"\n");
        let filled = blank.replace("1.3,,", "1.3,31.5,");
        let more = format!("{blank}abc,F1,fitted,gauge,15,,2.0,0.5,,\"x\"\n");
        assert_eq!(keep_filled(&blank, more.as_bytes()), Kept::Blank);
        assert_eq!(keep_filled("", more.as_bytes()), Kept::Blank);
        let Kept::Same(text) = keep_filled(&filled, more.as_bytes()) else {
            panic!("the same survey");
        };
        assert!(
            text.starts_with(&filled) && text.ends_with("abc,F1,fitted,gauge,15,,2.0,0.5,,\"x\"\n")
        );
        let other = more.replace("abc", "abd");
        assert_eq!(
            keep_filled(&filled, other.as_bytes()),
            Kept::Other("abc".into())
        );
    }

    #[test]
    fn every_fault_is_told_with_its_line() {
        assert!(faults("").contains("empty"));
        assert!(faults(" \n,,;\n").contains("empty"));
        assert!(faults(HEAD).contains("no readings"));
        assert!(faults("a,b\n1,2\n").contains("reading_mm"));
        let text = format!(
            "{HEAD}abc,G1,gap,,15,,,,about 30,\nabc,G2,gape,,15,,,,30,\nabc,G3,gap,laser,15,,,,30,\nabc,G4,gap,,x,,,,30,\nabc,G5,gap,,1,,,,NaN,\n"
        );
        let told = faults(&text);
        for words in [
            "line 2",
            "\"about 30\"",
            "line 3",
            "\"gape\"",
            "\"laser\"",
            "line 5",
            "at_mm",
            "line 6",
        ] {
            assert!(told.contains(words), "{words}\n{told}");
        }
        let two = format!("{HEAD}abc,G1,gap,,15,,,,30,\nabd,G2,gap,,15,,,,30,\n");
        assert!(faults(&two).contains("different surveys"));
    }
}
