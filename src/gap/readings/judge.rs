//! What readings say about a survey: go, shim or rescan.

use super::fit::{Fit, Height, Model, Point, Scale, fit};
use super::local::find_local;
use super::{Check, CheckKind, Correction, Reading, Ruler, predict};
use crate::diag::Problem;
use crate::gap::Survey;
use crate::gap::seal::{Footing, Room, needed_room};
use crate::math::chi_square::upper_tail;
use crate::scan::Unit;
use thiserror::Error;

/// The three answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The readings agree with the survey, and what they differ by as a whole is taken up.
    Go,
    /// One constant or linear correction, with a scale, explains them or brings the fit within what the
    /// seal or lip takes up.
    Shim,
    /// No such correction explains them.
    Rescan,
}

impl Verdict {
    /// As files and pages write it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Go => "go",
            Self::Shim => "shim",
            Self::Rescan => "rescan",
        }
    }
}

/// Why readings cannot be judged.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ReadingFault {
    /// There is none.
    #[error("no reading is filled in")]
    None,
    /// The survey has no length.
    #[error("the survey has no stations to hold readings to")]
    NoSurvey,
    /// A place beyond the edge.
    #[error("{name} is read at {at:.0} mm, and the edge runs from 0 to {length:.0} mm")]
    OffTheGap {
        /// The reading.
        name: String,
        /// Its place (mm).
        at: f64,
        /// Length of the edge (mm).
        length: f64,
    },
    /// A length from a place to itself.
    #[error("{name} is a length, and begins where it ends")]
    NoLength {
        /// The reading.
        name: String,
    },
    /// A reading after fitting, without what was meant there.
    #[error("{name} is read on the fitted panel, and nothing says what was meant there")]
    NothingMeant {
        /// The reading.
        name: String,
    },
    /// A value that is no length.
    #[error("{name} reads {value} mm")]
    NotPositive {
        /// The reading.
        name: String,
        /// Its value (mm).
        value: f64,
    },
    /// A value in another unit.
    #[error(
        "{names} looks like a reading in {unit}: {value} where the survey says {predicted:.1} mm"
    )]
    OtherUnit {
        /// The readings.
        names: String,
        /// The unit's name.
        unit: &'static str,
        /// The first such value.
        value: f64,
        /// What the survey says (mm).
        predicted: f64,
    },
}

impl From<ReadingFault> for Problem {
    fn from(fault: ReadingFault) -> Self {
        let hint = match &fault {
            ReadingFault::None => {
                "take the readings on the vehicle and write them in the column reading_mm"
            }
            ReadingFault::NoSurvey => "scan again; `gapwright measure` says what is missing",
            ReadingFault::OffTheGap { .. } => {
                "places are millimetres along the edge from its left end, seen by someone who faces the vehicle"
            }
            ReadingFault::NoLength { .. } => "write where it ends in the column to_mm",
            ReadingFault::NothingMeant { .. } => {
                "use the readings.csv of `gapwright make`, and keep its column predicted_mm"
            }
            ReadingFault::NotPositive { .. } => {
                "write the reading in millimetres, or leave it blank"
            }
            ReadingFault::OtherUnit { .. } => "write every reading in millimetres",
        };
        Problem::new(fault.to_string(), hint)
    }
}

/// A chi-square test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Test {
    /// Sum of squares, each in standard uncertainties.
    pub chi_square: f64,
    /// Readings less parameters.
    pub degrees: usize,
    /// Share of such sums that are larger by chance.
    pub p: f64,
}

/// A reading held to the survey.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The reading.
    pub reading: Reading,
    /// What the survey says (mm).
    pub predicted: f64,
    /// Two standard uncertainties of the difference (mm).
    pub tolerance: f64,
    /// Reading less prediction once corrected (mm).
    pub left_over: f64,
}

/// The answer and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// The answer.
    pub verdict: Verdict,
    /// The readings of lengths and gaps, in the order given.
    pub held: Vec<Held>,
    /// The test without any correction.
    pub before: Test,
    /// The test with the correction.
    pub after: Test,
    /// What explains the readings best; [`Correction::NONE`] where none is needed.
    pub correction: Correction,
    /// Standard uncertainty of its scale, left and right.
    pub doubt: [f64; 3],
    /// What the seal or lip takes up on the side it is wanted, and what of that goes to what changes along
    /// the edge (mm), where the readings agree with the survey and the correction is for the seal's sake.
    pub taken_up: Option<[f64; 2]>,
    /// How well the lengths read know the scale: two standard uncertainties of it, where there are two.
    pub scale_known: Option<f64>,
    /// Half of what the seal or lip takes up, and what 95 % of the edge needs of that between the readings
    /// (mm), where that is more: no reading mends it.
    pub wanders: Option<[f64; 2]>,
    /// What a rescan should cover: first and last distance along the edge (mm).
    pub stretch: Option<[f64; 2]>,
    /// Readings that no correction explains.
    pub odd: Vec<String>,
    /// What the seal or lip takes up either way (mm), where the survey knows no better than the odd readings
    /// but no packing brings them within that.
    pub local: Option<f64>,
    /// How many gaps were read.
    pub gaps: usize,
    /// What more readings would have been needed for.
    pub unsupported: Vec<&'static str>,
}

