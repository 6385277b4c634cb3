//! How a segment lies on the bed: of all ways it can stand there, the one that prints best.

use super::reach::Reached;
use super::score::{Lies, Pose, Scene, Scores};
use super::stand::Stand;
use super::turn::{Turn, find_turn};
use super::{PrinterOptions, room_unswollen};
use crate::math::{Point2, Vector3};
use crate::mesh::measure::measure;
use crate::mesh::{Solid, SolidFault, TriMesh};
use nalgebra::{Isometry3, Matrix3, Rotation3, Translation3, UnitQuaternion};

/// Poses whose ups are nearer than this are one (as the cosine): half a degree.
const SAME: f64 = 0.99996;
/// Flats of the surface that are tried, the largest first.
const MOST_FLATS: usize = 8;
/// Faces whose normals are nearer than this lie in one flat (as the cosine): 2 degrees.
const IN_FLAT: f64 = 0.9994;

/// What a pose costs on top that the bed does not hold: more than all else can add up to.
const LOOSE: f64 = 10.0;

/// The workpiece's stations along one segment.
#[derive(Clone, Copy)]
pub(super) struct Site<'a> {
    pub(super) stations: &'a [Reached],
    /// Level directions square to the joints at its ends.
    pub(super) joints: [Option<Vector3>; 2],
}

/// A segment on its bed.
pub(super) struct Laid {
    pub(super) on_bed: Solid,
    pub(super) to_bed: Isometry3<f64>,
    pub(super) pose: Pose,
}

/// Directions that may point up: foot down first, so that it wins a draw.
fn candidates(mesh: &TriMesh, site: &Site) -> Vec<Vector3> {
    let mut ups = vec![Vector3::z(), -Vector3::z()];
    if let [first, .., last] = site.stations {
        ups.extend([first.frame.along, -last.frame.along]);
    }
    // Flats of the hull of the middle section, which may span from one edge to another.
    if let Some(middle) = site.stations.get(site.stations.len() / 2) {
        let hull = &middle.hull;
        for i in 0..hull.len() {
            let edge = hull[(i + 1) % hull.len()] - hull[i];
            if edge.norm() > 5.0 {
                let inward = Vector3::new(-edge.y, 0.0, edge.x) / edge.norm();
                ups.push(middle.frame.outward * inward.x + Vector3::z() * inward.z);
            }
        }
    }
    let mut flats: Vec<(Vector3, f64)> = Vec::new();
    for triangle in 0..mesh.triangles.len() {
        let normal = mesh.area_vector(triangle);
        let area = normal.norm();
        if area > 0.0 {
            let normal = normal / area;
            match flats.iter_mut().find(|(n, _)| n.dot(&normal) > IN_FLAT) {
                Some(flat) => flat.1 += area,
                None => flats.push((normal, area)),
            }
        }
    }
    flats.sort_by(|a, b| b.1.total_cmp(&a.1));
    ups.extend(flats.iter().take(MOST_FLATS).map(|(normal, _)| -normal));
    ups
}

/// The ways a segment stands steady, each once.
fn stands(mesh: &TriMesh, site: &Site) -> Vec<Stand> {
    let Some(centre) = measure(mesh).map(|m| m.centroid) else {
        return Vec::new();
    };
    let mut found: Vec<Stand> = Vec::new();
    for up in candidates(mesh, site) {
        if let Some(stand) = Stand::new(mesh, &centre, up).settle(mesh, &centre)
            && !found.iter().any(|other| other.up.dot(&stand.up) > SAME)
        {
            found.push(stand);
        }
    }
    found
}

fn turn_on_bed(mesh: &TriMesh, stand: &Stand, printer: &PrinterOptions) -> Turn {
    let [width, depth, _] = room_unswollen(printer);
    let [x, y] = &stand.axes;
    let plan = mesh
        .points
        .iter()
        .map(|p| Point2::new(p.coords.dot(x), p.coords.dot(y)));
    find_turn(&plan.collect::<Vec<_>>(), [width, depth])
}

/// The turn from the shop frame to a pose.
fn spin(stand: &Stand, turn: &Turn) -> UnitQuaternion<f64> {
    let [x, y] = &stand.axes;
    let rows = [x.transpose(), y.transpose(), stand.up.transpose()];
    let lean = Rotation3::from_matrix_unchecked(Matrix3::from_rows(&rows));
    UnitQuaternion::from_axis_angle(&Vector3::z_axis(), turn.angle)
        * UnitQuaternion::from_rotation_matrix(&lean)
}

