//! `[points.body]`, `[points.tray]` and `[[distance]]`: tables whose keys the maker makes up.

use super::near::nearest;
use super::raw::{Place, place_of};
use crate::math::Point3;
use crate::scan::control::{Control, KnownDistance, NamedPoint, Part};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Top-level names this file reads.
pub(super) const NAMES: [&str; 2] = ["points", "distance"];

/// What stands in the list of options for them: table, option, allowed, default, what it is.
pub(super) const ROWS: &[[&str; 5]] = &[
    [
        "[points.body]",
        "a name of yours",
        "`[x, y, z]`",
        "left out",
        "A point picked in the body's scan, in the file's units and axes. A name that stands in both tables is one point of the vehicle: three or more of those align two scans taken in two poses.",
    ],
    [
        "[points.tray]",
        "a name of yours",
        "`[x, y, z]`",
        "left out",
        "A point picked in the tray's scan.",
    ],
    [
        "[[distance]]",
        "`scan`",
        "\"body\" or \"tray\"",
        "required",
        "The scan a measured distance belongs to.",
    ],
    [
        "[[distance]]",
        "`from`",
        "a name",
        "required",
        "The named point it starts at.",
    ],
    [
        "[[distance]]",
        "`to`",
        "a name",
        "required",
        "The named point it ends at.",
    ],
    [
        "[[distance]]",
        "`mm`",
        "10 to 20000 mm",
        "required",
        "Its length on the vehicle; two or more set the scale, three or more show a slip.",
    ],
];

/// An example for the starter, each line behind a number sign.
pub(super) const EXAMPLE: &str = "
# Points you picked, and distances between them measured on the vehicle. Three distances or more set and
# prove the scale; three or more points named alike in both scans align two scans taken in two poses.
# Points are in the file's own units. Take the number signs away to use them.
#   [points.body]
#   left = [0.412, 0.031, 1.204]
#   right = [0.398, 0.029, -0.377]
#   front = [1.105, 0.064, 0.402]
#   [points.tray]
#   left = [0.412, 0.031, 1.204]
#   [[distance]]
#   scan = \"body\"
#   from = \"left\"
#   to = \"right\"
#   mm = 1581.0
";

/// A fault with its place.
pub(super) struct Fault {
    pub place: Place,
    pub what: String,
    pub hint: String,
}

/// Shortest and longest distance that can be measured on a vehicle for a scale (mm).
const LENGTHS: [f64; 2] = [10.0, 20_000.0];

/// Reads the tables; `files` says whether body and tray are one file.
pub(super) fn read(
    text: &str,
    root: &DeTable<'_>,
    files: Files,
    control: &mut Control,
) -> Vec<Fault> {
    let mut reader = Reader {
        text,
        faults: Vec::new(),
        places: Vec::new(),
    };
    reader.points(root, control);
    reader.distances(root, control);
    if reader.faults.is_empty() {
        reader.enough(control, files);
    }
    reader.faults
}

/// Whether body and tray are one file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Files {
    One,
    Two,
}

struct Reader<'a> {
    text: &'a str,
    faults: Vec<Fault>,
    /// Where each point's name and each distance stand: a part and a name, or the distance's number.
    places: Vec<(Kind, String, Place)>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Point(Part),
    Distance(Part),
}

fn word(part: Part) -> &'static str {
    match part {
        Part::Body => "body",
        Part::Tray => "tray",
    }
}

fn part_of(word: &str) -> Option<Part> {
    [Part::Body, Part::Tray]
        .into_iter()
        .find(|p| self::word(*p) == word)
}

