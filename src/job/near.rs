//! The word somebody probably meant.

/// The word of `words` nearest to `typed`, if one is near: the same beginning up to a unit left out, or
/// at most a third of its letters wrong.
pub(super) fn nearest<'a>(typed: &str, words: &[&'a str]) -> Option<&'a str> {
    let typed = typed.to_lowercase();
    if let Some(word) = words.iter().find(|w| **w == format!("{typed}_mm")) {
        return Some(word);
    }
    words
        .iter()
        .map(|word| (edits(&typed, word), *word))
        .filter(|(count, word)| *count * 3 <= word.chars().count().max(typed.chars().count()))
        .min_by_key(|(count, _)| *count)
        .map(|(_, word)| word)
}

/// Letters to put in, take out, change or swap with their neighbour (optimal string alignment).
fn edits(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut before: Vec<usize> = Vec::new();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut next = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let change = row[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            next[j] = change.min(row[j] + 1).min(next[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                next[j] = next[j].min(before[j - 2] + 1);
            }
        }
        before = std::mem::replace(&mut row, next);
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_finger_are_understood() {
        let words = ["wall_mm", "flange_mm", "fillet_mm"];
        assert_eq!(nearest("wal_mm", &words), Some("wall_mm"));
        assert_eq!(nearest("wlal_mm", &words), Some("wall_mm"));
        assert_eq!(nearest("Wall", &words), Some("wall_mm"));
        assert_eq!(nearest("flange_m", &words), Some("flange_mm"));
        assert_eq!(nearest("colour", &words), None);
        assert_eq!(nearest("", &words), None);
    }
}
