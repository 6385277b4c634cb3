//! The male buck that a part is laid up on and lifted off.

use super::BuckFault;
use super::corner::{Rounds, ease};
use super::course::{Course, Row};
use super::covered::Covered;
use super::draft::Draft;
use super::holes::{Cut, Detail, DetailKind};
use super::layout::{Layout, back_at};
use super::marks::{self, Ends, LEAST_RUN_OUT_MM, end_runs};
use super::moulded::{Moulded, Piece, draft_finding};
use super::ribs::{self, Hollow};
use crate::diag::Finding;
use crate::math::{Point2, Spine};
use crate::mesh::{Solid, TriMesh, boolean, self_cross};
use crate::panel::loft::Loft;
use crate::panel::{Panel, Section, hold_slope};
use crate::progress::Progress;

/// Rows past the ends of the panel stand no farther apart (mm).
const ROW_MM: f64 = 5.0;
/// Radius left at the back in a bend (mm), least depth there and at the top (mm), and how fast the depth
/// gives way for each mm along.
const BACK_RADIUS_MM: f64 = 6.0;
const LEAST_DEPTH_MM: f64 = 8.0;
const DEPTH_TAPER: f64 = 0.5;

/// How the part is lifted off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Lift {
    /// Whichever way leaves the most draft where there is least.
    #[default]
    Auto,
    /// Straight up.
    Up,
    /// Level, the way the face looks on the whole.
    Out,
}

/// What the job says about the buck. Lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct BuckOptions {
    /// What goes on top of it.
    pub on_top: OnTop,
    /// How far the cloth goes on past the trim line.
    pub allowance_mm: f64,
    /// Height of the plinth under that.
    pub base_mm: f64,
    /// Depth behind the rearmost of the face.
    pub depth_mm: f64,
    /// Wall of a hollow buck; zero for a solid one.
    pub wall_mm: f64,
    /// Greatest distance from one rib to the next.
    pub rib_mm: f64,
    /// Thickness of the dowels.
    pub dowel_mm: f64,
    /// Least radius that the cloth takes in a hollow corner.
    pub cloth_radius_mm: f64,
    /// Draft that is asked for (rad).
    pub draft: f64,
    /// How the part is lifted off.
    pub lift: Lift,
}

impl Default for BuckOptions {
    fn default() -> Self {
        Self {
            on_top: OnTop {
                release_mm: 0.1,
                laminate_mm: 2.0,
                filler_mm: 0.5,
            },
            allowance_mm: 25.0,
            base_mm: 16.0,
            depth_mm: 30.0,
            wall_mm: 5.0,
            rib_mm: 60.0,
            dowel_mm: 6.0,
            cloth_radius_mm: 3.0,
            draft: 2f64.to_radians(),
            lift: Lift::Auto,
        }
    }
}

/// What goes on top of the buck, from inside out (mm).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OnTop {
    /// Release: wax or film.
    pub release_mm: f64,
    /// The laminate.
    pub laminate_mm: f64,
    /// Filler, primer and paint, less what is sanded away.
    pub filler_mm: f64,
}

impl OnTop {
    /// All of it (mm).
    #[must_use]
    pub fn total(self) -> f64 {
        self.release_mm + self.laminate_mm + self.filler_mm
    }
}

/// The buck in one station plane, in (x outward, z up), mm.
#[derive(Debug, Clone, PartialEq)]
pub struct BuckSection {
    /// Arc length along the spine (mm).
    pub s: f64,
    /// The finished part's outside, from foot to top.
    pub intended: Vec<Point2>,
    /// The laminate's outside under filler and paint.
    pub laid: Vec<Point2>,
    /// The buck's face under it, from trim line to trim line.
    pub face: Vec<Point2>,
    /// The whole outline without grooves, anticlockwise.
    pub outline: Vec<Point2>,
}

impl BuckSection {
    /// The upright back, from its lower to its upper end.
    #[must_use]
    pub fn back(&self) -> Option<[Point2; 2]> {
        let rear = self.outline.iter().map(|p| p.x).reduce(f64::min)?;
        let on_it = self.outline.iter().filter(|p| p.x - rear < 1e-6);
        let low = on_it.clone().map(|p| p.y).reduce(f64::min)?;
        let high = on_it.map(|p| p.y).reduce(f64::max)?;
        Some([Point2::new(rear, low), Point2::new(rear, high)])
    }
}

