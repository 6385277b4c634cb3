//! One option of the job: its key, what it says, its bounds, and the value it fills.

use std::path::PathBuf;

/// Whether a job must name the option.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Need {
    Required,
    Optional,
}

/// Stands for no file where one may be left out.
pub(super) const NO_FILE: &str = "none";

/// One option.
pub(super) struct Entry<'a> {
    pub key: &'static str,
    /// One plain sentence for the starter and the list of options.
    pub says: &'static str,
    pub need: Need,
    pub slot: Slot<'a>,
}

/// What kind of value an option takes, and where it goes.
pub(super) enum Slot<'a> {
    /// A length in mm, between the two bounds.
    Length(&'a mut f64, [f64; 2]),
    /// A length in mm, between the two bounds, that may be left out.
    MaybeLength(&'a mut Option<f64>, [f64; 2]),
    /// A number in a unit, between the two bounds, that may be left out.
    MaybeNumber(&'a mut Option<f64>, [f64; 2], &'static str),
    /// A number in a unit, between the two bounds.
    Number(&'a mut f64, [f64; 2], &'static str),
    /// Width, depth and height in mm, each between the two bounds.
    Box(&'a mut [f64; 3], [f64; 2]),
    /// A point in a scan file's own units and axes.
    Point(&'a mut Option<[f64; 3]>),
    /// One of a few words.
    Choice(Choice<'a>),
    /// Free text, not empty.
    Text(&'a mut String),
    /// A file that must exist.
    File(&'a mut PathBuf),
    /// A file that must exist, or the word none.
    MaybeFile(&'a mut Option<PathBuf>),
    /// A folder that need not exist.
    Folder(&'a mut PathBuf),
}

/// One of a few words.
pub(super) struct Choice<'a> {
    pub words: Vec<&'static str>,
    /// Index of the word that holds where the job says nothing, if one does.
    pub default: Option<usize>,
    pub choose: Box<dyn FnMut(usize) + 'a>,
}

impl<'a> Entry<'a> {
    fn new(key: &'static str, says: &'static str, slot: Slot<'a>) -> Self {
        Self {
            key,
            says,
            need: Need::Optional,
            slot,
        }
    }

    pub fn length(
        key: &'static str,
        value: &'a mut f64,
        bounds: [f64; 2],
        says: &'static str,
    ) -> Self {
        Self::new(key, says, Slot::Length(value, bounds))
    }

    pub fn maybe_length(
        key: &'static str,
        value: &'a mut Option<f64>,
        bounds: [f64; 2],
        says: &'static str,
    ) -> Self {
        Self::new(key, says, Slot::MaybeLength(value, bounds))
    }

    /// The same option, which a table must name.
    pub fn required(mut self) -> Self {
        self.need = Need::Required;
        self
    }

    pub fn number(
        key: &'static str,
        value: &'a mut f64,
        (bounds, unit): ([f64; 2], &'static str),
        says: &'static str,
    ) -> Self {
        Self::new(key, says, Slot::Number(value, bounds, unit))
    }

    pub fn maybe_number(
        key: &'static str,
        value: &'a mut Option<f64>,
        (bounds, unit): ([f64; 2], &'static str),
        says: &'static str,
    ) -> Self {
        Self::new(key, says, Slot::MaybeNumber(value, bounds, unit))
    }

    pub fn size(
        key: &'static str,
        value: &'a mut [f64; 3],
        bounds: [f64; 2],
        says: &'static str,
    ) -> Self {
        Self::new(key, says, Slot::Box(value, bounds))
    }

    pub fn point(key: &'static str, value: &'a mut Option<[f64; 3]>, says: &'static str) -> Self {
        Self::new(key, says, Slot::Point(value))
    }

    /// `meanings` pairs each word with the value it stands for.
    pub fn choice<T: Copy + PartialEq>(
        key: &'static str,
        value: &'a mut T,
        meanings: &'static [(&'static str, T)],
        says: &'static str,
    ) -> Self {
        let choice = Choice {
            words: meanings.iter().map(|(word, _)| *word).collect(),
            default: meanings.iter().position(|(_, meaning)| meaning == value),
            choose: Box::new(|i| {
                if let Some((_, meaning)) = meanings.get(i) {
                    *value = *meaning;
                }
            }),
        };
        Self::new(key, says, Slot::Choice(choice))
    }

    pub fn text(key: &'static str, value: &'a mut String, says: &'static str) -> Self {
        Self::new(key, says, Slot::Text(value))
    }

    pub fn file(key: &'static str, value: &'a mut PathBuf, says: &'static str) -> Self {
        Self {
            need: Need::Required,
            ..Self::new(key, says, Slot::File(value))
        }
    }

    pub fn maybe_file(
        key: &'static str,
        value: &'a mut Option<PathBuf>,
        says: &'static str,
    ) -> Self {
        Self::new(key, says, Slot::MaybeFile(value))
    }

    pub fn folder(key: &'static str, value: &'a mut PathBuf, says: &'static str) -> Self {
        Self::new(key, says, Slot::Folder(value))
    }

    /// The value that holds where the job says nothing, as the job would write it.
    pub fn default_text(&self) -> Option<String> {
        let quoted = |text: &str| toml::Value::from(text).to_string();
        match &self.slot {
            Slot::Length(value, _) | Slot::Number(value, ..) => Some(format!("{value:?}")),
            Slot::MaybeLength(value, _) | Slot::MaybeNumber(value, ..) => {
                value.map(|v| format!("{v:?}"))
            }
            Slot::Box(value, _) => Some(format!("{:?}", value.as_slice())),
            Slot::Choice(choice) => choice
                .default
                .and_then(|i| choice.words.get(i))
                .map(|word| quoted(word)),
            Slot::Text(value) => Some(quoted(value)),
            Slot::Point(value) => value.map(|p| format!("{p:?}")),
            Slot::File(_) => None,
            Slot::MaybeFile(value) => Some(match value {
                Some(path) => quoted(&path.to_string_lossy()),
                None => quoted(NO_FILE),
            }),
            Slot::Folder(value) => Some(quoted(&value.to_string_lossy())),
        }
    }

    /// How a value of it is written, for an option that has none: a usual one, where it has bounds.
    pub fn sketch(&self) -> String {
        let form = match &self.slot {
            Slot::Length(_, [least, most])
            | Slot::MaybeLength(_, [least, most])
            | Slot::MaybeNumber(_, [least, most], _)
            | Slot::Number(_, [least, most], _) => return format!("{:?}", usual(*least, *most)),
            Slot::Box(..) | Slot::Point(_) => "[0.0, 0.0, 0.0]",
            Slot::Choice(choice) => choice.words.first().copied().unwrap_or("..."),
            Slot::Text(_) | Slot::File(_) | Slot::MaybeFile(_) | Slot::Folder(_) => "\"...\"",
        };
        form.to_owned()
    }

    /// What values are allowed, in words.
    pub fn allowed(&self) -> String {
        match &self.slot {
            Slot::Length(_, [least, most]) | Slot::MaybeLength(_, [least, most]) => {
                format!("{least} to {most} mm")
            }
            Slot::Number(_, [least, most], unit) | Slot::MaybeNumber(_, [least, most], unit) => {
                format!("{least} to {most} {unit}")
            }
            Slot::Box(_, [least, most]) => {
                format!("three lengths, width, depth and height, each {least} to {most} mm")
            }
            Slot::Point(_) => "three coordinates".to_owned(),
            Slot::Choice(choice) => one_of(&choice.words),
            Slot::Text(_) => "text".to_owned(),
            Slot::File(_) => "a file".to_owned(),
            Slot::MaybeFile(_) => format!("a file, or \"{NO_FILE}\""),
            Slot::Folder(_) => "a folder".to_owned(),
        }
    }
}

/// A number somewhere between bounds, as an example: bounds themselves are extremes, and who uncomments one
/// gets a wall like foil.
fn usual(least: f64, most: f64) -> f64 {
    if least > 0.0 {
        (least * most).sqrt().round().max(least)
    } else if most > 0.0 && least < 0.0 {
        0.0
    } else {
        (0.1 * most).round()
    }
}

/// `"a", "b" or "c"`.
pub(super) fn one_of(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => quoted.concat(),
    }
}
