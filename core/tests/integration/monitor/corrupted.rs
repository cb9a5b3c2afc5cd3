//! Faults on the way of a command: it is spoilt, stuck, late or of the wrong kind.
//!
//! The stories arm for 600 ticks and then ask for half the duty at 1760 us.

use easeoff_core::{
    Breach, Command, Duty, Event, HoldSettings, Mode, PackRecovery, RestSettings, ReversePolicy,
    SafeState, Settings, Strength,
};

use super::bench::{Case, Fault, Leg, Now, at, half, half_then, plain, rolling, silent};

/// More than rounding.
const SOME: f32 = 0.000_2;
/// One tick's rise at 4 per second.
const STEP: f32 = 0.004;

fn drive(duty: f32) -> Command {
    Command::Drive { duty: Duty::new(duty.clamp(-1.0, 1.0)).unwrap() }
}

fn brake(strength: f32) -> Command {
    Command::Brake { strength: Strength::new(strength).unwrap() }
}

fn drives(command: Command) -> bool {
    matches!(command, Command::Drive { .. })
}

fn duty(command: Command) -> f32 {
    command.duty().to_f32()
}

fn without_signal(now: &Now<'_>, command: Command) -> bool {
    now.healthy.trace.mode == Mode::Lost && drives(command)
}

fn beyond_the_throttle(now: &Now<'_>, command: Command) -> bool {
    duty(command) > now.healthy.trace.slewed.to_f32() + SOME
}

fn too_quick(now: &Now<'_>, command: Command) -> bool {
    let (new, before) = (duty(command), duty(now.ago(1)));
    let growth = if new * before > 0.0 { new.abs() - before.abs() } else { new.abs() };
    growth > STEP + SOME
}

fn forward(_: &Now<'_>, command: Command) -> bool {
    duty(command) > SOME
}

fn backward(_: &Now<'_>, command: Command) -> bool {
    duty(command) < -SOME
}

fn with(change: fn(&mut Settings)) -> Settings {
    let mut tune = plain();
    change(&mut tune);
    tune
}

