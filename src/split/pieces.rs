//! Proof of every solid that is written: how thick its walls are, and that it does not run through itself.

use super::joint::{LONG_MM, MOST_OF_WALL};
use crate::diag::Finding;
use crate::math::locator::Locator;
use crate::math::{Point3, Spine};
use crate::mesh::Solid;
use crate::mesh::self_cross::find_crossing;
use crate::mesh::thickness::{WallAt, measure_walls};
use rayon::prelude::*;

/// Places measured on a piece.
const PLACES: usize = 2500;
/// Nothing thicker than this is looked at (mm): a flange is no wall through its depth.
const REACH_MM: f64 = 60.0;
/// Share of a wall that a groove of a label may leave, and of a tab its lead-in (a third and a half may
/// go), and how far below that a measured wall must lie to be told (mm).
const LABEL_LEAVES: f64 = 2.0 / 3.0;
const LEAD_IN_LEAVES: f64 = 0.5;
const TOLERANCE_MM: f64 = 0.1;
/// How far beyond its tongue's length a groove may reach into a segment (mm).
const GROOVE_PAST_MM: f64 = 2.0;
/// Places that have to be thin before it is told: one or two are the slivers a cut leaves at its edge,
/// thinner than a bead and left out of the print.
const SEEN_BY: usize = 3;
/// How far the spine is looked for beside and beyond itself (mm).
const ASIDE_MM: f64 = 150.0;
/// A place this far beyond the ends of a segment is on its tab (mm).
const BEYOND_MM: f64 = 0.05;

/// A solid that is to be written.
#[derive(Debug, Clone)]
pub struct Piece<'a> {
    /// What it is called on the sheet.
    pub name: String,
    /// It, where it sits. On its bed it is the same, turned as a whole: what holds here holds there.
    pub solid: &'a Solid,
    /// The curve it runs along.
    pub spine: &'a Spine,
    /// What was asked of its walls.
    pub asked: Asked<'a>,
}

/// What is asked of a piece's walls. Lengths in mm.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Thickness of its walls; `None` for a piece that is as thick as it comes out.
    pub wall_mm: Option<f64>,
    /// Thickness of its tabs.
    pub tab_wall_mm: f64,
    /// First and last arc length without tabs.
    pub along: [f64; 2],
    /// Where another proof sees to the wall, or where it runs out: round holes and bosses.
    pub balls: &'a [(Point3, f64)],
    /// The same as stretches of arc length: ends that fade out.
    pub stretches: &'a [[f64; 2]],
}

/// A thickness and where it was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThickAt {
    /// Thickness (mm).
    pub mm: f64,
    /// Where (shop frame, mm).
    pub at: Point3,
    /// Arc length there (mm).
    pub s: f64,
}

/// What was measured of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceProof {
    /// What it is called.
    pub name: String,
    /// What was asked (mm).
    pub asked_mm: Option<f64>,
    /// Walls measured.
    pub places: usize,
    /// Least and most by ray.
    pub ray: Option<[ThickAt; 2]>,
    /// Least and most to the closest opposite surface.
    pub closest: Option<[ThickAt; 2]>,
    /// Where it runs through itself.
    pub crossing: Option<Point3>,
    /// What was found.
    pub findings: Vec<Finding>,
}

/// Measures every piece.
#[must_use]
pub fn prove(pieces: &[Piece<'_>]) -> Vec<PieceProof> {
    let mut spines: Vec<(&Spine, Locator)> = Vec::new();
    for piece in pieces {
        if !spines
            .iter()
            .any(|(spine, _)| std::ptr::eq(*spine, piece.spine))
        {
            let locator = Locator::new(piece.spine, ASIDE_MM, ASIDE_MM);
            spines.push((piece.spine, locator));
        }
    }
    let locator = |piece: &Piece<'_>| {
        let found = spines
            .iter()
            .find(|(spine, _)| std::ptr::eq(*spine, piece.spine));
        found.map(|(_, locator)| locator)
    };
    pieces
        .par_iter()
        .map(|piece| prove_one(piece, locator(piece)))
        .collect()
}

