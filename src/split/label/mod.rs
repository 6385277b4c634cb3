//! Labels cut into the hidden side of each segment: name, number of count, an arrow to the front, and the
//! letters of its joints on the side they are on. Where the hidden side has no room, or there is none, the
//! label goes on another face out of sight: the top of a panel's flange, the back of a buck.

mod font;

use super::Workpiece;
use super::cut::sweep;
use super::joint::{HiddenSide, Joint};
use crate::diag::Finding;
use crate::math::Point3;
use crate::mesh::nearest::Nearest;
use crate::mesh::{Solid, TriMesh, boolean};

/// Height of the letters (mm), the largest that goes first.
const HEIGHTS_MM: [f64; 3] = [8.0, 7.0, 6.0];
/// Width of a stroke (mm): two beads of 0.4 mm and a little.
const STROKE_MM: f64 = 0.9;
/// Depth of a stroke (mm), or a third of the wall; one shallower than the least cannot be read.
const DEEP_MM: f64 = 0.6;
const LEAST_DEEP_MM: f64 = 0.3;
/// Left round a label (mm), and between two lines, in heights of a letter.
const ROUND_MM: f64 = 1.5;
const LINE_SHARE: f64 = 1.5;
/// Places tried along a segment stand this far apart (mm).
const STEP_MM: f64 = 2.0;
/// A stroke is made of pieces no longer than this (mm), so that it follows a bend.
const PIECE_MM: f64 = 1.5;
/// Nothing may stand on the hidden side within this (mm) over a label.
const OVER_MM: f64 = 4.0;
/// How far a ray looks for the other side of the wall (mm).
const MOST_WALL_MM: f64 = 60.0;

/// A label, as it is cut in.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Its lines from the top, as they are read from the hidden side.
    pub lines: Vec<String>,
    /// Arc length of its middle (mm).
    pub s: f64,
    /// Height of the letters (mm).
    pub height_mm: f64,
    /// Depth of the strokes (mm).
    pub deep_mm: f64,
    /// What is cut away (mm3).
    pub volume_mm3: f64,
}

/// One way to lay a label out.
struct Layout {
    lines: Vec<String>,
    height: f64,
}

impl Layout {
    fn unit(&self) -> f64 {
        self.height / font::HIGH
    }

    /// Width and height (mm).
    fn size(&self) -> [f64; 2] {
        let widest = self
            .lines
            .iter()
            .map(|l| font::width(l))
            .fold(0.0, f64::max);
        let lines = self.lines.len().saturating_sub(1) as f64;
        [
            widest * self.unit() + STROKE_MM,
            self.height * (1.0 + LINE_SHARE * lines) + STROKE_MM,
        ]
    }
}

/// What a segment's label is to say.
struct Words {
    name: String,
    number: String,
    arrow: Option<char>,
    /// Letters of the joints at the reader's left and right.
    letters: [String; 2],
}

impl Words {
    /// Ways to set it, the best first: on one line, on two, and without the name.
    fn ways(&self) -> Vec<Vec<String>> {
        let [left, right] = &self.letters;
        let arrow = self.arrow.map(String::from).unwrap_or_default();
        let join = |parts: &[&str]| {
            let kept: Vec<&str> = parts.iter().copied().filter(|p| !p.is_empty()).collect();
            kept.join(" ")
        };
        let short = join(&[left, &self.number, &arrow, right]);
        let mut ways = Vec::new();
        if !self.name.is_empty() {
            ways.push(vec![join(&[left, &self.name, &self.number, &arrow, right])]);
            ways.push(vec![self.name.clone(), short.clone()]);
        }
        ways.push(vec![short]);
        ways
    }
}

/// Where a label can be cut.
struct Place {
    s: f64,
    /// Height of its lower edge over the face's lower end (mm).
    low: f64,
    deep: f64,
}

