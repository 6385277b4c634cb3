//! How much the whole scan bends: slow drift of the tracking that fusion has baked in.
//!
//! A tray is sheet metal: crowned, dished, twisted, but smooth. What its scanned surface wanders about the
//! best smooth sheet is the scan's own doing, and the body's edge wanders likewise.

use super::TrayStrip;
use crate::math::robust::sigma_about_zero;
use crate::math::{Point2, Spine};
use nalgebra::{SMatrix, SVector};

/// Terms of a cubic in two variables: crown, dish, twist and how these change across the tray.
const TERMS: usize = 10;
/// Offsets from the spine at which the tray is compared (mm).
const OFFSETS: [f64; 3] = [-40.0, 0.0, 30.0];

/// Standard deviation of the tray's fitted surface about a smooth sheet (mm). `seen` is the share seen of
/// each row; rows that are not seen do not count. Zero where there is too little to tell.
#[must_use]
pub fn measure_drift(tray: &TrayStrip, seen: &[f64], spine: &Spine) -> f64 {
    let half = 0.5 * spine.length().max(1.0);
    let middle = spine.frame_at(half).origin;
    let mut rows: Vec<(SVector<f64, TERMS>, f64)> = Vec::new();
    for (&s, _) in tray.along.iter().zip(seen).filter(|&(_, &seen)| seen > 0.0) {
        let frame = spine.frame_at(s);
        for x in OFFSETS {
            let p = frame.to_shop(Point2::new(x, 0.0));
            let (u, v) = ((p.x - middle.x) / half, (p.y - middle.y) / half);
            let terms = [
                1.0,
                u,
                v,
                u * u,
                u * v,
                v * v,
                u * u * u,
                u * u * v,
                u * v * v,
                v * v * v,
            ];
            rows.push((SVector::from(terms), tray.height(s, x)));
        }
    }
    if rows.len() < 3 * TERMS {
        return 0.0;
    }
    let mut normal = SMatrix::<f64, TERMS, TERMS>::identity() * 1e-6;
    let mut right = SVector::<f64, TERMS>::zeros();
    for (terms, z) in &rows {
        normal += terms * terms.transpose();
        right += terms * *z;
    }
    let Some(solved) = normal.cholesky().map(|c| c.solve(&right)) else {
        return 0.0;
    };
    let mut off: Vec<f64> = rows
        .iter()
        .map(|(terms, z)| z - terms.dot(&solved))
        .collect();
    sigma_about_zero(&mut off).unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Point3;

    fn sheet(spine: &Spine, wave: f64) -> TrayStrip {
        let along: Vec<f64> = (0..=100)
            .map(|i| spine.length() * f64::from(i) / 100.0)
            .collect();
        let rows = along
            .iter()
            .map(|&s| {
                // A twist of 10 mm and a crown of 5 mm over the length, and a wave that no sheet has.
                let t = s / spine.length() - 0.5;
                let twist = 10.0 * t / 100.0;
                [20.0 * t * t + wave * (s / 30.0).sin(), twist, 0.0]
            })
            .collect();
        TrayStrip { along, rows }
    }

    #[test]
    fn a_twisted_crowned_tray_has_no_drift_and_a_wave_has() {
        let points: Vec<Point3> = (0..60)
            .map(|i| Point3::new(0.0, f64::from(i) * 25.0, 0.0))
            .collect();
        let spine = Spine::fit(&points, &[1.0; 60], 50.0, 0.0).unwrap();
        let seen = vec![1.0; 101];
        assert!(measure_drift(&sheet(&spine, 0.0), &seen, &spine) < 0.02);
        let wavy = measure_drift(&sheet(&spine, 1.0), &seen, &spine);
        // Median absolute value of a sine is sin 45 degrees; times 1.4826.
        assert!((wavy - 1.05).abs() < 0.15, "{wavy}");
    }
}
