//! The model as a picture of dots, for a browser that cannot turn it and for print.

use super::{AtFirst, Model};
use crate::math::Vector3;
use std::fmt::Write;

/// Dots across the picture.
const COLUMNS: usize = 150;
/// Dots down it.
const ROWS: usize = 94;
/// Thinnest and thickest dot, where 1 is the distance between two.
const DOTS: [f64; 2] = [0.38, 1.05];
/// Different thicknesses.
const TONES: usize = 6;

/// An SVG in the page's ink: the darker the surface, the thicker the dot. Nothing is hidden but what lies
/// behind.
pub(super) fn picture(model: &Model<'_>) -> String {
    let tones = shade(model);
    let mut svg = format!(
        "<svg viewBox=\"-1 -1 {} {}\" role=\"img\" aria-label=\"Still picture\"><g class=\"dots\">",
        COLUMNS + 2,
        ROWS + 2
    );
    for level in 0..TONES {
        let mut path = String::new();
        for (i, _) in tones.iter().enumerate().filter(|(_, t)| **t == Some(level)) {
            // Every other row is set off by half, as in print.
            let (row, column) = (i / COLUMNS, i % COLUMNS);
            let _ = write!(path, "M{} {row}h0", column as f64 + 0.5 * (row % 2) as f64);
        }
        if !path.is_empty() {
            let width = DOTS[0] + (DOTS[1] - DOTS[0]) * level as f64 / (TONES - 1) as f64;
            let _ = write!(svg, "<path stroke-width=\"{width:.2}\" d=\"{path}\"/>");
        }
    }
    svg.push_str("</g></svg>");
    svg
}

/// How dark each cell of the picture is, `None` where there is nothing.
fn shade(model: &Model<'_>) -> Vec<Option<usize>> {
    let mut cells: Vec<Option<(f64, usize)>> = vec![None; COLUMNS * ROWS];
    let Some(window) = Window::of(model) else {
        return vec![None; COLUMNS * ROWS];
    };
    let light = Vector3::new(-0.7, 0.5, 0.5).normalize();
    for part in model
        .parts
        .iter()
        .filter(|part| part.at_first == AtFirst::Shown)
    {
        for t in 0..part.mesh.triangles.len() {
            let corners = part.mesh.corners(t).map(|p| window.turned(&p.coords));
            let [a, b, c] = corners;
            let normal = (b - a).cross(&(c - a));
            let normal = (normal * normal.z.signum()).normalize();
            let dark = 1.0 - normal.dot(&light).clamp(0.0, 1.0);
            let level = ((dark * TONES as f64) as usize).min(TONES - 1);
            window.cover(corners, |cell, depth| {
                if cells[cell].is_none_or(|(before, _)| depth > before) {
                    cells[cell] = Some((depth, level));
                }
            });
        }
    }
    cells
        .into_iter()
        .map(|cell| cell.map(|(_, level)| level))
        .collect()
}

/// From the model to the cells.
struct Window {
    ways: [Vector3; 3],
    middle: Vector3,
    scale: f64,
}

impl Window {
    /// The same view as the script begins with.
    fn of(model: &Model<'_>) -> Option<Self> {
        let [right, up] = [model.stance.across, model.stance.up];
        let toward = right.cross(&up);
        let (ct, st) = (0.45f64.cos(), 0.45f64.sin());
        let (up, toward) = (up * ct - toward * st, toward * ct + up * st);
        let (cs, ss) = (0.5f64.cos(), 0.5f64.sin());
        let (toward, right) = (toward * cs + right * ss, right * cs - toward * ss);
        let ways = [right, up, toward];
        let seen = |p: &Vector3| Vector3::from(ways.map(|w| w.dot(p)));
        let mut points = model.parts.iter().flat_map(|p| &p.mesh.points);
        let first = seen(&points.next()?.coords);
        let (low, high) = points
            .map(|p| seen(&p.coords))
            .fold((first, first), |(l, h), p| (l.inf(&p), h.sup(&p)));
        let size = high - low;
        let scale = 0.94
            * f64::min(
                COLUMNS as f64 / size.x.max(1e-12),
                ROWS as f64 / size.y.max(1e-12),
            );
        Some(Self {
            ways,
            middle: (low + high) / 2.0,
            scale,
        })
    }

    /// A point in cells to the right, cells down, and toward the eye.
    fn turned(&self, p: &Vector3) -> Vector3 {
        let seen = Vector3::from(self.ways.map(|w| w.dot(p))) - self.middle;
        let [x, y, z] = (seen * self.scale).into();
        Vector3::new(COLUMNS as f64 / 2.0 + x, ROWS as f64 / 2.0 - y, z)
    }

    /// Calls `dot` with each cell whose middle the triangle covers and the depth there; a triangle smaller
    /// than a cell takes the one its first corner lies in.
    fn cover(&self, [a, b, c]: [Vector3; 3], mut dot: impl FnMut(usize, f64)) {
        let (low, high) = (a.inf(&b).inf(&c), a.sup(&b).sup(&c));
        let inside = |v: f64, most: usize| v.clamp(0.0, most as f64 - 1.0) as usize;
        if (high - low).xy().max() < 1.0 {
            dot(inside(a.y, ROWS) * COLUMNS + inside(a.x, COLUMNS), a.z);
            return;
        }
        let whole = (b - a).xy().perp(&(c - a).xy());
        for row in inside(low.y, ROWS)..=inside(high.y, ROWS) {
            for column in inside(low.x, COLUMNS)..=inside(high.x, COLUMNS) {
                let p = nalgebra::Vector2::new(column as f64 + 0.5, row as f64 + 0.5);
                let u = (b.xy() - p).perp(&(c.xy() - p)) / whole;
                let v = (c.xy() - p).perp(&(a.xy() - p)) / whole;
                let w = 1.0 - u - v;
                if u >= 0.0 && v >= 0.0 && w >= 0.0 {
                    dot(row * COLUMNS + column, u * a.z + v * b.z + w * c.z);
                }
            }
        }
    }
}