/// Cuts the labels into a row of segments in place. A segment without room goes without, with a note.
pub(super) fn cut_labels(
    work: &Workpiece,
    solids: &mut [Solid],
    along: &[[f64; 2]],
    joints: &[Joint],
    lap_mm: f64,
) -> (Vec<Option<Label>>, Vec<Finding>) {
    use rayon::prelude::*;
    let sides = [
        (HiddenSide::of(work, &work.hidden), &work.keep_clear[..]),
        (HiddenSide::of(work, &work.label_on), &work.label_clear[..]),
    ];
    let Some(surface) = Nearest::new(work.solid.mesh()) else {
        return (vec![None; solids.len()], Vec::new());
    };
    if work.hidden.is_empty() && work.label_on.is_empty() {
        return (vec![None; solids.len()], Vec::new());
    }
    let count = solids.len();
    let made: Vec<Option<(Solid, Label)>> = solids
        .par_iter()
        .enumerate()
        .map(|(i, solid)| {
            let letter = |k: Option<usize>| {
                let joint = k.and_then(|k| joints.get(k));
                joint.map_or_else(String::new, |j| j.letter.clone())
            };
            // The reader looks outward: the end at the higher station is at the left hand.
            let mut words = Words {
                name: font::writable(work.name),
                number: format!("{}/{count}", i + 1),
                arrow: None,
                letters: [letter(Some(i)), letter(i.checked_sub(1))],
            };
            let margin = |joined: bool| ROUND_MM + if joined { lap_mm } else { 0.0 };
            let free = [
                along[i][0] + margin(i > 0),
                along[i][1] - margin(i + 1 < count),
            ];
            sides.iter().find_map(|(side, shut)| {
                words.arrow = arrow(work, side, f64::midpoint(along[i][0], along[i][1]));
                label(work, side, &surface, solid, (free, shut), &words)
            })
        })
        .collect();
    let mut labels = Vec::with_capacity(count);
    let mut findings = Vec::new();
    for (i, made) in made.into_iter().enumerate() {
        if let Some((solid, label)) = made {
            solids[i] = solid;
            labels.push(Some(label));
        } else {
            labels.push(None);
            findings.push(
                Finding::note(
                    "segment-without-label",
                    format!(
                        "segment {} has no label: nothing out of sight has room for letters 6 mm high, or its wall is under 0.9 mm. Write its number on it as it comes off the bed",
                        i + 1
                    ),
                )
                .at(along[i][0]),
            );
        }
    }
    (labels, findings)
}

/// The arrow to the front as it is read by who looks at a face: over it, up it, or into it.
fn arrow(work: &Workpiece, side: &HiddenSide, s: f64) -> Option<char> {
    let front = work.front?;
    let face = side.face_at(work, s)?;
    let right = -front.dot(&work.spine.frame_at(s).along);
    let (up, into) = (front.dot(&face.up), -front.dot(&face.away));
    // Level ahead of who looks level: half of a right angle to each side counts as right and left.
    Some(if right.abs() > 0.5 {
        if right > 0.0 { font::RIGHT } else { font::LEFT }
    } else if up.abs() > into.abs() {
        if up > 0.0 { font::UP } else { font::DOWN }
    } else if into > 0.0 {
        font::AWAY
    } else {
        font::TOWARD
    })
}

fn label(
    work: &Workpiece,
    hidden: &HiddenSide,
    surface: &Nearest,
    solid: &Solid,
    free: ([f64; 2], &[[f64; 2]]),
    words: &Words,
) -> Option<(Solid, Label)> {
    for lines in words.ways() {
        for height in HEIGHTS_MM {
            let layout = Layout {
                lines: lines.clone(),
                height,
            };
            let Some(place) = find_place(work, hidden, surface, free, &layout) else {
                continue;
            };
            let strokes = letters(work, hidden, &layout, &place)?;
            let tools: Vec<&Solid> = strokes.iter().collect();
            let made = boolean::subtract(solid, &tools).ok()??;
            let label = Label {
                lines: layout.lines,
                s: place.s,
                height_mm: height,
                deep_mm: place.deep,
                volume_mm3: solid.volume() - made.volume(),
            };
            return Some((made, label));
        }
    }
    None
}

/// How much of an arc length a length along the hidden face takes up.
fn shrink(work: &Workpiece, hidden: &HiddenSide, s: f64) -> Option<f64> {
    let face = hidden.face_at(work, s)?;
    let frame = work.spine.frame_at(s);
    let x = frame.to_section(face.at(face.height / 2.0, 0.0)).x;
    Some((1.0 + work.spine.curvature_at(s) * x).max(0.2))
}

