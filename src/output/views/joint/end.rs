//! A joint seen along the spine, cut just past its own cut: every key in its true shape and place, with the
//! room round it.

use super::super::plane::Plane;
use super::{HATCH_MM, hatched, lines};
use crate::math::{Point2, StationFrame, Vector2, Vector3};
use crate::mesh::TriMesh;
use crate::output::drawing::{Anchor, Drawing, Ink, Line, NOTE_MM, Scale, TITLE_MM};
use crate::output::words::from_line;
use crate::split::{Joint, JointKind};

/// How far past the joint's cut the section lies (mm): every key has its whole width there.
const PAST_MM: f64 = 1.2;
/// What lies farther from all keys is another part of a bent segment (mm).
const NEAR_MM: f64 = 110.0;
/// Paper for the section, the whole drawing's width, and where the notes begin (mm).
const PAPER_MM: [f64; 2] = [72.0, 90.0];
const WIDTH_MM: f64 = 120.0;
const NOTES_MM: f64 = 80.0;
/// Paper below for the bar and what is hatched how, above for the title (mm).
const BELOW_MM: f64 = 16.0;
const ABOVE_MM: f64 = 21.0;
/// From one note to the next (mm).
const APART_MM: f64 = 1.8 * NOTE_MM;

/// What is drawn: the joint, its station, the way up its face, the segment with the tab and the next.
pub(super) struct Seen<'a> {
    pub(super) joint: &'a Joint,
    pub(super) frame: &'a StationFrame,
    pub(super) up: Vector2,
    pub(super) meshes: [&'a TriMesh; 2],
}

