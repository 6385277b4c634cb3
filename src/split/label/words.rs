//! What a label says, and the ways to set it, from the whole of it to the number alone.

use super::font;

/// What a segment's label is to say.
pub(super) struct Words {
    pub(super) name: String,
    pub(super) number: String,
    pub(super) arrow: Option<char>,
    /// Letters of the joints at the reader's left and right.
    pub(super) letters: [String; 2],
}

impl Words {
    /// Ways to set it, the best first: whole on one line and on more, then without the name, without the
    /// arrow, and the number alone. As many whatever the words are.
    pub(super) fn ways(&self) -> Vec<Vec<String>> {
        let [left, right] = self.letters.each_ref().map(String::as_str);
        let arrow = self.arrow.map(String::from).unwrap_or_default();
        let (name, number, arrow) = (self.name.as_str(), self.number.as_str(), arrow.as_str());
        let ways: [&[&[&str]]; 10] = [
            &[&[left, name, number, arrow, right]],
            &[&[name], &[left, number, arrow, right]],
            &[&[name], &[number, arrow], &[left, right]],
            &[&[name], &[number], &[left, arrow, right]],
            &[&[left, number, arrow, right]],
            &[&[number, arrow], &[left, right]],
            &[&[number], &[left, arrow, right]],
            &[&[left, number, right]],
            &[&[number], &[left, right]],
            &[&[number]],
        ];
        let line = |parts: &[&str]| {
            let said: Vec<&str> = parts.iter().copied().filter(|p| !p.is_empty()).collect();
            said.join(" ")
        };
        ways.map(|lines| {
            let lines = lines.iter().map(|parts| line(parts));
            lines.filter(|line| !line.is_empty()).collect()
        })
        .into()
    }
}

/// One way to lay a label out.
pub(super) struct Layout {
    pub(super) lines: Vec<String>,
    /// Height of the letters (mm).
    pub(super) height: f64,
}

/// Width of a stroke (mm): two beads of 0.4 mm and a little.
pub(super) const STROKE_MM: f64 = 0.9;
/// From one line to the next, in heights of a letter.
const LINE_SHARE: f64 = 1.5;

impl Layout {
    fn unit(&self) -> f64 {
        self.height / font::HIGH
    }

    /// Width and height, the strokes' own width with them (mm).
    pub(super) fn size(&self) -> [f64; 2] {
        let widths = self.lines.iter().map(|line| font::width(line));
        let lines = self.lines.len().saturating_sub(1) as f64;
        [
            widths.fold(0.0, f64::max) * self.unit() + STROKE_MM,
            self.height * (1.0 + LINE_SHARE * lines) + STROKE_MM,
        ]
    }

    /// The middles of all strokes, from one end to the other: to the right of the label's middle, and up from
    /// the lowest line's foot (mm).
    pub(super) fn strokes(&self) -> Vec<[[f64; 2]; 2]> {
        let (unit, last) = (self.unit(), self.lines.len().saturating_sub(1));
        let set = self.lines.iter().enumerate().flat_map(|(k, line)| {
            let left = -font::width(line) * unit / 2.0;
            let base = self.height * LINE_SHARE * (last - k) as f64;
            font::strokes(line)
                .into_iter()
                .map(move |stroke| stroke.map(|[x, y]| [left + x * unit, base + y * unit]))
        });
        set.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each says no more than the one before it, and takes no more room than some before it.
    #[test]
    fn the_shorter_forms_say_less_and_end_with_the_number() {
        let words = Words {
            name: "TAIL".into(),
            number: "12/13".into(),
            arrow: Some(font::AWAY),
            letters: ["L".into(), "K".into()],
        };
        let ways = words.ways();
        assert_eq!(ways[0], ["L TAIL 12/13 \u{2297} K"]);
        assert_eq!(ways[5], ["12/13 \u{2297}", "L K"]);
        assert_eq!(ways[9], ["12/13"]);
        let said = |way: &[String]| way.join("").replace(' ', "").chars().count();
        assert!(ways.windows(2).all(|pair| said(&pair[1]) <= said(&pair[0])));
        let wide = |k: usize| {
            let lines = ways[k].clone();
            Layout { lines, height: 6.0 }.size()[0]
        };
        assert!(wide(4) > wide(5) && wide(5) > wide(6) && wide(6) >= wide(9));
    }

    /// A row of one has no joints, and a job need not know where the front is.
    #[test]
    fn what_is_not_known_leaves_no_empty_line() {
        let words = Words {
            name: String::new(),
            number: "1/1".into(),
            arrow: None,
            letters: [String::new(), String::new()],
        };
        for way in words.ways() {
            assert_eq!(way, ["1/1"]);
        }
    }
}
