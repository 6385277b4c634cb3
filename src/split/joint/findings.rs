//! What is told of keys that another end goes into as well.

use super::code::Coded;
use super::{Joint, JointKind};
use crate::diag::Finding;

/// One note of all joints that take another end as well.
pub(super) fn repeated_keys(
    joints: &[Joint],
    coded: &Coded,
    like: &[[usize; 2]],
) -> Option<Finding> {
    let mut each = Vec::new();
    let mut places = Vec::new();
    for (k, joint) in joints
        .iter()
        .enumerate()
        .filter(|(_, j)| !j.keys.is_empty())
    {
        let (taken, free): (Vec<usize>, Vec<usize>) = match joint.kind {
            JointKind::Tab => {
                let taken = coded.takes.iter().filter(|pair| pair[0] == k);
                let free = (0..2).filter(|&end| coded.takes_free[end].contains(&k));
                (taken.map(|pair| pair[1]).collect(), free.collect())
            }
            // There the pins decide: a tongue beside them only keeps it from closing inside out.
            JointKind::Bulkhead | JointKind::Butt => {
                let with = like.iter().filter(|pair| pair.contains(&k));
                let other = with.map(|&[a, b]| if a == k { b } else { a });
                (other.collect(), Vec::new())
            }
        };
        let left = taken
            .iter()
            .map(|k| format!("the left end of segment {}", k + 2));
        let free = free.iter().map(|&end| match end {
            0 => "the free end of segment 1".to_owned(),
            _ => format!("the free end of segment {}", joints.len() + 1),
        });
        let ends: Vec<String> = left.chain(free).collect();
        if !ends.is_empty() {
            each.push(format!(
                "joint {} also takes {}",
                joint.letter,
                ends.join(" and ")
            ));
            places.push(joint.s);
        }
    }
    let what = format!(
        "{}, there being no room for keys that tell them apart: go by the letters and numbers on the segments",
        each.join("; ")
    );
    (!each.is_empty()).then(|| Finding::note("joint-keys-repeat", what).at_all(places))
}
