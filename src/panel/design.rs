//! From a survey to a proved panel.

use super::ends::Ends;
use super::lines::Lines;
use super::proof::wall;
use super::section::{self, Corners, LEAST_FACE_MM, PlaneWall};
use super::setback;
use super::stance::{self, Stance};
use super::{Panel, PanelFault, PanelOptions, Section, loft::Loft, relief};
use crate::diag::Finding;
use crate::gap::Survey;
use crate::mesh::topology::find_pieces;
use crate::mesh::{Solid, self_cross};
use crate::progress::Progress;

/// Designs the closeout panel for a surveyed gap: fairs the lines, lofts the sections through them,
/// cuts the flange free of what stands on the tray, and proves the result.
///
/// The panel is one closed solid that does not run through itself; its wall is measured and kept in
/// [`Panel::wall`]. What had to give way is in [`Panel::findings`].
///
/// # Errors
/// [`PanelFault`] where the options cannot be used, the gap is too small or too tight for the wall, or
/// the result is not sound.
pub fn design(
    survey: &Survey,
    options: &PanelOptions,
    watch: &Progress,
) -> Result<Panel, PanelFault> {
    check_options(options)?;
    let mut findings = Vec::new();
    step(watch, "fairing the panel's lines", 0.0)?;
    let lines = Lines::from_survey(survey, options)?;
    let stances = stance::take(survey, &lines, options, &mut findings)?;
    step(watch, "lofting the panel", 0.1)?;
    let walls = setback::plane_walls(&stances, &survey.spine, options.wall_mm);
    let mut sections = build_sections(&stances, &walls, options, &mut findings)?;
    let corners = Corners::of(lines.top());
    let outlines = sections
        .iter()
        .map(|section| (section.s, section.outline.as_slice()));
    let loft = Loft::new(&survey.spine, outlines, &corners.cap());
    let whole = Solid::new(loft.mesh().clone())?;
    step(watch, "making the ends", 0.25)?;
    let ends = Ends::plan(survey, &stances, &sections, options, &mut findings)?;
    let whole = ends.close(whole)?;
    step(watch, "cutting the flange free", 0.3)?;
    let (solid, reliefs) = relief::cut(whole, survey, &stances, &sections, options, &mut findings)?;
    let solid = ends.fade(solid, survey)?;
    step(watch, "proving the panel", 0.5)?;
    let (_, pieces) = find_pieces(solid.mesh());
    if pieces > 1 {
        findings.push(Finding::warning(
            "panel-in-pieces",
            format!("cutting the flange free left the panel in {pieces} pieces"),
            "move what stands on the tray, or ask for less relief",
        ));
    }
    if let Some(crossing) = self_cross::find_crossing(solid.mesh()) {
        return Err(PanelFault::Crossing {
            station_mm: survey.spine.locate(crossing.at.xy()).0,
        });
    }
    step(watch, "measuring the wall", 0.8)?;
    let wall = wall::prove(&solid, &loft, &sections, corners, &reliefs, &ends, options);
    findings.extend(wall.finding());
    ends.trim_hidden(&mut sections);
    watch.tell("measuring the wall", 1.0);
    Ok(Panel {
        solid,
        sections,
        top: lines.top(),
        reliefs,
        keep_clear: Vec::new(),
        ends: ends.zones(),
        fairness: lines.fairness(),
        wall,
        findings,
    })
}

fn step(watch: &Progress, work: &str, share: f64) -> Result<(), PanelFault> {
    if watch.is_cancelled() {
        return Err(PanelFault::Cancelled);
    }
    watch.tell(work, share);
    Ok(())
}

fn check_options(options: &PanelOptions) -> Result<(), PanelFault> {
    let wall = options.wall_mm;
    let lengths = [
        ("wall_mm", wall, 0.4, 20.0),
        (
            "flange_mm",
            options.flange_mm,
            stance::least_flange(wall),
            200.0,
        ),
        ("fillet_mm", options.fillet_mm, 0.0, 50.0),
        ("seal_mm", options.seal_mm, 0.0, 50.0),
        ("seal_foam_mm", options.seal_foam_mm, 0.0, 100.0),
        ("tuck_mm", options.tuck_mm, 1.0, 100.0),
        ("skin_mm", options.skin_mm, 0.0, 50.0),
        ("paint_mm", options.paint_mm, 0.0, 5.0),
        ("clearance_mm", options.clearance_mm, 0.0, 50.0),
        ("relief_mm", options.relief_mm, 0.0, 50.0),
        (
            "return_mm",
            options.return_mm.unwrap_or(options.flange_mm),
            stance::least_flange(wall),
            300.0,
        ),
        ("fade_mm", options.fade_mm, 5.0, 1000.0),
    ];
    for (name, value, least, most) in lengths {
        // Written so that a value that is not a number is refused as well.
        if !(value >= least && value <= most) {
            return Err(PanelFault::BadLength {
                name,
                value,
                least,
                most,
            });
        }
    }
    Ok(())
}

fn build_sections(
    stances: &[Stance],
    walls: &[PlaneWall],
    options: &PanelOptions,
    findings: &mut Vec<Finding>,
) -> Result<Vec<Section>, PanelFault> {
    let mut sections = Vec::with_capacity(stances.len());
    let mut smallest = (options.fillet_mm, None);
    for (stance, &wall) in stances.iter().zip(walls) {
        let outside = &stance.outside;
        let face = section::inner_face(outside, wall);
        let room_mm = outside.knee.y - outside.foot.y;
        if face.is_nan() || face < LEAST_FACE_MM {
            return Err(PanelFault::GapTooSmall {
                station_mm: stance.s,
                room_mm,
                needed_mm: room_mm - face + LEAST_FACE_MM,
            });
        }
        let fillet = section::fitting_fillet(outside, wall, options.fillet_mm);
        if fillet < smallest.0 - 0.01 {
            smallest = (fillet, Some((stance.s, room_mm)));
        }
        sections.push(section::build(stance.s, outside, wall, fillet));
    }
    if let (fillet, Some((s, room))) = smallest {
        findings.push(
            Finding::warning(
                "fillet-reduced",
                format!(
                    "the fillet shrinks to {fillet:.1} mm where only {room:.1} mm of face are left"
                ),
                "the corner between flange and face is weaker there",
            )
            .at(s)
            .size(fillet),
        );
    }
    Ok(sections)
}
