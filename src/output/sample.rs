//! An invented run with known numbers, for the tests of everything that shows or writes a run.

use super::{Made, Measured, StayingOn};
use crate::diag::Finding;
use crate::gap::seal::{Footing, Room};
use crate::gap::verdict::expect;
use crate::gap::{Budget, EdgeKind, Obstacle, Quality, Station, Survey, TrayStrip};
use crate::material::Material;
use crate::math::{Point2, Point3, Spine, Vector3};
use crate::mesh::{Solid, TriMesh};
use crate::panel::proof::air_load::{AirInput, FaceHeld, Planned};
use crate::panel::proof::fit::{FaceColumn, FacePoint, FitAt, FitProof, Foot};
use crate::panel::proof::heat::{HeatInput, HeldAt};
use crate::panel::proof::removal::{
    Moment, Move, OtherMount, Outcome, Part, Path, PathResult, RemovalProof, Tightest,
};
use crate::panel::proof::walls::Walls;
use crate::panel::proof::{AirOptions, HeatOptions, HeatSource, air_load, heat};
use crate::panel::{End, EndZone, Fairness, Mount, Panel, Section, Top, WallProof};
use crate::scan::{Removed, Scan, Scene, Source, Unit, UnitFrom};
use crate::split::{
    Estimate, Exploded, JoinStep, Joint, JointKind, Key, Label, Lies, Pose, PrintAssumptions,
    Scores, Segment, Segments,
};
use nalgebra::{Isometry3, Matrix4};

/// Radius of the arc the gap runs along (mm).
const RADIUS: f64 = 500.0;

/// A closed block between two corners.
pub fn block(lo: [f64; 3], hi: [f64; 3]) -> TriMesh {
    let corner = |i: usize| {
        let pick = |axis: usize| {
            if i >> axis & 1 == 0 {
                lo[axis]
            } else {
                hi[axis]
            }
        };
        Point3::new(pick(0), pick(1), pick(2))
    };
    let quads: [[u32; 4]; 6] = [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ];
    TriMesh {
        points: (0..8).map(corner).collect(),
        triangles: quads
            .iter()
            .flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]])
            .collect(),
    }
}

fn scan(name: &str, mesh: TriMesh, scale: f64) -> Scan {
    Scan {
        mesh,
        to_shop: Matrix4::new_scaling(scale),
        noise_mm: 0.41,
        spacing_mm: 3.2,
        pieces: 1,
        source: Source {
            path: format!("/somewhere/on/this/machine/{name}").into(),
            sha256: "ab".repeat(32),
            unit: Unit::Metre,
            unit_from: UnitFrom::Guess,
            triangles: 1000,
            points: 600,
            size_mm: [1400.0, 300.0, 250.0],
        },
        removed: Removed::default(),
    }
}

/// A ribbon along the spine between two offsets and heights: the scans of an ideal vehicle.
fn ribbon(spine: &Spine, from: impl Fn(f64) -> Point2, to: impl Fn(f64) -> Point2) -> TriMesh {
    let mut mesh = TriMesh::default();
    for k in 0..=100u32 {
        let s = spine.length() * f64::from(k) / 100.0;
        let frame = spine.frame_at(s);
        mesh.points
            .extend([frame.to_shop(from(s)), frame.to_shop(to(s))]);
        if k > 0 {
            let i = 2 * k;
            mesh.triangles
                .extend([[i - 2, i, i - 1], [i - 1, i, i + 1]]);
        }
    }
    mesh
}

/// The gap (mm) at an arc length: 32 mm at the left end, 8 mm more in the middle.
fn gap_at(s: f64, length: f64) -> f64 {
    32.0 + 8.0 * (std::f64::consts::PI * s / length).sin()
}

pub fn survey() -> Survey {
    let points: Vec<Point3> = (0..=60)
        .map(|k| (f64::from(k) - 30.0).to_radians() * 1.2)
        .map(|a| Point3::new(RADIUS * (a.cos() - 1.0), RADIUS * a.sin(), 0.0))
        .collect();
    let spine = Spine::fit(&points, &vec![1.0; points.len()], 40.0, 0.0).unwrap();
    let length = spine.length();
    let count = 200;
    let stations = (0..=count)
        .map(|k| {
            let s = length * f64::from(k) / f64::from(count);
            let frame = spine.frame_at(s);
            let gap = gap_at(s, length);
            let quality = match k {
                60..=75 => Quality::Bridged,
                76..=90 => Quality::Sparse,
                _ => Quality::Good,
            };
            let budget = Budget {
                noise: 0.3,
                rounding: 0.4,
                bridging: if quality == Quality::Good { 0.0 } else { 1.52 },
                ..Budget::default()
            };
            Station {
                s,
                edge: frame.to_shop(Point2::new(0.0, gap)),
                silhouette: frame.to_shop(Point2::new(4.0, gap + 6.0)),
                tray: frame.to_shop(Point2::new(0.0, 0.0)),
                tray_normal: Vector3::z(),
                lean: 0.1,
                gap,
                sigma: budget.combined(),
                budget,
                quality,
            }
        })
        .collect();
    Survey {
        tray: TrayStrip {
            along: vec![0.0, length],
            rows: vec![[0.0; 3]; 2],
        },
        spine,
        stations,
        edge_kind: EdgeKind::Rolled,
        edge_radius_mm: 5.0,
        obstacles: vec![Obstacle {
            along: [100.0, 130.0],
            across: [-30.0, -12.0],
            height: 4.0,
        }],
        findings: vec![
            Finding::note("unit-guessed", "the unit is taken to be m"),
            Finding::warning(
                "bridged",
                "the edge is not seen over 48 mm <here>",
                "scan it again or measure by hand",
            )
            .at(200.0)
            .size(48.0),
        ],
    }
}

