//! PLY, text and both binary byte orders, by `ply-rs` behind a header checked first.

use super::{Raw, ReadFault, ply_header, text};
use crate::math::Point3;
use ply_rs::parser::Parser;
use ply_rs::ply::{ElementDef, Encoding, Property, PropertyAccess, PropertyType};

/// Reads the points and faces of a PLY file; every other element and property is passed over.
pub(super) fn read(bytes: &[u8]) -> Result<Raw, ReadFault> {
    let header = ply_header::read(bytes)?;
    let mut data = Data {
        rest: &bytes[header.data_at..],
        encoding: header.encoding,
        line: header.data_line,
    };
    let mut raw = Raw::default();
    for element in &header.elements {
        match element.name.as_str() {
            "vertex" => {
                require_coordinates(element)?;
                raw.points.reserve_exact(element.count);
                data.each(element, |v: Vertex| raw.points.push(Point3::from(v.0)))?;
            }
            "face" => {
                require_corners(element)?;
                raw.triangles.reserve_exact(element.count);
                data.each(element, |f: Face| push_face(&mut raw, &f))?;
            }
            _ => data.each(element, |_: Passed| {})?,
        }
    }
    if u32::try_from(raw.points.len()).is_err() {
        return Err(ReadFault::TooLarge);
    }
    Ok(raw)
}

fn require_coordinates(element: &ElementDef) -> Result<(), ReadFault> {
    let is_number = |name: &str| {
        let property = element.properties.get(name);
        property.is_some_and(|p| matches!(p.data_type, PropertyType::Scalar(_)))
    };
    if ["x", "y", "z"].into_iter().all(is_number) {
        Ok(())
    } else {
        Err(ReadFault::HeaderLies(
            "its points have no x, y and z".into(),
        ))
    }
}

fn require_corners(element: &ElementDef) -> Result<(), ReadFault> {
    let mut properties = element.properties.iter();
    if properties
        .any(|(name, p)| is_corner_list(name) && matches!(p.data_type, PropertyType::List(..)))
    {
        Ok(())
    } else {
        Err(ReadFault::HeaderLies(
            "its faces have no list vertex_indices".into(),
        ))
    }
}

fn is_corner_list(name: &str) -> bool {
    name == "vertex_indices" || name == "vertex_index"
}

/// What is left of the data.
struct Data<'a> {
    rest: &'a [u8],
    encoding: Encoding,
    line: usize,
}

impl Data<'_> {
    /// Reads all of one element, handing each on as it comes, so that nothing is held twice.
    fn each<E: PropertyAccess>(
        &mut self,
        element: &ElementDef,
        mut take: impl FnMut(E),
    ) -> Result<(), ReadFault> {
        let parser = Parser::<E>::new();
        for k in 0..element.count {
            let ended = || {
                let (count, name) = (element.count, &element.name);
                ReadFault::truncated(
                    format!("{count} of \"{name}\""),
                    format!("{k} that are whole"),
                )
            };
            take(match self.encoding {
                Encoding::BinaryLittleEndian => parser
                    .read_little_endian_element(&mut self.rest, element)
                    .map_err(|_| ended())?,
                Encoding::BinaryBigEndian => parser
                    .read_big_endian_element(&mut self.rest, element)
                    .map_err(|_| ended())?,
                Encoding::Ascii => {
                    let line = self.next_line().ok_or_else(ended)?;
                    let words = std::str::from_utf8(line).unwrap_or_default();
                    parser.read_ascii_element(words, element).map_err(|_| {
                        ReadFault::line(
                            self.line - 1,
                            format!(
                                "this does not fit what the header says of \"{}\"",
                                element.name
                            ),
                        )
                    })?
                }
            });
        }
        Ok(())
    }

    /// The next line that is not blank.
    fn next_line(&mut self) -> Option<&[u8]> {
        while !self.rest.is_empty() {
            let is_end = |&b: &u8| b == b'\n' || b == b'\r';
            let end = self.rest.iter().position(is_end).unwrap_or(self.rest.len());
            let (line, rest) = self.rest.split_at(end);
            // Carriage return and line feed are one line end.
            let skip = if rest.starts_with(b"\r\n") {
                2
            } else {
                rest.len().min(1)
            };
            self.rest = &rest[skip..];
            self.line += 1;
            if text::words(line).next().is_some() {
                return Some(line.trim_ascii());
            }
        }
        None
    }
}

/// A point's coordinates.
struct Vertex([f64; 3]);

impl PropertyAccess for Vertex {
    fn new() -> Self {
        Self([f64::NAN; 3])
    }

    fn set_property(&mut self, name: String, value: Property) {
        let axis = match name.as_str() {
            "x" => 0,
            "y" => 1,
            "z" => 2,
            _ => return,
        };
        self.0[axis] = match value {
            Property::Char(v) => v.into(),
            Property::UChar(v) => v.into(),
            Property::Short(v) => v.into(),
            Property::UShort(v) => v.into(),
            Property::Int(v) => v.into(),
            Property::UInt(v) => v.into(),
            Property::Float(v) => v.into(),
            Property::Double(v) => v,
            _ => f64::NAN,
        };
    }
}

/// A face's list of corners, as `ply-rs` read it.
struct Face(Option<Property>);

impl PropertyAccess for Face {
    fn new() -> Self {
        Self(None)
    }

    fn set_property(&mut self, name: String, value: Property) {
        if is_corner_list(&name) {
            self.0 = Some(value);
        }
    }
}

/// An element nobody asks for.
struct Passed;

impl PropertyAccess for Passed {
    fn new() -> Self {
        Self
    }
}

fn push_face(raw: &mut Raw, face: &Face) {
    fn fan<T: Copy + TryInto<u32>>(raw: &mut Raw, corners: &[T]) {
        raw.push_fan(corners.iter().map(|&c| c.try_into().unwrap_or(u32::MAX)));
    }
    match &face.0 {
        Some(Property::ListChar(v)) => fan(raw, v),
        Some(Property::ListUChar(v)) => fan(raw, v),
        Some(Property::ListShort(v)) => fan(raw, v),
        Some(Property::ListUShort(v)) => fan(raw, v),
        Some(Property::ListInt(v)) => fan(raw, v),
        Some(Property::ListUInt(v)) => fan(raw, v),
        // Corners counted in fractions name nothing.
        _ => raw.triangles.push([u32::MAX; 3]),
    }
}
