//! All trials in words, as a page, and for a program.

use easeoff_sim::results::record;
use easeoff_sim::study::inspect::Severity;
use easeoff_sim::study::trials::verdict::{Remark, remarks};
use easeoff_sim::study::trials::{Done, Subject};
use serde_json::{Value, json};

use crate::report::html::{Figure, Page};
use crate::report::page::cautions;
use crate::report::text_table::aligned;

/// How many remarks of each kind a subject gets, in a sentence.
pub fn verdict(done: &[Done], subject: usize) -> String {
    let all: Vec<Remark> = done.iter().flat_map(|one| remarks(&one.tried[subject])).collect();
    let count = |severity| all.iter().filter(|remark| remark.severity == severity).count();
    let (wrong, doubtful) = (count(Severity::Wrong), count(Severity::Doubtful));
    let advice = match (wrong, doubtful) {
        (0, 0) => "nothing stands out",
        (0, _) => "nothing breaks; look at the doubtful ones",
        _ => "mend what is wrong first",
    };
    format!("{wrong} wrong, {doubtful} doubtful: {advice}.")
}

/// What is to be said of a trial, a sentence or two each; `names` tells several subjects apart.
fn said(done: &Done, names: &[String]) -> Vec<String> {
    let of = |(tried, name): (_, &String)| {
        let name = if names.len() > 1 { format!("{name}: ") } else { String::new() };
        let say =
            |one: Remark| format!("{name}{}: {} {}", one.severity.name(), one.says, one.remedy);
        remarks(tried).into_iter().map(say).collect::<Vec<_>>()
    };
    done.tried.iter().zip(names).flat_map(of).collect()
}

/// The scores of a trial: name, a value for each subject, definition.
fn rows(done: &Done) -> Vec<Vec<String>> {
    let Some(first) = done.tried.first() else { return Vec::new() };
    let row = |index: usize| {
        let meaning = first.scores[index].meaning;
        let mut row = vec![meaning.name.to_owned()];
        row.extend(done.tried.iter().map(|tried| tried.scores[index].amount()));
        row.push(meaning.definition.into());
        row
    };
    (0..first.scores.len()).map(row).collect()
}

/// Everything as text.
pub fn text(done: &[Done], names: &[String]) -> String {
    let mut text = String::new();
    for (index, name) in names.iter().enumerate() {
        text.push_str(&format!("{name}: {}\n", verdict(done, index)));
    }
    for one in done {
        text.push_str(&format!("\n{}: {}\n", one.trial.name, one.trial.asks));
        let heads = (names.len() > 1).then(|| line("", names));
        let scores = rows(one);
        let scores = scores.iter().map(|row| line(&row[0], &row[1..row.len() - 1]));
        text.push_str(&aligned(&heads.into_iter().chain(scores).collect::<Vec<_>>()));
        for remark in said(one, names) {
            text.push_str(&format!("  {remark}\n"));
        }
    }
    text.push('\n');
    text
}

/// Cells at least this wide put the columns of all trials under each other; with more than this many columns there is
/// no room for that.
const CELL: usize = 16;
const WIDE_COLUMNS: usize = 4;

fn line(head: &str, cells: &[String]) -> Vec<String> {
    let width = if cells.len() > WIDE_COLUMNS { 0 } else { CELL };
    let cells = cells.iter().map(|cell| format!("{cell:<width$}"));
    std::iter::once(format!("  {head:<24}")).chain(cells).collect()
}

/// Everything on a page.
pub fn page(
    title: &str,
    done: &[Done],
    names: &[String],
    subjects: &[Subject<'_>],
    svgs: Vec<String>,
) -> String {
    let mut page = Page::new(title);
    page.paragraph(
        "Ten short runs with a question each, the same for every tune: ground, throttle and times follow from \
         the rig's own size and speed.",
    );
    for (index, name) in names.iter().enumerate() {
        page.paragraph(&format!("{name}: {}", verdict(done, index)));
    }
    page.list(done.iter().flat_map(|one| {
        said(one, names).into_iter().map(|remark| format!("{}: {remark}", one.trial.name))
    }));
    let mut heads = vec!["score".to_owned()];
    match names {
        [_] => heads.push("value".into()),
        many => heads.extend(many.iter().cloned()),
    }
    heads.push("what it is".into());
    for (one, svg) in done.iter().zip(svgs) {
        page.heading(one.trial.name);
        let caption = subjects.first().map_or(String::new(), one.trial.how);
        page.figure(&Figure { caption, svg });
        page.list(said(one, names));
        page.table(&heads, &rows(one));
    }
    cautions(&mut page);
    page.finish()
}

/// Everything for a program.
pub(crate) fn trials_record(done: &[Done], names: &[String], subjects: &[Subject<'_>]) -> Value {
    let of = |one: &Done| {
        let tried = one.tried.iter().zip(names).map(|(tried, name)| {
            json!({ "name": name, "scores": tried.scores, "remarks": remarks(tried) })
        });
        json!({
            "trial": one.trial.name,
            "asks": one.trial.asks,
            "settings_sha256": one.tried.iter().map(|t| t.scenario.hash()).collect::<Vec<_>>(),
            "results": tried.collect::<Vec<_>>(),
        })
    };
    record(json!({
        "slope_deg": subjects.first().map(|subject| subject.method.creep_slope_deg),
        "trials": done.iter().map(of).collect::<Vec<_>>(),
    }))
}
