//! Does the tray come off? Sweeps what moves past what stands, along several ways.
//!
//! Fixed to the tray, the panel moves with it and the body stands. Fixed to the body, the tray moves alone
//! and panel and body stand. A way fouls where hard parts meet, paint counted; the clearance is the least
//! over the whole motion, the start included, so a lip that slides out of its place has the clearance it
//! was drawn with.

mod body;
mod course;
mod path;
#[cfg(test)]
mod tests;
mod trim;

pub use path::{Move, Path, Side};

use self::course::{Course, Scene};
use self::path::{Sizes, usual_paths};
use crate::diag::Finding;
use crate::gap::{Front, Survey};
use crate::math::Point3;
use crate::mesh::TriMesh;
use crate::panel::{Mount, Panel, PanelOptions, Top};
use crate::progress::Progress;
use rayon::prelude::*;

/// What the job says about coming off.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RemovalOptions {
    /// Ways to try; none stands for the usual ones.
    pub paths: Vec<Path>,
    /// Where the vehicle's front lies.
    pub front: Option<Front>,
}

/// A scanned surface.
#[derive(Debug, Clone, Copy)]
pub struct Surface<'a> {
    /// The surface (shop frame, mm).
    pub mesh: &'a TriMesh,
    /// Standard deviation of its noise (mm).
    pub noise_mm: f64,
}

/// A moment of a motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Number of the move, from 0.
    pub step: usize,
    /// Share of it that is done, 0 to 1.
    pub share: f64,
}

impl Moment {
    /// Whether nothing has moved yet.
    #[must_use]
    pub fn is_start(self) -> bool {
        self.step == 0 && self.share <= 0.0
    }
}

/// What moves, or stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The panel.
    Panel,
    /// The tray and what stands on it.
    Tray,
    /// The body.
    Body,
}

impl Part {
    /// As a sentence names it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Panel => "panel",
            Self::Tray => "tray",
            Self::Body => "body",
        }
    }
}

/// Where it is tightest on a way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tightest {
    /// Clearance with paint taken off (mm); zero where parts meet.
    pub mm: f64,
    /// Standard uncertainty of it: the survey's at that station (mm).
    pub sigma_mm: f64,
    /// Arc length along the spine (mm).
    pub station_mm: f64,
    /// Where (shop frame, mm).
    pub at: Point3,
    /// When.
    pub moment: Moment,
    /// What moves there, and what it comes near to.
    pub parts: [Part; 2],
}

/// Whether something comes off along a way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outcome {
    /// Nothing meets.
    Clear,
    /// Hard parts meet.
    Fouls {
        /// Height to take off the panel's top all along so that the way is clear (mm); `None` where that
        /// would not do.
        trim_mm: Option<f64>,
        /// Whether the way is clear with the panel fixed to the other part.
        other_mount: OtherMount,
    },
}

/// Whether a way is clear with the panel fixed to the other part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OtherMount {
    /// It is.
    Clears,
    /// It is not.
    FoulsToo,
}

/// One way, proved.
#[derive(Debug, Clone, PartialEq)]
pub struct PathResult {
    /// The way.
    pub path: Path,
    /// Where it is tightest, or where it first fouls; `None` if nothing comes near.
    pub tightest: Option<Tightest>,
    /// Whether it is clear.
    pub outcome: Outcome,
}

impl PathResult {
    /// Whether nothing meets on the way.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.outcome == Outcome::Clear
    }
}

/// Whether and how the tray comes off.
#[derive(Debug, Clone, PartialEq)]
pub struct RemovalProof {
    /// What the panel is fixed to.
    pub mount: Mount,
    /// The ways tried.
    pub paths: Vec<PathResult>,
    /// The best of them: clear, then with most room, then the first. Without a clear one, the one that
    /// needs least taken off the top.
    pub best: Option<usize>,
    /// Paint on two faces, taken off every distance (mm).
    pub allowance_mm: f64,
    /// How far the tray is let down before its way begins, where it moves away from a panel it lies
    /// against (mm): contact cannot be told finer than the scan's noise.
    pub let_down_mm: f64,
    /// Triangles of the tray's scan that touch the body or a fixed panel at rest; they and what is near
    /// them were left out.
    pub left_out: usize,
    /// What is to be looked at.
    pub findings: Vec<Finding>,
}

/// Nearer than this is looked for and told (mm); beyond it there is room for fingers.
const WITHIN_MM: f64 = 15.0;
/// Share of the panel's length that may touch the body at rest before it is warned of: a few noisy places
/// of a scan pass, a lip drawn into the skin does not.
const MOST_TOUCHING: f64 = 0.1;
/// Two ways whose clearance differs by less are as good as each other (mm).
const ALIKE_MM: f64 = 0.1;

impl RemovalProof {
    /// The best way.
    #[must_use]
    pub fn best_path(&self) -> Option<&PathResult> {
        self.best.and_then(|k| self.paths.get(k))
    }
}