impl Reader<'_> {
    fn tell<T>(&mut self, at: &Spanned<T>, what: impl Into<String>, hint: impl Into<String>) {
        let place = place_of(self.text, at.span().start);
        self.tell_at(place, what, hint);
    }

    fn tell_at(&mut self, place: Place, what: impl Into<String>, hint: impl Into<String>) {
        self.faults.push(Fault {
            place,
            what: what.into(),
            hint: hint.into(),
        });
    }

    fn points(&mut self, root: &DeTable<'_>, control: &mut Control) {
        let Some((key, value)) = root.iter().find(|(k, _)| k.get_ref() == "points") else {
            return;
        };
        let wanted = "write the points under [points.body] and [points.tray]";
        let Some(tables) = value.get_ref().as_table() else {
            self.tell(key, "points is a table, not a value", wanted);
            return;
        };
        for (name, inside) in tables {
            match (part_of(name.get_ref()), inside.get_ref().as_table()) {
                (Some(part), Some(table)) => {
                    for (name, value) in table {
                        if let Some(at) = self.point(name, value) {
                            let point = NamedPoint {
                                name: name.get_ref().to_string(),
                                at,
                            };
                            let place = place_of(self.text, name.span().start);
                            let kind = Kind::Point(part);
                            self.places.push((kind, point.name.clone(), place));
                            match part {
                                Part::Body => control.body_points.push(point),
                                Part::Tray => control.tray_points.push(point),
                            }
                        }
                    }
                }
                _ => self.tell(
                    name,
                    format!("points.{} does not say which scan it is of", name.get_ref()),
                    wanted,
                ),
            }
        }
    }

    fn point(
        &mut self,
        name: &Spanned<impl AsRef<str>>,
        value: &Spanned<DeValue<'_>>,
    ) -> Option<Point3> {
        let read = value.get_ref().as_array().and_then(|items| {
            let numbers: Option<Vec<f64>> = items.iter().map(|i| number(i.get_ref())).collect();
            <[f64; 3]>::try_from(numbers?).ok()
        });
        if read.is_none() {
            self.tell(
                value,
                format!("the point {} is not three numbers", name.get_ref().as_ref()),
                "write it as [x, y, z] in the file's units, with decimal points",
            );
        }
        read.map(Point3::from)
    }

    fn distances(&mut self, root: &DeTable<'_>, control: &mut Control) {
        let Some((key, value)) = root.iter().find(|(k, _)| k.get_ref() == "distance") else {
            return;
        };
        let Some(list) = value.get_ref().as_array() else {
            self.tell(
                key,
                "distance is a list of tables",
                "write [[distance]], with two brackets, before each distance",
            );
            return;
        };
        for item in list.iter() {
            match item.get_ref().as_table() {
                Some(table) => {
                    if let Some(distance) = self.distance(item, table, control) {
                        let place = place_of(self.text, item.span().start);
                        self.places
                            .push((Kind::Distance(distance.scan), String::new(), place));
                        control.distances.push(distance);
                    }
                }
                None => self.tell(
                    item,
                    "a distance is a table",
                    "write [[distance]], then scan, from, to and mm on lines of their own",
                ),
            }
        }
    }

    fn distance(
        &mut self,
        at: &Spanned<DeValue<'_>>,
        table: &DeTable<'_>,
        control: &Control,
    ) -> Option<KnownDistance> {
        const KEYS: [&str; 4] = ["scan", "from", "to", "mm"];
        let before = self.faults.len();
        for key in table
            .keys()
            .filter(|k| !KEYS.contains(&k.get_ref().as_ref()))
        {
            let near = nearest(key.get_ref(), &KEYS);
            self.tell(
                key,
                format!("there is no option distance.{}", key.get_ref()),
                near.map_or("the options here are scan, from, to, mm".to_owned(), |n| {
                    format!("did you mean {n}?")
                }),
            );
        }
        let mut found = [None; 4];
        for (slot, key) in found.iter_mut().zip(KEYS) {
            *slot = table
                .iter()
                .find(|(k, _)| k.get_ref() == key)
                .map(|(_, v)| v);
            if slot.is_none() {
                self.tell(
                    at,
                    format!("distance.{key} is missing"),
                    "a distance has scan, from, to and mm",
                );
            }
        }
        let [Some(scan), Some(from), Some(to), Some(mm)] = found else {
            return None;
        };
        let part = scan.get_ref().as_str().and_then(part_of);
        if part.is_none() {
            self.tell(
                scan,
                "distance.scan names no scan",
                "write \"body\" or \"tray\"",
            );
        }
        let names = [from, to].map(|end| {
            let name = end.get_ref().as_str().unwrap_or("");
            let known: Vec<&str> = part.map_or_else(Vec::new, |p| {
                control.points(p).iter().map(|p| p.name.as_str()).collect()
            });
            if let Some(p) = part
                && !known.contains(&name)
            {
                let hint = match nearest(name, &known) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => format!("name it under [points.{}], or use one of those", word(p)),
                };
                self.tell(
                    end,
                    format!("there is no point \"{name}\" under [points.{}]", word(p)),
                    hint,
                );
            }
            name.to_owned()
        });
        if names[0] == names[1] {
            self.tell(
                to,
                format!("a distance from \"{}\" to itself", names[0]),
                "name two different points",
            );
        }
        let length = number(mm.get_ref()).filter(|v| *v >= LENGTHS[0] && *v <= LENGTHS[1]);
        if length.is_none() {
            self.tell(
                mm,
                "distance.mm is not a length that can be measured on a vehicle",
                format!("write a number of mm, {} to {}", LENGTHS[0], LENGTHS[1]),
            );
        }
        let [from, to] = names;
        (self.faults.len() == before).then_some(KnownDistance {
            scan: part?,
            from,
            to,
            mm: length?,
        })
    }

    /// Enough distances for a scale, enough shared points for a pose, and none without a use.
    fn enough(&mut self, control: &Control, files: Files) {
        let named = |part: Part, name: &str| control.points(part).iter().any(|p| p.name == name);
        let shared = control
            .body_points
            .iter()
            .filter(|p| named(Part::Tray, &p.name))
            .count();
        let two_poses = files == Files::Two && shared > 0;
        let count = |part: Part| control.distances.iter().filter(|d| d.scan == part).count();
        let both = control.distances.len();
        let places = std::mem::take(&mut self.places);
        for (kind, _, place) in &places {
            if let Kind::Distance(part) = kind
                && (if two_poses { count(*part) } else { both }) == 1
            {
                self.tell_at(
                    *place,
                    "one distance alone cannot be trusted with the scale",
                    "measure a second and a third, as long as you can and in other directions",
                );
            }
        }
        let has_both = !control.body_points.is_empty() && !control.tray_points.is_empty();
        if files == Files::One || !has_both {
            return;
        }
        for (kind, name, place) in &places {
            let Kind::Point(part) = kind else { continue };
            let other = match part {
                Part::Body => Part::Tray,
                Part::Tray => Part::Body,
            };
            let mut used = control.distances.iter().filter(|d| d.scan == *part);
            if !named(other, name) && !used.any(|d| d.from == *name || d.to == *name) {
                self.tell_at(
                    *place,
                    format!(
                        "the point {name} is named in the {}'s scan only, and no distance uses it",
                        word(*part)
                    ),
                    format!(
                        "name it under [points.{}] as well, or take it out",
                        word(other)
                    ),
                );
            }
        }
        let first_of_tray = places.iter().find(|(k, ..)| *k == Kind::Point(Part::Tray));
        if (1..3).contains(&shared)
            && let Some((_, _, place)) = first_of_tray
        {
            let is_one = if shared == 1 {
                "point is"
            } else {
                "points are"
            };
            self.tell_at(
                *place,
                format!("{shared} {is_one} named in both scans, and aligning them takes three"),
                "name three or more points that both scans show, four to find a bad one; scans in one pose need none",
            );
        }
    }
}

/// A finite number, whole or not.
pub(super) fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(digits) => i64::from_str_radix(digits.as_str(), digits.radix())
            .ok()
            .map(|n| n as f64),
        DeValue::Float(digits) => digits.as_str().parse::<f64>().ok(),
        _ => None,
    }
    .filter(|v| v.is_finite())
}
