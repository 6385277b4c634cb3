//! The finished section: the print with what goes over its outside.

use crate::math::{Point2, Vector2};
use crate::panel::section::Corners;
use crate::panel::{Panel, PanelOptions, Section, Top};

/// The finished part in one station plane, in section coordinates (mm).
pub struct Finished {
    /// The flange's underside, from its tip to the foot.
    pub underside: Vec<Point2>,
    /// The outside, from the foot over the knee to the top.
    pub outside: Vec<Point2>,
    /// Top of the visible face.
    pub knee: Point2,
    /// Top of the part.
    pub top: Point2,
    /// The top's breadth, from its outer to its inner corner.
    pub land: [Point2; 2],
    /// The inside of a lip that laps the skin outside, from its foot to its top.
    pub lap: Option<[Point2; 2]>,
}

impl Finished {
    /// The section at an arc length, between its neighbours; `None` past the ends and where the panel fades:
    /// its top is not there.
    pub fn at(panel: &Panel, options: &PanelOptions, s: f64) -> Option<Self> {
        if panel.is_faded(s) {
            return None;
        }
        let section = section_at(&panel.sections, s)?;
        let corners = Corners::read(panel.top, &section);
        let outline = &section.outline;
        let underside = outline.get(..=Corners::FOOT)?.to_vec();
        let outside = set_out(&section.finished, options.paint_mm);
        let knee = *outside.get(corners.knee() - Corners::FOOT)?;
        let top = *outside.last()?;
        let inner = *outline.get(corners.top() + 1)?;
        let lap = match panel.top {
            Top::Lapped => Some([*outline.get(corners.inner_knee())?, inner]),
            Top::Tucked | Top::Butted => None,
        };
        Some(Self {
            underside,
            outside,
            knee,
            top,
            land: [top, inner],
            lap,
        })
    }
}

/// The section between its neighbours.
fn section_at(sections: &[Section], s: f64) -> Option<Section> {
    let k = sections.partition_point(|section| section.s < s);
    let after = sections.get(k)?;
    if after.s == s {
        return Some(after.clone());
    }
    let before = sections.get(k.checked_sub(1)?)?;
    let share = (s - before.s) / (after.s - before.s);
    let between = |p: &[Point2], q: &[Point2]| {
        let pairs = p.iter().zip(q);
        pairs.map(|(p, q)| p + (q - p) * share).collect()
    };
    Some(Section {
        s,
        outline: between(&before.outline, &after.outline),
        finished: between(&before.finished, &after.finished),
        hidden_face: after.hidden_face,
        outboard: None,
    })
}

/// A line moved to its right by `by` (mm): its ends square to it, its corners mitred.
fn set_out(line: &[Point2], by: f64) -> Vec<Point2> {
    let right = |from: Option<&Point2>, to: Option<&Point2>| -> Option<Vector2> {
        let run = (to? - from?).try_normalize(1e-9)?;
        Some(Vector2::new(run.y, -run.x))
    };
    (0..line.len())
        .map(|i| {
            let here = line.get(i);
            let before = i.checked_sub(1).and_then(|k| right(line.get(k), here));
            let after = right(here, line.get(i + 1));
            let way = match (before, after) {
                (Some(a), Some(b)) => (a + b) / (1.0 + a.dot(&b)).max(0.2),
                (Some(a), None) | (None, Some(a)) => a,
                (None, None) => Vector2::zeros(),
            };
            here.map_or_else(Point2::origin, |p| p + way * by)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_is_set_out_to_its_mitre() {
        let line = [(0.0, 0.0), (0.0, 10.0), (-10.0, 20.0)].map(|(x, y)| Point2::new(x, y));
        let moved = set_out(&line, 0.3);
        assert!((moved[0] - Point2::new(0.3, 0.0)).norm() < 1e-12);
        // 0.3 off both lines: the bisector of 45 degrees, tan 22.5 up.
        let up = 0.3 * 22.5f64.to_radians().tan();
        assert!((moved[1] - Point2::new(0.3, 10.0 + up)).norm() < 1e-12);
    }
}
