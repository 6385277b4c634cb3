//! The wall of the face along the spine, as air and heat see it.

use crate::panel::{Panel, PanelOptions};

/// Wall of the print's face by arc length: at each place the thinner of foot and top, for what bends is
/// no stiffer than that. Pairs of arc length and wall, in order, in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Walls(pub Vec<[f64; 2]>);

impl Walls {
    /// Of a panel.
    #[must_use]
    pub fn of(panel: &Panel, options: &PanelOptions) -> Self {
        let at = |s: f64| {
            let shape = options.shape_at(s);
            [s, shape.wall.min(shape.wall_top)]
        };
        Self(panel.sections.iter().map(|section| at(section.s)).collect())
    }

    /// The same all along.
    #[must_use]
    pub fn even(wall_mm: f64) -> Self {
        Self(vec![[0.0, wall_mm]])
    }

    /// The thinnest between two arc lengths, the places just outside of them included; zero where none is
    /// known.
    #[must_use]
    pub fn thinnest(&self, [from, to]: [f64; 2]) -> f64 {
        let last = self.0.len().saturating_sub(1);
        let first = self.0.partition_point(|at| at[0] < from).saturating_sub(1);
        let end = self.0.partition_point(|at| at[0] <= to).min(last);
        let within = self.0.get(first.min(end)..=end).into_iter().flatten();
        let least = within.map(|at| at[1]).fold(f64::INFINITY, f64::min);
        if least.is_finite() { least } else { 0.0 }
    }

    /// The thinnest of all.
    #[must_use]
    pub fn thinnest_of_all(&self) -> f64 {
        self.thinnest([f64::NEG_INFINITY, f64::INFINITY])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_is_as_thin_as_its_thinnest_place() {
        let walls = Walls(vec![
            [0.0, 3.0],
            [10.0, 2.0],
            [20.0, 3.0],
            [30.0, 4.0],
            [40.0, 5.0],
        ]);
        assert_eq!(walls.thinnest([21.0, 29.0]), 3.0);
        assert_eq!(walls.thinnest([32.0, 90.0]), 4.0);
        assert_eq!(walls.thinnest([-9.0, -5.0]), 3.0);
        assert_eq!(walls.thinnest_of_all(), 2.0);
        assert_eq!(Walls::even(3.0).thinnest([100.0, 200.0]), 3.0);
        assert_eq!(Walls(Vec::new()).thinnest_of_all(), 0.0);
    }
}
