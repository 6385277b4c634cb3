//! Where the outside of the panel stands at each section.

use super::face;
use super::foot::tray_height;
use super::lines::{Lines, hold_slope};
use super::outboard::Toe;
use super::section::{Outside, corner_way, inward};
use super::setback::stretch;
use super::{FaceStyle, FootKind, PanelFault, PanelOptions, Shape};
use crate::diag::Finding;
use crate::gap::Survey;
use crate::math::{Point2, StationFrame, Vector2, Vector3};

/// Radius left at the tip of the flange in a tight bend (mm).
pub(super) const TIP_RADIUS_MM: f64 = 5.0;
/// Radius below which a sweep is taken to fold over (mm).
const FOLD_RADIUS_MM: f64 = 1.0;
/// A flange that has to give way does so over a length: this much of its depth for each mm along.
pub(super) const FLANGE_TAPER: f64 = 0.5;
/// Share of the flange, from its tip to where the fillet ends, at which its middle corner lies.
const MIDDLE: f64 = 0.3;
/// Rounds of moving a corner onto the tray, which hardly slopes.
const ROUNDS: usize = 4;
/// A bow that is held by more than this is told (mm).
const HELD_MM: f64 = 0.2;

/// The outside at one section.
#[derive(Debug, Clone)]
pub struct Stance {
    /// Arc length (mm).
    pub s: f64,
    /// The station plane there.
    pub frame: StationFrame,
    /// The section's numbers there.
    pub shape: Shape,
    /// Corners of the print's outside.
    pub outside: Outside,
    /// The outside with what is laid over it, from the foot to the top.
    pub finished: Vec<Point2>,
    /// A flange that runs outboard.
    pub toe: Option<Toe>,
}

/// Shallowest flange that still makes a section (mm).
pub fn least_flange(wall_mm: f64) -> f64 {
    1.5 * wall_mm + 1.0
}

/// Sets the outside up at every section, drawn back by what is laid over it, shortening the flange where
/// the gap bends tightly.
///
/// # Errors
/// [`PanelFault::TooTight`] where even the shallowest flange would fold over.
pub fn take(
    survey: &Survey,
    lines: &Lines,
    options: &PanelOptions,
    findings: &mut Vec<Finding>,
) -> Result<Vec<Stance>, PanelFault> {
    let places = lines.section_places(&survey.spine, options);
    let mut held = Held::default();
    let rows: Vec<Row> = places
        .iter()
        .map(|&s| Row::at(s, survey, lines, options, &mut held))
        .collect();
    findings.extend(held.finding());
    let printed: Vec<Vec<Point2>> = (0..rows.len())
        .map(|i| drawn_back(&rows, i, survey))
        .collect();
    let depths = flange_depths(survey, &rows, &printed, options, findings)?;
    let stances = rows.into_iter().zip(printed).zip(depths);
    Ok(stances
        .map(|((row, mut printed), depth)| {
            let on_tray = |x: f64| Point2::new(x, tray_height(&survey.tray, row.s, x));
            let foot = on_tray(printed[0].x);
            let lip = if row.has_lip { printed.pop() } else { None };
            let knee = printed.pop().unwrap_or(foot);
            let tip = foot.x - depth;
            let near = foot.x
                - match options.foot {
                    FootKind::Inboard => (row.shape.wall + row.shape.fillet).min(0.7 * depth),
                    FootKind::Outboard | FootKind::None => 0.7 * depth,
                };
            Stance {
                s: row.s,
                frame: row.frame,
                shape: row.shape,
                outside: Outside {
                    tip: on_tray(tip),
                    middle: on_tray(tip + MIDDLE * (near - tip)),
                    near: on_tray(near),
                    foot,
                    kind: options.foot,
                    between: printed.split_off(1),
                    knee,
                    lip,
                },
                finished: row.finished,
                toe: row.toe,
            }
        })
        .collect())
}

/// The finished outside at one place.
struct Row {
    s: f64,
    frame: StationFrame,
    shape: Shape,
    has_lip: bool,
    finished: Vec<Point2>,
    toe: Option<Toe>,
}

impl Row {
    fn at(s: f64, survey: &Survey, lines: &Lines, options: &PanelOptions, held: &mut Held) -> Self {
        let mut shape = options.shape_at(s);
        let fillet = shape.fillet;
        let toe = (options.foot == FootKind::Outboard).then_some(Toe {
            depth: shape.flange,
            fillet,
        });
        if options.foot != FootKind::Inboard {
            // The wall's own breadth, and nothing in the corner behind it.
            (shape.flange, shape.fillet) = (least_flange(shape.wall), 0.0);
        }
        let knee = Point2::new(lines.face(s), lines.height.at(s));
        let mut foot = Point2::new(knee.x, tray_height(&survey.tray, s, knee.x));
        if shape.lean != 0.0 {
            for _ in 0..ROUNDS {
                foot.x = knee.x + (knee.y - foot.y) * shape.lean.tan();
                foot.y = tray_height(&survey.tray, s, foot.x);
            }
        }
        let mut finished = vec![foot];
        if options.face != FaceStyle::Straight {
            let wanted = match options.face {
                FaceStyle::Tangent => face::tangent_bow(foot, knee, lines.skin_lean.at(s)),
                FaceStyle::Straight | FaceStyle::Bowed => shape.bow,
            };
            let depth = shape.thickest() + shape.overlay;
            let bow = face::held_bow(foot, knee, wanted, depth);
            held.note(s, wanted, bow);
            let fillet = if toe.is_some() { fillet } else { shape.fillet };
            let first = shape.overlay + shape.wall + 1.6 * fillet + 1.0;
            let last = shape.overlay + shape.wall_top;
            finished.extend(face::arc(foot, knee, bow, [first, last]));
        }
        finished.push(knee);
        let lip = lines
            .lip(s)
            .map(|lip| knee + Vector2::new(-lip.lean.sin(), lip.lean.cos()) * lip.length);
        finished.extend(lip);
        Self {
            s,
            frame: survey.spine.frame_at(s),
            shape,
            has_lip: lip.is_some(),
            finished,
            toe,
        }
    }
}

