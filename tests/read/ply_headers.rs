//! PLY files whose headers and lists lie or are odd.

use super::*;

fn ply_with(header: &str, data: &[u8]) -> Result<RawScan, ReadFault> {
    read_as(
        "x.ply",
        &[b"ply\n", header.as_bytes(), b"end_header\n", data].concat(),
    )
}

#[test]
fn ply_headers_that_lie_are_found_out_at_once() {
    let xyz = "property float x\nproperty float y\nproperty float z\n";
    for format in ["ascii", "binary_little_endian", "binary_big_endian"] {
        for count in ["18446744073709551615", "4000000000", "100"] {
            let got = ply_with(
                &format!("format {format} 1.0\nelement vertex {count}\n{xyz}"),
                &[0; 600],
            );
            let truncated = matches!(got, Err(ReadFault::Truncated { .. }));
            // 100 points of 12 bytes do not fit; as text 100 lines of three digits would.
            assert!(
                truncated || (format == "ascii" && count == "100" && got.is_err()),
                "{format} {count}: {got:?}"
            );
        }
        for count in ["99999999999999999999", "-3", "2.5", "many"] {
            let got = ply_with(
                &format!("format {format} 1.0\nelement vertex {count}\n{xyz}"),
                &[0; 600],
            );
            assert!(
                matches!(got, Err(ReadFault::HeaderLies(_))),
                "{format} {count}: {got:?}"
            );
        }
        for count in ["1", "18446744073709551615"] {
            let got = ply_with(
                &format!("format {format} 1.0\nelement hollow {count}\n"),
                &[0; 600],
            );
            assert!(
                matches!(got, Err(ReadFault::HeaderLies(_))),
                "{format} {count}: {got:?}"
            );
        }
    }
}

#[test]
fn ply_headers_that_make_no_sense_are_refused() {
    let vertex = "format ascii 1.0\nelement vertex 1\n";
    for header in [
        "element vertex 1\nproperty float x\n".to_owned(),
        "format morse 1.0\n".into(),
        "format ascii 1.0\nproperty float x\n".into(),
        "format ascii 1.0\nelement vertex\n".into(),
        format!("{vertex}property quaternion x\n"),
        format!("{vertex}property list float int x\n"),
        format!("{vertex}property list uchar\n"),
        format!("{vertex}property float\n"),
        format!("{vertex}property float x\nproperty float x\n"),
        format!("{vertex}property float x\nproperty float y\n"),
        format!("{vertex}property list uchar float x\nproperty float y\nproperty float z\n"),
        "format ascii 1.0\nelement face 1\nproperty int vertex_indices\n".into(),
        "format ascii 1.0\nsurprise\n".into(),
    ] {
        let got = ply_with(&header, b"1 2 3\n1 2 3\n");
        assert!(
            matches!(
                got,
                Err(ReadFault::HeaderLies(_) | ReadFault::Malformed { .. })
            ),
            "{header}: {got:?}"
        );
    }
    let endless = "comment no end\n".repeat(10_000);
    let got = read_as("x.ply", format!("ply\n{endless}").as_bytes());
    assert!(matches!(got, Err(ReadFault::HeaderLies(_))), "{got:?}");
}

#[test]
fn ply_lists_of_any_length_type_and_sign_are_safe() {
    let xyz = "element vertex 3\nproperty char x\nproperty char y\nproperty char z\n";
    let points = [0, 0, 0, 1, 0, 0, 0, 1, 0u8];
    let with_face = |list: &str, face: &[u8]| {
        let header = format!(
            "format binary_little_endian 1.0\n{xyz}element face 1\nproperty list {list} vertex_indices\n"
        );
        ply_with(&header, &[&points[..], face].concat())
    };
    for (list, face) in [
        ("char char", &[3, 0, 1, 2][..]),
        ("uchar uchar", &[3, 0, 1, 2]),
        ("int8 int16", &[3, 0, 0, 1, 0, 2, 0]),
        ("uint16 uint8", &[3, 0, 0, 1, 2]),
        ("int32 uint8", &[3, 0, 0, 0, 0, 1, 2]),
    ] {
        let scan = with_face(list, face).unwrap_or_else(|e| panic!("{list}: {e}"));
        // Half base times height.
        assert_eq!(area(&scan.mesh), 0.5, "{list}");
    }
    // A negative length, a huge one, and one past the end.
    assert!(matches!(
        with_face("char uchar", &[0xff, 0, 1, 2]),
        Err(ReadFault::Truncated { .. })
    ));
    assert!(matches!(
        with_face("int uchar", &[0xff; 8]),
        Err(ReadFault::Truncated { .. })
    ));
    assert!(matches!(
        with_face("uchar uchar", &[9, 0, 1, 2]),
        Err(ReadFault::Truncated { .. })
    ));
    // Negative and fractional indices.
    assert!(matches!(
        with_face("uchar char", &[3, 0, 1, 0xff]),
        Err(ReadFault::BadIndices { bad: 1, of: 1 })
    ));
    assert!(matches!(
        with_face("uchar float", &[1, 0, 0, 0, 0]),
        Err(ReadFault::BadIndices { .. })
    ));
    // Too few corners for a triangle.
    assert!(matches!(
        with_face("uchar char", &[2, 0, 1]),
        Err(ReadFault::NoTriangles { points: 3 })
    ));
}

#[test]
fn ply_text_with_old_line_ends_and_blanks_is_read() {
    for (what, text) in [
        ("carriage returns", text_ply().replace('\n', "\r")),
        ("both", text_ply().replace('\n', "\r\n")),
        (
            "blank lines",
            text_ply().replace("end_header\n", "end_header\n\n  \n"),
        ),
        (
            "blanks round",
            text_ply()
                .replace("\n3 ", "\n   3\t ")
                .replace(" -7\n", " -7  \n"),
        ),
        ("no last line end", text_ply().trim_end().to_owned()),
    ] {
        let scan = read_as("x.ply", text.as_bytes()).unwrap_or_else(|e| panic!("{what}: {e}"));
        expect_cube(&scan, 1.0);
    }
    let fault = read_as(
        "x.ply",
        text_ply().replace("3 0 2 1", "3 0 2 one").as_bytes(),
    );
    assert!(
        matches!(fault, Err(ReadFault::Malformed { ref place, .. }) if place == "line 20"),
        "{fault:?}"
    );
}
