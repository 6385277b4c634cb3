//! Cleaning: what is no surface goes, and is counted.

use super::Removed;
use crate::math::Point3;
use crate::mesh::TriMesh;
use crate::mesh::first_seen::{FirstSeen, mix};
use crate::mesh::pieces::{Piece, label_pieces};
use crate::mesh::weld::{drop_unused_points, weld_near};

/// Nothing of a vehicle is further from the middle of its scan than this (mm).
const FARTHEST_MM: f64 = 1e5;

/// Points nearer than this many spacings are one. Passes the last bits in which copies of a point
/// differ after a transform (1e-7 of the coordinates); stops two corners of a fine sliver.
const WELD_SPACINGS: f64 = 1e-3;

/// A triangle lower than this part of its longest edge has no area. Passes a sliver of one in a
/// thousand; stops three points on a line, whose height is rounding.
const LEAST_HEIGHT: f64 = 1e-6;

/// A piece at least this long (mm) or this large (mm2) always stays: a piece of body cut off by a hole
/// of 60 mm may be no larger. Common practice, no source.
const KEPT_LENGTH_MM: f64 = 60.0;
const KEPT_AREA_MM2: f64 = 1500.0;

/// A piece of at least this part of the largest one's area stays as well: in a scan of something small
/// nothing reaches the bounds above.
const KEPT_SHARE: f64 = 0.02;

/// Triangles looked at for the median edge length, at most.
const SPACING_SAMPLE: usize = 50_000;

/// A cleaned scan.
#[derive(Debug, Clone, PartialEq)]
pub struct Cleaned {
    /// What is left (mm, scan frame); every point is used and finite.
    pub mesh: TriMesh,
    /// What went.
    pub removed: Removed,
    /// Median edge length (mm); 0 where nothing is left.
    pub spacing_mm: f64,
    /// Pieces that were kept.
    pub pieces: usize,
}

/// Cleans a scan in millimetres.
///
/// Drops, in this order: triangles with corners that are not finite or absurdly far from the median
/// point; triangles without area, after points that are equal or nearly so were welded; triangles with
/// the corners of an earlier one, whichever way round; loose pieces that are small beside the largest
/// one and shorter than 60 mm and smaller than 15 cm2. The order of what stays is kept.
///
/// Promises the same result for the same input. The result may be empty.
#[must_use]
pub fn clean(mut mesh: TriMesh) -> Cleaned {
    let mut removed = Removed::default();
    let points = mesh.points.len();
    removed.degenerate += retain(&mut mesh, |t, _| t.iter().all(|&i| (i as usize) < points));
    removed.not_finite = drop_far(&mut mesh);
    let spacing = median_edge_length(&mesh);
    mesh = weld_near(mesh, WELD_SPACINGS * spacing);
    removed.degenerate += retain(&mut mesh, |_, corners| has_area(corners));
    removed.duplicate = drop_duplicates(&mut mesh);
    let pieces = drop_floaters(&mut mesh, &mut removed);
    mesh = drop_unused_points(mesh);
    Cleaned {
        spacing_mm: median_edge_length(&mesh),
        mesh,
        removed,
        pieces,
    }
}

/// Median length of the triangles' edges, from at most 50,000 triangles evenly strided; 0 without any.
#[must_use]
pub fn median_edge_length(mesh: &TriMesh) -> f64 {
    let stride = mesh.triangles.len().div_ceil(SPACING_SAMPLE).max(1);
    let mut lengths: Vec<f64> = (0..mesh.triangles.len())
        .step_by(stride)
        .flat_map(|t| {
            let [a, b, c] = mesh.corners(t);
            [(b - a).norm(), (c - b).norm(), (a - c).norm()]
        })
        .filter(|l| l.is_finite() && *l > 0.0)
        .collect();
    median(&mut lengths).unwrap_or(0.0)
}

fn median(values: &mut [f64]) -> Option<f64> {
    let middle = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(middle, f64::total_cmp).1)
}

/// Keeps the triangles for which `stays` holds and counts the others.
fn retain(mesh: &mut TriMesh, mut stays: impl FnMut([u32; 3], [Point3; 3]) -> bool) -> usize {
    let before = mesh.triangles.len();
    let points = &mesh.points;
    let nowhere = Point3::from([f64::NAN; 3]);
    mesh.triangles.retain(|&t| {
        stays(
            t,
            t.map(|i| points.get(i as usize).copied().unwrap_or(nowhere)),
        )
    });
    before - mesh.triangles.len()
}

