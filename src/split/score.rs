//! What speaks for a pose and against it, as numbers and in a sentence.

use super::overhang::{Overhangs, Support};
use super::pose::Site;
use super::stand::Stand;
use super::turn::find_hull;
use crate::diag::Finding;
use crate::math::{Point2, Point3, Vector3};
use crate::mesh::TriMesh;
use std::fmt;

/// A face is seen from outside if its normal points outward by more than this (as the sine): lets a face
/// with 25 degrees of draft through and stops a flange.
const SEEN: f64 = 0.5;
/// A face steps visibly if it lies flatter than this from level (as the cosine): 30 degrees, where a
/// layer of 0.2 mm steps by 0.35 mm. A level one does not step.
const STEPS: [f64; 2] = [0.866, 0.9998];
/// A word for the whole pose holds within this (as the cosine): 12 degrees.
const SQUARE: f64 = 0.978;
/// A shape this many times as high as its base is wide begins to sway. From memory.
const SLENDER: f64 = 4.0;
/// And from here on it is told. From memory.
const TALL: f64 = 8.0;

/// How a segment lies, in words.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lies {
    /// As on the vehicle.
    FootDown,
    /// Upside down.
    FootUp,
    /// Standing on the end at the maker's left.
    OnLeftEnd,
    /// Standing on the end at the maker's right.
    OnRightEnd,
    /// Lying on the visible side.
    FaceDown,
    /// Lying on the hidden side.
    FaceUp,
    /// Leaned over from how it is on the vehicle (rad).
    Leaned(f64),
}

impl Lies {
    pub(super) fn of(up: &Vector3, site: &Site) -> Self {
        let middle = site
            .stations
            .get(site.stations.len() / 2)
            .map(|at| at.frame);
        let (Some(first), Some(last), Some(middle)) =
            (site.stations.first(), site.stations.last(), middle)
        else {
            return Self::Leaned(up.z.clamp(-1.0, 1.0).acos());
        };
        if up.z > SQUARE {
            Self::FootDown
        } else if up.z < -SQUARE {
            Self::FootUp
        } else if up.dot(&first.frame.along) > SQUARE {
            Self::OnLeftEnd
        } else if -up.dot(&last.frame.along) > SQUARE {
            Self::OnRightEnd
        } else if -up.dot(&middle.outward) > SQUARE {
            Self::FaceDown
        } else if up.dot(&middle.outward) > SQUARE {
            Self::FaceUp
        } else {
            Self::Leaned(up.z.clamp(-1.0, 1.0).acos())
        }
    }
}

impl fmt::Display for Lies {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FootDown => f.write_str("foot down"),
            Self::FootUp => f.write_str("foot up"),
            Self::OnLeftEnd => f.write_str("standing on its left end"),
            Self::OnRightEnd => f.write_str("standing on its right end"),
            Self::FaceDown => f.write_str("visible face down"),
            Self::FaceUp => f.write_str("visible face up"),
            Self::Leaned(angle) => write!(f, "leaned {:.0}\u{b0} from upright", angle.to_degrees()),
        }
    }
}

/// What tears a print off its bed: a nudge of the nozzle at its top (N), and its own mass as the bed turns
/// about (m/s2), half way up; of solid plastic (kg/mm3). From memory, as is the stress at which a bed may be
/// relied on to hold without a brim (MPa): good ones hold several times that.
const NUDGE_N: f64 = 2.0;
const TURNS_ABOUT: f64 = 10.0;
const DENSITY: f64 = 1.27e-6;
const BED_HOLDS_MPA: f64 = 0.06;
/// A visible face that support touches over no more than this share stays clean.
const CLEAN: f64 = 0.01;

