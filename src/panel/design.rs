//! From a survey to a proved panel.

use super::ends::Ends;
use super::fixings::{self, TrayFixing};
use super::lines::Lines;
use super::proof::wall::{self, Away, Ball, Lofts};
use super::section::{self, Corners, LEAST_FACE_MM, PlaneWall};
use super::setback;
use super::stance::{self, Stance};
use super::{Done, Fixing, KeptOut, Panel, PanelFault, PanelOptions, Relief, Section, Top};
use super::{FootKind, loft::Loft, outboard, relief};
use crate::diag::Finding;
use crate::gap::{EdgeKind, Survey};
use crate::math::Point2;
use crate::mesh::topology::find_pieces;
use crate::mesh::{Solid, self_cross};
use crate::progress::Progress;
use std::borrow::Cow;

/// The wall is not measured nearer to a hole or boss than this (mm).
const BY_HOLE_MM: f64 = 1.0;

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
    check_top(survey, options)?;
    let mut findings = Vec::new();
    step(watch, "fairing the panel's lines", 0.0)?;
    let lines = Lines::from_survey(survey, options)?;
    findings.extend(lines.finding());
    findings.extend(off_the_panel(survey, options));
    let stances = stance::take(survey, &lines, options, &mut findings)?;
    step(watch, "lofting the panel", 0.1)?;
    let walls = setback::plane_walls(&stances, &survey.spine);
    let mut sections = build_sections(&stances, &walls, &mut findings)?;
    let corners = Corners::of(lines.top(), options.face, options.foot);
    let loft_of = |outlines: &[(f64, Cow<'_, [Point2]>)], cap: &[[u32; 3]]| {
        let placed = outlines.iter().map(|(s, line)| (*s, line.as_ref()));
        Loft::new(&survey.spine, placed, cap)
    };
    let bare: Vec<_> = (sections.iter())
        .map(|section| (section.s, Cow::Borrowed(section.outline.as_slice())))
        .collect();
    let loft = loft_of(&bare, &corners.cap());
    let flanged = if options.foot == FootKind::Outboard {
        outboard::shape(&mut sections, &stances, survey, &mut findings);
        let whole: Vec<_> = (sections.iter())
            .map(|section| (section.s, section.whole()))
            .collect();
        Some(loft_of(&whole, &outboard::cap(corners)))
    } else {
        None
    };
    let whole = Solid::new(flanged.as_ref().unwrap_or(&loft).mesh().clone())?;
    step(watch, "making the ends", 0.25)?;
    let ends = Ends::plan(survey, &stances, &sections, options, &mut findings)?;
    let whole = ends.close(whole)?;
    step(watch, "cutting the flange free", 0.3)?;
    let widest = widest(options, &stances);
    let freed = relief::cut(whole, survey, &stances, &sections, &widest, &mut findings)?;
    let faded = ends.fade(freed.solid, survey)?;
    step(watch, "placing the fixings", 0.45)?;
    let top = lines.top();
    let fixed = fixings::fix(faded, survey, &sections, top, options, &mut findings)?;
    let solid = fixed.solid;
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
    let away = Away {
        stretches: cuts_of(&freed.reliefs, &freed.openings),
        balls: fixed.fixings.iter().map(ball).collect(),
    };
    let lofts = Lofts {
        bare: &loft,
        flanged: flanged.as_ref(),
    };
    let wall = wall::prove(&solid, lofts, &sections, corners, &away, &ends, options);
    findings.extend(wall.finding());
    let tray_fixings = fixings::tray_fixings(&solid, survey, &sections, options);
    findings.extend(tray_fixings.iter().filter_map(out_of_reach));
    ends.trim_hidden(&mut sections);
    watch.tell("measuring the wall", 1.0);
    Ok(Panel {
        solid,
        sections,
        top,
        tray_fixings,
        keep_clear: stretches(&freed.kept_out),
        reliefs: freed.reliefs,
        kept_out: freed.kept_out,
        fixings: fixed.fixings,
        ends: ends.zones(),
        fairness: lines.fairness(),
        wall,
        findings,
    })
}

