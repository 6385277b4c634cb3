//! What joints lack, told once for all that lack the same: not once for each of them and each part of it.

use crate::diag::Finding;

/// What one joint lacks.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Lack {
    /// The code of its finding.
    pub(super) code: &'static str,
    /// Said of one joint, such as "has no tab: the hidden face folds there".
    pub(super) what: String,
    /// What to do about it.
    pub(super) hint: &'static str,
}

impl Lack {
    pub(super) fn new(code: &'static str, what: impl Into<String>, hint: &'static str) -> Self {
        Self {
            code,
            what: what.into(),
            hint,
        }
    }
}

/// One warning for each set of lacks, at every joint that has it. `joints` holds the arc length of each
/// joint (mm) with what it lacks, in order.
pub(super) fn tell(joints: &[(f64, Vec<Lack>)]) -> Vec<Finding> {
    let mut groups: Vec<(&[Lack], Vec<usize>)> = Vec::new();
    for (i, (_, lacks)) in joints
        .iter()
        .enumerate()
        .filter(|(_, (_, l))| !l.is_empty())
    {
        match groups
            .iter_mut()
            .find(|(same, _)| *same == lacks.as_slice())
        {
            Some((_, members)) => members.push(i),
            None => groups.push((lacks, vec![i])),
        }
    }
    groups
        .into_iter()
        .filter_map(|(lacks, members)| {
            let which = name(&members);
            let whats: Vec<&str> = lacks.iter().map(|lack| lack.what.as_str()).collect();
            let mut hints: Vec<&str> = Vec::new();
            for lack in lacks.iter().filter(|lack| !lack.hint.is_empty()) {
                if !hints.contains(&lack.hint) {
                    hints.push(lack.hint);
                }
            }
            let finding = Finding::warning(
                lacks.first()?.code,
                format!("{which} {}", whats.join("; it ")),
                hints.join("; "),
            );
            Some(
                finding.at_all(
                    members
                        .iter()
                        .filter_map(|&i| joints.get(i).map(|(s, _)| *s)),
                ),
            )
        })
        .collect()
}

/// "the joint between segments 3 and 4", or "each of the joints between segments 1 and 2, and 3 and 4,".
fn name(members: &[usize]) -> String {
    let pairs: Vec<String> = (members.iter())
        .map(|i| format!("{} and {}", i + 1, i + 2))
        .collect();
    match pairs.as_slice() {
        [one] => format!("the joint between segments {one}"),
        [most @ .., last] => format!(
            "each of the joints between segments {}, and {last},",
            most.join(", ")
        ),
        [] => String::new(),
    }
}
