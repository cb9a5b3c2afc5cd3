//! The drag brake: how it comes in, and what its strength means.

use easeoff::draw::chart::{Series, Sheet, colour};
use easeoff_core::{DragLaw, Input, MotorSettings, Settings, Shape, Speed};
use easeoff_sim::files::{demo, tune};

use super::Failure;
use super::bench::{Tick, feed, over_time, panel, sheet, throttle};

pub(crate) fn onsets() -> Result<Sheet, Failure> {
    let level = |tick: &Tick| tick.output.trace.brake_level.to_f32().into();
    let eased = |settings: &Settings, seconds: f64| {
        let settings = *settings;
        feed(&settings, 1.3, move |now| {
            // Open long before 0, at neutral from 0 on.
            let left = (-now.time_s / seconds.max(1.0e-3)).clamp(0.0, 1.0);
            Input { pulse: throttle(0.9 * left), ..Input::default() }
        })
    };
    let mut settings = Settings::default();
    settings.pulse.jump_us = 2_000.0;
    settings.drag.onset_ms = 600.0;
    (settings.slew.rise_per_s, settings.slew.ease_per_s) = (20.0, 1_000.0);

    let colours = [colour::BLUE, colour::VERMILION, colour::GREEN];
    let mut shapes = Vec::new();
    for ((name, shape), colour) in Shape::NAMED.iter().zip(colours) {
        let mut shaped = settings;
        shaped.drag.shape = *shape;
        shaped.drag.delay_ms = 200.0;
        shapes.push(over_time(&eased(&shaped, 0.0)?, name, colour, level));
    }
    let mut top = panel("brake level; delay 200 ms, onset 600 ms", shapes, 1.0, 0.0..1.12);
    top.shade = Some((0.0..0.2, String::new()));
    top.marks = vec![(0.0, "delay".into()), (0.2, "onset".into())];

    let plain = over_time(&eased(&settings, 0.0)?, "follow 0", colour::GREY, level);
    settings.drag.follow = 1.0;
    let mut follow = vec![plain];
    for (name, seconds, colour) in
        [("1, snapped shut", 0.0, colour::BLUE), ("1, eased over 0.9 s", 0.9, colour::VERMILION)]
    {
        follow.push(over_time(&eased(&settings, seconds)?, name, colour, level));
    }
    let mut bottom = panel("brake level; follow 0 and 1, onset 600 ms", follow, 1.0, 0.0..1.12);
    bottom.marks = vec![(0.0, "neutral".into())];
    Ok(sheet(
        "The brake comes in along a shape, and may follow the driver",
        "duty law, strength 1, for 1.3 s after the throttle came to neutral",
        vec![top, bottom],
        -0.2..1.3,
        "seconds since the throttle came to neutral",
        640,
    ))
}

/// Speeds up to this one are shown \[rad/s\].
const FASTEST: f64 = 60.0;

pub(crate) fn laws() -> Result<Sheet, Failure> {
    let rig = demo::rig().map_err(|_| "the demo's rig is broken")?;
    let motor = tune::motor_settings(&rig);
    let laws = [
        ("duty law, 0.2", DragLaw::Duty, 0.2, colour::VERMILION),
        ("current law, 5 A", DragLaw::Current { full_a: 5.0 }, 1.0, colour::BLUE),
    ];
    let (mut shares, mut currents) = (Vec::new(), Vec::new());
    for (name, law, strength, colour) in laws {
        let mut settings = Settings { motor, ..Settings::default() };
        (settings.drag.law, settings.drag.strength) = (law, strength);
        let ticks = feed(&settings, FASTEST * 0.05, |now| Input {
            pulse: throttle(0.0),
            speed: Speed::new((now.time_s.max(0.0) * 20.0) as f32),
            ..Input::default()
        })?;
        let slowing = ticks.iter().filter(|tick| tick.time_s >= 0.0);
        let share: Vec<(f64, f64)> = slowing
            .map(|t| (t.time_s * 20.0, t.output.command.braking().to_f32().into()))
            .collect();
        let current = share.iter().map(|(w, share)| (*w, share * short_a(&motor, *w))).collect();
        shares.push(Series { name: name.into(), points: share, colour });
        currents.push(Series { name: name.into(), points: current, colour });
    }
    Ok(sheet(
        "A share brakes harder at speed; a current brakes the same",
        "the brake fully on; demo rig; the mean motor current is share x back-EMF / resistance",
        vec![
            panel("share of time the motor is shorted", shares, 1.0, 0.0..1.1),
            panel("braking current, A", currents, 1.0, 0.0..32.0),
        ],
        0.0..FASTEST,
        "wheel speed, rad/s",
        600,
    ))
}

/// The current of a fully shorted motor at a wheel speed: `K G w / R`, with `K = 60 / (2 pi kV)`.
fn short_a(motor: &MotorSettings, wheel_rad_s: f64) -> f64 {
    let constant = 30.0 / (std::f64::consts::PI * f64::from(motor.kv_rpm_per_v));
    constant * f64::from(motor.gear_ratio) * wheel_rad_s / f64::from(motor.resistance_ohm)
}
