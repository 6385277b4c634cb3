//! The stages in order, nothing else.

use crate::buck::{self, Buck, Covered, Layup};
use crate::diag::Problem;
use crate::gap::position::set_out;
use crate::gap::readings::{Correction, choose_checks, find_worst, fitted_checks, survey_id};
use crate::gap::readings::{Verdict, judge, plan_shims};
use crate::gap::seal::Footing;
use crate::gap::verdict::{Outlook, expect};
use crate::gap::{self, Front, Survey};
use crate::job::Job;
use crate::math::Spine;
use crate::output::{
    BuckMade, Made, Measured, OwnMade, PositionsMade, Readings, StayingOn, TwinMade, Verified,
    prove_pieces,
};
use crate::panel::proof::heat::{HeatInput, HeldAt, Thermal};
use crate::panel::proof::positions::{Held, serve};
use crate::panel::proof::removal::{self, RemovalOptions, Surface};
use crate::panel::proof::{TwinFit, air_load, fit, heat, twin as twin_fit};
use crate::panel::{self, Fixing, FootKind, Mount, Panel, PanelOptions, TwinKind};
use crate::progress::Progress;
use crate::scan::{self, Scene};
use crate::split::{self, HiddenFace, PrinterOptions, Segments, Workpiece};
use std::path::Path;

/// A survey as the scans give it, and its short name.
struct Surveyed {
    scene: Scene,
    survey: Survey,
    id: String,
}

fn survey(job: &Job, watch: &Progress) -> Result<Surveyed, Problem> {
    let surveyed = survey_scans(job, watch);
    let (scene, survey) = surveyed.map_err(|problem| scan::doubt_unit(problem, &job.scan))?;
    let id = name_of(&scene, &survey);
    if let Some(file) = &job.correction
        && file.survey != id
    {
        return Err(Problem::new(
            format!(
                "the correction was made for survey {}, and this is survey {id}",
                file.survey
            ),
            "write correction = \"none\" under [gap], measure, take the readings again and verify them",
        ));
    }
    Ok(Surveyed { scene, survey, id })
}

fn survey_scans(job: &Job, watch: &Progress) -> Result<(Scene, Survey), Problem> {
    let scene = scan::read_scene(&job.scan, watch)?;
    let survey = gap::survey(&scene, &job.gap, watch).map_err(|fault| {
        let [body, tray] = [&job.scan.body, &job.scan.tray].map(|path| path.display());
        Problem::from(fault).at(format!("{body} and {tray}"))
    })?;
    Ok((scene, survey))
}

fn name_of(scene: &Scene, survey: &Survey) -> String {
    survey_id(
        survey,
        [&scene.body.source.sha256, &scene.tray.source.sha256],
    )
}

/// Reads the scans and surveys the gap, corrected where the job says so, with the checks to read on the
/// vehicle.
///
/// # Errors
/// The first stage's [`Problem`] that stops the work.
pub fn measure(job: &Job, watch: &Progress) -> Result<Measured, Problem> {
    let Surveyed {
        mut scene,
        mut survey,
        mut id,
    } = survey(job, watch)?;
    if let Some(file) = &job.correction {
        survey = file.correction.apply(&survey);
        scene = scene.scaled(file.correction.scale);
        id = name_of(&scene, &survey);
    }
    let positions = set_out(
        &survey,
        (&scene.tray.mesh, scene.tray.spacing_mm),
        &job.positions,
        job.front,
    )
    .map_err(|name| {
        Problem::new(
            format!("in position \"{name}\" no tray lies under the body's edge"),
            "check its forward_mm and up_mm, or scan more of the tray",
        )
    })?;
    let kind = survey.edge_kind;
    let footing = match job.correction {
        Some(_) => Footing::Readings,
        None => Footing::Scans,
    };
    let outlook = expect(&survey.stations, job.panel.room(kind), footing);
    (survey.findings).extend(outlook.as_ref().and_then(Outlook::finding));
    Ok(Measured {
        outlook,
        top: job.panel.top_for(kind),
        front: job.front,
        name: job.name.clone(),
        checks: choose_checks(&survey, scene.body.spacing_mm),
        survey_id: id,
        paper: job.paper,
        positions,
        scene,
        survey,
    })
}

