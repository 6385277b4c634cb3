//! The numbers of a section, which may change along the spine.

use super::PanelOptions;

/// What the section is at one arc length. Lengths in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Wall at the foot of the face, and of the flange.
    pub wall: f64,
    /// Wall at the top of the face, and of the lip.
    pub wall_top: f64,
    /// Depth of the flange.
    pub flange: f64,
    /// Radius between flange and face.
    pub fillet: f64,
    /// Height left for the seal.
    pub seal: f64,
    /// Height of the lip behind the edge.
    pub tuck: f64,
    /// Height of the lip outside of the skin.
    pub lap: f64,
    /// Sagitta of the face, positive outward.
    pub bow: f64,
    /// Lean of the face (rad), positive inboard going up.
    pub lean: f64,
    /// How much further inboard the outside stands.
    pub setback: f64,
    /// What is laid over the outside.
    pub overlay: f64,
}

const COUNT: usize = 11;

impl Shape {
    fn numbers(&mut self) -> [&mut f64; COUNT] {
        [
            &mut self.wall,
            &mut self.wall_top,
            &mut self.flange,
            &mut self.fillet,
            &mut self.seal,
            &mut self.tuck,
            &mut self.lap,
            &mut self.bow,
            &mut self.lean,
            &mut self.setback,
            &mut self.overlay,
        ]
    }

    /// Wall of the face at a share of its height.
    pub fn wall_at(&self, share: f64) -> f64 {
        self.wall + (self.wall_top - self.wall) * share.clamp(0.0, 1.0)
    }

    /// The thicker of both walls.
    pub fn thickest(&self) -> f64 {
        self.wall.max(self.wall_top)
    }
}

/// A change of the section along the spine: from there on what it names has another value, until the next
/// change that names it.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelChange {
    /// Arc length of its middle (mm).
    pub at_mm: f64,
    /// Length over which it comes in (mm), half of it before and half after.
    pub over_mm: f64,
    /// As the option of the same name.
    pub wall_mm: Option<f64>,
    /// As the option of the same name.
    pub wall_top_mm: Option<f64>,
    /// As the option of the same name.
    pub flange_mm: Option<f64>,
    /// As the option of the same name.
    pub fillet_mm: Option<f64>,
    /// As the option of the same name.
    pub seal_mm: Option<f64>,
    /// As the option of the same name.
    pub tuck_mm: Option<f64>,
    /// As the option of the same name.
    pub lap_mm: Option<f64>,
    /// As the option of the same name.
    pub bow_mm: Option<f64>,
    /// As the option of the same name (degrees).
    pub lean_deg: Option<f64>,
    /// As the option of the same name.
    pub setback_mm: Option<f64>,
    /// As the option of the same name.
    pub overlay_mm: Option<f64>,
}

impl Default for PanelChange {
    fn default() -> Self {
        Self {
            at_mm: 0.0,
            over_mm: 60.0,
            wall_mm: None,
            wall_top_mm: None,
            flange_mm: None,
            fillet_mm: None,
            seal_mm: None,
            tuck_mm: None,
            lap_mm: None,
            bow_mm: None,
            lean_deg: None,
            setback_mm: None,
            overlay_mm: None,
        }
    }
}

impl PanelChange {
    /// What it asks for, in the order of the shape's numbers. A wall that is not tapered changes as a whole.
    fn wanted(&self, options: &PanelOptions) -> [Option<f64>; COUNT] {
        let top = match options.wall_top_mm {
            Some(_) => self.wall_top_mm,
            None => self.wall_top_mm.or(self.wall_mm),
        };
        [
            self.wall_mm,
            top,
            self.flange_mm,
            self.fillet_mm,
            self.seal_mm,
            self.tuck_mm,
            self.lap_mm,
            self.bow_mm,
            self.lean_deg.map(f64::to_radians),
            self.setback_mm,
            self.overlay_mm,
        ]
    }

    /// Whether it changes nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.wanted(&PanelOptions::default())
            .iter()
            .all(Option::is_none)
    }
}

impl PanelOptions {
    /// The section's numbers at an arc length (mm). Changes come in by the smoothstep 3t² - 2t³, level at
    /// both ends.
    #[must_use]
    pub fn shape_at(&self, s: f64) -> Shape {
        let mut shape = Shape {
            wall: self.wall_mm,
            wall_top: self.wall_top_mm.unwrap_or(self.wall_mm),
            flange: self.flange_mm,
            fillet: self.fillet_mm,
            seal: self.seal_mm,
            tuck: self.tuck_mm,
            lap: self.lap_mm,
            bow: self.bow_mm,
            lean: self.lean_deg.to_radians(),
            setback: self.setback_mm,
            overlay: self.overlay_mm,
        };
        let mut before = shape;
        let mut changes: Vec<&PanelChange> = self.changes.iter().collect();
        changes.sort_by(|a, b| a.at_mm.total_cmp(&b.at_mm));
        for change in changes {
            let t = ((s - change.at_mm) / change.over_mm.max(1e-9) + 0.5).clamp(0.0, 1.0);
            let share = t * t * (3.0 - 2.0 * t);
            let wanted = change.wanted(self);
            let pairs = shape.numbers().into_iter().zip(before.numbers());
            for ((now, last), wanted) in pairs.zip(wanted) {
                if let Some(wanted) = wanted {
                    *now += (wanted - *last) * share;
                    *last = wanted;
                }
            }
        }
        shape
    }

    /// Arc lengths at which changes begin and end (mm).
    pub(super) fn blends(&self) -> impl Iterator<Item = [f64; 2]> + '_ {
        self.changes
            .iter()
            .map(|c| [c.at_mm - 0.5 * c.over_mm, c.at_mm + 0.5 * c.over_mm])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_comes_in_smoothly_and_holds_until_the_next() {
        let options = PanelOptions {
            changes: vec![
                PanelChange {
                    at_mm: 400.0,
                    over_mm: 50.0,
                    bow_mm: Some(2.0),
                    ..PanelChange::default()
                },
                PanelChange {
                    at_mm: 200.0,
                    over_mm: 100.0,
                    bow_mm: Some(6.0),
                    wall_mm: Some(4.0),
                    ..PanelChange::default()
                },
            ],
            ..PanelOptions::default()
        };
        let at = |s: f64| options.shape_at(s);
        assert_eq!((at(0.0).bow, at(150.0).wall), (0.0, 3.0));
        assert_eq!((at(200.0).bow, at(200.0).wall_top), (3.0, 3.5));
        assert_eq!((at(300.0).bow, at(300.0).flange), (6.0, 25.0));
        assert_eq!(
            (at(400.0).bow, at(450.0).bow, at(450.0).wall),
            (4.0, 2.0, 4.0)
        );
        // Steepest in the middle, 1.5 times the mean; level where it begins.
        assert!((at(200.5).bow - at(199.5).bow - 6.0 * 1.5 / 100.0).abs() < 1e-5);
        assert!(at(151.0).bow < 0.002);
        assert!(PanelChange::default().is_empty());
    }
}
