//! The shop frame: z from the tray's plane, x and y from the body's coarse rim.

use super::rim::{Rim, TrayCover, find_rim};
use crate::diag::Finding;
use crate::math::plane_fit::{Patch, PlaneFit, fit_plane};
use crate::math::robust::median;
use crate::math::{Point2, Point3, Vector2, Vector3};
use crate::mesh::TriMesh;
use nalgebra::{Isometry3, Matrix3, Rotation3, Translation3, UnitQuaternion};
use thiserror::Error;

/// Why no frame can be set.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum DatumFault {
    /// No near-plane surface in the tray's scan.
    #[error("no flat surface was found in the tray's scan")]
    NoTray,
    /// The tray's file holds something less flat than the body's file.
    #[error(
        "the file given as the tray is less flat than the one given as the body: they look swapped"
    )]
    Swapped,
    /// The body does not stand over the tray.
    #[error(
        "the body's scan does not stand over the tray's: nothing of it lies within 300 mm above the tray's surface"
    )]
    Apart,
    /// Too little of the body's edge lies over the tray.
    #[error(
        "only {0:.0} mm of the body's edge lie over the tray, and it takes {SHORTEST_RIM:.0} mm or more"
    )]
    Short(f64),
    /// The two differ in size as metres differ from millimetres or inches.
    #[error(
        "body and tray differ in size by a factor of about {0:.0}: one of the two units is wrong"
    )]
    Units(f64),
}

impl DatumFault {
    /// What the maker should do.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::NoTray => {
                "check that the tray's file shows the undertray's top, and scan it again from above if need be"
            }
            Self::Swapped => "swap `body` and `tray` in the job",
            Self::Apart => {
                "both scans must be in one frame, and the tray's has to reach under the body's edge: scan body and tray in one go, or export both from the same project; look at the box sizes with `gapwright inspect`"
            }
            Self::Short(_) => {
                "scan a longer stretch: the body's edge and the tray under it, in one slow sweep"
            }
            Self::Units(_) => {
                "set `body_unit` and `tray_unit` in the job; `gapwright inspect` shows the sizes"
            }
        }
    }
}

/// Which way a scan's triangles face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Facing {
    /// As a scan should: toward the one who scanned.
    Outward,
    /// The wrong way; they have to be turned over.
    Inward,
}

/// The shop frame and what was learnt on the way.
#[derive(Debug, Clone)]
pub struct Datum {
    /// Scan millimetres to shop millimetres.
    pub to_shop: Isometry3<f64>,
    /// Coarse rim in the shop frame, to the maker's right (mm).
    pub rim: Vec<Point3>,
    /// Root mean square height of the tray's surface about its plane (mm).
    pub flatness_mm: f64,
    /// How the body's triangles face.
    pub body_facing: Facing,
    /// How the tray's triangles face.
    pub tray_facing: Facing,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}

/// Half-height of the band a tray's surface lies in (mm): crowned, dished and twisted by 10 mm.
const TRAY_BAND: f64 = 12.0;
/// Patches looked at when planes are fitted: enough for a plane, few enough to be quick.
const SAMPLE: usize = 12_000;
/// A plane is a candidate for the tray if it has this share of the largest one's area.
const CANDIDATE_SHARE: f64 = 0.25;
/// Least length of rim over the tray (mm).
const SHORTEST_RIM: f64 = 80.0;

/// Sets the shop frame from both scans in millimetres and one common frame, whatever its pose.
///
/// The tray is the highest large near-plane patch that has the body above it; the floor below it is not
/// taken for it. The rim gives the outside.
///
/// # Errors
/// [`DatumFault`] where there is no tray plane, no body above it, or where the files look swapped or in
/// different units.
pub fn find_datum(body: &TriMesh, tray: &TriMesh) -> Result<Datum, DatumFault> {
    let tray_patches = sample(tray);
    let body_patches = sample(body);
    let planes = candidate_planes(&tray_patches);
    if planes.is_empty() {
        return Err(DatumFault::NoTray);
    }
    let found = look_along_each(&planes, body, &body_patches, &tray_patches);
    let seen = match found {
        Some(seen) if seen.rim.over_tray >= SHORTEST_RIM => seen,
        found => {
            let over_tray = found.map_or(0.0, |seen| seen.rim.over_tray);
            let fault = diagnose(body, tray, &body_patches, &tray_patches);
            return Err(match fault {
                DatumFault::Apart if over_tray > 0.0 => DatumFault::Short(over_tray),
                fault => fault,
            });
        }
    };
    // A body's flat side is no tray, but a body flatter than its tray may be one.
    if flat_share(&body_patches) > flat_share(&tray_patches) {
        let planes = candidate_planes(&body_patches);
        let other = look_along_each(&planes, tray, &tray_patches, &body_patches);
        if other.is_some_and(|other| other.rim.over_tray > seen.rim.over_tray) {
            return Err(DatumFault::Swapped);
        }
    }
    Ok(seen.into_datum(&tray_patches))
}