/// The place nearest to the middle of a free stretch where a label goes, clear of what stands there and of
/// stretches that are shut.
fn find_place(
    work: &Workpiece,
    hidden: &HiddenSide,
    surface: &Nearest,
    ([from, to], shut): ([f64; 2], &[[f64; 2]]),
    layout: &Layout,
) -> Option<Place> {
    let [width, height] = layout.size();
    let middle = f64::midpoint(from, to);
    let steps = ((to - from) / STEP_MM).clamp(0.0, 1e4) as i32;
    (0..=steps)
        .map(|i| middle + STEP_MM * f64::from(if i % 2 == 0 { i / 2 } else { -(i / 2) - 1 }))
        .find_map(|s| {
            let half = (width / 2.0 + ROUND_MM) / shrink(work, hidden, s)?;
            let along = [s - half, s + half];
            let clear = |[a, b]: &[f64; 2]| along[1] < a.min(*b) || along[0] > a.max(*b);
            if along[0] < from || along[1] > to || !shut.iter().all(clear) {
                return None;
            }
            let face = hidden.face_at(work, s)?;
            let low = (face.height - height) / 2.0;
            let mut wall = f64::INFINITY;
            for i in 0..=8 {
                let at = along[0] + (along[1] - along[0]) * f64::from(i) / 8.0;
                let face = hidden.face_at(work, at)?;
                if low < ROUND_MM || low + height + ROUND_MM > face.height {
                    return None;
                }
                for k in 0..=4 {
                    let up = low + height * f64::from(k) / 4.0;
                    if surface.ray(face.at(up, 0.05), face.away, OVER_MM).is_some() {
                        return None;
                    }
                    let through = surface.ray(face.at(up, -0.05), -face.away, MOST_WALL_MM)?;
                    wall = wall.min(through + 0.05);
                }
            }
            let deep = DEEP_MM.min(wall / 3.0);
            (deep >= LEAST_DEEP_MM).then_some(Place { s, low, deep })
        })
}

/// The strokes of a label as solids: each of many strokes that stay clear of each other, for a boolean takes
/// a few large operands far more quickly than many small ones.
fn letters(
    work: &Workpiece,
    hidden: &HiddenSide,
    layout: &Layout,
    place: &Place,
) -> Option<Vec<Solid>> {
    /// Strokes of one solid stay this far apart at least (mm).
    const CLEAR_MM: f64 = 0.05;
    let unit = layout.unit();
    let per_s = shrink(work, hidden, place.s)?;
    let half = STROKE_MM / 2.0;
    // A point `u` to the reader's right of the middle and `v` over the lower edge.
    let point = |u: f64, v: f64, off: f64| -> Option<Point3> {
        let face = hidden.face_at(work, place.s - u / per_s)?;
        Some(face.at(place.low + half + v, off))
    };
    let mut solids: Vec<(TriMesh, Vec<[f64; 4]>)> = Vec::new();
    let mut count = 0;
    let last = layout.lines.len().saturating_sub(1);
    for (k, line) in layout.lines.iter().enumerate() {
        let left = -font::width(line) * unit / 2.0;
        let base = layout.height * LINE_SHARE * (last - k) as f64;
        for [a, b] in font::strokes(line) {
            let [a, b] = [a, b].map(|[x, y]| [left + x * unit, base + y * unit]);
            let (du, dv) = (b[0] - a[0], b[1] - a[1]);
            let long = du.hypot(dv);
            let (du, dv) = (du / long, dv / long);
            // Square ends, so that strokes meet in full corners.
            let pieces = ((long + 2.0 * half) / PIECE_MM).ceil().max(1.0);
            // No two floors in one plane: the kernel has slivers to sort out otherwise.
            let deep = place.deep - 0.004 * f64::from(count % 9);
            count += 1;
            let mut rows = Vec::new();
            for i in 0..=pieces as usize {
                let t = -half + (long + 2.0 * half) * i as f64 / pieces;
                let (u, v) = (a[0] + du * t, a[1] + dv * t);
                let corner = |side: f64, off: f64| point(u + side * dv, v - side * du, off);
                rows.push([
                    corner(-half, 0.3)?,
                    corner(-half, -deep)?,
                    corner(half, -deep)?,
                    corner(half, 0.3)?,
                ]);
            }
            // The corners of its square ends lie no farther out than this.
            let out = half * (du.abs() + dv.abs()) + CLEAR_MM / 2.0;
            let around = [
                a[0].min(b[0]) - out,
                a[0].max(b[0]) + out,
                a[1].min(b[1]) - out,
                a[1].max(b[1]) + out,
            ];
            let clear = |other: &[f64; 4]| {
                around[0] > other[1]
                    || around[1] < other[0]
                    || around[2] > other[3]
                    || around[3] < other[2]
            };
            let free = (solids.iter()).position(|(_, taken)| taken.iter().all(clear));
            let at = free.unwrap_or_else(|| {
                solids.push((TriMesh::default(), Vec::new()));
                solids.len() - 1
            });
            let (mesh, taken) = solids.get_mut(at)?;
            mesh.append(&sweep(&rows));
            taken.push(around);
        }
    }
    let solids = solids.into_iter().map(|(mesh, _)| Solid::new(mesh).ok());
    solids.collect()
}

