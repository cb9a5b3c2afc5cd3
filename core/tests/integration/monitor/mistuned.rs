//! Faults within a controller: a whole one with one number or branch wrong.

use easeoff_core::{
    Breach, Command, HoldSettings, Mode, RestSettings, ReversePolicy, SafeState, Settings, Strength,
};

use super::bench::{Case, Fault, Leg, Now, at, half_then, plain, rolling, silent};

/// More than rounding.
const SOME: f32 = 0.000_2;

fn duty(command: Command) -> f32 {
    command.duty().to_f32()
}

fn without_signal(now: &Now<'_>, command: Command) -> bool {
    now.healthy.trace.mode == Mode::Lost && matches!(command, Command::Drive { .. })
}

fn disarmed(now: &Now<'_>, command: Command) -> bool {
    now.healthy.trace.mode == Mode::Disarmed && command != Command::Coast
}

/// A drag brake of no strength still says "brake", with nothing behind it.
fn disarmed_drive(now: &Now<'_>, command: Command) -> bool {
    now.healthy.trace.mode == Mode::Disarmed && matches!(command, Command::Drive { .. })
}

fn unsafe_brake(now: &Now<'_>, command: Command) -> bool {
    now.healthy.trace.mode == Mode::Lost && command.braking() > Strength::ZERO
}

fn beyond_the_throttle(now: &Now<'_>, command: Command) -> bool {
    duty(command) > now.healthy.trace.slewed.to_f32() + SOME
}

