//! The page and the table of a search.

use easeoff_sim::score::ScoreRow;
use easeoff_sim::study::goals::{Dimension, Found, Keep};

use crate::report::html::{Figure, Page};
use crate::report::page::cautions;

/// The page. `scores` are the aim's score, then one for each limit.
pub fn page(title: &str, said: &[String], figure: Option<&Figure>, scores: &[&ScoreRow]) -> String {
    let mut page = Page::new(title);
    page.list(said);
    if let Some(figure) = figure {
        page.figure(figure);
    }
    page.heading("What the scores are");
    let mut rows: Vec<Vec<String>> =
        scores.iter().map(|row| vec![row.meaning.label(), row.meaning.definition.into()]).collect();
    rows.dedup();
    page.table(&["score".to_owned(), "what it is".to_owned()], &rows);
    cautions(&mut page);
    page.finish()
}

/// Every try, a row each, in order: in which grid, where, what came of it, and whether it keeps every limit.
///
/// # Errors
/// The table's complaint.
pub(crate) fn tried_csv(
    found: &Found,
    dimensions: &[Dimension],
    keeps: &[Keep],
    scores: &[&ScoreRow],
) -> Result<Vec<u8>, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let heads = dimensions.iter().map(|dimension| dimension.key.clone());
    let scores = scores.iter().map(|row| row.meaning.column());
    let heads = std::iter::once("grid".to_owned()).chain(heads).chain(scores);
    let heads = heads.chain(["keeps every limit".to_owned()]);
    writer.write_record(heads).map_err(|error| error.to_string())?;
    for tried in &found.tried {
        let at = dimensions.iter().zip(&tried.at).map(|(dimension, at)| dimension.describe(*at));
        let number = |index: usize| match tried.values.get(index) {
            Some(value) if !value.is_nan() => value.to_string(),
            _ => String::new(),
        };
        let values = (0..=keeps.len()).map(number);
        let row = std::iter::once(tried.grid.to_string()).chain(at).chain(values);
        let row = row.chain([if tried.merit.keeps_all() { "yes" } else { "no" }.to_owned()]);
        writer.write_record(row).map_err(|error| error.to_string())?;
    }
    writer.into_inner().map_err(|error| error.to_string())
}
