//! From the pulse to the slewed demand.

use easeoff::draw::chart::{Panel, Series, Sheet, colour};
use easeoff_core::{Calibration, CurveSettings, Input, Knots, ReversePolicy, Settings};

use super::Failure;
use super::bench::{
    Tick, feed, over_time, panel, pulse, sheet, stepped, throttle, when, where_known,
};

/// What the radio sends, every 20 ms from each time on; 0 stands for silence.
const SENT_US: [(f64, f64); 9] = [
    (0.0, 1_600.0),
    (0.4, 2_050.0),
    (0.42, 1_600.0),
    (0.8, 450.0),
    (0.84, 2_420.0),
    (0.88, 1_600.0),
    (1.2, 2_000.0),
    (1.6, 1_500.0),
    (1.8, 0.0),
];

pub(crate) fn pulses() -> Result<Sheet, Failure> {
    let settings = Settings::default();
    let ticks = feed(&settings, 2.2, |now| {
        let sent = stepped(&SENT_US, now.time_s) as f32;
        let arrives = now.frame && sent > 0.0;
        Input { pulse: arrives.then(|| pulse(sent)).flatten(), ..Input::default() }
    })?;
    let came = |tick: &Tick| Some(stepped(&SENT_US, tick.time_s)).filter(|us| *us > 0.0);
    let in_force = |tick: &Tick| tick.output.trace.pulse.map(|us| us.to_f32().into());
    let mut lines = where_known(&ticks, "as it came", colour::ORANGE, came);
    lines.extend(where_known(&ticks, "in force", colour::BLUE, in_force));
    let mut seen = panel("pulse, us", lines, 2.4, 300.0..2_750.0);
    seen.levels = vec![
        (settings.pulse.plausible_high_us.into(), "longest plausible".into()),
        (settings.pulse.plausible_low_us.into(), "shortest plausible".into()),
    ];
    seen.marks = vec![
        (0.4, "lone jump".into()),
        (0.8, "garbage".into()),
        (1.2, "quick flick".into()),
        (1.8, "silence".into()),
    ];
    let bad = |tick: &Tick| f64::from(tick.output.trace.bad_samples);
    let mut counted = panel(
        "bad samples, counted",
        vec![over_time(&ticks, "", colour::VERMILION, bad)],
        1.0,
        0.0..9.0,
    );
    let lost = when(&ticks, 1.8..2.2, |tick| tick.output.trace.pulse.is_none())?;
    counted.marks = vec![(lost, "no signal".into())];
    Ok(sheet(
        "Only pulses that are believed get through",
        "a lone jump and garbage change nothing; a real flick waits one frame of 20 ms",
        vec![seen, counted],
        0.0..2.2,
        "time, s",
        560,
    ))
}

pub(crate) fn curves() -> Result<Sheet, Failure> {
    let calibration = Calibration { dead_band_us: 50.0, ..Calibration::default() };
    let knots = Knots::new(&[[0.5, 0.15], [0.8, 0.4]]).ok_or("too many knots")?;
    let kinds = [
        ("blend 0", CurveSettings::Cubic { blend: 0.0 }, colour::BLUE),
        ("blend 0.5", CurveSettings::Cubic { blend: 0.5 }, colour::GREEN),
        ("blend 1", CurveSettings::Cubic { blend: 1.0 }, colour::VERMILION),
        ("two knots", CurveSettings::Knots(knots), colour::ORANGE),
    ];
    let mut lines = Vec::new();
    for (name, curve, colour) in kinds {
        let mut settings = Settings { curve, calibration, ..Settings::default() };
        settings.pulse.jump_us = 2_000.0;
        // One microsecond more in every tick.
        let sweep = |time_s: f64| 930.0 + time_s * 1_000.0;
        let ticks = feed(&settings, 1.14, |now| {
            let us = if now.time_s < 0.0 { 1_500.0 } else { sweep(now.time_s) };
            Input { pulse: pulse(us as f32), ..Input::default() }
        })?;
        let swept = ticks.iter().filter(|tick| tick.time_s >= 0.0);
        let points = swept
            .map(|tick| (sweep(tick.time_s), tick.output.trace.curved.to_f32().into()))
            .collect();
        lines.push(Series { name: name.into(), points, colour });
    }
    let mut shown = panel("demand after the curve", lines, 1.0, -1.15..1.15);
    shown.shade = Some((1_450.0..1_550.0, "dead band".into()));
    shown.marks = [(1_000.0, "low"), (1_500.0, ""), (2_000.0, "high")]
        .map(|(at, words)| (at, words.into()))
        .into();
    Ok(sheet(
        "Every curve is exact at neutral and at the end points",
        "dead band 50 us to either side; the more blend, the finer the demand near neutral",
        vec![shown],
        930.0..2_070.0,
        "pulse, us",
        540,
    ))
}

pub(crate) fn slew() -> Result<Sheet, Failure> {
    let wish = [(0.0, 0.0), (0.1, 1.0), (0.9, 0.4), (1.4, -0.6), (2.1, 0.0)];
    let mut settings = Settings::default();
    settings.slew.rise_per_s = 2.0;
    settings.slew.ease_per_s = 5.0;
    settings.mode.reverse = ReversePolicy::Direct;
    settings.pulse.jump_us = 2_000.0;
    // Without a brake that would have to be released first.
    settings.drag.strength = 0.0;
    let ticks = feed(&settings, 2.5, |now| Input {
        pulse: throttle(stepped(&wish, now.time_s)),
        ..Input::default()
    })?;
    let wished = |tick: &Tick| tick.output.trace.curved.to_f32().into();
    let slewed = |tick: &Tick| tick.output.trace.slewed.to_f32().into();
    let mut demand = Panel::new(
        "demand",
        vec![
            over_time(&ticks, "what the driver asks", colour::ORANGE, wished),
            over_time(&ticks, "slewed", colour::BLUE, slewed),
        ],
        1.0,
    );
    demand.y = -0.8..1.35;
    demand.marks = vec![
        (0.1, "rises at 2 per s".into()),
        (0.9, "eases at 5 per s".into()),
        (1.4, "to neutral, then out".into()),
        (2.1, "eases".into()),
    ];
    Ok(sheet(
        "A stepped wish becomes a demand with slopes",
        "away from neutral at the rise rate, toward it at the ease rate; reverse policy direct",
        vec![demand],
        0.0..2.5,
        "time, s",
        440,
    ))
}