type Spoil = fn(&Now<'_>) -> Command;
type Wrong = fn(&Now<'_>, Command) -> bool;
type Row = (&'static str, Settings, Vec<Leg>, Spoil, Wrong, Breach);

pub(crate) fn cases() -> Vec<Case> {
    [arming(), throttle(), turning(), limits(), braking()]
        .into_iter()
        .flatten()
        .map(|(name, tune, story, spoil, wrong, expected)| {
            let fault = Fault::Spoilt(spoil);
            Case { name, tune, story, fault, wrong, expected }
        })
        .collect()
}

fn arming() -> Vec<Row> {
    let creep: Spoil = |now| if now.tick >= 100 { drive(0.002) } else { now.healthy.command };
    let when_lost: Spoil = |now| match now.healthy.trace.mode {
        Mode::Lost => drive(0.5),
        _ => now.healthy.command,
    };
    let late: Spoil = |now| match now.healthy.trace.mode {
        Mode::Lost if now.healthy.trace.demand.to_f32() > 0.0 => drive(0.003),
        _ => now.healthy.command,
    };
    let nothing: Spoil = |now| match now.healthy.trace.mode {
        Mode::Lost => drive(0.0),
        _ => now.healthy.command,
    };
    let disarmed: Wrong =
        |now, command| now.healthy.trace.mode == Mode::Disarmed && drives(command);
    let lost = half_then(&[silent(300)]);
    let again = half_then(&[silent(200), at(500, 1_760.0)]);
    let short = half_then(&[silent(200), at(250, 1_500.0), at(500, 1_760.0)]);
    vec![
        (
            "drives while disarmed",
            plain(),
            vec![at(900, 1_760.0)],
            creep,
            disarmed,
            Breach::Unarmed,
        ),
        (
            "drives on after signal loss",
            plain(),
            lost.clone(),
            when_lost,
            without_signal,
            Breach::Unarmed,
        ),
        (
            "drives with no duty after signal loss",
            plain(),
            lost,
            nothing,
            without_signal,
            Breach::Unarmed,
        ),
        (
            "resumes at a late pulse without neutral",
            plain(),
            again,
            late,
            without_signal,
            Breach::Unarmed,
        ),
        (
            "resumes after half the arming time",
            plain(),
            short,
            late,
            without_signal,
            Breach::Unarmed,
        ),
    ]
}

fn throttle() -> Vec<Row> {
    let flipped: Spoil = |now| match now.healthy.command {
        Command::Drive { duty } => Command::Drive { duty: Duty::ZERO - duty },
        other => other,
    };
    let inverted: Spoil = |now| match now.healthy.command {
        Command::Drive { duty } if now.tick >= 900 => {
            Command::Drive { duty: Duty::from_bits(!duty.to_bits()) }
        }
        other => other,
    };
    let highest: Spoil = |now| if now.tick >= 900 { drive(1.0) } else { now.healthy.command };
    let lowest: Spoil = |now| if now.tick >= 900 { drive(-1.0) } else { now.healthy.command };
    let creep: Spoil = |now| if now.tick >= 900 { drive(0.003) } else { now.healthy.command };
    let stuck: Spoil = |now| match now.past.get(1_099) {
        Some(last) => last.command,
        None => now.healthy.command,
    };
    let stale: Spoil = |now| if now.tick >= 700 { now.ago(300) } else { now.healthy.command };
    let drift: Spoil = |now| match now.healthy.command {
        Command::Drive { duty } if now.tick >= 900 => {
            drive(duty.to_f32() + 0.001 * (now.tick - 899) as f32)
        }
        other => other,
    };
    let unslewed: Spoil = |now| match now.healthy.command {
        Command::Drive { .. } => drive(now.healthy.trace.curved.to_f32()),
        other => other,
    };
    let doubled: Spoil = |now| match now.healthy.command {
        Command::Drive { duty } => drive(2.0 * duty.to_f32()),
        other => other,
    };
    let swapped: Spoil = |now| match now.healthy.command {
        Command::Brake { strength } => drive(strength.to_f32()),
        other => other,
    };
    // Half a duty eased at a hundredth less than 20 per second, from tick 1100 on.
    let eased: Wrong = |now, command| {
        duty(command) > SOME && now.tick >= 1_100 && (now.tick - 1_099) as f32 * 0.0198 >= 0.5
    };
    let let_go = half_then(&[at(600, 1_500.0)]);
    let held = with(|tune| tune.hold = Some(HoldSettings::new(30.0)));
    let at_speed =
        vec![rolling(600, 1_500.0, 0.0), rolling(500, 1_760.0, 15.0), rolling(300, 1_500.0, 15.0)];
    let neutral = vec![at(1_200, 1_500.0)];
    let rest = with(|tune| {
        (tune.rest, tune.slew.rise_per_s) = (Some(RestSettings::default()), 1_000.0);
    });
    let rest_doubled: Spoil = |now| match now.healthy.command {
        Command::Drive { duty } if now.healthy.trace.events.contains(Event::HoldingAtRest) => {
            drive(2.0 * duty.to_f32())
        }
        other => other,
    };
    let beyond_rest: Wrong = |_, command| duty(command).abs() > 0.1 + SOME;
    vec![
        ("sign flipped", plain(), half(), flipped, backward, Breach::WrongWay),
        ("all bits inverted", plain(), half(), inverted, backward, Breach::WrongWay),
        ("the largest number", plain(), half(), highest, beyond_the_throttle, Breach::TooMuch),
        ("the smallest number", plain(), half(), lowest, backward, Breach::WrongWay),
        ("creeps at neutral", plain(), neutral.clone(), creep, forward, Breach::WrongWay),
        ("brake's share put on the motor", plain(), neutral, swapped, forward, Breach::WrongWay),
        (
            "stuck while let go",
            plain(),
            let_go.clone(),
            stuck,
            beyond_the_throttle,
            Breach::TooMuch,
        ),
        ("stuck while let go, with a hold", held, at_speed, stuck, eased, Breach::WrongWay),
        ("300 ticks old", plain(), let_go, stale, beyond_the_throttle, Breach::TooMuch),
        ("drifts up", plain(), half(), drift, beyond_the_throttle, Breach::TooMuch),
        ("slew skipped", plain(), half(), unslewed, too_quick, Breach::TooQuick),
        ("duty doubled", plain(), half(), doubled, too_quick, Breach::TooQuick),
        (
            "holds still beyond its authority",
            rest,
            vec![rolling(1_500, 1_500.0, 0.3)],
            rest_doubled,
            beyond_rest,
            Breach::WrongWay,
        ),
    ]
}

fn turning() -> Vec<Row> {
    let at_once: Spoil = |now| match now.healthy.trace.curved.to_f32() {
        curved if curved < 0.0 => drive(-0.3),
        _ => now.healthy.command,
    };
    let unstopped: Spoil = |now| match now.healthy.trace.mode {
        Mode::Stopping => drive(-0.003),
        _ => now.healthy.command,
    };
    let direct = with(|tune| tune.mode.reverse = ReversePolicy::Direct);
    let blind = half_then(&[at(400, 1_240.0)]);
    let fast =
        vec![rolling(600, 1_500.0, 0.0), rolling(500, 1_760.0, 9.0), rolling(400, 1_240.0, 9.0)];
    vec![
        ("turns round in one tick", direct, blind.clone(), at_once, too_quick, Breach::TooQuick),
        ("backward while rolling forward", plain(), fast, unstopped, backward, Breach::NoStop),
        ("backward before the pause", plain(), blind, unstopped, backward, Breach::NoStop),
    ]
}

fn limits() -> Vec<Row> {
    let unlimited: Spoil = |now| match now.healthy.command {
        Command::Drive { .. } => Command::Drive { duty: now.healthy.trace.duty_asked },
        other => other,
    };
    let back_at_once: Spoil = |now| match now.healthy.command {
        Command::Drive { .. } if now.tick >= 1_300 => {
            Command::Drive { duty: now.healthy.trace.duty_asked }
        }
        other => other,
    };
    let unlimited_brake: Spoil = |now| match now.healthy.command {
        Command::Brake { .. } => Command::Brake { strength: now.healthy.trace.brake_asked },
        other => other,
    };
    let volts = |ticks, us, volt| Leg { voltage: Some(volt), ..at(ticks, us) };
    let hot = Leg { celsius: Some(131.0), ..at(200, 1_760.0) };
    let amps = |ticks, us, amp| Leg { current: Some(amp), ..at(ticks, us) };
    let empty = half_then(&[volts(200, 1_760.0, 8.9)]);
    let recovers = vec![
        volts(600, 1_500.0, 12.0),
        volts(500, 1_760.0, 12.0),
        volts(200, 1_760.0, 8.9),
        volts(200, 1_760.0, 12.0),
    ];
    let by_voltage = with(|tune| tune.limits.pack_recovery = PackRecovery::ByVoltage);
    let drive_a = with(|tune| tune.limits.drive_a = Some(20.0));
    let brake_a = with(|tune| tune.limits.brake_a = Some(20.0));
    let flat: Wrong = |now, command| {
        duty(command) > SOME && now.input.voltage.is_some_and(|volt| volt.to_f32() < 8.99)
    };
    let too_hot: Wrong = |now, command| {
        duty(command) > SOME && now.input.temperature.is_some_and(|hot| hot.to_f32() > 130.5)
    };
    // The current is there from tick 1100, or 600, on: more than 1000 ticks of it.
    let second: Wrong = |now, command| now.tick >= 2_100 && duty(command) > SOME;
    let braking_second: Wrong =
        |now, command| now.tick >= 1_600 && command.braking().to_f32() > SOME;
    let long = half_then(&[amps(1_500, 1_760.0, 45.0)]);
    let long_brake = vec![at(600, 1_500.0), amps(1_500, 1_500.0, -45.0)];
    vec![
        ("pack cut ignored", plain(), empty, unlimited, flat, Breach::PackEmpty),
        (
            "back at once after the pack's cut",
            by_voltage,
            recovers,
            back_at_once,
            too_quick,
            Breach::TooQuick,
        ),
        ("heat ignored", plain(), half_then(&[hot]), unlimited, too_hot, Breach::TooHot),
        ("driving fold-back dropped", drive_a, long, unlimited, second, Breach::OverCurrent),
        (
            "braking fold-back dropped",
            brake_a,
            long_brake,
            unlimited_brake,
            braking_second,
            Breach::OverCurrent,
        ),
    ]
}

fn braking() -> Vec<Row> {
    let stuck: Spoil = |now| match now.healthy.trace.mode {
        Mode::Lost => now.past[1_050].command,
        _ => now.healthy.command,
    };
    let early: Spoil = |now| if now.tick >= 100 { brake(0.1) } else { now.healthy.command };
    let doubled: Spoil = |now| match now.healthy.command {
        Command::Brake { strength } => brake((2.0 * strength.to_f32()).min(1.0)),
        other => other,
    };
    let full: Spoil = |now| match now.healthy.trace.mode {
        Mode::Stopping => brake(1.0),
        _ => now.healthy.command,
    };
    let coasts = with(|tune| tune.safe_state = SafeState::Coast);
    let weak = with(|tune| tune.drag.strength = 0.4);
    let unsafe_brake: Wrong =
        |now, command| now.healthy.trace.mode == Mode::Lost && command.braking() > Strength::ZERO;
    let disarmed: Wrong = |now, command| {
        now.healthy.trace.mode == Mode::Disarmed && command.braking() > Strength::ZERO
    };
    let too_hard: Wrong = |_, command| command.braking().to_f32() > 0.4 + SOME;
    let beyond_hand: Wrong = |now, command| {
        let hand = now.healthy.trace.curved.to_f32().abs();
        command.braking().to_f32() > hand.max(0.4) + SOME
    };
    let fast =
        vec![rolling(600, 1_500.0, 0.0), rolling(500, 1_760.0, 9.0), rolling(400, 1_240.0, 9.0)];
    vec![
        (
            "keeps braking where it should coast",
            coasts,
            vec![at(1_100, 1_500.0), silent(300)],
            stuck,
            unsafe_brake,
            Breach::NotSafe,
        ),
        (
            "brakes before it was armed",
            plain(),
            vec![at(400, 1_760.0)],
            early,
            disarmed,
            Breach::Brake,
        ),
        ("brake doubled", weak, vec![at(1_200, 1_500.0)], doubled, too_hard, Breach::Brake),
        ("brakes fully at half the hand", weak, fast, full, beyond_hand, Breach::Brake),
    ]
}
