//! Gaps that no packing brings within what the seal or lip takes up.

use super::fit::{Fit, Model, Point, Scale, fit};
use super::judge::choose_of;
use super::{CheckKind, Instrument};
use crate::gap::seal::Room;

/// The gap readings that stay off by more than the seal or lip takes up once what is off as a whole is
/// packed out. Their numbers among `points`, which are taken without the doubt that is common to all gaps:
/// that is what packing takes out. Where leaving one of them out brings all others within, it is that one.
///
/// A survey that is known to 2 mm agrees with a gap that is off by 1.5 mm from its neighbours; a seal that
/// takes up 0.9 mm does not.
pub fn find_local(points: &[Point], room: Room, with_scale: bool) -> Vec<usize> {
    // A caliper's own error is no fault of the gap.
    let limit = room.half().max(0.0) + Instrument::Caliper.sigma(0.0);
    let fitted = |points: &[Point]| -> Option<Fit> {
        let allowed = |m: &Model| with_scale || m.scale == Scale::Kept;
        Some(choose_of(allowed, fit(Model::NONE, points)?, points))
    };
    let off = |fit: &Fit, p: &Point| {
        let c = fit.correction;
        p.read - (c.scale * p.predicted + c.added(p.share))
    };
    let is_gap = |p: &Point| p.kind == CheckKind::Gap;
    let beyond = |fit: &Fit, points: &[Point]| -> Vec<usize> {
        (0..points.len())
            .filter(|&i| is_gap(&points[i]) && off(fit, &points[i]).abs() > limit)
            .collect()
    };
    let gaps = points.iter().filter(|p| is_gap(p)).count();
    let Some(all) = fitted(points).filter(|_| gaps >= 2) else {
        return Vec::new();
    };
    let odd = beyond(&all, points);
    let alone = odd.iter().filter_map(|&i| {
        let mut rest = points.to_vec();
        rest.remove(i);
        let fit = fitted(&rest)?;
        beyond(&fit, &rest)
            .is_empty()
            .then_some((i, fit.chi_square))
    });
    // With two readings nothing says which of them is off.
    match alone
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|_| gaps > 2)
    {
        Some((i, _)) => vec![i],
        None => odd,
    }
}