/// Holds readings to the survey of the job: to the survey as the scans give it, or as the job corrects
/// it, whichever the readings were made for. A correction found is one for the survey as the scans give
/// it.
///
/// # Errors
/// The first stage's [`Problem`], or one about readings that were made for another survey or cannot be
/// about this one.
pub fn verify(job: &Job, readings: &Readings, watch: &Progress) -> Result<Verified, Problem> {
    let Surveyed { scene, survey, id } = survey(job, watch)?;
    let earlier = job.correction.as_ref().map(|file| file.correction);
    let spacing = scene.body.spacing_mm * earlier.map_or(1.0, |c| c.scale);
    let (held_to, earlier) = match earlier {
        Some(correction) if readings.survey != id => (correction.apply(&survey), correction),
        _ => (survey, Correction::NONE),
    };
    let named = name_of(&scene, &held_to);
    if readings.survey != named {
        return Err(Problem::new(
            format!(
                "the readings were made for survey {}, and this job gives survey {named}",
                readings.survey
            ),
            "name the job they were made with; if scans or job have changed since, measure again and take the readings at the places it lists",
        ));
    }
    let shims = plan_shims(&held_to, &readings.taken)?;
    let only_fitted = shims.as_ref().map_or(0, |list| list.shims.len()) == readings.taken.len();
    let judgement = if only_fitted {
        None
    } else {
        let room = job.panel.room(held_to.edge_kind);
        Some(judge(&held_to, spacing, &readings.taken, room)?)
    };
    let correction = judgement
        .as_ref()
        .filter(|j| j.verdict == Verdict::Shim)
        .map(|j| earlier.then(&j.correction));
    Ok(Verified {
        name: job.name.clone(),
        survey_id: id,
        judgement,
        shims,
        correction,
        blank: readings.blank,
    })
}

/// The panel's options with every keep-out that was picked in the tray's scan placed along the gap, and
/// the growth that slots are made for.
fn with_places(job: &Job, measured: &Measured) -> PanelOptions {
    let mut options = job.panel.clone();
    options.fixings.growth = Some(Thermal::of(job.printer.material, &job.heat));
    let to_shop = &measured.scene.tray.to_shop;
    for out in &mut options.keep_outs {
        *out = out.clone().placed(to_shop, &measured.survey);
    }
    options
}

/// The survey, and from it the panel and its segments.
///
/// # Errors
/// The first stage's [`Problem`] that stops the work.
pub fn make(job: &Job, watch: &Progress) -> Result<Made, Problem> {
    let mut measured = measure(job, watch)?;
    let options = &with_places(job, &measured);
    let panel = panel::design(&measured.survey, options, watch)?;
    let (panel, positions) = serve_positions(panel, &measured, job, options, watch)?;
    let work = workpiece(job, &panel, &measured.survey.spine);
    let survey = &measured.survey;
    let scene = &measured.scene;
    let prove_fit = || fit::prove(&panel, survey, scene.into(), options);
    let prove_removal = |segments: &Segments| {
        let scans = [&scene.body, &scene.tray].map(|scan| Surface {
            mesh: &scan.mesh,
            noise_mm: scan.noise_mm,
        });
        let ways = RemovalOptions {
            paths: job.ways_off.clone(),
            front: job.front,
        };
        let moving = (&panel, &segments.beyond(&panel.solid));
        removal::prove(moving, survey, scans, options, &ways, watch)
    };
    let panel_itself = || {
        let split = || split::split(&work, &job.printer, watch);
        let (fit, segments) = rayon::join(prove_fit, split);
        // The backs of the joints come off with the panel.
        segments.map(|segments| (fit, prove_removal(&segments), segments))
    };
    let twin = || match job.panel.twin {
        TwinKind::None => Ok(None),
        TwinKind::Mirrored => make_twin(job, &panel, survey, options, watch).map(Some),
    };
    // Neither needs what another makes.
    let (itself, (twin, laid_up)) = rayon::join(panel_itself, || {
        rayon::join(twin, || make_buck_and_cloth(job, &panel, survey, watch))
    });
    let (fit, removal, segments) = itself?;
    let (twin, (buck, layup)) = (twin?, laid_up?);
    let staying_on = stay_on(&panel, options, job, &segments);
    let worst = find_worst(&measured.survey, 3.0 * split::COUPON_MM);
    let coupons = split::cut_coupons(&work, &job.printer, worst)?;
    let fitted = fitted_checks(&measured.checks, |s| panel.left_open(&measured.survey, s));
    measured.checks.extend(fitted);
    let mut made = Made {
        buck,
        layup,
        measured,
        panel,
        removal,
        fit,
        staying_on,
        segments,
        coupons,
        twin,
        positions,
        pieces: Vec::new(),
    };
    watch.tell("measuring every piece", 0.0);
    made.pieces = prove_pieces(&made, &job.printer);
    Ok(made)
}

