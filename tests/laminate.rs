//! Laying up on the three samples with the real binary: on a printed core, on a solid and on a hollow
//! buck. Solids are read back and checked by a general-purpose geometry library; the patterns' numbers
//! are held against each other.

#![allow(clippy::expect_used, clippy::panic)]

#[path = "common/read_back.rs"]
mod read_back;

use gapwright::buck::form::{self, BuckOptions};
use gapwright::job::Job;
use gapwright::math::Point2;
use gapwright::progress::Progress;
use gapwright::{panel, pipeline};
use parry3d_f64::math::Vector;
use parry3d_f64::query::PointQuery;
use parry3d_f64::shape::{TriMesh, TriMeshFlags};
use read_back::{expect_all_solids, expect_solid};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// Runs `make` on a sample with more lines in its job, into `out` beside the job.
fn make(sample: &str, folder: &Path, lines: &str) -> Output {
    make_with(sample, folder, lines, str::to_owned)
}

/// The same with a change to the sample's own job.
fn make_with(sample: &str, folder: &Path, lines: &str, change: impl Fn(&str) -> String) -> Output {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let from = root.join("sample-meshes").join(sample);
    for entry in fs::read_dir(&from).expect("a sample") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().expect("a name");
        if path.is_file() && name != "job.toml" {
            fs::copy(&path, folder.join(name)).expect("a copy");
        }
    }
    let job = fs::read_to_string(from.join("job.toml")).expect("a job");
    let path = folder.join("job.toml");
    fs::write(&path, format!("{}\n{lines}", change(&job))).expect("a job");
    Command::new(env!("CARGO_BIN_EXE_gapwright"))
        .arg("make")
        .arg(&path)
        .arg("--out")
        .arg(folder.join("out"))
        .output()
        .expect("the binary runs")
}

fn report(folder: &Path) -> Value {
    let bytes = fs::read(folder.join("out/report.json")).expect("a report");
    serde_json::from_slice(&bytes).expect("JSON")
}

fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("{value} is no number"))
}

fn list(value: &Value) -> &[Value] {
    value
        .as_array()
        .unwrap_or_else(|| panic!("{value} is no list"))
}

/// Patterns from end to end, within the limits, with a file each; amounts that follow from them.
fn expect_cloth(sample: &str, folder: &Path, laminate: &Value) {
    let pieces = list(&laminate["pieces"]);
    assert!(!pieces.is_empty());
    for piece in pieces {
        let file = piece["file"].as_str().expect("a name");
        let text = fs::read_to_string(folder.join("out").join(file)).expect("a pattern");
        assert!(text.contains("100 mm"), "{sample}: {file} has no check bar");
        let sheets = file.replace(".svg", "_A4.pdf");
        let bytes = fs::read(folder.join("out").join(sheets)).expect("sheets");
        assert!(bytes.starts_with(b"%PDF"));
        let told = list(&findings(folder))
            .iter()
            .any(|f| f["code"] == "cloth-does-not-lie");
        assert!(piece["lies_down"] == true || told, "{sample}: {piece}");
        assert!(piece["lies_down"] == true, "{sample}: {piece}");
    }
    // Fibre to buy by hand from the pieces and the flange's strip: area of each ply's, times its weight, and
    // 15 % on top.
    let strip = &laminate["flange_strip"];
    let strip_m2 = match laminate["way"].as_str() {
        Some("buck") => 1e-6 * number(&strip["width_mm"]) * number(&strip["length_mm"]),
        _ => 0.0,
    };
    assert_eq!(strip.is_null(), strip_m2 == 0.0, "{sample}");
    let plies = list(&laminate["plies"]);
    let cut = |number: &Value| -> f64 {
        pieces
            .iter()
            .filter(|piece| list(&piece["plies"]).contains(number))
            .map(|piece| self::number(&piece["area_m2"]))
            .sum::<f64>()
            + strip_m2
    };
    let fibre: f64 = plies
        .iter()
        .map(|ply| cut(&ply["number"]) * number(&ply["g_m2"]))
        .sum();
    let bought: f64 = list(&laminate["buy"])
        .iter()
        .map(|need| number(&need["buy_g"]))
        .sum();
    assert!(
        (bought / (1.15 * fibre) - 1.0).abs() < 5e-3,
        "{bought} {fibre}"
    );
    let resin: f64 = plies
        .iter()
        .map(|ply| cut(&ply["number"]) * number(&ply["resin_g_m2"]))
        .sum();
    assert!((number(&laminate["resin_g"]) / (1.15 * resin) - 1.0).abs() < 5e-3);
}

fn findings(folder: &Path) -> Value {
    report(folder)["warnings"].clone()
}

