//! A drawing larger than the paper, tiled over several sheets that overlap and are joined by their marks.

use super::drawing::{Anchor, Drawing, Ink, Item, Line, NOTE_MM};
use crate::math::{Point2, Vector2};

/// Left free at the paper's edge (mm): what printers cannot reach, and room for crop marks.
const MARGIN: f64 = 10.0;
/// Strip under the tile for the sheet's own lettering (mm).
const FOOT: f64 = 24.0;
/// Neighbouring tiles share this much (mm).
pub(super) const OVERLAP: f64 = 10.0;
/// Half the height of a match mark (mm): it lies whole within the overlap.
const DIAMOND: f64 = 4.0;
/// Length of the check bar (mm).
pub(super) const BAR: f64 = 100.0;

/// Items on a page, moved, and clipped to a box of the page where there is one (mm).
#[derive(Debug, Clone)]
pub(super) struct Layer<'a> {
    pub items: &'a [Item],
    pub shift: Vector2,
    pub clip: Option<[Point2; 2]>,
}

/// One sheet of paper.
#[derive(Debug, Clone)]
pub(super) struct Page<'a> {
    pub size_mm: [f64; 2],
    pub layers: Vec<Layer<'a>>,
}

/// One tile of a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tile {
    pub column: usize,
    pub row: usize,
    /// Its lower left and upper right corner in the drawing (mm).
    pub window: [Point2; 2],
}

/// A drawing laid out on paper: the tiles that hold something, in reading order, with match marks over
/// their joints.
#[derive(Debug, Clone)]
pub(super) struct Tiling {
    pub size_mm: [f64; 2],
    pub tiles: Vec<Tile>,
    /// Match marks, in the drawing's own coordinates.
    pub marks: Drawing,
    /// Furniture of each page, in the page's coordinates.
    pub furniture: Vec<Drawing>,
}

impl Tiling {
    /// Lays a drawing out on paper of this size (mm), upright or across, whichever takes fewer sheets.
    pub fn new(drawing: &Drawing, paper: [f64; 2], note: &str) -> Self {
        let [a, b] = paper;
        let (upright, across) = (tiles(drawing, [a, b]), tiles(drawing, [b, a]));
        let (size_mm, tiles) = if upright.len() < across.len() {
            ([a, b], upright)
        } else {
            ([b, a], across)
        };
        let marks = match_marks(drawing, &tiles);
        let furniture = (0..tiles.len())
            .map(|i| furniture(drawing, size_mm, &tiles, i, note))
            .collect();
        Self {
            size_mm,
            tiles,
            marks,
            furniture,
        }
    }

    /// The sheets.
    pub fn pages<'a>(&'a self, drawing: &'a Drawing) -> Vec<Page<'a>> {
        self.tiles
            .iter()
            .zip(&self.furniture)
            .map(|(tile, furniture)| {
                let low = corner(tile, self.size_mm);
                let shift = low - tile.window[0];
                let clip = Some([low, low + (tile.window[1] - tile.window[0])]);
                let inside = |items: &'a [Item]| Layer { items, shift, clip };
                Page {
                    size_mm: self.size_mm,
                    layers: vec![
                        inside(&drawing.items),
                        inside(&self.marks.items),
                        Layer {
                            items: &furniture.items,
                            shift: Vector2::zeros(),
                            clip: None,
                        },
                    ],
                }
            })
            .collect()
    }
}

/// Where a tile's lower left corner lies on its page: tiles hang from the top.
fn corner(tile: &Tile, paper: [f64; 2]) -> Point2 {
    let height = tile.window[1].y - tile.window[0].y;
    Point2::new(MARGIN, paper[1] - MARGIN - height)
}

fn tiles(drawing: &Drawing, paper: [f64; 2]) -> Vec<Tile> {
    let room = [paper[0] - 2.0 * MARGIN, paper[1] - 2.0 * MARGIN - FOOT];
    let [(columns, width), (rows, height)] = [0, 1].map(|k| {
        let whole = drawing.size_mm[k].max(1.0);
        let count = ((whole - OVERLAP) / (room[k] - OVERLAP)).ceil().max(1.0);
        // Tiles of one size that cover the drawing and nothing beyond it.
        (count as usize, (whole - OVERLAP) / count + OVERLAP)
    });
    let mut found = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let low = Point2::new(
                column as f64 * (width - OVERLAP),
                drawing.size_mm[1] - height - row as f64 * (height - OVERLAP),
            );
            let window = [low, low + Vector2::new(width, height)];
            if drawing.items.iter().any(|item| touches(item, window)) {
                found.push(Tile {
                    column,
                    row,
                    window,
                });
            }
        }
    }
    found
}

