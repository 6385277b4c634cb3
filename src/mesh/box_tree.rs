//! A tree of boxes over triangles, for asking which of them may touch.

use super::TriMesh;
use crate::math::Point3;

/// Triangles in a leaf: fewer costs more nodes, more costs more tests.
const LEAF: usize = 4;

#[derive(Clone, Copy)]
pub(super) struct Box3 {
    pub low: Point3,
    pub high: Point3,
}

impl Box3 {
    pub(super) fn of_triangle(mesh: &TriMesh, triangle: usize) -> Self {
        let [a, b, c] = mesh.corners(triangle);
        Self {
            low: a.inf(&b).inf(&c),
            high: a.sup(&b).sup(&c),
        }
    }

    fn join(&self, other: &Self) -> Self {
        Self {
            low: self.low.inf(&other.low),
            high: self.high.sup(&other.high),
        }
    }

    /// Sum of the sides: a cheap measure of size.
    fn size(&self) -> f64 {
        (self.high - self.low).sum()
    }

    fn touches(&self, other: &Self) -> bool {
        (0..3).all(|k| self.low[k] <= other.high[k] && other.low[k] <= self.high[k])
    }
}

enum Below {
    /// Range of `order`.
    Leaf(usize, usize),
    /// The second child; the first is the next node.
    Second(usize),
}

struct Node {
    around: Box3,
    below: Below,
}

pub(super) struct BoxTree {
    boxes: Vec<Box3>,
    order: Vec<u32>,
    nodes: Vec<Node>,
}

impl BoxTree {
    pub(super) fn new(mesh: &TriMesh) -> Self {
        let boxes: Vec<Box3> = (0..mesh.triangles.len())
            .map(|t| Box3::of_triangle(mesh, t))
            .collect();
        let mut tree = Self {
            order: (0..boxes.len() as u32).collect(),
            nodes: Vec::with_capacity(boxes.len()),
            boxes,
        };
        if !tree.boxes.is_empty() {
            tree.grow(0, tree.order.len());
        }
        tree
    }

    /// Adds the node over a range of `order` that is not empty.
    fn grow(&mut self, from: usize, to: usize) {
        let first = self.boxes[self.order[from] as usize];
        let around = self.order[from..to]
            .iter()
            .fold(first, |all, &t| all.join(&self.boxes[t as usize]));
        let own = self.nodes.len();
        self.nodes.push(Node {
            around,
            below: Below::Leaf(from, to),
        });
        if to - from <= LEAF {
            return;
        }
        let axis = (around.high - around.low).imax();
        let middle = (from + to) / 2;
        let boxes = &self.boxes;
        let centre = |t: &u32| {
            let b = &boxes[*t as usize];
            b.low[axis] + b.high[axis]
        };
        self.order[from..to].select_nth_unstable_by(middle - from, |a, b| {
            centre(a).total_cmp(&centre(b)).then(a.cmp(b))
        });
        self.grow(from, middle);
        let second = self.nodes.len();
        self.grow(middle, to);
        self.nodes[own].below = Below::Second(second);
    }

    /// Calls `visit` with each triangle whose box touches that of `triangle` and whose index is higher,
    /// in no useful order.
    pub(super) fn each_later_touching(&self, triangle: usize, mut visit: impl FnMut(usize)) {
        let own = self.boxes[triangle];
        let mut stack = vec![0];
        while let Some(i) = stack.pop() {
            let Some(node) = self.nodes.get(i) else {
                continue;
            };
            if !node.around.touches(&own) {
                continue;
            }
            match node.below {
                Below::Second(second) => stack.extend([second, i + 1]),
                Below::Leaf(from, to) => {
                    for &t in &self.order[from..to] {
                        let t = t as usize;
                        if t > triangle && self.boxes[t].touches(&own) {
                            visit(t);
                        }
                    }
                }
            }
        }
    }

    /// Calls `visit` with pairs of one triangle of this tree and one of the other, nearer boxes first.
    /// `apart` gives a bound from below on the distance of what two boxes hold, `None` where it is no
    /// matter; it is asked again whenever a pair comes up, so what `visit` learnt can rule out the rest.
    pub(super) fn each_pair(
        &self,
        other: &Self,
        mut apart: impl FnMut(&Box3, &Box3) -> Option<f64>,
        mut visit: impl FnMut(usize, usize),
    ) {
        if self.nodes.is_empty() || other.nodes.is_empty() {
            return;
        }
        let mut stack = vec![(0, 0)];
        while let Some((i, j)) = stack.pop() {
            let (Some(a), Some(b)) = (self.nodes.get(i), other.nodes.get(j)) else {
                continue;
            };
            if apart(&a.around, &b.around).is_none() {
                continue;
            }
            let split = match (&a.below, &b.below) {
                (Below::Leaf(from, to), Below::Leaf(start, end)) => {
                    for &t in &self.order[*from..*to] {
                        for &u in &other.order[*start..*end] {
                            let (t, u) = (t as usize, u as usize);
                            if apart(&self.boxes[t], &other.boxes[u]).is_some() {
                                visit(t, u);
                            }
                        }
                    }
                    continue;
                }
                (Below::Second(second), Below::Leaf(..)) => [(i + 1, j), (*second, j)],
                (Below::Leaf(..), Below::Second(second)) => [(i, j + 1), (i, *second)],
                (Below::Second(k), Below::Second(l)) => {
                    if a.around.size() >= b.around.size() {
                        [(i + 1, j), (*k, j)]
                    } else {
                        [(i, j + 1), (i, *l)]
                    }
                }
            };
            let [one, two] = split.map(|(p, q)| {
                let (a, b) = (self.nodes.get(p)?, other.nodes.get(q)?);
                apart(&a.around, &b.around).map(|bound| (bound, (p, q)))
            });
            match (one, two) {
                (Some(one), Some(two)) if one.0 <= two.0 => stack.extend([two.1, one.1]),
                (Some(one), Some(two)) => stack.extend([one.1, two.1]),
                (Some(only), None) | (None, Some(only)) => stack.push(only.1),
                (None, None) => {}
            }
        }
    }
}
