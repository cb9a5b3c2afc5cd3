//! The monitor, fed with the commands of a controller that goes wrong.

use easeoff::draw::chart::{Panel, Series, Sheet, colour};
use easeoff_core::{Breach, Command, Duty, Input, Monitor, MonitorState, Settings};

use super::Failure;
use super::bench::{RATE, Tick, feed, over_time, panel, sheet, stepped, throttle};

pub(crate) fn faults() -> Result<Sheet, Failure> {
    let mut settings = Settings::default();
    settings.pulse.jump_us = 2_000.0;
    settings.slew.rise_per_s = 2.0;
    settings.slew.ease_per_s = 5.0;
    let driver = [(0.0, 0.0), (0.3, 0.5), (1.6, 0.0), (3.2, 0.4), (5.4, 0.0), (6.2, 0.4)];
    let ticks = feed(&settings, 7.0, |now| Input {
        pulse: throttle(stepped(&driver, now.time_s)),
        ..Input::default()
    })?;
    let monitor = Monitor::of(&settings, RATE);
    let mut state = MonitorState::default();
    let (mut asked, mut passed) = (Vec::new(), Vec::new());
    let mut marks: Vec<(f64, String)> = Vec::new();
    for tick in &ticks {
        let command = gone_wrong(tick);
        let healthy = !state.fault();
        let verdict = monitor.step(&mut state, &tick.input, command);
        asked.push((tick.time_s, command.duty().to_f32().into()));
        passed.push((tick.time_s, verdict.command.duty().to_f32().into()));
        if let (true, Some(breach)) = (healthy, verdict.breach) {
            let named = Breach::ALL.iter().find(|named| named.0 == breach);
            marks.push((tick.time_s, named.map_or("", |named| named.1).into()));
        }
    }
    let line = |name: &str, points, colour| Series { name: name.into(), points, colour };
    let demand = |tick: &Tick| tick.output.trace.demand.to_f32().into();
    let throttle =
        panel("throttle", vec![over_time(&ticks, "throttle", colour::GREY, demand)], 0.7, 0.0..0.8);
    let mut duty = Panel::new(
        "duty",
        vec![
            line("asked of it", asked, colour::VERMILION),
            line("let through", passed, colour::BLUE),
        ],
        1.5,
    );
    duty.y = -0.05..0.7;
    duty.marks = marks;
    Ok(sheet(
        "A faulty command coasts, until neutral has been seen",
        "first the duty sticks while the driver lets go; later it comes late and leaps",
        vec![throttle, duty],
        0.0..7.0,
        "time, s",
        540,
    ))
}

/// The healthy command, but for two faults: stuck at its value, and late, so that it leaps.
fn gone_wrong(tick: &Tick) -> Command {
    match tick.time_s {
        1.2..2.2 => Command::Drive { duty: Duty::from_bits(1 << 15) },
        3.0..4.4 => Command::Coast,
        _ => tick.output.command,
    }
}
