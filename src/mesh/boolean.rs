//! Uniting, subtracting, intersecting and cutting solids. The one place that knows the boolean kernel.
//!
//! The kernel drops an operand it cannot read without a word, so the state of each import and result is
//! asked for, and each result passes [`Solid::new`] again. Same operands, same bytes, whatever the
//! number of threads.

use super::nesting::drop_thin_pieces;
use super::{Solid, SolidFault, TriMesh};
use crate::math::{Point3, Vector3};
use manifold_rust::linalg::Vec3;
use manifold_rust::manifold::Manifold;
use manifold_rust::types::{BooleanEngine, Error as Status, MeshGL64, OpType};
use rayon::prelude::*;
use thiserror::Error;

/// Why a boolean gave no solid.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum BooleanFault {
    /// The kernel would not take an operand.
    #[error("operand {index} was refused ({why})")]
    Refused {
        /// Place of the operand, counted from 0.
        index: usize,
        /// The kernel's word for it.
        why: String,
    },
    /// The kernel failed on the operation.
    #[error("the operation failed ({why})")]
    Failed {
        /// The kernel's word for it.
        why: String,
    },
    /// The result is no closed solid at the precision a file stores.
    #[error("the result is not closed: {0}")]
    NotSolid(#[from] SolidFault),
    /// A plane without a direction.
    #[error("the plane's normal has no length")]
    NoNormal,
}

/// All of them as one. Nothing from no operands.
///
/// # Errors
/// When the kernel refuses an operand, or its result is no solid.
pub fn unite(parts: &[&Solid]) -> Result<Option<Solid>, BooleanFault> {
    combine(parts, OpType::Add)
}

/// The first less all of the others; `None` if nothing is left.
///
/// # Errors
/// When the kernel refuses an operand, or its result is no solid.
pub fn subtract(from: &Solid, parts: &[&Solid]) -> Result<Option<Solid>, BooleanFault> {
    let all: Vec<&Solid> = std::iter::once(from).chain(parts.iter().copied()).collect();
    combine(&all, OpType::Subtract)
}

/// What both have in common; `None` if nothing.
///
/// # Errors
/// When the kernel refuses an operand, or its result is no solid.
pub fn intersect(a: &Solid, b: &Solid) -> Result<Option<Solid>, BooleanFault> {
    combine(&[a, b], OpType::Intersect)
}

/// What a solid has in common with each of some parts, in their order. The solid is handed to the kernel
/// once and the parts are worked on in parallel, so this is quicker than one by one.
///
/// # Errors
/// In place of a part: when the kernel refuses an operand, or the result is no solid.
pub fn intersect_each(solid: &Solid, parts: &[Solid]) -> Vec<Result<Option<Solid>, BooleanFault>> {
    let whole = import(0, solid, Vector3::zeros());
    parts
        .par_iter()
        .map(|part| {
            let whole = whole.as_ref().map_err(Clone::clone)?;
            let part = import(1, part, Vector3::zeros())?;
            let shared = whole.boolean_with_engine(&part, OpType::Intersect, BooleanEngine::Exact);
            export(&shared, Vector3::zeros())
        })
        .collect()
}

/// What lies on the side of the plane its normal points to, and what lies on the other side.
///
/// # Errors
/// When the normal has no length, the kernel refuses the solid, or a result is no solid.
pub fn cut_by_plane(
    solid: &Solid,
    point: Point3,
    normal: Vector3,
) -> Result<(Option<Solid>, Option<Solid>), BooleanFault> {
    let n = normal.try_normalize(0.0).ok_or(BooleanFault::NoNormal)?;
    // The kernel's half space loses digits with the distance from its origin, so the origin moves.
    let origin = point.coords;
    let (above, below) = import(0, solid, origin)?.split_by_plane(Vec3::new(n.x, n.y, n.z), 0.0);
    Ok((export(&above, origin)?, export(&below, origin)?))
}

fn combine(parts: &[&Solid], op: OpType) -> Result<Option<Solid>, BooleanFault> {
    let imported = parts
        .iter()
        .enumerate()
        .map(|(index, part)| import(index, part, Vector3::zeros()))
        .collect::<Result<Vec<_>, _>>()?;
    // The engine is named because the kernel's default can be changed for the whole process.
    let result = Manifold::batch_boolean_with_engine(&imported, op, BooleanEngine::Exact);
    export(&result, Vector3::zeros())
}

