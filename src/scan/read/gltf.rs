//! GLB: glTF 2.0 in one file. Metres and right-handed with +Y up, by the Khronos specification, section
//! 3.4; the axes are left as they are.

use super::{Raw, ReadFault};
use crate::math::Point3;
use ::gltf::Semantic;
use ::gltf::accessor::{DataType, Dimensions, Iter};
use ::gltf::json::validation::Checked;
use ::gltf::mesh::Mode;
use ::gltf::{Accessor, Document, Glb, Node, Primitive};
use nalgebra::Matrix4;

/// Bytes of the file's header.
const HEADER: usize = 12;

/// Nodes nested deeper than this are a mistake.
const DEEPEST: usize = 256;

/// Reads every mesh of the default scene, each node's transforms applied.
pub(super) fn read_glb(bytes: &[u8]) -> Result<Raw, ReadFault> {
    let word = |at: usize| Some(u32::from_le_bytes(bytes.get(at..at + 4)?.try_into().ok()?));
    let (Some(version), Some(stated)) = (word(4), word(8)) else {
        return Err(ReadFault::truncated(
            "a GLB header of 12 bytes",
            format!("{} bytes", bytes.len()),
        ));
    };
    if version != 2 {
        return Err(ReadFault::Unsupported(format!("glTF version {version}")));
    }
    let stated = stated as usize;
    if stated > bytes.len() {
        return Err(ReadFault::truncated(
            format!("{stated} bytes"),
            format!("{}", bytes.len()),
        ));
    }
    if stated < HEADER + 8 {
        return Err(ReadFault::HeaderLies(format!(
            "it states a length of {stated} bytes"
        )));
    }
    let glb = Glb::from_slice(&bytes[..stated]).map_err(damaged)?;
    let mut json: ::gltf::json::Root =
        ::gltf::json::deserialize::from_slice(&glb.json).map_err(|e| ReadFault::Malformed {
            place: "the JSON part".into(),
            what: e.to_string(),
        })?;
    for name in [
        "KHR_draco_mesh_compression",
        "EXT_meshopt_compression",
        "KHR_mesh_quantization",
    ] {
        if json.extensions_required.iter().any(|e| e == name) {
            return Err(ReadFault::Unsupported(name.into()));
        }
    }
    keep_shape_only(&mut json);
    // The library's own check looks a position up before it has checked that it is there.
    let accessors = json.accessors.len();
    let mut named = json
        .meshes
        .iter()
        .flat_map(|m| &m.primitives)
        .flat_map(|p| p.attributes.values());
    if named.any(|i| i.value() >= accessors) {
        return Err(damaged_data("points in an accessor that is not there"));
    }
    let document = Document::from_json(json).map_err(damaged)?;
    let mut reader = Reader {
        blob: glb.bin.as_deref().unwrap_or_default(),
        raw: Raw::default(),
        visited: vec![false; document.nodes().len()],
    };
    match document
        .default_scene()
        .or_else(|| document.scenes().next())
    {
        Some(scene) => {
            for node in scene.nodes() {
                reader.read_node(&node, &Matrix4::identity(), 0)?;
            }
        }
        // A file without a scene is a library of meshes: take them as they are.
        None => {
            for primitive in document.meshes().flat_map(|m| m.primitives()) {
                reader.read_primitive(&primitive, &Matrix4::identity())?;
            }
        }
    }
    Ok(reader.raw)
}

/// Forgets all that is about looks and motion, so that a fault there does not stop the reading, and the
/// stated bounds of the data, which are measured anyway.
fn keep_shape_only(json: &mut ::gltf::json::Root) {
    json.extensions_required.clear();
    json.extensions_used.clear();
    json.materials.clear();
    json.textures.clear();
    json.images.clear();
    json.samplers.clear();
    json.animations.clear();
    json.cameras.clear();
    json.skins.clear();
    for node in &mut json.nodes {
        node.camera = None;
        node.skin = None;
    }
    for primitive in json.meshes.iter_mut().flat_map(|m| &mut m.primitives) {
        primitive.material = None;
        primitive.targets = None;
        primitive
            .attributes
            .retain(|key, _| *key == Checked::Valid(Semantic::Positions));
    }
    for accessor in &mut json.accessors {
        accessor.min = Some([0, 0, 0].into());
        accessor.max = Some([0, 0, 0].into());
    }
}

fn damaged(error: ::gltf::Error) -> ReadFault {
    ReadFault::Malformed {
        place: "the glTF structure".into(),
        what: error.to_string(),
    }
}

fn damaged_data(what: &str) -> ReadFault {
    ReadFault::Malformed {
        place: "the mesh data".into(),
        what: what.into(),
    }
}

struct Reader<'a> {
    blob: &'a [u8],
    raw: Raw,
    /// Nodes form trees (specification, section 3.5.2): none is met twice.
    visited: Vec<bool>,
}