/// Sweeps every way. `panel` was designed from `survey`, and that from `body` and `tray`; `joints` is what
/// the joints of its segments add, and goes where it goes.
///
/// Least clearances are exact to 0.1 mm for the surfaces given; those carry the survey's uncertainty,
/// which is told beside. Past 15 mm no clearance is told.
#[must_use]
pub fn prove(
    (panel, joints): (&Panel, &TriMesh),
    survey: &Survey,
    [body, tray]: [Surface<'_>; 2],
    options: &PanelOptions,
    removal: &RemovalOptions,
    watch: &Progress,
) -> RemovalProof {
    watch.tell("taking the tray off", 0.0);
    // What is laid over a tucked lip stands between it and the skin; other tops meet the body bare.
    let overlay = options
        .changes
        .iter()
        .filter_map(|change| change.overlay_mm);
    let overlay_mm = match panel.top {
        Top::Tucked => overlay.fold(options.overlay_mm, f64::max),
        Top::Butted | Top::Lapped => 0.0,
    };
    let allowance_mm = 2.0 * options.paint_mm + overlay_mm;
    let scene = Scene::new((panel, joints), survey, [body, tray], options, allowance_mm);
    let mut course = Course::new(&scene, options.mount);
    let sizes = Sizes {
        drop: scene.drop_mm(),
        overlap: overlap(panel, survey),
    };
    let paths = if removal.paths.is_empty() {
        usual_paths(&sizes, removal.front)
    } else {
        removal.paths.clone()
    };
    course.leave_out_what_touches();
    watch.tell("taking the tray off", 0.2);
    // Some way nearly always fouls, so the other mount is made ready meanwhile.
    let (tried, other) = rayon::join(
        || {
            let sweep = |path: Path| {
                let (tightest, fouls) = course.sweep(&path);
                let trim_mm = if fouls { course.trim(&path) } else { None };
                (path, tightest, fouls, trim_mm)
            };
            let tried: Vec<_> = paths.into_par_iter().map(sweep).collect();
            tried
        },
        || {
            let mut other = Course::new(&scene, course.other_mount());
            other.leave_out_what_touches();
            other
        },
    );
    watch.tell("taking the tray off", 0.7);
    let paths: Vec<PathResult> = tried
        .into_par_iter()
        .map(|(path, tightest, fouls, trim_mm)| {
            let other_mount = if fouls && !other.fouls(&path) {
                OtherMount::Clears
            } else {
                OtherMount::FoulsToo
            };
            let outcome = if fouls {
                Outcome::Fouls {
                    trim_mm,
                    other_mount,
                }
            } else {
                Outcome::Clear
            };
            PathResult {
                path,
                tightest,
                outcome,
            }
        })
        .collect();
    let best = choose(&paths);
    let mut proof = RemovalProof {
        mount: options.mount,
        best,
        paths,
        allowance_mm,
        let_down_mm: course.let_down_mm(),
        left_out: course.left_out(),
        findings: Vec::new(),
    };
    proof
        .findings
        .extend(touching(scene.touching(), survey.spine.length()));
    proof
        .findings
        .extend(scene.joint_in_body.map(joint_finding));
    proof.findings.extend(findings(&proof));
    watch.tell("taking the tray off", 1.0);
    proof
}

/// How far the panel's top reaches up past the edge (mm).
fn overlap(panel: &Panel, survey: &Survey) -> f64 {
    let mut most = f64::NEG_INFINITY;
    for section in &panel.sections {
        let near = |a: f64, b: f64| (a - section.s).abs().total_cmp(&(b - section.s).abs());
        let station = survey.stations.iter().min_by(|a, b| near(a.s, b.s));
        let top = section
            .outline
            .iter()
            .map(|p| p.y)
            .fold(f64::NEG_INFINITY, f64::max);
        if let Some(station) = station {
            most = most.max(top - station.edge.z);
        }
    }
    most
}

/// Where the panel touches the body at rest nothing can be said about coming off.
fn touching(found: Option<(usize, f64)>, length_mm: f64) -> Option<Finding> {
    let (stretches, station_mm) = found?;
    let touching_mm = (10 * stretches) as f64;
    let what = format!(
        "before anything moves the panel touches the body's scan over {touching_mm:.0} mm of its length; \
         there the proof that the tray comes off says nothing"
    );
    let finding = if touching_mm > MOST_TOUCHING * length_mm {
        Finding::warning(
            "removal-touching",
            what,
            "see how the panel fits there first; more clearance_mm, a thicker seal or a better scan helps",
        )
    } else {
        Finding::note("removal-touching", what)
    };
    Some(finding.at(station_mm).size(touching_mm))
}

/// A joint that stands in the body is no matter of coming off, but it is seen here.
fn joint_finding((station_mm, at): (f64, Point3)) -> Finding {
    Finding::warning(
        "joint-meets-body",
        format!(
            "the back of a joint meets the body's scan {:.0} mm above the tray",
            at.z
        ),
        "keep cuts away from there with a [[cut]] that has how = \"forbid\", or ask for another joint under [printer]",
    )
    .at(station_mm)
}

fn choose(paths: &[PathResult]) -> Option<usize> {
    let room = |path: &PathResult| path.tightest.map_or(WITHIN_MM, |t| t.mm);
    let mut best: Option<usize> = None;
    for (k, path) in paths.iter().enumerate() {
        let better = match best.and_then(|b| paths.get(b)) {
            None => true,
            Some(held) => match (held.outcome, path.outcome) {
                (Outcome::Clear, Outcome::Clear) => room(path) > room(held) + ALIKE_MM,
                (Outcome::Clear, _) => false,
                (_, Outcome::Clear) => true,
                (Outcome::Fouls { trim_mm: a, .. }, Outcome::Fouls { trim_mm: b, .. }) => {
                    b.unwrap_or(f64::INFINITY) < a.unwrap_or(f64::INFINITY)
                }
            },
        };
        if better {
            best = Some(k);
        }
    }
    best
}

fn findings(proof: &RemovalProof) -> Vec<Finding> {
    let mut findings = Vec::new();
    if proof.left_out > 0 {
        findings.push(Finding::note(
            "removal-left-out",
            format!(
                "the tray's scan touches what stands at {} places before it moves; these were left out \
                 of the proof that it comes off",
                proof.left_out
            ),
        ));
    }
    let Some(best) = proof.best_path() else {
        return findings;
    };
    let name = &best.path.name;
    let mount = match proof.mount {
        Mount::Tray => "tray and panel come",
        Mount::Body => "the tray comes",
    };
    match (best.outcome, best.tightest) {
        (Outcome::Clear, None) => findings.push(Finding::note(
            "removal-clear",
            format!("{mount} off {name}, with more than {WITHIN_MM:.0} mm of room"),
        )),
        (Outcome::Clear, Some(tightest)) if tightest.moment.is_start() => findings.push(
            Finding::note(
                "removal-clear",
                format!("{mount} off {name}, nowhere with less room than where they sit"),
            )
            .at(tightest.station_mm)
            .size(tightest.mm),
        ),
        (Outcome::Clear, Some(tightest)) if tightest.mm < 2.0 * tightest.sigma_mm => {
            findings.push(
                Finding::warning(
                    "removal-tight",
                    format!(
                        "{mount} off {name}, but with {:.1} mm of room where the survey is sure to {:.1} mm",
                        tightest.mm,
                        2.0 * tightest.sigma_mm
                    ),
                    "try it with a coupon at that station before the long print, or ask for more clearance_mm or a thicker seal",
                )
                .at(tightest.station_mm)
                .size(tightest.mm),
            );
        }
        (Outcome::Clear, Some(tightest)) => findings.push(
            Finding::note(
                "removal-clear",
                format!(
                    "{mount} off {name}, with {:.1} mm of room at the tightest",
                    tightest.mm
                ),
            )
            .at(tightest.station_mm)
            .size(tightest.mm),
        ),
        (
            Outcome::Fouls {
                trim_mm,
                other_mount,
            },
            tightest,
        ) => {
            findings.push(fouled(proof, trim_mm, other_mount, tightest));
        }
    }
    findings
}

fn fouled(
    proof: &RemovalProof,
    trim_mm: Option<f64>,
    other_mount: OtherMount,
    tightest: Option<Tightest>,
) -> Finding {
    let best = proof.best_path();
    let name = best.map_or("", |best| best.path.name.as_str());
    let what = match tightest {
        Some(t) => format!(
            "the tray does not come off on any way tried; {name}, the {} meets the {} {}",
            t.parts[0].word(),
            t.parts[1].word(),
            best.map_or_else(String::new, |best| when(&best.path, t.moment))
        ),
        None => format!("the tray does not come off on any way tried, nor {name}"),
    };
    let other = match proof.mount {
        Mount::Tray => "body",
        Mount::Body => "tray",
    };
    let any_other = other_mount == OtherMount::Clears
        || proof.paths.iter().any(|path| {
            matches!(
                path.outcome,
                Outcome::Fouls {
                    other_mount: OtherMount::Clears,
                    ..
                }
            )
        });
    let mut ways = Vec::new();
    if let Some(mm) = trim_mm {
        ways.push(format!("take {mm:.1} mm off the panel's top all along"));
    }
    if any_other {
        ways.push(format!(
            "fix the panel to the {other} (mount = \"{other}\")"
        ));
    }
    ways.push("name another way under [[move]]".to_owned());
    let mut finding = Finding::warning("removal-fouls", what, ways.join(", or "));
    if let Some(t) = tightest {
        finding = finding.at(t.station_mm);
    }
    if let Some(mm) = trim_mm {
        finding = finding.size(mm);
    }
    finding
}

/// A moment in words.
#[must_use]
pub fn when(path: &Path, moment: Moment) -> String {
    if moment.is_start() {
        return "before it moves".to_owned();
    }
    let done = path.moves.get(moment.step).map(Move::words);
    format!(
        "{:.0} % into move {} ({})",
        100.0 * moment.share,
        moment.step + 1,
        done.unwrap_or_default()
    )
}