/// Lays a segment on its bed: of the poses it stands steady in and that fit, the one with the best
/// scores; if none fits, upright, or the one that misses least.
///
/// # Errors
/// When rounding pinches the solid in every turn tried.
pub(super) fn lay(
    solid: &Solid,
    site: &Site,
    printer: &PrinterOptions,
) -> Result<Laid, SolidFault> {
    let mesh = solid.mesh();
    let scene = Scene::new(mesh, site);
    let most = room_unswollen(printer)[2];
    let try_out = |stand: Stand| {
        let turn = turn_on_bed(mesh, &stand, printer);
        let share = turn.share.max(stand.height / most);
        (scene.score(&stand, share, most), share, stand, turn)
    };
    let steady = stands(mesh, site);
    let mut tried: Vec<(Scores, f64, Stand, Turn)> = steady.into_iter().map(try_out).collect();
    let fits = |share: f64| share <= 1.0 + 1e-9;
    let count = tried.iter().filter(|t| fits(t.1)).count();
    if count == 0 {
        // As on the vehicle, held up by supports.
        let centre = measure(mesh).map_or_else(nalgebra::Point3::origin, |m| m.centroid);
        tried.push(try_out(Stand::new(mesh, &centre, Vector3::z())));
    }
    // A pose that does not fit costs more than any that does, and one that the bed does not hold more than
    // any that it does, where one of those keeps the visible face clean.
    let held = (tried.iter()).any(|t| fits(t.1) && t.0.holds() && t.0.is_clean());
    let cost = |t: &(Scores, f64, Stand, Turn)| match (fits(t.1), held && !t.0.holds()) {
        (true, false) => t.0.cost(),
        (true, true) => LOOSE + t.0.cost(),
        (false, _) => 1e3 * t.1,
    };
    tried.sort_by(|a, b| cost(a).total_cmp(&cost(b)));
    let next = tried.get(1).filter(|t| fits(t.1)).map(|t| {
        let lies = Lies::of(&t.2.up, site);
        (lies, t.0)
    });
    let Some((scores, _, stand, turn)) = tried.into_iter().next() else {
        return Err(SolidFault::Empty);
    };
    let (on_bed, to_bed) = set_on_bed(solid, spin(&stand, &turn), printer.swell())?;
    let pose = Pose::new(Lies::of(&stand.up, site), scores, count, next);
    Ok(Laid {
        on_bed,
        to_bed,
        pose,
    })
}

/// Sets a slice on its bed with a direction up, turned to fit best in plan.
///
/// # Errors
/// As [`lay`].
pub(super) fn lay_with(
    solid: &Solid,
    up: Vector3,
    printer: &PrinterOptions,
) -> Result<Solid, SolidFault> {
    let stand = Stand::new(solid.mesh(), &nalgebra::Point3::origin(), up.normalize());
    let turn = turn_on_bed(solid.mesh(), &stand, printer);
    Ok(set_on_bed(solid, spin(&stand, &turn), printer.swell())?.0)
}

/// Turns a solid, centres it in plan, brings its bottom to z = 0, then makes it larger by the factor
/// `swell` about the bed's origin. Gives the solid and the move that took it there. Nothing else changes
/// the size of a print.
fn set_on_bed(
    solid: &Solid,
    spin: UnitQuaternion<f64>,
    swell: f64,
) -> Result<(Solid, Isometry3<f64>), SolidFault> {
    /// Turns (rad) added when the first pinches a sliver: far too small to change the fit.
    const NUDGES: [f64; 4] = [0.0, 1e-5, -1e-5, 3e-5];
    let mesh = solid.mesh();
    let mut fault = SolidFault::Empty;
    for nudge in NUDGES {
        let spin = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), nudge) * spin;
        let (mut low, mut high) = (
            Vector3::repeat(f64::INFINITY),
            Vector3::repeat(f64::NEG_INFINITY),
        );
        for p in &mesh.points {
            let q = (spin * p).coords;
            low = low.inf(&q);
            high = high.sup(&q);
        }
        let middle = (low + high) / 2.0;
        let to_bed = Isometry3::from_parts(Translation3::new(-middle.x, -middle.y, -low.z), spin);
        // A flat that rounding left a hair above or below the bed lies on it.
        let points = mesh.points.iter().map(|p| {
            let mut q = to_bed * p * swell;
            if q.z.abs() < 1e-6 {
                q.z = 0.0;
            }
            q
        });
        let on_bed = Solid::new(TriMesh {
            points: points.collect(),
            triangles: mesh.triangles.clone(),
        });
        match on_bed {
            Ok(on_bed) => return Ok((on_bed, to_bed)),
            Err(why) => fault = why,
        }
    }
    Err(fault)
}
