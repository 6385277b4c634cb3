//! 3MF, core specification (ISO/IEC 25422): a ZIP archive with a list of content types, a relationship
//! that names the model, and the model in XML. Millimetres, one named object for each solid.

use super::svg::escaped;
use super::{ALL_IN_PLACE, OutFile, print_3mf};
use crate::diag::Problem;
use crate::math::Vector3;
use crate::mesh::Solid;
use crate::split::{Segment, Segments};
use rayon::prelude::*;
use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

/// Content types of the parts (Open Packaging Conventions, ISO/IEC 29500-2).
const CONTENT_TYPES: &str = concat!(
    r#"<?xml version="1.0" encoding="UTF-8"?>"#,
    "\n",
    r#"<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">"#,
    r#"<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>"#,
    r#"<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>"#,
    "</Types>\n"
);

/// Where the model is.
const RELATIONSHIPS: &str = concat!(
    r#"<?xml version="1.0" encoding="UTF-8"?>"#,
    "\n",
    r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">"#,
    r#"<Relationship Target="/3D/3dmodel.model" Id="model" "#,
    r#"Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>"#,
    "</Relationships>\n"
);

/// The largest compression that costs little time.
const LEVEL: i64 = 4;

/// A solid under its name.
pub(super) struct Object<'a> {
    pub(super) name: String,
    pub(super) solid: &'a Solid,
}

/// Every segment on its bed, and all of them in place, as 3MF.
pub(super) fn segment_files(name: &str, segments: &Segments) -> Result<Vec<OutFile>, Problem> {
    let count = segments.segments.len();
    let object = |segment: &Segment, solid| Object {
        name: format!("{name}, segment {} of {count}", segment.number),
        solid,
    };
    let in_place = || -> Result<OutFile, Problem> {
        let row = segments.segments.iter();
        let objects: Vec<_> = row.map(|s| object(s, &s.in_place)).collect();
        let bytes = package(name, &objects)?;
        Ok(OutFile::new(ALL_IN_PLACE, bytes))
    };
    let on_beds = || {
        let row = segments.segments.par_iter();
        row.map(|s| {
            let on_bed = object(s, &s.on_bed);
            let bytes = package(&on_bed.name.clone(), &[on_bed])?;
            Ok(OutFile::new(print_3mf(s.number), bytes))
        })
        .collect::<Result<Vec<_>, Problem>>()
    };
    let (in_place, on_beds) = rayon::join(in_place, on_beds);
    let mut files = on_beds?;
    files.push(in_place?);
    Ok(files)
}

/// Writes solids into one archive. Their points are written as they are, in their own frame; one shift
/// for all moves them to where every coordinate is positive, as the specification asks, so they stay in
/// place to each other. The archive carries no time: the same solids give the same bytes.
///
/// # Errors
/// If the archive would pass the 4 GiB that its format holds.
pub(super) fn package(title: &str, objects: &[Object<'_>]) -> Result<Vec<u8>, Problem> {
    pack(&model(title, objects)).map_err(|error| {
        Problem::new(
            format!("a 3MF archive of \"{title}\" cannot be made ({error})"),
            "scan or sample more coarsely, so that there are fewer triangles",
        )
    })
}

fn pack(model: &str) -> Result<Vec<u8>, zip::result::ZipError> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(LEVEL))
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in [
        ("[Content_Types].xml", CONTENT_TYPES),
        ("_rels/.rels", RELATIONSHIPS),
        ("3D/3dmodel.model", model),
    ] {
        archive.start_file(name, options)?;
        archive.write_all(text.as_bytes())?;
    }
    Ok(archive.finish()?.into_inner())
}

