//! The tray under the panel's foot, carried on straight past what was seen of it.

use crate::gap::TrayStrip;

/// Past what was seen, the tray is taken to go on no steeper than this.
const STEEPEST: f64 = 0.5;
/// Step of the difference that gives the slope (mm).
const STEP_MM: f64 = 0.5;

/// Height of the tray (mm) at arc length `s` and outward offset `x` (mm). A quadratic runs away outside
/// the offsets that hold it, so there the tray goes on straight.
pub fn tray_height(tray: &TrayStrip, s: f64, x: f64) -> f64 {
    let [least, most] = TrayStrip::ACROSS;
    let held = x.clamp(least, most);
    let height = tray.height(s, held);
    if held == x {
        return height;
    }
    let within = if x > held { -STEP_MM } else { STEP_MM };
    let slope = (tray.height(s, held + within) - height) / within;
    height + slope.clamp(-STEEPEST, STEEPEST) * (x - held)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn goes_on_straight_past_what_was_seen() {
        let tray = TrayStrip {
            along: vec![0.0, 100.0],
            rows: vec![[1.0, 0.0, 0.001], [1.0, 0.0, 0.001]],
        };
        assert!((tray_height(&tray, 50.0, -20.0) - 1.4).abs() < 1e-12);
        // 5.9 at -70, where the quadratic's slope is -0.14 outward.
        assert!((tray_height(&tray, 50.0, -80.0) - (5.9 + 1.4)).abs() < 0.01);
        let empty = TrayStrip {
            along: vec![],
            rows: vec![],
        };
        assert_eq!(tray_height(&empty, 5.0, 5.0), 0.0);
    }
}
