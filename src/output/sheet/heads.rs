//! Heads of tables, which a printer repeats on every page a table runs over; and for a narrow screen, where a
//! wide table's rows stand as cards, the head of its column beside every cell.

/// Tables of so many columns or more do not fit a phone.
const WIDE: usize = 4;

/// A chapter whose tables have their first row as a head, where that holds nothing but headings.
pub(super) fn with_heads(html: &str) -> String {
    const OPEN: &str = "<table>";
    const END: &str = "</tr>";
    let mut parts = html.split(OPEN);
    let mut made = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let part = part.trim_start_matches('\n');
        match part.split_once(END) {
            Some((row, rest)) if row.starts_with("<tr><th") && !row.contains("<td") => {
                let names = names(row);
                let wide = names.len() >= WIDE;
                made.push_str(if wide { "<table class=\"wide\">" } else { OPEN });
                made.push_str("\n<thead>");
                made.push_str(row);
                made.push_str(END);
                made.push_str("</thead>");
                match rest.split_once("</table>") {
                    Some((rows, after)) if wide => {
                        made.push_str(&named(rows, &names));
                        made.push_str("</table>");
                        made.push_str(after);
                    }
                    _ => made.push_str(rest),
                }
            }
            _ => {
                made.push_str(OPEN);
                made.push('\n');
                made.push_str(part);
            }
        }
    }
    made
}

/// The headings of a row.
fn names(row: &str) -> Vec<&str> {
    row.split("<th")
        .skip(1)
        .filter_map(|cell| cell.split_once('>'))
        .map(|(_, rest)| rest.split('<').next().unwrap_or_default())
        .collect()
}

/// Rows whose cells each carry the name of their column.
fn named(rows: &str, names: &[&str]) -> String {
    let mut made = String::with_capacity(2 * rows.len());
    for (r, row) in rows.split("<tr").enumerate() {
        if r > 0 {
            made.push_str("<tr");
        }
        // A heading at a row's beginning takes the first name.
        let first = usize::from(row.contains("<th"));
        for (c, cell) in row.split("<td").enumerate() {
            if c > 0 {
                made.push_str("<td");
                if let Some(name) = names.get(first + c - 1) {
                    made.push_str(" data-l=\"");
                    made.push_str(&name.replace('"', "&quot;"));
                    made.push('"');
                }
            }
            made.push_str(cell);
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

    #[test]
    fn cells_of_a_wide_table_carry_their_columns_name() {
        let head: String = (1..=4)
            .map(|k| format!("<th class=\"n\">h{k}</th>"))
            .collect();
        let table = format!(
            "<table>\n<tr>{head}</tr>\n<tr><td>a</td><td class=\"n\">b</td></tr>\n<tr><th>all</th><td>c</td></tr>\n</table><p>d</p>"
        );
        assert_eq!(
            with_heads(&table),
            format!(
                "<table class=\"wide\">\n<thead><tr>{head}</tr></thead>\n<tr><td data-l=\"h1\">a</td>\
                 <td data-l=\"h2\" class=\"n\">b</td></tr>\n<tr><th>all</th><td data-l=\"h2\">c</td></tr>\n</table><p>d</p>"
            )
        );
    }
}
