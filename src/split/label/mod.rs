//! Labels cut into the hidden side of each segment: name, number of count, an arrow to the front, and the
//! letters of its joints on the side they are on. Where the hidden side has no room, or there is none, the
//! label goes on another face out of sight: the top of a panel's flange, the back of a buck. Where neither
//! has room for the whole of it, it says less: the number of count is left to the last.

mod font;
mod room;
mod words;

use super::Workpiece;
use super::cut::sweep;
use super::joint::{HiddenSide, Joint};
use crate::diag::Finding;
use crate::math::Point3;
use crate::mesh::nearest::Nearest;
use crate::mesh::{Solid, TriMesh, boolean};
use room::{Place, Room, shrink};
use words::{Layout, STROKE_MM, Words};

/// Height of the letters (mm), the largest that goes first.
const HEIGHTS_MM: [f64; 3] = [8.0, 7.0, 6.0];
/// Depth of a stroke (mm), or a third of the wall; one shallower than the least cannot be read.
const DEEP_MM: f64 = 0.6;
const LEAST_DEEP_MM: f64 = 0.3;
/// Left round a label (mm).
const ROUND_MM: f64 = 1.5;
/// A stroke is made of pieces no longer than this (mm), so that it follows a bend.
const PIECE_MM: f64 = 1.5;

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