/// The model part.
fn model(title: &str, objects: &[Object<'_>]) -> String {
    let triangles: usize = objects.iter().map(|o| o.solid.mesh().triangles.len()).sum();
    // A triangle and its half of a vertex take about so many bytes.
    let mut xml = String::with_capacity(1024 + 80 * triangles);
    let _ = write!(
        xml,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <model unit=\"millimeter\" xml:lang=\"en-US\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n\
         <metadata name=\"Title\">{}</metadata>\n\
         <metadata name=\"Application\">{} {}</metadata>\n<resources>\n",
        escaped(title),
        env!("CARGO_PKG_NAME"),
        env!("CARGO_PKG_VERSION")
    );
    for (i, object) in objects.iter().enumerate() {
        let name = escaped(&object.name);
        let _ = writeln!(
            xml,
            "<object id=\"{}\" type=\"model\" name=\"{name}\">",
            i + 1
        );
        write_mesh(&mut xml, object.solid);
        xml.push_str("</object>\n");
    }
    xml.push_str("</resources>\n<build>\n");
    let low = objects
        .iter()
        .map(|o| o.solid.bounds().0.coords)
        .reduce(|a, b| a.inf(&b))
        .unwrap_or_else(Vector3::zeros);
    let [x, y, z] = [0, 1, 2].map(|k| number(-low[k]));
    for id in 1..=objects.len() {
        let _ = writeln!(
            xml,
            "<item objectid=\"{id}\" transform=\"1 0 0 0 1 0 0 0 1 {x} {y} {z}\"/>"
        );
    }
    xml.push_str("</build>\n</model>\n");
    xml
}

/// As few digits as give the same f32 back, never with an exponent or a negative zero.
fn number(value: f64) -> f32 {
    value as f32 + 0.0
}

/// A solid's points are merged and exact as f32 already.
fn write_mesh(xml: &mut String, solid: &Solid) {
    let mesh = solid.mesh();
    xml.push_str("<mesh>\n<vertices>\n");
    for p in &mesh.points {
        let [x, y, z] = [p.x, p.y, p.z].map(number);
        let _ = writeln!(xml, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>");
    }
    xml.push_str("</vertices>\n<triangles>\n");
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(xml, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    }
    xml.push_str("</triangles>\n</mesh>\n");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Point3;
    use crate::mesh::samples::{block, torus};
    use quick_xml::XmlVersion;
    use quick_xml::events::{BytesStart, Event};
    use std::collections::BTreeMap;
    use std::io::Read;

    type Attributes = BTreeMap<String, String>;

    /// An element of the core schema: attributes that must and that may be there, and the children it
    /// has, in order, with the least and most of each.
    struct Rule {
        element: &'static str,
        required: &'static [&'static str],
        optional: &'static [&'static str],
        children: &'static [(&'static str, usize, usize)],
    }

    const MANY: usize = 0x7fff_ffff;

    const fn rule(
        element: &'static str,
        required: &'static [&'static str],
        optional: &'static [&'static str],
        children: &'static [(&'static str, usize, usize)],
    ) -> Rule {
        Rule {
            element,
            required,
            optional,
            children,
        }
    }

    /// From the schema in appendix B of the 3MF core specification 1.4.0, without components, base
    /// materials and metadata groups, which are not written.
    const SCHEMA: &[Rule] = &[
        rule(
            "model",
            &[],
            &["unit", "xml:lang", "requiredextensions", "xmlns"],
            &[("metadata", 0, MANY), ("resources", 1, 1), ("build", 1, 1)],
        ),
        rule("metadata", &["name"], &["preserve", "type"], &[]),
        rule("resources", &[], &[], &[("object", 0, MANY)]),
        rule(
            "object",
            &["id"],
            &["type", "thumbnail", "partnumber", "name", "pid", "pindex"],
            &[("mesh", 1, 1)],
        ),
        rule("mesh", &[], &[], &[("vertices", 1, 1), ("triangles", 1, 1)]),
        rule("vertices", &[], &[], &[("vertex", 3, MANY)]),
        rule("vertex", &["x", "y", "z"], &[], &[]),
        rule("triangles", &[], &[], &[("triangle", 1, MANY)]),
        rule(
            "triangle",
            &["v1", "v2", "v3"],
            &["p1", "p2", "p3", "pid"],
            &[],
        ),
        rule("build", &[], &[], &[("item", 0, MANY)]),
        rule("item", &["objectid"], &["transform", "partnumber"], &[]),
    ];

    fn rule_of(element: &str) -> &'static Rule {
        SCHEMA
            .iter()
            .find(|r| r.element == element)
            .unwrap_or_else(|| panic!("{element} is not in the schema"))
    }

    /// The schema's ST_Number, which is narrower than what a parser of numbers takes.
    fn expect_number(text: &str) -> f64 {
        let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
        let (whole, part) = unsigned.split_once('.').unwrap_or((unsigned, "0"));
        for digits in [whole, part] {
            let good = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
            assert!(good, "{text} is no number of the schema");
        }
        text.parse().unwrap()
    }

    /// What was read of an object.
    #[derive(Default)]
    struct Read3 {
        name: String,
        points: Vec<Point3>,
        triangles: Vec<[usize; 3]>,
    }

    fn attributes_of(start: &BytesStart<'_>) -> Attributes {
        let mut found = Attributes::new();
        for attribute in start.attributes() {
            let attribute = attribute.unwrap();
            let key = attribute.key.as_ref().to_owned();
            let value = attribute.normalized_value(XmlVersion::Implicit1_0).unwrap();
            found.insert(key, value.into_owned());
        }
        found
    }

    /// Reads a model and fails where it breaks the schema or a rule of the specification's text.
    fn read_by_the_schema(xml: &str) -> (Vec<Read3>, Vec<[f64; 3]>) {
        let (mut objects, mut shifts) = (Vec::new(), Vec::new());
        // The open elements, each with the children it has so far.
        let mut open: Vec<(&Rule, Vec<String>)> = Vec::new();
        let mut reader = quick_xml::Reader::from_str(xml);
        reader.config_mut().expand_empty_elements = true;
        loop {
            match reader.read_event().unwrap() {
                Event::Start(start) => {
                    let element = start.name().as_ref().to_owned();
                    let rule = rule_of(&element);
                    let found = attributes_of(&start);
                    for name in rule.required {
                        assert!(found.contains_key(*name), "{element} lacks {name}");
                    }
                    for name in found.keys().map(String::as_str) {
                        let known = rule.required.contains(&name) || rule.optional.contains(&name);
                        assert!(known, "{element} has {name}");
                    }
                    take(rule.element, &found, &mut objects, &mut shifts);
                    if let Some((_, children)) = open.last_mut() {
                        children.push(element);
                    } else {
                        assert_eq!(element, "model");
                    }
                    open.push((rule, Vec::new()));
                }
                Event::End(_) => {
                    let (rule, children) = open.pop().unwrap();
                    let mut rest = children.as_slice();
                    for (name, least, most) in rule.children {
                        let count = rest.iter().take_while(|c| c == name).count();
                        assert!((*least..=*most).contains(&count), "{count} of {name}");
                        rest = &rest[count..];
                    }
                    assert!(rest.is_empty(), "{} holds {rest:?}", rule.element);
                }
                Event::Text(text) => {
                    let blank = text.trim().is_empty();
                    let inside = open.last().map(|(rule, _)| rule.element);
                    assert!(blank || inside == Some("metadata"));
                }
                Event::Decl(decl) => {
                    assert_eq!(decl.encoding().unwrap().unwrap().as_ref(), "UTF-8");
                }
                Event::GeneralRef(_) => {}
                Event::Eof => break,
                other => panic!("{other:?} has no place in a model"),
            }
        }
        assert!(open.is_empty());
        (objects, shifts)
    }

    fn take(
        element: &str,
        found: &Attributes,
        objects: &mut Vec<Read3>,
        shifts: &mut Vec<[f64; 3]>,
    ) {
        match element {
            "model" => {
                assert_eq!(found["unit"], "millimeter");
                assert_eq!(
                    found["xmlns"],
                    "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
                );
            }
            "metadata" => assert!(["Title", "Application"].contains(&found["name"].as_str())),
            "object" => {
                // Positive, and each once.
                assert_eq!(found["id"], (objects.len() + 1).to_string());
                assert_eq!(found["type"], "model");
                objects.push(Read3 {
                    name: found["name"].clone(),
                    ..Read3::default()
                });
            }
            "vertex" => {
                // As few digits as an f32 needs.
                let read = |k: &str| f64::from(expect_number(&found[k]) as f32);
                let [x, y, z] = ["x", "y", "z"].map(read);
                objects
                    .last_mut()
                    .unwrap()
                    .points
                    .push(Point3::new(x, y, z));
            }
            "triangle" => {
                let object = objects.last_mut().unwrap();
                let [a, b, c] = ["v1", "v2", "v3"].map(|k| found[k].parse::<usize>().unwrap());
                assert!([a, b, c].iter().all(|&i| i < object.points.len()));
                assert!(a != b && b != c && c != a, "a triangle uses a point twice");
                object.triangles.push([a, b, c]);
            }
            "item" => {
                let id: usize = found["objectid"].parse().unwrap();
                assert!(id >= 1 && id <= objects.len());
                let m: Vec<f64> = found["transform"].split(' ').map(expect_number).collect();
                assert_eq!(m[..9], [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0]);
                shifts.push(m[9..].try_into().unwrap());
            }
            _ => {}
        }
    }

    /// The parts of an archive, in its order.
    fn unpack(bytes: &[u8]) -> Vec<(String, String)> {
        let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
        (0..archive.len())
            .map(|i| {
                let mut part = archive.by_index(i).unwrap();
                assert!(
                    [CompressionMethod::Deflated, CompressionMethod::Stored]
                        .contains(&part.compression())
                );
                let mut text = String::new();
                part.read_to_string(&mut text).unwrap();
                (part.name().unwrap().to_string(), text)
            })
            .collect()
    }

    const NAME: &str = "nose & \"<tail>\" \u{e9}\t\u{ffff}'x'";

    fn solids() -> [Solid; 2] {
        let ring = torus(30.0, 7.3, 24, 12);
        let block = block(
            Point3::new(-100.125, 3.0e-5, -1234.5),
            Vector3::repeat(10.7),
        );
        [ring, block].map(|mesh| Solid::new(mesh).unwrap())
    }

    fn written() -> ([Solid; 2], Vec<u8>) {
        let solids = solids();
        let objects = solids.each_ref().map(|solid| Object {
            name: NAME.to_owned(),
            solid,
        });
        let bytes = package(NAME, &objects).unwrap();
        assert!(package(NAME, &objects).unwrap() == bytes);
        (solids, bytes)
    }

    /// Content types and relationship: Open Packaging Conventions (ISO/IEC 29500-2), with the names in
    /// appendix C of the 3MF core specification. The model keeps to its schema and its rules: manifold,
    /// outward (section 4.1), in the positive octant (3.3).
    #[test]
    fn the_archive_keeps_to_the_core_specification() {
        let (solids, bytes) = written();
        let parts = unpack(&bytes);
        let names: Vec<&str> = parts.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(
            names,
            ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        );
        let mut found = Vec::new();
        for (_, text) in &parts[..2] {
            let mut reader = quick_xml::Reader::from_str(text);
            loop {
                match reader.read_event().unwrap() {
                    Event::Empty(start) => found.push(attributes_of(&start)),
                    Event::Eof => break,
                    _ => {}
                }
            }
        }
        for (one, other) in [
            (
                &found[0],
                [
                    "rels",
                    "application/vnd.openxmlformats-package.relationships+xml",
                ],
            ),
            (
                &found[1],
                [
                    "model",
                    "application/vnd.ms-package.3dmanufacturing-3dmodel+xml",
                ],
            ),
        ] {
            assert_eq!([&one["Extension"], &one["ContentType"]], other);
        }
        assert_eq!(found[2]["Target"], format!("/{}", names[2]));
        assert_eq!(
            found[2]["Type"],
            "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
        );
        let (objects, shifts) = read_by_the_schema(&parts[2].1);
        assert_eq!((objects.len(), shifts.len()), (2, 2));
        assert_eq!(shifts[0], shifts[1]);
        for (object, solid) in objects.iter().zip(&solids) {
            // What XML cannot hold is left blank.
            assert_eq!(object.name, NAME.replace(['\t', '\u{ffff}'], " "));
            assert!(object.points == solid.mesh().points, "points changed");
            // Closed, manifold and outward: each edge runs once each way, and the volume is positive.
            let mut edges = std::collections::BTreeSet::new();
            let mut six_volumes = 0.0;
            for t in &object.triangles {
                let [a, b, c] = t.map(|i| object.points[i].coords);
                assert!(
                    (b - a).cross(&(c - a)).norm() > 0.0,
                    "a triangle is degenerate"
                );
                six_volumes += a.dot(&b.cross(&c));
                for k in 0..3 {
                    assert!(edges.insert((t[k], t[(k + 1) % 3])));
                }
            }
            assert!(edges.iter().all(|&(a, b)| edges.contains(&(b, a))));
            assert!((six_volumes / 6.0 / solid.volume() - 1.0).abs() < 1e-6);
            for p in &object.points {
                assert!((0..3).all(|k| p[k] + shifts[0][k] >= 0.0));
            }
        }
    }

    /// Read by another library.
    #[test]
    fn a_library_reads_back_what_was_written() {
        let (solids, bytes) = written();
        let models = threemf::read(Cursor::new(&bytes)).unwrap();
        assert_eq!(models.len(), 1);
        assert!(matches!(models[0].unit, threemf::model::Unit::Millimeter));
        let objects = &models[0].resources.object;
        assert_eq!(objects.len(), 2);
        for (object, solid) in objects.iter().zip(&solids) {
            assert_eq!(
                object.name.as_deref(),
                Some(&*NAME.replace(['\t', '\u{ffff}'], " "))
            );
            let mesh = object.mesh.as_ref().unwrap();
            let at = |i: usize| {
                let v = &mesh.vertices.vertex[i];
                Vector3::new(v.x, v.y, v.z).map(|c| f64::from(c as f32))
            };
            let triangles = &mesh.triangles.triangle;
            assert_eq!(triangles.len(), solid.mesh().triangles.len());
            let six: f64 = triangles
                .iter()
                .map(|t| at(t.v1).dot(&at(t.v2).cross(&at(t.v3))))
                .sum();
            assert!((six / 6.0 / solid.volume() - 1.0).abs() < 1e-6);
        }
    }
}