/// What air and heat do to a panel and its segments.
fn stay_on(panel: &Panel, options: &PanelOptions, job: &Job, segments: &Segments) -> StayingOn {
    let material = job.printer.material;
    let air = air_load::AirInput::of(panel, options, &job.air, (material, job.heat.hot_c));
    // A slot in what the panel is fixed to does as well as one in the panel.
    let planned = panel.fixings.iter().map(|fixing| HeldAt {
        s: fixing.s,
        travel_mm: Some(fixing.slot_mm - fixing.screw.clearance_hole()),
    });
    let planned: Vec<HeldAt> = match air.planned {
        air_load::Planned::OnPanel => planned.collect(),
        air_load::Planned::Assumed(_) => {
            let steps = air.fixings.iter();
            steps.map(|&s| HeldAt { s, travel_mm: None }).collect()
        }
    };
    let pieces: Vec<[f64; 2]> = segments.segments.iter().map(|s| s.along).collect();
    let ends = [panel.sections.first(), panel.sections.last()];
    let input = HeatInput {
        material,
        along: ends.map(|section| section.map_or(0.0, |section| section.s)),
        walls: &air.walls,
        fixings: &planned,
        hole_mm: options.fixings.screw.clearance_hole(),
        segments: &pieces,
    };
    StayingOn {
        heat: heat::prove(&input, &job.heat),
        air: air_load::prove(&air, &job.air),
    }
}

/// What is to be split of a panel: its solid, its hidden side, and where no cut may lie.
#[must_use]
pub fn workpiece<'a>(job: &'a Job, panel: &'a Panel, spine: &'a Spine) -> Workpiece<'a> {
    let hidden = panel.sections.iter().map(|section| HiddenFace {
        s: section.s,
        face: section.hidden_face,
    });
    let flange = panel.sections.iter().filter_map(|section| {
        let (s, face) = (section.s, section.flange_top()?);
        Some(HiddenFace { s, face })
    });
    let ends = panel.ends.iter().map(|zone| zone.along);
    let tab = job.printer.tab_wall_mm + job.printer.fit_mm;
    let fixings = panel.fixings.iter();
    // What is screwed down outside is in no joint's way on the hidden side.
    let outboard = job.panel.foot == FootKind::Outboard && job.panel.mount == Mount::Tray;
    let (past, held): (Vec<&Fixing>, Vec<&Fixing>) =
        fixings.partition(|f| outboard || f.lets_past(tab));
    let keep_clear: Vec<[f64; 2]> = ends
        .filter(|[from, to]| from < to)
        .chain(panel.keep_clear.iter().copied())
        .chain(held.into_iter().map(Fixing::keep_clear))
        .collect();
    let cut_clear: Vec<[f64; 2]> = past.into_iter().map(Fixing::keep_clear).collect();
    Workpiece {
        name: &job.name,
        front: job.front.map(Front::direction),
        solid: &panel.solid,
        spine,
        hidden: hidden.collect(),
        label_on: flange.collect(),
        // A tab passes some fixings over the hidden side; what they do to the flange is not known.
        label_clear: [&keep_clear[..], &cut_clear[..]].concat(),
        keep_clear,
        cut_clear,
    }
}

/// What is to be split of a buck. Nothing may stand on its face, so no side is given for tabs; its labels go
/// on its back.
#[must_use]
pub fn buck_workpiece<'a>(job: &'a Job, buck: &'a Buck, spine: &'a Spine) -> Workpiece<'a> {
    let back = buck.sections.iter().filter_map(|section| {
        let (s, face) = (section.s, section.back()?);
        Some(HiddenFace { s, face })
    });
    Workpiece {
        name: &job.name,
        front: job.front.map(Front::direction),
        solid: &buck.solid,
        spine,
        hidden: Vec::new(),
        label_on: back.collect(),
        keep_clear: buck.keep_clear.clone(),
        cut_clear: Vec::new(),
        // Holes are seen where a label is looked for.
        label_clear: Vec::new(),
    }
}

/// The buck, where there is one, and the laminate over it or over the printed core.
fn make_buck_and_cloth(
    job: &Job,
    panel: &Panel,
    survey: &Survey,
    watch: &Progress,
) -> Result<(Option<BuckMade>, Option<Layup>), Problem> {
    let Some(options) = &job.buck else {
        return Ok((None, lay_up(job, panel, None, survey)));
    };
    let buck = buck::form::design(panel, &survey.spine, options, watch)?;
    let (segments, layup) = rayon::join(
        || split_buck(job, &buck, survey, watch),
        || lay_up(job, panel, Some(&buck), survey),
    );
    let segments = segments?;
    Ok((Some(BuckMade { buck, segments }), layup))
}

