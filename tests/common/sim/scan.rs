//! From a case to the files' meshes: photograph, fuse, mesh, crop, put into the file's pose and unit.

use super::camera;
use super::case::{Case, UpAxis};
use super::fusion::Grid;
use super::marching_cubes;
use super::random::Random;
use super::solids::append;
use super::truth::Truth;
use super::vehicle::Vehicle;
use gapwright::math::{Point3, Vector3};
use gapwright::mesh::TriMesh;
use gapwright::scan::Unit;
use nalgebra::{Isometry3, Matrix4, Translation3, UnitQuaternion};
use parry3d_f64::math::Vector;
use std::f64::consts::{FRAC_PI_2, PI};

/// How good the scan is (mm): noise of a single ray, fusion voxel, drift of the pose.
#[derive(Clone, Copy, Debug)]
pub struct ScanQuality {
    pub noise: f64,
    pub voxel: f64,
    pub drift: f64,
}

/// A finished scan in file units.
pub struct SimScan {
    /// What lies nearer the body.
    pub body: TriMesh,
    /// What lies nearer the tray.
    pub tray: TriMesh,
    /// Both.
    pub combined: TriMesh,
    pub unit: Unit,
    pub truth: Truth,
}

/// Weight below which a voxel counts as not seen: one look is enough.
const LEAST_WEIGHT: f32 = 0.25;
/// How far the crop reaches past the edge in plan, below the tray and above the highest edge (mm).
const MARGIN: f64 = 140.0;
const BELOW: f64 = 80.0;
const ABOVE: f64 = 170.0;

impl Case {
    /// Scans the vehicle.
    pub fn scan(&self, quality: ScanQuality) -> SimScan {
        let vehicle = &self.vehicle;
        let (body, tray) = (vehicle.body(), vehicle.tray());
        let mut scene = body.clone();
        append(&mut scene, &tray);
        append(&mut scene, &vehicle.surroundings());

        let mut random = Random::new(self.seed, 10);
        let to_scan = self.pose(&mut random);
        let poses = camera::path(vehicle, &mut random);
        let believed: Vec<_> = camera::drifted(&poses, quality.drift, &mut random)
            .iter()
            .map(|pose| to_scan * pose)
            .collect();
        let views = camera::photograph(
            &to_parry(&scene),
            &poses,
            &believed,
            quality.noise,
            self.seed,
        );

        let (low, high) = crop(vehicle);
        let to_vehicle = to_scan.inverse();
        let wanted = |p: &Point3| {
            let v = to_vehicle * p;
            (0..3).all(|k| v[k] >= low[k] && v[k] <= high[k])
        };
        let (grid_low, grid_high) = box_of(&to_scan, low, high);
        let grid = Grid::fuse(&views, quality.voxel, grid_low, grid_high, wanted);
        let whole = marching_cubes::surface(&grid, LEAST_WEIGHT);

        let side = Side::new(vehicle);
        let mut parts = [Vec::new(), Vec::new(), Vec::new()];
        for t in 0..whole.triangles.len() {
            let [a, b, c] = whole.corners(t);
            let centre = Point3::from((a.coords + b.coords + c.coords) / 3.0);
            if wanted(&centre) {
                let nearer = usize::from(!side.nearer_body(&(to_vehicle * centre)));
                parts[nearer].push(t);
                parts[2].push(t);
            }
        }
        let scale = 1.0 / self.unit.millimetres();
        let [body_part, tray_part, combined] = parts.map(|p| pick(&whole, &p, scale));
        let scan_to_vehicle =
            to_vehicle.to_homogeneous() * Matrix4::new_scaling(self.unit.millimetres());
        SimScan {
            body: body_part,
            tray: tray_part,
            combined,
            unit: self.unit,
            truth: Truth {
                stations: vehicle.stations(),
                scan_to_vehicle,
                body,
                tray,
                edge_kind: vehicle.section.kind(),
                features: vehicle.law.features.clone(),
            },
        }
    }

