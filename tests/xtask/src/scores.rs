//! The book's table of scores, from the list that measures them.

use std::fs;
use std::path::Path;

use easeoff_sim::score::{Better, Meaning, SCORES, ScoreRow};

use crate::lessons::table;
use crate::stages::Failure;

const FILE: &str = "scores.md";

/// Writes it into a folder.
pub(crate) fn write(folder: &Path) -> Result<(), Failure> {
    fs::create_dir_all(folder)?;
    fs::write(folder.join(FILE), scores())?;
    println!("scores");
    Ok(())
}

fn scores() -> String {
    let row = |ScoreRow { meaning, .. }: &&ScoreRow| {
        let Meaning { name, unit, definition, better } = meaning;
        let better = match better {
            Better::Less => "less",
            Better::More => "more",
            Better::Depends => "depends",
        };
        // A bar would end the cell.
        let definition = definition.replace('|', "\\|");
        vec![format!("**{name}**"), (*unit).to_owned(), better.to_owned(), definition]
    };
    let rows: Vec<Vec<String>> = SCORES.iter().map(row).collect();
    table(&["score", "unit", "better", "what it is"], &rows)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests panic")]

    use super::*;

    /// The book tells of the scores that there are.
    #[test]
    fn the_books_table_is_the_list() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/src/made").join(FILE);
        let reported = fs::read_to_string(path).unwrap();
        assert!(reported == scores(), "`cargo xtask pictures` writes docs/src/made/{FILE} again");
    }
}
