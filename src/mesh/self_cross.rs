//! Does a closed mesh cross itself?

use super::TriMesh;
use super::box_tree::BoxTree;
use crate::math::{Point3, Vector3};
use rayon::prelude::*;

/// Two triangles of a mesh that pass through each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Their indices, the lower first.
    pub triangles: [usize; 2],
    /// A point where they cross.
    pub at: Point3,
}

/// Finds a place where the surface passes through itself: the one with the lowest first triangle.
///
/// Contact is no crossing: an edge counts only where its ends lie on both sides of a triangle and it
/// meets the inside of it, all by more than four steps of f32 at the largest coordinate, because points
/// rounded to f32 cannot say more (1e-3 mm at two metres). Neighbours are tested as well: two that share
/// a corner may cross, two that share an edge may lie folded onto each other. Flat faces that overlap in
/// one plane are not seen themselves, but the sides of the bodies they belong to are.
///
/// All corner indices must be valid; [`super::Solid`] promises that.
#[must_use]
pub fn find_crossing(mesh: &TriMesh) -> Option<Crossing> {
    find_crossing_rounded(mesh, largest_coordinate(mesh))
}

/// The largest coordinate of a mesh, whatever its sign.
#[must_use]
pub fn largest_coordinate(mesh: &TriMesh) -> f64 {
    let amounts = mesh.points.iter().map(|p| p.coords.amax());
    amounts.fold(0.0, f64::max)
}

/// The same for points that were rounded to f32 at coordinates as large as `largest` before they were moved
/// to where they are.
#[must_use]
pub fn find_crossing_rounded(mesh: &TriMesh, largest: f64) -> Option<Crossing> {
    let epsilon = 4.0 * f64::from(f32::EPSILON) * largest.max(largest_coordinate(mesh));
    let tree = BoxTree::new(mesh);
    (0..mesh.triangles.len())
        .into_par_iter()
        .with_min_len(256)
        .find_map_first(|t| {
            let mut found: Option<Crossing> = None;
            tree.each_later_touching(t, |u| {
                if found.is_none_or(|f| u < f.triangles[1])
                    && let Some(at) = cross(mesh, t, u, epsilon)
                {
                    found = Some(Crossing {
                        triangles: [t, u],
                        at,
                    });
                }
            });
            found
        })
}

/// A triangle with its unit normal and what is needed to ask whether a point of its plane is inside.
struct Face {
    corners: [Point3; 3],
    normal: Vector3,
}

impl Face {
    /// `None` for a triangle thinner than epsilon: its edges are tested as edges of its neighbours.
    fn new(corners: [Point3; 3], epsilon: f64) -> Option<Self> {
        let [a, b, c] = corners;
        let across = (b - a).cross(&(c - a));
        let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
        let area = across.norm();
        (area > 2.0 * epsilon * longest).then(|| Self {
            corners,
            normal: across / area,
        })
    }

    fn height(&self, p: &Point3) -> f64 {
        (p - self.corners[0]).dot(&self.normal)
    }

    /// Whether a point of its plane lies inside by more than epsilon.
    fn holds(&self, p: &Point3, epsilon: f64) -> bool {
        (0..3).all(|k| {
            let a = self.corners[k];
            let along = self.corners[(k + 1) % 3] - a;
            self.normal.cross(&along).dot(&(p - a)) > epsilon * along.norm()
        })
    }

    /// Where the line from `p` to `q` passes through.
    fn pierced(&self, p: &Point3, q: &Point3, epsilon: f64) -> Option<Point3> {
        let (hp, hq) = (self.height(p), self.height(q));
        if !(hp > epsilon && hq < -epsilon || hp < -epsilon && hq > epsilon) {
            return None;
        }
        let at = p + (q - p) * (hp / (hp - hq));
        self.holds(&at, epsilon).then_some(at)
    }
}