impl Seen<'_> {
    fn lines(&self) -> [Vec<Vec<Point2>>; 2] {
        let frame = self.frame;
        let plane = Plane {
            middle: frame.origin + frame.along * PAST_MM,
            // Looking along the spine, the outside to the right.
            axes: [frame.outward, Vector3::z(), -frame.along],
        };
        let keys = || self.joint.keys.iter().map(|key| Point2::from(key.at_mm));
        let low = keys().fold(Point2::new(f64::INFINITY, f64::INFINITY), |a, p| a.inf(&p));
        let high = keys().fold(Point2::new(-f64::INFINITY, -f64::INFINITY), |a, p| {
            a.sup(&p)
        });
        let near = Vector2::repeat(NEAR_MM);
        let window = [low - near, high + near];
        self.meshes.map(|mesh| lines(&plane, mesh, window))
    }

    /// Draws it; `None` where there is no key, or nothing to be cut.
    pub(super) fn draw(&self) -> Option<Drawing> {
        let joint = self.joint;
        if joint.keys.is_empty() {
            return None;
        }
        let lines = self.lines();
        let all = || lines.iter().flatten().flatten();
        let low = all().copied().reduce(|a, p| a.inf(&p))?;
        let high = all().copied().reduce(|a, p| a.sup(&p))?;
        let size = high - low;
        let scale = Scale::fitting_both(size, PAPER_MM);
        let tall = scale
            .to_paper(size.y)
            .max(APART_MM * joint.keys.len() as f64);
        let title = format!("Joint {}, its keys", joint.letter);
        let mut drawing = Drawing::new(title.clone(), [WIDTH_MM, BELOW_MM + tall + ABOVE_MM]);
        let top = drawing.size_mm[1];
        let head = Point2::new(4.0, top - 5.0);
        drawing.text(head, Anchor::Start, TITLE_MM, Ink::Plain, title);
        let [own, next] = [joint.tab_on, joint.tab_on + 1];
        let said = [
            format!("cut {PAST_MM} mm past the joint, seen from segment {own} toward {next}"),
            format!("room round every key {:.2} mm", joint.fit_mm),
        ];
        for (i, said) in said.into_iter().enumerate() {
            let at = Point2::new(4.0, top - 10.0 - 4.0 * i as f64);
            drawing.note(at, Anchor::Start, said);
        }
        let left = 6.0 + (PAPER_MM[0] - scale.to_paper(size.x)) / 2.0;
        let at = |p: Point2| {
            let d = p - low;
            Point2::new(left + scale.to_paper(d.x), BELOW_MM + scale.to_paper(d.y))
        };
        for (lines, leans) in lines.iter().zip([1.0, -1.0]) {
            let lines: Vec<Vec<Point2>> = (lines.iter())
                .map(|line| line.iter().map(|&p| at(p)).collect())
                .collect();
            hatched(&mut drawing, &lines, leans);
            for line in lines {
                drawing.outline(line, Line::Wide, Ink::Plain);
            }
        }
        self.notes(&mut drawing, at, BELOW_MM + tall);
        self.legend(&mut drawing, scale);
        Some(drawing)
    }

    /// What every key is and how far up it stands, with a line to its middle.
    fn notes(&self, drawing: &mut Drawing, at: impl Fn(Point2) -> Point2, top: f64) {
        let mut keys: Vec<_> = self.joint.keys.iter().collect();
        keys.sort_by(|a, b| b.at_mm[1].total_cmp(&a.at_mm[1]));
        let mut free = top - NOTE_MM;
        let count = keys.len();
        for (i, key) in keys.into_iter().enumerate() {
            // A tongue goes less far into the wall than past the cut; its place is told where it meets the face.
            let tongue = key.into_mm < key.long_mm;
            let into = Vector2::new(self.up.y, -self.up.x) * (0.5 * key.into_mm);
            let place = Point2::from(key.at_mm);
            let middle = at(if tongue { place + into } else { place });
            // Level with its key, but room is left for those that follow.
            let least = BELOW_MM + APART_MM * (count - 1 - i) as f64;
            let y = middle.y.clamp(least.min(free), free);
            free = y - APART_MM;
            let foot = Point2::new(NOTES_MM - 1.0, y);
            drawing.stroke(vec![middle, foot], Line::Narrow, Ink::Accent);
            let what = if tongue { "tongue" } else { "pin" };
            let (mm, way) = from_line(key.height_mm);
            let words = format!("{what}, {mm} mm {way} 0");
            let beside = foot + Vector2::new(1.0, -0.3 * NOTE_MM);
            drawing.text(beside, Anchor::Start, NOTE_MM, Ink::Accent, words);
        }
        // Where heights are counted from.
        if let Some(key) = self.joint.keys.first() {
            let zero = Point2::from(key.at_mm) - self.up * key.height_mm;
            let across = Vector2::new(self.up.y, -self.up.x) * 6.0;
            let ends = [zero - across, zero + across].map(at);
            drawing.stroke(ends.to_vec(), Line::Chain, Ink::Plain);
            let end = if ends[0].x < ends[1].x {
                ends[1]
            } else {
                ends[0]
            };
            let beside = end + Vector2::new(1.0, -0.3 * NOTE_MM);
            drawing.note(beside, Anchor::Start, "0");
        }
    }

    fn legend(&self, drawing: &mut Drawing, scale: Scale) {
        drawing.scale_bar(Point2::new(4.0, 3.0), scale, 30.0);
        let carries = match self.joint.kind {
            JointKind::Bulkhead => "the pins",
            JointKind::Tab | JointKind::Butt => "the tab",
        };
        let first = self.joint.tab_on;
        let own = format!("segment {first}, with {carries}");
        let rows = [(own, 1.0), (format!("segment {}", first + 1), -1.0)];
        for (i, (words, leans)) in rows.into_iter().enumerate() {
            let low = Point2::new(4.0 + 46.0 * i as f64, 8.5);
            let (wide, tall) = (3.0 * HATCH_MM, 2.0 * HATCH_MM);
            let corners = [[0.0, 0.0], [wide, 0.0], [wide, tall], [0.0, tall]];
            let swatch: Vec<Point2> = corners.map(|[x, y]| low + Vector2::new(x, y)).into();
            hatched(drawing, std::slice::from_ref(&swatch), leans);
            drawing.outline(swatch, Line::Narrow, Ink::Plain);
            let beside = low + Vector2::new(wide + 1.5, 0.2);
            drawing.note(beside, Anchor::Start, words);
        }
        let tail = Point2::new(NOTES_MM + 6.0, 3.5);
        drawing.arrow(tail, tail + Vector2::new(8.0, 0.0), Ink::Plain);
        let before = Point2::new(tail.x + 10.0, tail.y - 0.4 * NOTE_MM);
        drawing.note(before, Anchor::Start, "outside");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::Point3;
    use crate::mesh::samples::block;
    use crate::output::drawing::Item;
    use crate::split::Key;

    /// A wall with two tongues past the cut: both are outlined, and each is told of.
    #[test]
    fn every_key_is_drawn_and_told_of() {
        let frame = StationFrame {
            origin: Point3::origin(),
            outward: Vector3::x(),
            along: Vector3::y(),
        };
        let mut own = block(Point3::new(-3.0, -40.0, 0.0), Vector3::new(3.0, 40.0, 60.0));
        let key = |z: f64| Key {
            height_mm: z,
            at_mm: [-2.0, z],
            wide_mm: 3.0,
            long_mm: 6.0,
            into_mm: 1.0,
            leaves_mm: 2.0,
        };
        for z in [15.0, 40.0] {
            let corner = Point3::new(-2.5, -1.0, z - 1.5);
            own.append(&block(corner, Vector3::new(1.0, 7.0, 3.0)));
        }
        let next = block(Point3::new(-3.0, 0.0, 0.0), Vector3::new(3.0, 40.0, 60.0));
        let joint = Joint {
            s: 0.0,
            letter: "C".into(),
            kind: JointKind::Tab,
            tab_on: 3,
            tab_volume_mm3: 1.0,
            cut_volume_mm3: 1.0,
            fit_mm: 0.25,
            reach_mm: 20.0,
            glue_mm2: 100.0,
            keys: vec![key(15.0), key(40.0)],
            seats_along: Vector3::y(),
        };
        let seen = Seen {
            joint: &joint,
            frame: &frame,
            up: Vector2::y(),
            meshes: [&own, &next],
        };
        let drawing = seen.draw().unwrap();
        let texts: Vec<&str> = (drawing.items.iter())
            .filter_map(|item| match item {
                Item::Text { text, .. } => Some(text.as_str()),
                _ => None,
            })
            .collect();
        for words in [
            "tongue, 15.0 mm above 0",
            "tongue, 40.0 mm above 0",
            "segment 4",
        ] {
            assert!(texts.contains(&words), "{texts:?}");
        }
        let wide = |item: &&Item| {
            matches!(
                item,
                Item::Stroke {
                    line: Line::Wide,
                    ..
                }
            )
        };
        // Two tongues and the neighbour's wall.
        assert_eq!(drawing.items.iter().filter(wide).count(), 3);
        // 60 mm of face and 3 mm of wall on paper of 72 by 90 at 1:1, all inside of the sheet.
        for item in &drawing.items {
            if let Item::Stroke { points, .. } = item {
                let inside = |p: &Point2| p.x >= 0.0 && p.y >= 0.0 && p.x <= 120.0;
                assert!(points.iter().all(inside), "{points:?}");
            }
        }
        let bare = Joint {
            keys: Vec::new(),
            ..joint.clone()
        };
        assert!(
            Seen {
                joint: &bare,
                ..seen
            }
            .draw()
            .is_none()
        );
    }
}