/// Tells what was found of these segments from what was found of the panel's own.
fn say_whose(segments: &mut Segments, whose: &str) {
    for finding in &mut segments.findings {
        finding.what.insert_str(0, &format!("{whose}: "));
    }
}

/// The segments of a buck. Nothing may stand on its face, so no side is given for tabs: it is joined end
/// to end by pins in the cut, a hollow one through its ribs.
fn split_buck(
    job: &Job,
    buck: &Buck,
    survey: &Survey,
    watch: &Progress,
) -> Result<Segments, Problem> {
    let work = buck_workpiece(job, buck, &survey.spine);
    // Cuts pinned or forbidden are the panel's.
    let printer = PrinterOptions {
        cuts: Vec::new(),
        ..job.printer.clone()
    };
    let mut segments = split::split(&work, &printer, watch)?;
    say_whose(&mut segments, "buck");
    Ok(segments)
}

/// The laminate over the buck, or over the printed core.
fn lay_up(job: &Job, panel: &Panel, buck: Option<&Buck>, survey: &Survey) -> Option<Layup> {
    let options = job.laminate.as_ref()?;
    let under = buck::Under {
        material: job.printer.material,
        hot_c: job.heat.hot_c,
        wall_mm: job.panel.wall_mm,
        strip: buck.and_then(|_| buck::StripSize::of(panel, options.cut.overlap_mm)),
        set_in_mm: buck.map_or(job.panel.overlay_mm, |buck| buck.on_top.total()),
    };
    let core = match buck {
        None => Covered::core(panel, options.cut.edge_mm),
        Some(_) => None,
    };
    let covered = core.as_ref().or(buck.map(|buck| &buck.covered))?;
    Some(buck::plan(covered, &survey.spine, options, under))
}

/// The panel of the vehicle's other side, split by itself: the image of a segment would wear its labels
/// mirrored.
fn make_twin(
    job: &Job,
    panel: &Panel,
    survey: &Survey,
    options: &PanelOptions,
    watch: &Progress,
) -> Result<TwinMade, Problem> {
    let twin = panel::twin::mirror(panel, &survey.spine).map_err(panel::PanelFault::from)?;
    let name = format!("{} other side", job.name);
    let mut work = workpiece(job, &twin.panel, &twin.spine);
    work.name = &name;
    // Mirrored as the panel is, in the plane y = 0.
    if let Some(front) = &mut work.front {
        front.y = -front.y;
    }
    let mut segments = split::split(&work, &job.printer, watch)?;
    say_whose(&mut segments, "other side");
    let fit = match &job.twin_job {
        None => None,
        Some(path) => Some(hold_twin(path, panel, survey, options, watch)?),
    };
    Ok(TwinMade {
        twin,
        segments,
        fit,
    })
}

/// The twin against the other side's own survey.
fn hold_twin(
    path: &Path,
    panel: &Panel,
    survey: &Survey,
    options: &PanelOptions,
    watch: &Progress,
) -> Result<TwinFit, Problem> {
    let job = Job::read(path).map_err(|faults| {
        let first = faults.into_iter().next();
        first.unwrap_or_else(|| {
            Problem::new("the other side's job is no job", "write another").at(path.display())
        })
    })?;
    watch.tell("measuring the other side", 0.0);
    let other = measure(&job, watch)?;
    Ok(twin_fit::hold(panel, survey, &other.survey, options))
}

/// The panel that goes on with the run, and what serves the tray's further positions.
fn serve_positions(
    panel: Panel,
    measured: &Measured,
    job: &Job,
    options: &PanelOptions,
    watch: &Progress,
) -> Result<(Panel, Option<PositionsMade>), Problem> {
    if measured.positions.is_empty() {
        return Ok((panel, None));
    }
    let (scanned, settings) = (&measured.survey, &measured.positions);
    let held = match options.mount {
        Mount::Tray => Held::OnTray,
        Mount::Body => Held::OnBody,
    };
    let served = serve(panel, scanned, settings, options, held, watch)?;
    let own = served.own.into_iter().map(|own| {
        let mut work = workpiece(job, &own.panel, &scanned.spine);
        // Its labels tell it from the first panel.
        let of = settings.get(own.setting).map_or("", |made| &made.word);
        let name = format!("{} {of}", job.name);
        work.name = &name;
        let mut segments = split::split(&work, &job.printer, watch)?;
        say_whose(&mut segments, &format!("panel for {of}"));
        Ok(OwnMade {
            setting: own.setting,
            panel: own.panel,
            segments,
        })
    });
    let own = own.collect::<Result<Vec<_>, Problem>>()?;
    let proof = served.proof;
    Ok((served.panel, Some(PositionsMade { proof, own })))
}
