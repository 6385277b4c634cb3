use super::*;
use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;

fn tent() -> TriMesh {
    let points = [
        (0.0, 0.0, 5.0),
        (30.0, 0.0, 5.0),
        (30.0, 10.0, 9.0),
        (0.0, 10.0, 9.0),
        (0.0, 20.0, 5.0),
        (30.0, 20.0, 5.0),
    ];
    TriMesh {
        points: points.map(|(x, y, z)| Point3::new(x, y, z)).to_vec(),
        triangles: vec![[0, 1, 2], [0, 2, 3], [3, 2, 5], [3, 5, 4]],
    }
}

fn part<'a>(name: &'a str, mesh: &'a TriMesh, away: f64) -> Part<'a> {
    Part {
        name,
        mesh,
        tone: Tone::Grey,
        lines: Lines::RimsAndFolds,
        away: Vector3::z() * away,
        at_first: AtFirst::Shown,
        label: None,
    }
}

fn packed(html: &str) -> serde_json::Value {
    let (_, rest) = html.split_once("application/json\">").unwrap();
    serde_json::from_str(rest.split_once("</script>").unwrap().0).unwrap()
}

#[test]
fn names_cannot_break_out_of_the_page() {
    let mesh = tent();
    let parts = [part("</script><b>\"&", &mesh, 0.0), part("b", &mesh, 4.0)];
    let html = element(&Model {
        parts: &parts,
        stance: Stance::of(&mesh),
        mm: 1.0,
        says: "<i>",
    });
    assert_eq!(html.matches("</script>").count(), 1);
    assert!(!html.contains("<b>\"&") && !html.contains("<i>:"));
    assert_eq!(packed(&html)["parts"][0]["name"], "</script><b>\"&");
    assert!(html.contains("data-part=\"1\"") && html.contains("Pull apart"));
}

#[test]
fn positions_and_indices_are_packed_little_end_first() {
    let mesh = tent();
    let value = packed::pack(&part("tent", &mesh, 0.0));
    assert_eq!(value["offset"], json!([0.0, 0.0, 5.0]));
    assert_eq!(value["wide"], false);
    // (0, 0, 0), (65535, 0, 0): bytes 00 00 00 00 00 00 ff ff 00 00 00 00.
    assert!(
        value["points"]
            .as_str()
            .unwrap()
            .starts_with("AAAAAAAA//8AAAAA")
    );
    // 0, 1, 2 in 16 bits: 00 00 01 00 02 00.
    assert!(value["triangles"].as_str().unwrap().starts_with("AAABAAIA"));
    // The fold along the ridge (2 atan 0.4 = 44 degrees) is drawn with the six edges of the rim: seven
    // pairs of 16 bits, 28 bytes, 40 letters; without it 24 bytes, 32 letters.
    assert_eq!(value["lines"].as_str().unwrap().len(), 40);
    let plain = Part {
        lines: Lines::Rims,
        ..part("tent", &mesh, 0.0)
    };
    assert_eq!(packed::pack(&plain)["lines"].as_str().unwrap().len(), 32);
}

#[test]
fn it_stands_with_its_longest_side_across_and_its_shortest_up() {
    let stance = Stance::of(&tent());
    assert!((stance.across - Vector3::x()).norm() < 1e-9, "{stance:?}");
    assert!((stance.up - Vector3::z()).norm() < 1e-9, "{stance:?}");
}

#[test]
fn nothing_at_all_still_gives_a_model() {
    let empty = TriMesh::default();
    let parts = [part("none", &empty, 0.0)];
    let html = element(&Model {
        parts: &parts,
        stance: Stance::of(&empty),
        mm: 1.0,
        says: "nothing",
    });
    assert!(!html.contains("NaN") && !html.contains("null"));
}