/// Tests are made at this level.
const LEVEL: f64 = 0.05;
/// A parameter is worth its place if the sum of squares falls by this much: the upper 5 % point of
/// chi-square with one degree of freedom.
const WORTH: f64 = 3.841;
/// Lengths that fit another scale this much better show it, however well they agree with the survey one by
/// one: the upper 1 % point of chi-square with one degree of freedom.
const CERTAIN: f64 = 6.635;
/// A reading this many standard uncertainties off is odd, and no verdict but a rescan lets it through.
const ODD: f64 = 3.0;

/// Holds readings of lengths and gaps to a survey. Other kinds of reading are left out. `spacing` is the
/// edge length of the body's scan (mm).
///
/// Where the readings agree with the survey, but show it to be off as a whole by more than `room` takes up,
/// the answer is to shim: a survey that is known to 2 mm agrees with readings 1.5 mm off, and a seal that
/// takes up 0.9 mm does not. Where one gap or a few are off by more than that and packing cannot follow, the
/// answer is to read and scan again.
///
/// The correction with the fewest parameters that the readings support and need is chosen; the sum of
/// squares after it is held against chi-square (GUM, ISO/IEC Guide 98-3, for the uncertainties).
///
/// # Errors
/// [`ReadingFault`] where a reading cannot be about this survey, or there is none.
pub fn judge(
    survey: &Survey,
    spacing: f64,
    readings: &[Reading],
    room: Room,
) -> Result<Judgement, ReadingFault> {
    let ruler = Ruler::new(survey, spacing).ok_or(ReadingFault::NoSurvey)?;
    let used: Vec<&Reading> = readings
        .iter()
        .filter(|r| r.kind != CheckKind::Fitted)
        .collect();
    if used.is_empty() {
        return Err(ReadingFault::None);
    }
    let length = survey.spine.length().max(1e-9);
    let mut points = Vec::with_capacity(used.len());
    for reading in &used {
        check_place(reading, &ruler)?;
        let to = reading.to.unwrap_or(reading.at);
        let prediction = predict(&ruler, reading.kind, reading.instrument, reading.at, to);
        let share = ruler.at(reading.at).s / length;
        points.push(Point::new(reading.kind, share, &prediction, reading.value));
    }
    check_units(&used, &points)?;
    let none = fit(Model::NONE, &points).ok_or(ReadingFault::None)?;
    let before = test(&none, points.len());
    let as_it_is = before.p >= LEVEL && is_calm(&none) && !is_scale_off(&none, &points);
    let needs = needed_room(&survey.stations, Footing::Readings).unwrap_or(0.0);
    let mut best = match as_it_is {
        true => none,
        false => choose(none, &points),
    };
    let explains = |fit: &Fit, points: &[Point]| test(fit, points.len()).p >= LEVEL && is_calm(fit);
    let holds = as_it_is || (best.parameters > 0 && explains(&best, &points));
    let sharp: Vec<Point> = points.iter().map(Point::sharp).collect();
    let scaled = best.correction.scale != 1.0;
    let local = match holds {
        true => find_local(&sharp, room, scaled),
        false => Vec::new(),
    };
    let mut taken_up = None;
    // A height that was found already is taken out; a scale alone leaves the height to the seal.
    if holds
        && local.is_empty()
        && best.correction.added(0.0) == 0.0
        && best.correction.added(1.0) == 0.0
        && let Some((found, room)) = not_taken_up(&sharp, (room, needs), scaled)
    {
        (best, taken_up, points) = (found, Some(room), sharp);
    }
    let after = test(&best, points.len());
    let verdict = if !holds || !local.is_empty() {
        Verdict::Rescan
    } else if as_it_is && taken_up.is_none() {
        Verdict::Go
    } else {
        Verdict::Shim
    };
    let odd = match verdict {
        Verdict::Rescan if holds => local.clone(),
        Verdict::Rescan => find_odd(&best, &points),
        Verdict::Go | Verdict::Shim => Vec::new(),
    };
    let stretch = stretch_of(&odd, &points, &used, ruler.length());
    let odd = odd.iter().map(|&i| used[i].name.clone()).collect();
    let held = used
        .iter()
        .zip(&points)
        .zip(&best.left_over)
        .map(|((reading, point), left)| Held {
            reading: (*reading).clone(),
            predicted: point.predicted,
            tolerance: 2.0 * point.sigma(),
            left_over: left * point.sigma(),
        })
        .collect();
    Ok(Judgement {
        verdict,
        held,
        before,
        after,
        correction: best.correction,
        doubt: best.doubt,
        taken_up,
        scale_known: scale_known(&points),
        wanders: (needs > room.half()).then_some([room.half().max(0.0), needs]),
        stretch,
        odd,
        local: (!local.is_empty()).then_some(room.half().max(0.0)),
        gaps: points.iter().filter(|p| p.kind == CheckKind::Gap).count(),
        unsupported: find_unsupported(&points),
    })
}