fn import(index: usize, solid: &Solid, origin: Vector3) -> Result<Manifold, BooleanFault> {
    let mesh = solid.mesh();
    let imported = Manifold::from_mesh_gl64(&MeshGL64 {
        num_prop: 3,
        vert_properties: mesh
            .points
            .iter()
            .flat_map(|p| {
                let q = p - origin;
                [q.x, q.y, q.z]
            })
            .collect(),
        tri_verts: mesh.triangles.iter().flatten().map(|&i| i.into()).collect(),
        ..MeshGL64::default()
    });
    match imported.status() {
        Status::NoError => Ok(imported),
        why => Err(BooleanFault::Refused {
            index,
            why: format!("{why:?}"),
        }),
    }
}

/// Pieces thinner than this many steps of f32 are contact, not common volume.
const THIN_STEPS: f64 = 4.0;
/// How far the kernel may move a surface to be rid of slivers, in steps of f32 at the largest
/// coordinate: nothing first, then more, until the result is closed after rounding.
const SLIVER_STEPS: [f64; 3] = [0.0, 2.0, 8.0];

fn export(result: &Manifold, origin: Vector3) -> Result<Option<Solid>, BooleanFault> {
    if result.status() != Status::NoError {
        return Err(BooleanFault::Failed {
            why: format!("{:?}", result.status()),
        });
    }
    let step = step_at(result, origin);
    let mut fault = SolidFault::Empty;
    for steps in SLIVER_STEPS {
        let mut mesh = if steps > 0.0 {
            read_mesh(&result.simplify(steps * step), origin)
        } else {
            read_mesh(result, origin)
        };
        drop_thin_pieces(&mut mesh, THIN_STEPS * step);
        if mesh.triangles.is_empty() {
            return Ok(None);
        }
        match Solid::new(mesh) {
            Ok(solid) => return Ok(Some(solid)),
            // Nothing but slivers thinner than the rounding.
            Err(SolidFault::Empty) => return Ok(None),
            Err(why) => fault = why,
        }
    }
    Err(fault.into())
}

/// Spacing of f32 numbers at the largest coordinate.
fn step_at(result: &Manifold, origin: Vector3) -> f64 {
    let b = result.bounding_box();
    let largest = [b.min.x, b.min.y, b.min.z, b.max.x, b.max.y, b.max.z]
        .into_iter()
        .fold(0.0_f64, |m, c| m.max(c.abs()));
    (largest + origin.amax()) * f64::from(f32::EPSILON)
}