impl<'a> Reader<'a> {
    fn read_node(
        &mut self,
        node: &Node<'_>,
        parent: &Matrix4<f64>,
        depth: usize,
    ) -> Result<(), ReadFault> {
        let met_again = match self.visited.get_mut(node.index()) {
            Some(visited) => std::mem::replace(visited, true),
            None => true,
        };
        if depth > DEEPEST || met_again {
            return Err(ReadFault::Malformed {
                place: "the tree of nodes".into(),
                what: "it is no tree, or too deep".into(),
            });
        }
        // Columns, as glTF stores them.
        let own = Matrix4::from_iterator(
            node.transform()
                .matrix()
                .into_iter()
                .flatten()
                .map(f64::from),
        );
        let to_scene = parent * own;
        for primitive in node.mesh().iter().flat_map(|m| m.primitives()) {
            self.read_primitive(&primitive, &to_scene)?;
        }
        for child in node.children() {
            self.read_node(&child, &to_scene, depth + 1)?;
        }
        Ok(())
    }

    fn read_primitive(
        &mut self,
        primitive: &Primitive<'_>,
        to_scene: &Matrix4<f64>,
    ) -> Result<(), ReadFault> {
        let Some(positions) = primitive.get(&Semantic::Positions) else {
            return Ok(());
        };
        if positions.data_type() != DataType::F32 || positions.dimensions() != Dimensions::Vec3 {
            return Err(ReadFault::Unsupported(
                "points that are not three floats".into(),
            ));
        }
        let base = u32::try_from(self.raw.points.len()).map_err(|_| ReadFault::TooLarge)?;
        for p in self.items::<[f32; 3]>(&positions)? {
            let p = to_scene * Point3::from(p.map(f64::from)).to_homogeneous();
            self.raw.points.push(Point3::new(p.x, p.y, p.z));
        }
        let count = u32::try_from(self.raw.points.len()).map_err(|_| ReadFault::TooLarge)? - base;
        let corners: Vec<u32> = match primitive.indices() {
            None => (0..count).collect(),
            Some(indices) => match indices.data_type() {
                DataType::U8 => self.items::<u8>(&indices)?.map(u32::from).collect(),
                DataType::U16 => self.items::<u16>(&indices)?.map(u32::from).collect(),
                DataType::U32 => self.items::<u32>(&indices)?.collect(),
                _ => return Err(damaged_data("indices that are not whole numbers")),
            },
        };
        // An index past this primitive's points must not reach into the next one's.
        let place = |i: u32| if i < count { base + i } else { u32::MAX };
        // A mirror in the transforms turns the triangles over (specification, section 3.7.4).
        let mirrored = to_scene.fixed_view::<3, 3>(0, 0).determinant() < 0.0;
        let triangles = &mut self.raw.triangles;
        let mut push = |[a, b, c]: [u32; 3]| {
            let t = if mirrored { [a, c, b] } else { [a, b, c] };
            triangles.push(t.map(place));
        };
        match primitive.mode() {
            Mode::Triangles => corners
                .chunks_exact(3)
                .for_each(|t| push([t[0], t[1], t[2]])),
            Mode::TriangleStrip => corners.windows(3).enumerate().for_each(|(k, t)| {
                push(if k % 2 == 0 {
                    [t[0], t[1], t[2]]
                } else {
                    [t[1], t[0], t[2]]
                });
            }),
            Mode::TriangleFan => {
                if let Some((&first, rest)) = corners.split_first() {
                    rest.windows(2).for_each(|t| push([first, t[0], t[1]]));
                }
            }
            Mode::Points | Mode::Lines | Mode::LineLoop | Mode::LineStrip => {}
        }
        Ok(())
    }

    /// The items of an accessor. Everything the library adds up unchecked is checked here first.
    fn items<T: ::gltf::accessor::Item>(
        &self,
        accessor: &Accessor<'_>,
    ) -> Result<Iter<'a, T>, ReadFault> {
        if accessor.sparse().is_some() {
            return Err(ReadFault::Unsupported("sparse accessors".into()));
        }
        let Some(view) = accessor.view() else {
            return Err(ReadFault::Unsupported("points without a buffer".into()));
        };
        if !matches!(view.buffer().source(), ::gltf::buffer::Source::Bin) {
            return Err(ReadFault::GltfInPieces);
        }
        let size = accessor.size();
        let stride = view.stride().unwrap_or(size);
        let end = accessor
            .count()
            .checked_sub(1)
            .and_then(|n| n.checked_mul(stride))
            .and_then(|n| n.checked_add(size))
            .and_then(|n| n.checked_add(accessor.offset()));
        let Some(end) = end else {
            return Err(damaged_data("an accessor without items or past all bounds"));
        };
        let view_end = view.offset().checked_add(view.length());
        if size != std::mem::size_of::<T>() || stride < size || end > view.length() {
            return Err(damaged_data("an accessor that reaches past its view"));
        }
        if view_end.is_none_or(|e| e > self.blob.len()) {
            return Err(ReadFault::truncated(
                format!("{} bytes of mesh data", view_end.unwrap_or(usize::MAX)),
                format!("{}", self.blob.len()),
            ));
        }
        let blob = self.blob;
        Iter::new(accessor.clone(), move |_| Some(blob))
            .ok_or_else(|| damaged_data("an accessor without data"))
    }
}
