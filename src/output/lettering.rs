//! How wide a line of lettering is, without asking a font.

/// Widths of Helvetica's letters from the space to the tilde, in thousandths of its size (Adobe's metrics
/// for the base 14 fonts, from memory).
#[rustfmt::skip]
const WIDTHS: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// Width of a text as a share of its size.
pub(super) fn width_of(text: &str) -> f64 {
    let width = |c: char| {
        // Degrees and raised figures are narrow (from memory as well); letters with accents as without.
        match c {
            '\u{b0}' => return 400,
            '\u{b2}' | '\u{b3}' | '\u{b9}' => return 333,
            _ => {}
        }
        let place = (c as usize).checked_sub(' ' as usize);
        place.and_then(|i| WIDTHS.get(i)).copied().unwrap_or(556)
    };
    text.chars().map(|c| f64::from(width(c))).sum::<f64>() / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_as_wide_as_its_letters() {
        assert!((width_of("\u{b0}") - 0.4).abs() < 1e-12);
        assert!((width_of("10 mm") - (2.0 * 0.556 + 0.278 + 2.0 * 0.833)).abs() < 1e-12);
    }
}
