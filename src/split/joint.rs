//! The lapped joint: a tab on the hidden side of the segment at lower arc length laps its neighbour.

use super::cut::sweep;
use super::plan::{Cut, TabRoom};
use super::reach::Reach;
use super::{HiddenFace, Joint, PrinterOptions, SplitFault, Workpiece};
use crate::diag::Finding;
use crate::math::{Point2, Point3, Vector3};
use crate::mesh::topology::find_pieces;
use crate::mesh::{Solid, boolean};
use rayon::prelude::*;

/// The hidden face must be at least this high for a tab (mm).
const LEAST_FACE_MM: f64 = 6.0;
/// A tab stays this far from the ends of the hidden face (mm), or the fit if that is more.
const INSET_MM: f64 = 1.0;
/// How deep a tab's root reaches into its own wall (mm), so that both become one: less than half of any
/// wall that prints, so that it never shows outside.
const EMBED_MM: f64 = 0.3;
/// Along the last bit before the cut the near side leaves the wall (mm before the cut, from and to).
const LEAVE_MM: [f64; 2] = [0.5, 0.2];
/// Length of the lead-in at the free end and how far the near side draws back there (mm).
const LEAD_IN_MM: f64 = 3.0;
const DRAW_BACK_MM: f64 = 1.0;
/// How much nearer than the fit a tab may come to its neighbour (mm).
const FIT_TOLERANCE_MM: f64 = 0.05;
/// A common volume below this is rounding (mm3).
const CONTACT_MM3: f64 = 0.01;

/// The hidden face anywhere along the spine.
pub(super) struct HiddenSide<'a> {
    rows: &'a [HiddenFace],
    /// Ends of the face in the shop frame.
    ends: Vec<[Point3; 2]>,
}

/// The hidden face in one station plane (shop frame).
struct FaceHere {
    /// Lower end of the straight face.
    foot: Point3,
    /// Unit, up along the face.
    up: Vector3,
    /// Unit, away from the material.
    away: Vector3,
    /// Length of the straight face (mm).
    height: f64,
}

impl<'a> HiddenSide<'a> {
    pub(super) fn new(work: &'a Workpiece) -> Self {
        let ends = work
            .hidden
            .iter()
            .map(|row| {
                let frame = work.spine.frame_at(row.s);
                row.face.map(|p| frame.to_shop(p))
            })
            .collect();
        Self {
            rows: &work.hidden,
            ends,
        }
    }

    /// Row before an arc length, and how far on the way to the next it is.
    fn between(&self, s: f64) -> Option<(usize, f64)> {
        let k = self.rows.partition_point(|r| r.s <= s);
        let last = self.rows.len().checked_sub(1)?;
        // At the very last row the place is at the end of the interval before it.
        let k = if k == last + 1 && s <= self.rows[last].s {
            last
        } else {
            k
        };
        if k == 0 || k > last {
            return None;
        }
        let (a, b) = (self.rows[k - 1].s, self.rows[k].s);
        Some((k - 1, (s - a) / (b - a).max(1e-12)))
    }

    fn section_at(&self, s: f64) -> Option<[Point2; 2]> {
        let (k, share) = self.between(s)?;
        let (a, b) = (&self.rows[k].face, &self.rows[k + 1].face);
        Some([0, 1].map(|i| a[i] + (b[i] - a[i]) * share))
    }

    /// Interpolated in space, because the workpiece's surface runs straight from row to row.
    fn face_at(&self, work: &Workpiece, s: f64) -> Option<FaceHere> {
        let (k, share) = self.between(s)?;
        let [foot, top] = [0, 1].map(|i| {
            let (a, b) = (self.ends[k][i], self.ends[k + 1][i]);
            a + (b - a) * share
        });
        let outward = work.spine.frame_at(s).outward;
        let up = top - foot;
        // Only the part in the station plane: the ends of the face need not run level.
        let (x, z) = (up.dot(&outward), up.z);
        let height = x.hypot(z);
        if !(height > 0.0 && height.is_finite()) {
            return None;
        }
        let (x, z) = (x / height, z / height);
        Some(FaceHere {
            foot,
            up: outward * x + Vector3::z() * z,
            away: outward * -z + Vector3::z() * x,
            height,
        })
    }

