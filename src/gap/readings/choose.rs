//! Which lengths and gaps to read: few, where a hand reaches and where they tell most.

use super::{Check, CheckKind, Instrument, Ruler, predict};
use crate::gap::{Obstacle, Quality, Station, Survey};

/// One gap reading for so much of the edge (mm), but no fewer and no more than these.
const EDGE_PER_GAP: f64 = 200.0;
const FEWEST_GAPS: usize = 6;
const MOST_GAPS: usize = 10;
/// The outermost readings lie this far in from the ends (mm): at an end itself a scan is rounded.
const FROM_END: f64 = 15.0;
/// Nothing that changes the gap within this reach of a reading (mm).
const CLEAR: f64 = 12.0;
/// The gap changes no more than this over that reach (mm): a step, a notch or a steep rise is no place
/// for a caliper.
const STEEPEST_CHANGE: f64 = 2.0;

/// The field checks of a survey: lengths for its scale, then gaps for its height and tilt, from the left.
/// Empty for a survey without length. `spacing` is the edge length of the body's scan (mm).
#[must_use]
pub fn choose_checks(survey: &Survey, spacing: f64) -> Vec<Check> {
    let Some(ruler) = Ruler::new(survey, spacing) else {
        return Vec::new();
    };
    let whole = ruler.length();
    let check = |name: String, kind, with, at: f64, to: Option<f64>| {
        let prediction = predict(&ruler, kind, with, at, to.unwrap_or(at));
        Check {
            name,
            kind,
            instrument: with,
            at,
            to,
            s: ruler.at(at).s,
            predicted: prediction.value,
            tolerance: 2.0 * prediction.sigma(),
        }
    };
    let lengths = [
        (CheckKind::Along, 0.0, whole),
        (CheckKind::Straight, 0.0, whole),
        (CheckKind::Straight, 0.0, 0.5 * whole),
        (CheckKind::Straight, 0.5 * whole, whole),
    ];
    let mut checks: Vec<Check> = lengths
        .into_iter()
        .enumerate()
        .map(|(i, (kind, at, to))| {
            check(format!("L{}", i + 1), kind, Instrument::Tape, at, Some(to))
        })
        .collect();
    let gaps = choose_gaps(survey, &ruler);
    checks.extend(gaps.into_iter().enumerate().map(|(i, at)| {
        // A soft tape is laid out to whole millimetres.
        let at = at.round().clamp(0.0, whole);
        check(
            format!("G{}", i + 1),
            CheckKind::Gap,
            Instrument::Caliper,
            at,
            None,
        )
    }));
    checks
}

/// How far what is left open over a fitted panel may be from what was meant (mm): a seal takes that much.
/// Common practice, no source.
pub(super) const FITTED_TOLERANCE: f64 = 0.5;

/// The same places once more, for what is left between the fitted panel and the edge. `left_open` says
/// what was meant there (mm) at an arc length.
#[must_use]
pub fn fitted_checks(checks: &[Check], left_open: impl Fn(f64) -> Option<f64>) -> Vec<Check> {
    checks
        .iter()
        .filter(|c| c.kind == CheckKind::Gap)
        .enumerate()
        .filter_map(|(i, c)| {
            Some(Check {
                name: format!("F{}", i + 1),
                kind: CheckKind::Fitted,
                instrument: Instrument::Gauge,
                predicted: left_open(c.s)?,
                tolerance: FITTED_TOLERANCE,
                ..c.clone()
            })
        })
        .collect()
}