#[test]
fn bucks_of_all_samples_solid_and_hollow_fit_the_printer() {
    for sample in ["nose", "skirt", "tail"] {
        for wall in ["0.0", "5.0"] {
            let folder = tempfile::tempdir().expect("a folder");
            let lines = format!("[laminate]\nway = \"buck\"\n[buck]\nwall_mm = {wall}\n");
            let run = make(sample, folder.path(), &lines);
            let told = String::from_utf8_lossy(&run.stderr);
            assert_eq!(run.status.code(), Some(0), "{sample} {wall}: {told}");
            let report = report(folder.path());
            let out = folder.path().join("out");
            let whole = expect_solid(&out.join("buck/buck.stl"));
            let volume = number(&report["buck"]["volume_cm3"]) * 1e3;
            assert!((whole.volume / volume - 1.0).abs() < 1e-3);
            let on_top = number(&report["laminate"]["on_top_mm"]);
            assert!((number(&report["buck"]["set_in_mm"]) - on_top).abs() < 1e-3);
            let segments = list(&report["buck"]["segments"]);
            for segment in segments {
                // Heavy, and as tall as wide: it stands on its base, not on the crown of its face (common
                // practice, no source).
                let pose = &segment["pose"];
                let (contact, tall) = (number(&pose["contact_mm2"]), number(&pose["height_mm"]));
                assert!(contact > 10.0 * tall, "{sample} {wall}: {pose}");
                let file = format!("segment_{:02}.stl", number(&segment["number"]) as usize);
                for kind in ["segments", "print"] {
                    let solid = expect_solid(&out.join("buck").join(kind).join(&file));
                    if kind == "print" {
                        // The starter's build volume; turned in plan or not, it has to go in as it lies.
                        let size = solid.high - solid.low;
                        let room = [220.0, 220.0, 250.0];
                        for (side, most) in [size.x, size.y, size.z].iter().zip(room) {
                            assert!(*side <= most + 1e-3, "{sample} {wall} {file}: {size:?}");
                        }
                    }
                }
            }
            expect_cloth(sample, folder.path(), &report["laminate"]);
            // Three thin plies of glass against 3 mm of PETG: 4.88 times, by hand in `buck::stiffness`.
            let bending = &report["laminate"]["bending"];
            assert!((number(&bending["times_the_plastic"]) - 4.88).abs() < 0.01);
            let softer = "laminate-bends-more";
            assert!(
                list(&report["warnings"])
                    .iter()
                    .any(|f| f["code"] == softer)
            );
        }
    }
}

/// The buck's face offset outward by all that goes on it is the finished outside: 0.15 mm RMS, 0.4 mm at worst.
/// Independent of how the buck was made: what is laid on with one thickness reaches as far from the buck as that
/// thickness, so every point of the outside the panel was designed to has to be that far from the finished
/// solid's nearest point, by another library's tree of bounding volumes. Points within laminate and 3 mm of a
/// hollow corner of the section are left out, as their radius is.
#[test]
fn bucks_of_the_samples_offset_by_the_laminate_are_the_intended_outside() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes");
    for sample in ["nose", "skirt", "tail"] {
        let job = Job::read(&root.join(sample).join("job.toml"))
            .unwrap_or_else(|faults| panic!("{sample}: {faults:?}"));
        let watch = Progress::silent();
        let survey = pipeline::measure(&job, &watch).expect("a survey").survey;
        let panel = panel::design(&survey, &job.panel, &watch).expect("a panel");
        let options = BuckOptions {
            wall_mm: 0.0,
            ..BuckOptions::default()
        };
        let buck = form::design(&panel, &survey.spine, &options, &watch).expect("a buck");
        let solid = buck.solid.mesh();
        let vertices = solid.points.iter().map(|p| Vector::new(p.x, p.y, p.z));
        let flags = TriMeshFlags::empty();
        let tree = TriMesh::with_flags(vertices.collect(), solid.triangles.clone(), flags);
        let tree = tree.unwrap_or_else(|fault| panic!("{sample}: {fault}"));
        let thick = options.on_top.total();
        let mut off = Vec::new();
        for pair in panel.sections.windows(2) {
            let steps = ((pair[1].s - pair[0].s) / 3.0).ceil().max(1.0) as usize;
            for step in 0..steps {
                let share = step as f64 / steps as f64;
                let frame = survey
                    .spine
                    .frame_at(pair[0].s + (pair[1].s - pair[0].s) * share);
                let row: Vec<Point2> = (pair[0].finished.iter())
                    .zip(&pair[1].finished)
                    .map(|(a, b)| a + (b - a) * share)
                    .collect();
                let hollow: Vec<Point2> = (row.windows(3))
                    .filter(|p| (p[1] - p[0]).perp(&(p[2] - p[1])) < 0.0)
                    .filter(|p| {
                        let (a, b) = (p[1] - p[0], p[2] - p[1]);
                        a.perp(&b).atan2(a.dot(&b)).abs() > 5f64.to_radians()
                    })
                    .map(|p| p[1])
                    .collect();
                for edge in row.windows(2) {
                    let parts = ((edge[1] - edge[0]).norm() / 3.0).ceil().max(1.0) as usize;
                    for part in 0..parts {
                        let p = edge[0] + (edge[1] - edge[0]) * (part as f64 / parts as f64);
                        if hollow.iter().any(|h| (h - p).norm() < thick + 3.0) {
                            continue;
                        }
                        let at = frame.to_shop(p);
                        let at = Vector::new(at.x, at.y, at.z);
                        let near = tree.project_local_point(at, false).point;
                        off.push((near - at).length() - thick);
                    }
                }
            }
        }
        let rms = (off.iter().map(|d| d * d).sum::<f64>() / off.len() as f64).sqrt();
        let worst = off.iter().fold(0.0f64, |most, d| most.max(d.abs()));
        println!(
            "{sample}: {} points, rms {rms:.3}, worst {worst:.3}",
            off.len()
        );
        assert!(off.len() > 1000, "{sample}: {} points", off.len());
        assert!(
            rms < 0.15 && worst < 0.4,
            "{sample}: rms {rms:.3}, worst {worst:.3}"
        );
    }
}

