//! Drawings as SVG 1.1, in millimetres.

use super::base64::base64;
use super::drawing::{Anchor, Drawing, Fill, Ink, Item, Line, cividis};
use super::lettering::width_of;
use crate::math::Point2;
use std::fmt::Write;

/// Lettering.
const FONT: &str = "font-family=\"Helvetica Neue, Arial, Liberation Sans, sans-serif\"";

/// Height of a capital as a share of the font's size.
const CAPITAL: f64 = 0.72;
/// Paper round a printed line of letters (mm).
const RIM_MM: f64 = 0.3;

/// Colours of a theme.
struct Theme {
    ink: &'static str,
    faint: &'static str,
    /// Faint letters, which have to be read: 4.5 to 1 against the paper or more (WCAG 2.2, 1.4.3).
    faint_text: &'static str,
    accent: &'static str,
    paper: &'static str,
}

const LIGHT: Theme = Theme {
    ink: "#1d2226",
    faint: "#8a9096",
    faint_text: "#656c72",
    accent: "#b3261e",
    paper: "#fdfcf8",
};
const DARK: Theme = Theme {
    ink: "#e6e3da",
    faint: "#858b90",
    faint_text: "#9aa0a5",
    accent: "#ff8a73",
    paper: "#16191c",
};
/// Printed: black on white.
const PRINT: Theme = Theme {
    ink: "#000",
    faint: "#777",
    faint_text: "#555",
    accent: "#a01810",
    paper: "#fff",
};

fn rules(theme: &Theme) -> String {
    let Theme {
        ink,
        faint,
        faint_text,
        accent,
        paper,
    } = theme;
    format!(
        ".pl{{stroke:{ink}}}.fa{{stroke:{faint}}}.ac{{stroke:{accent}}}\
         .tp{{fill:{ink}}}.tf{{fill:{faint_text}}}.ta{{fill:{accent}}}\
         .paper,.rim{{fill:{paper}}}text{{stroke:{paper}}}"
    )
}

/// The style that gives rendered drawings the colours of the viewer's theme. Put once in a page that holds
/// figures. Without it, or where a reader knows no style sheets, drawings keep the colours of the light
/// theme.
#[must_use]
pub fn style() -> String {
    format!(
        "{}@media (prefers-color-scheme:dark){{{}}}@media print{{{}text{{stroke:none}}.rim{{display:inline}}}}",
        rules(&LIGHT),
        rules(&DARK),
        rules(&PRINT)
    )
}

/// Attributes of a line, its colour both as a class and for readers without style sheets.
fn stroke_attributes(line: Line, ink: Ink) -> String {
    let colour = match ink {
        Ink::Plain => LIGHT.ink,
        Ink::Faint => LIGHT.faint,
        Ink::Accent => LIGHT.accent,
    };
    let mut text = format!(
        "class=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\" stroke-linejoin=\"round\"",
        stroke_class(ink),
        line.width_mm()
    );
    if !line.dashes_mm().is_empty() {
        let dashes: Vec<String> = line.dashes_mm().iter().map(f64::to_string).collect();
        let _ = write!(text, " stroke-dasharray=\"{}\"", dashes.join(" "));
    }
    text
}

fn fill_attributes(fill: Fill) -> String {
    let (class, colour, more) = match fill {
        Fill::Field(level) => {
            let [red, green, blue] = cividis(level);
            // Cells meet without a seam only where the reader does not soften their sides.
            return format!(
                "fill=\"#{red:02x}{green:02x}{blue:02x}\" shape-rendering=\"crispEdges\""
            );
        }
        Fill::Wash => ("tp", LIGHT.ink, " fill-opacity=\".16\""),
        Fill::Accent => ("ta", LIGHT.accent, ""),
        Fill::Solid => ("tp", LIGHT.ink, ""),
        Fill::Paper => ("paper", LIGHT.paper, ""),
    };
    format!("class=\"{class}\" fill=\"{colour}\"{more}")
}

fn text_attributes(ink: Ink) -> String {
    let (class, colour) = match ink {
        Ink::Plain => ("tp", LIGHT.ink),
        Ink::Faint => ("tf", LIGHT.faint_text),
        Ink::Accent => ("ta", LIGHT.accent),
    };
    // A rim of paper under the letters breaks the lines they stand on.
    format!(
        "class=\"{class}\" fill=\"{colour}\" stroke=\"{}\" stroke-width=\"1\" stroke-linejoin=\"round\" paint-order=\"stroke\"",
        LIGHT.paper
    )
}

fn stroke_class(ink: Ink) -> &'static str {
    match ink {
        Ink::Plain => "pl",
        Ink::Faint => "fa",
        Ink::Accent => "ac",
    }
}

/// A drawing as a file of its own, 1:1 when printed at 100 %.
#[must_use]
pub fn document(drawing: &Drawing) -> String {
    let [w, h] = drawing.size_mm.map(number);
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" {FONT}>\n\
         <title>{}</title>\n<style>{}</style>\n<rect class=\"paper\" fill=\"{}\" width=\"{w}\" height=\"{h}\"/>\n{}</svg>\n",
        escaped(&drawing.title),
        style(),
        LIGHT.paper,
        body(drawing)
    )
}

/// A drawing to stand in an HTML page that carries [`style`].
#[must_use]
pub fn figure(drawing: &Drawing) -> String {
    let [w, h] = drawing.size_mm.map(number);
    format!(
        "<svg viewBox=\"0 0 {w} {h}\" style=\"width:{w}mm\" {FONT} role=\"img\" aria-label=\"{}\">\n{}</svg>\n",
        escaped(&drawing.title),
        body(drawing)
    )
}

