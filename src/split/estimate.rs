//! How much plastic a print takes, and how long.
//!
//! What is assumed: every wall is solid, since a panel's wall is a few beads thick and has no room for
//! infill; the printer lays plastic at one steady flow, so warming up, moves without plastic and slow
//! corners come on top; and support stands under what overhangs straight down to the bed, whatever is in
//! between, which makes its share an upper bound. It is a loose fill with its last layer laid full; what
//! hangs lower over the bed than a layer is thick needs none.

use super::PrinterOptions;
use super::overhang::{Overhangs, Support};
use crate::math::Vector3;
use crate::mesh::Solid;
use std::iter::Sum;

/// Diameter of the filament (mm).
pub const FILAMENT_MM: f64 = 1.75;
/// A face is supported where it leans out more than this from the vertical (degrees). Common practice, no
/// source.
pub const OVERHANG_DEG: f64 = 45.0;
/// Share of the support's room that is plastic. Common practice, no source.
pub const SUPPORT_FILL: f64 = 0.15;
/// What rounding may lean a face that was made at the limit (degrees).
const LEAN_EPSILON_DEG: f64 = 0.5;
/// What lies no higher than this lies on the bed (mm): less than the thinnest first layer.
pub(super) const ON_BED_MM: f64 = 0.05;

/// What one print takes, or several together.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Estimate {
    /// Plastic in the part (mm3).
    pub part_mm3: f64,
    /// Plastic in its support (mm3), at most.
    pub support_mm3: f64,
    /// Area of the faces that need support (mm2).
    pub overhang_mm2: f64,
    /// Mass of both (g).
    pub mass_g: f64,
    /// Length of filament for both (mm).
    pub filament_mm: f64,
    /// Hours for both at the printer's flow.
    pub hours: f64,
}

impl Estimate {
    /// Estimates the print of a solid as it lies on its bed (z = 0 at the bottom).
    pub(super) fn of(on_bed: &Solid, printer: &PrinterOptions) -> Self {
        let support = measure_support(on_bed);
        let part_mm3 = on_bed.volume();
        let support_mm3 = support.plastic_mm3;
        let plastic = part_mm3 + support_mm3;
        Self {
            part_mm3,
            support_mm3,
            overhang_mm2: support.area_mm2,
            mass_g: plastic / 1e3 * printer.material.density_g_cm3(),
            filament_mm: filament_length(plastic),
            hours: plastic / printer.flow_mm3_s / 3600.0,
        }
    }

    /// Share of all plastic that is support, 0 to 1.
    #[must_use]
    pub fn support_share(&self) -> f64 {
        let all = self.part_mm3 + self.support_mm3;
        if all > 0.0 {
            self.support_mm3 / all
        } else {
            0.0
        }
    }
}

impl Sum for Estimate {
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::default(), |a, b| Self {
            part_mm3: a.part_mm3 + b.part_mm3,
            support_mm3: a.support_mm3 + b.support_mm3,
            overhang_mm2: a.overhang_mm2 + b.overhang_mm2,
            mass_g: a.mass_g + b.mass_g,
            filament_mm: a.filament_mm + b.filament_mm,
            hours: a.hours + b.hours,
        })
    }
}

/// Length of filament (mm) that holds a volume (mm3).
fn filament_length(volume_mm3: f64) -> f64 {
    volume_mm3 / (std::f64::consts::PI / 4.0 * FILAMENT_MM * FILAMENT_MM)
}

/// How much of a unit normal points down where a face begins to need support: a wall leans by 0, a
/// ceiling by 90 degrees.
pub(super) fn overhang_limit() -> f64 {
    (OVERHANG_DEG + LEAN_EPSILON_DEG).to_radians().sin()
}

