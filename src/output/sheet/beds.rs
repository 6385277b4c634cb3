//! Every segment on its bed: a picture, how it lies and why, what it takes, and its files.

use super::told;
use crate::output::row::Row;
use crate::output::svg::{self, escaped};
use crate::output::views::Views;
use crate::output::{print_3mf, segment_file};
use crate::split::Segment;
use std::fmt::Write;

pub(super) fn beds(html: &mut String, row: Row<'_>, views: &Views) {
    let (parts, folder, of) = (row.parts, row.of.folder(), row.of.whose());
    super::heading(html, "How they lie on the bed");
    let _ = writeln!(
        html,
        "<p>The files under {folder}print/ lie so already: do not turn them. Tick a segment off when it is printed.</p>\n\
         <div class=\"cards\">"
    );
    let pictures = views.row(row.of).map_or(&[][..], |row| &row.on_bed);
    for (i, segment) in parts.segments.iter().enumerate() {
        let at = |key: &str| format!("{}/segments/{i}/{key}", row.of.place());
        let [from, to] = segment.along.map(|s| s.round() + 0.0);
        let estimate = &segment.estimate;
        html.push_str("<article class=\"card\">\n");
        if let Some(view) = pictures.get(i) {
            let _ = writeln!(html, "<figure>\n{}</figure>", svg::figure(&view.drawing));
        }
        let _ = writeln!(
            html,
            "<p><span class=\"tick\" aria-hidden=\"true\"></span> <b>{} of {}</b>, station {} to {}\u{a0}mm: {}\u{a0}g, {}\u{a0}h</p>\n\
             <p>{}</p>\n{}<p><a href=\"{folder}print/{stl}\" aria-label=\"STL of segment {number}{of}\">STL</a> \
             <a href=\"{folder}{threemf}\" aria-label=\"3MF of segment {number}{of}\">3MF</a></p>\n</article>",
            segment.number,
            parts.segments.len(),
            told(&at("along_mm/0"), format!("{from:.0}")),
            told(&at("along_mm/1"), format!("{to:.0}")),
            told(&at("estimate/mass_g"), format!("{:.0}", estimate.mass_g)),
            told(&at("estimate/hours"), format!("{:.1}", estimate.hours)),
            sentence(&segment.pose.why),
            brim(segment, &at("pose")),
            stl = segment_file(segment.number),
            threemf = print_3mf(segment.number),
            number = segment.number,
        );
    }
    html.push_str("</div>\n");
}

/// A print whose foot is as broad, taken as a square, as this share of its height or less comes loose easily.
/// Common practice, no source.
const SMALL_FOOT: f64 = 1.0 / 3.0;

/// What to do where little of a print touches the bed for its height.
fn brim(segment: &Segment, place: &str) -> String {
    let scores = &segment.pose.scores;
    if scores.contact_mm2.max(0.0).sqrt() > SMALL_FOOT * scores.height_mm {
        return String::new();
    }
    format!(
        "<p><b>Add a brim</b> 5 to 10\u{a0}mm wide: only {}\u{a0}mm\u{b2} of it touch the bed, and it is {}\u{a0}mm high \
         (common practice, no source).</p>\n",
        told(
            &format!("{place}/contact_mm2"),
            format!("{:.0}", scores.contact_mm2)
        ),
        told(
            &format!("{place}/height_mm"),
            format!("{:.0}", scores.height_mm)
        ),
    )
}

/// The text with a capital at its beginning.
fn sentence(text: &str) -> String {
    let text = escaped(text);
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::sample;

    /// 2500 mm2 are a square of 50 mm; 36 mm2 one of 6 mm.
    #[test]
    fn a_brim_is_advised_where_little_touches_the_bed_for_its_height() {
        let made = sample::made();
        let mut segment = made.segments.segments[0].clone();
        assert_eq!(brim(&segment, "/at"), "");
        segment.pose.scores.contact_mm2 = 36.0;
        let said = brim(&segment, "/at");
        assert!(said.contains("Add a brim"), "{said}");
        assert!(
            said.contains("data-report=\"/at/contact_mm2\">36<"),
            "{said}"
        );
        assert!(said.contains("data-report=\"/at/height_mm\">30<"), "{said}");
        segment.pose.scores.contact_mm2 = 101.0;
        assert_eq!(brim(&segment, "/at"), "");
    }
}