fn body(drawing: &Drawing) -> String {
    let mut text = String::new();
    let height = drawing.size_mm[1];
    let mut open: Option<(Line, Ink)> = None;
    for item in &drawing.items {
        // Strokes alike that follow each other share one path.
        if let (Item::Stroke { line, ink, .. }, Some(kind)) = (item, open)
            && kind == (*line, *ink)
        {
        } else {
            if open.take().is_some() {
                text.push_str("\"/>\n");
            }
            if let Item::Stroke { line, ink, .. } = item {
                let _ = write!(text, "<path {} d=\"", stroke_attributes(*line, *ink));
                open = Some((*line, *ink));
            }
        }
        match item {
            Item::Stroke { points, .. } => path(&mut text, points, height),
            Item::Area { outline, fill } => {
                let _ = write!(text, "<path {} d=\"", fill_attributes(*fill));
                path(&mut text, outline, height);
                text.push_str("Z\"/>\n");
            }
            Item::Image { at, size_mm, png } => {
                let [width, tall] = *size_mm;
                let _ = writeln!(
                    text,
                    "<image x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" href=\"data:image/png;base64,{}\"/>",
                    number(at.x),
                    number(height - at.y - tall),
                    number(width),
                    number(tall),
                    base64(png)
                );
            }
            Item::Text {
                at,
                text: words,
                height_mm,
                anchor,
                ink,
            } => {
                let size = height_mm / CAPITAL;
                let wide = size * width_of(words);
                let (anchor, left) = match anchor {
                    Anchor::Start => ("start", at.x),
                    Anchor::Middle => ("middle", at.x - 0.5 * wide),
                    Anchor::End => ("end", at.x - wide),
                };
                // Printed to a file, letters with a rim come out twice for who copies or searches them: there
                // a strip of paper takes the rim's place.
                let _ = write!(
                    text,
                    "<path class=\"rim\" display=\"none\" fill=\"{}\" d=\"M{} {}h{}v{}h-{}Z\"/>",
                    LIGHT.paper,
                    number(left - RIM_MM),
                    number(height - at.y - height_mm - RIM_MM),
                    number(wide + 2.0 * RIM_MM),
                    number(1.2 * height_mm + 2.0 * RIM_MM),
                    number(wide + 2.0 * RIM_MM),
                );
                let _ = writeln!(
                    text,
                    "<text {} x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\">{}</text>",
                    text_attributes(*ink),
                    number(at.x),
                    number(height - at.y),
                    number(size),
                    escaped(words)
                );
            }
        }
    }
    if open.is_some() {
        text.push_str("\"/>\n");
    }
    text
}

/// Moves and lines; a path back to its first point is closed.
fn path(text: &mut String, points: &[Point2], height: f64) {
    let closed = points.len() > 2 && points.first() == points.last();
    let count = points.len() - usize::from(closed);
    for (i, p) in points.iter().take(count).enumerate() {
        let letter = if i == 0 { 'M' } else { 'L' };
        let _ = write!(text, "{letter}{} {}", number(p.x), number(height - p.y));
    }
    if closed {
        text.push('Z');
    }
}

/// Hundredths of a millimetre, without trailing zeros or a negative zero.
fn number(value: f64) -> String {
    format!("{}", (value * 100.0).round() / 100.0 + 0.0)
}

/// Text with the characters that mean something in XML or HTML written out.
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Control characters and these two have no place in XML 1.0.
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::drawing::Scale;
    use crate::output::tests::expect_well_formed;

    #[test]
    fn the_file_is_well_formed_whatever_the_text() {
        let mut drawing = Drawing::new("a < b & \"c\"", [100.0, 50.0]);
        drawing.note(Point2::new(1.0, 1.0), Anchor::End, "<script>&\u{1}'");
        drawing.outline(
            vec![
                Point2::origin(),
                Point2::new(3.0, 0.0),
                Point2::new(0.0, 4.0),
            ],
            Line::Wide,
            Ink::Plain,
        );
        drawing.stroke(
            vec![Point2::origin(), Point2::new(9.0, 9.0)],
            Line::Wide,
            Ink::Plain,
        );
        drawing.stroke(
            vec![Point2::new(f64::NAN, 0.0), Point2::origin()],
            Line::Wide,
            Ink::Plain,
        );
        let text = document(&drawing);
        expect_well_formed(&text);
        assert!(!text.contains("NaN") && !text.contains("<script"));
        // The two strokes alike share a path: 3-4-5 corner, then the line, y turned over.
        assert!(text.contains("d=\"M0 50L3 50L0 46ZM0 50L9 41\""), "{text}");
    }

    #[test]
    fn a_scale_bar_has_the_length_it_says() {
        let mut drawing = Drawing::new("bar", [200.0, 20.0]);
        let scale = Scale::fitting(1400.0, 165.0);
        let width = drawing.scale_bar(Point2::new(10.0, 5.0), scale, 40.0);
        assert_eq!(width, 20.0);
        let text = document(&drawing);
        assert!(text.contains("200 mm, 1:10"), "{text}");
        assert!(text.contains("M10 15L30 15L30 14L10 14Z"), "{text}");
    }

    /// "10 mm" in capitals of 2.5 mm, its end at 50: 10.61 mm wide by Helvetica's metrics, and a rim round it.
    #[test]
    fn printed_letters_stand_on_paper_and_are_drawn_once() {
        let mut drawing = Drawing::new("rim", [100.0, 20.0]);
        drawing.note(Point2::new(50.0, 5.0), Anchor::End, "10 mm");
        let text = document(&drawing);
        assert!(
            text.contains("d=\"M39.09 12.2h11.21v3.6h-11.21Z\""),
            "{text}"
        );
        let printed = text.split("@media print{").nth(1).unwrap();
        assert!(printed.contains("text{stroke:none}.rim{display:inline}"));
        assert_eq!(text.matches("10 mm").count(), 1);
    }
}
