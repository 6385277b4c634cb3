//! The tray under the panel's foot, carried on straight past what was seen of it.

use crate::gap::TrayStrip;

/// Past what was seen, the tray is taken to go on no steeper than this.
const STEEPEST: f64 = 0.5;
/// Step of the difference that gives the slope (mm).
const STEP_MM: f64 = 0.5;

/// Height of the tray (mm) at arc length `s` and outward offset `x` (mm). A quadratic runs away outside
/// the offsets that hold it, so there the tray goes on straight.
pub fn tray_height(tray: &TrayStrip, s: f64, x: f64) -> f64 {
    let Some([least, most]) = seen(tray, s) else {
        return tray.height(s, x);
    };
    let held = x.clamp(least, most);
    let height = tray.height(s, held);
    if held == x {
        return height;
    }
    let within = if x > held { -STEP_MM } else { STEP_MM };
    let slope = (tray.height(s, held + within) - height) / within;
    height + slope.clamp(-STEEPEST, STEEPEST) * (x - held)
}

/// Offsets that hold the fit at `s`, from the rows on either side; `None` where no row says.
fn seen(tray: &TrayStrip, s: f64) -> Option<[f64; 2]> {
    let last = tray.seen.len().checked_sub(1)?;
    let k = tray.along.partition_point(|&a| a <= s).min(last);
    let (a, b) = (k.saturating_sub(1), k);
    let (p, q) = (tray.seen.get(a)?, tray.seen.get(b)?);
    let (from, to) = (tray.along.get(a)?, tray.along.get(b)?);
    let share = if to > from {
        ((s - from) / (to - from)).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let mixed = [0, 1].map(|i| p[i] * (1.0 - share) + q[i] * share);
    (mixed[0] < mixed[1]).then_some(mixed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn goes_on_straight_past_what_was_seen() {
        let tray = TrayStrip {
            along: vec![0.0, 100.0],
            rows: vec![[1.0, 0.0, 0.001], [1.0, 0.0, 0.001]],
            seen: vec![[-30.0, 10.0], [-30.0, 10.0]],
        };
        assert!((tray_height(&tray, 50.0, -20.0) - 1.4).abs() < 1e-12);
        // Slope of the quadratic at -30 is -0.06 outward.
        assert!((tray_height(&tray, 50.0, -40.0) - (1.9 + 0.6)).abs() < 0.01);
        let empty = TrayStrip {
            along: vec![],
            rows: vec![],
            seen: vec![],
        };
        assert_eq!(tray_height(&empty, 5.0, 5.0), 0.0);
    }
}
