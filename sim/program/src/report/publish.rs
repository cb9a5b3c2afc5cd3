//! What a command writes, not yet on disk: pictures, tables, the page and the record.

use easeoff_sim::results::{Results, pretty, record};
use easeoff_sim::run::Driven;
use easeoff_sim::run::columns::run_to_csv;
use easeoff_sim::run::events::event_spans;
use easeoff_sim::run::never_moved::NeverMoved;
use easeoff_sim::study::compare::Variant;
use serde_json::json;

use crate::draw::canvas::{Picture, png, svg};
use crate::draw::chart::Sheet;
use crate::draw::run::run_sheet;
use crate::draw::tooltip::{Spots, with_spots};
use crate::report::html::Figure;
use crate::report::page::page;

/// Everything one run writes, with more pictures before its own, not yet on disk.
///
/// # Errors
/// When a picture cannot be drawn.
pub fn one_run_results(
    name: &str,
    runs: &[Variant],
    slope: f64,
    more: &[(&str, Sheet)],
) -> Result<Results, String> {
    let mut results = Results::default();
    let mut figures = Vec::new();
    for (name, sheet) in more {
        let svg = draw(&mut results, name, sheet)?;
        figures.push(Figure { caption: format!("{}: {}", sheet.title, sheet.subtitle), svg });
    }
    for variant in runs {
        let title = format!("Run: {name}");
        let sheet = run_sheet(&title, &variant.scenario, &variant.run, &variant.scores);
        let drawing = draw(&mut results, "run", &sheet)?;
        results.add("run.csv", run_to_csv(&variant.run));
        figures.push(Figure { caption: sheet.subtitle, svg: drawing });
        results.add("report.html", page(&title, runs, &figures, slope));
    }
    results.add("run.json", pretty(&runs_record(runs, slope)));
    Ok(results)
}

/// Everything several runs write that differ in one thing: a picture of all of them, and a folder for
/// each.
///
/// # Errors
/// When a picture cannot be drawn.
pub(crate) fn side_by_side_results(
    name: &str,
    title: &str,
    runs: &[Variant],
    sheet: &Sheet,
    slope: f64,
) -> Result<Results, String> {
    let mut results = Results::default();
    let mut figures =
        vec![Figure { caption: sheet.subtitle.clone(), svg: draw(&mut results, name, sheet)? }];
    for variant in runs {
        let words: Vec<&str> = variant.name.split([' ', '%']).filter(|w| !w.is_empty()).collect();
        let folder = words.join("-");
        let single = run_sheet(&variant.name, &variant.scenario, &variant.run, &variant.scores);
        let drawing = draw(&mut results, &format!("{folder}/run"), &single)?;
        results.add(format!("{folder}/run.csv"), run_to_csv(&variant.run));
        figures.push(Figure { caption: variant.name.clone(), svg: drawing });
    }
    results.add("run.json", pretty(&runs_record(runs, slope)));
    results.add("report.html", page(title, runs, &figures, slope));
    Ok(results)
}

/// Adds a picture as SVG and PNG; returns the SVG for a page, where it tells its numbers when pointed at.
///
/// # Errors
/// When it cannot be drawn.
pub fn draw(
    results: &mut Results,
    name: &str,
    picture: &(impl Picture + Spots),
) -> Result<String, String> {
    let drawing = svg(picture)?;
    results.add(format!("{name}.svg"), drawing.clone());
    results.add(format!("{name}.png"), png(picture)?);
    Ok(with_spots(&drawing, &picture.spots()))
}

/// What was run, for a program to read.
pub(crate) fn runs_record(runs: &[Variant], slope: f64) -> serde_json::Value {
    let runs: Vec<serde_json::Value> = runs
        .iter()
        .map(|variant| {
            json!({
                "name": variant.name,
                "settings_sha256": variant.scenario.hash(),
                "controller": controller(&variant.run.driven),
                "never_moved": variant.scores.never_moved.as_ref().map(never_moved),
                "scores": variant.scores.list,
                "events": event_spans(&variant.run),
                "settings": variant.scenario,
            })
        })
        .collect();
    record(json!({ "creep_slope_deg": slope, "runs": runs }))
}

fn never_moved(found: &NeverMoved) -> serde_json::Value {
    let mut record = json!(found);
    record["says"] = json!(found.to_string());
    record
}

fn controller(driven: &Driven) -> serde_json::Value {
    let fault = driven.fault.as_ref();
    json!({
        "name": driven.name,
        "own_columns": driven.columns,
        "fault": fault.map(|fault| json!({ "tick": fault.tick, "what": fault.what })),
    })
}
