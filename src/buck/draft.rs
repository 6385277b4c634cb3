//! Whether the part comes off: the slope of every bit of the face against the way it is lifted.

use crate::math::Vector3;
use crate::mesh::TriMesh;

/// Slopes within this of a limit count as on its good side (rad): rounding to f32 turns small triangles.
const EPSILON: f64 = 0.05 * std::f64::consts::PI / 180.0;
/// Under this the face drags along the buck all the way (rad). Common practice, no source.
const DRAGS: f64 = 0.5 * std::f64::consts::PI / 180.0;
/// Directions tried: so many steps of height from level to upright, and so many to the quarter turn.
const RISES: usize = 18;
const TURNS: usize = 9;

/// How a bit of the face stands to the lift.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DraftClass {
    /// It faces away: it holds the part.
    Undercut,
    /// It runs along the lift: the part drags all the way.
    None,
    /// Less than is asked for.
    Slight,
    /// As much as is asked for.
    Good,
}

impl DraftClass {
    /// All, from worst to best.
    pub const ALL: [Self; 4] = [Self::Undercut, Self::None, Self::Slight, Self::Good];

    /// The class of a draft (rad) where `least` is asked for.
    #[must_use]
    pub fn of(draft: f64, least: f64) -> Self {
        // Written so that what is not a number is an undercut.
        if draft >= least - EPSILON {
            Self::Good
        } else if draft >= DRAGS {
            Self::Slight
        } else if draft >= -EPSILON {
            Self::None
        } else {
            Self::Undercut
        }
    }
}

/// The face of a buck against one way of lifting.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// The way (unit).
    pub lift: Vector3,
    /// Least draft anywhere (rad), negative at an undercut.
    pub worst: f64,
    /// Area in each class of [`DraftClass::ALL`] (mm2).
    pub areas: [f64; 4],
    /// Class of every triangle; one without area is good.
    pub classes: Vec<DraftClass>,
}

impl Draft {
    /// Measures a face. What stands in the way over a bit of the face without touching it is not looked
    /// at: on a face that is one sheet without folds the slopes say all.
    #[must_use]
    pub fn measure(face: &TriMesh, lift: Vector3, least: f64) -> Self {
        let lift = lift.try_normalize(1e-12).unwrap_or_else(Vector3::z);
        let mut draft = Self {
            lift,
            worst: f64::INFINITY,
            areas: [0.0; 4],
            classes: Vec::with_capacity(face.triangles.len()),
        };
        for t in 0..face.triangles.len() {
            let area = face.area_vector(t);
            let class = match area.try_normalize(1e-9) {
                None => DraftClass::Good,
                Some(normal) => {
                    let slope = slope(normal, lift);
                    draft.worst = draft.worst.min(slope);
                    DraftClass::of(slope, least)
                }
            };
            if let Some(sum) = draft.areas.get_mut(class as usize) {
                *sum += 0.5 * area.norm();
            }
            draft.classes.push(class);
        }
        draft
    }

    /// Area in a class (mm2).
    #[must_use]
    pub fn area(&self, class: DraftClass) -> f64 {
        self.areas.get(class as usize).copied().unwrap_or(0.0)
    }

    /// The whole area (mm2).
    #[must_use]
    pub fn whole(&self) -> f64 {
        self.areas.iter().sum()
    }
}

fn slope(normal: Vector3, lift: Vector3) -> f64 {
    normal.dot(&lift).clamp(-1.0, 1.0).asin()
}

/// A stretch of the face that comes off one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lifted {
    /// From and to, as numbers of rows.
    pub rows: [usize; 2],
    /// The way (unit).
    pub lift: Vector3,
    /// Least draft in it (rad).
    pub worst: f64,
}

/// Unit normals of the face between one row and the next, bay after bay.
pub type Bays = Vec<Vec<Vector3>>;

/// The ways that are tried, all level or upward, every five degrees up and ten round; upward first.
fn ways() -> Vec<Vector3> {
    let quarter = std::f64::consts::FRAC_PI_2;
    let mut all = vec![Vector3::z()];
    for rise in (0..RISES).rev() {
        let up = quarter * rise as f64 / RISES as f64;
        for turn in 0..4 * TURNS {
            let round = quarter * turn as f64 / TURNS as f64;
            all.push(Vector3::new(
                up.cos() * round.cos(),
                up.cos() * round.sin(),
                up.sin(),
            ));
        }
    }
    all
}

/// Least draft of every bay along every way.
fn worst_of(bays: &[Vec<Vector3>], ways: &[Vector3]) -> Vec<Vec<f64>> {
    let least = |bay: &[Vector3], way: &Vector3| {
        let dots = bay.iter().map(|n| n.dot(way));
        dots.fold(1.0, f64::min).clamp(-1.0, 1.0).asin()
    };
    (bays.iter())
        .map(|bay| ways.iter().map(|way| least(bay, way)).collect())
        .collect()
}

/// The way that gives a whole face the most draft where it has least.
pub fn best_way(bays: &[Vec<Vector3>]) -> Lifted {
    let ways = ways();
    let all = worst_of(bays, &ways);
    let mut best = Lifted {
        rows: [0, bays.len()],
        lift: Vector3::z(),
        worst: f64::NEG_INFINITY,
    };
    for (k, way) in ways.iter().enumerate() {
        let worst = all.iter().filter_map(|bay| bay.get(k)).copied();
        let worst = worst.fold(f64::INFINITY, f64::min);
        if worst > best.worst + 1e-6 {
            best = Lifted {
                lift: *way,
                worst,
                ..best
            };
        }
    }
    best
}