/// The buck.
#[derive(Debug, Clone)]
pub struct Buck {
    /// The finished solid (shop frame, mm).
    pub solid: Solid,
    /// What goes on top of it.
    pub on_top: OnTop,
    /// Its sections between the trim line's ends.
    pub sections: Vec<BuckSection>,
    /// The face with the run-outs that the cloth covers.
    pub covered: Covered,
    /// The face between the trim lines, without grooves.
    pub face: TriMesh,
    /// That face against the lift.
    pub draft: Draft,
    /// The stretches that come off with the draft asked for, each its own way; one if the whole does. The
    /// part is split between them. None if nothing helps.
    pub pieces: Vec<Piece>,
    /// Wall of a hollow buck (mm).
    pub wall_mm: Option<f64>,
    /// How many cells it has, and how many were left solid for want of room.
    pub cells: [usize; 2],
    /// Arc lengths of the ribs of a hollow buck (mm).
    pub ribs: Vec<f64>,
    /// Arc lengths of the ticks (mm).
    pub ticks: Vec<f64>,
    /// Arc lengths of the trim line's ends (mm).
    pub trim: [f64; 2],
    /// Holes and places to wedge.
    pub details: Vec<Detail>,
    /// Stretches of arc length (mm) that no cut between its segments may enter.
    pub keep_clear: Vec<[f64; 2]>,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}

