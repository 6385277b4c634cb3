//! A drawing as a plain value: strokes, areas and text in millimetres on paper, y up, origin at the lower
//! left. Whatever shows it (SVG, the sheet) renders this same value.
//!
//! Line kinds and their lengths follow ISO 128-2:2020, line group 0.5 (wide 0.5 mm, narrow 0.25 mm);
//! scales are chosen near those of ISO 5455. Both from memory.

mod cividis;
mod hatch;
mod scale;

pub use cividis::{cividis, level};
pub use hatch::{hatch, hatch_region};
pub use scale::{Scale, round_length};

use crate::math::{Point2, Vector2};

/// Kinds of line, by their ISO 128-2 name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// 01.2 continuous wide: visible outlines.
    Wide,
    /// 01.1 continuous narrow: dimensions, hatching, scans.
    Narrow,
    /// 02.1 dashed narrow: hidden, or not well seen.
    Dashed,
    /// 03 dashed spaced narrow: carried across, not seen at all.
    Spaced,
    /// 04.1 long-dashed dotted narrow: axes, the spine, cuts.
    Chain,
}

impl Line {
    /// Width on paper (mm).
    #[must_use]
    pub fn width_mm(self) -> f64 {
        match self {
            Self::Wide => 0.5,
            _ => 0.25,
        }
    }

    /// Dashes and spaces (mm), by turns; empty for a continuous line. In widths d the standard has:
    /// dash 12, long dash 24, dot 0.5, space 3, wide space 18.
    #[must_use]
    pub fn dashes_mm(self) -> &'static [f64] {
        match self {
            Self::Wide | Self::Narrow => &[],
            Self::Dashed => &[3.0, 0.75],
            Self::Spaced => &[3.0, 4.5],
            Self::Chain => &[6.0, 0.75, 0.125, 0.75],
        }
    }
}

/// What a thing is drawn in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Ordinary ink.
    Plain,
    /// Thinned: what stands behind.
    Faint,
    /// The one accent: look here.
    Accent,
}

/// What an area is filled with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fill {
    /// A wash of ink: an uncertainty band.
    Wash,
    /// Solid accent: an arrow head that says look here.
    Accent,
    /// Solid ink: arrow heads, scale bars.
    Solid,
    /// The paper itself, over what lies below.
    Paper,
    /// A level of a field, in [`cividis`]; the same on dark paper, for the scale beside it says what it means.
    Field(u8),
}

/// Which point of a text its position holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// One thing on the paper.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A line through points; it ends where it began if the first point comes last again.
    Stroke {
        /// Its points.
        points: Vec<Point2>,
        /// Its kind.
        line: Line,
        /// Its colour.
        ink: Ink,
    },
    /// A closed outline, filled.
    Area {
        /// Its corners.
        outline: Vec<Point2>,
        /// Its fill.
        fill: Fill,
    },
    /// A line of text on its base line.
    Text {
        /// Its anchor on the base line.
        at: Point2,
        /// The words.
        text: String,
        /// Height of a capital (mm), after ISO 3098: 2.5 for notes, 3.5 for titles.
        height_mm: f64,
        /// Which point `at` is.
        anchor: Anchor,
        /// Its colour.
        ink: Ink,
    },
    /// A picture in dots. For SVG and the sheet; a PDF of templates has none.
    Image {
        /// Its lower left corner.
        at: Point2,
        /// Its width and height on paper (mm).
        size_mm: [f64; 2],
        /// A PNG file.
        png: Vec<u8>,
    },
}

/// A drawing on a sheet of its own size.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// What it shows, in a few words.
    pub title: String,
    /// Width and height on paper (mm).
    pub size_mm: [f64; 2],
    /// What is on it, from back to front.
    pub items: Vec<Item>,
}

/// Height of ordinary lettering (mm).
pub const NOTE_MM: f64 = 2.5;
/// Height of titles (mm).
pub const TITLE_MM: f64 = 3.5;

impl Drawing {
    /// An empty drawing.
    #[must_use]
    pub fn new(title: impl Into<String>, size_mm: [f64; 2]) -> Self {
        Self {
            title: title.into(),
            size_mm,
            items: Vec::new(),
        }
    }

