//! Tables of words as a terminal shows them: columns under each other, and no line that it breaks.

/// No row is wider \[characters\].
pub(crate) const WIDTH: usize = 100;
const GAP: &str = "  ";

/// Rows under each other. Columns for which a line has no room follow in a block of their own, the first column
/// before them again.
///
/// ```
/// use easeoff::report::text_table::aligned;
/// let rows = [["teeth", "ratio"], ["9", "52.0"]].map(|row| row.map(String::from).to_vec());
/// assert_eq!(aligned(&rows), "teeth  ratio\n9      52.0\n");
/// ```
pub fn aligned(rows: &[Vec<String>]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut text = String::new();
    let mut from = 1.min(columns);
    loop {
        let mut used = widths.first().copied().unwrap_or(0);
        let fits = |width: &&usize| {
            used += GAP.len() + **width;
            used <= WIDTH
        };
        // A column that is too wide by itself is shown all the same.
        let to = from + widths[from..].iter().take_while(fits).count();
        let to = to.max(from + 1).min(columns);
        for row in rows {
            let shown = std::iter::once(0).chain(from..to);
            let cells = shown.map(|column| {
                format!("{:<1$}", row.get(column).map_or("", String::as_str), widths[column])
            });
            text.push_str(cells.collect::<Vec<_>>().join(GAP).trim_end());
            text.push('\n');
        }
        from = to;
        if from >= columns {
            return text;
        }
        text.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_too_wide_and_no_cell_is_lost() {
        for columns in [1, 2, 7, 30] {
            let row =
                |row: usize| (0..columns).map(|c| format!("r{row}c{c}{}", "-".repeat(c))).collect();
            let rows: Vec<Vec<String>> = (0..3).map(row).collect();
            let text = aligned(&rows);
            assert!(text.lines().all(|line| line.chars().count() <= WIDTH), "{text}");
            let words: Vec<&str> = text.split_whitespace().collect();
            assert!(rows.iter().flatten().all(|cell| words.contains(&cell.as_str())), "{text}");
            // Each block begins with the first column.
            let named = text.lines().filter(|line| !line.is_empty());
            assert!(named.clone().all(|line| line.starts_with('r')) && named.count() % 3 == 0);
        }
        assert_eq!(aligned(&[]), "");
    }
}
