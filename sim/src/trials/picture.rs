//! The picture of a trial: speed, and below it what the trial is about.

use super::Done;
use crate::chart::{Column, Panel, Series, Sheet};
use crate::overlay::COLOURS;
use crate::picture::line;
use crate::run::Row;

/// All subjects' runs over each other.
pub fn sheet(done: &Done, names: &[String]) -> Sheet {
    let times = |index: usize| {
        let rows = &done.tried[index].run.rows;
        // A run that was held still first begins later.
        let from_s = if done.trial.shown.from_start { rows.first() } else { None };
        let from_s = from_s.map_or(0.0, |row| row.time_s);
        move |row: &Row| row.time_s - from_s
    };
    let shown_s = done.tried.iter().enumerate().map(|(index, tried)| {
        let rows = &tried.run.rows;
        let ends = [rows.first(), rows.last()].map(|row| row.map_or(0.0, times(index)));
        tried.shown_s.clone().unwrap_or(ends[0]..ends[1])
    });
    let x = shown_s.reduce(|a, b| a.start.min(b.start)..a.end.max(b.end)).unwrap_or(0.0..1.0);
    let lines = |named: bool, value: &dyn Fn(usize) -> Vec<f64>| -> Vec<Series> {
        let one = |index: usize| {
            let values = value(index);
            // A single tune needs no name.
            let name = if named && names.len() > 1 { names[index].as_str() } else { "" };
            let rows = &done.tried[index].run.rows;
            line(rows, name, COLOURS[index], |at, _| values[at], times(index))
        };
        (0..done.tried.len()).map(one).collect()
    };
    let speeds = |index: usize| -> Vec<f64> {
        done.tried[index].run.rows.iter().map(Row::wheel_speed_m_s).collect()
    };
    let shown = &done.trial.shown;
    let values = |index: usize| (shown.values)(&done.tried[index]);
    let mut speed = Panel::within("speed of the wheels, m/s", lines(true, &speeds), 1.0, &x);
    let mut below = Panel::within(shown.label, lines(false, &values), 1.0, &x);
    speed.layered = true;
    below.layered = true;
    if let Some(first) = done.tried.first() {
        speed.marks = first.marks.clone();
        below.marks = first.marks.iter().map(|(time_s, _)| (*time_s, String::new())).collect();
        if let Some((level, words)) = (shown.level)(first) {
            below.y.end = below.y.end.max(level * 1.2);
            below.levels = vec![(level, words.into())];
        }
    }
    below.y.start = shown.bottom.unwrap_or(below.y.start);
    Sheet {
        title: done.trial.asks.into(),
        subtitle: done.trial.name.into(),
        columns: vec![Column {
            header: String::new(),
            panels: vec![speed, below],
            bars: Vec::new(),
        }],
        x,
        x_label: if shown.from_start { "seconds since it was let go" } else { "time, s" }.into(),
        size: (1_200, 560),
    }
}