fn check_place(reading: &Reading, ruler: &Ruler<'_>) -> Result<(), ReadingFault> {
    let name = reading.name.clone();
    // A soft tape and a scan agree on the last millimetres of an edge only so far.
    let slack = 1.0;
    let length = ruler.length();
    for at in std::iter::once(reading.at).chain(reading.to) {
        if !(at >= -slack && at <= length + slack) {
            return Err(ReadingFault::OffTheGap { name, at, length });
        }
    }
    if reading.kind != CheckKind::Gap && reading.to.is_none_or(|to| (to - reading.at).abs() < 1.0) {
        return Err(ReadingFault::NoLength { name });
    }
    if !(reading.value > 0.0 && reading.value.is_finite()) {
        let value = reading.value;
        return Err(ReadingFault::NotPositive { name, value });
    }
    Ok(())
}

/// Readings that would fit if they were in another unit. No survey is off by a factor of ten.
fn check_units(used: &[&Reading], points: &[Point]) -> Result<(), ReadingFault> {
    const UNITS: [Unit; 3] = [Unit::Inch, Unit::Centimetre, Unit::Metre];
    const NEAR: f64 = 0.25;
    for unit in UNITS {
        let factor = unit.millimetres();
        let such: Vec<(&Reading, &Point)> = used
            .iter()
            .zip(points)
            .filter(|(r, p)| (r.value * factor - p.predicted).abs() < NEAR * p.predicted)
            .map(|(r, p)| (*r, p))
            .collect();
        if let Some((first, point)) = such.first() {
            let names: Vec<&str> = such.iter().map(|(r, _)| r.name.as_str()).collect();
            return Err(ReadingFault::OtherUnit {
                names: names.join(", "),
                unit: unit.name(),
                value: first.value,
                predicted: point.predicted,
            });
        }
    }
    Ok(())
}

fn test(fit: &Fit, readings: usize) -> Test {
    let degrees = readings.saturating_sub(fit.parameters);
    Test {
        chi_square: fit.chi_square,
        degrees,
        p: upper_tail(fit.chi_square, degrees),
    }
}

fn is_calm(fit: &Fit) -> bool {
    fit.left_over.iter().all(|z| z.abs() <= ODD)
}

/// The model whose sum of squares is least once each parameter has been paid for.
fn choose(none: Fit, points: &[Point]) -> Fit {
    choose_of(|_| true, none, points)
}

/// Whether the lengths fit another scale so much better that chance does not do it. Each of them may agree
/// with the survey alone: how well they know the scale together is what counts.
fn is_scale_off(none: &Fit, points: &[Point]) -> bool {
    let scale = Model {
        scale: Scale::Fitted,
        height: Height::Kept,
    };
    let found = scale.is_supported(points).then(|| fit(scale, points));
    (found.flatten()).is_some_and(|found| none.chi_square - found.chi_square > CERTAIN)
}

pub(super) fn choose_of(allowed: impl Fn(&Model) -> bool, none: Fit, points: &[Point]) -> Fit {
    let cost = |f: &Fit| f.chi_square + WORTH * f.parameters as f64;
    Model::all()
        .filter(allowed)
        .filter(|m| m.parameters() > 0 && m.is_supported(points) && points.len() > m.parameters())
        .filter_map(|m| fit(m, points))
        .fold(
            none,
            |best, f| if cost(&f) < cost(&best) { f } else { best },
        )
}

