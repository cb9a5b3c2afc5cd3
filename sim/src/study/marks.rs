//! What is marked in a picture of a run.

use crate::run::Run;
use crate::run::events::event_spans;
use crate::score::Scores;

/// What happened in a run, and when \[s\]: letting go, stopping, a snag, noticing it, and the first of every kind of event.
pub fn marks(run: &Run, scores: &Scores) -> Vec<(f64, String)> {
    let mut marks = Vec::new();
    let mut mark = |index: usize, words: &str| {
        if let Some(row) = run.rows.get(index) {
            marks.push((row.time_s, words.to_owned()));
        }
    };
    if let Some(let_off) = scores.let_off {
        mark(let_off.start, "lets go");
        if let Some(stop) = let_off.stop {
            mark(stop, "stops");
        }
    }
    if let Some(load) = scores.load {
        mark(load.start, "snag");
        if let Some(noticed) = load.noticed {
            mark(noticed, "driver notices");
        }
    }
    for one in event_spans(run) {
        mark(one.row, one.event);
    }
    marks
}
