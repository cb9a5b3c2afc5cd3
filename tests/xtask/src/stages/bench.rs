//! A controller on the bench: told by hand what it measures, tick by tick.

use std::ops::Range;

use easeoff::draw::chart::{Column, Panel, Series, Sheet};
use easeoff_core::{Command, Input, Microseconds, Output, Settings, State, TickRate};
use easeoff_sim::palette::Colour;
use easeoff_sim::run::RunError;

use super::Failure;

/// Ticks per second on this bench.
pub(crate) const RATE: TickRate = TickRate::new(1_000).unwrap();

/// One tick: what the controller was told and what it made of it.
#[derive(Clone, Copy)]
pub(crate) struct Tick {
    pub(crate) time_s: f64,
    pub(crate) input: Input,
    pub(crate) output: Output,
}

/// What is known when a tick's input is made.
pub(crate) struct Moment {
    pub(crate) time_s: f64,
    /// A radio frame ends in this tick, one in 20 ms.
    pub(crate) frame: bool,
    /// The command of the tick before.
    pub(crate) before: Command,
}

/// Steps a controller through `seconds`; before 0 it is switched on with the throttle at neutral and
/// arms.
pub(crate) fn feed(
    settings: &Settings,
    seconds: f64,
    mut input: impl FnMut(&Moment) -> Input,
) -> Result<Vec<Tick>, Failure> {
    let controller = settings.prepare(RATE).map_err(|errors| RunError::Tune(Box::new(errors)))?;
    let hz = i32::from(RATE.hz());
    let (first, last) = (-2 * hz, (seconds * f64::from(hz)) as i32);
    let mut state = State::default();
    let mut before = Command::Coast;
    let ticks = (first..last).map(|tick| {
        let time_s = f64::from(tick) / f64::from(hz);
        let input = if tick < -hz {
            Input { pulse: pulse(settings.calibration.neutral_us), ..Input::default() }
        } else {
            input(&Moment { time_s, frame: tick % 20 == 0, before })
        };
        let output = controller.step(&mut state, &input);
        before = output.command;
        Tick { time_s, input, output }
    });
    Ok(ticks.collect())
}

/// A pulse that many microseconds wide.
pub(crate) fn pulse(us: f32) -> Option<Microseconds> {
    Microseconds::new(us)
}

/// The pulse for a throttle of -1 to 1 on the usual 1000 to 2000 us with a dead band of 20 us.
pub(crate) fn throttle(asked: f64) -> Option<Microseconds> {
    let edge = if asked == 0.0 { 0.0 } else { 20.0_f64.copysign(asked) };
    pulse((1_500.0 + edge + 480.0 * asked) as f32)
}

/// The value that stands at a time in a list of steps; the first value before them all.
pub(crate) fn stepped(steps: &[(f64, f64)], time_s: f64) -> f64 {
    let now = steps.iter().rev().find(|step| step.0 <= time_s).or(steps.first());
    now.map_or(0.0, |step| step.1)
}

/// A line over time through a bench run.
pub(crate) fn over_time(
    ticks: &[Tick],
    name: &str,
    colour: Colour,
    value: impl Fn(&Tick) -> f64,
) -> Series {
    let points = ticks.iter().map(|tick| (tick.time_s, value(tick))).collect();
    Series { name: name.into(), points, colour }
}

/// The same where the value may be missing: one line for every stretch that has it.
pub(crate) fn where_known(
    ticks: &[Tick],
    name: &str,
    colour: Colour,
    value: impl Fn(&Tick) -> Option<f64>,
) -> Vec<Series> {
    let valued: Vec<_> = ticks.iter().map(|tick| (tick.time_s, value(tick))).collect();
    let stretches = valued.chunk_by(|a, b| a.1.is_some() == b.1.is_some());
    let known = stretches.filter(|stretch| stretch.iter().all(|point| point.1.is_some()));
    let line = |(index, stretch): (usize, &[(f64, Option<f64>)])| Series {
        name: if index == 0 { name.into() } else { String::new() },
        points: stretch.iter().filter_map(|(x, y)| Some((*x, (*y)?))).collect(),
        colour,
    };
    known.enumerate().map(line).collect()
}