/// What stands out: one reading without which all is explained, otherwise all that are far off.
fn find_odd(best: &Fit, points: &[Point]) -> Vec<usize> {
    let without = |i: usize| {
        let mut rest = points.to_vec();
        rest.remove(i);
        let none = fit(Model::NONE, &rest)?;
        let fit = choose(none, &rest);
        let test = test(&fit, rest.len());
        (test.degrees > 0 && test.p >= LEVEL && is_calm(&fit)).then_some((i, test.p))
    };
    let alone = (0..points.len())
        .filter_map(without)
        .max_by(|a, b| a.1.total_cmp(&b.1));
    match alone {
        Some((i, _)) => vec![i],
        None => {
            let worst = best.left_over.iter().map(|z| z.abs()).fold(0.0, f64::max);
            let limit = 2f64.min(worst);
            (0..points.len())
                .filter(|&i| best.left_over[i].abs() >= limit)
                .collect()
        }
    }
}

/// The stretch of the edge between the undisturbed neighbours of odd gaps.
fn stretch_of(odd: &[usize], points: &[Point], used: &[&Reading], length: f64) -> Option<[f64; 2]> {
    let gaps: Vec<f64> = odd
        .iter()
        .filter(|&&i| points[i].kind == CheckKind::Gap)
        .map(|&i| used[i].at)
        .collect();
    let least = gaps.iter().copied().fold(f64::INFINITY, f64::min);
    let most = gaps.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let calm = |i: &usize| points[*i].kind == CheckKind::Gap && !odd.contains(i);
    let around: Vec<f64> = (0..points.len()).filter(calm).map(|i| used[i].at).collect();
    (!gaps.is_empty()).then(|| {
        let before = around.iter().copied().filter(|a| *a < least);
        let after = around.iter().copied().filter(|a| *a > most);
        [before.fold(0.0, f64::max), after.fold(length, f64::min)]
    })
}

/// A height that readings show while they agree with the survey, its scale corrected or not, where it leaves more than the seal or
/// lip takes up on that side; what that is (mm), and what of it 95 % of the edge `needs` either way for what
/// changes along it.
fn not_taken_up(
    sharp: &[Point],
    (room, needs): (Room, f64),
    scaled: bool,
) -> Option<(Fit, [f64; 2])> {
    let height = Height::Kept;
    let scale = match scaled {
        true => Scale::Fitted,
        false => Scale::Kept,
    };
    let plain = Model { scale, height };
    let best = choose_of(|m: &Model| m.scale == scale, fit(plain, sharp)?, sharp);
    let off = (sharp.iter())
        .filter(|p| p.kind == CheckKind::Gap)
        .map(|p| best.correction.added(p.share))
        .max_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    let side = if off > 0.0 { room.opens } else { room.closes };
    // Where the rest alone needs more, packing helps only as far as the offset is worth it.
    let spent = needs.min(room.half()).max(0.0);
    let called_for = best.parameters > plain.parameters() && off.abs() + spent > side;
    called_for.then_some((best, [side.max(0.0), spent]))
}

/// Two standard uncertainties of a scale found from the lengths among these alone.
fn scale_known(points: &[Point]) -> Option<f64> {
    let scale = Model {
        scale: Scale::Fitted,
        height: Height::Kept,
    };
    let lengths = points.iter().filter(|p| p.kind != CheckKind::Gap);
    let lengths: Vec<Point> = lengths.copied().collect();
    let found = scale.is_supported(&lengths).then(|| fit(scale, &lengths))?;
    found.map(|f| 2.0 * f.doubt[0])
}

/// How well the scale would be known by the lengths among these checks, once they are read: two standard
/// uncertainties, as a share. `spacing` is the edge length of the body's scan (mm).
#[must_use]
pub fn scale_check(survey: &Survey, spacing: f64, checks: &[Check]) -> Option<f64> {
    let ruler = Ruler::new(survey, spacing)?;
    let points = checks.iter().map(|check| {
        let to = check.to.unwrap_or(check.at);
        let prediction = predict(&ruler, check.kind, check.instrument, check.at, to);
        Point::new(check.kind, 0.0, &prediction, prediction.value)
    });
    scale_known(&points.collect::<Vec<_>>())
}

fn find_unsupported(points: &[Point]) -> Vec<&'static str> {
    let asks = [
        (Scale::Fitted, Height::Kept, "scale: it takes two lengths"),
        (Scale::Kept, Height::Constant, "height: it takes two gaps"),
        (
            Scale::Kept,
            Height::Linear,
            "tilt: it takes four gaps over more than half of the edge",
        ),
    ];
    asks.into_iter()
        .filter(|&(scale, height, _)| !Model { scale, height }.is_supported(points))
        .map(|a| a.2)
        .collect()
}
