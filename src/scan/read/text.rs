//! Lines and words of text formats, over bytes, so that stray characters in names and comments do no
//! harm.

/// The lines of a text with their numbers from 1, without line ends and blanks at either end.
pub(super) fn lines(bytes: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    bytes
        .split(|&b| b == b'\n')
        .map(<[u8]>::trim_ascii)
        .zip(1..)
        .map(|(line, number)| (number, line))
}

/// The words of a line.
pub(super) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(u8::is_ascii_whitespace)
        .filter(|w| !w.is_empty())
}

/// The first word of a text, empty if there is none.
pub(super) fn first_word(bytes: &[u8]) -> &[u8] {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    words(bytes).next().unwrap_or_default()
}

/// A word as a number; `nan` and `inf` count as numbers.
pub(super) fn number(word: &[u8]) -> Option<f64> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// The next three words as coordinates.
pub(super) fn three_numbers<'a>(mut words: impl Iterator<Item = &'a [u8]>) -> Option<[f64; 3]> {
    let mut next = || number(words.next()?);
    Some([next()?, next()?, next()?])
}
