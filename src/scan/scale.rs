//! The scale of a scan from distances the maker measured on the vehicle.
//!
//! A least-squares factor over all distances, each weighted by what the picks and the tape are good for;
//! its standard uncertainty after the GUM (ISO/IEC Guide 98-3). A phone's scan is often off by half a
//! percent or more, which is 9 mm over 1.8 m, and one distance alone could be a slip of the tape.

use super::Unit;
use super::control::Part;
use crate::diag::{Finding, Problem};
use crate::math::Vector3;

/// A pick: the scan it was made in and its name.
pub type Pick = (Part, String);

/// A distance measured on the vehicle and seen in a scan.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    /// The two points' names, as in `left to right`.
    pub label: String,
    /// The picks at its ends. References that share a pick share its error.
    pub ends: [Pick; 2],
    /// Unit vector from the first end to the second, in the scan.
    pub way: Vector3,
    /// Length in the scan, in the unit it was read in (mm).
    pub seen_mm: f64,
    /// Length on the vehicle (mm).
    pub true_mm: f64,
}

/// A reference after the fit.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckedReference {
    /// The two points' names.
    pub label: String,
    /// Length on the vehicle (mm).
    pub true_mm: f64,
    /// Scaled length less the true one (mm).
    pub residual_mm: f64,
    /// The residual over its standard uncertainty.
    pub in_sigmas: f64,
}

/// A scale factor and how far it can be trusted.
#[derive(Debug, Clone, PartialEq)]
pub struct ScaleFit {
    /// What the scan's lengths are multiplied by.
    pub factor: f64,
    /// Standard uncertainty of the factor, widened where the references disagree.
    pub sigma: f64,
    /// The references with their residuals, in the order given.
    pub references: Vec<CheckedReference>,
}

/// Largest error allowed to a tape of class II, between two of its marks (mm): 0.3 + 0.2 L, with L in
/// whole metres rounded up (OIML R 35-1).
#[must_use]
pub fn tape_limit(length_mm: f64) -> f64 {
    0.3 + 0.2 * (length_mm / 1000.0).ceil().max(1.0)
}

/// The same where the length starts at the tape's end hook: 0.2 mm more (OIML R 35-1).
#[must_use]
pub fn tape_limit_from_hook(length_mm: f64) -> f64 {
    tape_limit(length_mm) + 0.2
}

/// Standard uncertainty of a tape's length (mm): the limit from the hook, taken as rectangular (GUM 4.3.7).
fn tape_sigma(length_mm: f64) -> f64 {
    tape_limit_from_hook(length_mm) / 3f64.sqrt()
}

/// Fits one factor to all references. `pick_sigma_mm` is the standard uncertainty of a picked point along
/// any direction. `None` for fewer than two references, or lengths that are not positive.
#[must_use]
pub fn fit_scale(references: &[Reference], pick_sigma_mm: f64) -> Option<ScaleFit> {
    let sound = |r: &Reference| r.seen_mm > 0.0 && r.true_mm > 0.0 && r.seen_mm.is_finite();
    if references.len() < 2 || !references.iter().all(sound) {
        return None;
    }
    // The picks are made in the scan, so their share grows with the factor: a second round settles it.
    let mut factor = 1.0;
    let mut information = 0.0;
    let variance = |r: &Reference, factor: f64| {
        2.0 * (factor * pick_sigma_mm).powi(2) + tape_sigma(r.true_mm).powi(2)
    };
    for _ in 0..3 {
        let (mut sum, mut square) = (0.0, 0.0);
        for r in references {
            let w = 1.0 / variance(r, factor);
            sum += w * r.seen_mm * r.true_mm;
            square += w * r.seen_mm * r.seen_mm;
        }
        factor = sum / square;
        information = square;
    }
    let mut chi_square = 0.0;
    let checked = references
        .iter()
        .map(|r| {
            let variance = variance(r, factor);
            let residual_mm = factor * r.seen_mm - r.true_mm;
            chi_square += residual_mm * residual_mm / variance;
            // What the fit leaves of the uncertainty: one less the leverage.
            let left = variance - r.seen_mm * r.seen_mm / information;
            CheckedReference {
                label: r.label.clone(),
                true_mm: r.true_mm,
                residual_mm,
                in_sigmas: residual_mm / left.max(1e-6 * variance).sqrt(),
            }
        })
        .collect();
    // What the errors of all references do to the factor together: those that share a pick share its error.
    let pull = |r: &Reference| r.seen_mm / variance(r, factor) / information;
    let mut square = 0.0;
    for (i, a) in references.iter().enumerate() {
        for (j, b) in references.iter().enumerate() {
            let tape = if i == j {
                tape_sigma(a.true_mm).powi(2)
            } else {
                0.0
            };
            let picks = (factor * pick_sigma_mm).powi(2) * shared_error(a, b);
            square += pull(a) * pull(b) * (picks + tape);
        }
    }
    // Birge's ratio (Phys. Rev. 40, 207, 1932; from memory): references that disagree by more than they
    // should widen the answer.
    let birge = (chi_square / (references.len() - 1) as f64).sqrt().max(1.0);
    Some(ScaleFit {
        factor,
        sigma: birge * square.sqrt(),
        references: checked,
    })
}