/// Whether an item shows in a window; a text counts by its anchor.
fn touches(item: &Item, window: [Point2; 2]) -> bool {
    let meets = |a: Point2, b: Point2| {
        // The part of the line inside each pair of sides in turn (Liang and Barsky).
        let (mut from, mut to) = (0.0f64, 1.0f64);
        for k in 0..2 {
            let (p, d) = (a[k], b[k] - a[k]);
            if d.abs() < 1e-12 {
                if p < window[0][k] || p > window[1][k] {
                    return false;
                }
            } else {
                let (u, v) = ((window[0][k] - p) / d, (window[1][k] - p) / d);
                from = from.max(u.min(v));
                to = to.min(u.max(v));
            }
        }
        from <= to
    };
    match item {
        Item::Stroke { points, .. } => points.windows(2).any(|p| meets(p[0], p[1])),
        Item::Area { outline, .. } => outline.windows(2).any(|p| meets(p[0], p[1])),
        Item::Text { at, .. } | Item::Image { at, .. } => meets(*at, *at),
    }
}

/// Diamonds with letters over every joint between two tiles, two to a joint, and the joint's middle
/// line.
fn match_marks(drawing: &Drawing, tiles: &[Tile]) -> Drawing {
    let mut marks = Drawing::new("match marks", drawing.size_mm);
    let mut joint = 0;
    for (i, a) in tiles.iter().enumerate() {
        for b in tiles.iter().skip(i + 1) {
            let beside = a.row == b.row && a.column + 1 == b.column;
            let below = a.column == b.column && a.row + 1 == b.row;
            if !beside && !below {
                continue;
            }
            let low = a.window[0].coords.sup(&b.window[0].coords);
            let high = a.window[1].coords.inf(&b.window[1].coords);
            let middle = (low + high) / 2.0;
            let (from, to) = if beside {
                (
                    Vector2::new(middle.x, low.y),
                    Vector2::new(middle.x, high.y),
                )
            } else {
                (
                    Vector2::new(low.x, middle.y),
                    Vector2::new(high.x, middle.y),
                )
            };
            marks.stroke(vec![from.into(), to.into()], Line::Dashed, Ink::Faint);
            let name = letters(joint);
            for (n, share) in [0.12, 0.88].into_iter().enumerate() {
                let at = Point2::from(from + (to - from) * share);
                diamond(&mut marks, at, &format!("{name}{}", n + 1));
            }
            joint += 1;
        }
    }
    marks
}

fn diamond(marks: &mut Drawing, at: Point2, name: &str) {
    let side = |x: f64, y: f64| at + Vector2::new(x, y) * DIAMOND;
    marks.outline(
        vec![
            side(1.0, 0.0),
            side(0.0, 1.0),
            side(-1.0, 0.0),
            side(0.0, -1.0),
        ],
        Line::Narrow,
        Ink::Plain,
    );
    let cap = 2.0;
    marks.text(
        at - Vector2::new(0.0, cap / 2.0),
        Anchor::Middle,
        cap,
        Ink::Plain,
        name,
    );
}

/// A, B, ... Z, AA, AB, ...
fn letters(index: usize) -> String {
    let letter = |i: usize| char::from(b'A' + (i % 26) as u8);
    match index / 26 {
        0 => letter(index).to_string(),
        n => format!("{}{}", letter(n - 1), letter(index)),
    }
}

/// How the sheets go together.
const HOW_TO_TAPE: [&str; 2] = [
    "Lay each sheet over its neighbour",
    "until the diamonds meet, and tape.",
];