#[cfg(test)]
mod tests {
    use super::super::tests::{check, nose, printer, straight};
    use super::*;
    use crate::math::Vector3;

    #[test]
    fn every_segment_says_what_it_is_and_which_joints_it_has() {
        let made = straight(900.0);
        let row = check(&made, &printer(180.0));
        let count = row.segments.len();
        for (i, segment) in row.segments.iter().enumerate() {
            let label = segment.label.as_ref().unwrap();
            let text = label.lines.join(" ");
            assert!(text.contains("ANGLE") && text.contains(&format!("{}/{count}", i + 1)));
            // The front lies straight ahead of who reads the hidden side.
            assert!(text.contains(font::AWAY));
            let words: Vec<&str> = text.split(' ').collect();
            for k in [i.checked_sub(1), (i + 1 < count).then_some(i)]
                .into_iter()
                .flatten()
            {
                assert!(words.contains(&row.joints[k].letter.as_str()), "{text}");
            }
            assert!(label.height_mm >= 6.0 && label.deep_mm <= 1.0);
            // What is cut is what the strokes take: none is buried, none misses.
            assert!(label.volume_mm3 > 20.0, "{label:?}");
        }
    }

    /// Points on the middle of the strokes lie in the open, their own depth below the face; beside the
    /// label there is wall.
    #[test]
    fn strokes_are_cut_to_their_depth() {
        let made = straight(300.0);
        let row = check(&made, &printer(400.0));
        let segment = &row.segments[0];
        let label = segment.label.as_ref().unwrap();
        let surface = Nearest::new(segment.in_place.mesh()).unwrap();
        let frame = made.spine.frame_at(label.s);
        let mut depths = Vec::new();
        for i in -600..=600 {
            for k in 0..40 {
                let from = frame.origin
                    + frame.along * (f64::from(i) * 0.1)
                    + Vector3::new(-10.0, 0.0, 22.0 + f64::from(k) * 0.5);
                depths.push(surface.ray(from, Vector3::x(), 20.0).unwrap() - 7.0);
            }
        }
        let most = depths.iter().copied().fold(0.0, f64::max);
        assert!((most - label.deep_mm).abs() < 0.01, "{most}");
        let cut = depths.iter().filter(|d| **d > 0.3).count() as f64 * 0.1 * 0.5;
        assert!(
            (cut * label.deep_mm / label.volume_mm3 - 1.0).abs() < 0.1,
            "{cut}"
        );
        assert!(most <= 3.0 / 3.0);
    }

    #[test]
    fn labels_follow_bends_and_arrows_the_front() {
        let made = nose();
        let row = check(&made, &printer(180.0));
        for segment in &row.segments {
            let label = segment.label.as_ref().unwrap();
            let along = made.spine.frame_at(label.s).along;
            let text = label.lines.join(" ");
            // The front lies at +x; the reader's right hand points against the spine's way.
            let want = match -along.x {
                x if x > 0.5 => font::RIGHT,
                x if x < -0.5 => font::LEFT,
                _ => font::AWAY,
            };
            assert!(text.contains(want), "{text} {along}");
        }
    }

    #[test]
    fn without_room_a_label_is_left_off_with_a_note() {
        let mut made = straight(300.0);
        for row in &mut made.hidden {
            row.face[1].y = row.face[0].y + 7.0;
        }
        let row = check(&made, &printer(400.0));
        assert!(row.segments[0].label.is_none());
        assert_eq!(row.findings.len(), 1);
        assert_eq!(row.findings[0].code, "segment-without-label");
    }
}