fn read_mesh(result: &Manifold, origin: Vector3) -> TriMesh {
    let mesh = result.get_mesh_gl64(-1);
    let stride = (mesh.num_prop as usize).max(3);
    TriMesh {
        points: mesh
            .vert_properties
            .chunks_exact(stride)
            .map(|p| Point3::new(p[0], p[1], p[2]) + origin)
            .collect(),
        triangles: mesh
            .tri_verts
            .chunks_exact(3)
            .map(|t| [t[0] as u32, t[1] as u32, t[2] as u32])
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::samples::{block, octasphere, torus};

    fn cube(x: f64, size: f64) -> Solid {
        Solid::new(block(Point3::new(x, x, x), Vector3::repeat(size))).unwrap()
    }

    fn ball(level: usize, radius: f64, x: f64) -> Solid {
        let mut mesh = octasphere(level);
        for p in &mut mesh.points {
            *p = Point3::from(p.coords * radius + Vector3::new(x, 0.37 * x, 0.11));
        }
        Solid::new(mesh).unwrap()
    }

    fn volume(part: &Option<Solid>) -> f64 {
        part.as_ref().map_or(0.0, Solid::volume)
    }

    /// V(A or B) + V(A and B) = V(A) + V(B), a property of measure.
    #[test]
    fn what_is_shared_is_counted_once() {
        for (a, b) in [
            (cube(0.0, 10.0), cube(6.0, 10.0)),
            (cube(0.0, 10.0), cube(10.0, 10.0)),
            (ball(4, 50.0, 0.0), ball(4, 40.0, 30.0)),
            (
                Solid::new(torus(300.0, 100.0, 64, 64)).unwrap(),
                ball(5, 200.0, 250.0),
            ),
        ] {
            let both = volume(&unite(&[&a, &b]).unwrap()) + volume(&intersect(&a, &b).unwrap());
            let each = a.volume() + b.volume();
            assert!((both / each - 1.0).abs() < 1e-6, "{both} {each}");
            let less = volume(&subtract(&a, &[&b]).unwrap());
            let shared = volume(&intersect(&a, &b).unwrap());
            assert!((less + shared - a.volume()).abs() < 1e-6 * each);
        }
    }

    #[test]
    fn cubes_overlap_as_counted_by_hand() {
        let (a, b) = (cube(0.0, 10.0), cube(6.0, 10.0));
        assert!((volume(&unite(&[&a, &b]).unwrap()) - (2000.0 - 64.0)).abs() < 1e-3);
        assert!((volume(&intersect(&a, &b).unwrap()) - 64.0).abs() < 1e-3);
        assert!((volume(&subtract(&a, &[&b]).unwrap()) - 936.0).abs() < 1e-3);
    }

    #[test]
    fn contact_is_nothing_in_common() {
        // Turned faces in contact: rounding leaves a sheet now thicker, now inside out.
        let turn =
            nalgebra::Isometry3::new(Vector3::new(700.0, 3.0, 1.0), Vector3::new(0.3, 0.2, 1.1));
        let a = cube(0.0, 10.0).transformed(&turn).unwrap();
        let slab = Solid::new(block(Point3::new(10.0, -5.0, -5.0), Vector3::repeat(30.0)));
        let b = slab.unwrap().transformed(&turn).unwrap();
        assert_eq!(intersect(&a, &b), Ok(None));
        assert!((volume(&unite(&[&a, &b]).unwrap()) - 28_000.0).abs() < 0.1);
    }

    #[test]
    fn nothing_left_is_none() {
        assert_eq!(unite(&[]), Ok(None));
        assert_eq!(intersect(&cube(0.0, 1.0), &cube(5.0, 1.0)), Ok(None));
        assert_eq!(subtract(&cube(1.0, 1.0), &[&cube(0.0, 5.0)]), Ok(None));
    }

    #[test]
    fn the_two_sides_of_a_plane_make_the_whole() {
        let ring = Solid::new(torus(800.0, 60.0, 200, 40)).unwrap();
        for normal in [
            Vector3::x(),
            Vector3::new(0.3, -0.7, 0.2),
            Vector3::new(-1.0, 1e-9, 0.0),
        ] {
            let (above, below) = cut_by_plane(&ring, Point3::new(3.0, 4.0, 5.0), normal).unwrap();
            let sum = volume(&above) + volume(&below);
            assert!((sum / ring.volume() - 1.0).abs() < 1e-6, "{sum}");
            assert!(volume(&above) > 0.4 * ring.volume());
        }
        let (above, below) =
            cut_by_plane(&ring, Point3::new(0.0, 0.0, 500.0), Vector3::z()).unwrap();
        assert_eq!(above, None);
        assert!((volume(&below) / ring.volume() - 1.0).abs() < 1e-9);
        let none = cut_by_plane(&ring, Point3::origin(), Vector3::zeros());
        assert_eq!(none, Err(BooleanFault::NoNormal));
    }

    /// Operands can only be solids, so the gate is what refuses an open or inside-out one.
    #[test]
    fn open_and_inside_out_operands_never_reach_the_kernel() {
        let mut open = octasphere(2);
        open.triangles.pop();
        assert!(matches!(Solid::new(open), Err(SolidFault::Open { .. })));
        let mut inside_out = octasphere(2);
        inside_out.triangles.iter_mut().for_each(|t| t.swap(0, 1));
        assert!(matches!(
            Solid::new(inside_out),
            Err(SolidFault::InsideOut { .. })
        ));
    }

    #[test]
    fn threads_change_nothing() {
        let a = Solid::new(torus(300.0, 100.0, 48, 48)).unwrap();
        let b = ball(4, 200.0, 250.0);
        let first = unite(&[&a, &b]).unwrap();
        let again: Vec<_> = (0..8)
            .into_par_iter()
            .map(|_| unite(&[&a, &b]).unwrap())
            .collect();
        assert!(again.iter().all(|s| *s == first));
    }

    #[test]
    fn many_parts_at_once_give_what_each_gives() {
        let ring = Solid::new(torus(300.0, 100.0, 48, 48)).unwrap();
        let parts = [
            ball(4, 200.0, 250.0),
            ball(3, 90.0, -300.0),
            cube(5000.0, 1.0),
        ];
        let each: Vec<_> = parts.iter().map(|p| intersect(&ring, p)).collect();
        assert_eq!(intersect_each(&ring, &parts), each);
        assert!(each[0].as_ref().unwrap().is_some() && each[2] == Ok(None));
    }

    /// Another program's answer to whether a surface crosses itself: the kernel's exact scan.
    #[test]
    fn crossings_are_found_where_the_kernel_finds_them() {
        for tube in [60.0, 90.0, 99.0, 101.0, 130.0] {
            let mesh = torus(100.0, tube, 48, 33);
            let other = Manifold::from_mesh_gl64(&MeshGL64 {
                num_prop: 3,
                vert_properties: mesh.points.iter().flat_map(|p| [p.x, p.y, p.z]).collect(),
                tri_verts: mesh.triangles.iter().flatten().map(|&i| i.into()).collect(),
                ..MeshGL64::default()
            });
            assert_eq!(
                crate::mesh::self_cross::find_crossing(&mesh).is_some(),
                other.has_self_intersections(),
                "{tube}"
            );
        }
    }
}