fn drop_far(mesh: &mut TriMesh) -> usize {
    let stride = mesh.points.len().div_ceil(SPACING_SAMPLE).max(1);
    let middle = [0, 1, 2].map(|axis| {
        let mut values: Vec<f64> = mesh
            .points
            .iter()
            .step_by(stride)
            .map(|p| p[axis])
            .filter(|c| c.is_finite())
            .collect();
        median(&mut values).unwrap_or(0.0)
    });
    let middle = Point3::from(middle);
    // A comparison with NaN is false, so that goes too.
    retain(mesh, |_, corners| {
        corners
            .iter()
            .all(|p| (p - middle).iter().all(|c| c.abs() <= FARTHEST_MM))
    })
}

fn has_area([a, b, c]: [Point3; 3]) -> bool {
    let (u, v, w) = (b - a, c - b, a - c);
    let longest = u.norm_squared().max(v.norm_squared()).max(w.norm_squared());
    // Twice the area is height times longest edge.
    u.cross(&w).norm() > LEAST_HEIGHT * longest
}

fn drop_duplicates(mesh: &mut TriMesh) -> usize {
    let mut seen = FirstSeen::default();
    let mut kept: Vec<[u32; 3]> = Vec::with_capacity(mesh.triangles.len());
    let sorted = |mut t: [u32; 3]| {
        t.sort_unstable();
        t
    };
    let hash = |t: [u32; 3]| mix(t.map(u64::from));
    retain(mesh, |t, _| {
        let t = sorted(t);
        let next = u32::try_from(kept.len()).unwrap_or(u32::MAX);
        let is_new = next
            == seen.find_or_insert(
                hash(t),
                next,
                |i| kept[i as usize] == t,
                |i| hash(kept[i as usize]),
            );
        if is_new {
            kept.push(t);
        }
        is_new
    })
}

/// Whether a piece is a floater beside the largest one.
fn is_floater(piece: &Piece, largest_area: f64) -> bool {
    piece.longest_side() < KEPT_LENGTH_MM
        && piece.area < KEPT_AREA_MM2
        && piece.area < KEPT_SHARE * largest_area
}