/// Cuts the labels into a row of segments in place. A segment without room goes without, with a note.
pub(super) fn cut_labels(
    work: &Workpiece,
    solids: &mut [Solid],
    along: &[[f64; 2]],
    joints: &[Joint],
    lap_mm: f64,
) -> (Vec<Option<Label>>, Vec<Finding>) {
    use rayon::prelude::*;
    if work.hidden.is_empty() && work.label_on.is_empty() {
        return (vec![None; solids.len()], Vec::new());
    }
    let sides = [
        (HiddenSide::of(work, &work.hidden), &work.keep_clear[..]),
        (HiddenSide::of(work, &work.label_on), &work.label_clear[..]),
    ];
    // A neighbour's tab lies over the end of the hidden side; pins in the cut leave the faces alone.
    let lap = if work.hidden.is_empty() { 0.0 } else { lap_mm };
    let count = solids.len();
    let made: Vec<Option<(Solid, Label)>> = solids
        .par_iter()
        .enumerate()
        .map(|(i, solid)| {
            let letter = |k: Option<usize>| {
                let joint = k.and_then(|k| joints.get(k));
                joint.map_or_else(String::new, |j| j.letter.clone())
            };
            let surface = Nearest::new(solid.mesh())?;
            let margin = |joined: bool| ROUND_MM + if joined { lap } else { 0.0 };
            let free = [
                along[i][0] + margin(i > 0),
                along[i][1] - margin(i + 1 < count),
            ];
            let faces = sides.each_ref().map(|(side, shut)| {
                let words = Words {
                    name: font::writable(work.name),
                    number: format!("{}/{count}", i + 1),
                    arrow: arrow(work, side, f64::midpoint(along[i][0], along[i][1])),
                    // The reader looks outward: the end at the higher station is at the left hand.
                    letters: [letter(Some(i)), letter(i.checked_sub(1))],
                };
                let room = Room::new(work, side, &surface, free, shut);
                (side, words.ways(), room)
            });
            label(work, solid, &faces)
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
                        "segment {} has no label: nothing out of sight has room for its number in letters 6 mm high, or its wall is under 0.9 mm. Write its number on it as it comes off the bed",
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

/// A face of a segment: the ways to set its label there, and the room it has.
type Face<'a> = (&'a HiddenSide<'a>, Vec<Vec<String>>, Room<'a>);

/// Says as much as either face has room for, the hidden side first, in the largest letters that go.
fn label(work: &Workpiece, solid: &Solid, faces: &[Face<'_>; 2]) -> Option<(Solid, Label)> {
    let ways = faces.iter().map(|(_, ways, _)| ways.len()).max()?;
    for way in 0..ways {
        for (side, ways, room) in faces {
            for height in HEIGHTS_MM {
                let lines = ways.get(way)?.clone();
                let layout = Layout { lines, height };
                let Some(place) = room.find(&layout) else {
                    continue;
                };
                let Some(made) = cut_in(work, side, solid, &layout, &place) else {
                    continue;
                };
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
    }
    None
}

fn cut_in(
    work: &Workpiece,
    side: &HiddenSide,
    solid: &Solid,
    layout: &Layout,
    place: &Place,
) -> Option<Solid> {
    let strokes = letters(work, side, layout, place)?;
    let tools: Vec<&Solid> = strokes.iter().collect();
    boolean::subtract(solid, &tools).ok()?
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
    let per_s = shrink(work, hidden, place.s)?;
    let half = STROKE_MM / 2.0;
    // A point `u` to the reader's right of the middle and `v` over the lower edge.
    let point = |u: f64, v: f64, off: f64| -> Option<Point3> {
        let face = hidden.face_at(work, place.s - u / per_s)?;
        Some(face.at(place.low + half + v, off))
    };
    let mut solids: Vec<(TriMesh, Vec<[f64; 4]>)> = Vec::new();
    for (count, [a, b]) in layout.strokes().into_iter().enumerate() {
        let (du, dv) = (b[0] - a[0], b[1] - a[1]);
        let long = du.hypot(dv);
        let (du, dv) = (du / long, dv / long);
        // Square ends, so that strokes meet in full corners.
        let pieces = ((long + 2.0 * half) / PIECE_MM).ceil().max(1.0);
        // No two floors in one plane: the kernel has slivers to sort out otherwise.
        let deep = place.deep - 0.004 * (count % 9) as f64;
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

    /// Windows along the whole middle of the face: the label goes over or under them.
    #[test]
    fn a_label_keeps_clear_of_holes_it_was_not_told_of() {
        let mut made = straight(300.0);
        let hole = |i: i32| {
            let at = made.spine.frame_at(f64::from(i) * 12.0).origin;
            let corner = at + Vector3::new(-60.0, -1.5, 36.0);
            let hole = crate::mesh::samples::block(corner, Vector3::new(80.0, 3.0, 3.0));
            Solid::new(hole).unwrap()
        };
        let holes: Vec<Solid> = (1..25).map(hole).collect();
        let holes: Vec<&Solid> = holes.iter().collect();
        made.solid = boolean::subtract(&made.solid, &holes).unwrap().unwrap();
        let row = check(&made, &printer(400.0));
        let label = row.segments[0].label.as_ref().unwrap();
        assert!(label.lines.join(" ").contains("ANGLE"), "{label:?}");
        assert_eq!(label.lines.len(), 1);
        // All that was cut lies over the holes or under them, with the room a label has round it.
        let floor = |p: &&Point3| (p.x - (37.0 + label.deep_mm)).abs() < 0.05;
        let cut = row.segments[0].in_place.mesh().points.iter().filter(floor);
        let heights: Vec<f64> = cut.map(|p| p.z).collect();
        assert!(heights.len() > 100);
        // Square ends of slanting strokes stick out by (sqrt 2 - 1) / 2 of their width.
        let room = ROUND_MM - 0.2;
        let clear = |z: &f64| *z > 39.0 + room || *z < 36.0 - room;
        assert!(heights.iter().all(clear), "{heights:?}");
    }

    /// Letters 6 mm high stand 6 mm apart and are 4 mm wide: eleven of them, a stroke and the room round them
    /// take 70.9 mm, five 34.9, three 22.9.
    #[test]
    fn where_there_is_little_room_a_label_says_less() {
        for (length, lines) in [
            (75.0, &["ANGLE 1/1 \u{2297}"][..]),
            (40.0, &["ANGLE", "1/1 \u{2297}"]),
            (28.0, &["1/1", "\u{2297}"]),
        ] {
            let row = check(&straight(length), &printer(220.0));
            let label = row.segments[0].label.as_ref().unwrap();
            assert_eq!(label.lines, lines);
            assert!(label.height_mm >= 6.0);
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