#[test]
fn cores_of_all_samples_carry_their_laminate() {
    for sample in ["nose", "skirt", "tail"] {
        let folder = tempfile::tempdir().expect("a folder");
        let lines = "[laminate]\nway = \"core\"\n\
                     [[ply]]\nfibre = \"carbon\"\n[[ply]]\nfibre = \"carbon\"\nturn_deg = 45.0\n";
        let run = make(sample, folder.path(), lines);
        let told = String::from_utf8_lossy(&run.stderr);
        assert_eq!(run.status.code(), Some(0), "{sample}: {told}");
        let report = report(folder.path());
        assert!(report["buck"].is_null());
        expect_solid(&folder.path().join("out/panel.stl"));
        let laminate = &report["laminate"];
        // Two plies of 200 g of carbon at 0.45: 0.4938 mm by hand, and 0.5 mm of finish.
        assert!((number(&laminate["on_top_mm"]) - 0.9938).abs() < 1e-3);
        let codes: Vec<&str> = list(&report["warnings"])
            .iter()
            .filter_map(|f| f["code"].as_str())
            .collect();
        assert!(codes.contains(&"laminate-not-symmetric"));
        expect_cloth(sample, folder.path(), laminate);
    }
}

/// A run with everything that is written as STL: panel, coupons, buck, the other side's twin, and the panel of a
/// position that the first does not serve. Each file is read back, closed and manifold.
#[test]
fn every_stl_of_a_run_is_closed_as_it_is_read_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let lines = "[laminate]\nway = \"buck\"\n[[position]]\nname = \"low\"\nup_mm = -8.0\n";
    let run = make_with("tail", folder.path(), lines, |job| {
        job.replace("[panel]\n", "[panel]\ntwin = \"mirrored\"\n")
    });
    let told = String::from_utf8_lossy(&run.stderr);
    assert_eq!(run.status.code(), Some(0), "{told}");
    // The buck first, then what is for trying, then the panel of the position's own.
    let said = String::from_utf8_lossy(&run.stdout);
    let at = |words: &str| {
        said.find(words)
            .unwrap_or_else(|| panic!("{words}: {said}"))
    };
    assert!(at("buck         print this: ") < at("for trying only"));
    assert!(at("for trying only") < at("panel for    low: panel_low.stl"));
    assert!(said.contains("first chapters are about panel.stl"));
    let counts = expect_all_solids(&folder.path().join("out"));
    let report = report(folder.path());
    let count = list(&report["segments"]).len();
    // The panel, its twin and the position's own.
    assert_eq!(counts[""], 3, "{counts:?}");
    assert_eq!(counts["coupons"], 3);
    assert_eq!(counts["buck"], 1);
    let of_buck = list(&report["buck"]["segments"]).len();
    for (of, count) in [
        ("", count),
        ("twin/", count),
        ("positions/low/", count),
        ("buck/", of_buck),
    ] {
        for kind in ["segments", "print"] {
            assert_eq!(counts[&format!("{of}{kind}")], count, "{of}{kind}");
        }
        // And as 3MF, all of them in place: another library finds as many objects.
        let all = folder
            .path()
            .join(format!("out/{of}segments/all_in_place.3mf"));
        let models = threemf::read(fs::File::open(all).expect("a file")).expect("3MF");
        assert_eq!(models.len(), 1);
        assert_eq!(models[0].build.item.len(), count, "{of}");
        assert_eq!(models[0].resources.object.len(), count, "{of}");
    }
}

#[test]
fn a_cure_that_softens_the_print_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let hot = "[laminate]\nway = \"buck\"\ncure_c = 80.0\n";
    let run = make("nose", folder.path(), hot);
    let told = String::from_utf8_lossy(&run.stderr);
    assert_eq!(run.status.code(), Some(2), "{told}");
    // PETG softens from 75 C: makers' data sheets.
    assert!(told.contains("cure_c") && told.contains("75 C"), "{told}");
}