/// Drops floaters and returns how many pieces stay.
fn drop_floaters(mesh: &mut TriMesh, removed: &mut Removed) -> usize {
    let (labels, pieces) = label_pieces(mesh);
    let largest = pieces.iter().map(|p| p.area).fold(0.0, f64::max);
    let goes: Vec<bool> = pieces.iter().map(|p| is_floater(p, largest)).collect();
    removed.floaters = goes.iter().filter(|g| **g).count();
    if removed.floaters > 0 {
        let mut labels = labels.into_iter();
        removed.floater_triangles = retain(mesh, |_, _| {
            labels.next().is_some_and(|l| !goes[l as usize])
        });
    }
    pieces.len() - removed.floaters
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square grid in the plane z = 0 from `(x, y)`, `n` cells of `cell` a side.
    fn add_grid(mesh: &mut TriMesh, x: f64, y: f64, n: u32, cell: f64) {
        let base = mesh.points.len() as u32;
        for i in 0..=n {
            for j in 0..=n {
                mesh.points.push(Point3::new(
                    x + cell * f64::from(i),
                    y + cell * f64::from(j),
                    0.0,
                ));
            }
        }
        for i in 0..n {
            for j in 0..n {
                let a = base + i * (n + 1) + j;
                let b = a + n + 1;
                mesh.triangles.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
            }
        }
    }

    fn area(mesh: &TriMesh) -> f64 {
        (0..mesh.triangles.len())
            .map(|t| 0.5 * mesh.area_vector(t).norm())
            .sum()
    }

    #[test]
    fn a_clean_grid_stays_as_it_is() {
        let mut mesh = TriMesh::default();
        add_grid(&mut mesh, 0.0, 0.0, 20, 5.0);
        let got = clean(mesh.clone());
        assert_eq!(got.mesh, mesh);
        assert_eq!(got.removed, Removed::default());
        assert_eq!((got.pieces, got.spacing_mm), (1, 5.0));
    }

    #[test]
    fn each_kind_of_rubbish_is_dropped_and_counted() {
        let mut mesh = TriMesh::default();
        add_grid(&mut mesh, 0.0, 0.0, 20, 10.0);
        let whole = mesh.clone();
        // A corner that is not a number, one at infinity, one 200 m off.
        let n = mesh.points.len() as u32;
        mesh.points
            .extend([f64::NAN, f64::INFINITY, 2e5].map(|x| Point3::new(x, 0.0, 0.0)));
        mesh.triangles
            .extend([[0, 1, n], [0, n + 1, 1], [0, 1, n + 2]]);
        // The same corner twice, three corners in line, an index that points nowhere.
        mesh.triangles
            .extend([[0, 0, 1], [0, 1, 2], [0, 1, 1_000_000]]);
        // An earlier triangle as it is, and turned over.
        let [a, b, c] = mesh.triangles[5];
        mesh.triangles.extend([[b, c, a], [c, b, a]]);
        // A loose triangle near by.
        add_grid(&mut mesh, 50.0, 300.0, 1, 10.0);
        let got = clean(mesh);
        assert_eq!(got.mesh, whole);
        let want = Removed {
            not_finite: 3,
            degenerate: 3,
            duplicate: 2,
            floaters: 1,
            floater_triangles: 2,
            surroundings: 0,
        };
        assert_eq!(got.removed, want);
    }

    #[test]
    fn a_strip_cut_off_by_a_hole_stays_and_a_flake_goes() {
        let mut mesh = TriMesh::default();
        add_grid(&mut mesh, 0.0, 0.0, 200, 5.0);
        // Beyond a hole of 60 mm: a piece 65 mm long and 5 mm wide would be 13 cells; 40 mm square is
        // 16 cm2. Both must stay.
        let mut strip = TriMesh::default();
        add_grid(&mut strip, 0.0, 0.0, 13, 5.0);
        strip.triangles.truncate(26);
        let base = mesh.points.len() as u32;
        mesh.points.extend(
            strip
                .points
                .iter()
                .map(|p| Point3::new(p.x + 1060.0, p.y, p.z)),
        );
        mesh.triangles
            .extend(strip.triangles.iter().map(|t| t.map(|i| i + base)));
        add_grid(&mut mesh, 1060.0, 300.0, 8, 5.0);
        let before = mesh.triangles.len();
        // 30 mm square is 9 cm2: a flake.
        add_grid(&mut mesh, 1060.0, 600.0, 6, 5.0);
        let got = clean(mesh);
        assert_eq!(got.pieces, 3);
        assert_eq!(
            (got.removed.floaters, got.removed.floater_triangles),
            (1, 72)
        );
        assert_eq!(got.mesh.triangles.len(), before);
    }

    #[test]
    fn a_small_thing_is_not_thrown_away_whole() {
        let mut mesh = TriMesh::default();
        add_grid(&mut mesh, 0.0, 0.0, 4, 5.0);
        add_grid(&mut mesh, 50.0, 0.0, 3, 5.0);
        assert_eq!(clean(mesh).pieces, 2);
    }

    #[test]
    fn a_soup_is_welded_and_keeps_its_area() {
        let mut mesh = TriMesh::default();
        add_grid(&mut mesh, 100.0, 100.0, 20, 5.0);
        let soup = TriMesh {
            points: mesh
                .triangles
                .iter()
                .flatten()
                .map(|&i| mesh.points[i as usize])
                .collect(),
            triangles: (0..mesh.triangles.len() as u32)
                .map(|t| [3 * t, 3 * t + 1, 3 * t + 2])
                .collect(),
        };
        let got = clean(soup);
        assert_eq!(got.mesh.points.len(), 21 * 21);
        // 20 cells of 5 mm a side.
        assert!((area(&got.mesh) - 100.0 * 100.0).abs() < 1e-6);
    }

    #[test]
    fn points_rounded_to_a_millimetre_leave_a_surface() {
        // A plain export of a fine mesh: cells of 0.8 mm, coordinates in whole millimetres.
        let mut mesh = TriMesh::default();
        add_grid(&mut mesh, 0.0, 0.0, 250, 0.8);
        for p in &mut mesh.points {
            *p = p.map(f64::round);
        }
        let got = clean(mesh);
        assert!(got.removed.degenerate > 0);
        assert_eq!(got.pieces, 1);
        // 250 cells of 0.8 mm: the square of 200 mm stays covered.
        assert!((area(&got.mesh) - 200.0 * 200.0).abs() < 1e-6);
    }

    #[test]
    fn nothing_and_all_rubbish_come_back_empty() {
        assert_eq!(clean(TriMesh::default()).pieces, 0);
        let nan = TriMesh {
            points: vec![Point3::from([f64::NAN; 3]); 3],
            triangles: vec![[0, 1, 2]],
        };
        let got = clean(nan);
        assert!(got.mesh.triangles.is_empty() && got.mesh.points.is_empty());
        assert_eq!((got.removed.not_finite, got.spacing_mm), (1, 0.0));
    }
}
