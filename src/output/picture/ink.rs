//! From samples to shaded, outlined pixels.

use super::buffer::{Buffer, Sample};
use super::{FINER, Form, Shown, View};
use crate::math::Vector3;
use rayon::prelude::*;

/// Nothing is lighter than the paper.
const MOST: f64 = 248.0;
/// Ink, as everywhere on the page.
const INK: [f64; 3] = [29.0, 34.0, 38.0];
/// Light left on a surface that faces away from the lamp.
const SHADE: f64 = 0.52;
/// Cosine of the turn between neighbours that is drawn as an edge: 25 degrees, so that the facets of a
/// bend of 6 mm sections are not, and the corner of a chamfer is.
const TURN: f64 = 0.906;
/// Second difference of depth between neighbours that is drawn as an edge (samples): a wall of 3 mm in a
/// picture of one millimetre a pixel gives 6, a slope seen at 80 degrees none.
const JUMP: f32 = 4.0;
/// Distance in samples between the neighbours compared: the width of a line.
const REACH: isize = 1;
/// Colours are rounded to so many steps, so that the file stays small.
const STEP: f64 = 8.0;

/// Shades and outlines; red, green, blue and cover for each pixel.
pub(super) fn develop(
    buffer: &Buffer,
    shown: &[Shown<'_>],
    view: &View,
    size: [usize; 2],
) -> Vec<u8> {
    // The lamp stands over the viewer's left shoulder, and what faces up on the vehicle is a little lighter.
    let lamp = Vector3::new(-0.45, 0.6, 0.75).normalize();
    let sky = view.seen(Vector3::z());
    let mut rgba = vec![0; 4 * size[0] * size[1]];
    let rows = rgba.par_chunks_exact_mut(4 * size[0].max(1));
    rows.enumerate().for_each(|(row, pixels)| {
        for (column, pixel) in pixels.chunks_exact_mut(4).enumerate() {
            if is_bare(buffer, column * FINER, row * FINER) {
                continue;
            }
            let mut sum = [0.0; 3];
            let mut covered = 0;
            for k in 0..FINER * FINER {
                let c = (column * FINER + k % FINER) as isize;
                let r = (row * FINER + k / FINER) as isize;
                let colour = if is_edge(buffer, shown, c, r) {
                    INK
                } else if let Some(colour) = shade(buffer.at(c, r), shown, &lamp, &sky) {
                    colour
                } else {
                    continue;
                };
                covered += 1;
                for (s, v) in sum.iter_mut().zip(colour) {
                    *s += v;
                }
            }
            let mean = |v: f64| v / f64::from(covered.max(1));
            let stepped = |v: f64| ((mean(v) / STEP).round() * STEP).clamp(0.0, MOST);
            let [red, green, blue] = sum.map(|v| stepped(v) as u8);
            let cover = (255 * covered / (FINER * FINER) as i32) as u8;
            pixel.copy_from_slice(&[red, green, blue, cover]);
        }
    });
    rgba
}

/// `None` where there is nothing.
fn shade(sample: &Sample, shown: &[Shown<'_>], lamp: &Vector3, sky: &Vector3) -> Option<[f64; 3]> {
    let part = (sample.part as usize)
        .checked_sub(1)
        .and_then(|i| shown.get(i))?;
    let tint = part
        .field
        .and_then(|field| field.get(sample.triangle as usize))
        .unwrap_or(&part.tint);
    let n = sample.faces().try_normalize(1e-9).unwrap_or(Vector3::z());
    // The back of an open surface is lit like its front.
    let n = if n.z < 0.0 { -n } else { n };
    let light = SHADE + (1.0 - SHADE) * (0.8 * n.dot(lamp).max(0.0) + 0.2 * n.dot(sky).max(0.0));
    // A field keeps most of its colour, so that it can be read off the scale.
    let light = if part.field.is_some() {
        0.75 + 0.25 * light
    } else {
        light
    };
    Some(tint.map(|v| f64::from(v) * light))
}

/// Whether nothing is seen in a pixel or beside it, where a line would reach into it.
fn is_bare(buffer: &Buffer, column: usize, row: usize) -> bool {
    let reach = FINER + REACH as usize;
    (row..(row + reach).min(buffer.size[1])).all(|r| {
        let from = r * buffer.size[0];
        let to = (column + reach).min(buffer.size[0]);
        let samples = buffer.samples.get(from + column..from + to);
        samples.is_none_or(|seen| seen.iter().all(|sample| sample.part == 0))
    })
}

/// Whether a sample lies on a line: where the part changes, the surface turns sharply, or the depth jumps.
fn is_edge(buffer: &Buffer, shown: &[Shown<'_>], c: isize, r: isize) -> bool {
    let here = buffer.at(c, r);
    let sharp = |sample: &Sample| {
        (sample.part as usize)
            .checked_sub(1)
            .and_then(|i| shown.get(i))
            .is_some_and(|part| part.form == Form::Sharp)
    };
    for (dc, dr) in [(REACH, 0), (0, REACH)] {
        let (before, after) = (buffer.at(c - dc, r - dr), buffer.at(c + dc, r + dr));
        if after.part != here.part {
            return true;
        }
        if here.part == 0 {
            continue;
        }
        if before.part == here.part {
            let bend = before.depth - 2.0 * here.depth + after.depth;
            if bend.abs() > JUMP {
                return true;
            }
        }
        if sharp(here) && here.faces().dot(&after.faces()) < TURN {
            return true;
        }
    }
    false
}