/// A rolled edge has a return behind it: no lip goes up there.
fn check_top(survey: &Survey, options: &PanelOptions) -> Result<(), PanelFault> {
    if options.top_for(survey.edge_kind) == Top::Tucked && survey.edge_kind == EdgeKind::Rolled {
        return Err(PanelFault::TopNotAllowed);
    }
    Ok(())
}

/// Stretches in which the wall is not measured, for it is cut there.
fn cuts_of(reliefs: &[Relief], openings: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let reliefs = reliefs.iter().map(|relief| relief.along);
    reliefs.chain(openings.iter().copied()).collect()
}

/// Room round a fixing's hole or boss in which the wall is not measured.
fn ball(fixing: &Fixing) -> Ball {
    Ball {
        at: fixing.at,
        radius_mm: 0.5 * fixing.slot_mm.max(fixing.washer_mm) + BY_HOLE_MM,
    }
}

/// Joined stretches that no cut may enter, for a keep-out was cut there.
fn stretches(kept_out: &[KeptOut]) -> Vec<[f64; 2]> {
    let cut = kept_out
        .iter()
        .filter(|kept| !matches!(kept.done, Done::Clear | Done::NotCut))
        .map(|kept| kept.along);
    let mut all: Vec<[f64; 2]> = cut.collect();
    all.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut joined: Vec<[f64; 2]> = Vec::new();
    for stretch in all {
        match joined.last_mut() {
            Some(last) if stretch[0] <= last[1] => last[1] = last[1].max(stretch[1]),
            _ => joined.push(stretch),
        }
    }
    joined
}

/// A warning where a named fixing of the tray cannot be got at from above with the panel fitted.
fn out_of_reach(fixing: &TrayFixing) -> Option<Finding> {
    let name = fixing.name.as_ref()?;
    (!fixing.from_above()).then(|| {
        Finding::warning(
            "fixing-covered",
            format!(
                "with the panel fitted a tool of {:.0} mm does not go over tray fixing \"{name}\" from above: \
                 {:.1} mm are clear each way",
                2.0 * fixing.tool_mm,
                fixing.clear_above_mm
            ),
            "raise its margin_mm, or see that it is undone from below and its nut is held",
        )
        .at(fixing.s)
        .size(fixing.tool_mm - fixing.clear_above_mm)
    })
}

fn step(watch: &Progress, work: &str, share: f64) -> Result<(), PanelFault> {
    if watch.is_cancelled() {
        return Err(PanelFault::Cancelled);
    }
    watch.tell(work, share);
    Ok(())
}

/// Deepest flange (mm).
pub const MOST_FLANGE_MM: f64 = 150.0;