/// The best view of the body over any of the planes.
fn look_along_each(
    planes: &[PlaneFit],
    body: &TriMesh,
    body_patches: &[Patch],
    tray_patches: &[Patch],
) -> Option<Seen> {
    let mut best: Option<(f64, Seen)> = None;
    for plane in planes {
        if let Some(seen) = look_along(plane, body, body_patches, tray_patches) {
            let worth = seen.worth();
            if best.as_ref().is_none_or(|b| worth > b.0) {
                best = Some((worth, seen));
            }
        }
    }
    best.map(|(_, seen)| seen)
}

/// Patches of a mesh, evenly strided.
pub(super) fn sample(mesh: &TriMesh) -> Vec<Patch> {
    let stride = (mesh.triangles.len() / SAMPLE).max(1);
    (0..mesh.triangles.len())
        .step_by(stride)
        .filter_map(|t| {
            let [a, b, c] = mesh.corners(t);
            let area = mesh.area_vector(t);
            Some(Patch {
                at: Point3::from((a.coords + b.coords + c.coords) / 3.0),
                normal: area.try_normalize(1e-12)?,
                area: 0.5 * area.norm(),
            })
        })
        .collect()
}

/// The largest planes, one after the other, each without what the ones before it hold.
pub(super) fn candidate_planes(patches: &[Patch]) -> Vec<PlaneFit> {
    let mut rest = patches.to_vec();
    let mut planes: Vec<PlaneFit> = Vec::new();
    while planes.len() < 4 {
        let Some(plane) = fit_plane(&rest, TRAY_BAND) else {
            break;
        };
        if planes
            .first()
            .is_some_and(|first| plane.area < CANDIDATE_SHARE * first.area)
        {
            break;
        }
        rest.retain(|p| {
            plane.height(p.at).abs() > 2.0 * TRAY_BAND || p.normal.dot(&plane.normal) < 0.5
        });
        planes.push(plane);
    }
    planes
}

/// What is seen when a plane is taken for the tray.
struct Seen {
    up: PlaneFit,
    to_level: Isometry3<f64>,
    rim: Rim,
    body_facing: Facing,
    tray_facing: Facing,
}

fn look_along(
    plane: &PlaneFit,
    body: &TriMesh,
    body_patches: &[Patch],
    tray: &[Patch],
) -> Option<Seen> {
    let mut heights: Vec<f64> = body_patches.iter().map(|p| plane.height(p.at)).collect();
    let middle = median(&mut heights)?;
    let (up, tray_facing) = if middle >= 0.0 {
        (*plane, Facing::Outward)
    } else {
        (
            PlaneFit {
                normal: -plane.normal,
                offset: -plane.offset,
                area: plane.area,
            },
            Facing::Inward,
        )
    };
    let turn = Rotation3::rotation_between(&up.normal, &Vector3::z())
        .unwrap_or_else(|| Rotation3::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI));
    let to_level =
        Translation3::new(0.0, 0.0, -up.offset) * UnitQuaternion::from_rotation_matrix(&turn);
    let flat: Vec<Point2> = tray
        .iter()
        .filter(|p| up.height(p.at).abs() < 2.0 * TRAY_BAND && p.normal.dot(&plane.normal) > 0.8)
        .map(|p| (to_level * p.at).xy())
        .collect();
    let cover = TrayCover::new(&flat)?;
    let level = TriMesh {
        points: body.points.iter().map(|p| to_level * p).collect(),
        triangles: body.triangles.clone(),
    };
    let (rim, body_facing) = find_rim(&level, &cover)?;
    Some(Seen {
        up,
        to_level,
        rim,
        body_facing,
        tray_facing,
    })
}

