//! Letting go: coast, shorted at once, ramped.

use easeoff::draw::chart::{Panel, colour};
use easeoff::draw::run::line;
use easeoff_core::{DragLaw, DragSettings};
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::{Method, Row};
use easeoff_sim::score::{
    LURCH, PEAK_DECELERATION, RUN_ON, SLIP, STOP_JERK, STOP_JOLT, STOP_TIME, ScoreRow,
    smooth_acceleration,
};
use easeoff_sim::study::compare::{Variant, variants};

use super::{Made, slide, table};
use crate::stages::Failure;
use crate::stages::ride::{level, since};

/// At speed on the level, let go at 3 s, with a changed drag brake.
pub(crate) fn let_go(change: impl Fn(&mut DragSettings)) -> Result<Scenario, Failure> {
    let mut scenario = level(&[[0.0, 0.0], [0.8, 0.0], [1.2, 0.8], [3.0, 0.8], [3.02, 0.0]], 7.0)?;
    change(&mut scenario.tune.drag);
    Ok(scenario)
}

/// Scores in rows, runs in columns.
pub(crate) fn side_by_side(runs: &[Variant], shown: &[&ScoreRow]) -> String {
    let heads = std::iter::once("").chain(runs.iter().map(|run| run.name.as_str()));
    let heads: Vec<&str> = heads.collect();
    let row = |score: &&ScoreRow| {
        let values = runs.iter().map(|run| run.scores.amount(score));
        std::iter::once(score.meaning.name.to_owned()).chain(values).collect()
    };
    let rows: Vec<Vec<String>> = shown.iter().map(row).collect();
    table(&heads, &rows)
}

/// Three ways to let go.
pub(crate) fn three_ways() -> Result<Made, Failure> {
    let ways = [
        ("coasts", let_go(|drag| drag.strength = 0.0)?, colour::GREY),
        (
            "shorted at once",
            let_go(|drag| {
                (drag.law, drag.onset_ms, drag.soft_below_rad_s) = (DragLaw::Duty, 0.0, 0.0);
            })?,
            colour::VERMILION,
        ),
        ("the demo's tune", let_go(|_| {})?, colour::BLUE),
    ];
    let scenarios = ways.iter().map(|(name, scenario, _)| ((*name).to_owned(), scenario.clone()));
    let runs = variants(scenarios.collect(), Method::default())?;
    let (mut speeds, mut slowing) = (Vec::new(), Vec::new());
    for (run, (name, _, colour)) in runs.iter().zip(&ways) {
        let rows = &run.run.rows;
        speeds.push(since(rows, 3.0, name, *colour, Row::speed_m_s));
        let smooth = smooth_acceleration(&run.run);
        slowing.push(line(rows, "", *colour, |at, _| smooth[at], |row| row.time_s - 3.0));
    }
    let x = -0.3..2.0;
    let mut panels = vec![
        Panel::within("speed over ground, m/s", speeds, 1.2, &x),
        Panel::within("acceleration, m/s\u{b2}, low-pass filtered at 10 Hz", slowing, 1.0, &x),
    ];
    panels[0].marks = vec![(0.0, "lets go".into())];
    let picture = slide(
        "Three ways to let go: roll on, slide, or stop",
        "demo rig on the level, let go at the same speed",
        panels,
        x,
        "seconds since letting go",
    );
    let shown = [&STOP_JERK, &LURCH, &STOP_JOLT, &PEAK_DECELERATION, &SLIP, &RUN_ON, &STOP_TIME];
    Ok(Made {
        name: "letting-go",
        picture,
        tables: vec![("", side_by_side(&runs, &shown)), ("-solution", onsets()?)],
    })
}

/// The stop's jerk, its parts and run-on over the onset time.
fn onsets() -> Result<String, Failure> {
    let times = [0.0, 100.0, 200.0, 330.0, 450.0, 600.0, 900.0];
    let scenarios = times.map(|onset_ms| {
        let_go(|drag| drag.onset_ms = onset_ms).map(|scenario| (format!("{onset_ms} ms"), scenario))
    });
    let scenarios = scenarios.into_iter().collect::<Result<Vec<_>, _>>()?;
    let runs = variants(scenarios, Method::default())?;
    let shown = [&STOP_JERK, &LURCH, &STOP_JOLT, &RUN_ON];
    let rows: Vec<Vec<String>> = runs
        .iter()
        .map(|run| {
            let amounts = shown.iter().map(|score| run.scores.amount(score));
            std::iter::once(run.name.clone()).chain(amounts).collect()
        })
        .collect();
    let [a, b, c, d] = shown.map(|score| score.meaning.name);
    Ok(table(&["onset", a, b, c, d], &rows))
}
