//! The parts of the scans that a panel can meet, sorted by the way they face.

use crate::gap::Survey;
use crate::math::locator::Locator;
use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;
use crate::mesh::nearest::Nearest;
use crate::panel::Panel;
use crate::scan::Scene;
use rayon::prelude::*;

/// How far past the panel the scans are looked at (mm).
const AROUND_MM: f64 = 60.0;
/// A surface is skin if it faces outward by this much, and tray if it faces up by as much.
const FACING: f64 = 0.3;
/// Nearer to a cut edge than this many edge lengths of the scan, fusion has rounded the skin.
const ROUNDED_SPACINGS: f64 = 2.5;
/// What stands on the tray is looked for up to this high above a place (mm).
const OVER_MM: f64 = 25.0;
/// The tray is looked for so far below a place (mm).
const UNDER_MM: f64 = 40.0;

/// The scans a panel is held against, in the shop frame.
#[derive(Debug, Clone, Copy)]
pub struct Scanned<'a> {
    /// The body.
    pub body: &'a TriMesh,
    /// The tray, with what stands on it.
    pub tray: &'a TriMesh,
    /// Edge length of the body's triangles (mm).
    pub body_spacing_mm: f64,
    /// Edge length of the tray's triangles (mm).
    pub tray_spacing_mm: f64,
    /// Noise of the body's scan from point to point (mm, standard).
    pub body_noise_mm: f64,
}

impl<'a> From<&'a Scene> for Scanned<'a> {
    fn from(scene: &'a Scene) -> Self {
        Self {
            body: &scene.body.mesh,
            tray: &scene.tray.mesh,
            body_spacing_mm: scene.body.spacing_mm,
            tray_spacing_mm: scene.tray.spacing_mm,
            body_noise_mm: scene.body.noise_mm,
        }
    }
}

/// What is near the panel, each part `None` where nothing of it is seen.
pub struct Scans {
    /// The body where it faces down.
    pub under: Option<Nearest>,
    /// The body where it faces outward.
    pub skin: Option<Nearest>,
    /// The tray where it faces up.
    tray: Option<Nearest>,
    /// How far above a cut edge the skin is rounded by the fusion (mm).
    pub rounding_mm: f64,
    /// Edge length of the tray's triangles (mm).
    pub tray_spacing_mm: f64,
}

impl Scans {
    /// Sorts what lies near `panel`.
    pub fn near(panel: &Panel, survey: &Survey, scanned: Scanned<'_>) -> Self {
        let (low, high) = panel.solid.bounds();
        let around = Vector3::repeat(AROUND_MM);
        let window = (low - around, high + around);
        let locator = Locator::new(&survey.spine, 2.0 * AROUND_MM, AROUND_MM);
        let outward = |at: Point3| locator.locate_facing(at.xy()).map(|found| found.2);
        let faces_out =
            |at: Point3, normal: Vector3| outward(at).is_some_and(|out| normal.dot(&out) > FACING);
        let (body, tray) = rayon::join(
            || Facing::within(scanned.body, window),
            || Facing::within(scanned.tray, window),
        );
        let ((under, skin), tray) = rayon::join(
            || {
                rayon::join(
                    || Nearest::new(&body.part(|_, normal| normal.z < 0.0)),
                    || Nearest::new(&body.part(faces_out)),
                )
            },
            || Nearest::new(&tray.part(|_, normal| normal.z > FACING)),
        );
        Self {
            under,
            skin,
            tray,
            rounding_mm: ROUNDED_SPACINGS * scanned.body_spacing_mm,
            tray_spacing_mm: scanned.tray_spacing_mm.max(0.1),
        }
    }

    /// Level way out from a place behind the skin to its outside (mm), negative where the place is
    /// outside of it.
    pub fn behind(&self, at: Point3, outward: Vector3) -> Option<f64> {
        let skin = self.skin.as_ref()?;
        let from = at - outward * super::REACH_IN_MM;
        let way = skin.ray(from, outward, super::REACH_IN_MM + super::REACH_OFF_MM)?;
        Some(way - super::REACH_IN_MM)
    }

    /// Height of a place over the highest surface of the tray (mm), negative below it. What stands higher
    /// than 25 mm above the place is not looked at.
    pub fn height_over_tray(&self, at: Point3) -> Option<f64> {
        let from = at + Vector3::z() * OVER_MM;
        let way = self
            .tray
            .as_ref()?
            .ray(from, -Vector3::z(), OVER_MM + UNDER_MM)?;
        Some(way - OVER_MM)
    }

    /// Distance to the tray (mm).
    pub fn to_tray(&self, at: Point3) -> Option<f64> {
        self.tray.as_ref().map(|tray| tray.distance(at))
    }
}

/// Triangles of a scan with their middle inside a window, each with that middle and its unit normal.
struct Facing<'a> {
    mesh: &'a TriMesh,
    triangles: Vec<([u32; 3], Point3, Vector3)>,
}

impl<'a> Facing<'a> {
    fn within(mesh: &'a TriMesh, (low, high): (Point3, Point3)) -> Self {
        let triangles = (0..mesh.triangles.len())
            .into_par_iter()
            .filter_map(|t| {
                let [a, b, c] = mesh.corners(t);
                let middle = Point3::from((a.coords + b.coords + c.coords) / 3.0);
                let inside = (0..3).all(|k| middle[k] >= low[k] && middle[k] <= high[k]);
                let normal = (inside.then(|| mesh.area_vector(t))?).try_normalize(1e-12)?;
                Some((*mesh.triangles.get(t)?, middle, normal))
            })
            .collect();
        Self { mesh, triangles }
    }

    /// Those that `keep` wants by middle and normal.
    fn part(&self, keep: impl Fn(Point3, Vector3) -> bool + Sync) -> TriMesh {
        let triangles = self.triangles.par_iter();
        crate::mesh::weld::with_points_used(
            &self.mesh.points,
            triangles
                .filter(|(_, middle, normal)| keep(*middle, *normal))
                .map(|(t, _, _)| *t)
                .collect(),
        )
    }
}
