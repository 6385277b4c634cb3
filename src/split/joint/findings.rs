//! What is told of keys: joints that have none, and those that another end goes into as well.

use super::code::Coded;
use super::{Joint, JointKind};
use crate::diag::Finding;

/// Joints without a key, and those that take another end as well.
pub(super) fn key_findings(joints: &[Joint], coded: &Coded, like: &[[usize; 2]]) -> Vec<Finding> {
    let mut found: Vec<Finding> = joints
        .iter()
        .filter(|joint| joint.kind == JointKind::Tab && joint.keys.is_empty())
        .map(|joint| {
            Finding::warning(
                "joint-without-key",
                format!(
                    "joint {} has no key: the hidden face is too low or the wall too thin for its fit",
                    joint.letter
                ),
                "go by the letters and numbers on the segments when you put it together",
            )
            .at(joint.s)
        })
        .collect();
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
            found.push(
                Finding::note(
                    "joint-keys-repeat",
                    format!(
                        "joint {} also takes {}, there being no room for a key that tells them apart: go by the letters and numbers on the segments",
                        joint.letter,
                        ends.join(", ")
                    ),
                )
                .at(joint.s),
            );
        }
    }
    found
}