/// Without the points in the middle of level stretches, which a picture does not need.
fn corners(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let inner = points.windows(3).filter(|w| w[0].1 != w[1].1 || w[1].1 != w[2].1).map(|w| w[1]);
    let (first, last) = (points.first().copied(), points.last().copied());
    first.into_iter().chain(inner).chain(last).collect()
}

/// The first time at which `happens`, within a stretch.
pub(crate) fn when(
    ticks: &[Tick],
    within: Range<f64>,
    happens: impl Fn(&Tick) -> bool,
) -> Result<f64, Failure> {
    let found = ticks.iter().find(|tick| within.contains(&tick.time_s) && happens(tick));
    found.map(|tick| tick.time_s).ok_or_else(|| "the picture's story does not happen".into())
}

/// A picture of one column, as wide as a page of the book.
pub(crate) fn sheet(
    title: &str,
    subtitle: &str,
    panels: Vec<Panel>,
    x: Range<f64>,
    x_label: &str,
    height: u32,
) -> Sheet {
    let mut panels = panels;
    for line in panels.iter_mut().flat_map(|panel| &mut panel.series) {
        line.points.retain(|point| x.contains(&point.0));
        line.points = corners(&line.points);
    }
    Sheet {
        title: title.into(),
        subtitle: subtitle.into(),
        columns: vec![Column { header: String::new(), panels, bars: Vec::new() }],
        x,
        x_label: x_label.into(),
        size: (900, height),
    }
}

/// A panel with its vertical axis given.
pub(crate) fn panel(label: &str, series: Vec<Series>, height: f64, y: Range<f64>) -> Panel {
    Panel { y, ..Panel::new(label, series, height) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_keep_every_change_and_both_ends() {
        let steps = [0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 2.0];
        let points: Vec<(f64, f64)> = (0..8).map(|x| (f64::from(x), steps[x as usize])).collect();
        let kept: Vec<f64> = corners(&points).iter().map(|point| point.0).collect();
        assert_eq!(kept, [0.0, 2.0, 3.0, 6.0, 7.0]);
    }

    #[test]
    fn steps_stand_from_their_time_on() {
        let steps = [(1.0, 5.0), (2.0, 6.0)];
        let at = [0.0, 1.0, 1.9, 2.0, 9.0].map(|time_s| stepped(&steps, time_s));
        assert_eq!(at, [5.0, 5.0, 5.0, 6.0, 6.0]);
    }

    #[test]
    fn throttle_reaches_the_demand_that_was_asked() {
        let mut settings = Settings::default();
        settings.pulse.jump_us = 2_000.0;
        for asked in [-1.0, -0.4, 0.0, 0.25, 1.0] {
            let ticks =
                feed(&settings, 0.1, |_| Input { pulse: throttle(asked), ..Input::default() });
            let last = ticks.unwrap().last().unwrap().output.trace.demand.to_f32();
            assert!((f64::from(last) - asked).abs() < 1.0e-4, "{last} for {asked}");
        }
    }

    #[test]
    fn a_value_that_is_missing_cuts_the_line() {
        let settings = Settings::default();
        let silence = |now: &Moment| Input {
            pulse: if now.time_s < 0.1 { throttle(0.0) } else { None },
            ..Input::default()
        };
        let ticks = feed(&settings, 0.4, silence).unwrap();
        let in_force = |tick: &Tick| tick.output.trace.pulse.map(|us| f64::from(us.to_f32()));
        let lines = where_known(&ticks, "pulse", easeoff::draw::chart::colour::BLUE, in_force);
        assert_eq!(lines.len(), 1);
        let (end, _) = *lines[0].points.last().unwrap();
        assert!((0.15..0.25).contains(&end), "it ends at {end} s, 0.1 s after the last pulse");
        let nowhere = when(&ticks, 0.0..0.4, |tick| tick.output.command.duty().to_f32() > 0.0);
        assert!(nowhere.is_err(), "a picture without its story is refused");
    }
}