/// Makes the buck of a panel: its finished outside, set in by all that goes on top, carried past the trim
/// line all round, on a flat base. The flange is not on it: its underside would hold the part.
///
/// The face offset outward by [`OnTop::total`] is the panel's outside to within the chords of the rows,
/// but for hollow corners, which are made round for the cloth. The buck is one closed solid that does not
/// run through itself. A wall of a hollow one is measured square to the face, less the depth of a groove.
///
/// # Errors
/// [`BuckFault`] where the options cannot be used or a bend leaves no room behind the face.
pub fn design(
    panel: &Panel,
    spine: &Spine,
    options: &BuckOptions,
    watch: &Progress,
) -> Result<Buck, BuckFault> {
    check(options)?;
    let on_top = options.on_top;
    step(watch, "shaping the buck", 0.0)?;
    let mut findings = Vec::new();
    let outside = outside(&panel.sections)?;
    let trim = outside.ends();
    let places = places(&outside, options.allowance_mm);
    let intended = outside.at_places(&places);
    let laid = intended.set_in(spine, on_top.filler_mm);
    let bare = intended.set_in(spine, on_top.total());
    let rounds = Rounds {
        cloth: options.cloth_radius_mm,
        on_top: on_top.total(),
    };
    let (face, eased) = ease(&bare, rounds);
    if let Some(most) = eased.iter().max_by(|a, b| a.over.total_cmp(&b.over)) {
        findings.push(
            Finding::note(
                "buck-corner-eased",
                format!(
                    "a hollow corner of the buck is filled to a radius of {:.1} mm, so that cloth lies down in it",
                    rounds.cloth.max(rounds.on_top)
                ),
            )
            .at(most.s)
            .size(most.over),
        );
    }
    let ends = carry(&bare, spine, options, &mut findings)?;
    let fronts = fronts(&face, &ends)?;
    let carried = fronts_plain(&bare, &ends);
    let back = back(&fronts, spine, options)?;
    let covered = Covered::carried(&face, &past(&bare, &ends, options.allowance_mm), trim);

    let (grooved, ticks) = marks::cut_in(&fronts, trim);
    let count = grooved.rows.first().map_or(0, |row| row.points.len());
    let outlines: Vec<(f64, Vec<Point2>)> = (grooved.rows.iter())
        .map(|row| (row.s, ribs::outline(&row.points, back_at(&back, row.s))))
        .collect();
    let placed = outlines.iter().map(|(s, o)| (*s, o.as_slice()));
    let whole = Solid::new(Loft::new(spine, placed, &ribs::cap(count)).mesh().clone())?;

    step(watch, "hollowing and drilling the buck", 0.3)?;
    let bays = Layout::new(&carried, options);
    let cells = if options.wall_mm > 0.0 {
        let hollow = Hollow {
            spine,
            carried: &carried,
            back: &back,
            wall: options.wall_mm,
        };
        hollow.cells(&bays.ribs)?
    } else {
        Vec::new()
    };
    let site = |s: f64, front: &[Point2]| -> Result<Vec<Cut>, BuckFault> {
        bays.cuts(s, front, (spine, &back), options)
    };
    let mut cuts = Vec::new();
    for s in bays.all() {
        cuts.extend(site(s, &carried.at(s))?);
    }
    let mut groups: Vec<Vec<&Solid>> = vec![cells.iter().collect()];
    for kinds in [
        &[DetailKind::RibDowel][..],
        &[DetailKind::Wedge],
        &[DetailKind::Air, DetailKind::Clamp, DetailKind::BoardDowel],
    ] {
        let like = cuts.iter().filter(|(cut, _)| kinds.contains(&cut.kind));
        groups.push(like.map(|(_, solid)| solid).collect());
    }
    let taken = (groups.into_iter())
        .map(joined)
        .collect::<Result<Vec<_>, BuckFault>>()?;
    let taken: Vec<&Solid> = taken.iter().flatten().collect();
    let solid = boolean::subtract(&whole, &taken)?.ok_or(BuckFault::NoOutside)?;
    step(watch, "proving the buck", 0.7)?;
    if let Some(crossing) = self_cross::find_crossing(solid.mesh()) {
        return Err(BuckFault::Crossing {
            station_mm: spine.locate(crossing.at.xy()).0,
        });
    }

    let moulded = Moulded::new(&fronts, spine, trim);
    let lift = moulded.way(options.lift);
    let draft = Draft::measure(&moulded.face, lift, options.draft);
    let pieces = moulded.pieces(options.draft);
    findings.extend(draft_finding(&draft, &pieces, options.draft));
    let left_solid = bays.cells(options).saturating_sub(cells.len());
    if left_solid > 0 {
        findings.push(Finding::note(
            "buck-cell-solid",
            format!(
                "{left_solid} of the buck's cells stay solid: there is no room inside of the walls"
            ),
        ));
    }
    watch.tell("proving the buck", 1.0);
    Ok(Buck {
        sections: sections([&intended, &laid, &face, &fronts], &back, trim),
        on_top,
        covered,
        face: moulded.face,
        draft,
        pieces,
        wall_mm: (options.wall_mm > 0.0).then_some(options.wall_mm),
        cells: [cells.len(), left_solid],
        keep_clear: bays.keep_clear(options),
        ribs: bays.ribs,
        ticks,
        trim,
        details: cuts.into_iter().map(|(detail, _)| detail).collect(),
        solid,
        findings,
    })
}

/// Solids as one operand: side by side where they are clear of each other, which is far quicker than one
/// boolean for each; united where they are not.
fn joined(parts: Vec<&Solid>) -> Result<Option<Solid>, BuckFault> {
    let mut mesh = TriMesh::default();
    for part in &parts {
        mesh.append(part.mesh());
    }
    if parts.is_empty() {
        return Ok(None);
    }
    match Solid::new(mesh) {
        Ok(side_by_side) if self_cross::find_crossing(side_by_side.mesh()).is_none() => {
            Ok(Some(side_by_side))
        }
        _ => Ok(boolean::unite(&parts)?),
    }
}

fn step(watch: &Progress, work: &str, share: f64) -> Result<(), BuckFault> {
    if watch.is_cancelled() {
        return Err(BuckFault::Cancelled);
    }
    watch.tell(work, share);
    Ok(())
}

