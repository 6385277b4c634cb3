//! The row pulled apart: how far each segment moves, and where its number goes.

use super::{Joint, Segment};
use crate::math::{Point3, Spine, Vector3};

/// Room between neighbours once the row is pulled apart (mm): more than the longest usual tab, so that
/// the tabs are seen whole.
pub const PULL_MM: f64 = 60.0;
/// How far a number stands over its segment (mm).
const LABEL_MM: f64 = 25.0;

/// A row of segments pulled apart, one entry for each of them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Exploded {
    /// How far each moves from where it sits on the vehicle (shop frame, mm). Neighbours part straight
    /// along the spine at their joint, by [`PULL_MM`]; the middle of the row stays.
    pub away: Vec<Vector3>,
    /// Where the number of each goes, once moved (shop frame, mm): above its middle.
    pub labels: Vec<Point3>,
}

/// Pulls a row apart. What neighbours part by does not depend on the others, so a bent row opens like a
/// fan and a joint is seen as it is closed: along its tab.
pub(super) fn pull_apart(spine: &Spine, row: &[Segment], joints: &[Joint]) -> Exploded {
    let mut away = vec![Vector3::zeros()];
    for joint in joints {
        let along = spine.frame_at(joint.s).along;
        away.push(away[away.len() - 1] + along * PULL_MM);
    }
    let middle = away.iter().sum::<Vector3>() / away.len() as f64;
    for by in &mut away {
        *by -= middle;
    }
    let labels = row
        .iter()
        .zip(&away)
        .map(|(segment, by)| {
            let (low, high) = segment.in_place.bounds();
            let at = spine
                .frame_at(f64::midpoint(segment.along[0], segment.along[1]))
                .origin;
            let over = Point3::new(
                at.x.clamp(low.x, high.x),
                at.y.clamp(low.y, high.y),
                high.z + LABEL_MM,
            );
            over + by
        })
        .collect();
    Exploded { away, labels }
}
