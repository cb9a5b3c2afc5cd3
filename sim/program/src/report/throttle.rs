//! What was found of a throttle, as a page and for a program.

use easeoff_core::CalibrationProgress;
use easeoff_sim::study::throttle::words::{RULE, findings, heads, kept, radio, rows, steps};
use easeoff_sim::study::throttle::{Measuring, Throttle};
use serde_json::{Value, json};

use crate::report::html::{Figure, Page};
use crate::report::page::cautions;

/// The page.
pub fn page(title: &str, throttle: &Throttle, figures: &[Figure]) -> String {
    let mut page = Page::new(title);
    page.paragraph(&kept(throttle));
    for figure in figures {
        page.figure(figure);
    }
    page.heading("What was found");
    page.table(&heads(), &rows(throttle));
    page.list(radio(throttle));
    page.paragraph(RULE);
    page.paragraph(
        "How sure: with 95 % the true median lies as near as stated, if the noise is normal and each pulse has its \
         own. Nothing tells whether the throttle was at its stops.",
    );
    if !throttle.verdict.findings.is_empty() {
        page.heading("What to mind");
        page.list(findings(throttle));
    }
    page.heading("What a board would have done");
    page.list(steps(throttle));
    cautions(&mut page);
    page.finish()
}

/// For a program.
pub fn record(throttle: &Throttle, measuring: &Measuring) -> Value {
    let board = match throttle.board.progress {
        CalibrationProgress::Accepted(calibration) => json!(calibration),
        _ => Value::Null,
    };
    json!({
        "pulses": throttle.pulses.samples.len(),
        "calibrator": measuring.calibrator,
        "tick_hz": measuring.rate.hz(),
        "frames": throttle.frames,
        "implausible": throttle.implausible,
        "refused": throttle.board.refused,
        "signal_lost_s": throttle.board.lost_s,
        "levels": throttle.levels,
        "board": { "calibration": board, "steps": steps(throttle) },
        "findings": throttle.verdict.findings,
        "calibration": throttle.verdict.calibration,
    })
}