fn check(o: &BuckOptions) -> Result<(), BuckFault> {
    let values = [
        ("laminate_mm", o.on_top.laminate_mm, 0.0, 20.0),
        ("filler_mm", o.on_top.filler_mm, 0.0, 5.0),
        ("release_mm", o.on_top.release_mm, 0.0, 2.0),
        ("allowance_mm", o.allowance_mm, 12.0, 100.0),
        ("base_mm", o.base_mm, 10.0, 200.0),
        ("depth_mm", o.depth_mm, LEAST_DEPTH_MM, 500.0),
        ("wall_mm", o.wall_mm, 0.0, 30.0),
        ("rib_mm", o.rib_mm, 20.0, 500.0),
        ("dowel_mm", o.dowel_mm, 2.0, 20.0),
        ("cloth_radius_mm", o.cloth_radius_mm, 0.0, 30.0),
        ("draft_deg", o.draft.to_degrees(), 0.0, 30.0),
    ];
    for (name, value, least, most) in values {
        // Written so that a value that is not a number is refused as well.
        if !(value >= least && value <= most) {
            return Err(BuckFault::BadValue {
                name,
                value,
                least,
                most,
            });
        }
    }
    Ok(())
}

/// The finished outside of every section, from foot to top.
fn outside(sections: &[Section]) -> Result<Course, BuckFault> {
    let rows: Vec<Row> = (sections.iter())
        .map(|section| Row {
            s: section.s,
            points: section.finished.clone(),
        })
        .collect();
    let count = rows.first().map_or(0, |row| row.points.len());
    let alike = rows.iter().all(|row| row.points.len() == count);
    if rows.len() < 2 || count < 2 || !alike {
        return Err(BuckFault::NoOutside);
    }
    Ok(Course { rows })
}

/// Where the rows stand: at the panel's sections and past its ends.
fn places(outside: &Course, allowance: f64) -> Vec<f64> {
    let [first, last] = outside.ends();
    let count = (allowance / ROW_MM).ceil().max(1.0) as usize;
    let past = |k: usize| allowance * k as f64 / count as f64;
    let mut all: Vec<f64> = (1..=count).rev().map(|k| first - past(k)).collect();
    all.extend(outside.rows.iter().map(|row| row.s));
    all.extend((1..=count).map(|k| last + past(k)));
    all
}

/// Carries the face straight on: down to one flat base, and up past its top.
fn carry(
    face: &Course,
    spine: &Spine,
    options: &BuckOptions,
    findings: &mut Vec<Finding>,
) -> Result<Vec<Ends>, BuckFault> {
    let runs: Vec<_> = (face.rows.iter())
        .map(|row| end_runs(&row.points).ok_or(BuckFault::NoOutside))
        .collect::<Result<_, _>>()?;
    let foot = |row: &Row| row.points.first().copied().unwrap_or_else(Point2::origin);
    let top = |row: &Row| row.points.last().copied().unwrap_or_else(Point2::origin);
    let base = (face.rows.iter().zip(&runs))
        .map(|(row, [up, _])| foot(row).y - options.allowance_mm * up.y.max(0.0))
        .fold(f64::INFINITY, f64::min)
        - options.base_mm;
    let along: Vec<f64> = face.rows.iter().map(|row| row.s).collect();
    let mut lengths: Vec<f64> = (face.rows.iter().zip(&runs))
        .map(|(row, [_, on])| {
            let room = top(row).x - rearmost(spine, row.s) - LEAST_DEPTH_MM;
            if on.x < -1e-6 {
                options.allowance_mm.min(room / -on.x)
            } else {
                options.allowance_mm
            }
        })
        .collect();
    hold_slope(&along, &mut lengths, DEPTH_TAPER);
    let shortest = (along.iter().zip(&lengths)).min_by(|a, b| a.1.total_cmp(b.1));
    if let Some((&s, &length)) = shortest.filter(|(_, l)| **l < options.allowance_mm - 0.05) {
        if length < LEAST_RUN_OUT_MM {
            return Err(BuckFault::TooTight {
                station_mm: s,
                depth_mm: length.max(0.0),
            });
        }
        findings.push(
            Finding::warning(
                "buck-run-out-short",
                format!("the buck's run-out over the top shrinks to {length:.1} mm where the face bends tightly"),
                "lay the cloth's edge with care there",
            )
            .at(s)
            .size(length),
        );
    }
    Ok((face.rows.iter().zip(&runs).zip(&lengths))
        .map(|((row, [up, on]), length)| {
            let foot = foot(row);
            // A face that hardly rises is carried down steeper than it runs.
            let down = (foot.y - base) / up.y.max(0.5);
            Ends {
                bottom: Point2::new(foot.x - up.x * down, base),
                top: top(row) + on * *length,
            }
        })
        .collect())
}

