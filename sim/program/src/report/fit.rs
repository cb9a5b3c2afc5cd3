//! What a fit writes, not yet on disk.

use easeoff_sim::results::{Results, pretty, record};
use easeoff_sim::study::fit::log::Log;
use easeoff_sim::study::fit::{Fitted, words};
use serde_json::{Value, json};

use crate::draw::fit;
use crate::report::html::{Figure, Page};
use crate::report::page::cautions;
use crate::report::publish::draw;

/// All files of a fit.
///
/// # Errors
/// When the picture cannot be drawn.
pub fn results(name: &str, log: &Log, fitted: &Fitted, found: &Value) -> Result<Results, String> {
    let mut results = Results::default();
    let title = format!("Fit: {name}");
    let subtitle = words::done(log, fitted);
    let sheet = fit::sheet(&title, &short(log, fitted), log, fitted);
    let svg = draw(&mut results, "fit", &sheet)?;
    results.add("fit.csv", table(log, fitted));
    let mut page = Page::new(&title);
    page.paragraph(&format!("{subtitle}. Simulated by easeoff {}.", env!("CARGO_PKG_VERSION")));
    page.heading("What was found");
    let rows: Vec<Vec<String>> = words::rows(fitted).into_iter().map(Vec::from).collect();
    page.table(&words::heads(), &rows);
    page.list(words::met(fitted));
    page.heading("What the log cannot tell");
    if fitted.doubts.is_empty() {
        page.paragraph("Nothing was found against it.");
    }
    page.list(&fitted.doubts);
    page.figure(&Figure { caption: subtitle, svg });
    cautions(&mut page);
    results.add("report.html", page.finish());
    results.add("run.json", pretty(found));
    Ok(results)
}

fn short(log: &Log, fitted: &Fitted) -> String {
    let found: Vec<String> = fitted
        .estimates
        .iter()
        .filter(|one| !one.name.starts_with("start."))
        .map(|one| format!("{} {}", one.name, words::value(one)))
        .collect();
    format!("{:.1} s; {}", log.duration_s(), found.join(", "))
}

/// What was found, for a program to read.
pub fn found(log: &Log, fitted: &Fitted) -> Value {
    let unknowns: Vec<Value> = fitted
        .estimates
        .iter()
        .map(|one| {
            json!({
                "name": one.name, "guess": one.guess, "value": one.value, "low": one.interval[0],
                "high": one.interval[1], "at_bound": one.end,
            })
        })
        .collect();
    let signals: Vec<Value> = fitted
        .signals
        .iter()
        .map(|one| {
            json!({
                "name": one.name, "rms": one.noise, "samples": one.samples,
                "independent": one.independent,
            })
        })
        .collect();
    record(json!({
        "confidence": easeoff_sim::study::fit::CONFIDENCE,
        "duration_s": log.duration_s(),
        "unknowns": unknowns,
        "signals": signals,
        "correlations": fitted.correlations,
        "degrees_of_freedom": fitted.freedom,
        "simulations": fitted.simulations,
        "step_us": fitted.step_s * 1.0e6,
        "halved_step_moves": fitted.finer.relative,
        "doubts": fitted.doubts,
    }))
}

/// `fit.csv`: a row per row of the log.
fn table(log: &Log, fitted: &Fitted) -> String {
    let mut text = String::from("time_s");
    for signal in &log.signals {
        let name = signal.name;
        text.push_str(&format!(",{name},simulated_{name},deviation_{name}"));
    }
    text.push('\n');
    let simulated = log.parts(&fitted.simulated);
    let mut next = vec![0_usize; log.signals.len()];
    for (row, time_s) in log.time_s.iter().enumerate() {
        text.push_str(&time_s.to_string());
        for ((signal, simulated), next) in log.signals.iter().zip(&simulated).zip(&mut next) {
            match signal.samples.get(*next) {
                Some((at, measured)) if *at == row => {
                    let there = simulated[*next];
                    text.push_str(&format!(",{measured},{there},{}", measured - there));
                    *next += 1;
                }
                _ => text.push_str(",,,"),
            }
        }
        text.push('\n');
    }
    text
}
