//! Heads of tables, which a printer repeats on every page a table runs over.

/// A chapter whose tables have their first row as a head, where that holds nothing but headings.
pub(super) fn with_heads(html: &str) -> String {
    const OPEN: &str = "<table>";
    const END: &str = "</tr>";
    let mut parts = html.split(OPEN);
    let mut made = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        made.push_str(OPEN);
        let part = part.trim_start_matches('\n');
        match part.split_once(END) {
            Some((row, rest)) if row.starts_with("<tr><th") && !row.contains("<td") => {
                made.push_str("\n<thead>");
                made.push_str(row);
                made.push_str(END);
                made.push_str("</thead>");
                made.push_str(rest);
            }
            _ => {
                made.push('\n');
                made.push_str(part);
            }
        }
    }
    made
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_headings_alone_become_heads() {
        let table = "<p>a</p><table>\n<tr><th>x</th></tr>\n<tr><td>1</td></tr></table><table><tr><th>y</th><td>2</td></tr></table>";
        assert_eq!(
            with_heads(table),
            "<p>a</p><table>\n<thead><tr><th>x</th></tr></thead>\n<tr><td>1</td></tr></table><table>\n<tr><th>y</th><td>2</td></tr></table>"
        );
        assert_eq!(with_heads("<p>none</p>"), "<p>none</p>");
    }
}
