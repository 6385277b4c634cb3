//! Scan files of every kind, whole and broken: what is read is right, what cannot be read says why.

#![allow(clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod common;
#[path = "read/faults.rs"]
mod faults;
#[path = "read/ply_headers.rs"]
mod ply_headers;

use gapwright::math::Point3;
use gapwright::mesh::TriMesh;
use gapwright::scan::Unit;
use gapwright::scan::clean::clean;
use gapwright::scan::noise::measure_noise;
use gapwright::scan::read::{RawScan, ReadFault, read_mesh};
use proptest::prelude::*;
use std::fmt::Write as _;

/// Corners and outward triangles of the unit cube.
const CUBE: [[f64; 3]; 8] = [
    [0., 0., 0.],
    [1., 0., 0.],
    [1., 1., 0.],
    [0., 1., 0.],
    [0., 0., 1.],
    [1., 0., 1.],
    [1., 1., 1.],
    [0., 1., 1.],
];
const QUADS: [[u32; 4]; 6] = [
    [0, 3, 2, 1],
    [4, 5, 6, 7],
    [0, 1, 5, 4],
    [1, 2, 6, 5],
    [2, 3, 7, 6],
    [3, 0, 4, 7],
];

fn cube_triangles() -> Vec<[u32; 3]> {
    QUADS
        .iter()
        .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
        .collect()
}

/// Writes the bytes under a name and reads them.
fn read_as(name: &str, bytes: &[u8]) -> Result<RawScan, ReadFault> {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).expect("writing");
    read_mesh(&path)
}

fn area(mesh: &TriMesh) -> f64 {
    (0..mesh.triangles.len())
        .map(|t| 0.5 * mesh.area_vector(t).norm())
        .sum()
}

/// The unit cube scaled and moved: 8 points, 12 triangles, volume s^3, area 6 s^2 (formulas).
fn expect_cube(scan: &RawScan, side: f64) {
    assert_eq!((scan.triangles, scan.points), (12, 8));
    assert_eq!(scan.mesh.points.len(), 8);
    let scale = side.powi(3);
    assert!(
        (scan.mesh.signed_volume() / scale - 1.0).abs() < 1e-6,
        "volume {}",
        scan.mesh.signed_volume()
    );
    assert!((area(&scan.mesh) / (6.0 * side * side) - 1.0).abs() < 1e-6);
}