fn prove_one(piece: &Piece<'_>, locator: Option<&Locator>) -> PieceProof {
    let asked = &piece.asked;
    let station = |at: Point3| {
        let quick = locator.and_then(|locator| locator.locate(at.xy()));
        quick.unwrap_or_else(|| piece.spine.locate(at.xy())).0
    };
    let walls: Vec<(WallAt, f64)> = measure_walls(piece.solid.mesh(), PLACES, REACH_MM)
        .into_iter()
        .filter(|wall| {
            let misses = |(at, radius): &(Point3, f64)| (wall.at - at).norm() > *radius;
            asked.balls.iter().all(misses)
        })
        .map(|wall| (wall, station(wall.at)))
        .filter(|(_, s)| !asked.stretches.iter().any(|[a, b]| (*a..=*b).contains(s)))
        .collect();
    let range = |of: fn(&WallAt) -> f64| {
        let by = |a: &&(WallAt, f64), b: &&(WallAt, f64)| of(&a.0).total_cmp(&of(&b.0));
        let at = |(wall, s): &(WallAt, f64)| ThickAt {
            mm: of(wall),
            at: wall.at,
            s: *s,
        };
        let [least, most] = [walls.iter().min_by(by)?, walls.iter().max_by(by)?];
        Some([at(least), at(most)])
    };
    let crossing = find_crossing(piece.solid.mesh()).map(|crossing| crossing.at);
    let mut findings: Vec<Finding> = thin(piece, &walls).into_iter().collect();
    findings.extend(crossing.map(|at| {
        Finding::warning(
            "piece-crosses-itself",
            format!("{} runs through itself", piece.name),
            "its printer's program may fill or leave that place as it likes: change a cut, a keep-out or the wall there",
        )
        .at(station(at))
    }));
    PieceProof {
        name: piece.name.clone(),
        asked_mm: asked.wall_mm,
        places: walls.len(),
        ray: range(|wall| wall.ray_mm),
        closest: range(|wall| wall.ball_mm),
        crossing,
        findings,
    }
}

