//! Pictures of the real meshes, as ink on paper: seen in parallel rays, form by shade, edges drawn. Plain
//! loops over a depth buffer, the same on every machine.
//!
//! Hidden surfaces by depth (Catmull 1974); lines where depth, direction or part changes between
//! neighbours, after T. Saito and T. Takahashi, Comprehensible rendering of 3-D shapes, 1990. Both from
//! memory.

mod buffer;
mod ink;
mod view;

pub use view::View;

use crate::math::{Point2, Point3, Vector3};
use crate::mesh::TriMesh;
use buffer::Buffer;

/// Samples across a pixel, both ways.
const FINER: usize = 2;
/// Pixels left free on each side.
const MARGIN: f64 = 6.0;

/// How a surface takes the light.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Every triangle by itself, sharp edges drawn: a solid.
    Sharp,
    /// Rounded from triangle to triangle: a scan.
    Soft,
}

/// Something to be seen.
#[derive(Debug, Clone, Copy)]
pub struct Shown<'a> {
    /// Its surface.
    pub mesh: &'a TriMesh,
    /// Its colour in full light.
    pub tint: [u8; 3],
    /// How it takes the light.
    pub form: Form,
    /// How far it is moved before it is seen, in units of the mesh.
    pub moved: Vector3,
    /// A colour for every triangle instead of the tint: a field shown on it.
    pub field: Option<&'a [[u8; 3]]>,
}

impl<'a> Shown<'a> {
    /// Something seen where it is.
    #[must_use]
    pub fn new(mesh: &'a TriMesh, tint: [u8; 3], form: Form) -> Self {
        Self {
            mesh,
            tint,
            form,
            moved: Vector3::zeros(),
            field: None,
        }
    }
}

/// A picture, and how it came from the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Pixels across and down.
    pub size: [usize; 2],
    /// Pixels of one unit of the model, square to the rays.
    pub pixels_per_unit: f64,
    /// Red, green, blue and how much of the pixel is covered, row after row from the top. Bare paper is
    /// nothing at all, so that a picture lies on paper of any tone.
    rgba: Vec<u8>,
    window: Window,
}

/// From the model to the pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Window {
    view: View,
    /// Least coordinate to the right and greatest upward that the picture holds.
    corner: [f64; 2],
    scale: f64,
}

impl Window {
    /// Pixels to the right, pixels down, and nearness in pixels.
    fn see(&self, p: Point3) -> [f64; 3] {
        let [x, y, z] = self.view.turned(p);
        [
            (x - self.corner[0]) * self.scale,
            (self.corner[1] - y) * self.scale,
            z * self.scale,
        ]
    }
}

impl Picture {
    /// Takes a picture no larger than `most` pixels across and down, cut close round what is shown. `None`
    /// where there is nothing to see.
    #[must_use]
    pub fn take(shown: &[Shown<'_>], view: View, most: [usize; 2]) -> Option<Self> {
        let points = || {
            shown
                .iter()
                .flat_map(|s| s.mesh.points.iter().map(|p| view.turned(*p + s.moved)))
        };
        let first = points().find(|p| p.iter().all(|v| v.is_finite()))?;
        let mut box_of = [[first[0]; 2], [first[1]; 2]];
        for p in points() {
            for (side, v) in box_of.iter_mut().zip(p) {
                *side = [side[0].min(v), side[1].max(v)];
            }
        }
        let [across, up] = box_of.map(|[low, high]| (high - low).max(1e-9));
        let room = most.map(|pixels| (pixels as f64 - 2.0 * MARGIN).max(1.0));
        let scale = (room[0] / across).min(room[1] / up);
        if !(scale.is_finite() && scale > 0.0) {
            return None;
        }
        let pixels = |length: f64, most: usize| {
            (((length * scale + 2.0 * MARGIN).ceil()) as usize).clamp(1, most.max(1))
        };
        let size = [pixels(across, most[0]), pixels(up, most[1])];
        let window = Window {
            view,
            corner: [box_of[0][0] - MARGIN / scale, box_of[1][1] + MARGIN / scale],
            scale,
        };
        let fine = Window {
            scale: scale * FINER as f64,
            ..window
        };
        let mut buffer = Buffer::new(size.map(|n| n * FINER));
        for (i, part) in shown.iter().enumerate() {
            buffer.lay(i, part, &fine);
        }
        Some(Self {
            size,
            pixels_per_unit: scale,
            rgba: ink::develop(&buffer, shown, &view, size),
            window,
        })
    }

    /// Where a point of the model lies when the picture is so wide on paper (mm), from its lower left corner.
    #[must_use]
    pub fn on_paper(&self, p: Point3, width_mm: f64) -> Point2 {
        let [x, y, _] = self.window.see(p);
        let mm = width_mm / self.size[0] as f64;
        Point2::new(x * mm, (self.size[1] as f64 - y) * mm)
    }

    /// The picture as a PNG file, in 32 steps a colour so that it stays small.
    #[must_use]
    pub fn png(&self) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.size[0] as u32, self.size[1] as u32);
        encoder.set_color(png::ColorType::Rgba);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Balanced);
        // Writing into memory cannot fail, and the size is the buffer's own.
        if let Ok(mut writer) = encoder.write_header() {
            let _ = writer.write_image_data(&self.rgba);
        }
        bytes
    }
}

#[cfg(test)]
mod tests;
