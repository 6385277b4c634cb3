//! The header of a PLY file, read and checked before anything trusts its counts.
//!
//! `ply-rs` panics on a count past 64 bits, aborts on a huge count of an element without properties and
//! refuses comments that are not UTF-8. So the header is read here, and `ply-rs` gets element
//! definitions whose counts the file is long enough to hold.

use super::{ReadFault, text};
use ply_rs::ply::{Addable, ElementDef, Encoding, PropertyDef, PropertyType, ScalarType};

/// A header longer than this is no header.
const LONGEST: usize = 1 << 16;

/// A checked header.
#[derive(Debug)]
pub(super) struct Header {
    pub encoding: Encoding,
    pub elements: Vec<ElementDef>,
    /// Where the data begins.
    pub data_at: usize,
    /// Number of the first line of the data.
    pub data_line: usize,
}

/// Reads the header.
pub(super) fn read(bytes: &[u8]) -> Result<Header, ReadFault> {
    let head = &bytes[..bytes.len().min(LONGEST)];
    // Old files end their lines with a lone carriage return.
    let line_end = if head.starts_with(b"ply\r") && !head.starts_with(b"ply\r\n") {
        b'\r'
    } else {
        b'\n'
    };
    let mut encoding = None;
    let mut elements: Vec<ElementDef> = Vec::new();
    let mut at = 0;
    for (line, number) in head.split_inclusive(|&b| b == line_end).zip(1..) {
        at += line.len();
        let mut words = text::words(line);
        match words.next() {
            Some(b"format") => encoding = Some(read_encoding(words.next(), number)?),
            Some(b"element") => elements.push(read_element(words, number)?),
            Some(b"property") => {
                let element = elements
                    .last_mut()
                    .ok_or_else(|| ReadFault::line(number, "a property before any element"))?;
                let property = read_property(words, number)?;
                if element.properties.contains_key(&property.name) {
                    return Err(ReadFault::line(number, "a property that is there twice"));
                }
                element.properties.add(property);
            }
            Some(b"end_header") if line.last() == Some(&line_end) => {
                let encoding =
                    encoding.ok_or_else(|| ReadFault::HeaderLies("it names no format".into()))?;
                let header = Header {
                    encoding,
                    elements,
                    data_at: at,
                    data_line: number + 1,
                };
                check_counts(&header, bytes.len() - at)?;
                return Ok(header);
            }
            Some(b"ply" | b"comment" | b"obj_info" | b"end_header") | None => {}
            Some(_) => return Err(ReadFault::line(number, "this is no line of a PLY header")),
        }
    }
    Err(if bytes.len() > LONGEST {
        ReadFault::HeaderLies("it has no end".into())
    } else {
        ReadFault::truncated("a header with its end", "a part of it")
    })
}

fn read_encoding(word: Option<&[u8]>, number: usize) -> Result<Encoding, ReadFault> {
    match word {
        Some(b"ascii") => Ok(Encoding::Ascii),
        Some(b"binary_little_endian") => Ok(Encoding::BinaryLittleEndian),
        Some(b"binary_big_endian") => Ok(Encoding::BinaryBigEndian),
        _ => Err(ReadFault::line(
            number,
            "the format is neither ascii nor binary",
        )),
    }
}

fn read_element<'a>(
    mut words: impl Iterator<Item = &'a [u8]>,
    number: usize,
) -> Result<ElementDef, ReadFault> {
    let (Some(name), Some(count)) = (words.next(), words.next()) else {
        return Err(ReadFault::line(
            number,
            "an element needs a name and a count",
        ));
    };
    let count = String::from_utf8_lossy(count);
    let mut element = ElementDef::new(String::from_utf8_lossy(name).into_owned());
    element.count = count.parse().map_err(|_| {
        ReadFault::HeaderLies(format!("\"{count}\" in line {number} is no possible count"))
    })?;
    Ok(element)
}

fn read_property<'a>(
    mut words: impl Iterator<Item = &'a [u8]>,
    number: usize,
) -> Result<PropertyDef, ReadFault> {
    let mut scalar = || words.next().and_then(read_scalar);
    let unknown = || ReadFault::line(number, "a property of unknown type");
    let kind = match scalar() {
        Some(Word::Scalar(kind)) => PropertyType::Scalar(kind),
        Some(Word::List) => match (scalar(), scalar()) {
            (Some(Word::Scalar(ScalarType::Float | ScalarType::Double)), _) => {
                return Err(unknown());
            }
            (Some(Word::Scalar(count)), Some(Word::Scalar(item))) => {
                PropertyType::List(count, item)
            }
            _ => return Err(unknown()),
        },
        None => return Err(unknown()),
    };
    let name = words
        .next()
        .ok_or_else(|| ReadFault::line(number, "a property without a name"))?;
    Ok(PropertyDef::new(
        String::from_utf8_lossy(name).into_owned(),
        kind,
    ))
}

enum Word {
    List,
    Scalar(ScalarType),
}

fn read_scalar(word: &[u8]) -> Option<Word> {
    Some(Word::Scalar(match word {
        b"list" => return Some(Word::List),
        b"char" | b"int8" => ScalarType::Char,
        b"uchar" | b"uint8" => ScalarType::UChar,
        b"short" | b"int16" => ScalarType::Short,
        b"ushort" | b"uint16" => ScalarType::UShort,
        b"int" | b"int32" => ScalarType::Int,
        b"uint" | b"uint32" => ScalarType::UInt,
        b"float" | b"float32" => ScalarType::Float,
        b"double" | b"float64" => ScalarType::Double,
        _ => return None,
    }))
}

fn size_of(kind: &ScalarType) -> u128 {
    match kind {
        ScalarType::Char | ScalarType::UChar => 1,
        ScalarType::Short | ScalarType::UShort => 2,
        ScalarType::Int | ScalarType::UInt | ScalarType::Float => 4,
        ScalarType::Double => 8,
    }
}

/// The fewest bytes one element can take: its scalars and empty lists.
fn least_size(element: &ElementDef, encoding: Encoding) -> u128 {
    let properties = element.properties.iter();
    match encoding {
        // A digit and what parts it from the next.
        Encoding::Ascii => 2 * properties.count() as u128,
        _ => properties
            .map(|(_, p)| match &p.data_type {
                PropertyType::Scalar(kind) | PropertyType::List(kind, _) => size_of(kind),
            })
            .sum(),
    }
}

/// Refuses counts the rest of the file cannot hold.
fn check_counts(header: &Header, room: usize) -> Result<(), ReadFault> {
    let mut needed = 0u128;
    for element in &header.elements {
        let least = least_size(element, header.encoding);
        if least == 0 && element.count > 0 {
            let (count, name) = (element.count, &element.name);
            return Err(ReadFault::HeaderLies(format!(
                "it states {count} of \"{name}\" without any property"
            )));
        }
        needed += least * element.count as u128;
        // The last line of a text may lack its end.
        let slack = u128::from(header.encoding == Encoding::Ascii);
        if needed > room as u128 + slack {
            return Err(ReadFault::truncated(
                format!("{} of \"{}\"", element.count, element.name),
                format!("{room} bytes of data, where {needed} are the least"),
            ));
        }
    }
    Ok(())
}