/// How much less a view counts in which one scan faces inward and the other does not: that is how the
/// underside of a tray's plate looks. One export turns both or neither.
const ODD_FACING: f64 = 0.2;

/// A plane this much further below the rim counts half (mm): closeout gaps are lower than that, floors
/// are further down.
const FLOOR_CLEARANCE: f64 = 60.0;

impl Seen {
    fn worth(&self) -> f64 {
        let odd = if self.body_facing == self.tray_facing {
            1.0
        } else {
            ODD_FACING
        };
        // A floor under the tray may be larger and has the same rim above it, at a greater height.
        odd * self.rim.over_tray / (1.0 + self.rim.level / FLOOR_CLEARANCE)
    }

    fn into_datum(self, tray: &[Patch]) -> Datum {
        let points = &self.rim.points;
        let middle = points[points.len() / 2];
        let chord = points[points.len() - 1] - points[0];
        // Round a closed rim the chord vanishes and the outside is wherever the longest stretch faces.
        let along = chord
            .try_normalize(50.0)
            .or_else(|| self.longest_way())
            .unwrap_or_else(Vector2::y);
        let outward = Vector3::new(along.y, -along.x, 0.0);
        let axes =
            Matrix3::from_columns(&[outward, Vector3::new(along.x, along.y, 0.0), Vector3::z()]);
        let turn = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(
            axes.transpose(),
        ));
        let level_to_shop = turn * Translation3::new(-middle.x, -middle.y, 0.0);
        let to_shop = level_to_shop * self.to_level;
        let rim = points
            .iter()
            .map(|p| level_to_shop * Point3::new(p.x, p.y, self.rim.level))
            .collect();
        let (mut sum, mut area) = (0.0, 0.0);
        for p in tray {
            let h = self.up.height(p.at);
            if h.abs() < TRAY_BAND && p.normal.dot(&self.up.normal).abs() > 0.9 {
                sum += p.area * h * h;
                area += p.area;
            }
        }
        let mut findings = Vec::new();
        for (facing, name) in [(self.body_facing, "body"), (self.tray_facing, "tray")] {
            if facing == Facing::Inward {
                findings.push(Finding::warning(
                    "inside-out",
                    format!("the {name}'s scan faces inward: its triangles were turned over"),
                    "check that left and right are not swapped: a mirrored export looks like this; compare two known points with the vehicle",
                ));
            }
        }
        Datum {
            to_shop,
            rim,
            flatness_mm: if area > 0.0 {
                f64::sqrt(sum / area)
            } else {
                0.0
            },
            body_facing: self.body_facing,
            tray_facing: self.tray_facing,
            findings,
        }
    }

    fn longest_way(&self) -> Option<Vector2> {
        self.rim
            .points
            .windows(40)
            .map(|w| w[39] - w[0])
            .max_by(|a, b| a.norm().total_cmp(&b.norm()))
            .and_then(|d| d.try_normalize(1e-6))
    }
}

/// Share of a scan's area that lies near one plane.
fn flat_share(patches: &[Patch]) -> f64 {
    let all: f64 = patches.iter().map(|p| p.area).sum();
    fit_plane(patches, TRAY_BAND).map_or(0.0, |p| p.area / all)
}

/// Why no rim was found: swapped files, different units, or simply apart.
fn diagnose(
    body: &TriMesh,
    tray: &TriMesh,
    body_patches: &[Patch],
    tray_patches: &[Patch],
) -> DatumFault {
    let size = |m: &TriMesh| m.bounds().map_or(0.0, |(lo, hi)| (hi - lo).norm());
    let (b, t) = (size(body), size(tray));
    let ratio = (b / t).max(t / b);
    if ratio > 8.0 {
        return DatumFault::Units(ratio);
    }
    if flat_share(body_patches) > flat_share(tray_patches) {
        return DatumFault::Swapped;
    }
    DatumFault::Apart
}
