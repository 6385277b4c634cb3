//! Meshes made small for a page.

use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;
use crate::mesh::topology::find_outlines;
use crate::output::base64::base64;
use serde_json::{Value, json};
use std::f64::consts::PI;

/// Steps a side of a part's box is divided into.
const STEPS: f64 = 65535.0;

/// Sharper folds than this are drawn as lines (radians).
const FOLD: f64 = 35.0 * PI / 180.0;

/// How a part is toned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Like the paper.
    Pale,
    /// Darker.
    Grey,
    /// Darkest.
    Deep,
    /// The one colour that says: look here.
    Accent,
}

/// Which edges are drawn as lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lines {
    /// The open ones: right for a scan, whose noise is full of folds.
    Rims,
    /// Open ones and sharp folds: right for a made thing.
    RimsAndFolds,
}

/// One mesh of a model.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// Its name on the page.
    pub name: &'a str,
    /// Finite points, and triangles whose corners are among them.
    pub mesh: &'a TriMesh,
    /// How it is toned.
    pub tone: Tone,
    /// Which of its edges are drawn.
    pub lines: Lines,
    /// How far it moves when the model is pulled apart (the model's unit).
    pub away: Vector3,
    /// Whether it is there at first.
    pub at_first: AtFirst,
    /// What is written beside it.
    pub label: Option<Label<'a>>,
}

/// Whether a part is there before anyone has ticked a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AtFirst {
    /// It is.
    Shown,
    /// It is not.
    Hidden,
}

/// A few letters that go with a part.
#[derive(Debug, Clone, Copy)]
pub struct Label<'a> {
    /// Where, before the model is pulled apart (the model's frame and unit).
    pub at: Point3,
    /// The letters.
    pub text: &'a str,
}

/// Rounding a mesh is packed with.
struct Grid {
    offset: Point3,
    step: Vector3,
}

impl Grid {
    fn of(mesh: &TriMesh) -> Self {
        let (low, high) = mesh.bounds().unwrap_or_default();
        Self {
            offset: low,
            step: (high - low) / STEPS,
        }
    }

    fn steps(&self, point: &Point3) -> [u16; 3] {
        std::array::from_fn(|k| match self.step[k] {
            step if step > 0.0 => ((point[k] - self.offset[k]) / step).round() as u16,
            _ => 0,
        })
    }
}

/// Farthest that packing moves a point of `mesh` (its unit).
#[must_use]
pub(in crate::output) fn rounding(mesh: &TriMesh) -> f64 {
    Grid::of(mesh).step.norm() / 2.0
}

/// A part as the script reads it: `offset + step * points`, little-endian indices of 16 bits, or of 32
/// where `wide`.
pub(super) fn pack(part: &Part<'_>) -> Value {
    let mesh = part.mesh;
    let grid = Grid::of(mesh);
    let points: Vec<u8> = mesh
        .points
        .iter()
        .flat_map(|p| grid.steps(p))
        .flat_map(u16::to_le_bytes)
        .collect();
    let wide = mesh.points.len() > 1 << 16;
    let fold = match part.lines {
        Lines::Rims => PI,
        Lines::RimsAndFolds => FOLD,
    };
    let lines = find_outlines(mesh, fold);
    let tone = match part.tone {
        Tone::Pale => "pale",
        Tone::Grey => "grey",
        Tone::Deep => "deep",
        Tone::Accent => "accent",
    };
    let mut packed = json!({
        "name": part.name,
        "tone": tone,
        "away": part.away.as_slice(),
        "shown": part.at_first == AtFirst::Shown,
        "offset": grid.offset.coords.as_slice(),
        "step": grid.step.as_slice(),
        "wide": wide,
        "points": base64(&points),
        "triangles": base64(&index_bytes(mesh.triangles.as_flattened(), wide)),
        "lines": base64(&index_bytes(lines.as_flattened(), wide)),
    });
    if let Some(label) = part.label {
        packed["label"] = json!({"at": label.at.coords.as_slice(), "text": label.text});
    }
    packed
}

fn index_bytes(indices: &[u32], wide: bool) -> Vec<u8> {
    if wide {
        indices.iter().flat_map(|i| i.to_le_bytes()).collect()
    } else {
        indices
            .iter()
            .flat_map(|&i| (i as u16).to_le_bytes())
            .collect()
    }
}
