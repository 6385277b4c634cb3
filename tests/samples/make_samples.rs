//! Makes the scans under `sample-meshes/`, or under the folder named as first argument.
//!
//! With `--truth` as second argument the true surfaces and the uncropped scan are written too.

#[path = "../common/sim/mod.rs"]
mod sim;

use sim::{Case, ScanQuality, SimScan, write_ply};
use std::error::Error;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = arguments.next().unwrap_or_else(|| "sample-meshes".into());
    let truth = arguments.any(|a| a == "--truth");
    let cases = [
        ("nose", Case::nose(2), [1.5, 4.0, 1.5]),
        ("skirt", Case::skirt(3), [1.5, 4.5, 2.0]),
        ("tail", Case::tail(2), [1.2, 4.0, 1.0]),
    ];
    for (name, case, [noise, voxel, drift]) in cases {
        let quality = ScanQuality {
            noise,
            voxel,
            drift,
        };
        let scan = case.scan(quality);
        let folder = Path::new(&folder).join(name);
        std::fs::create_dir_all(&folder)?;
        write_ply(&folder.join("body.ply"), &scan.body)?;
        write_ply(&folder.join("tray.ply"), &scan.tray)?;
        let json = scan.truth.to_json(scan.unit.symbol());
        std::fs::write(
            folder.join("truth.json"),
            serde_json::to_string(&json)? + "\n",
        )?;
        std::fs::write(
            folder.join("README.md"),
            describe(name, &case, quality, &scan),
        )?;
        if truth {
            write_ply(&folder.join("combined.ply"), &scan.combined)?;
            write_ply(&folder.join("truth_body.ply"), &scan.truth.body)?;
            write_ply(&folder.join("truth_tray.ply"), &scan.truth.tray)?;
        }
    }
    Ok(())
}

fn describe(name: &str, case: &Case, quality: ScanQuality, scan: &SimScan) -> String {
    let what = match name {
        "nose" => "nose of a home-built electric three-wheeler, lip rolled inboard",
        "skirt" => "side skirt of a motorhome, cut edge with a 10 mm step and a 20 mm notch",
        _ => "tail of a gravity racer, a U with tight corners, cut edge",
    };
    let gaps = scan.truth.stations.iter().map(|s| s.gap);
    format!(
        "# {name}\n\n\
         An invented vehicle: {what}; edge {:.0} mm long, gap {:.0} to {:.0} mm.\n\n\
         - `body.ply`, `tray.ply`: simulated scan in {}, {:?} up. Made by `cargo run --release --example make_samples`: \
         exact surfaces seen by a hand-held depth camera (noise {} mm), fused in a truncated signed distance grid \
         (voxel {} mm, pose drift {} mm), meshed by marching cubes, split by what lies nearer.\n\
         - `truth.json`: the true edge, gap and silhouette at stations along the edge (vehicle frame, mm) and the \
         4x4 from file units to that frame.\n",
        scan.truth.stations.last().map_or(0.0, |s| s.s),
        gaps.clone().fold(f64::MAX, f64::min),
        gaps.fold(f64::MIN, f64::max),
        scan.unit.symbol(),
        case.up,
        quality.noise,
        quality.voxel,
        quality.drift,
    )
}