/// What is measured of a pose. Before the print is made larger for what it shrinks.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Scores {
    /// Area that needs support: leaning out more than [`super::OVERHANG_DEG`] from the vertical (mm2).
    pub overhang_mm2: f64,
    /// The same as a share of the whole surface, 0 to 1.
    pub overhang_share: f64,
    /// Support over all plastic, 0 to 1.
    pub support_share: f64,
    /// Area on the bed (mm2), and as a share of the shadow.
    pub contact_mm2: f64,
    /// Contact over shadow, 0 to 1.
    pub contact_share: f64,
    /// Height (mm).
    pub height_mm: f64,
    /// Height over the least width of what stands on the bed.
    pub slenderness: f64,
    /// How far inside of what touches the bed the centre of mass stands (mm).
    pub steady_mm: f64,
    /// Stress at the edge of what touches the bed as the print is nudged and shaken (MPa).
    pub torn_mpa: f64,
    /// Angle between the layers and the pull across the worst joint (rad): 0 is strong, a right angle
    /// pulls the layers apart.
    pub layers_to_pull: f64,
    /// Share of the visible face that support touches, 0 to 1.
    pub scarred_share: f64,
    /// Share of the visible face that steps, 0 to 1.
    pub stepped_share: f64,
    /// Height over the room for it.
    pub height_share: f64,
    /// The larger of the shares of the build volume's room it takes in each direction: it fits at 1 or less.
    pub room_share: f64,
}

impl Scores {
    /// Whether the bed holds it. What comes loose is lost, whatever support the pose saves.
    pub(super) fn holds(&self) -> bool {
        self.torn_mpa <= BED_HOLDS_MPA
    }

    /// Whether the visible face stays clean of support.
    pub(super) fn is_clean(&self) -> bool {
        self.scarred_share <= CLEAN
    }

    /// One number, less is better. The weights are our choice, in shares: support counts as the plastic
    /// it takes and half of the surface it spoils, a scar on the visible face in full, steps there by half; layers that pull
    /// apart at a joint are worth half of the plastic; height and a small base are time and risk.
    pub(super) fn cost(&self) -> f64 {
        let sway = ((self.slenderness - SLENDER) / 10.0).clamp(0.0, 1.0);
        self.support_share
            + 0.5 * self.overhang_share
            + self.scarred_share
            + 0.5 * self.stepped_share
            + 0.5 * self.layers_to_pull.sin()
            + 0.2 * (1.0 - self.contact_share)
            + 0.5 * sway
            + 0.15 * self.height_share
    }
}

/// The pose a segment is printed in, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Pose {
    /// How it lies.
    pub lies: Lies,
    /// What was measured of it.
    pub scores: Scores,
    /// How many steady poses fit the build volume.
    pub fitting: usize,
    /// Why this one, in a sentence or two.
    pub why: String,
}

impl Pose {
    pub(super) fn new(
        lies: Lies,
        scores: Scores,
        fitting: usize,
        next: Option<(Lies, Scores)>,
    ) -> Self {
        let why = reason(lies, &scores, next);
        Self {
            lies,
            scores,
            fitting,
            why,
        }
    }
}

impl Pose {
    /// Warns of a pose in which the print may fall or come loose.
    pub(super) fn finding(&self, number: usize) -> Option<Finding> {
        let scores = &self.scores;
        if scores.steady_mm <= super::STEADY_MM {
            return Some(Finding::warning(
                "segment-not-steady",
                format!("segment {number} does not stand by itself in any pose that fits"),
                "print it with a brim and supports on both sides, or use a larger build volume",
            ));
        }
        if scores.slenderness > TALL {
            return Some(Finding::note(
                "segment-stands-tall",
                format!(
                    "segment {number} is printed {:.0} mm high on a base {:.0} mm wide: print it slowly and with a wide brim",
                    scores.height_mm,
                    scores.height_mm / scores.slenderness
                ),
            ));
        }
        (!scores.holds()).then(|| {
            Finding::note(
                "segment-held-little",
                format!(
                    "segment {number} is printed {:.0} mm high with only {} on the bed, for no pose that fits holds better and keeps the visible face clean: print it slowly and with a wide brim",
                    scores.height_mm,
                    area(scores.contact_mm2)
                ),
            )
        })
    }
}

/// An area in words: small ones in mm2.
fn area(mm2: f64) -> String {
    if mm2 < 1000.0 {
        format!("{mm2:.0} mm\u{b2}")
    } else {
        format!("{:.0} cm\u{b2}", mm2 / 100.0)
    }
}

