//! In what order the segments are joined, and where each joint is clamped.

use super::Joint;

/// One joint to close.
#[derive(Debug, Clone, PartialEq)]
pub struct JoinStep {
    /// The joint's number, counted from 1 at the maker's left: it joins the segments of this and the next
    /// number.
    pub joint: usize,
    /// Arc length of the cut (mm).
    pub s: f64,
    /// Where to clamp (arc length, mm): over the tab's root, and over the neighbour where it lies on the
    /// tab. A joint without a tab is clamped there too, on the strip that takes its place.
    pub clamp: [f64; 2],
}

/// Plans the order: the joint nearest to the middle first, then outward, each step adding one segment to
/// those already joined, the next nearest to the middle first. So the angle that a joint adds is carried
/// on over half of the length at most, and what is handled stays short for long. Common practice, no
/// source.
///
/// `along` is the first and last arc length of the workpiece.
pub(super) fn plan_assembly(joints: &[Joint], along: [f64; 2], tab_mm: f64) -> Vec<JoinStep> {
    let middle = f64::midpoint(along[0], along[1]);
    let mut order: Vec<usize> = (0..joints.len()).collect();
    // By distance from the middle the joints on either side come in their own order outward, so every
    // one adjoins those before it. The sort is stable: of two as near, the left one goes first.
    order.sort_by(|&a, &b| {
        let off = |i: usize| (joints[i].s - middle).abs();
        off(a).total_cmp(&off(b))
    });
    order
        .into_iter()
        .map(|i| {
            let s = joints[i].s;
            let half = tab_mm / 2.0;
            JoinStep {
                joint: i + 1,
                s,
                clamp: [(s - half).max(along[0]), (s + half).min(along[1])],
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn joints(places: &[f64]) -> Vec<Joint> {
        let joint = |(i, &s): (usize, &f64)| Joint {
            s,
            letter: crate::split::letter(i),
            kind: crate::split::JointKind::Tab,
            tab_on: i + 1,
            tab_volume_mm3: 1.0,
            cut_volume_mm3: 0.0,
            fit_mm: 0.25,
            reach_mm: 20.0,
            glue_mm2: 1.0,
            keys: Vec::new(),
            seats_along: crate::math::Vector3::y(),
        };
        places.iter().enumerate().map(joint).collect()
    }

    #[test]
    fn the_row_grows_outward_from_the_middle_one_segment_at_a_time() {
        for places in [
            &[100.0, 210.0, 300.0, 390.0, 470.0][..],
            &[30.0, 60.0, 90.0, 590.0],
            &[300.0],
        ] {
            let steps = plan_assembly(&joints(places), [0.0, 600.0], 20.0);
            assert_eq!(steps.len(), places.len());
            let (mut low, mut high) = (steps[0].joint, steps[0].joint);
            for step in &steps[1..] {
                assert!(
                    step.joint + 1 == low || step.joint == high + 1,
                    "{places:?} {steps:?}"
                );
                (low, high) = (low.min(step.joint), high.max(step.joint));
            }
            assert!(steps.iter().all(|step| {
                step.clamp == [(step.s - 10.0).max(0.0), (step.s + 10.0).min(600.0)]
            }));
        }
        let first = plan_assembly(&joints(&[100.0, 210.0, 300.0, 390.0]), [0.0, 600.0], 20.0);
        assert_eq!(first[0].joint, 3);
        assert!(plan_assembly(&[], [0.0, 1.0], 20.0).is_empty());
    }
}