/// Where the bow was held back most.
#[derive(Default)]
struct Held {
    worst: Option<(f64, f64, f64)>,
}

impl Held {
    fn note(&mut self, s: f64, wanted: f64, bow: f64) {
        let short = (wanted - bow).abs();
        let worse = self
            .worst
            .is_none_or(|(_, wanted, bow)| short > (wanted - bow).abs());
        if short > HELD_MM && worse {
            self.worst = Some((s, wanted, bow));
        }
    }

    fn finding(&self) -> Option<Finding> {
        let (s, wanted, bow) = self.worst?;
        Some(
            Finding::warning(
                "bow-held",
                format!(
                    "the face bows by {bow:.1} mm where {wanted:.1} mm was wanted: it is not high enough for \
                     more with this wall"
                ),
                "ask for less bow_mm or a thinner wall_mm under [panel]",
            )
            .at(s)
            .size((wanted - bow).abs()),
        )
    }
}

/// The print's outside under what is laid over it: foot on the tray, a land at its height, every other
/// corner square under its own, at the way square to the surface in space.
fn drawn_back(rows: &[Row], i: usize, survey: &Survey) -> Vec<Point2> {
    let row = &rows[i];
    let line = &row.finished;
    let by = row.shape.overlay;
    let last = line.len() - 1;
    if by <= 0.0 {
        return line.clone();
    }
    let place = |row: &Row, k: usize| row.finished.get(k).map(|p| row.frame.to_shop(*p));
    let (before, after) = (
        i.checked_sub(1).and_then(|k| rows.get(k)).unwrap_or(row),
        rows.get(i + 1).unwrap_or(row),
    );
    (0..line.len())
        .map(|k| {
            let chord = match (place(before, k), place(after, k)) {
                (Some(a), Some(b)) => b - a,
                _ => Vector3::zeros(),
            };
            let run = line[(k + 1).min(last)] - line[k.saturating_sub(1)];
            let by = by * stretch(&row.frame, run, chord);
            let at_end = k == 0 || k == last;
            let way = if at_end {
                inward(run)
            } else {
                corner_way(line, k)
            };
            let mut p = line[k] + way * by;
            let up = run.try_normalize(1e-9).unwrap_or_else(Vector2::y);
            let level = |p: Point2| {
                if k == 0 {
                    Some(tray_height(&survey.tray, row.s, p.x))
                } else {
                    (k == last && !row.has_lip).then_some(line[last].y)
                }
            };
            for _ in 0..ROUNDS {
                if let Some(height) = level(p) {
                    p += up * ((height - p.y) / up.y.max(0.2));
                }
            }
            p
        })
        .collect()
}

/// Depth of the flange at each place.
fn flange_depths(
    survey: &Survey,
    rows: &[Row],
    printed: &[Vec<Point2>],
    options: &PanelOptions,
    findings: &mut Vec<Finding>,
) -> Result<Vec<f64>, PanelFault> {
    let mut depths = Vec::with_capacity(rows.len());
    for (row, printed) in rows.iter().zip(printed) {
        let least = least_flange(row.shape.wall);
        let curvature = survey.spine.curvature_at(row.s);
        let foot = printed.first().map_or(0.0, |p| p.x);
        let face = printed.len() - usize::from(row.has_lip);
        let inmost = printed.iter().take(face).map(|p| p.x).fold(foot, f64::min);
        if curvature.abs() < 1e-9 {
            depths.push(row.shape.flange);
            continue;
        }
        // Radius of the outside of the face, toward whichever side the centre lies on.
        let radius = |x: f64| (1.0 / curvature + x) * curvature.signum();
        let inward = curvature > 0.0;
        let folds = if inward {
            radius(foot).min(radius(inmost)) - least
        } else {
            radius(foot)
        } < FOLD_RADIUS_MM;
        if folds {
            return Err(PanelFault::TooTight {
                station_mm: row.s,
                radius_mm: radius(foot).max(0.0),
            });
        }
        let room = if inward {
            radius(foot) - TIP_RADIUS_MM
        } else {
            f64::INFINITY
        };
        depths.push(row.shape.flange.min(room).max(least));
    }
    let places: Vec<f64> = rows.iter().map(|row| row.s).collect();
    hold_slope(&places, &mut depths, FLANGE_TAPER);
    let shortest = rows
        .iter()
        .zip(&depths)
        .map(|(row, depth)| (row, *depth, row.shape.flange - depth))
        .max_by(|a, b| a.2.total_cmp(&b.2))
        .filter(|(.., short)| *short > 0.05 && options.changes.is_empty() || *short > 1.0);
    if let Some((row, depth, short)) = shortest {
        findings.push(
            Finding::warning(
                "flange-shortened",
                format!(
                    "the flange is shortened to {depth:.1} mm where the gap bends too tightly for \
                     {:.0} mm",
                    row.shape.flange
                ),
                "there is less to glue or screw down there",
            )
            .at(row.s)
            .size(short),
        );
    }
    Ok(depths)
}
