//! The picture of a trial: speed, and below it what the trial is about.

use easeoff_sim::digits::digits;
use easeoff_sim::run::Row;
use easeoff_sim::study::trials::Done;

use crate::draw::chart::{Column, OwnMark, Panel, Series, Sheet};
use crate::draw::overlay::COLOURS;
use crate::draw::run::{around, line};

/// Marks nearer than this share of the axis are one to the eye.
const SAME_PLACE: f64 = 1.0e-3;
/// What a row of words takes of the height of a panel.
const ROW_SHARE: f64 = 0.12;

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
    below.y.start = shown.bottom.unwrap_or(below.y.start);
    if let Some((level, words)) = done.tried.first().and_then(shown.level) {
        let lines = shown.least_span.map(|least| around(&below.series, least));
        match lines.filter(|lines| lines.end < level / 2.0) {
            Some(lines) => {
                below.y = lines;
                below.label = format!("{}; {words}: {}", below.label, digits(level));
            }
            None => {
                below.y.end = below.y.end.max(level * 1.2);
                below.levels = vec![(level, words.into())];
            }
        }
    }
    let marks: Vec<&[(f64, String)]> = done.tried.iter().map(|one| one.marks.as_slice()).collect();
    let (common, own) = marks_of(&marks, (x.end - x.start) * SAME_PLACE);
    let subtitle = match own.is_empty() {
        true => done.trial.name.into(),
        false => {
            format!("{}; a mark in the colour of a line is that line's alone", done.trial.name)
        }
    };
    if let Some(rows) = own.iter().map(|mark| mark.row + 1).max() {
        // Room for the words over the lines.
        speed.y.end += (speed.y.end - speed.y.start) * ROW_SHARE * rows as f64;
    }
    below.marks = common.iter().map(|(time_s, _)| (*time_s, String::new())).collect();
    below.own_marks =
        own.iter().map(|mark| OwnMark { words: String::new(), ..mark.clone() }).collect();
    (speed.marks, speed.own_marks) = (common, own);
    Sheet {
        title: done.trial.asks.into(),
        subtitle,
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

/// Marks of one time, each with its words.
type Marks = Vec<(f64, String)>;

/// The marks that all subjects share, and those of each by itself; `same` is how far apart a shared one may be.
fn marks_of(of_each: &[&[(f64, String)]], same: f64) -> (Marks, Vec<OwnMark>) {
    let shared = |mark: &(f64, String)| {
        of_each.iter().all(|marks| {
            marks.iter().any(|(at, words)| (at - mark.0).abs() <= same && *words == mark.1)
        })
    };
    let common = of_each.first().map(|marks| marks.iter().filter(|mark| shared(mark)).cloned());
    let own = of_each.iter().zip(COLOURS).enumerate().flat_map(|(index, (marks, colour))| {
        let alone = marks.iter().filter(|mark| !shared(mark));
        alone.map(move |(at, words)| OwnMark {
            at: *at,
            words: words.clone(),
            colour,
            row: index + 1,
        })
    });
    (common.into_iter().flatten().collect(), own.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_that_differ_are_each_subjects_own() {
        let mark = |at: f64, words: &str| (at, words.to_owned());
        let first = [mark(3.2, "lets go"), mark(3.8, "stops")];
        let second = [mark(3.2, "lets go"), mark(4.3, "stops")];
        let (common, own) = marks_of(&[&first, &second], 0.01);
        assert_eq!(common, [mark(3.2, "lets go")]);
        let reported: Vec<_> = own.iter().map(|one| (one.at, one.colour, one.row)).collect();
        assert_eq!(reported, [(3.8, COLOURS[0], 1), (4.3, COLOURS[1], 2)]);
        // One alone has none of its own, and one that never stops leaves the other its mark.
        assert_eq!(marks_of(&[&first], 0.01), (first.to_vec(), Vec::new()));
        assert_eq!(marks_of(&[&first, &second[..1]], 0.01).1.len(), 1);
    }
}