    /// Innermost and outermost offset of a tab in a station plane (mm), `None` where there is no room.
    pub(super) fn tab_across(&self, s: f64, printer: &PrinterOptions) -> Option<[f64; 2]> {
        let [a, b] = self.section_at(s)?;
        let up = b - a;
        let height = up.norm();
        if height.is_nan() || height < LEAST_FACE_MM.max(2.0 * inset(printer) + 2.0) {
            return None;
        }
        let away = -up.y / height * (printer.fit_mm + printer.tab_wall_mm);
        let xs = [a.x, b.x, a.x + away, b.x + away];
        Some([
            xs.iter().copied().fold(f64::INFINITY, f64::min),
            xs.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ])
    }
}

fn inset(printer: &PrinterOptions) -> f64 {
    INSET_MM.max(printer.fit_mm)
}

/// Which form of a tab to make.
#[derive(Clone, Copy)]
enum Form {
    /// With its root, as it is joined.
    Whole,
    /// What laps the neighbour, grown toward it by all of the fit but the tolerance: it must still
    /// touch nothing.
    Grown,
}

/// A tab at a cut: a plate along the hidden face. Its underside rises at 45 degrees away from the cut,
/// down to half of its height, and away from the wall, so that it prints without support.
fn make_tab(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    cut: f64,
    form: Form,
) -> Option<Result<Solid, crate::mesh::SolidFault>> {
    let tab = printer.tab_mm;
    let lead_in = LEAD_IN_MM.min(tab / 2.0);
    let draw_back = DRAW_BACK_MM.min(printer.tab_wall_mm / 2.0);
    let far = printer.fit_mm + printer.tab_wall_mm;
    let (begin, grown) = match form {
        Form::Whole => (-tab, 0.0),
        // Clear of the cut itself, which both solids share.
        Form::Grown => (0.02, (printer.fit_mm - FIT_TOLERANCE_MM).max(0.0)),
    };
    let mut places = vec![begin, tab - lead_in, tab];
    if matches!(form, Form::Whole) {
        places.extend([-LEAVE_MM[0], -LEAVE_MM[1], 0.0]);
    }
    places.extend(
        hidden
            .rows
            .iter()
            .map(|r| r.s - cut)
            .filter(|d| *d > begin && *d < tab),
    );
    places.sort_by(f64::total_cmp);
    places.dedup_by(|b, a| *b - *a < 0.05);
    let mut rows = Vec::with_capacity(places.len());
    for d in places {
        let face = hidden.face_at(work, cut + d)?;
        let leaving = ((d + LEAVE_MM[0]) / (LEAVE_MM[0] - LEAVE_MM[1])).clamp(0.0, 1.0);
        let leading = ((d - (tab - lead_in)) / lead_in).clamp(0.0, 1.0);
        let near =
            -EMBED_MM * (1.0 - leaving) + printer.fit_mm * leaving + draw_back * leading - grown;
        let (foot, top) = (inset(printer), face.height - inset(printer));
        let low = foot + d.clamp(0.0, (top - foot).max(0.0) / 2.0) - grown;
        let high = top + grown;
        let low_far = low + (far - near).min((high - low) / 2.0);
        let corner = |along: f64, off: f64| face.foot + face.up * along + face.away * off;
        rows.push([
            corner(low_far, far),
            corner(low, near),
            corner(high, near),
            corner(high, far),
        ]);
    }
    Some(Solid::new(sweep(&rows)))
}

/// The segments with their tabs, the joints, and what was found.
pub(super) struct Tabbed {
    pub(super) segments: Vec<Solid>,
    pub(super) joints: Vec<Joint>,
    pub(super) findings: Vec<Finding>,
}

/// One segment with its tab, or without if that was left out.
struct Joined {
    solid: Option<Solid>,
    joint: Joint,
    finding: Option<Finding>,
}