/// What the faces that need support ask for.
fn measure_support(on_bed: &Solid) -> Support {
    let (mesh, up) = (on_bed.mesh(), Vector3::z());
    let marked = Overhangs::new(mesh).find(&up, 0.0);
    let mut support = Support::default();
    for triangle in (0..marked.len()).filter(|&i| marked[i]) {
        support.add(&mesh.corners(triangle).map(|p| (p, p.z)), &up);
    }
    support
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::Material;
    use crate::math::Point3;
    use crate::mesh::samples::block;
    use crate::mesh::{TriMesh, boolean};

    fn expect_close(got: f64, want: f64) {
        assert!((got / want - 1.0).abs() < 1e-5, "{got} {want}");
    }

    fn bar(at: [f64; 3], size: [f64; 3]) -> Solid {
        Solid::new(block(Point3::from(at), Vector3::from(size))).unwrap()
    }

    /// 180 cm3 at 8 mm3/s take 6.25 h and 74 835 mm of 1.75 mm filament (415.752 mm for each cm3), from
    /// the area of a circle; densities are those of the plastics' makers.
    #[test]
    fn a_block_takes_its_volume() {
        let solid = bar([0.0; 3], [60.0, 50.0, 60.0]);
        let mut printer = PrinterOptions::default();
        assert_eq!(printer.flow_mm3_s, 8.0);
        let made = Estimate::of(&solid, &printer);
        expect_close(made.hours, 6.25);
        expect_close(made.filament_mm, 180.0 * 415.752);
        expect_close(made.mass_g, 180.0 * 1.27);
        assert_eq!((made.support_mm3, made.support_share()), (0.0, 0.0));
        // A bead of 0.4 x 0.2 mm at 60 mm/s.
        printer.flow_mm3_s = 0.4 * 0.2 * 60.0;
        printer.material = Material::Pla;
        let slower = Estimate::of(&solid, &printer);
        expect_close(slower.hours, 180e3 / 4.8 / 3600.0);
        expect_close(slower.mass_g, 180.0 * 1.24);
        let both: Estimate = [made, slower].into_iter().sum();
        expect_close(both.part_mm3, 360e3);
        expect_close(both.mass_g, made.mass_g + slower.mass_g);
    }

    /// A post with an arm of 30 x 10 mm, its underside 40 mm above the bed: by hand 300 mm2, of which the last
    /// 0.2 mm are full and 39.8 mm filled by 15 %.
    #[test]
    fn an_arm_needs_support_down_to_the_bed() {
        let post = bar([0.0; 3], [10.0, 10.0, 50.0]);
        let arm = bar([5.0, 0.0, 40.0], [35.0, 10.0, 10.0]);
        let solid = boolean::unite(&[&post, &arm]).unwrap().unwrap();
        let made = Estimate::of(&solid, &PrinterOptions::default());
        expect_close(made.overhang_mm2, 300.0);
        let support = 300.0 * (0.2 + 39.8 * 0.15);
        expect_close(made.support_mm3, support);
        expect_close(made.part_mm3, 8_000.0);
        expect_close(made.support_share(), support / (8_000.0 + support));
    }

    /// A block that leans over by an angle from the vertical.
    fn leaning(degrees: f64) -> Solid {
        let mut mesh: TriMesh = block(Point3::origin(), Vector3::repeat(20.0));
        for p in &mut mesh.points {
            p.x += p.z * degrees.to_radians().tan();
        }
        Solid::new(mesh).unwrap()
    }

    #[test]
    fn a_face_at_the_limit_prints_without_support_and_one_beyond_does_not() {
        let of = |degrees| Estimate::of(&leaning(degrees), &PrinterOptions::default()).support_mm3;
        assert_eq!(of(45.0), 0.0);
        // By hand, on the underside's shadow, which rises evenly to 20 mm: the lowest 0.2 mm need nothing, over
        // the rest stand 0.2 mm and 15 % of 9.9 mm on average.
        let shadow = 20.0 * 20.0 * 50_f64.to_radians().tan() * (19.8 / 20.0);
        expect_close(of(50.0), shadow * (0.2 + 9.9 * 0.15));
    }

    /// A plate 100 x 50 mm that stands on four feet of 5 x 5 mm and 0.15 mm: it comes down to the bed by that.
    /// On feet of 0.5 mm it needs support under all but the feet, and the plastic is that of the area.
    #[test]
    fn what_hangs_lower_than_a_layer_needs_no_support() {
        let table = |high: f64| {
            let plate = bar([0.0, 0.0, high], [100.0, 50.0, 3.0]);
            let feet = [[0.0, 0.0], [95.0, 0.0], [0.0, 45.0], [95.0, 45.0]]
                .map(|[x, y]| bar([x, y, 0.0], [5.0, 5.0, high + 1.0]));
            let all: Vec<&Solid> = std::iter::once(&plate).chain(&feet).collect();
            let solid = boolean::unite(&all).unwrap().unwrap();
            Estimate::of(&solid, &PrinterOptions::default())
        };
        let low = table(0.15);
        assert_eq!((low.overhang_mm2, low.support_mm3), (0.0, 0.0));
        let high = table(0.5);
        expect_close(high.overhang_mm2, 4900.0);
        expect_close(high.support_mm3, 4900.0 * (0.2 + 0.3 * 0.15));
    }
}
