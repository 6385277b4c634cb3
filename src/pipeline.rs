//! The stages in order, nothing else.

use crate::diag::Problem;
use crate::gap;
use crate::job::Job;
use crate::output::{Made, Measured};
use crate::panel;
use crate::progress::Progress;
use crate::scan;
use crate::split::{self, HiddenFace, Workpiece};

/// Reads the scans and surveys the gap.
///
/// # Errors
/// The first stage's [`Problem`] that stops the work.
pub fn measure(job: &Job, watch: &Progress) -> Result<Measured, Problem> {
    let scene = scan::read_scene(&job.scan, watch)?;
    let survey = gap::survey(&scene, &job.gap, watch).map_err(|fault| {
        let [body, tray] = [&job.scan.body, &job.scan.tray].map(|path| path.display());
        Problem::from(fault).at(format!("{body} and {tray}"))
    })?;
    Ok(Measured {
        name: job.name.clone(),
        scene,
        survey,
    })
}

/// The survey, and from it the panel and its segments.
///
/// # Errors
/// The first stage's [`Problem`] that stops the work.
pub fn make(job: &Job, watch: &Progress) -> Result<Made, Problem> {
    let measured = measure(job, watch)?;
    let panel = panel::design(&measured.survey, &job.panel, watch)?;
    let hidden = panel.sections.iter().map(|section| HiddenFace {
        s: section.s,
        face: section.hidden_face,
    });
    let work = Workpiece {
        solid: &panel.solid,
        spine: &measured.survey.spine,
        hidden: hidden.collect(),
    };
    let segments = split::split(&work, &job.printer, watch)?;
    Ok(Made {
        measured,
        panel,
        segments,
    })
}