/// The wall that falls short the most, if one does.
fn thin(piece: &Piece<'_>, walls: &[(WallAt, f64)]) -> Option<Finding> {
    let asked = &piece.asked;
    let wall = asked.wall_mm?;
    let [from, to] = asked.along;
    let least = |s: f64| {
        let on_tab = s < from - BEYOND_MM || s > to + BEYOND_MM;
        let by_cut = (s - from).min(to - s) < LONG_MM + GROOVE_PAST_MM;
        if by_cut && !on_tab {
            wall * (1.0 - MOST_OF_WALL)
        } else if on_tab {
            (asked.tab_wall_mm * LEAD_IN_LEAVES).min(wall * LABEL_LEAVES)
        } else {
            // The tab's root stands on the wall.
            asked.tab_wall_mm.min(wall) * LABEL_LEAVES
        }
    };
    let mut thin: Vec<&(WallAt, f64)> = walls
        .iter()
        .filter(|(at, s)| at.ball_mm < least(*s) - TOLERANCE_MM)
        .collect();
    thin.sort_by(|a, b| a.0.ball_mm.total_cmp(&b.0.ball_mm));
    let (thin, s) = thin.get(SEEN_BY - 1)?;
    Some(
        Finding::warning(
            "piece-wall-off",
            format!(
                "{} is only {:.1} mm thick where {:.1} mm is the least",
                piece.name,
                thin.ball_mm,
                least(*s)
            ),
            "look at the place in its file; move a cut or keep-out that comes close to another there, or ask for a thicker wall",
        )
        .at(*s)
        .size(thin.ball_mm),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Vector3;
    use crate::mesh::samples::block;
    use crate::mesh::{TriMesh, boolean};

    fn spine() -> Spine {
        let points: Vec<Point3> = (0..=10)
            .map(|k| Point3::new(0.0, f64::from(k) * 20.0, 0.0))
            .collect();
        Spine::fit(&points, &[1.0; 11], 50.0, 0.0).unwrap()
    }

    fn solid(low: [f64; 3], size: [f64; 3]) -> Solid {
        Solid::new(block(Point3::from(low), Vector3::from(size))).unwrap()
    }

    fn asked(wall_mm: f64) -> Asked<'static> {
        Asked {
            wall_mm: Some(wall_mm),
            tab_wall_mm: wall_mm,
            along: [0.0, 200.0],
            balls: &[],
            stretches: &[],
        }
    }

    fn one(solid: &Solid, asked: Asked<'_>) -> PieceProof {
        let spine = spine();
        let piece = Piece {
            name: "segment 1".to_owned(),
            solid,
            spine: &spine,
            asked,
        };
        prove(&[piece]).remove(0)
    }

    #[test]
    fn a_groove_as_deep_as_a_third_passes_and_a_deeper_one_is_told() {
        let wall = solid([0.0, 0.0, 0.0], [3.0, 200.0, 60.0]);
        for (depth, told) in [(1.0, false), (1.3, true)] {
            let groove = solid([3.0 - depth, 40.0, 20.0], [5.0, 60.0, 8.0]);
            let cut = boolean::subtract(&wall, &[&groove]).unwrap().unwrap();
            let proof = one(&cut, asked(3.0));
            let [least, most] = proof.closest.unwrap();
            assert!((least.mm - (3.0 - depth)).abs() < 1e-3, "{least:?}");
            assert!((most.mm - 3.0).abs() < 1e-3 && proof.crossing.is_none());
            let codes: Vec<&str> = proof.findings.iter().map(|f| f.code).collect();
            assert_eq!(codes, if told { vec!["piece-wall-off"] } else { vec![] });
            if told {
                let at = proof.findings[0].station_mm.unwrap();
                assert!((40.0..=100.0).contains(&at));
            }
        }
    }

    #[test]
    fn what_is_left_to_another_proof_is_not_told() {
        let thin = solid([0.0, 0.0, 0.0], [1.0, 200.0, 60.0]);
        let mut asked = asked(3.0);
        assert_eq!(one(&thin, asked).findings.len(), 1);
        asked.stretches = &[[-1.0, 201.0]];
        let proof = one(&thin, asked);
        assert!(proof.findings.is_empty() && proof.closest.is_none());
        asked.stretches = &[];
        let ball = [(Point3::new(0.0, 100.0, 30.0), 120.0)];
        asked.balls = &ball;
        assert!(one(&thin, asked).findings.is_empty());
        // All of it beyond the ends: a tab with its lead-in, of which half may go.
        asked.balls = &[];
        asked.along = [300.0, 400.0];
        asked.tab_wall_mm = 2.0;
        assert!(one(&thin, asked).findings.is_empty());
    }

    #[test]
    fn a_piece_that_runs_through_itself_is_told() {
        let two = [[0.0, 0.0, 0.0], [9.0, 3.0, 4.0]]
            .map(|low| block(Point3::from(low), Vector3::repeat(10.0)));
        let mut mesh = TriMesh::default();
        for part in two {
            let n = mesh.points.len() as u32;
            mesh.points.extend(part.points);
            let moved = part.triangles.into_iter().map(|t| t.map(|i| i + n));
            mesh.triangles.extend(moved);
        }
        let crossed = Solid::new(mesh).unwrap();
        let proof = one(
            &crossed,
            Asked {
                wall_mm: None,
                ..asked(3.0)
            },
        );
        assert!(proof.crossing.is_some());
        assert_eq!(proof.findings[0].code, "piece-crosses-itself");
    }
}