fn binary_stl(header: &[u8], triangles: &[[[f32; 3]; 3]]) -> Vec<u8> {
    let mut bytes = vec![0; 80];
    bytes[..header.len()].copy_from_slice(header);
    bytes.extend((triangles.len() as u32).to_le_bytes());
    for t in triangles {
        bytes.extend([0; 12]);
        bytes.extend(t.iter().flatten().flat_map(|c| c.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

fn cube_soup() -> Vec<[[f32; 3]; 3]> {
    cube_triangles()
        .iter()
        .map(|t| t.map(|i| CUBE[i as usize].map(|c| c as f32)))
        .collect()
}

fn text_stl(name: &str, soup: &[[[f32; 3]; 3]]) -> String {
    let mut s = format!("solid {name}\n");
    for t in soup {
        s += " facet normal 0 0 0\n  outer loop\n";
        for [x, y, z] in t {
            writeln!(s, "   vertex {x:e} {y} {z}").expect("writing to a string");
        }
        s += "  endloop\n endfacet\n";
    }
    s + &format!("endsolid {name}\n")
}

#[derive(Clone, Copy, PartialEq)]
enum Order {
    Little,
    Big,
}

/// A binary PLY of the cube with colours, an extra element and quads; 64-bit coordinates.
fn binary_ply(order: Order) -> Vec<u8> {
    let name = if order == Order::Little {
        "little"
    } else {
        "big"
    };
    let mut bytes = format!(
        "ply\nformat binary_{name}_endian 1.0\ncomment caf\u{e9}\nobj_info one\nelement vertex 8\n\
         property double x\nproperty double y\nproperty double z\nproperty uchar red\nproperty float quality\n\
         element face 6\nproperty uchar flags\nproperty list ushort uint vertex_index\n\
         element extra 1\nproperty list uchar double values\nend_header\n"
    )
    .into_bytes();
    // The comment's accent in one byte, as old programs write it.
    let accent = bytes.iter().position(|&b| b == 0xc3).expect("the accent");
    bytes.splice(accent..accent + 2, [0xe9]);
    macro_rules! put {
        ($value:expr) => {
            bytes.extend(if order == Order::Little {
                $value.to_le_bytes()
            } else {
                $value.to_be_bytes()
            })
        };
    }
    for p in CUBE {
        for c in p {
            put!(c);
        }
        put!(200u8);
        put!(0.5f32);
    }
    for q in QUADS {
        put!(1u8);
        put!(4u16);
        for i in q {
            put!(i);
        }
    }
    put!(1u8);
    put!(2.5f64);
    bytes
}

fn text_ply() -> String {
    let mut s = String::from(
        "ply\nformat ascii 1.0\nelement vertex 8\nproperty float32 x\nproperty float32 y\nproperty float32 z\n\
         element face 12\nproperty list uint8 int32 vertex_indices\nproperty int material\nend_header\n",
    );
    for [x, y, z] in CUBE {
        writeln!(s, "{x:.1} {y:e} {z}").expect("writing to a string");
    }
    for [a, b, c] in cube_triangles() {
        writeln!(s, "3 {a} {b} {c} -7").expect("writing to a string");
    }
    s
}

fn text_obj() -> String {
    let mut s = String::from("# made for a test\nmtllib no.mtl\no cube\n");
    for [x, y, z] in CUBE {
        writeln!(s, "v {x} {y} {z} 0.5 0.5 0.5").expect("writing to a string");
    }
    s += "vt 0 0\nvn 0 0 1\nusemtl none\n";
    for (k, [a, b, c, d]) in QUADS.iter().map(|q| q.map(|i| i + 1)).enumerate() {
        match k % 3 {
            0 => writeln!(s, "f {a}/1/1 {b}/1/1 {c}/1/1 {d}/1/1"),
            1 => writeln!(s, "f {a}//1 {b}//1 \\\n {c}//1 {d}//1"),
            _ => writeln!(s, "f -{} -{} -{} -{}", 9 - a, 9 - b, 9 - c, 9 - d),
        }
        .expect("writing to a string");
    }
    s
}

/// A GLB of the cube in a node scaled by 2 under one that mirrors x and moves by 10.
fn glb() -> Vec<u8> {
    let mut bin: Vec<u8> = CUBE
        .iter()
        .flatten()
        .flat_map(|&c| (c as f32).to_le_bytes())
        .collect();
    bin.extend(
        cube_triangles()
            .iter()
            .flatten()
            .flat_map(|&i| (i as u16).to_le_bytes()),
    );
    glb_of(&CUBE_JSON.replace("LENGTH", &bin.len().to_string()), &bin)
}

const CUBE_JSON: &str = r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],
"nodes":[{"children":[1],"matrix":[-1,0,0,0, 0,1,0,0, 0,0,1,0, 10,0,0,1]},{"mesh":0,"scale":[2,2,2]}],
"meshes":[{"primitives":[{"attributes":{"POSITION":0},"indices":1,"material":3}]}],
"textures":[{}],"extensionsRequired":["EXT_texture_webp"],
"accessors":[{"bufferView":0,"componentType":5126,"count":8,"type":"VEC3"},
{"bufferView":1,"componentType":5123,"count":36,"type":"SCALAR"}],
"bufferViews":[{"buffer":0,"byteLength":96},{"buffer":0,"byteOffset":96,"byteLength":72}],
"buffers":[{"byteLength":LENGTH}]}"#;

fn glb_of(json: &str, bin: &[u8]) -> Vec<u8> {
    let mut json = json.as_bytes().to_vec();
    json.resize(json.len().next_multiple_of(4), b' ');
    let mut bin = bin.to_vec();
    bin.resize(bin.len().next_multiple_of(4), 0);
    let mut bytes = b"glTF\x02\0\0\0".to_vec();
    bytes.extend((12 + 8 + json.len() as u32 + 8 + bin.len() as u32).to_le_bytes());
    bytes.extend((json.len() as u32).to_le_bytes());
    bytes.extend(b"JSON");
    bytes.extend(&json);
    bytes.extend((bin.len() as u32).to_le_bytes());
    bytes.extend(b"BIN\0");
    bytes.extend(&bin);
    bytes
}

fn one_of_each() -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("binary.stl", binary_stl(b"made for a test", &cube_soup())),
        ("text.stl", text_stl("cube", &cube_soup()).into_bytes()),
        ("little.ply", binary_ply(Order::Little)),
        ("big.ply", binary_ply(Order::Big)),
        ("text.ply", text_ply().into_bytes()),
        ("cube.obj", text_obj().into_bytes()),
        ("cube.glb", glb()),
    ]
}

