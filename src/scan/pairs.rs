//! Named points seen in both scans: the first alignment, and which pair is bad.

use crate::diag::{Finding, Problem};
use crate::math::Point3;
use crate::math::rigid_fit::{PairFault, Size, fit_similarity, principal_spread};
use nalgebra::Isometry3;

/// One point of the vehicle as picked in both scans (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct NamedPair {
    /// Its name.
    pub name: String,
    /// Where the tray's scan has it.
    pub tray: Point3,
    /// Where the body's scan has it.
    pub body: Point3,
}

/// The first alignment.
#[derive(Debug, Clone, PartialEq)]
pub struct CoarseFit {
    /// The tray's scan to the body's.
    pub pose: Isometry3<f64>,
    /// Root mean square distance of the pairs that were used (mm).
    pub residual_mm: f64,
    /// Pairs that were used.
    pub used: usize,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}

/// A pair further off than this many standard uncertainties of a pair is bad.
const BAD: f64 = 5.0;
/// Points closer to one line than this leave the turn about it to the picks' errors (mm).
const THINNEST_MM: f64 = 15.0;

/// Aligns the tray's scan to the body's by the pairs, without the one that spoils the fit if there is one.
/// `pick_sigma_mm` is the standard uncertainty of a picked point along any direction.
///
/// # Errors
/// A [`Problem`] for fewer than three pairs, pairs in one line, a mirrored set, and pairs that do not
/// agree, where leaving out one of them does not help.
pub fn fit_pairs(pairs: &[NamedPair], pick_sigma_mm: f64) -> Result<CoarseFit, Problem> {
    let all = Fit::of(pairs)?;
    let points: Vec<Point3> = pairs.iter().map(|p| p.body).collect();
    let [_, across, off_plane] = principal_spread(&points);
    if across < THINNEST_MM {
        return Err(in_line());
    }
    // A pair's distance holds both picks in three directions.
    let tolerance = BAD * pick_sigma_mm * 6f64.sqrt();
    if all.worst(pairs).1 <= tolerance {
        return Ok(all.coarse(Vec::new()));
    }
    if off_plane > THINNEST_MM && all.mirrored < 0.3 * all.rms && all.mirrored <= tolerance {
        return Err(Problem::new(
            format!(
                "the named points of the two scans fit as mirror images ({:.1} mm) and not as they are ({:.0} mm): one of the scans is mirrored",
                all.mirrored, all.rms
            ),
            "export the mirrored scan again without mirroring; compare left and right with the vehicle",
        ));
    }
    if let [a, b, c] = pairs {
        return Err(Problem::new(
            format!(
                "the three pairs {}, {} and {} do not agree (up to {:.0} mm), and with three it cannot be told which is bad",
                a.name,
                b.name,
                c.name,
                all.worst(pairs).1
            ),
            "pick them again, and add a fourth point that both scans show",
        ));
    }
    // Every pair without which the others agree. A point moved square to the plane of three others hardly
    // changes their triangles, so with four pairs there may be several.
    let mut freed: Vec<(usize, Fit)> = (0..pairs.len())
        .filter_map(|k| {
            let mut others = pairs.to_vec();
            others.remove(k);
            let fit = Fit::of(&others).ok()?;
            (fit.worst(&others).1 <= tolerance).then_some((k, fit))
        })
        .collect();
    freed.sort_by(|a, b| a.1.rms.total_cmp(&b.1.rms));
    let mut freed = freed.into_iter();
    if let Some((k, fit)) = freed.next()
        && let Some(bad) = pairs.get(k)
    {
        if let Some(rival) = freed.next().and_then(|(k, _)| pairs.get(k)) {
            return Err(Problem::new(
                format!(
                    "one of the points named in both scans is wrong, {} or {}, and with {} it cannot be told which",
                    bad.name,
                    rival.name,
                    pairs.len()
                ),
                "pick both again in both scans, or add a point that both scans show",
            ));
        }
        let off = (fit.pose * bad.tray - bad.body).norm();
        let finding = Finding::warning(
            "pair-left-out",
            format!(
                "the point {} lies {off:.0} mm apart in the two scans once the others fit: it was left out",
                bad.name
            ),
            "pick it again in both scans, or take it out of the job",
        );
        return Ok(fit.coarse(vec![finding.size(off)]));
    }
    let (name, off) = all.worst(pairs);
    Err(Problem::new(
        format!(
            "the named points of the two scans do not agree, and leaving out any one of them does not help; {name} is off most, by {off:.0} mm"
        ),
        "check that each name stands for the same point in both scans, and the unit of each scan; pick the points again",
    ))
}

fn in_line() -> Problem {
    Problem::new(
        "the points named in both scans lie in one line, so the turn about it is open",
        "pick a further point well off that line, in both scans",
    )
}

struct Fit {
    pose: Isometry3<f64>,
    rms: f64,
    mirrored: f64,
    used: usize,
}

