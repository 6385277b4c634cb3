//! 3MF, core specification (ISO/IEC 25422): a ZIP archive with a list of content types, a relationship
//! that names the model, and the model in XML. Millimetres, one named object for each solid.

use super::svg::escaped;
use crate::diag::Problem;
use crate::math::Vector3;
use crate::mesh::Solid;
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
const LEVEL: i64 = 6;

/// A solid under its name.
pub(super) struct Object<'a> {
    pub(super) name: String,
    pub(super) solid: &'a Solid,
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
