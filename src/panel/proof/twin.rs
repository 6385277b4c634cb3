//! Does the mirror image fit the vehicle's other side? Answers it from that side's own survey.
//!
//! No vehicle is its own mirror image. The other side's survey is mirrored into this side's frame and laid on
//! this side's edge in plan, for the two were scanned and set up apart. Up and down nothing is moved: both
//! frames stand on their own tray. Then the panel is set under that edge and down on that tray, as it is on
//! its own side.

use super::fit::{Finished, meant};
use crate::diag::Finding;
use crate::gap::Survey;
use crate::gap::seal::SHARE;
use crate::math::locator::Locator;
use crate::math::robust::{biweight, sigma_about_zero};
use crate::math::{Point2, Spine, Vector2, Vector3};
use crate::panel::foot::tray_height;
use crate::panel::profile::Profile;
use crate::panel::{Panel, PanelOptions, Top};

/// Rounds of laying one edge on the other.
const ROUNDS: usize = 12;
/// What the middle between both ends weighs, as a share of all stations: it decides where a straight edge lies
/// along itself, and hardly does where a bend does.
const ENDS_SHARE: f64 = 0.1;
/// Edges further apart than this are not of one shape (mm).
const REACH_MM: f64 = 250.0;
/// Ends that differ by more than this are told (mm). Common practice, no source.
const LONGER_MM: f64 = 10.0;

/// What the twin leaves on the other side at one station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwinAt {
    /// Arc length along the twin's spine (mm).
    pub s: f64,
    /// Clear height over its top (mm), negative where it overlaps.
    pub left_mm: f64,
    /// What of it seal or lap do not take up (mm); negative where there is too little room.
    pub residual_mm: f64,
    /// How much further outward that side's edge stands than this side's (mm).
    pub aside_mm: f64,
    /// Standard uncertainty of that side's gap (mm).
    pub sigma_mm: f64,
}

/// The twin on the other side.
#[derive(Debug, Clone, PartialEq)]
pub struct TwinFit {
    /// At each station within the twin and that side's survey, in order along the twin.
    pub stations: Vec<TwinAt>,
    /// Share of them at which seal or lap take up what is left.
    pub covered: f64,
    /// Share of them at which the top stands where it should, across the gap.
    pub under: f64,
    /// How far aside an edge may stand (mm).
    pub aside_limit_mm: f64,
    /// How much longer that side's edge is than this side's (mm).
    pub longer_mm: f64,
    /// What is to be looked at.
    pub findings: Vec<Finding>,
}

/// From the mirrored frame of the other side to this side's: a turn (rad), then a shift (mm), in plan.
#[derive(Debug, Clone, Copy, Default)]
struct Laid {
    turn: f64,
    shift: Vector2,
}

impl Laid {
    fn onto(&self, p: Point2) -> Point2 {
        nalgebra::Rotation2::new(self.turn) * p + self.shift
    }

    fn back(&self, p: Point2) -> Point2 {
        nalgebra::Rotation2::new(-self.turn) * (p - self.shift)
    }
}

fn mirrored(p: Point2) -> Point2 {
    Point2::new(p.x, -p.y)
}

/// Holds the mirror image of `panel`, which was designed along `survey`, against the other side's survey.
#[must_use]
pub fn hold(panel: &Panel, survey: &Survey, other: &Survey, options: &PanelOptions) -> TwinFit {
    try_hold(panel, survey, other, options).unwrap_or_else(|| TwinFit {
        stations: Vec::new(),
        covered: 0.0,
        under: 0.0,
        aside_limit_mm: 0.0,
        longer_mm: other.spine.length() - survey.spine.length(),
        findings: vec![Finding::warning(
            "twin-unlike",
            "other side: its edge has nothing in common with this side's mirror image",
            "check that twin_job under [panel] names the other side's job",
        )],
    })
}

