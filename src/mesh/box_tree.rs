//! A tree of boxes over triangles, for asking which of them may touch.

use super::TriMesh;
use crate::math::{Point3, Vector3};
use rayon::prelude::*;

/// Triangles in a leaf: fewer costs more nodes, more costs more tests.
const LEAF: usize = 4;
/// From so many triangles on the halves of a tree are grown side by side.
const SIDE_BY_SIDE: usize = 16_384;

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

#[derive(Clone, Copy)]
enum Below {
    /// Range of `order`.
    Leaf(usize, usize),
    /// The second child; the first is the next node.
    Second(usize),
}

#[derive(Clone, Copy)]
struct Node {
    around: Box3,
    below: Below,
}

/// Fills the nodes over a stretch of the order, not empty, that begins at `from`; the first node stands at
/// `at` in the tree. Large halves are grown side by side, and come out the same however that goes.
fn grow(boxes: &[Box3], order: &mut [u32], from: usize, nodes: &mut [Node], at: usize) {
    let count = order.len();
    let first = boxes[order[0] as usize];
    let around = order
        .iter()
        .fold(first, |all, &t| all.join(&boxes[t as usize]));
    if count <= LEAF {
        let below = Below::Leaf(from, from + count);
        nodes[0] = Node { around, below };
        return;
    }
    let axis = (around.high - around.low).imax();
    let middle = count / 2;
    let centre = |t: &u32| {
        let b = &boxes[*t as usize];
        b.low[axis] + b.high[axis]
    };
    order.select_nth_unstable_by(middle, |a, b| {
        centre(a).total_cmp(&centre(b)).then(a.cmp(b))
    });
    let (lower, upper) = order.split_at_mut(middle);
    let (own, rest) = nodes.split_at_mut(1);
    let (one, two) = rest.split_at_mut(nodes_over(middle));
    let second = at + 1 + one.len();
    let below = Below::Second(second);
    own[0] = Node { around, below };
    let mut grow_one = || grow(boxes, lower, from, one, at + 1);
    let mut grow_two = || grow(boxes, upper, from + middle, two, second);
    if count > SIDE_BY_SIDE {
        rayon::join(grow_one, grow_two);
    } else {
        grow_one();
        grow_two();
    }
}

/// How many nodes stand over so many triangles.
fn nodes_over(count: usize) -> usize {
    if count <= LEAF {
        1
    } else {
        1 + nodes_over(count / 2) + nodes_over(count - count / 2)
    }
}

pub(super) struct BoxTree {
    boxes: Vec<Box3>,
    order: Vec<u32>,
    nodes: Vec<Node>,
}

impl BoxTree {
    pub(super) fn new(mesh: &TriMesh) -> Self {
        let boxes: Vec<Box3> = (0..mesh.triangles.len())
            .into_par_iter()
            .map(|t| Box3::of_triangle(mesh, t))
            .collect();
        let mut order: Vec<u32> = (0..boxes.len() as u32).collect();
        let mut nodes = Vec::new();
        if let Some(&around) = boxes.first() {
            let below = Below::Leaf(0, 0);
            nodes.resize(nodes_over(boxes.len()), Node { around, below });
            grow(&boxes, &mut order, 0, &mut nodes, 0);
        }
        Self {
            boxes,
            order,
            nodes,
        }
    }

    /// Calls `visit` with each triangle whose box touches that of `triangle` and whose index is higher,
    /// in no useful order.
    pub(super) fn each_later_touching(&self, triangle: usize, mut visit: impl FnMut(usize)) {
        self.any_near(&self.boxes[triangle], 0.0, |t| {
            if t > triangle {
                visit(t);
            }
            false
        });
    }

    /// Whether `met` holds for any triangle whose box is within `reach` of `around`, along every axis.
    pub(super) fn any_near(
        &self,
        around: &Box3,
        reach: f64,
        mut met: impl FnMut(usize) -> bool,
    ) -> bool {
        let room = Vector3::repeat(reach);
        let wide = Box3 {
            low: around.low - room,
            high: around.high + room,
        };
        let mut stack = vec![0];
        while let Some(i) = stack.pop() {
            let Some(node) = self.nodes.get(i) else {
                continue;
            };
            if !node.around.touches(&wide) {
                continue;
            }
            match node.below {
                Below::Second(second) => stack.extend([second, i + 1]),
                Below::Leaf(from, to) => {
                    let mut near = self.order[from..to].iter().map(|&t| t as usize);
                    if near.any(|t| self.boxes[t].touches(&wide) && met(t)) {
                        return true;
                    }
                }
            }
        }
        false
    }

    /// Triangles that may lie within `reach` of one of another tree, in no useful order.
    pub(super) fn near_other(&self, other: &Self, reach: f64) -> Vec<usize> {
        let mut found = Vec::new();
        let mut stack = vec![0];
        while let Some(i) = stack.pop() {
            let Some(node) = self.nodes.get(i) else {
                continue;
            };
            if !other.any_near(&node.around, reach, |_| true) {
                continue;
            }
            match node.below {
                Below::Second(second) => stack.extend([second, i + 1]),
                Below::Leaf(from, to) => {
                    found.extend(self.order[from..to].iter().map(|&t| t as usize));
                }
            }
        }
        found
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
