//! The word somebody probably meant.

/// The word of `words` nearest to `typed`, if one is near: the same beginning up to a unit left out, or
/// all of its words among others, or at most a third of its letters wrong.
pub(super) fn nearest<'a>(typed: &str, words: &[&'a str]) -> Option<&'a str> {
    let typed = typed.to_lowercase();
    if let Some(word) = words.iter().find(|w| **w == format!("{typed}_mm")) {
        return Some(word);
    }
    let spelled = spelled(&typed, words);
    // One slip of the finger is likelier than words left out, and those than several slips.
    match (spelled, holding(&typed, words)) {
        (Some((0 | 1, word)), _) | (_, Some(word)) | (Some((_, word)), None) => Some(word),
        (None, None) => None,
    }
}

/// The shortest word that holds every part of `typed`, its unit left out: `foam_mm` for `seal_foam_mm`.
fn holding<'a>(typed: &str, words: &[&'a str]) -> Option<&'a str> {
    const UNITS: [&str; 6] = ["mm", "deg", "c", "percent", "m2", "kmh"];
    let parts: Vec<&str> = typed
        .split(['_', '-', ' '])
        .filter(|part| !UNITS.contains(part))
        .collect();
    let long = parts.iter().any(|part| part.len() >= 3);
    let holds = |word: &&&str| parts.iter().all(|part| word.split('_').any(|w| w == *part));
    let found = words.iter().filter(holds).filter(|_| long);
    found.min_by_key(|word| word.len()).copied()
}

/// The word with the fewest slips, if few enough, and how many.
fn spelled<'a>(typed: &str, words: &[&'a str]) -> Option<(usize, &'a str)> {
    words
        .iter()
        .map(|word| (edits(typed, word), *word))
        .filter(|(count, word)| *count * 3 <= word.chars().count().max(typed.chars().count()))
        .min_by_key(|(count, _)| *count)
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

    #[test]
    fn words_left_out_are_understood() {
        let words = ["seal_mm", "seal_foam_mm", "flange_mm", "tab_wall_mm"];
        assert_eq!(nearest("foam_mm", &words), Some("seal_foam_mm"));
        assert_eq!(nearest("foam", &words), Some("seal_foam_mm"));
        assert_eq!(nearest("foam_seal", &words), Some("seal_foam_mm"));
        assert_eq!(nearest("flnge_mm", &words), Some("flange_mm"));
        assert_eq!(nearest("mm", &words), None);
    }
}