/// `None` where the two edges have nothing in common.
fn try_hold(
    panel: &Panel,
    survey: &Survey,
    other: &Survey,
    options: &PanelOptions,
) -> Option<TwinFit> {
    let length = survey.spine.length();
    let locator = Locator::new(&survey.spine, REACH_MM, REACH_MM);
    let here = survey.stations.iter().map(|station| {
        let frame = survey.spine.frame_at(station.s);
        (station.s, frame.to_section(station.edge).x)
    });
    let edge_x = profile(here)?;
    let laid = lay(survey, other, &edge_x, &locator)?;
    let seen: Vec<(f64, f64, f64, f64)> = other
        .stations
        .iter()
        .filter_map(|station| {
            let (s, x) = locator.locate(laid.onto(mirrored(station.edge.xy())))?;
            Some((s, x, station.edge.z, station.sigma))
        })
        .collect();
    let [x, z, sigma] = [
        profile(seen.iter().map(|p| (p.0, p.1)))?,
        profile(seen.iter().map(|p| (p.0, p.2)))?,
        profile(seen.iter().map(|p| (p.0, p.3)))?,
    ];
    let along = seen.iter().map(|p| p.0);
    let [first, last] = along.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], s| {
        [a.min(s), b.max(s)]
    });
    let room = options.room(survey.edge_kind);
    let mut stations: Vec<TwinAt> = survey
        .stations
        .iter()
        .filter(|station| station.s >= first && station.s <= last)
        .filter_map(|station| {
            let s = station.s;
            let finished = Finished::at(panel, options, s)?;
            let foot = *finished.underside.last()?;
            let at = survey.spine.frame_at(s).to_shop(foot);
            let rises = tray_under(other, mirrored(laid.back(at.xy()))) - foot.y;
            let left_mm =
                (z.at(s) - finished.knee.y - rises) * station.tray_normal.z - options.paint_mm;
            Some(TwinAt {
                s: length - s,
                left_mm,
                residual_mm: room.residual(left_mm - meant(panel.top, options)),
                aside_mm: x.at(s) - edge_x.at(s),
                sigma_mm: sigma.at(s),
            })
        })
        .collect();
    stations.reverse();
    stations.first()?;
    let aside_limit_mm = match panel.top {
        // The seal's land still stands under the edge.
        Top::Butted => 0.5 * options.wall_top_mm.unwrap_or(options.wall_mm),
        Top::Tucked | Top::Lapped => options.clearance_mm,
    };
    let share = |of: &dyn Fn(&TwinAt) -> bool| {
        stations.iter().filter(|at| of(at)).count() as f64 / stations.len().max(1) as f64
    };
    let (covered, under) = (
        share(&|at| at.residual_mm == 0.0),
        share(&|at| at.aside_mm.abs() <= aside_limit_mm),
    );
    let mut fit = TwinFit {
        covered,
        under,
        aside_limit_mm,
        longer_mm: last - first - length,
        stations,
        findings: Vec::new(),
    };
    fit.findings = judge(&fit, survey.edge_kind == other.edge_kind);
    Some(fit)
}

/// Values by arc length, in rising order.
fn profile(pairs: impl Iterator<Item = (f64, f64)>) -> Option<Profile> {
    let mut pairs: Vec<(f64, f64)> = pairs
        .filter(|p| p.0.is_finite() && p.1.is_finite())
        .collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    pairs.dedup_by(|b, a| b.0 - a.0 < 0.1);
    (pairs.len() > 1).then(|| {
        Profile::new(
            pairs.iter().map(|p| p.0).collect(),
            pairs.iter().map(|p| p.1).collect(),
        )
    })
}

/// Height of the other side's tray at a place in its own frame (mm).
fn tray_under(other: &Survey, at: Point2) -> f64 {
    let (s, x) = other.spine.locate(at);
    tray_height(&other.tray, s, x)
}