/// Crop marks, the sheet's number, the check bar, and on the first sheet a map of all.
fn furniture(
    drawing: &Drawing,
    paper: [f64; 2],
    tiles: &[Tile],
    index: usize,
    note: &str,
) -> Drawing {
    let mut page = Drawing::new(drawing.title.clone(), paper);
    let Some(tile) = tiles.get(index) else {
        return page;
    };
    let low = corner(tile, paper);
    let high = low + (tile.window[1] - tile.window[0]);
    for (x, way_x) in [(low.x, -1.0), (high.x, 1.0)] {
        for (y, way_y) in [(low.y, -1.0), (high.y, 1.0)] {
            let from = |dx: f64, dy: f64| Point2::new(x + dx * way_x, y + dy * way_y);
            page.stroke(
                vec![from(1.5, 0.0), from(6.0, 0.0)],
                Line::Narrow,
                Ink::Plain,
            );
            page.stroke(
                vec![from(0.0, 1.5), from(0.0, 6.0)],
                Line::Narrow,
                Ink::Plain,
            );
        }
    }
    let base = low.y - 8.0;
    page.note(
        Point2::new(MARGIN + 2.0, base - NOTE_MM),
        Anchor::Start,
        format!(
            "{}. Sheet {} of {}, row {}, column {}. {note}",
            drawing.title,
            index + 1,
            tiles.len(),
            tile.row + 1,
            tile.column + 1
        ),
    );
    check_bar(&mut page, Point2::new(MARGIN + 2.0, base - 9.0));
    let text = Point2::new(MARGIN + BAR + 6.0, base - 9.0);
    page.note(
        text,
        Anchor::Start,
        "100 mm. Print at actual size (100 %), then measure the bar.",
    );
    if tiles.len() > 1 {
        // Beside the bar an upright sheet has no room for it in one line.
        for (k, line) in HOW_TO_TAPE.into_iter().enumerate() {
            let down = Vector2::new(0.0, 3.5 * (k + 1) as f64);
            page.note(text - down, Anchor::Start, line);
        }
    }
    if index == 0 && tiles.len() > 1 {
        map(
            &mut page,
            drawing,
            tiles,
            Point2::new(MARGIN + 2.0, base - 17.0),
            low.y,
        );
    }
    page
}

/// A level bar of 100 mm, its left end at `at`, with a stroke at every 10.
pub(super) fn check_bar(page: &mut Drawing, at: Point2) {
    let right = at + Vector2::new(BAR, 0.0);
    page.stroke(vec![at, right], Line::Wide, Ink::Plain);
    for k in 0..=10 {
        let foot = at + Vector2::new(BAR * f64::from(k) / 10.0, 0.0);
        let tall = if k % 5 == 0 { 3.0 } else { 1.5 };
        page.stroke(
            vec![foot, foot + Vector2::new(0.0, tall)],
            Line::Narrow,
            Ink::Plain,
        );
    }
}

/// The tiles in small, numbered, under the lettering: `at` is the upper left corner.
fn map(page: &mut Drawing, drawing: &Drawing, tiles: &[Tile], at: Point2, tile_foot: f64) {
    let [w, h] = drawing.size_mm;
    let room = [page.size_mm[0] - 2.0 * MARGIN - 4.0, at.y - 4.0];
    let room = [room[0], room[1].min(60.0).min(tile_foot)];
    let scale = (room[0] / w).min(room[1] / h);
    if !(scale.is_finite() && scale > 0.0) {
        return;
    }
    let place = |p: Point2| Point2::new(at.x + p.x * scale, at.y - (h - p.y) * scale);
    for item in &drawing.items {
        if let Item::Stroke {
            points,
            line: Line::Wide,
            ..
        } = item
        {
            let small = points.iter().map(|p| place(*p)).collect();
            page.stroke(small, Line::Narrow, Ink::Faint);
        }
    }
    for (i, tile) in tiles.iter().enumerate() {
        let [a, b] = tile.window.map(place);
        page.outline(
            vec![a, Point2::new(b.x, a.y), b, Point2::new(a.x, b.y)],
            Line::Narrow,
            Ink::Plain,
        );
        let middle = nalgebra::center(&a, &b) - Vector2::new(0.0, 1.0);
        page.text(middle, Anchor::Middle, 2.0, Ink::Plain, (i + 1).to_string());
    }
}
