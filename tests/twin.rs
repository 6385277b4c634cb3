//! The panel for the other side, held against that side's own scans: here the sample's mirror image, through
//! STL and back, as a second vehicle side would be scanned.

#![allow(clippy::unwrap_used, clippy::panic)]

use gapwright::job::Job;
use gapwright::panel::proof::TwinFit;
use gapwright::panel::proof::twin::hold;
use gapwright::pipeline;
use gapwright::progress::Progress;
use std::fs;
use std::path::Path;

/// A sample's mesh as triangles, from its binary PLY: floats, then faces of three corners.
fn triangles(path: &Path) -> Vec<[[f32; 3]; 3]> {
    let bytes = fs::read(path).unwrap();
    let mark = b"end_header\n";
    let start = bytes.windows(mark.len()).position(|w| w == mark).unwrap() + mark.len();
    let head = String::from_utf8_lossy(&bytes[..start]);
    let count = |what: &str| -> usize {
        let line = head.lines().find(|line| line.starts_with(what)).unwrap();
        line.rsplit(' ').next().unwrap().parse().unwrap()
    };
    let (vertices, faces) = (count("element vertex"), count("element face"));
    let word = |at: usize| -> [u8; 4] { bytes[at..at + 4].try_into().unwrap() };
    let point = |i: usize| [0, 4, 8].map(|axis| f32::from_le_bytes(word(start + 12 * i + axis)));
    let list = start + 12 * vertices;
    (0..faces)
        .map(|f| {
            let at = list + 13 * f;
            assert_eq!(bytes[at], 3);
            [1, 5, 9].map(|k| point(u32::from_le_bytes(word(at + k)) as usize))
        })
        .collect()
}

/// Binary STL of the mirror image; `up` is added to its last axis but one, which points up in the sample.
fn write_mirrored(path: &Path, triangles: &[[[f32; 3]; 3]], up: f32) {
    let mut bytes = vec![0u8; 80];
    bytes.extend((triangles.len() as u32).to_le_bytes());
    for [a, b, c] in triangles {
        bytes.extend([0u8; 12]);
        // Turned over as well, so that the outside stays outside.
        for p in [a, c, b] {
            for value in [-p[0], p[1] + up, p[2]] {
                bytes.extend(value.to_le_bytes());
            }
        }
        bytes.extend([0u8; 2]);
    }
    fs::write(path, bytes).unwrap();
}

/// Jobs of both sides in a folder, the other side's body raised by `up` (m).
fn jobs(folder: &Path, up: f32) -> [Job; 2] {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-meshes/skirt");
    let text = fs::read_to_string(sample.join("job.toml")).unwrap();
    for name in ["body", "tray"] {
        let from = sample.join(format!("{name}.ply"));
        fs::copy(&from, folder.join(format!("{name}.ply"))).unwrap();
        let up = if name == "body" { up } else { 0.0 };
        let to = folder.join(format!("other {name}.stl"));
        write_mirrored(&to, &triangles(&from), up);
    }
    let other = text
        .replace("\"body.ply\"", "\"other body.stl\"")
        .replace("\"tray.ply\"", "\"other tray.stl\"");
    assert_eq!(other.matches(".stl\"").count(), 2);
    let asked = "[panel]\ntwin = \"mirrored\"\ntwin_job = \"other side.toml\"\n";
    let here = text.replacen("[panel]\n", asked, 1);
    let files = [("job.toml", here), ("other side.toml", other)];
    for (name, text) in &files {
        fs::write(folder.join(name), text).unwrap();
    }
    files.map(|(name, _)| Job::read(&folder.join(name)).unwrap_or_else(|f| panic!("{f:?}")))
}

#[test]
fn the_other_side_as_scanned_says_how_the_twin_fits() {
    let codes =
        |fit: &TwinFit| -> Vec<&'static str> { fit.findings.iter().map(|f| f.code).collect() };
    let folder = tempfile::tempdir().unwrap();
    let silent = Progress::silent();
    let [job, _] = jobs(folder.path(), 0.0);
    let made = pipeline::make(&job, &silent).unwrap_or_else(|f| panic!("{f}"));
    let twin = made.twin.as_ref().unwrap();
    let fit = twin.fit.as_ref().unwrap();
    assert_eq!(codes(fit), ["twin-fits"], "{:?}", fit.findings);
    // An end of an edge is known to about one edge length of the scan, 4.5 mm here.
    assert!(
        fit.longer_mm.abs() < 4.5 && fit.stations.len() > 300,
        "{}",
        fit.longer_mm
    );
    let aside = fit
        .stations
        .iter()
        .map(|at| at.aside_mm.powi(2))
        .sum::<f64>();
    let aside = (aside / fit.stations.len() as f64).sqrt();
    assert!(aside < 0.2, "{aside}");
    // A body that stands 14 mm higher on that side leaves 14 mm more: the lip laps by 10.
    let [_, raised] = jobs(folder.path(), 0.014);
    let raised = pipeline::measure(&raised, &silent).unwrap_or_else(|f| panic!("{f}"));
    let here = &made.measured.survey;
    let other = hold(&made.panel, here, &raised.survey, &job.panel);
    assert!(codes(&other).contains(&"twin-off"), "{:?}", codes(&other));
    let near = |s: f64| {
        let off = |at: &&gapwright::panel::proof::TwinAt| (at.s - s).abs();
        other
            .stations
            .iter()
            .min_by(|a, b| off(a).total_cmp(&off(b)))
            .unwrap()
    };
    let mut more: Vec<f64> = (fit.stations.iter())
        .map(|at| near(at.s).left_mm - at.left_mm)
        .collect();
    more.sort_by(f64::total_cmp);
    let middle = more[more.len() / 2];
    assert!((middle - 14.0).abs() < 0.3, "{middle}");
}