/// Places of the gap readings along the edge (mm), from the left.
fn choose_gaps(survey: &Survey, ruler: &Ruler<'_>) -> Vec<f64> {
    let whole = ruler.length();
    let wanted = ((whole / EDGE_PER_GAP).round() as usize).clamp(FEWEST_GAPS, MOST_GAPS);
    let candidates = find_candidates(survey, ruler, wanted);
    let apart = whole / (2.5 * wanted as f64);
    let mut chosen: Vec<f64> = Vec::new();
    let take = |at: Option<f64>, chosen: &mut Vec<f64>| {
        if let Some(at) = at
            && chosen.len() < wanted
            && chosen.iter().all(|c| (c - at).abs() >= apart)
        {
            chosen.push(at);
        }
    };
    let by_gap = |a: &&(f64, &Station), b: &&(f64, &Station)| a.1.gap.total_cmp(&b.1.gap);
    take(candidates.first().map(|c| c.0), &mut chosen);
    take(candidates.last().map(|c| c.0), &mut chosen);
    take(candidates.iter().min_by(by_gap).map(|c| c.0), &mut chosen);
    take(candidates.iter().max_by(by_gap).map(|c| c.0), &mut chosen);
    // Then always the place farthest from all readings so far: they spread over the edge.
    while chosen.len() < wanted {
        let farthest = candidates
            .iter()
            .map(|c| {
                let d = chosen.iter().map(|o| (o - c.0).abs());
                (c.0, d.fold(f64::INFINITY, f64::min))
            })
            .max_by(|a, b| a.1.total_cmp(&b.1));
        match farthest {
            Some((at, d)) if d >= apart.min(CLEAR) && d > 0.0 => chosen.push(at),
            _ => break,
        }
    }
    chosen.sort_by(f64::total_cmp);
    chosen
}

/// Stations fit for a reading with their distance along the edge. What is asked of them is let down
/// by steps where too few are left.
fn find_candidates<'a>(
    survey: &'a Survey,
    ruler: &Ruler<'_>,
    wanted: usize,
) -> Vec<(f64, &'a Station)> {
    let whole = ruler.length();
    let end = FROM_END.min(0.1 * whole);
    let all: Vec<(f64, &Station)> = survey
        .stations
        .iter()
        .enumerate()
        .map(|(i, st)| (ruler.at_index(i), st))
        .filter(|(at, st)| *at >= end && *at <= whole - end && st.gap > 0.0)
        .collect();
    let calm = |at: f64| {
        let here = ruler.at(at).gap;
        [-CLEAR, CLEAR]
            .iter()
            .all(|d| (ruler.at(at + d).gap - here).abs() <= STEEPEST_CHANGE)
    };
    let free = |st: &Station| !survey.obstacles.iter().any(|o| is_beside(o, survey, st));
    let unhidden = |st: &Station| st.quality != Quality::Bridged;
    let fits = |level: u8, at: f64, st: &Station| match level {
        0 => st.quality == Quality::Good && calm(at) && free(st),
        1 => unhidden(st) && calm(at) && free(st),
        _ => unhidden(st),
    };
    for level in 0..3 {
        let fit: Vec<(f64, &Station)> = all
            .iter()
            .filter(|(at, st)| fits(level, *at, st))
            .copied()
            .collect();
        let spread = fit.last().zip(fit.first()).map_or(0.0, |(b, a)| b.0 - a.0);
        if fit.len() >= wanted && spread > 0.5 * whole {
            return fit;
        }
    }
    all
}

/// Whether an obstacle stands where the gap is read.
fn is_beside(obstacle: &Obstacle, survey: &Survey, st: &Station) -> bool {
    let across = survey.spine.frame_at(st.s).to_section(st.tray).x;
    st.s >= obstacle.along[0] - CLEAR
        && st.s <= obstacle.along[1] + CLEAR
        && across >= obstacle.across[0] - CLEAR
        && across <= obstacle.across[1] + CLEAR
}

/// The station (arc length along the spine, mm) at which a trial piece tells most, clear of the ends
/// by `clear` mm: where least is known, or where that is the same all along, where the gap changes
/// fastest.
#[must_use]
pub fn find_worst(survey: &Survey, clear: f64) -> Option<f64> {
    let length = survey.spine.length();
    let inner: Vec<&Station> = survey
        .stations
        .iter()
        .filter(|st| st.s >= clear && st.s <= length - clear)
        .collect();
    let mut sigmas: Vec<f64> = inner.iter().map(|st| st.sigma).collect();
    sigmas.sort_by(f64::total_cmp);
    let (median, most) = (*sigmas.get(sigmas.len() / 2)?, *sigmas.last()?);
    if most > 1.1 * median {
        let worst: Vec<f64> = inner
            .iter()
            .filter(|st| st.sigma >= most - 1e-9)
            .map(|st| st.s)
            .collect();
        return worst.get(worst.len() / 2).copied();
    }
    inner
        .windows(3)
        .map(|w| (w[1].s, (w[2].gap - w[0].gap).abs()))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|w| w.0)
}
