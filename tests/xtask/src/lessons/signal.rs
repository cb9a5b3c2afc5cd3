//! Signal loss: what the controller does, tick by tick, and how often frames may be missing.

use easeoff::draw::chart::{Panel, colour};
use easeoff_core::Mode;
use easeoff_sim::digits::digits;
use easeoff_sim::files::demo;
use easeoff_sim::run::controller::Own;
use easeoff_sim::run::{DEFAULT_STEP_S, Method, Row, simulate};
use easeoff_sim::study::trials::{Subject, signal};

use super::{Made, cell, slide, table};
use crate::stages::Failure;
use crate::stages::bench::panel;
use crate::stages::ride::{level, since};

/// How long frames are dropped at random \[s\].
const LISTENED_S: f64 = 120.0;
/// Time from frame to frame \[s\].
const FRAME_S: f64 = 0.02;

/// The trial of a lost signal, its ticks, and a radio that drops frames.
pub(crate) fn signal_loss() -> Result<Made, Failure> {
    let demo = demo::scenario("garden").ok_or("the demo garden is broken")?;
    let subject = Subject {
        rig: demo.rig.clone(),
        tune: demo.tune,
        method: Method::on_slope(0.0),
        make: &Own::make,
    };
    let tried = (signal::LOST.run)(&subject)?;
    let rows = &tried.run.rows;
    let gone_s = tried.marks.first().ok_or("the trial has no mark")?.0;
    let line =
        |name: &str, colour, value: &dyn Fn(&Row) -> f64| since(rows, 0.0, name, colour, value);
    let asked = |row: &Row| row.seen.demand.to_f32().into();
    let duty = |row: &Row| row.command.duty().to_f32().into();
    let share = |row: &Row| row.command.braking().to_f32().into();
    let mut demand = panel(
        "throttle the controller knows of",
        vec![line("", colour::GREY, &asked)],
        0.8,
        0.0..0.62,
    );
    demand.marks.clone_from(&tried.marks);
    let mut command = panel(
        "command, 1 is all",
        vec![line("duty", colour::BLUE, &duty), line("brake share", colour::VERMILION, &share)],
        1.2,
        0.0..1.12,
    );
    let mut speed =
        Panel::new("speed over ground, m/s", vec![line("", colour::GREEN, &Row::speed_m_s)], 1.0);
    for below in [&mut command, &mut speed] {
        below.marks = tried.marks.iter().map(|(at, _)| (*at, String::new())).collect();
    }
    let end_s = rows.last().map_or(1.0, |row| row.time_s);
    let picture = slide(
        "Without a signal it brakes; back with the throttle open, it does not drive",
        "trial of a lost signal, demo rig on the level; only after the driver has let go does the throttle count again",
        vec![demand, command, speed],
        gone_s - 1.0..end_s,
        "time, s",
    );
    Ok(Made {
        name: "signal-loss",
        picture,
        tables: vec![
            ("", ticks(rows, gone_s)?),
            ("-trial", scores(&tried)),
            ("-frames", frames()?),
            ("-solution", solution(rows, gone_s)),
        ],
    })
}

fn scores(tried: &easeoff_sim::study::trials::Tried) -> String {
    let rows: Vec<Vec<String>> =
        tried.scores.iter().map(|score| vec![score.meaning.name.into(), score.amount()]).collect();
    table(&["the trial measures", ""], &rows)
}