/// Gives each bare segment but the last its tab.
///
/// A tab that would touch its neighbour, or does not hold on to its own segment, is left out with a
/// finding.
///
/// # Errors
/// When the kernel fails.
pub(super) fn add_tabs(
    work: &Workpiece,
    printer: &PrinterOptions,
    reach: &Reach,
    cuts: &[Cut],
    mut bare: Vec<Solid>,
) -> Result<Tabbed, SplitFault> {
    let hidden = HiddenSide::new(work);
    let joined = cuts
        .par_iter()
        .zip(bare.par_windows(2))
        .enumerate()
        .map(|(i, (cut, pair))| {
            let s = reach.arc_length(cut.station);
            join(
                work,
                &hidden,
                printer,
                (i + 1, s, cut.tab),
                [&pair[0], &pair[1]],
            )
        })
        .collect::<Result<Vec<_>, _>>()?;
    let mut findings = Vec::new();
    for (i, solid) in bare.iter().enumerate() {
        let (_, pieces) = find_pieces(solid.mesh());
        if pieces > 1 {
            findings.push(
                Finding::warning(
                    "segment-in-pieces",
                    format!("segment {} is in {pieces} pieces", i + 1),
                    "look at it before printing",
                )
                .at(reach.arc_length(if i == 0 { 0 } else { cuts[i - 1].station })),
            );
        }
    }
    let mut joints = Vec::with_capacity(joined.len());
    for (i, made) in joined.into_iter().enumerate() {
        if let Some(solid) = made.solid {
            bare[i] = solid;
        }
        joints.push(made.joint);
        findings.extend(made.finding);
    }
    Ok(Tabbed {
        segments: bare,
        joints,
        findings,
    })
}

fn join(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    (number, s, room): (usize, f64, TabRoom),
    [own, neighbour]: [&Solid; 2],
) -> Result<Joined, SplitFault> {
    let without = |code: &'static str, why: &str| {
        Joined {
        solid: None,
        joint: Joint {
            s,
            tab_on: number,
            tab_volume_mm3: 0.0,
            fit_mm: printer.fit_mm,
        },
        finding: Some(
            Finding::warning(
                code,
                format!("the joint between segments {number} and {} has no tab: {why}", number + 1),
                "glue it on a strip of your own, or move the cut by another build volume or tab length",
            )
            .at(s),
        ),
    }
    };
    let low_face = || {
        without(
            "joint-without-tab",
            "the hidden face is too low or too short there",
        )
    };
    if room == TabRoom::None {
        return Ok(low_face());
    }
    let fault = |f: boolean::BooleanFault| SplitFault::not_made(number, f);
    let (Some(tab), Some(grown)) = (
        make_tab(work, hidden, printer, s, Form::Whole),
        make_tab(work, hidden, printer, s, Form::Grown),
    ) else {
        return Ok(low_face());
    };
    let (Ok(tab), Ok(grown)) = (tab, grown) else {
        return Ok(without("joint-without-tab", "the hidden face folds there"));
    };
    let touched = boolean::intersect(&grown, neighbour).map_err(fault)?;
    if touched.is_some_and(|t| t.volume() > CONTACT_MM3) {
        return Ok(without(
            "tab-in-the-way",
            "it would come too near to its neighbour",
        ));
    }
    let united = boolean::unite(&[own, &tab])
        .map_err(fault)?
        .ok_or(SplitFault::NoLength)?;
    // A tab in the open would be a piece of its own.
    if find_pieces(united.mesh()).1 > find_pieces(own.mesh()).1 {
        return Ok(without("tab-not-held", "nothing is there to hold it"));
    }
    let gain = united.volume() - own.volume();
    let held = (tab.volume() - gain) / EMBED_MM / printer.tab_mm;
    let finding = (held < LEAST_FACE_MM / 2.0).then(|| {
        Finding::warning(
            "tab-loosely-held",
            format!("the tab of segment {number} holds on to {held:.0} mm of height only"),
            "glue its root as well, or move the cut by another build volume or tab length",
        )
        .at(s)
    });
    Ok(Joined {
        joint: Joint {
            s,
            tab_on: number,
            tab_volume_mm3: gain,
            fit_mm: printer.fit_mm,
        },
        solid: Some(united),
        finding,
    })
}
