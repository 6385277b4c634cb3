//! How triangles hang together: edges, pieces, genus.

use super::TriMesh;

/// What is wrong at an edge of a mesh that should be closed and consistent. Holds the two point indices.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeFault {
    /// One triangle only: a hole's rim.
    Open([u32; 2]),
    /// Two triangles that run the same way along it: one of them faces the wrong way.
    Twisted([u32; 2]),
    /// More than two triangles.
    Crowded([u32; 2]),
}

impl EdgeFault {
    /// The edge's end points.
    #[must_use]
    pub fn edge(&self) -> [u32; 2] {
        match *self {
            Self::Open(e) | Self::Twisted(e) | Self::Crowded(e) => e,
        }
    }
}

/// Half edges grouped by their lower end point: `(upper end, triangle * 2 + runs downward)`.
///
/// Counting into groups and sorting each small group is linear, where one sort of all half edges, or a
/// hash map, takes several times as long.
struct EdgeGroups {
    starts: Vec<u32>,
    entries: Vec<(u32, u32)>,
}

impl EdgeGroups {
    /// Every index must be below `points`, and `2 * triangles` below 2^32.
    fn new(points: usize, triangles: &[[u32; 3]]) -> Self {
        let mut starts = vec![0u32; points + 1];
        for &[a, b, c] in triangles {
            for (u, v) in [(a, b), (b, c), (c, a)] {
                starts[u.min(v) as usize + 1] += 1;
            }
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut next = starts.clone();
        let mut entries = vec![(0, 0); 3 * triangles.len()];
        for (t, &[a, b, c]) in triangles.iter().enumerate() {
            for (u, v) in [(a, b), (b, c), (c, a)] {
                let slot = &mut next[u.min(v) as usize];
                entries[*slot as usize] = (u.max(v), t as u32 * 2 + u32::from(u > v));
                *slot += 1;
            }
        }
        for pair in starts.windows(2) {
            entries[pair[0] as usize..pair[1] as usize].sort_unstable();
        }
        Self { starts, entries }
    }

    /// Calls `visit` with each undirected edge and the half edges along it, in order.
    fn each(&self, mut visit: impl FnMut([u32; 2], &[(u32, u32)])) {
        for (low, pair) in self.starts.windows(2).enumerate() {
            let group = &self.entries[pair[0] as usize..pair[1] as usize];
            for run in group.chunk_by(|a, b| a.0 == b.0) {
                visit([low as u32, run[0].0], run);
            }
        }
    }
}

/// Looks for an edge that is not shared by exactly two triangles running opposite ways along it. Gives
/// the first by point index.
///
/// Every corner index must be below `points`.
pub fn find_edge_fault(points: usize, triangles: &[[u32; 3]]) -> Option<EdgeFault> {
    let mut fault = None;
    EdgeGroups::new(points, triangles).each(|edge, run| {
        if fault.is_none() {
            fault = match *run {
                [_] => Some(EdgeFault::Open(edge)),
                [(_, a), (_, b)] if (a ^ b) & 1 == 0 => Some(EdgeFault::Twisted(edge)),
                [_, _] => None,
                _ => Some(EdgeFault::Crowded(edge)),
            };
        }
    });
    fault
}

/// The edges that make a picture legible: those not shared by exactly two triangles, and those along which
/// the two normals differ by more than `least_fold` (radians; pi leaves folds out).
///
/// Every corner index must be below the number of points.
#[must_use]
pub fn find_outlines(mesh: &TriMesh, least_fold: f64) -> Vec<[u32; 2]> {
    let flattest = least_fold.cos();
    let mut outlines = Vec::new();
    EdgeGroups::new(mesh.points.len(), &mesh.triangles).each(|edge, run| {
        let plain = match *run {
            [(_, a), (_, b)] => {
                let [m, n] = [a, b].map(|half| mesh.area_vector(half as usize / 2));
                m.dot(&n) >= flattest * m.norm() * n.norm()
            }
            _ => false,
        };
        if !plain {
            outlines.push(edge);
        }
    });
    outlines
}

/// Numbers the pieces of a mesh, triangles joined by an edge belonging together. Gives the piece of each
/// triangle, pieces counted in the order of their first triangle, and how many there are.
#[must_use]
pub fn find_pieces(mesh: &TriMesh) -> (Vec<u32>, usize) {
    let n = mesh.triangles.len();
    let mut parent: Vec<u32> = (0..n as u32).collect();
    fn root(parent: &mut [u32], mut i: u32) -> u32 {
        while parent[i as usize] != i {
            let up = parent[parent[i as usize] as usize];
            parent[i as usize] = up;
            i = up;
        }
        i
    }
    EdgeGroups::new(mesh.points.len(), &mesh.triangles).each(|_, run| {
        for pair in run.windows(2) {
            let a = root(&mut parent, pair[0].1 / 2);
            let b = root(&mut parent, pair[1].1 / 2);
            // The lower one stays root, so that a root is its piece's first triangle.
            parent[a.max(b) as usize] = a.min(b);
        }
    });
    let mut labels = vec![0; n];
    let mut count = 0;
    for t in 0..n as u32 {
        let r = root(&mut parent, t);
        labels[t as usize] = if r == t {
            count += 1;
            count - 1
        } else {
            labels[r as usize]
        };
    }
    (labels, count as usize)
}

/// Genus of a closed mesh summed over its `pieces` (handles, as in a torus), from Euler's formula
/// `V - E + F = 2 (pieces - genus)`. Points no triangle uses are not counted.
#[must_use]
pub fn measure_genus(mesh: &TriMesh, pieces: usize) -> i64 {
    let mut used = vec![false; mesh.points.len()];
    for &i in mesh.triangles.iter().flatten() {
        used[i as usize] = true;
    }
    let v = used.iter().filter(|&&u| u).count() as i64;
    let f = mesh.triangles.len() as i64;
    // Each closed triangle brings one and a half edges.
    pieces as i64 - (v - f / 2) / 2
}
