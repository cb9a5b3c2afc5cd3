//! What the limits take away.

use easeoff::draw::chart::{Panel, Series, Sheet, colour};
use easeoff_core::{Amp, Celsius, Event, Input, Settings, Speed, StallSettings, Volt};

use super::Failure;
use super::bench::{Tick, feed, over_time, panel, sheet, stepped, throttle, when};

/// Volts per cell of a pack that is emptied and then recovers.
const PACK_V: [f64; 3] = [3.6, 2.9, 3.6];

pub(crate) fn pack() -> Result<Sheet, Failure> {
    let settings = Settings::default();
    let cells = f64::from(settings.limits.cells);
    let per_cell = |time_s: f64| {
        let [full, empty, again] = PACK_V;
        if time_s < 2.0 {
            full + (empty - full) * (time_s / 2.0).max(0.0)
        } else {
            empty + (again - empty) * (time_s - 2.0) / 2.0
        }
    };
    // The throttle is let go for a moment once the voltage is back at 3.35 V per cell.
    let let_go = 2.0 + 2.0 * (3.35 - PACK_V[1]) / (PACK_V[2] - PACK_V[1]);
    let ticks = feed(&settings, 4.0, |now| {
        let open = now.time_s > -0.5 && !(let_go..let_go + 0.04).contains(&now.time_s);
        Input {
            pulse: throttle(if open { 0.5 } else { 0.0 }),
            voltage: Volt::new((cells * per_cell(now.time_s)) as f32),
            ..Input::default()
        }
    })?;
    let factor = |from: f64, to: f64, name: &str, colour| Series {
        name: name.into(),
        points: ticks
            .iter()
            .filter(|tick| (from..to).contains(&tick.time_s))
            .map(|t| (per_cell(t.time_s), t.output.trace.limits.pack.to_f32().into()))
            .collect(),
        colour,
    };
    let mut shown = panel(
        "pack factor",
        vec![
            factor(2.0, 4.0, "coming back", colour::BLUE),
            factor(0.0, 2.0, "falling", colour::VERMILION),
        ],
        1.0,
        0.0..1.25,
    );
    let cut = when(&ticks, 2.0..4.0, |tick| tick.output.trace.limits.pack.to_f32() > 0.0)?;
    shown.marks = vec![(per_cell(cut), "throttle let go".into())];
    Ok(sheet(
        "An empty pack stays cut until the throttle was let go",
        "fades from 3.3 to 3.0 V per cell; rising voltage counts only beyond 0.1 V per cell",
        vec![shown],
        2.9..3.6,
        "V per cell",
        440,
    ))
}

pub(crate) fn taken() -> Result<Sheet, Failure> {
    let mut settings = Settings::default();
    settings.limits.drive_a = Some(20.0);
    settings.limits.stall = Some(StallSettings::default());
    settings.pulse.jump_us = 2_000.0;
    // The wheels catch on something, come free, and are caught for good at the end.
    let load = [(0.0, 1.0), (1.0, 3.0), (2.5, 1.0)];
    let turning = [(0.0, 10.0), (6.5, 0.0)];
    let driver = [(0.0, 0.4), (9.7, 0.0), (10.1, 0.4)];
    let ticks = feed(&settings, 11.0, |now| {
        // A motor whose current goes with the duty, 25 A per unit and load.
        let duty = f64::from(now.before.duty().to_f32());
        let at = now.time_s;
        let noise = if (at * 25.0).floor() % 2.0 == 0.0 { 1.0 } else { -1.0 };
        let warm = if at < 4.5 { 90.0 + 32.0 * (at - 3.0) } else { 138.0 - 24.0 * (at - 4.5) };
        Input {
            pulse: throttle(stepped(&driver, at)),
            speed: Speed::new(stepped(&turning, at) as f32),
            current: Amp::new((duty * 25.0 * stepped(&load, at)) as f32),
            temperature: Celsius::new((warm.clamp(90.0, 122.0) + 1.5 * noise) as f32),
            ..Input::default()
        }
    })?;
    let duty = |tick: &Tick| tick.output.command.duty().to_f32().into();
    let cap = |tick: &Tick| tick.output.trace.limits.drive_cap.to_f32().into();
    let heat = |tick: &Tick| tick.output.trace.limits.heat.to_f32().into();
    let current = |tick: &Tick| tick.input.current.map_or(0.0, |amp| amp.to_f32().into());
    let warm = |tick: &Tick| tick.input.temperature.map_or(0.0, |c| c.to_f32().into());
    let speed = |tick: &Tick| tick.input.speed.map_or(0.0, |speed| speed.to_f32().into());
    let stalled = when(&ticks, 0.0..10.0, |t| t.output.trace.events.contains(Event::Stalled))?;

    let mut amps = Panel::new(
        "motor current, A",
        vec![over_time(&ticks, "current", colour::ORANGE, current)],
        1.0,
    );
    amps.y = 0.0..36.0;
    amps.levels = vec![(20.0, "limit".into())];
    amps.marks = vec![(1.0, "load".into()), (2.5, "free".into())];
    let celsius = panel(
        "winding, degrees C",
        vec![over_time(&ticks, "temperature", colour::ORANGE, warm)],
        1.0,
        80.0..135.0,
    );
    let factors = panel(
        "factor and cap in force",
        vec![
            over_time(&ticks, "heat factor", colour::VERMILION, heat),
            over_time(&ticks, "driving cap", colour::BLUE, cap),
        ],
        1.2,
        0.0..1.2,
    );
    let mut wheels = panel(
        "wheel speed, rad/s",
        vec![over_time(&ticks, "speed", colour::ORANGE, speed)],
        0.9,
        0.0..14.0,
    );
    wheels.marks = vec![(6.5, "wheels stand".into())];
    let mut left =
        panel("duty left", vec![over_time(&ticks, "duty", colour::BLUE, duty)], 1.2, 0.0..0.56);
    left.marks = vec![(stalled, "stalled".into()), (9.7, "let go".into())];
    Ok(sheet(
        "Limits only take away, and give back slowly",
        "fold-back of current, fade by heat in spite of noise, then two seconds at a stand",
        vec![amps, celsius, factors, wheels, left],
        0.0..11.0,
        "time, s",
        960,
    ))
}
