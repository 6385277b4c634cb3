//! Sizes of screws, washers, nuts and inserts.

/// A thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Screw {
    /// 4 mm, coarse.
    M4,
    /// 5 mm, coarse.
    #[default]
    M5,
    /// 6 mm, coarse.
    M6,
}

/// Diameters of the plate of a bonded stud, the best first (mm; common sizes, no source).
pub(super) const PADS_MM: [f64; 3] = [25.0, 20.0, 12.0];
/// Length of its stud (mm; a common size, no source).
pub(super) const PAD_STUD_MM: f64 = 15.0;

impl Screw {
    /// As it is written.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::M4 => "M4",
            Self::M5 => "M5",
            Self::M6 => "M6",
        }
    }

    fn pick(self, of: [f64; 3]) -> f64 {
        match self {
            Self::M4 => of[0],
            Self::M5 => of[1],
            Self::M6 => of[2],
        }
    }

    /// Diameter of the thread (mm).
    #[must_use]
    pub fn diameter(self) -> f64 {
        self.pick([4.0, 5.0, 6.0])
    }

    /// Clearance hole (mm), medium series of ISO 273.
    #[must_use]
    pub fn clearance_hole(self) -> f64 {
        self.pick([4.5, 5.5, 6.6])
    }

    /// Outer diameter of an ordinary washer (mm), ISO 7089, from memory.
    #[must_use]
    pub fn washer(self) -> f64 {
        self.pick([9.0, 10.0, 12.0])
    }

    /// Outer diameter of a large washer (mm), ISO 7093, from memory.
    #[must_use]
    pub fn large_washer(self) -> f64 {
        self.pick([12.0, 15.0, 18.0])
    }

    /// Thickness of either washer (mm), the thicker one, from memory.
    #[must_use]
    pub fn washer_thickness(self) -> f64 {
        self.pick([1.0, 1.2, 1.6])
    }

    /// Height of a socket head (mm), ISO 4762, from memory.
    #[must_use]
    pub fn head_height(self) -> f64 {
        self.diameter()
    }

    /// Height of a nut (mm), ISO 4032, from memory.
    #[must_use]
    pub fn nut_height(self) -> f64 {
        self.pick([3.2, 4.7, 5.2])
    }

    /// What a stud stands proud of its nut by (mm): two threads of the coarse pitch (ISO 261).
    #[must_use]
    pub fn two_threads(self) -> f64 {
        2.0 * self.pick([0.7, 0.8, 1.0])
    }

    /// Hole for a threaded insert set with heat (mm; common sizes, no source: go by the insert's own
    /// data sheet).
    #[must_use]
    pub fn insert_hole(self) -> f64 {
        self.pick([5.6, 6.4, 8.0])
    }

    /// Length of that insert (mm; common sizes, no source).
    #[must_use]
    pub fn insert_length(self) -> f64 {
        self.pick([8.1, 9.5, 12.7])
    }

    /// Hole for its rivet nut or rivet stud (mm; common sizes, from memory: go by the maker's data sheet).
    #[must_use]
    pub fn rivet_hole(self) -> f64 {
        self.pick([6.0, 7.0, 9.0])
    }

    /// How far one of these stands out on the blind side once set (mm, about; from memory).
    #[must_use]
    pub fn blind_end(self) -> f64 {
        self.pick([7.0, 8.0, 10.0])
    }

    /// Diameter of a socket head (mm), ISO 4762, from memory.
    #[must_use]
    pub fn head_diameter(self) -> f64 {
        self.pick([7.0, 8.5, 10.0])
    }

    /// Width of a nut across its corners (mm), ISO 4032, from memory.
    #[must_use]
    pub fn nut_width(self) -> f64 {
        self.pick([7.7, 8.8, 11.1])
    }

    /// Shortest usual screw (mm under the head) through `grip_mm` of parts with one and a half diameters
    /// of thread beyond.
    #[must_use]
    pub fn length_for(self, grip_mm: f64) -> f64 {
        const USUAL: [f64; 8] = [8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 30.0, 40.0];
        let needed = grip_mm + 1.5 * self.diameter();
        USUAL
            .into_iter()
            .find(|length| *length >= needed)
            .unwrap_or(needed.ceil())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clearance_holes_are_those_of_iso_273_medium() {
        let holes = [Screw::M4, Screw::M5, Screw::M6].map(Screw::clearance_hole);
        assert_eq!(holes, [4.5, 5.5, 6.6]);
    }

    #[test]
    fn a_screw_reaches_through_and_has_thread_left() {
        assert_eq!(Screw::M5.length_for(6.2), 16.0);
        assert_eq!(Screw::M4.length_for(40.0), 46.0);
    }
}