/// Covariance of two lengths by the picks they share, in variances of a pick along one direction.
fn shared_error(a: &Reference, b: &Reference) -> f64 {
    let mut sum = 0.0;
    for (i, end) in a.ends.iter().enumerate() {
        for (j, other) in b.ends.iter().enumerate() {
            if end == other {
                let sign = if i == j { 1.0 } else { -1.0 };
                sum += sign * a.way.dot(&b.way);
            }
        }
    }
    sum
}

/// A residual of more than this many standard uncertainties is told.
const DOUBTFUL: f64 = 3.0;
/// One of more than this many is a slip, and stops the work.
const SLIP: f64 = 5.0;
/// A factor further from 1 than this is told.
const WORTH_TELLING: f64 = 0.002;
/// A factor further from 1 than this is no scan's error, but a wrong unit or a wrong length.
const FARTHEST: f64 = 0.15;
/// How near a factor must be to a ratio of units to be taken for it. Passes a scan that is 3 % off as
/// well as in the wrong unit; keeps 2.54 and 2.5 one.
const UNIT_TOLERANCE: f64 = 0.05;

/// What a fitted scale means for the scan called `part`, read in `unit`.
///
/// # Errors
/// A [`Problem`] where the unit is wrong, where one distance is a slip (it is named), or where the factor
/// is beyond any scan's error.
pub fn judge_scale(fit: &ScaleFit, unit: Unit, part: &str) -> Result<Vec<Finding>, Problem> {
    let off = (fit.factor - 1.0).abs();
    if off > FARTHEST {
        return Err(far_off(fit, unit, part));
    }
    let mut findings = Vec::new();
    let worst = fit
        .references
        .iter()
        .max_by(|a, b| a.in_sigmas.abs().total_cmp(&b.in_sigmas.abs()));
    if let Some(worst) = worst.filter(|w| w.in_sigmas.abs() > DOUBTFUL) {
        let told = if fit.references.len() == 2 {
            let [a, b] = [&fit.references[0], &fit.references[1]];
            format!(
                "the distances {} and {} on the {part} do not agree: with one scale for both they are out by {:+.1} and {:+.1} mm",
                a.label, b.label, a.residual_mm, b.residual_mm
            )
        } else {
            format!(
                "the distance {} on the {part} does not agree with the others: the scan has it {:.1} mm {}",
                worst.label,
                worst.residual_mm.abs(),
                if worst.residual_mm > 0.0 {
                    "longer"
                } else {
                    "shorter"
                }
            )
        };
        let hint = "measure it again and pick its two points again; if it stays, the scan is bent there and should be taken again";
        if worst.in_sigmas.abs() > SLIP {
            return Err(Problem::new(told, hint));
        }
        findings.push(
            Finding::warning("scale-distances-disagree", told, hint).size(worst.residual_mm.abs()),
        );
    }
    if fit.references.len() == 2 {
        findings.push(Finding::warning(
            "scale-of-two",
            format!("the {part}'s scale rests on two distances, so a slip in one cannot be told from a slip in the other"),
            "measure a third, as long as you can and in another direction",
        ));
    }
    if off > WORTH_TELLING {
        findings.push(Finding::note(
            "scale-applied",
            format!(
                "the {part}'s scan was {:.2} % too {}, by the measured distances; it was scaled by {:.5} (standard uncertainty {:.3} %)",
                100.0 * (1.0 / fit.factor - 1.0).abs(),
                if fit.factor > 1.0 { "small" } else { "large" },
                fit.factor,
                100.0 * fit.sigma
            ),
        ));
    }
    Ok(findings)
}