/// The fewest stretches of which each comes off one way with a draft of `least` (rad), every one as long
/// as it goes: for stretches of a line that is the fewest. A bay that has less by itself makes none:
/// then `None`.
pub fn propose_pieces(bays: &[Vec<Vector3>], least: f64) -> Option<Vec<Lifted>> {
    let ways = ways();
    let all = worst_of(bays, &ways);
    let mut pieces = Vec::new();
    let mut from = 0;
    while from < bays.len() {
        let mut held = vec![f64::INFINITY; ways.len()];
        let mut piece: Option<Lifted> = None;
        for (to, bay) in all.iter().enumerate().skip(from) {
            for (held, worst) in held.iter_mut().zip(bay) {
                *held = held.min(*worst);
            }
            let best = (held.iter().enumerate()).fold((0, f64::NEG_INFINITY), |best, (k, &w)| {
                if w > best.1 { (k, w) } else { best }
            });
            if best.1 < least - EPSILON {
                break;
            }
            piece = Some(Lifted {
                rows: [from, to + 1],
                lift: ways[best.0],
                worst: best.1,
            });
        }
        let piece = piece?;
        from = piece.rows[1];
        pieces.push(piece);
    }
    Some(pieces)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Point3;

    /// The side of a frustum with this draft, lifted upright, and the area of a cone's side by formula.
    fn frustum(degrees: f64) -> TriMesh {
        let (n, height, low) = (720u32, 100.0, 200.0);
        let high = low - height * f64::to_radians(degrees).tan();
        let mut mesh = TriMesh::default();
        for i in 0..n {
            let a = std::f64::consts::TAU * f64::from(i) / f64::from(n);
            for (r, z) in [(low, 0.0), (high, height)] {
                mesh.points.push(Point3::new(r * a.cos(), r * a.sin(), z));
            }
        }
        for i in 0..n {
            let (a, b) = (2 * i, 2 * ((i + 1) % n));
            mesh.triangles.push([a, b, b + 1]);
            mesh.triangles.push([a, b + 1, a + 1]);
        }
        mesh
    }

    #[test]
    fn drafts_of_0_1_3_and_minus_2_degrees_are_told_apart() {
        let least = 2f64.to_radians();
        for (degrees, class) in [
            (0.0, DraftClass::None),
            (1.0, DraftClass::Slight),
            (3.0, DraftClass::Good),
            (-2.0, DraftClass::Undercut),
        ] {
            let draft = Draft::measure(&frustum(degrees), Vector3::z(), least);
            assert!(draft.classes.iter().all(|&c| c == class), "{degrees}");
            assert!((draft.worst.to_degrees() - degrees).abs() < 0.01);
            // Side of a frustum: pi (r + R) slant.
            let t = f64::to_radians(degrees);
            let side = std::f64::consts::PI * (400.0 - 100.0 * t.tan()) * 100.0 / t.cos();
            assert!((draft.area(class) / side - 1.0).abs() < 1e-3);
        }
    }

    /// Half of a ball hangs under its equator: 2 pi R2. A tilted lift changes nothing.
    #[test]
    fn half_of_a_ball_is_an_undercut() {
        let mut ball = crate::mesh::samples::octasphere(6);
        for p in &mut ball.points {
            p.coords *= 150.0;
        }
        for lift in [Vector3::z(), Vector3::new(0.4, -0.7, 1.3)] {
            let draft = Draft::measure(&ball, lift, 0.02);
            let half = std::f64::consts::TAU * 150.0 * 150.0;
            // What lies within 0.05 degrees of the equator counts as none: a thousandth.
            let under = draft.area(DraftClass::Undercut);
            assert!((under / half - 1.0).abs() < 0.01, "{under} {half}");
        }
    }

    /// Upright walls round a half circle: no one way but upward is without undercut, and that drags; with
    /// ten degrees asked for two stretches of 160 degrees do, so a half circle needs two.
    #[test]
    fn a_wrapped_wall_is_split() {
        let bays: Bays = (0..180)
            .map(|d| {
                let a = (f64::from(d) + 0.5).to_radians();
                vec![Vector3::new(a.cos(), a.sin(), 0.0)]
            })
            .collect();
        let pieces = propose_pieces(&bays, 10f64.to_radians()).unwrap();
        assert_eq!(pieces.len(), 2, "{pieces:?}");
        assert_eq!(pieces[1].rows[1], 180);
        assert!(best_way(&bays).worst.to_degrees() < 1.0);
        assert_eq!(best_way(&bays[..100]).rows, [0, 100]);
        let straight = best_way(&bays[..100]);
        // Ways are ten degrees apart: of 80 degrees left by 100 no more than five are lost.
        assert!(straight.worst.to_degrees() > 40.0 - 5.5, "{straight:?}");
        let wall = vec![vec![Vector3::x(), -Vector3::x()]];
        assert_eq!(propose_pieces(&wall, 0.1), None);
    }
}