fn cross(mesh: &TriMesh, t: usize, u: usize, epsilon: f64) -> Option<Point3> {
    let (it, iu) = (mesh.triangles[t], mesh.triangles[u]);
    let shared = it.iter().filter(|i| iu.contains(i)).count();
    let (ct, cu) = (mesh.corners(t), mesh.corners(u));
    let (ft, fu) = (Face::new(ct, epsilon), Face::new(cu, epsilon));
    if shared >= 2 {
        return folded(it, iu, &ft?, &fu?, epsilon);
    }
    // Edges that start at a shared corner lie in the other's plane there and pierce nothing.
    let pierce = |face: &Option<Face>, indices: [u32; 3], corners: [Point3; 3], other: [u32; 3]| {
        let face = face.as_ref()?;
        let heights = corners.map(|p| face.height(&p));
        if heights.iter().all(|&h| h > -epsilon) || heights.iter().all(|&h| h < epsilon) {
            return None;
        }
        (0..3)
            .map(|k| (k, (k + 1) % 3))
            .filter(|&(i, j)| !other.contains(&indices[i]) && !other.contains(&indices[j]))
            .find_map(|(i, j)| face.pierced(&corners[i], &corners[j], epsilon))
    };
    pierce(&ft, iu, cu, it).or_else(|| pierce(&fu, it, ct, iu))
}

/// Whether two triangles on one edge lie on each other: facing opposite ways, with no angle between.
fn folded(it: [u32; 3], iu: [u32; 3], ft: &Face, fu: &Face, epsilon: f64) -> Option<Point3> {
    /// Sine of the angle under which the faces of a fold count as one.
    const CLOSED_EPSILON: f64 = 1e-4;
    let free = |indices: [u32; 3], other: [u32; 3], face: &Face| {
        (0..3)
            .find(|&k| !other.contains(&indices[k]))
            .map(|k| face.corners[k])
    };
    let (pt, pu) = (free(it, iu, ft)?, free(iu, it, fu)?);
    let flat = ft.height(&pu).abs().max(fu.height(&pt).abs()) < epsilon
        && ft.normal.cross(&fu.normal).norm() < CLOSED_EPSILON;
    (flat && ft.normal.dot(&fu.normal) < 0.0).then(|| nalgebra::center(&pt, &pu))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::samples::{block, octasphere, torus};

    fn both(mut a: TriMesh, b: TriMesh) -> TriMesh {
        let n = a.points.len() as u32;
        a.points.extend(b.points);
        a.triangles
            .extend(b.triangles.iter().map(|t| t.map(|i| i + n)));
        a
    }

    #[test]
    fn simple_bodies_do_not_cross_themselves() {
        for mesh in [
            octasphere(4),
            torus(300.0, 100.0, 64, 64),
            block(Point3::origin(), Vector3::new(1.0, 2.0, 3.0)),
            TriMesh::default(),
        ] {
            assert_eq!(find_crossing(&mesh), None);
        }
    }

    /// A torus whose tube is thicker than its ring passes through itself on the axis.
    #[test]
    fn a_spindle_torus_crosses_itself() {
        let found = find_crossing(&torus(80.0, 100.0, 64, 64)).unwrap();
        assert!(found.at.coords.xy().norm() < 25.0, "{found:?}");
    }

    #[test]
    fn bodies_pushed_into_each_other_cross_and_bodies_in_contact_do_not() {
        let a = block(Point3::origin(), Vector3::repeat(10.0));
        let deep = block(Point3::new(9.0, 3.0, 4.0), Vector3::repeat(10.0));
        assert!(find_crossing(&both(a.clone(), deep)).is_some());
        let touching = block(Point3::new(10.0, 3.0, 4.0), Vector3::repeat(10.0));
        assert_eq!(find_crossing(&both(a, touching)), None);
    }

    #[test]
    fn neighbours_on_one_corner_are_seen() {
        let mut mesh = octasphere(3);
        // Push a point of the top through the bottom: what hangs on it crosses the far side.
        let i = mesh.points.iter().position(|p| p.z == 1.0).unwrap();
        mesh.points[i] = Point3::new(0.05, 0.03, -1.3);
        assert!(find_crossing(&mesh).is_some());
        // Swap two neighbours: the triangles round them cross their neighbours near by.
        let mut mesh = octasphere(3);
        let [a, b, _] = mesh.triangles[100];
        mesh.points.swap(a as usize, b as usize);
        assert!(find_crossing(&mesh).is_some());
    }
}