pub fn measured() -> Measured {
    let survey = survey();
    let spine = &survey.spine;
    let length = spine.length();
    let skin = |up: f64| move |s: f64| Point2::new(3.0 + up * 0.1, gap_at(s, length) + up);
    let body = ribbon(spine, skin(0.0), skin(60.0));
    let tray = ribbon(
        spine,
        |_| Point2::new(-60.0, 0.0),
        |_| Point2::new(30.0, 0.0),
    );
    Measured {
        name: "nose & <tail>".to_owned(),
        scene: Scene {
            conditions: crate::scan::Conditions::default(),
            body: scan("body.ply", body, 1000.0),
            tray: scan("tray.ply", tray, 1000.0),
            rim: Vec::new(),
            placing: crate::scan::Placing::default(),
            tray_flatness_mm: 1.25,
            findings: vec![Finding::note("unit-guessed", "the unit is taken to be m")],
        },
        outlook: expect(&survey.stations, Room::of_foam(10.0, 6.75), Footing::Scans),
        top: Top::Butted,
        front: None,
        positions: Vec::new(),
        survey_id: "0123456789ab".to_owned(),
        checks: crate::gap::readings::choose_checks(&survey, 3.2),
        paper: crate::gap::pattern::Paper::A4,
        survey,
    }
}

/// Straight down is clear; out fouls at once.
fn removal(length: f64) -> RemovalProof {
    let path = |name: &str, x: f64, z: f64| Path {
        name: name.to_owned(),
        moves: vec![Move::Shift(Vector3::new(x, 0.0, z))],
    };
    let tightest = |mm: f64, share: f64| Tightest {
        mm,
        sigma_mm: 0.4,
        station_mm: 0.5 * length,
        at: Point3::new(4.0, 0.0, 28.0),
        moment: Moment { step: 0, share },
        parts: [Part::Panel, Part::Body],
    };
    RemovalProof {
        mount: Mount::Tray,
        paths: vec![
            PathResult {
                path: path("straight down", 0.0, -60.0),
                tightest: Some(tightest(1.25, 0.0)),
                outcome: Outcome::Clear,
            },
            PathResult {
                path: path("out", 60.0, 0.0),
                tightest: Some(tightest(0.0, 0.02)),
                outcome: Outcome::Fouls {
                    trim_mm: Some(10.5),
                    other_mount: OtherMount::Clears,
                },
            },
        ],
        best: Some(0),
        allowance_mm: 0.6,
        let_down_mm: 0.0,
        left_out: 0,
        findings: Vec::new(),
    }
}

/// A fit with known numbers: 1.8 mm clear over the top, the foot half a millimetre off the tray.
fn fit(length: f64) -> FitProof {
    let places = || (0..=20).map(move |k| length * f64::from(k) / 20.0);
    FitProof {
        stations: places()
            .map(|s| FitAt {
                s,
                top_clearance_mm: Some(1.8),
                joint_mm: 2.0,
                top_sigma_mm: 0.5,
                foot: Some(Foot {
                    middle_mm: 0.5,
                    least_mm: -0.25,
                    most_mm: 1.25,
                    sigma_mm: 0.25,
                }),
                residual_mm: 0.0,
            })
            .collect(),
        body: None,
        tray: None,
        meant_mm: 2.0,
        room: Room::of_foam(3.0, 2.0),
        tray_scatter_mm: 0.6,
        face: places()
            .map(|s| FaceColumn {
                s,
                knee_mm: 30.0,
                points: (-10_i32..=15)
                    .map(|k| FacePoint {
                        up_mm: 2.0 * f64::from(k),
                        off_mm: Some(f64::from(k.abs())),
                    })
                    .collect(),
            })
            .collect(),
        findings: Vec::new(),
    }
}

