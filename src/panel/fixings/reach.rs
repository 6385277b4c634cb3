//! Whether the tray's own fixings can be got at with the panel fitted.

use crate::gap::Survey;
use crate::math::{Point2, Point3, Vector3};
use crate::mesh::{Solid, nearest::Nearest};
use crate::panel::foot::tray_height;
use crate::panel::keep_out::KeepOutKind;
use crate::panel::{PanelOptions, Section};

/// Wall of a thin socket or ring round a head (mm; common practice, no source).
const TOOL_WALL_MM: f64 = 3.0;
/// What was seen on the tray and is larger than this is no fastener (mm).
const LARGEST_HEAD_MM: f64 = 40.0;
/// Step along the tool (mm).
const STEP_MM: f64 = 1.0;
/// How far under the tray a tool must be free (mm).
const BELOW_MM: f64 = 60.0;

/// A fixing of the tray, and whether a straight tool reaches it with the panel fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct TrayFixing {
    /// The job's name for it; `None` for something seen on the tray.
    pub name: Option<String>,
    /// Arc length (mm).
    pub s: f64,
    /// Outward offset from the spine (mm).
    pub across: f64,
    /// Radius of the tool (mm): half the head, and a thin socket's wall.
    pub tool_mm: f64,
    /// From the tool's axis to the panel over the tray (mm), up to the panel's top: reached from above
    /// where that is more than the tool's radius.
    pub clear_above_mm: f64,
    /// The same under the tray.
    pub clear_below_mm: f64,
}

impl TrayFixing {
    /// Whether a tool reaches it from above.
    #[must_use]
    pub fn from_above(&self) -> bool {
        self.clear_above_mm >= self.tool_mm
    }

    /// Yes or no, and why, in a sentence.
    #[must_use]
    pub fn reason(&self) -> String {
        let (needs, above) = (self.tool_mm, self.clear_above_mm);
        if self.from_above() {
            format!(
                "yes, from above: the panel is {above:.0} mm from its axis and a tool needs {needs:.0} mm"
            )
        } else if self.from_below() {
            format!(
                "from below alone: over the tray the panel is {above:.0} mm from its axis and a tool needs {needs:.0} mm; \
                 see that its other half cannot turn"
            )
        } else {
            format!(
                "no: the panel is {above:.0} mm from its axis over the tray and {:.0} mm under it, and a tool needs {needs:.0} mm",
                self.clear_below_mm
            )
        }
    }

    /// Whether a tool reaches it from below.
    #[must_use]
    pub fn from_below(&self) -> bool {
        self.clear_below_mm >= self.tool_mm
    }
}

/// Holds a straight tool over and under every fixing of the tray: those the job names, and what was seen
/// on the tray that is no larger than a head.
#[must_use]
pub fn tray_fixings(
    solid: &Solid,
    survey: &Survey,
    sections: &[Section],
    options: &PanelOptions,
) -> Vec<TrayFixing> {
    let Some(panel) = Nearest::new(solid.mesh()) else {
        return Vec::new();
    };
    let top = |s: f64| {
        sections
            .iter()
            .min_by(|a, b| (a.s - s).abs().total_cmp(&(b.s - s).abs()))
            .and_then(|x| x.outline.iter().map(|p| p.y).reduce(f64::max))
            .unwrap_or(0.0)
    };
    let look = |name: Option<String>, s: f64, across: f64, size: f64| {
        let frame = survey.spine.frame_at(s);
        let foot = frame.to_shop(Point2::new(across, tray_height(&survey.tray, s, across)));
        let tool_mm = 0.5 * size + TOOL_WALL_MM;
        let up = (top(s) - foot.z - tool_mm).max(STEP_MM);
        let down = BELOW_MM - tool_mm;
        TrayFixing {
            name,
            s,
            across,
            tool_mm,
            clear_above_mm: clear(&panel, foot, Vector3::z(), [0.5, up]),
            clear_below_mm: clear(&panel, foot, -Vector3::z(), [tool_mm, down.max(tool_mm)]),
        }
    };
    let named = options
        .keep_outs
        .iter()
        .filter(|out| out.kind == KeepOutKind::TrayFixing)
        .filter_map(|out| {
            let placed = out.place().ok()?;
            let middle = |[a, b]: [f64; 2]| 0.5 * (a + b);
            let size = (placed.along[1] - placed.along[0]).max(placed.across[1] - placed.across[0]);
            let (s, across) = (middle(placed.along), middle(placed.across));
            Some(look(Some(out.name.clone()), s, across, size))
        });
    let seen = survey.obstacles.iter().filter_map(|obstacle| {
        let size = [obstacle.along, obstacle.across].map(|[a, b]| b - a);
        let largest = size[0].max(size[1]);
        (largest <= LARGEST_HEAD_MM).then(|| {
            let s = 0.5 * (obstacle.along[0] + obstacle.along[1]);
            let across = 0.5 * (obstacle.across[0] + obstacle.across[1]);
            look(None, s, across, largest)
        })
    });
    let mut all: Vec<TrayFixing> = named.chain(seen).collect();
    all.sort_by(|a, b| a.s.total_cmp(&b.s));
    all
}

/// Least distance from a straight axis to the panel (mm).
fn clear(panel: &Nearest, foot: Point3, way: Vector3, [from, to]: [f64; 2]) -> f64 {
    let steps = ((to - from) / STEP_MM).ceil().clamp(1.0, 1e4) as usize;
    (0..=steps)
        .map(|i| from + (to - from) * i as f64 / steps as f64)
        .map(|h| panel.distance(foot + way * h))
        .fold(f64::INFINITY, f64::min)
}
