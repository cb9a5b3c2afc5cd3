//! Tunes, inputs and commands from a fuzzer's bytes.

use easeoff_core::{
    Amp, Celsius, Command, CurveSettings, DragLaw, Duty, GiveWaySettings, HoldSettings, Input,
    Knots, Microseconds, PackRecovery, RestSettings, ReversePolicy, SafeState, Settings, Shape,
    Speed, StallSettings, Strength, TickRate, Volt,
};

use super::bytes::Bytes;

pub(super) fn rate(bytes: &mut Bytes<'_>) -> TickRate {
    let hz = match bytes.word() {
        0 => 1_000,
        other => 100 + other % 1_901,
    };
    TickRate::new(hz).unwrap()
}

/// Every setting within its stated range; contradictions are left to `prepare`.
pub(super) fn ranged(bytes: &mut Bytes<'_>) -> Settings {
    let mut tune = Settings::default();
    let p = &mut tune.pulse;
    p.plausible_low_us = bytes.within(800.0, 500.0, 1_400.0);
    p.plausible_high_us = bytes.within(2_200.0, 1_600.0, 2_500.0);
    p.jump_us = bytes.within(2_000.0, 20.0, 2_000.0);
    p.bridge = bytes.byte() % 101;
    p.loss_after_ms = bytes.within(100.0, 20.0, 500.0);
    let c = &mut tune.calibration;
    c.low_us = bytes.within(1_000.0, 800.0, 1_400.0);
    c.neutral_us = bytes.within(1_500.0, 1_300.0, 1_700.0);
    c.high_us = bytes.within(2_000.0, 1_600.0, 2_200.0);
    c.dead_band_us = bytes.within(20.0, 2.0, 200.0);
    c.reversed = bytes.byte() & 1 == 1;
    tune.curve = bytes
        .some(knots)
        .unwrap_or_else(|| CurveSettings::Cubic { blend: bytes.within(0.0, 0.0, 1.0) });
    tune.slew.rise_per_s = bytes.within(4.0, 0.1, 1_000.0);
    tune.slew.ease_per_s = bytes.within(20.0, 0.1, 1_000.0);
    let m = &mut tune.mode;
    m.arm_ms = bytes.within(200.0, 100.0, 1_000.0);
    m.reverse = bytes.one_of(&ReversePolicy::NAMED);
    m.rest_rad_s = bytes.within(1.0, 0.1, 20.0);
    m.pause_ms = bytes.within(600.0, 0.0, 5_000.0);
    tune.safe_state = bytes.one_of(&SafeState::NAMED);
    let d = &mut tune.drag;
    d.strength = bytes.within(1.0, 0.0, 1.0);
    d.delay_ms = bytes.within(0.0, 0.0, 1_000.0);
    d.onset_ms = bytes.within(300.0, 0.0, 1_000.0);
    d.shape = bytes.one_of(&Shape::NAMED);
    d.follow = bytes.within(0.0, 0.0, 1.0);
    d.release_ms = bytes.within(30.0, 0.0, 500.0);
    d.law = bytes
        .some(|bytes| bytes.within(10.0, 0.5, 500.0))
        .map_or(DragLaw::Share, |full_a| DragLaw::Current { full_a });
    tune.rest = bytes.some(|bytes| RestSettings {
        gain_per_rad: bytes.within(2.0, 0.01, 20.0),
        damping_s_per_rad: bytes.within(0.02, 0.0, 1.0),
        authority: bytes.within(0.1, 0.01, 0.5),
        below_rad_s: bytes.within(0.5, 0.05, 5.0),
    });
    tune.hold = bytes.some(|bytes| HoldSettings {
        full_speed_rad_s: bytes.within(30.0, 1.0, 2_000.0),
        feed_forward: bytes.within(1.0, 0.0, 1.0),
        gain: bytes.within(2.0, 0.0, 20.0),
        gain_per_s: bytes.within(8.0, 0.0, 100.0),
        droop: bytes.within(0.0, 0.0, 2.0),
        authority: bytes.within(1.0, 0.0, 1.0),
        fade_ms: bytes.within(200.0, 0.0, 2_000.0),
        give_way: bytes.some(|bytes| GiveWaySettings {
            share: bytes.within(0.5, 0.05, 1.0),
            after_ms: bytes.within(1_000.0, 50.0, 5_000.0),
            release_ms: bytes.within(500.0, 0.0, 5_000.0),
        }),
    });
    limits(&mut tune, bytes);
    // What does not go together is another target's concern.
    tune.mode.arm_ms = tune.mode.arm_ms.max(2.0 * tune.pulse.loss_after_ms);
    let never = tune.mode.reverse == ReversePolicy::Never;
    tune.rest = tune
        .rest
        .map(|rest| RestSettings { authority: rest.authority.min(tune.limits.reverse), ..rest })
        .filter(|rest| !never && rest.authority >= 0.01);
    tune
}