fn check_options(options: &PanelOptions) -> Result<(), PanelFault> {
    let wall = options.wall_mm;
    let mut lengths = vec![
        ("wall_mm", wall, 0.4, 20.0),
        (
            "wall_top_mm",
            options.wall_top_mm.unwrap_or(wall),
            0.4,
            20.0,
        ),
        (
            "flange_mm",
            options.flange_mm,
            stance::least_flange(wall),
            MOST_FLANGE_MM,
        ),
        ("fillet_mm", options.fillet_mm, 0.0, 50.0),
        ("seal_mm", options.seal_mm, 0.0, 50.0),
        ("seal_foam_mm", options.seal_foam_mm, 0.0, 100.0),
        ("tuck_mm", options.tuck_mm, 1.0, 100.0),
        ("lap_mm", options.lap_mm, 1.0, 100.0),
        ("skin_mm", options.skin_mm, 0.0, 50.0),
        ("paint_mm", options.paint_mm, 0.0, 5.0),
        ("clearance_mm", options.clearance_mm, 0.0, 50.0),
        ("relief_mm", options.relief_mm, 0.0, 50.0),
        ("bow_mm", options.bow_mm, -200.0, 200.0),
        ("lean_deg", options.lean_deg, -45.0, 45.0),
        ("setback_mm", options.setback_mm, 0.0, 50.0),
        ("overlay_mm", options.overlay_mm, 0.0, 20.0),
        (
            "return_mm",
            options.return_mm.unwrap_or(options.flange_mm),
            stance::least_flange(wall),
            300.0,
        ),
        ("fade_mm", options.fade_mm, 5.0, 1000.0),
        ("pitch_mm", options.fixings.pitch_mm, 10.0, 5000.0),
        ("slot_extra_mm", options.fixings.slot_extra_mm, 0.0, 50.0),
    ];
    for change in &options.changes {
        lengths.push(("at_mm", change.at_mm, 0.0, 1e6));
        lengths.push(("over_mm", change.over_mm, 1.0, 1e5));
        // What holds after it: halfway through all is between two that hold.
        let shape = options.shape_at(change.at_mm + 0.5 * change.over_mm);
        let flange = stance::least_flange(shape.wall);
        lengths.extend([
            ("wall_mm", shape.wall, 0.4, 20.0),
            ("wall_top_mm", shape.wall_top, 0.4, 20.0),
            ("flange_mm", shape.flange, flange, MOST_FLANGE_MM),
            ("fillet_mm", shape.fillet, 0.0, 50.0),
            ("seal_mm", shape.seal, 0.0, 50.0),
            ("tuck_mm", shape.tuck, 1.0, 100.0),
            ("lap_mm", shape.lap, 1.0, 100.0),
            ("bow_mm", shape.bow, -200.0, 200.0),
            ("lean_deg", shape.lean.to_degrees(), -45.001, 45.001),
            ("setback_mm", shape.setback, 0.0, 50.0),
            ("overlay_mm", shape.overlay, 0.0, 20.0),
        ]);
    }
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

/// The same options with the thickest wall and the largest fillet of all sections: what is cut clears them.
fn widest(options: &PanelOptions, stances: &[Stance]) -> PanelOptions {
    let most = |of: &dyn Fn(&Stance) -> f64| stances.iter().map(of).fold(0.0, f64::max);
    PanelOptions {
        wall_mm: most(&|stance| stance.shape.thickest()),
        fillet_mm: most(&|stance| stance.shape.fillet),
        ..options.clone()
    }
}

/// A warning for changes of the section that lie past the panel's ends.
fn off_the_panel(survey: &Survey, options: &PanelOptions) -> Option<Finding> {
    let length = survey.spine.length();
    let off = options
        .changes
        .iter()
        .find(|change| change.at_mm > length)?;
    Some(
        Finding::warning(
            "change-off-panel",
            format!(
                "the section is to change at station {:.0} mm, and the gap is {length:.0} mm long",
                off.at_mm
            ),
            "give that [[panel_change]] an at_mm within the gap: see the stations on the sheet",
        )
        .at(length)
        .size(off.at_mm - length),
    )
}

fn build_sections(
    stances: &[Stance],
    walls: &[PlaneWall],
    findings: &mut Vec<Finding>,
) -> Result<Vec<Section>, PanelFault> {
    let mut sections = Vec::with_capacity(stances.len());
    let mut smallest: Option<(f64, f64, f64, f64)> = None;
    for (stance, wall) in stances.iter().zip(walls) {
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
        let wanted = stance.shape.fillet;
        let fillet = section::fitting_fillet(outside, wall, wanted);
        let short = wanted - fillet;
        if short > 0.01 && smallest.is_none_or(|(_, _, _, most)| short > most) {
            smallest = Some((stance.s, fillet, room_mm, short));
        }
        let finished = stance.finished.clone();
        sections.push(section::build(stance.s, outside, wall, fillet, finished));
    }
    if let Some((s, fillet, room, _)) = smallest {
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