fn reason(lies: Lies, scores: &Scores, next: Option<(Lies, Scores)>) -> String {
    let cm2 = |area: f64| area / 100.0;
    let support = if scores.overhang_mm2 < 1.0 {
        "no support".to_owned()
    } else {
        format!(
            "support under {:.0} cm\u{b2}",
            cm2(scores.overhang_mm2).max(1.0)
        )
    };
    let layers = match scores.layers_to_pull.to_degrees() {
        a if a < 20.0 => "layers run along the pull at the joints",
        a if a < 60.0 => "layers lie aslant to the pull at the joints",
        _ => "layers lie across the pull at the joints: the weak way",
    };
    let face = if !scores.is_clean() {
        format!(
            "support touches {:.0} % of the visible face",
            100.0 * scores.scarred_share
        )
    } else if scores.stepped_share > 0.05 {
        format!(
            "{:.0} % of the visible face shows steps",
            100.0 * scores.stepped_share
        )
    } else {
        "the visible face stays clean".to_owned()
    };
    let mut text = format!(
        "{lies}: {support}, {} on the bed, {:.0} mm high; {layers}; {face}.",
        area(scores.contact_mm2),
        scores.height_mm
    );
    match next {
        None => text.push_str(" No other steady pose fits."),
        Some((other, its)) => {
            let against = [
                (
                    its.support_share - scores.support_share
                        + 0.5 * (its.overhang_share - scores.overhang_share),
                    "more support",
                ),
                (
                    its.scarred_share - scores.scarred_share,
                    "scars on the visible face",
                ),
                (
                    0.5 * (its.stepped_share - scores.stepped_share),
                    "steps on the visible face",
                ),
                (
                    0.5 * (its.layers_to_pull.sin() - scores.layers_to_pull.sin()),
                    "layers across the pull",
                ),
                (
                    0.2 * (scores.contact_share - its.contact_share),
                    "less of it on the bed",
                ),
                (
                    0.05 * (its.slenderness - scores.slenderness),
                    "a smaller base for its height",
                ),
                (
                    0.15 * (its.height_share - scores.height_share),
                    "more height",
                ),
            ];
            let worst = against
                .into_iter()
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .filter(|(by, _)| *by > 0.0);
            let worst = if scores.holds() && !its.holds() {
                Some((1.0, "too little of it on the bed to hold it"))
            } else {
                worst
            };
            if let Some((_, what)) = worst {
                text.push_str(&format!(" Next best, {other}: {what}."));
            }
        }
    }
    text
}

/// What is the same for all poses of a segment.
pub(super) struct Scene<'a> {
    mesh: &'a TriMesh,
    overhangs: Overhangs<'a>,
    /// Unit normal and area of each triangle, and whether it is seen from outside.
    faces: Vec<(Vector3, f64, Side)>,
    seen_mm2: f64,
    volume: f64,
    joints: Vec<Vector3>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Seen,
    Hidden,
}

/// Every so many stations stand for those about them when the outside is told from the inside.
const SPARSE: usize = 8;

impl<'a> Scene<'a> {
    pub(super) fn new(mesh: &'a TriMesh, site: &Site) -> Self {
        let frames: Vec<_> = site
            .stations
            .iter()
            .step_by(SPARSE)
            .map(|at| at.frame)
            .collect();
        let outward_at = |p: &Point3| {
            (frames.iter())
                .min_by(|a, b| {
                    let off =
                        |f: &crate::math::StationFrame| (f.origin.xy() - p.xy()).norm_squared();
                    off(a).total_cmp(&off(b))
                })
                .map_or_else(Vector3::zeros, |frame| frame.outward)
        };
        let mut seen_mm2 = 0.0;
        let faces = (0..mesh.triangles.len())
            .map(|i| {
                let vector = mesh.area_vector(i);
                let twice = vector.norm();
                let (normal, area) = (vector / twice.max(1e-300), twice / 2.0);
                let side = if normal.dot(&outward_at(&mesh.corners(i)[0])) > SEEN {
                    seen_mm2 += area;
                    Side::Seen
                } else {
                    Side::Hidden
                };
                (normal, area, side)
            })
            .collect();
        Self {
            mesh,
            overhangs: Overhangs::new(mesh),
            faces,
            seen_mm2,
            volume: mesh.signed_volume(),
            joints: site.joints.into_iter().flatten().collect(),
        }
    }