/// The ticks around the moments that matter, counted from the last pulse.
fn ticks(rows: &[Row], gone_s: f64) -> Result<String, Failure> {
    let known = |row: &&Row| row.seen.pulse.is_some();
    let lost = rows.iter().position(|row| row.time_s > gone_s && row.seen.pulse.is_none());
    let lost = lost.ok_or("the signal is not lost")?;
    // Frames come at whole multiples of their time; the last one before the silence.
    let last_s = ((gone_s - 1.0e-6) / FRAME_S).floor() * FRAME_S;
    let last = rows.iter().position(|row| row.time_s >= last_s - 1.0e-6).ok_or("no pulse came")?;
    let back = rows.iter().skip(lost).position(|row| known(&row)).ok_or("it does not come back")?;
    let named = |mode: Mode| Mode::ALL.iter().find(|named| named.0 == mode).map_or("", |n| n.1);
    let shown = [
        (last, "the last frame ends"),
        (lost - 1, "still bridged"),
        (lost, "no signal: the safe state"),
        (lost + 1, "the brake comes in"),
        (lost + 100, "and more"),
        (lost + back, "a frame, throttle open"),
        (lost + back + 1_000, "a second later"),
    ];
    let row = |(index, words): (usize, &str)| {
        let row = rows.get(index)?;
        Some(vec![
            format!("{}", index - last),
            row.seen.pulse.map_or("none".into(), |us| format!("{:.0}", us.to_f32())),
            named(row.mode()).into(),
            cell(Some(row.command.duty().to_f32().into())),
            cell(Some(row.command.braking().to_f32().into())),
            words.into(),
        ])
    };
    let found: Vec<Vec<String>> = shown.into_iter().filter_map(row).collect();
    let heads =
        ["ms since the last frame", "pulse in force, us", "mode", "duty", "brake share", ""];
    Ok(table(&heads, &found))
}

/// Expected time from loss to loss \[s\] where `frames` in a row must be missing, each with `share`.
fn apart_s(share: f64, frames: i32) -> f64 {
    FRAME_S / ((1.0 - share) * share.powi(frames))
}

/// Losses counted in drives with a radio that drops frames, and expected.
fn frames() -> Result<String, Failure> {
    let mut rows = Vec::new();
    for share in [0.1, 0.3, 0.4, 0.5, 0.6] {
        let mut scenario = level(&[[0.0, 0.0]], LISTENED_S)?;
        scenario.driver.radio.missing_share = share;
        let needed = frames_to_lose(scenario.tune.pulse.loss_after_ms.into());
        let run = simulate(&scenario, DEFAULT_STEP_S)?;
        let known = |row: &Row| row.seen.pulse.is_some();
        let losses = run.rows.windows(2).filter(|pair| known(&pair[0]) && !known(&pair[1]));
        let (counted, expected) = (losses.count(), LISTENED_S / apart_s(share, needed));
        // Rare events scatter by the root of their number; four times that is not chance.
        if (counted as f64 - expected).abs() > 4.0 * expected.sqrt() + 1.0 {
            return Err(format!("{counted} losses, expected {expected}").into());
        }
        rows.push(vec![format!("{share}"), format!("{counted}"), digits(expected)]);
    }
    let heads = ["share of frames missing", "losses in two minutes, counted", "expected"];
    Ok(table(&heads, &rows))
}

/// So many frames in a row must be missing to lose the signal: it is lost once more than the time
/// has passed.
fn frames_to_lose(loss_after_ms: f64) -> i32 {
    (loss_after_ms / 1_000.0 / FRAME_S + 1.0e-9).floor() as i32
}

/// How patient it must be with a radio that drops three frames in ten, and what that costs in way.
fn solution(rows: &[Row], gone_s: f64) -> String {
    let speed = rows.iter().find(|row| row.time_s >= gone_s).map_or(0.0, Row::speed_m_s);
    let rows: Vec<Vec<String>> = [60.0, 100.0, 160.0, 200.0, 240.0]
        .iter()
        .map(|&after_ms| {
            let apart_min = apart_s(0.3, frames_to_lose(after_ms)) / 60.0;
            vec![
                format!("{after_ms}"),
                cell(Some(apart_min)),
                cell(Some(speed * after_ms / 1_000.0)),
            ]
        })
        .collect();
    let heads = [
        "loss_after_ms",
        "minutes from loss to loss",
        "m driven on meanwhile, at the trial's speed",
    ];
    table(&heads, &rows)
}