    /// Vehicle frame to scan frame, both in mm: any heading, a little off level.
    fn pose(&self, random: &mut Random) -> Isometry3<f64> {
        let heading = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), random.between(-PI, PI));
        let tilt = Vector3::new(random.normal(), random.normal(), 0.0) * 0.04;
        let upright = match self.up {
            UpAxis::Z => UnitQuaternion::identity(),
            UpAxis::Y => UnitQuaternion::from_axis_angle(&Vector3::x_axis(), -FRAC_PI_2),
        };
        let turn = upright * UnitQuaternion::from_scaled_axis(tilt) * heading;
        let [x, y, z] = [(); 3].map(|()| random.between(-400.0, 400.0));
        Isometry3::from_parts(Translation3::new(x, y, z), turn)
    }
}

/// A mesh as the ray caster takes it.
pub fn to_parry(mesh: &TriMesh) -> parry3d_f64::shape::TriMesh {
    let points = mesh
        .points
        .iter()
        .map(|p| Vector::new(p.x, p.y, p.z))
        .collect();
    parry3d_f64::shape::TriMesh::new(points, mesh.triangles.clone()).expect("a mesh with triangles")
}

fn crop(vehicle: &Vehicle) -> (Point3, Point3) {
    let (low, high) = vehicle.plan.bounds();
    let top = vehicle.body_top() - vehicle.height + ABOVE;
    (
        Point3::new(low[0] - MARGIN, low[1] - MARGIN, -BELOW),
        Point3::new(high[0] + MARGIN, high[1] + MARGIN, top),
    )
}

fn box_of(to_scan: &Isometry3<f64>, low: Point3, high: Point3) -> (Point3, Point3) {
    let corners = (0..8).map(|c| {
        let pick = |k: usize| if c >> k & 1 == 1 { high[k] } else { low[k] };
        to_scan * Point3::new(pick(0), pick(1), pick(2))
    });
    corners.fold(
        (Point3::from([f64::MAX; 3]), Point3::from([f64::MIN; 3])),
        |(a, b), p| (a.inf(&p), b.sup(&p)),
    )
}

/// Decides whether a point lies nearer the body or the tray.
struct Side<'a> {
    vehicle: &'a Vehicle,
    /// The edge, its outward direction, at close spacing.
    edge: Vec<(Point3, [f64; 2])>,
}

impl<'a> Side<'a> {
    fn new(vehicle: &'a Vehicle) -> Self {
        let count = (vehicle.plan.length() / 10.0).ceil();
        let edge = (0..=count as usize)
            .map(|k| {
                let place = vehicle.plan.at(vehicle.plan.length() * k as f64 / count);
                (vehicle.edge(&place), place.outward())
            })
            .collect();
        Self { vehicle, edge }
    }

    fn nearer_body(&self, p: &Point3) -> bool {
        let mut best = (f64::MAX, 0);
        for (k, (e, _)) in self.edge.iter().enumerate() {
            let d = (p.x - e.x).powi(2) + (p.y - e.y).powi(2);
            if d < best.0 {
                best = (d, k);
            }
        }
        let (e, n) = &self.edge[best.1];
        let outboard = (p.x - e.x) * n[0] + (p.y - e.y) * n[1];
        let u = best.0.sqrt() * outboard.signum();
        let up = p.z - e.z;
        // The skin as a line that leans inboard from the edge.
        let (sin, cos) = self.vehicle.section.lean.sin_cos();
        let along = (cos * up - sin * u).max(0.0);
        let to_body = (u + sin * along).hypot(up - cos * along);
        let above = p.z - self.vehicle.tray.height([p.x, p.y]);
        let beyond = (u - self.vehicle.tray.outboard).max(0.0);
        to_body < above.hypot(beyond)
    }
}

/// The chosen triangles with the points they use, scaled.
fn pick(mesh: &TriMesh, triangles: &[usize], scale: f64) -> TriMesh {
    let mut new_index = vec![u32::MAX; mesh.points.len()];
    let mut out = TriMesh::default();
    for &t in triangles {
        let corners = mesh.triangles[t].map(|i| {
            let slot = &mut new_index[i as usize];
            if *slot == u32::MAX {
                *slot = out.points.len() as u32;
                out.points.push(mesh.points[i as usize] * scale);
            }
            *slot
        });
        out.triangles.push(corners);
    }
    out
}