    /// Scores a pose; `room` is the room for its height (mm).
    pub(super) fn score(&self, stand: &Stand, room_share: f64, room: f64) -> Scores {
        let hangs = self.overhangs.find(&stand.up, stand.low);
        let rise = |i: u32| {
            let p = self.mesh.points[i as usize];
            (p, p.coords.dot(&stand.up) - stand.low)
        };
        let mut support = Support::default();
        let (mut scarred, mut stepped) = (0.0, 0.0);
        let faces = self.mesh.triangles.iter().zip(&self.faces).zip(hangs);
        for ((t, (normal, area, side)), hangs) in faces {
            let lean = normal.dot(&stand.up);
            let seen = if *side == Side::Seen { *area } else { 0.0 };
            if hangs {
                let before = support.area_mm2;
                support.add(&t.map(rise), &stand.up);
                scarred += seen * (support.area_mm2 - before) / area.max(1e-12);
            } else if lean > STEPS[0] && lean < STEPS[1] {
                stepped += seen;
            }
        }
        let plan = self.mesh.points.iter().map(|p| {
            let [x, y] = &stand.axes;
            Point2::new(p.coords.dot(x), p.coords.dot(y))
        });
        let shadow = hull_area(&find_hull(&plan.collect::<Vec<_>>()));
        let pull = (self.joints.iter())
            .map(|along| along.dot(&stand.up).abs().min(1.0).asin())
            .fold(0.0, f64::max);
        let share = |part: f64, of: f64| if of > 0.0 { part / of } else { 0.0 };
        let base_mm = stand.base_mm().max(0.1);
        let shaken = 0.5 * self.volume * DENSITY * TURNS_ABOUT;
        // A moment over the modulus of what touches the bed, as if spread over its least width.
        let torn =
            6.0 * (NUDGE_N + shaken) * stand.height / (stand.contact_mm2 * base_mm).max(1e-6);
        Scores {
            overhang_mm2: support.area_mm2,
            overhang_share: share(support.area_mm2, self.faces.iter().map(|f| f.1).sum()),
            support_share: share(support.plastic_mm3, support.plastic_mm3 + self.volume),
            contact_mm2: stand.contact_mm2,
            contact_share: share(stand.contact_mm2, shadow).min(1.0),
            height_mm: stand.height,
            slenderness: stand.height / base_mm,
            torn_mpa: torn,
            steady_mm: stand.steady_mm,
            layers_to_pull: pull,
            scarred_share: share(scarred, self.seen_mm2),
            stepped_share: share(stepped, self.seen_mm2),
            height_share: stand.height / room,
            room_share,
        }
    }
}

fn hull_area(hull: &[Point2]) -> f64 {
    let twice: f64 = (0..hull.len())
        .map(|i| hull[i].coords.perp(&hull[(i + 1) % hull.len()].coords))
        .sum();
    twice / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pose_that_may_fall_is_told() {
        let finding = |steady_mm, slenderness| {
            let scores = Scores {
                steady_mm,
                slenderness,
                height_mm: 200.0,
                ..Scores::default()
            };
            let pose = Pose::new(Lies::FootDown, scores, 1, None);
            pose.finding(3).map(|f| f.code)
        };
        assert_eq!(finding(8.0, 1.0), None);
        assert_eq!(finding(8.0, 2.0 * TALL), Some("segment-stands-tall"));
        assert_eq!(finding(0.5, 1.0), Some("segment-not-steady"));
        let scores = Scores {
            steady_mm: 8.0,
            contact_mm2: 66.4,
            torn_mpa: 2.0 * BED_HOLDS_MPA,
            ..Scores::default()
        };
        let pose = Pose::new(Lies::FootUp, scores, 1, None);
        let finding = pose.finding(3).unwrap();
        assert_eq!(finding.code, "segment-held-little");
        assert!(pose.why.contains("66 mm\u{b2} on the bed"), "{}", pose.why);
    }
}
