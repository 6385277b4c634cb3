//! Files that are cut short, hold no scan, or point nowhere: each a fault of its own kind.

use super::*;

#[test]
fn a_file_cut_anywhere_is_never_an_empty_success() {
    for (name, bytes) in one_of_each() {
        for end in (0..bytes.len()).step_by(if bytes.len() > 1000 { 64 } else { 7 }) {
            match read_as(name, &bytes[..end]) {
                Err(fault) => assert!(!fault.hint().is_empty() && !fault.to_string().is_empty()),
                Ok(scan) => {
                    assert!(!scan.mesh.triangles.is_empty(), "{name} cut at {end}");
                    // Only an OBJ does not say how long it should be.
                    let noted = scan.notes.iter().any(|n| n.code == "no-last-line-end");
                    let at_line_end = bytes[end - 1] == b'\n' || bytes[end] == b'\n';
                    assert!(
                        name.ends_with("obj") && (noted || at_line_end),
                        "{name} cut at {end} of {}",
                        bytes.len()
                    );
                }
            }
        }
    }
}

#[test]
fn what_is_no_file_or_no_scan_is_named() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    assert_eq!(read_mesh(folder.path()), Err(ReadFault::Folder));
    let missing = folder.path().join("nose.ply");
    assert_eq!(read_mesh(&missing), Err(ReadFault::Missing));
    let problem = ReadFault::Missing.about(&missing).to_string();
    assert!(
        problem.contains("nose.ply") && problem.contains("to do"),
        "{problem}"
    );

    assert_eq!(read_as("a.stl", b""), Err(ReadFault::Empty));
    for (name, bytes) in [
        ("a.obj", &b"\xff\xfev\0 \x001\0"[..]),
        ("a.obj", b"\xfe\xff\0v"),
    ] {
        assert_eq!(read_as(name, bytes), Err(ReadFault::WideText));
    }
    for (name, bytes) in [
        ("a.pdf", &b"%PDF-1.7 and so on"[..]),
        ("a.stl", b"hello"),
        ("a.png", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"),
        ("a.txt", b"a letter about a scan"),
        ("a", b"plywood"),
    ] {
        assert_eq!(
            read_as(name, bytes),
            Err(ReadFault::UnknownFormat),
            "{name}"
        );
    }
    assert_eq!(
        read_as("a.gltf", br#"{"asset":{"version":"2.0"}}"#),
        Err(ReadFault::GltfInPieces)
    );
    assert_eq!(
        read_as("a.stl", b"solid nothing\nendsolid nothing\n"),
        Err(ReadFault::NoTriangles { points: 0 })
    );
    assert!(matches!(
        read_as("a.stl", &binary_stl(b"", &[])),
        Err(ReadFault::NoTriangles { .. })
    ));
}

#[test]
fn a_point_cloud_is_told_from_a_mesh() {
    let ply = "ply\nformat ascii 1.0\nelement vertex 2\nproperty float x\nproperty float y\nproperty float z\n\
               end_header\n0 0 0\n1 1 1\n";
    for (name, text) in [
        ("cloud.ply", ply),
        ("cloud.obj", "v 0 0 0\nv 1 1 1\np 1 2\n"),
    ] {
        let fault = read_as(name, text.as_bytes()).expect_err("no triangles");
        assert_eq!(fault, ReadFault::NoTriangles { points: 2 });
        assert!(fault.hint().contains("point cloud"));
    }
}

#[test]
fn numbers_that_are_not_finite_pass_singly_and_stop_the_reading_when_they_are_all() {
    let nan = [[f32::NAN; 3]; 3];
    let inf = [[f32::INFINITY, 0.0, 0.0]; 3];
    assert_eq!(
        read_as("a.stl", &binary_stl(b"", &[nan, inf])),
        Err(ReadFault::NotFinite)
    );
    let mut soup = cube_soup();
    soup.push(nan);
    assert_eq!(
        read_as("a.stl", &binary_stl(b"", &soup))
            .expect("a cube")
            .triangles,
        13
    );
    assert_eq!(
        read_as("a.obj", b"v nan 0 0\nv 1 inf 0\nv 0 0 -inf\nf 1 2 3\n"),
        Err(ReadFault::NotFinite)
    );
}

#[test]
fn a_few_indices_that_point_nowhere_are_dropped_and_many_are_a_fault() {
    let many: String = "v 0 0 0\nv 1 0 0\nv 0 1 0\n".to_owned() + &"f 1 2 3\n".repeat(199);
    let scan = read_as("a.obj", (many.clone() + "f 1 2 4\n").as_bytes()).expect("a triangle");
    assert_eq!(
        (
            scan.triangles,
            scan.mesh.triangles.len(),
            scan.removed.degenerate
        ),
        (200, 199, 1)
    );
    let scan =
        read_as("a.obj", (many.clone() + "f 0 2 3\nf 1 2\n").as_bytes()).expect("a triangle");
    assert_eq!(
        (scan.mesh.triangles.len(), scan.removed.degenerate),
        (199, 2)
    );
    for bad in ["f 1 2 -9\n", "f 1 2 4000000000\n", "f 1 2 99999999999\n"] {
        let got = read_as("a.obj", (many.clone() + &bad.repeat(5)).as_bytes());
        assert_eq!(got, Err(ReadFault::BadIndices { bad: 5, of: 204 }), "{bad}");
    }
    let got = read_as("a.obj", (many + "f 1 2 three\n").as_bytes());
    assert!(
        matches!(got, Err(ReadFault::Malformed { ref place, .. }) if place == "line 203"),
        "{got:?}"
    );
}

#[test]
fn glb_files_that_lie_are_found_out() {
    let bin: Vec<u8> = [0; 168].to_vec();
    let json = CUBE_JSON.replace("LENGTH", "168");
    let with = |from: &str, to: &str| {
        assert!(json.contains(from), "{from}");
        read_as("a.glb", &glb_of(&json.replace(from, to), &bin))
    };
    for (from, to) in [
        // A view past the buffer, an accessor past its view, strides and offsets past all bounds.
        (r#""byteLength":96"#, r#""byteLength":9600000"#),
        (r#""count":8"#, r#""count":9"#),
        (r#""count":8"#, r#""count":0"#),
        (r#""count":8"#, r#""count":18446744073709551615"#),
        (r#""byteOffset":96"#, r#""byteOffset":18446744073709551615"#),
        (r#""byteLength":96"#, r#""byteLength":96,"byteStride":4"#),
        (
            r#""bufferView":0,"#,
            r#""bufferView":0,"byteOffset":18446744073709551600,"#,
        ),
        // Nothing there, or not of its kind.
        (r#""bufferView":0"#, r#""bufferView":7"#),
        (r#""bufferView":0,"#, ""),
        (r#""POSITION":0"#, r#""POSITION":5"#),
        (r#""POSITION":0"#, r#""POSITION":1"#),
        (r#""indices":1"#, r#""indices":0"#),
        (r#""mesh":0"#, r#""mesh":1"#),
        (r#""nodes":[0]"#, r#""nodes":[9]"#),
        // A node that is its own child.
        (r#""mesh":0"#, r#""children":[0]"#),
        // Compressed.
        ("EXT_texture_webp", "KHR_draco_mesh_compression"),
        // Points only.
        (r#""indices":1"#, r#""mode":0"#),
        (r#"{"asset""#, r#"{asset"#),
    ] {
        let got = with(from, to);
        assert!(
            got.is_err() && got != Err(ReadFault::Unforeseen),
            "{from} -> {to}: {got:?}"
        );
    }
    let mut old = glb_of(&json, &bin);
    old[4] = 1;
    assert!(matches!(
        read_as("a.glb", &old),
        Err(ReadFault::Unsupported(_))
    ));
    let elsewhere = json.replace(
        r#"{"byteLength":168}"#,
        r#"{"byteLength":168,"uri":"cube.bin"}"#,
    );
    assert_eq!(
        read_as("a.glb", &glb_of(&elsewhere, &bin)),
        Err(ReadFault::GltfInPieces)
    );
}