fn too_quick(now: &Now<'_>, command: Command) -> bool {
    duty(command) > duty(now.ago(1)) + 0.004 + SOME
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

type Change = fn(&mut Settings);
type Wrong = fn(&Now<'_>, Command) -> bool;
type Row = (&'static str, Settings, Vec<Leg>, Change, Wrong, Breach);

pub(crate) fn cases() -> Vec<Case> {
    [signal(), throttle(), turning(), limits(), braking()]
        .into_iter()
        .flatten()
        .map(|(name, tune, story, change, wrong, expected)| {
            let fault = Fault::Mistuned(change);
            Case { name, tune, story, fault, wrong, expected }
        })
        .collect()
}

fn signal() -> Vec<Row> {
    let lost = half_then(&[silent(400)]);
    let garbage = half_then(&[at(100, 300.0)]);
    let high = half_then(&[at(100, 2_400.0)]);
    let jump = vec![at(600, 1_500.0), at(300, 1_560.0), at(1, 2_000.0), at(300, 1_560.0)];
    let early = vec![at(200, 1_500.0), at(500, 1_760.0)];
    let unbraked = with(|tune| tune.drag.strength = 0.0);
    let few = with(|tune| tune.pulse.tolerate = 2);
    let careful = with(|tune| tune.pulse.jump_us = 300.0);
    vec![
        (
            "arms too soon, and drives",
            unbraked,
            early.clone(),
            |tune| (tune.mode.arm_ms, tune.pulse.loss_after_ms) = (100.0, 50.0),
            disarmed_drive,
            Breach::Unarmed,
        ),
        (
            "arms too soon, and brakes",
            plain(),
            early,
            |tune| (tune.mode.arm_ms, tune.pulse.loss_after_ms) = (100.0, 50.0),
            disarmed,
            Breach::Brake,
        ),
        (
            "the loss timer runs two and a half times too long",
            plain(),
            lost,
            |tune| tune.pulse.loss_after_ms = 250.0,
            without_signal,
            Breach::Unarmed,
        ),
        (
            "bad samples are bridged for ever",
            few,
            garbage,
            |tune| tune.pulse.tolerate = 100,
            without_signal,
            Breach::Unarmed,
        ),
        (
            "an implausible pulse is believed",
            plain(),
            high,
            |tune| tune.pulse.plausible_high_us = 2_500.0,
            beyond_the_throttle,
            Breach::TooMuch,
        ),
        (
            "a lone jump is believed",
            careful,
            jump,
            |tune| tune.pulse.jump_us = 2_000.0,
            beyond_the_throttle,
            Breach::TooMuch,
        ),
    ]
}

fn throttle() -> Vec<Row> {
    let half = half_then(&[]);
    let edge = vec![at(600, 1_500.0), at(400, 1_540.0)];
    let wide = with(|tune| tune.calibration.dead_band_us = 60.0);
    let bogged = vec![rolling(600, 1_500.0, 0.0), rolling(900, 1_760.0, 0.0)];
    let hold = |feed_forward, authority| {
        let hold = HoldSettings { feed_forward, authority, ..HoldSettings::new(30.0) };
        Settings { hold: Some(hold), ..plain() }
    };
    // The demand is half; two thousandths are the envelope's rounding.
    let beyond_authority: Wrong = |_, command| duty(command) > 0.5 + 0.2 + 0.002;
    let beyond_feed: Wrong = |_, command| duty(command) > 0.25 + 0.1 + 0.0015;
    let rest: Change = |tune| tune.rest = Some(RestSettings::default());
    let rest_strong: Change = |tune| {
        tune.rest = Some(RestSettings { authority: 0.5, ..RestSettings::default() });
    };
    let pushes: Wrong = |_, command| duty(command).abs() > SOME;
    let pushes_hard: Wrong = |_, command| duty(command).abs() > 0.1 + 0.000_1;
    let creeps = vec![rolling(1_500, 1_500.0, 0.3)];
    vec![
        (
            "channels swapped",
            plain(),
            half.clone(),
            |tune| tune.calibration.reversed = true,
            backward,
            Breach::WrongWay,
        ),
        (
            "dead band missing",
            wide,
            edge,
            |tune| tune.calibration.dead_band_us = 2.0,
            forward,
            Breach::WrongWay,
        ),
        (
            "the throttle's end taken too near",
            plain(),
            half.clone(),
            |tune| tune.calibration.high_us = 1_800.0,
            beyond_the_throttle,
            Breach::TooMuch,
        ),
        (
            "eases ten times too slowly",
            plain(),
            half_then(&[at(300, 1_500.0)]),
            |tune| tune.slew.ease_per_s = 2.0,
            beyond_the_throttle,
            Breach::TooMuch,
        ),
        (
            "rises ten times too fast",
            plain(),
            half,
            |tune| tune.slew.rise_per_s = 40.0,
            too_quick,
            Breach::TooQuick,
        ),
        (
            "hold beyond its authority",
            hold(1.0, 0.2),
            bogged.clone(),
            |tune| tune.hold.as_mut().unwrap().authority = 1.0,
            beyond_authority,
            Breach::TooMuch,
        ),
        (
            "twice the feed-forward",
            hold(0.5, 0.1),
            bogged,
            |tune| tune.hold.as_mut().unwrap().feed_forward = 1.0,
            beyond_feed,
            Breach::TooMuch,
        ),
        ("holds still unasked", plain(), creeps.clone(), rest, pushes, Breach::WrongWay),
        (
            "holds still with the authority of another",
            with(rest),
            creeps,
            rest_strong,
            pushes_hard,
            Breach::WrongWay,
        ),
    ]
}

fn turning() -> Vec<Row> {
    let never = with(|tune| tune.mode.reverse = ReversePolicy::Never);
    let direct: Change = |tune| tune.mode.reverse = ReversePolicy::Direct;
    let capped = with(|tune| tune.limits.reverse = 0.3);
    let back = vec![rolling(600, 1_500.0, 0.0), rolling(500, 1_000.0, 0.0)];
    let fast =
        vec![rolling(600, 1_500.0, 0.0), rolling(500, 1_760.0, 9.0), rolling(400, 1_240.0, 9.0)];
    let fast_back =
        vec![rolling(600, 1_500.0, 0.0), rolling(500, 1_240.0, 0.0), rolling(400, 1_760.0, -9.0)];
    let blind = half_then(&[at(400, 1_240.0)]);
    let beyond_cap: Wrong = |_, command| duty(command) < -0.3 - SOME;
    vec![
        ("reverse though never", never, back.clone(), direct, backward, Breach::TooMuch),
        (
            "reverse cap ignored",
            capped,
            back,
            |tune| tune.limits.reverse = 1.0,
            beyond_cap,
            Breach::TooMuch,
        ),
        ("reverse without a stop", plain(), fast.clone(), direct, backward, Breach::NoStop),
        ("forward without a stop", plain(), fast_back, direct, forward, Breach::NoStop),
        (
            "turning wheels taken for standing",
            plain(),
            fast,
            |tune| tune.mode.rest_rad_s = 20.0,
            backward,
            Breach::NoStop,
        ),
        (
            "too short a pause",
            plain(),
            blind,
            |tune| tune.mode.pause_ms = 100.0,
            backward,
            Breach::NoStop,
        ),
    ]
}

fn limits() -> Vec<Row> {
    let volts = |ticks, us| Leg { voltage: Some(8.9), ..at(ticks, us) };
    let empty = half_then(&[volts(200, 1_760.0)]);
    let hot = half_then(&[Leg { celsius: Some(131.0), ..at(200, 1_760.0) }]);
    let amps = |ticks, us, amp| Leg { current: Some(amp), ..at(ticks, us) };
    let drive_a = with(|tune| tune.limits.drive_a = Some(20.0));
    let brake_a = with(|tune| tune.limits.brake_a = Some(20.0));
    let long = half_then(&[amps(1_500, 1_760.0, 45.0)]);
    let long_brake = vec![at(600, 1_500.0), amps(1_500, 1_500.0, -45.0)];
    let flat: Wrong = |now, command| now.tick >= 1_100 && duty(command) > SOME;
    // The current is there from tick 1100, or 600, on: more than 1000 ticks of it.
    let second: Wrong = |now, command| now.tick >= 2_100 && duty(command) > SOME;
    let braking_second: Wrong =
        |now, command| now.tick >= 1_600 && command.braking().to_f32() > SOME;
    let low: Change = |tune| (tune.limits.derate_from_v, tune.limits.derate_to_v) = (2.6, 2.4);
    let cool: Change = |tune| (tune.limits.derate_from_c, tune.limits.derate_to_c) = (200.0, 220.0);
    vec![
        ("pack cut too low", plain(), empty.clone(), low, flat, Breach::PackEmpty),
        ("one cell too few", plain(), empty, |tune| tune.limits.cells = 2, flat, Breach::PackEmpty),
        ("heat cut too high", plain(), hot, cool, flat, Breach::TooHot),
        (
            "driving fold-back missing",
            drive_a,
            long,
            |tune| tune.limits.drive_a = None,
            second,
            Breach::OverCurrent,
        ),
        (
            "braking fold-back missing",
            brake_a,
            long_brake,
            |tune| tune.limits.brake_a = None,
            braking_second,
            Breach::OverCurrent,
        ),
    ]
}

fn braking() -> Vec<Row> {
    let coasts = with(|tune| tune.safe_state = SafeState::Coast);
    let weak = with(|tune| tune.drag.strength = 0.4);
    let too_hard: Wrong = |_, command| command.braking().to_f32() > 0.4 + SOME;
    vec![
        (
            "brakes where it should coast",
            coasts,
            half_then(&[silent(300)]),
            |tune| tune.safe_state = SafeState::Drag,
            unsafe_brake,
            Breach::NotSafe,
        ),
        (
            "brake stronger than set",
            weak,
            vec![at(1_200, 1_500.0)],
            |tune| tune.drag.strength = 1.0,
            too_hard,
            Breach::Brake,
        ),
    ]
}