/// Lays the other side's mirrored edge on this side's: least squares of the distances across, weighed so that
/// what is off by itself does not count (Tukey's biweight), in rounds.
fn lay(survey: &Survey, other: &Survey, edge_x: &Profile, locator: &Locator) -> Option<Laid> {
    let points: Vec<Point2> = (other.stations.iter())
        .map(|station| mirrored(station.edge.xy()))
        .collect();
    let spine: &Spine = &survey.spine;
    let length = spine.length();
    let mut laid = Laid::default();
    for _ in 0..ROUNDS {
        let off: Vec<(Point2, Vector3, f64)> = points
            .iter()
            .map(|p| laid.onto(*p))
            .filter_map(|q| {
                let (s, x) = locator.locate(q)?;
                let inside = s >= 0.0 && s <= length;
                inside.then(|| (q, spine.outward_at(s), edge_x.at(s) - x))
            })
            .collect();
        if 2 * off.len() < points.len() {
            return None;
        }
        let mut sizes: Vec<f64> = off.iter().map(|row| row.2).collect();
        let sigma = sigma_about_zero(&mut sizes)?.max(0.5);
        let mut m = nalgebra::Matrix3::zeros();
        let mut r = nalgebra::Vector3::zeros();
        let mut add = |q: Point2, way: Vector3, off: f64, weight: f64| {
            let row = nalgebra::Vector3::new(way.x, way.y, way.y * q.x - way.x * q.y);
            m += weight * row * row.transpose();
            r += weight * off * row;
        };
        for (q, way, off) in &off {
            add(*q, *way, *off, biweight(off / sigma));
        }
        let ends = [points.first()?, points.last()?].map(|p| spine.locate(laid.onto(*p)).0);
        let middle = 0.5 * (ends[0] + ends[1]);
        let frame = spine.frame_at(0.5 * length);
        let weight = ENDS_SHARE * off.len() as f64;
        add(
            frame.origin.xy(),
            frame.along,
            0.5 * length - middle,
            weight,
        );
        let step = m.cholesky()?.solve(&r);
        let turn = nalgebra::Rotation2::new(step.z);
        laid = Laid {
            turn: laid.turn + step.z,
            shift: turn * laid.shift + Vector2::new(step.x, step.y),
        };
    }
    Some(laid)
}

fn judge(fit: &TwinFit, same_kind: bool) -> Vec<Finding> {
    let mut findings = Vec::new();
    let hint = "make that side's own panel: run make with its job";
    if !same_kind {
        findings.push(Finding::warning(
            "twin-edge",
            "other side: its edge is of another kind, cut here and rolled there, or the other way about",
            hint,
        ));
    }
    let worst = |of: &dyn Fn(&TwinAt) -> f64| {
        let all = fit.stations.iter().map(|at| (of(at), at.s));
        all.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
    };
    let mut tell = |share: f64, worst: Option<(f64, f64)>, what: &dyn Fn(f64) -> String| {
        if let Some((mm, s)) = worst.filter(|_| share < SHARE) {
            findings.push(
                Finding::warning(
                    "twin-off",
                    format!(
                        "other side: the twin fits along {:.0} % of that side's survey only; at worst {}",
                        100.0 * share,
                        what(mm)
                    ),
                    hint,
                )
                .at(s)
                .size(mm.abs()),
            );
        }
    };
    tell(fit.covered, worst(&|at| at.residual_mm), &|mm| {
        let what = if mm > 0.0 { "left open" } else { "too high" };
        format!("it is {what} by {:.1} mm", mm.abs())
    });
    tell(fit.under, worst(&|at| at.aside_mm), &|mm| {
        let way = if mm > 0.0 { "outward" } else { "inboard" };
        format!("the edge stands {:.1} mm further {way} there", mm.abs())
    });
    if fit.longer_mm.abs() > LONGER_MM {
        let word = if fit.longer_mm > 0.0 {
            "longer"
        } else {
            "shorter"
        };
        findings.push(
            Finding::warning(
                "twin-length",
                format!("other side: its edge is {:.0} mm {word} than this side's", fit.longer_mm.abs()),
                "look whether both were scanned to their ends; trim the twin, or make that side's own panel",
            )
            .size(fit.longer_mm.abs()),
        );
    }
    if findings.is_empty() {
        findings.push(Finding::note(
            "twin-fits",
            format!(
                "other side: the twin fits along {:.0} % of that side's own survey",
                100.0 * fit.covered.min(fit.under)
            ),
        ));
    }
    findings
}