/// How far the cloth goes at every row: past the foot, and past the top.
fn past(face: &Course, ends: &[Ends], allowance: f64) -> Vec<[Point2; 2]> {
    (face.rows.iter().zip(ends))
        .map(|(row, ends)| {
            let foot = row.points.first().copied().unwrap_or(ends.bottom);
            let down = ends.bottom - foot;
            let share = (allowance / down.norm().max(1e-9)).min(1.0);
            [foot + down * share, ends.top]
        })
        .collect()
}

/// Offset that the back may reach at a station: short of the centre of the bend.
fn rearmost(spine: &Spine, s: f64) -> f64 {
    let curvature = spine.curvature_at(s);
    if curvature > 1e-9 {
        BACK_RADIUS_MM - 1.0 / curvature
    } else {
        f64::NEG_INFINITY
    }
}

fn fronts(face: &Course, ends: &[Ends]) -> Result<Course, BuckFault> {
    let rows = face.rows.iter().zip(ends).map(|(row, ends)| {
        let points = marks::front(&row.points, *ends).ok_or(BuckFault::NoOutside)?;
        Ok(Row { s: row.s, points })
    });
    Ok(Course {
        rows: rows.collect::<Result<_, BuckFault>>()?,
    })
}

fn fronts_plain(face: &Course, ends: &[Ends]) -> Course {
    let rows = face.rows.iter().zip(ends).map(|(row, ends)| {
        let mut points = vec![ends.bottom];
        points.extend(&row.points);
        points.push(ends.top);
        Row { s: row.s, points }
    });
    Course {
        rows: rows.collect(),
    }
}

/// The back, upright at every station, as two corners.
fn back(fronts: &Course, spine: &Spine, options: &BuckOptions) -> Result<Course, BuckFault> {
    let along: Vec<f64> = fronts.rows.iter().map(|row| row.s).collect();
    let rear: Vec<f64> = (fronts.rows.iter())
        .map(|row| row.points.iter().map(|p| p.x).fold(f64::INFINITY, f64::min))
        .collect();
    let mut depths: Vec<f64> = (along.iter().zip(&rear))
        .map(|(&s, rear)| options.depth_mm.min(rear - rearmost(spine, s)))
        .collect();
    hold_slope(&along, &mut depths, DEPTH_TAPER);
    let shallow = (along.iter().zip(&depths)).find(|(_, depth)| **depth < LEAST_DEPTH_MM - 1e-6);
    if let Some((&station_mm, &depth_mm)) = shallow {
        return Err(BuckFault::TooTight {
            station_mm,
            depth_mm,
        });
    }
    let rows = (along.iter().zip(&rear).zip(&depths)).map(|((&s, rear), depth)| Row {
        s,
        points: vec![
            Point2::new(rear - depth, 0.0),
            Point2::new(rear - depth, 100.0),
        ],
    });
    Ok(Course {
        rows: rows.collect(),
    })
}

fn sections(
    [intended, laid, face, fronts]: [&Course; 4],
    back: &Course,
    trim: [f64; 2],
) -> Vec<BuckSection> {
    let inside = |row: &&Row| trim[0] <= row.s && row.s <= trim[1];
    let rows = |course: &'_ Course| -> Vec<Vec<Point2>> {
        let kept = course.rows.iter().filter(inside);
        kept.map(|row| row.points.clone()).collect()
    };
    (intended.rows.iter().filter(inside))
        .zip(rows(laid))
        .zip(rows(face))
        .zip(rows(fronts))
        .map(|(((row, laid), face), front)| BuckSection {
            s: row.s,
            intended: row.points.clone(),
            laid,
            face,
            outline: ribs::outline(&front, back_at(back, row.s)),
        })
        .collect()
}
