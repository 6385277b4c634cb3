//! Where the outside of the panel stands at each section.

use super::foot::tray_height;
use super::lines::{Lines, hold_slope};
use super::section::Outside;
use super::{PanelFault, PanelOptions};
use crate::diag::Finding;
use crate::gap::Survey;
use crate::math::{Point2, StationFrame, Vector2};

/// Radius left at the tip of the flange in a tight bend (mm).
const TIP_RADIUS_MM: f64 = 5.0;
/// Radius below which a sweep is taken to fold over (mm).
const FOLD_RADIUS_MM: f64 = 1.0;
/// A flange that has to give way does so over a length: this much of its depth for each mm along.
const FLANGE_TAPER: f64 = 0.5;
/// Share of the flange, from its tip to where the fillet ends, at which its middle corner lies.
const MIDDLE: f64 = 0.3;

/// The outside at one section.
#[derive(Debug, Clone, Copy)]
pub struct Stance {
    /// Arc length (mm).
    pub s: f64,
    /// The station plane there.
    pub frame: StationFrame,
    /// Corners of the outside.
    pub outside: Outside,
}

/// Shallowest flange that still makes a section (mm).
pub fn least_flange(wall_mm: f64) -> f64 {
    1.5 * wall_mm + 1.0
}

/// Sets the outside up at every section, shortening the flange where the gap bends tightly.
///
/// # Errors
/// [`PanelFault::TooTight`] where even the shallowest flange would fold over.
pub fn take(
    survey: &Survey,
    lines: &Lines,
    options: &PanelOptions,
    findings: &mut Vec<Finding>,
) -> Result<Vec<Stance>, PanelFault> {
    let places = lines.section_places(&survey.spine);
    let depths = flange_depths(survey, lines, options, &places, findings)?;
    Ok(places
        .iter()
        .zip(depths)
        .map(|(&s, depth)| {
            let on_tray = |x: f64| Point2::new(x, tray_height(&survey.tray, s, x));
            let (face, height) = (lines.face(s), lines.height.at(s));
            let tip = face - depth;
            let near = face - (options.wall_mm + options.fillet_mm).min(0.7 * depth);
            let knee = Point2::new(face, height);
            let lip = lines
                .lip(s)
                .map(|lip| knee + Vector2::new(-lip.lean.sin(), lip.lean.cos()) * lip.length);
            Stance {
                s,
                frame: survey.spine.frame_at(s),
                outside: Outside {
                    tip: on_tray(tip),
                    middle: on_tray(tip + MIDDLE * (near - tip)),
                    near: on_tray(near),
                    foot: on_tray(face),
                    knee,
                    lip,
                },
            }
        })
        .collect())
}

/// Depth of the flange at each place.
fn flange_depths(
    survey: &Survey,
    lines: &Lines,
    options: &PanelOptions,
    places: &[f64],
    findings: &mut Vec<Finding>,
) -> Result<Vec<f64>, PanelFault> {
    let least = least_flange(options.wall_mm);
    let mut depths = Vec::with_capacity(places.len());
    for &s in places {
        let (curvature, face) = (survey.spine.curvature_at(s), lines.face(s));
        if curvature.abs() < 1e-9 {
            depths.push(options.flange_mm);
            continue;
        }
        // Radius of the outside of the face, toward whichever side the centre lies on.
        let radius = (1.0 / curvature + face) * curvature.signum();
        let inward = curvature > 0.0;
        let folds = if inward { radius - least } else { radius } < FOLD_RADIUS_MM;
        if folds {
            return Err(PanelFault::TooTight {
                station_mm: s,
                radius_mm: radius.max(0.0),
            });
        }
        let room = if inward {
            radius - TIP_RADIUS_MM
        } else {
            f64::INFINITY
        };
        depths.push(options.flange_mm.min(room).max(least));
    }
    hold_slope(places, &mut depths, FLANGE_TAPER);
    let shortest = places
        .iter()
        .zip(&depths)
        .min_by(|a, b| a.1.total_cmp(b.1))
        .filter(|(_, depth)| **depth < options.flange_mm - 0.05);
    if let Some((&s, &depth)) = shortest {
        findings.push(
            Finding::warning(
                "flange-shortened",
                format!(
                    "the flange is shortened to {depth:.1} mm where the gap bends too tightly for \
                     {:.0} mm",
                    options.flange_mm
                ),
                "there is less to glue or screw down there",
            )
            .at(s)
            .size(options.flange_mm - depth),
        );
    }
    Ok(depths)
}