    /// Draws a line. Fewer than two points, or a point that is not finite, draw nothing.
    pub fn stroke(&mut self, points: Vec<Point2>, line: Line, ink: Ink) {
        if points.len() > 1
            && points
                .iter()
                .all(|p| p.coords.iter().all(|v| v.is_finite()))
        {
            self.items.push(Item::Stroke { points, line, ink });
        }
    }

    /// Draws a closed outline.
    pub fn outline(&mut self, mut points: Vec<Point2>, line: Line, ink: Ink) {
        points.extend(points.first().copied());
        self.stroke(points, line, ink);
    }

    /// Fills an outline. Fewer than three points, or a point that is not finite, fill nothing.
    pub fn area(&mut self, outline: Vec<Point2>, fill: Fill) {
        if outline.len() > 2
            && outline
                .iter()
                .all(|p| p.coords.iter().all(|v| v.is_finite()))
        {
            self.items.push(Item::Area { outline, fill });
        }
    }

    /// Lays a picture on the paper, `at` its lower left corner.
    pub fn image(&mut self, at: Point2, size_mm: [f64; 2], png: Vec<u8>) {
        self.items.push(Item::Image { at, size_mm, png });
    }

    /// Writes a note in plain ink.
    pub fn note(&mut self, at: Point2, anchor: Anchor, text: impl Into<String>) {
        self.text(at, anchor, NOTE_MM, Ink::Plain, text);
    }

    /// Writes a text.
    pub fn text(
        &mut self,
        at: Point2,
        anchor: Anchor,
        height_mm: f64,
        ink: Ink,
        text: impl Into<String>,
    ) {
        self.items.push(Item::Text {
            at,
            text: text.into(),
            height_mm,
            anchor,
            ink,
        });
    }

    /// Draws an arrow with a filled head of 3 mm, 30 degrees wide (ISO 129-1 allows 30).
    pub fn arrow(&mut self, from: Point2, to: Point2, ink: Ink) {
        let Some(along) = (to - from).try_normalize(1e-9) else {
            return;
        };
        let back = to - along * 3.0;
        let side = Vector2::new(-along.y, along.x) * 0.8;
        self.stroke(vec![from, back], Line::Narrow, ink);
        let fill = match ink {
            Ink::Accent => Fill::Accent,
            _ => Fill::Solid,
        };
        self.area(vec![to, back + side, back - side], fill);
    }

    /// Draws a level scale bar of a round length, `at` its left end, and gives its length on paper (mm).
    pub fn scale_bar(&mut self, at: Point2, scale: Scale, longest_paper_mm: f64) -> f64 {
        let model = round_length(scale.to_model(longest_paper_mm));
        let width = scale.to_paper(model);
        self.bar(at, Vector2::new(width, 0.0), Vector2::new(0.0, 1.0));
        let label = Point2::new(at.x + width + 1.5, at.y - 0.2);
        self.note(
            label,
            Anchor::Start,
            format!("{model} mm, {}", scale.name()),
        );
        width
    }

    /// Draws a level bar for a length of the model that is so long on paper (mm), `at` its left end.
    pub fn length_bar(&mut self, at: Point2, model_mm: f64, paper_mm: f64) {
        self.bar(at, Vector2::new(paper_mm, 0.0), Vector2::new(0.0, 1.0));
        let label = Point2::new(at.x + paper_mm + 1.5, at.y - 0.2);
        self.note(label, Anchor::Start, format!("{model_mm} mm"));
    }

    /// The same upright, `at` its lower end; the drawing says how heights are scaled.
    pub fn scale_bar_upright(&mut self, at: Point2, scale: Scale, longest_paper_mm: f64) -> f64 {
        let model = round_length(scale.to_model(longest_paper_mm));
        let height = scale.to_paper(model);
        self.bar(at, Vector2::new(0.0, height), Vector2::new(1.0, 0.0));
        let label = Point2::new(at.x + 2.5, at.y + height / 2.0 - NOTE_MM / 2.0);
        self.note(label, Anchor::Start, format!("{model} mm of height"));
        height
    }

    /// A bar in two halves, the first filled.
    fn bar(&mut self, at: Point2, whole: Vector2, thick: Vector2) {
        let half = whole / 2.0;
        self.area(
            vec![at, at + half, at + half + thick, at + thick],
            Fill::Solid,
        );
        self.outline(
            vec![at, at + whole, at + whole + thick, at + thick],
            Line::Narrow,
            Ink::Plain,
        );
    }
}