fn limits(tune: &mut Settings, bytes: &mut Bytes<'_>) {
    let l = &mut tune.limits;
    l.drive_a = bytes.some(|bytes| bytes.within(20.0, 1.0, 500.0));
    l.brake_a = bytes.some(|bytes| bytes.within(20.0, 1.0, 500.0));
    l.cells = 1 + bytes.byte() % 14;
    l.fade_from_v = bytes.within(3.3, 2.5, 4.2);
    l.fade_to_v = bytes.within(3.0, 2.0, 4.1);
    l.recover_v = bytes.within(0.1, 0.0, 0.5);
    l.pack_recovery = bytes.one_of(&PackRecovery::NAMED);
    l.hot_from_c = bytes.within(110.0, 40.0, 200.0);
    l.hot_to_c = bytes.within(130.0, 45.0, 220.0);
    l.cool_by_c = bytes.within(5.0, 0.0, 40.0);
    l.reverse = bytes.within(0.5, 0.0, 1.0);
    l.stall = bytes.some(|bytes| StallSettings {
        below_rad_s: bytes.within(0.5, 0.05, 20.0),
        duty: bytes.within(0.05, 0.0, 1.0),
        after_ms: bytes.within(2_000.0, 100.0, 5_000.0),
    });
    let m = &mut tune.motor;
    m.kv_rpm_per_v = bytes.within(1_000.0, 10.0, 20_000.0);
    m.gear_ratio = bytes.within(20.0, 1.0, 500.0);
    m.resistance_ohm = bytes.within(0.1, 0.001, 50.0);
    m.estimate_from_a = bytes.some(|bytes| bytes.within(1.0, 0.1, 100.0));
}

fn knots(bytes: &mut Bytes<'_>) -> CurveSettings {
    let count = bytes.byte() % 10;
    let points: Vec<[f32; 2]> =
        (0..count).map(|_| [bytes.within(0.5, 0.0, 1.0), bytes.within(0.5, 0.0, 1.0)]).collect();
    CurveSettings::Knots(Knots::new(&points).unwrap())
}

/// Stretch after stretch, to the end of the bytes.
pub(super) fn inputs<'b>(bytes: &'b mut Bytes<'_>) -> impl Iterator<Item = Input> + 'b {
    std::iter::from_fn(|| (!bytes.is_empty()).then(|| leg(bytes))).flatten()
}

/// A stretch of time in which hand and sensors each do one thing.
pub(super) fn leg(bytes: &mut Bytes<'_>) -> impl Iterator<Item = Input> + use<> {
    let (length, every, given) = (bytes.byte(), 1 + usize::from(bytes.byte() % 32), bytes.byte());
    let is_given = |bit: u8| given & (1 << bit) != 0;
    let pulse = match bytes.word() {
        0 => Microseconds::new(1_500.0),
        raw if is_given(5) => Some(Microseconds::from_bits(i32::from(raw as i16) << 12)),
        us => Microseconds::new(800.0 + f32::from(us % 14_400) / 10.0),
    };
    let pulse = pulse.filter(|_| !is_given(0));
    let rest = Input {
        pulse: None,
        speed: is_given(1).then(|| Speed::from_bits(bytes.bits())),
        current: is_given(2).then(|| Amp::from_bits(bytes.bits())),
        voltage: is_given(3).then(|| Volt::from_bits(bytes.bits())),
        temperature: is_given(4).then(|| Celsius::from_bits(bytes.bits())),
    };
    let ticks = 1 + usize::from(length) * usize::from(length) / 64;
    (0..ticks).map(move |tick| Input { pulse: pulse.filter(|_| tick % every == 0), ..rest })
}

/// Any command.
pub(super) fn command(bytes: &mut Bytes<'_>) -> Command {
    match bytes.byte() % 3 {
        0 => Command::Drive { duty: Duty::from_bits(i32::from(bytes.word() as i16) << 2) },
        1 => Command::Brake { strength: Strength::from_bits(i32::from(bytes.word()) << 1) },
        _ => Command::Coast,
    }
}