#[test]
fn every_format_gives_the_same_cube() {
    for (name, bytes) in one_of_each() {
        let scan = read_as(name, &bytes).unwrap_or_else(|e| panic!("{name}: {e}"));
        let in_metres = name.ends_with("glb");
        expect_cube(&scan, if in_metres { 2.0 } else { 1.0 });
        // glTF 2.0, section 3.4: all linear distances are metres. The other formats name no unit.
        assert_eq!(scan.unit, in_metres.then_some(Unit::Metre), "{name}");
        assert_eq!(scan.removed, Default::default(), "{name}");
        assert!(scan.notes.is_empty(), "{name}: {:?}", scan.notes);
    }
}

#[test]
fn the_binary_stl_of_a_cube_has_684_bytes_and_its_hash_is_that_of_the_file() {
    let bytes = binary_stl(b"", &cube_soup());
    // 84 + 50 n bytes, n = 12.
    assert_eq!(bytes.len(), 684);
    // SHA-256 of "abc" as in FIPS 180-2, appendix B.1, for the way it is written out.
    use sha2::{Digest, Sha256};
    let abc = Sha256::digest(b"abc")
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect::<String>();
    assert_eq!(
        abc,
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
    let want: String = Sha256::digest(&bytes)
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect();
    assert_eq!(read_as("cube.stl", &bytes).expect("a cube").sha256, want);
}

#[test]
fn node_transforms_are_applied_and_a_mirror_keeps_the_faces_outward() {
    let scan = read_as("cube.glb", &glb()).expect("a cube");
    let (lo, hi) = scan.mesh.bounds().expect("points");
    // x = 10 - 2 u, y = 2 v, z = 2 w for u, v, w in 0..1.
    assert_eq!(
        (lo.x, lo.y, lo.z, hi.x, hi.y, hi.z),
        (8.0, 0.0, 0.0, 10.0, 2.0, 2.0)
    );
    assert!(scan.mesh.signed_volume() > 0.0);
}

#[test]
fn a_tetrahedron_has_a_sixth_of_volume() {
    // Unit right tetrahedron: volume 1/6, area 3/2 + sqrt(3)/2 = 2.3660254.
    let obj = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n";
    let scan = read_as("t.obj", obj.as_bytes()).expect("a tetrahedron");
    assert!((scan.mesh.signed_volume() - 1.0 / 6.0).abs() < 1e-12);
    assert!((area(&scan.mesh) - 2.366_025_4).abs() < 1e-7);
}

#[test]
fn coordinates_of_text_and_double_files_keep_their_digits() {
    // A cube of 1 m, 10 km off on each axis, to a tenth of a millimetre: single precision cannot hold it.
    let mut obj = String::new();
    for [x, y, z] in CUBE {
        writeln!(obj, "v {} {} {}", x + 1e4, y + 1e4, z + 1e4).expect("writing to a string");
    }
    for [a, b, c] in cube_triangles() {
        writeln!(obj, "f {} {} {}", a + 1, b + 1, c + 1).expect("writing to a string");
    }
    let scan = read_as("far.obj", obj.as_bytes()).expect("a cube");
    assert!((scan.mesh.signed_volume() - 1.0).abs() < 1e-9);
}

#[test]
fn text_stl_of_every_habit_is_read() {
    let plain = text_stl("cube", &cube_soup());
    let soup = cube_soup();
    let (front, back) = soup.split_at(5);
    let habits = [
        ("upper case", plain.to_uppercase()),
        (
            "no name",
            text_stl("", &cube_soup()).replace("solid \n", "solid\n"),
        ),
        ("carriage returns", plain.replace('\n', "\r\n")),
        (
            "several solids",
            text_stl("a", front) + &text_stl("b b", back),
        ),
        (
            "an empty solid first",
            "solid void\nendsolid void\n".to_owned() + &plain,
        ),
        (
            "normals that are no numbers",
            plain.replace("normal 0 0 0", "normal nan -nan inf"),
        ),
        ("no normals", plain.replace("facet normal 0 0 0", "facet")),
        ("a mark of byte order", format!("\u{feff}{plain}")),
    ];
    for (habit, text) in habits {
        let scan = read_as("cube.stl", text.as_bytes()).unwrap_or_else(|e| panic!("{habit}: {e}"));
        expect_cube(&scan, 1.0);
        assert_eq!(scan.notes, [], "{habit}");
    }
}

#[test]
fn a_name_of_another_format_is_a_fault_and_a_name_of_none_is_not() {
    let text = text_stl("cube", &cube_soup());
    let fault = read_as("cube.ply", text.as_bytes()).expect_err("a wrong name");
    assert_eq!(
        fault,
        ReadFault::WrongName {
            told: "PLY",
            holds: "STL"
        }
    );
    expect_cube(&read_as("cube.scan", text.as_bytes()).expect("a cube"), 1.0);
}

#[test]
fn a_binary_stl_that_begins_with_solid_is_binary() {
    let scan = read_as("cube.stl", &binary_stl(b"solid cube\n", &cube_soup())).expect("a cube");
    expect_cube(&scan, 1.0);
    // And minus zero is zero.
    let soup: Vec<_> = cube_soup()
        .iter()
        .map(|t| t.map(|p| p.map(|c| if c == 0.0 { -0.0 } else { c })))
        .collect();
    let mixed = [&cube_soup()[..6], &soup[6..]].concat();
    expect_cube(
        &read_as("cube.stl", &binary_stl(b"", &mixed)).expect("a cube"),
        1.0,
    );
}

#[test]
fn an_stl_count_that_does_not_fit_is_told_from_a_short_file() {
    let whole = binary_stl(b"solid cube", &cube_soup());
    let with_count = |n: u32| {
        let mut bytes = whole.clone();
        bytes[80..84].copy_from_slice(&n.to_le_bytes());
        read_as("cube.stl", &bytes)
    };
    assert!(matches!(with_count(66), Err(ReadFault::Truncated { .. })));
    assert!(matches!(
        with_count(u32::MAX),
        Err(ReadFault::Truncated { .. })
    ));
    assert!(matches!(with_count(3), Err(ReadFault::HeaderLies(_))));
    assert!(matches!(with_count(0), Err(ReadFault::HeaderLies(_))));
    // A few stray bytes at the end are no harm.
    let scan = read_as("cube.stl", &[&whole[..], b"\0\r\n"].concat()).expect("a cube");
    expect_cube(&scan, 1.0);
    assert_eq!(scan.notes[0].code, "bytes-after-the-end");
    // A header longer than 80 bytes moves every triangle.
    let moved = [&whole[..80], b"more of a name", &whole[80..]].concat();
    assert!(read_as("cube.stl", &moved).is_err());
    let mut moved = [&whole[..], b"more of a name"].concat();
    moved[84..].rotate_right(14);
    assert!(matches!(
        read_as("cube.stl", &moved),
        Err(ReadFault::HeaderLies(_))
    ));
}

#[test]
fn phone_scans_of_a_table_top_are_read_as_they_are() {
    let Some(shared) = common::shared_folder() else {
        println!("skipped: no shared folder beside the repository");
        return;
    };
    // Counts from `grep -c '^v '` and `grep -c '^f '` on the files.
    for (name, points, triangles) in [
        ("highres_export.obj", 18684, 37985),
        ("highres_export_refined.obj", 18023, 35332),
        ("lowres_export.obj", 620, 1145),
    ] {
        let scan = read_mesh(&shared.join("real/phone_table").join(name))
            .unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!((scan.points, scan.triangles), (points, triangles), "{name}");
    }
}

#[test]
fn cleaning_tells_what_is_wrong_with_a_phone_scan_rounded_to_a_millimetre() {
    let Some(shared) = common::shared_folder() else {
        println!("skipped: no shared folder beside the repository");
        return;
    };
    let mut mesh = read_mesh(&shared.join("real/phone_table/highres_export.obj"))
        .expect("a scan")
        .mesh;
    for p in &mut mesh.points {
        *p *= Unit::Metre.millimetres();
    }
    // Whole millimetres make the counts exact: corners that coincide, and corners in line.
    let whole = |p: &Point3| [p.x, p.y, p.z].map(|c| c.round() as i64);
    let coincide = |[a, b, c]: [[i64; 3]; 3]| a == b || b == c || c == a;
    let in_line = |[a, b, c]: [[i64; 3]; 3]| {
        let less = |p: [i64; 3]| [p[0] - a[0], p[1] - a[1], p[2] - a[2]];
        let (u, v) = (less(b), less(c));
        (0..3).all(|i| u[i] * v[(i + 1) % 3] == u[(i + 1) % 3] * v[i])
    };
    let corners: Vec<_> = (0..mesh.triangles.len())
        .map(|t| mesh.corners(t).map(|p| whole(&p)))
        .collect();
    // 1,419 is the count given with the data set.
    assert_eq!(corners.iter().filter(|t| coincide(**t)).count(), 1419);
    let flat = corners.iter().filter(|t| in_line(**t)).count();

    let cleaned = clean(mesh.clone());
    assert_eq!(cleaned.removed.degenerate, flat);
    // Two floaters, by the same source.
    assert_eq!((cleaned.removed.floaters, cleaned.pieces), (2, 1));
    assert_eq!(cleaned.removed.not_finite, 0);
    // Nothing of the table top went: a triangle without area takes none with it.
    assert!(area(&cleaned.mesh) > 0.9999 * area(&mesh));
    let noise = measure_noise(&cleaned.mesh, cleaned.spacing_mm);
    // Rounding to 1 mm alone has a standard deviation of 1/sqrt(12) mm; a phone's depth noise after
    // fusion stays under a few millimetres (common practice, no source).
    assert!((1.0 / 12f64.sqrt()..3.0).contains(&noise), "noise {noise}");
    assert_eq!(clean(mesh), cleaned, "the same input gives the same result");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Whatever follows a format's mark, reading ends in a fault or in triangles.
    #[test]
    fn random_bytes_behind_each_mark_never_panic(
        mark in prop::sample::select(vec![
            &b""[..], b"solid x\n", b"solid x\nfacet\nvertex ", b"ply\n",
            b"ply\nformat ascii 1.0\nelement vertex 3\nproperty int x\nproperty int y\nproperty int z\nend_header\n",
            b"ply\nformat binary_big_endian 1.0\nelement vertex 2\nproperty char x\nproperty char y\nproperty char z\n\
              element face 2\nproperty list uchar char vertex_index\nend_header\n",
            b"ply\nformat ascii 1.0\nelement face 3\nproperty list char float vertex_index\nend_header\n",
            b"glTF\x02\0\0\0\x40\0\0\0\x20\0\0\0JSON", b"glTF", b"v 0 0 0\nf ",
        ]),
        tail in prop::collection::vec(prop_oneof![any::<u8>(), prop::sample::select(b"0123 -./\nvf".to_vec())], 0..200),
    ) {
        match read_as("x.stl", &[mark, &tail].concat()) {
            Ok(scan) => prop_assert!(!scan.mesh.triangles.is_empty()),
            Err(fault) => prop_assert!(fault != ReadFault::Unforeseen && !fault.hint().is_empty()),
        }
    }

    /// One changed byte in a whole file never panics either.
    #[test]
    fn one_changed_byte_never_panics(which in 0usize..7, at in any::<prop::sample::Index>(), to in any::<u8>()) {
        let (name, mut bytes) = one_of_each().swap_remove(which);
        let at = at.index(bytes.len());
        bytes[at] = to;
        match read_as(name, &bytes) {
            Ok(scan) => prop_assert!(!scan.mesh.triangles.is_empty()),
            Err(fault) => prop_assert!(fault != ReadFault::Unforeseen),
        }
    }
}
