//! Two surveys of one gap, in whatever frames, held against each other.

// A missing inverse may stop a test.
#![allow(clippy::unwrap_used)]

use gapwright::gap::{Quality, Station, Survey};
use gapwright::scan::Scene;
use nalgebra::Matrix4;

/// Root mean square difference of the two gap fields at stations nearest in plan, and the share of the
/// first one's good stations that have one within 8 mm in the second.
pub fn difference(a: &(Scene, Survey), b: &(Scene, Survey)) -> (f64, f64) {
    difference_between(a, b, &Matrix4::identity())
}

/// The same where `files` takes the units of the first one's body file to those of the second one's.
pub fn difference_between(
    a: &(Scene, Survey),
    b: &(Scene, Survey),
    files: &Matrix4<f64>,
) -> (f64, f64) {
    let to_b = b.0.body.to_shop * files * a.0.body.to_shop.try_inverse().unwrap();
    let good = |s: &Survey| -> Vec<Station> {
        let all = s.stations.iter();
        all.filter(|s| s.quality == Quality::Good)
            .cloned()
            .collect()
    };
    let (first, second) = (good(&a.1), good(&b.1));
    let (mut sum, mut count) = (0.0, 0);
    for station in &first {
        let edge = to_b.transform_point(&station.edge);
        let near = second
            .iter()
            .map(|s| ((s.edge.xy() - edge.xy()).norm(), s.gap))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|(off, _)| *off < 8.0);
        if let Some((_, gap)) = near {
            sum += (gap - station.gap).powi(2);
            count += 1;
        }
    }
    (
        (sum / f64::from(count.max(1))).sqrt(),
        f64::from(count) / first.len().max(1) as f64,
    )
}
