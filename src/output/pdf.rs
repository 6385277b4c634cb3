//! Drawings as PDF 1.7, 1:1 in millimetres. No stream is packed, no time stands in the file, the same
//! drawings give the same bytes.

use super::drawing::{Anchor, Fill, Ink, Item, Line, cividis};
use super::lettering::width_of;
use super::paging::{Layer, Page};
use crate::math::{Point2, Vector2};
use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

/// Points in a millimetre: 72 to an inch of 25.4 mm.
const POINTS: f64 = 72.0 / 25.4;
const FONT: Name<'static> = Name(b"F1");
/// A capital of Helvetica as a share of its size.
const CAPITAL: f64 = 0.718;

/// Pages as one document that asks the reader to print it unscaled.
pub(super) fn document(title: &str, pages: &[Page]) -> Vec<u8> {
    let mut pdf = Pdf::new();
    let [catalog, tree, font, info] = [1, 2, 3, 4].map(Ref::new);
    let page_id = |i: usize| Ref::new(5 + 2 * i as i32);
    let content_id = |i: usize| Ref::new(6 + 2 * i as i32);
    let mut root = pdf.catalog(catalog);
    root.pages(tree);
    root.viewer_preferences()
        .insert(Name(b"PrintScaling"))
        .primitive(Name(b"None"));
    root.finish();
    pdf.document_info(info).title(TextStr(&written(title)));
    pdf.pages(tree)
        .kids((0..pages.len()).map(page_id))
        .count(pages.len() as i32);
    for (i, page) in pages.iter().enumerate() {
        let [w, h] = page.size_mm.map(points);
        let mut made = pdf.page(page_id(i));
        made.media_box(Rect::new(0.0, 0.0, w, h));
        made.parent(tree);
        made.contents(content_id(i));
        made.resources().fonts().pair(FONT, font);
        made.finish();
        pdf.stream(content_id(i), &content(page));
    }
    pdf.type1_font(font)
        .base_font(Name(b"Helvetica"))
        .encoding_predefined(Name(b"WinAnsiEncoding"));
    pdf.finish()
}

fn points(mm: f64) -> f32 {
    (mm * POINTS) as f32
}

fn content(page: &Page) -> Vec<u8> {
    let mut content = Content::new();
    content.set_line_join(LineJoinStyle::RoundJoin);
    content.set_line_cap(LineCapStyle::ButtCap);
    for layer in &page.layers {
        draw(&mut content, layer);
    }
    content.finish().to_vec()
}

fn draw(content: &mut Content, layer: &Layer<'_>) {
    content.save_state();
    if let Some([low, high]) = layer.clip {
        let size = high - low;
        content.rect(points(low.x), points(low.y), points(size.x), points(size.y));
        content.clip_nonzero();
        content.end_path();
    }
    for item in layer.items {
        match item {
            // No template holds one.
            Item::Image { .. } => {}
            Item::Stroke { points, line, ink } => stroke(content, points, *line, *ink, layer.shift),
            Item::Area { outline, fill } => area(content, outline, *fill, layer.shift),
            Item::Text {
                at,
                text,
                height_mm,
                anchor,
                ink,
            } => letter(content, *at + layer.shift, text, *height_mm, *anchor, *ink),
        }
    }
    content.restore_state();
}

/// Colours as they are printed: black, grey and the accent.
fn colour(ink: Ink) -> [f32; 3] {
    match ink {
        Ink::Plain => [0.0; 3],
        Ink::Faint => [0.467; 3],
        Ink::Accent => [0.627, 0.094, 0.063],
    }
}

fn path(content: &mut Content, corners: &[Point2], shift: Vector2) {
    for (i, p) in corners.iter().enumerate() {
        let p = p + shift;
        if i == 0 {
            content.move_to(points(p.x), points(p.y));
        } else {
            content.line_to(points(p.x), points(p.y));
        }
    }
}

fn stroke(content: &mut Content, corners: &[Point2], line: Line, ink: Ink, shift: Vector2) {
    let [r, g, b] = colour(ink);
    content.set_stroke_rgb(r, g, b);
    content.set_line_width(points(line.width_mm()));
    content.set_dash_pattern(line.dashes_mm().iter().map(|d| points(*d)), 0.0);
    let closed = corners.len() > 2 && corners.first() == corners.last();
    let count = corners.len() - usize::from(closed);
    path(content, corners.get(..count).unwrap_or(corners), shift);
    if closed {
        content.close_path();
    }
    content.stroke();
}

fn area(content: &mut Content, outline: &[Point2], fill: Fill, shift: Vector2) {
    let [r, g, b] = match fill {
        Fill::Wash => [0.84; 3],
        Fill::Accent => colour(Ink::Accent),
        Fill::Solid => colour(Ink::Plain),
        Fill::Paper => [1.0; 3],
        Fill::Field(level) => cividis(level).map(|c| f32::from(c) / 255.0),
    };
    content.set_fill_rgb(r, g, b);
    path(content, outline, shift);
    content.close_path();
    content.fill_nonzero();
}

fn letter(content: &mut Content, at: Point2, text: &str, height: f64, anchor: Anchor, ink: Ink) {
    let text = written(text);
    let size = height / CAPITAL;
    let width = size * width_of(&text);
    let left = match anchor {
        Anchor::Start => at.x,
        Anchor::Middle => at.x - 0.5 * width,
        Anchor::End => at.x - width,
    };
    let [r, g, b] = colour(ink);
    content.set_fill_rgb(r, g, b);
    content.begin_text();
    content.set_font(FONT, points(size));
    content.next_line(points(left), points(at.y));
    content.show(Str(&bytes(&text)));
    content.end_text();
}

/// A text in the letters the font's encoding has: those of Latin-1 (ISO 8859-1, which WinAnsi holds at the same
/// places, PDF 32000-1, annex D).
fn written(text: &str) -> String {
    let plain = |c: char| match c {
        ' '..='~' | '\u{a0}'..='\u{ff}' => c,
        '\u{2013}' | '\u{2014}' | '\u{2212}' => '-',
        '\u{2018}' | '\u{2019}' => '\'',
        _ => '?',
    };
    text.chars().map(plain).collect()
}

/// A written text as the file holds it.
fn bytes(text: &str) -> Vec<u8> {
    let byte = |c: char| u8::try_from(u32::from(c)).unwrap_or(b'?');
    text.chars().map(byte).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_and_accents_are_written_and_what_the_font_lacks_is_marked() {
        assert_eq!(bytes(&written("WARP 45\u{b0}")), b"WARP 45\xb0");
        assert_eq!(bytes(&written("\u{fc}bung \u{2212}1")), b"\xfcbung -1");
        assert_eq!(bytes(&written("\u{6f22}")), b"?");
    }
}
