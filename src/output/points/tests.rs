use super::*;
use crate::scan::{Unit, inspect};

/// A sheet of small triangles, 400 by 100 units, as text OBJ.
fn sheet() -> String {
    let mut text = String::new();
    for (i, k) in (0..=80).flat_map(|i| (0..=20).map(move |k| (i, k))) {
        text += &format!("v {} {} {}\n", i * 5, k * 5, (i * i) as f64 / 400.0);
    }
    for (i, k) in (0..80).flat_map(|i| (1..=20).map(move |k| (i, k))) {
        let a = i * 21 + k;
        text += &format!("f {a} {} {} {}\n", a + 21, a + 22, a + 1);
    }
    text
}

fn seen(folder: &Path, name: &str) -> Inspection {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(&path, sheet()).unwrap();
    inspect(&path, Some(Unit::Millimetre)).unwrap()
}

#[test]
fn a_page_of_ours_is_replaced_and_no_other() {
    let bench = tempfile::tempdir().unwrap();
    let scans = [
        seen(bench.path(), "a/nose.obj"),
        seen(bench.path(), "b/nose.obj"),
    ];
    let pages = write_points_pages(bench.path(), &scans).unwrap();
    let names = ["nose.points.html", "nose-2.points.html"].map(|n| bench.path().join(n));
    assert_eq!(pages, names);
    let first = fs::read(&pages[0]).unwrap();
    write_points_pages(bench.path(), &scans[..1]).unwrap();
    assert_eq!(fs::read(&pages[0]).unwrap(), first);
    fs::write(&pages[0], "<p>mine</p>").unwrap();
    let problem = write_points_pages(bench.path(), &scans[..1]).unwrap_err();
    assert!(problem.to_string().contains("left alone"), "{problem}");
    assert_eq!(fs::read_to_string(&pages[0]).unwrap(), "<p>mine</p>");
    assert_eq!(fs::read_dir(bench.path()).unwrap().count(), 4);
    let problem = write_points_pages(&bench.path().join("none"), &scans[..1]).unwrap_err();
    assert!(problem.to_string().contains("--no-page"), "{problem}");
}

#[test]
fn the_page_reaches_out_for_nothing() {
    let bench = tempfile::tempdir().unwrap();
    let pages = write_points_pages(bench.path(), &[seen(bench.path(), "tray.obj")]).unwrap();
    let text = fs::read_to_string(&pages[0]).unwrap();
    // The one address is the name of SVG's own vocabulary.
    let without = text.replace("http://www.w3.org/2000/svg", "");
    for reach in [
        "http:", "https:", "src=", "href=", "url(", "@import", "fetch(",
    ] {
        assert!(!without.contains(reach), "{reach}");
    }
    assert!(text.contains("value=\"tray\" checked"));
}
