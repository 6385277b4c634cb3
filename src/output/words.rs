//! Numbers in the words of the sheet and its drawings.

/// A number as text, or two with "to" between them where they read differently.
pub(super) fn span([low, high]: [f64; 2], decimals: usize) -> String {
    let [low, high] = [low, high].map(|value| {
        let text = format!("{value:.decimals$}");
        // Nothing below nothing.
        match text.strip_prefix('-') {
            Some(bare) if bare.chars().all(|c| matches!(c, '0' | '.')) => bare.to_owned(),
            _ => text,
        }
    });
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

/// A height (mm) from a line: the number, and which way it lies.
pub(super) fn from_line(mm: f64) -> (String, &'static str) {
    let way = if mm < 0.0 { "below" } else { "above" };
    (format!("{:.1}", mm.abs()), way)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_whose_ends_read_alike_is_one_number() {
        assert_eq!(span([4.04, 3.96], 1), "4.0");
        assert_eq!(span([-0.04, 0.1], 1), "0.0 to 0.1");
        assert_eq!(span([-1.0, 2.0], 0), "-1 to 2");
        assert_eq!(from_line(-36.0), ("36.0".to_owned(), "below"));
    }
}