impl Fit {
    fn of(pairs: &[NamedPair]) -> Result<Self, Problem> {
        let points: Vec<(Point3, Point3)> = pairs.iter().map(|p| (p.tray, p.body)).collect();
        let fit = fit_similarity(&points, Size::Kept).map_err(|fault| match fault {
            PairFault::TooFew { given, .. } => Problem::new(
                format!("{given} points are named in both scans, and aligning them takes three"),
                "name at least three points that both scans show, four to find a bad one, under [points.body] and [points.tray]",
            ),
            PairFault::Collinear => in_line(),
            PairFault::NotFinite => Problem::new(
                "a named point's coordinate is not a number",
                "pick the point again",
            ),
        })?;
        Ok(Self {
            pose: fit.isometry(),
            rms: fit.mean_square.sqrt(),
            mirrored: fit.mirrored_mean_square.sqrt(),
            used: pairs.len(),
        })
    }

    /// The pair that is furthest off, and how far.
    fn worst<'p>(&self, pairs: &'p [NamedPair]) -> (&'p str, f64) {
        pairs
            .iter()
            .map(|p| (p.name.as_str(), (self.pose * p.tray - p.body).norm()))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or(("", 0.0))
    }

    fn coarse(self, findings: Vec<Finding>) -> CoarseFit {
        CoarseFit {
            pose: self.pose,
            residual_mm: self.rms,
            used: self.used,
            findings,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Vector3;

    const PICK: f64 = 2.0;

    fn truth() -> Isometry3<f64> {
        Isometry3::new(
            Vector3::new(100.0, -40.0, 900.0),
            Vector3::new(0.4, 1.2, -0.3),
        )
    }

    fn pairs(count: usize) -> Vec<NamedPair> {
        let spots = [
            [0.0, 0.0, 0.0],
            [700.0, 300.0, 40.0],
            [100.0, 1400.0, -20.0],
            [-300.0, 600.0, 250.0],
            [500.0, 900.0, 120.0],
        ];
        let shakes = [
            [1.0, -2.0, 0.5],
            [-1.0, 1.0, 2.0],
            [2.0, 0.0, -1.0],
            [0.0, 1.5, -1.5],
            [-2.0, 0.5, 0.0],
        ];
        (0..count)
            .map(|k| NamedPair {
                name: format!("p{k}"),
                tray: Point3::from(spots[k]),
                body: truth() * (Point3::from(spots[k]) + Vector3::from(shakes[k])),
            })
            .collect()
    }

    #[test]
    fn good_pairs_give_the_pose_to_what_the_picks_are_good_for() {
        for count in [3, 4, 5] {
            let fit = fit_pairs(&pairs(count), PICK).unwrap();
            assert!(fit.findings.is_empty() && fit.used == count);
            let off = truth().inverse() * fit.pose;
            assert!(off.rotation.angle().to_degrees() < 0.3, "{count}");
            assert!(
                (off * Point3::new(200.0, 600.0, 0.0) - Point3::new(200.0, 600.0, 0.0)).norm()
                    < 3.0
            );
        }
    }

    #[test]
    fn a_bad_pair_is_named_and_left_out() {
        for (count, bad) in [(4, 0), (5, 1), (5, 2)] {
            let mut pairs = pairs(count);
            // Along the line to the next point, so that the triangles change.
            let way = (pairs[bad + 1].body - pairs[bad].body).normalize();
            pairs[bad].body += 200.0 * way;
            let fit = fit_pairs(&pairs, PICK).unwrap();
            assert_eq!(fit.used, count - 1);
            assert!(fit.findings[0].what.contains(&format!("p{bad} ")));
        }
    }

    #[test]
    fn what_cannot_be_aligned_is_refused_in_words() {
        let says = |pairs: &[NamedPair]| fit_pairs(pairs, PICK).unwrap_err().to_string();
        assert!(says(&pairs(2)).contains("2 points are named in both"));
        assert!(says(&[]).contains("0 points"));
        let mut three = pairs(3);
        three[1].body.y += 80.0;
        assert!(says(&three).contains("which is bad"));
        let mut open = pairs(4);
        // Square to the plane of the other three.
        let (a, b) = (open[1].body - open[0].body, open[2].body - open[0].body);
        open[3].body += 70.0 * a.cross(&b).normalize();
        assert!(
            says(&open).contains("cannot be told which"),
            "{}",
            says(&open)
        );
        let mut swapped = pairs(5);
        let (a, b) = (swapped[0].body, swapped[3].body);
        (swapped[0].body, swapped[3].body) = (b, a);
        assert!(says(&swapped).contains("does not help"));
        let mut mirrored = pairs(5);
        for p in &mut mirrored {
            p.body.y = -p.body.y;
        }
        assert!(says(&mirrored).contains("mirrored"));
        let mut line = pairs(4);
        for (k, p) in line.iter_mut().enumerate() {
            // 1 mm off a line: no fit's error, but the picks decide the turn.
            p.tray = Point3::new(400.0 * k as f64, (k % 2) as f64, 0.0);
            p.body = truth() * p.tray;
        }
        assert!(says(&line).contains("one line"));
    }
}
