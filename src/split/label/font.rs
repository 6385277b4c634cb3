//! Letters and figures as strokes, for what is cut into a part: our own, drawn on a grid four wide and six
//! high, every counter wide enough to stay open at a stroke a seventh of the height.

/// Height of a letter in grid units; a letter is no wider than [`WIDE`], and the next begins [`STEP`] on.
pub(super) const HIGH: f64 = 6.0;
pub(super) const WIDE: f64 = 4.0;
pub(super) const STEP: f64 = 6.0;

/// Marks that are no letters: arrows, and the head and the tail of an arrow seen end on.
pub(super) const RIGHT: char = '\u{2192}';
pub(super) const LEFT: char = '\u{2190}';
pub(super) const UP: char = '\u{2191}';
pub(super) const DOWN: char = '\u{2193}';
pub(super) const AWAY: char = '\u{2297}';
pub(super) const TOWARD: char = '\u{2299}';

/// The strokes of a letter, each a row of corners as digits: across and up. `None` for what there is no
/// letter for.
fn drawn(letter: char) -> Option<&'static [&'static str]> {
    Some(match letter {
        'A' => &["00 26 40", "12 32"],
        'B' => &["00 06 36 45 44 33 03", "33 42 41 30 00"],
        'C' => &["45 36 16 05 01 10 30 41"],
        'D' => &["00 06 26 44 42 20 00"],
        'E' => &["40 00 06 46", "03 33"],
        'F' => &["00 06 46", "03 33"],
        'G' => &["45 36 16 05 01 10 30 41 43 23"],
        'H' => &["00 06", "40 46", "03 43"],
        'I' => &["10 30", "20 26", "16 36"],
        'J' => &["01 10 30 41 46"],
        'K' => &["00 06", "46 03 40"],
        'L' => &["06 00 40"],
        'M' => &["00 06 23 46 40"],
        'N' => &["00 06 40 46"],
        'O' => &["10 30 41 45 36 16 05 01 10"],
        'P' => &["00 06 36 45 44 33 03"],
        'Q' => &["10 30 41 45 36 16 05 01 10", "22 40"],
        'R' => &["00 06 36 45 44 33 03", "23 40"],
        'S' => &["01 10 30 41 42 33 13 04 05 16 36 45"],
        'T' => &["06 46", "20 26"],
        'U' => &["06 01 10 30 41 46"],
        'V' => &["06 20 46"],
        'W' => &["06 10 23 30 46"],
        'X' => &["00 46", "06 40"],
        'Y' => &["06 23 46", "23 20"],
        'Z' => &["06 46 00 40"],
        '0' => &["10 30 41 45 36 16 05 01 10", "01 45"],
        '1' => &["04 26 20", "00 40"],
        '2' => &["05 16 36 45 44 00 40"],
        '3' => &["05 16 36 45 44 33 42 41 30 10 01", "33 13"],
        '4' => &["30 36 02 42"],
        '5' => &["46 06 04 34 43 41 30 10 01"],
        '6' => &["45 36 16 05 01 10 30 41 42 33 03"],
        '7' => &["06 46 10"],
        '8' => &["13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33"],
        '9' => &["01 10 30 41 45 36 16 05 04 13 43"],
        '/' => &["00 46"],
        '-' | '_' => &["03 43"],
        '.' => &["20 21"],
        ' ' => &[],
        RIGHT => &["03 43", "25 43 21"],
        LEFT => &["43 03", "25 03 21"],
        UP => &["20 26", "04 26 44"],
        DOWN => &["26 20", "02 20 42"],
        AWAY => &["11 31 42 44 35 15 04 02 11", "11 35", "31 15"],
        TOWARD => &["11 31 42 44 35 15 04 02 11", "23 24"],
        _ => return None,
    })
}

/// What is written of a text: letters there are, the others left out.
pub(super) fn writable(text: &str) -> String {
    let plain = text.chars().flat_map(char::to_uppercase);
    let kept: String = plain
        .map(|c| if c.is_whitespace() { ' ' } else { c })
        .filter(|c| drawn(*c).is_some())
        .collect();
    kept.trim().to_owned()
}

/// The strokes of a line of text in grid units from its lower left, each from one corner to the next.
pub(super) fn strokes(text: &str) -> Vec<[[f64; 2]; 2]> {
    let mut all = Vec::new();
    for (i, letter) in text.chars().enumerate() {
        for row in drawn(letter).unwrap_or_default() {
            let corners: Vec<[f64; 2]> = row
                .split(' ')
                .filter_map(|corner| {
                    let mut digits = corner.chars().filter_map(|c| c.to_digit(10));
                    let (across, up) = (digits.next()?, digits.next()?);
                    Some([STEP * i as f64 + f64::from(across), f64::from(up)])
                })
                .collect();
            all.extend(corners.windows(2).map(|pair| [pair[0], pair[1]]));
        }
    }
    all
}

/// Width of a line of text in grid units.
pub(super) fn width(text: &str) -> f64 {
    let count = text.chars().count() as f64;
    (STEP * count - (STEP - WIDE)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_and_figure_is_drawn_inside_its_box_and_unlike_the_others() {
        let all: Vec<char> = ('A'..='Z').chain('0'..='9').chain("/-.".chars()).collect();
        for (i, &letter) in all.iter().enumerate() {
            let strokes = strokes(&letter.to_string());
            assert!(!strokes.is_empty(), "{letter}");
            for [a, b] in &strokes {
                assert_ne!(a, b, "{letter}");
                assert!(
                    [a, b].iter().all(|p| p[0] <= WIDE && p[1] <= HIGH),
                    "{letter}"
                );
            }
            assert!(
                all[..i].iter().all(|&other| drawn(other) != drawn(letter)),
                "{letter}"
            );
        }
    }

    #[test]
    fn what_cannot_be_written_is_left_out() {
        assert_eq!(writable("  nose\t\u{1f600}b-2 "), "NOSE B-2");
        assert_eq!(width("AB"), 10.0);
        assert_eq!(width(""), 0.0);
    }
}