/// The job's option for the unit of a part's scan.
fn unit_key(part: &str) -> &'static str {
    match part {
        "body" => "body_unit",
        "tray" => "tray_unit",
        _ => "unit",
    }
}

/// A factor no scan has: the wrong unit, or wrong lengths.
fn far_off(fit: &ScaleFit, unit: Unit, part: &str) -> Problem {
    let near = |a: f64, b: f64| (a / b - 1.0).abs() < UNIT_TOLERANCE;
    let meant = unit.millimetres() * fit.factor;
    let units = [Unit::Millimetre, Unit::Centimetre, Unit::Metre, Unit::Inch];
    if let Some(right) = units.into_iter().find(|u| near(meant, u.millimetres())) {
        return Problem::new(
            format!(
                "the {part}'s scan was read in {}, but by the measured distances it is in {}: they are {:.4} times what the scan shows",
                unit.symbol(),
                right.symbol(),
                fit.factor
            ),
            format!("set {} = \"{}\" in the job", unit_key(part), right.symbol()),
        );
    }
    let slip = [25.4, 1000.0, 10.0, 2.54, 100.0]
        .into_iter()
        .find(|r| near(fit.factor, *r) || near(fit.factor, 1.0 / r));
    match slip {
        Some(ratio) => Problem::new(
            format!(
                "the measured distances are {:.4} times what the {part}'s scan shows, which is a mistaken unit (a ratio of {ratio})",
                fit.factor
            ),
            format!(
                "give the distances in mm; if they are, check {} in the job",
                unit_key(part)
            ),
        ),
        None => Problem::new(
            format!(
                "the measured distances are {:.3} times what the {part}'s scan shows, which is no scan's error",
                fit.factor
            ),
            "check that the distances are in mm and between the points that were picked",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::robust::Draws;

    /// Check value T1: OIML R 35-1, class II, as in UK SI 2016/1153.
    #[test]
    fn a_tape_of_class_two_has_its_limits() {
        for (mm, limit) in [(500.0, 0.5), (1800.0, 0.7), (3000.0, 0.9), (5000.0, 1.3)] {
            assert!((tape_limit(mm) - limit).abs() < 1e-12, "{mm}");
        }
        assert!((tape_limit_from_hook(1800.0) - 0.9).abs() < 1e-12);
    }

    fn reference(label: &str, seen_mm: f64, true_mm: f64) -> Reference {
        let (from, to) = label.split_once(" to ").unwrap();
        Reference {
            label: label.to_owned(),
            ends: [from, to].map(|name| (Part::Body, name.to_owned())),
            way: Vector3::x(),
            seen_mm,
            true_mm,
        }
    }

    /// A deviate of standard deviation 1: the sum of twelve uniform ones less six.
    fn deviate(draws: &mut Draws) -> f64 {
        (0..12)
            .map(|_| draws.below(1 << 30) as f64 / f64::from(1 << 30))
            .sum::<f64>()
            - 6.0
    }

    #[test]
    fn a_scan_off_by_1_2_percent_is_recovered_as_well_as_is_stated() {
        let mut draws = Draws::seeded(5);
        let (mut inside, mut worst_fine) = (0, 0.0f64);
        for _ in 0..400 {
            for pick in [0.5, 2.0] {
                let lengths = [("a to b", 1620.0), ("c to d", 1840.0), ("e to f", 1510.0)];
                let references: Vec<Reference> = lengths
                    .iter()
                    .map(|(label, l)| {
                        let seen = l / 1.012 + pick * 2f64.sqrt() * deviate(&mut draws);
                        let tape = tape_limit_from_hook(*l)
                            * (2.0 * draws.below(1000) as f64 / 999.0 - 1.0);
                        reference(label, seen, l + tape)
                    })
                    .collect();
                let fit = fit_scale(&references, pick).unwrap();
                inside += usize::from((fit.factor - 1.012).abs() <= 2.0 * fit.sigma);
                if pick < 1.0 {
                    worst_fine = worst_fine.max((fit.factor / 1.012 - 1.0).abs());
                }
            }
        }
        // 95 % are promised by two standard uncertainties; Birge's widening makes it more.
        assert!(inside >= 760, "{inside} of 800");
        assert!(worst_fine < 1e-3, "{worst_fine}");
    }

    /// Three picks in a row, a to b to c, and all three lengths between them: the middle pick tells nothing
    /// of the whole, and the outer two are in it twice.
    #[test]
    fn lengths_that_share_picks_do_not_count_twice() {
        let row = [
            reference("a to b", 900.0, 900.0),
            reference("b to c", 900.0, 900.0),
            reference("a to c", 1800.0, 1800.0),
        ];
        let fit = fit_scale(&row, 2.0).unwrap();
        // At least what the two outer picks leave of 1800 mm: sqrt(2) * 2 / 1800, less a little as all three
        // lengths have their say in the tape.
        let outer = 2f64.sqrt() * 2.0 / 1800.0;
        assert!((fit.sigma / outer - 1.0).abs() < 0.05, "{}", fit.sigma);
    }

    #[test]
    fn what_the_scale_means_is_told_in_words() {
        let three = |k: f64, slip: f64| {
            let r = [
                reference("a to b", 1500.0 / k, 1500.0),
                reference("c to d", 1800.0 / k, 1800.0 + slip),
                reference("e to f", 900.0 / k, 900.0),
            ];
            fit_scale(&r, 1.0).unwrap()
        };
        let codes = |fit: &ScaleFit| -> Vec<&str> {
            let found = judge_scale(fit, Unit::Millimetre, "body").unwrap();
            found.iter().map(|f| f.code).collect()
        };
        assert!(codes(&three(1.001, 0.0)).is_empty());
        assert_eq!(codes(&three(1.012, 0.0)), ["scale-applied"]);
        assert_eq!(codes(&three(1.0, 7.0)), ["scale-distances-disagree"]);
        let slip = judge_scale(&three(1.0, 60.0), Unit::Millimetre, "body").unwrap_err();
        assert!(slip.what.contains("c to d"), "{slip}");
        let two = fit_scale(&three_as_two(), 1.0).unwrap();
        assert_eq!(codes(&two), ["scale-of-two"]);
    }

    fn three_as_two() -> Vec<Reference> {
        vec![
            reference("a to b", 1500.0, 1500.0),
            reference("c to d", 1800.0, 1800.5),
        ]
    }

    #[test]
    fn a_wrong_unit_is_named() {
        let says = |factor: f64, unit: Unit| {
            let r = [
                reference("a to b", 1500.0 / factor, 1500.0),
                reference("c to d", 1800.0 / factor, 1800.0),
            ];
            let fit = fit_scale(&r, 1.0).unwrap();
            judge_scale(&fit, unit, "tray").unwrap_err().to_string()
        };
        assert!(says(25.4, Unit::Millimetre).contains("tray_unit = \"in\""));
        assert!(says(1000.0 * 1.01, Unit::Millimetre).contains("tray_unit = \"m\""));
        assert!(says(1e-3, Unit::Metre).contains("tray_unit = \"mm\""));
        assert!(says(2.54, Unit::Centimetre).contains("tray_unit = \"in\""));
        assert!(says(10.0, Unit::Millimetre).contains("tray_unit = \"cm\""));
        // Lengths given in inches for a scan in mm.
        assert!(says(1.0 / 25.4, Unit::Millimetre).contains("mistaken unit"));
        assert!(says(1.7, Unit::Millimetre).contains("no scan's error"));
    }

    #[test]
    fn too_little_or_nonsense_gives_no_fit() {
        assert!(fit_scale(&[], 1.0).is_none());
        assert!(fit_scale(&[reference("a to b", 1.0, 1.0)], 1.0).is_none());
        let zero = [reference("a to b", 0.0, 1.0), reference("c to d", 1.0, 1.0)];
        assert!(fit_scale(&zero, 1.0).is_none());
    }
}