/// 130 km/h on a face 30 mm tall with a fixing every 150 mm, on an aluminium tray.
fn staying_on(length: f64) -> StayingOn {
    let at = [20.0, 170.0, 320.0, 470.0];
    let held = at.map(|s| HeldAt { s, travel_mm: None });
    let input = AirInput {
        heights: vec![[0.0, 30.0], [length, 30.0]],
        walls: Walls::even(3.0),
        fixings: at.to_vec(),
        planned: Planned::Assumed(150.0),
        held: FaceHeld::OneEdge,
        arms_mm: Some(vec![12.5; 4]),
        material: Material::Petg,
        hot_c: 70.0,
    };
    let heated = HeatInput {
        material: Material::Petg,
        along: [0.0, length],
        walls: &input.walls,
        fixings: &held,
        hole_mm: 5.5,
        segments: &[[0.0, length / 2.0], [length / 2.0, length]],
    };
    let options = HeatOptions {
        sources: vec![HeatSource {
            name: "silencer <left>".to_owned(),
            at_mm: 300.0,
            distance_mm: 400.0,
            temperature_c: 250.0,
            ..HeatSource::default()
        }],
        ..HeatOptions::default()
    };
    StayingOn {
        air: air_load::prove(&input, &AirOptions::default()),
        heat: heat::prove(&heated, &options),
    }
}

pub fn made() -> Made {
    let measured = measured();
    let length = measured.survey.spine.length();
    let solid = Solid::new(block([-25.0, 0.0, 0.0], [0.0, 100.0, 30.0])).unwrap();
    let sections = (0..=20)
        .map(|k| {
            let s = length * f64::from(k) / 20.0;
            let top = gap_at(s, length) - 2.0;
            let outline = [
                (4.0, 0.0),
                (4.0, top),
                (1.0, top),
                (1.0, 3.0),
                (-21.0, 3.0),
                (-21.0, 0.0),
            ];
            Section {
                s,
                outline: outline.iter().map(|&(x, z)| Point2::new(x, z)).collect(),
                hidden_face: [Point2::new(1.0, 6.0), Point2::new(1.0, top - 2.0)],
                outboard: None,
                finished: vec![Point2::new(4.0, 0.0), Point2::new(4.0, top)],
            }
        })
        .collect();
    let half = length / 2.0;
    let segment = |number: usize, along| Segment {
        number,
        along,
        in_place: solid.clone(),
        on_bed: solid.clone(),
        to_bed: Isometry3::identity(),
        size_mm: [100.0, 25.0, 30.0],
        label: Some(Label {
            lines: vec![format!("SAMPLE {number}/2 A")],
            s: f64::midpoint(along[0], along[1]),
            height_mm: 8.0,
            deep_mm: 0.6,
            volume_mm3: 60.0,
        }),
        estimate: Estimate {
            part_mm3: 75_000.0,
            support_mm3: 3000.0,
            overhang_mm2: 1000.0,
            mass_g: 99.06,
            filament_mm: 32_428.0,
            hours: 2.7083,
        },
        pose: Pose {
            lies: Lies::FootDown,
            scores: Scores {
                overhang_mm2: 1000.0,
                contact_mm2: 2500.0,
                height_mm: 30.0,
                ..Scores::default()
            },
            fitting: 3,
            why: "foot down: as good as any.".to_owned(),
        },
    };
    let segments = Segments {
        segments: vec![segment(1, [0.0, half]), segment(2, [half, length])],
        joints: vec![Joint {
            s: half,
            letter: "A".to_owned(),
            kind: JointKind::Tab,
            tab_on: 1,
            tab_volume_mm3: 1200.0,
            cut_volume_mm3: 12.0,
            fit_mm: 0.25,
            reach_mm: 20.0,
            glue_mm2: 480.0,
            keys: vec![Key {
                height_mm: 15.0,
                at_mm: [1.0, 21.0],
                wide_mm: 3.0,
                long_mm: 6.0,
                into_mm: 0.9,
                leaves_mm: 1.85,
            }],
            seats_along: Vector3::y(),
        }],
        assembly: vec![JoinStep {
            joint: 1,
            s: half,
            clamp: [half - 10.0, half + 10.0],
        }],
        exploded: Exploded {
            away: vec![Vector3::new(0.0, -30.0, 0.0), Vector3::new(0.0, 30.0, 0.0)],
            labels: vec![Point3::new(0.0, 0.0, 50.0); 2],
        },
        print: PrintAssumptions {
            flow_mm3_s: 8.0,
            ..PrintAssumptions::default()
        },
        findings: Vec::new(),
    };
    Made {
        measured,
        panel: Panel {
            solid,
            sections,
            top: Top::Butted,
            wall: WallProof {
                asked_mm: 3.0,
                face: None,
                lip: None,
                flange: None,
                end: None,
            },
            reliefs: Vec::new(),
            kept_out: Vec::new(),
            fixings: Vec::new(),
            tray_fixings: Vec::new(),
            keep_clear: Vec::new(),
            ends: [0.0, length].map(|s| EndZone {
                end: End::Closed,
                along: [s, s],
            }),
            fairness: Fairness::default(),
            findings: Vec::new(),
        },
        removal: removal(length),
        fit: fit(length),
        staying_on: staying_on(length),
        segments,
        coupons: Vec::new(),
        twin: None,
        positions: None,
        buck: None,
        layup: None,
        pieces: Vec::new(),
    }
}
