//! A fade: towards its end the panel's top falls smoothly until it lies on the tray.

use super::Section;
use super::foot::tray_height;
use super::loft::Loft;
use super::profile::Profile;
use super::stance::Stance;
use crate::gap::Survey;
use crate::math::Point2;
use crate::mesh::{Solid, SolidFault};

/// Height left at the very end (mm), or half a wall where that is more: thin enough to lie flat, thick
/// enough to print and not to chip. Common practice, no source.
const LOW_MM: f64 = 1.5;
/// Length between the cutter's outlines (mm).
const STEP_MM: f64 = 1.0;
/// The cutter reaches this far past the panel on every side but below (mm).
const PAST_MM: f64 = 2.0;
/// Where the fade begins the cut is this far over the top (mm), so that it meets the top at an angle.
const OVER_MM: f64 = 0.25;
/// Columns of the cutter.
const ACROSS: usize = 6;

/// The course of the top over one end.
#[derive(Debug)]
pub struct Fade {
    /// Arc length of the end (mm).
    end: f64,
    /// 1 where the panel goes on to the right of it, else -1.
    into: f64,
    length: f64,
    low: f64,
    foot: Profile,
    top: Profile,
    /// Offset of the face's foot, and the least and greatest offset of the section.
    face: Profile,
    least: Profile,
    most: Profile,
}

impl Fade {
    /// A fade over `length` mm from arc length `end`.
    pub fn new(
        end: f64,
        into: f64,
        length: f64,
        stances: &[Stance],
        sections: &[Section],
        wall_mm: f64,
    ) -> Self {
        let along: Vec<f64> = sections.iter().map(|section| section.s).collect();
        let profile = |value: &dyn Fn(usize) -> f64| {
            Profile::new(along.clone(), (0..along.len()).map(value).collect())
        };
        let fold = |i: usize, of: fn(&Point2) -> f64, start: f64, pick: fn(f64, f64) -> f64| {
            sections[i].outline.iter().map(of).fold(start, pick)
        };
        Self {
            end,
            into,
            length,
            low: LOW_MM.max(0.5 * wall_mm),
            foot: profile(&|i| stances[i].outside.foot.y),
            face: profile(&|i| stances[i].outside.foot.x),
            top: profile(&|i| fold(i, |p| p.y, f64::NEG_INFINITY, f64::max)),
            least: profile(&|i| fold(i, |p| p.x, f64::INFINITY, f64::min)),
            most: profile(&|i| fold(i, |p| p.x, f64::NEG_INFINITY, f64::max)),
        }
    }

    /// Height of the top (mm above the shop plane) at the face, `None` away from the fade.
    pub fn height(&self, s: f64) -> Option<f64> {
        let share = (s - self.end) * self.into / self.length.max(1e-9);
        (share < 1.0).then(|| {
            let t = share.max(0.0);
            let foot = self.foot.at(s) + self.low;
            // Smoothstep: level at both ends, so that the top runs on without a corner.
            let rise = t * t * (3.0 - 2.0 * t);
            foot + (self.top.at(s) + OVER_MM - foot).max(0.0) * rise
        })
    }

    /// What is to be taken away. Its underside runs parallel to the tray, so that the flange keeps its
    /// thickness as long as the face is higher.
    ///
    /// # Errors
    /// If it does not come out as a solid.
    pub fn cutter(&self, survey: &Survey) -> Result<Solid, SolidFault> {
        let steps = (self.length / STEP_MM).ceil().clamp(4.0, 2000.0);
        let mut along: Vec<f64> = (0..=steps as usize)
            .map(|i| self.end + self.into * self.length * i as f64 / steps)
            .collect();
        along.insert(0, self.end - self.into * PAST_MM);
        along.sort_by(f64::total_cmp);
        let ceiling = along
            .iter()
            .map(|&s| self.top.at(s))
            .fold(f64::NEG_INFINITY, f64::max)
            + 10.0 * PAST_MM;
        let outlines: Vec<(f64, Vec<Point2>)> = along
            .into_iter()
            .map(|s| {
                let (face, inner, outer) = (
                    self.face.at(s),
                    self.least.at(s) - PAST_MM,
                    self.most.at(s) + PAST_MM,
                );
                let height = self.height(s).unwrap_or_else(|| self.top.at(s) + OVER_MM);
                let tray = |x: f64| tray_height(&survey.tray, s, x);
                let x_of = |i: usize| inner + (outer - inner) * i as f64 / ACROSS as f64;
                let floor = (0..=ACROSS)
                    .map(x_of)
                    .map(|x| Point2::new(x, height + tray(x) - tray(face)));
                let roof = (0..=ACROSS).rev().map(|i| Point2::new(x_of(i), ceiling));
                (s, floor.chain(roof).collect())
            })
            .collect();
        let last = 2 * ACROSS as u32 + 1;
        let cap: Vec<[u32; 3]> = (0..ACROSS as u32)
            .flat_map(|i| [[i, i + 1, last - i - 1], [i, last - i - 1, last - i]])
            .collect();
        let placed = outlines.iter().map(|(s, corners)| (*s, corners.as_slice()));
        Solid::new(Loft::new(&survey.spine, placed, &cap).mesh().clone())
    }
}
