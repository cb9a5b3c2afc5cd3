//! The limits by themselves.

use super::*;
use crate::stages::slew::SlewSettings;

fn prepared_with(settings: LimitSettings, rise_per_s: f32, check: &mut Check) -> Limits {
    let rate = TickRate::new(1_000).unwrap();
    let slew = SlewSettings { rise_per_s, ease_per_s: 1_000.0 }.prepare(rate, check);
    settings.prepare(rate, slew, check)
}

fn limits(settings: LimitSettings) -> Limits {
    let mut check = Check::new();
    let limits = prepared_with(settings, 1_000.0, &mut check);
    check.finish(limits).unwrap()
}

fn factors(limits: &Limits, volt: f32, celsius: f32) -> LimitFactors {
    let input = LimitInput {
        voltage: Volt::new(volt),
        temperature: Celsius::new(celsius),
        ..LimitInput::default()
    };
    limits.factors(&mut LimitState::default(), input)
}

#[test]
fn pack_and_heat_fade_straight_between_their_points() {
    let limits = limits(LimitSettings::default());
    for (volt, left) in [(12.6, 1.0), (9.9, 1.0), (9.45, 0.5), (9.0, 0.0), (0.0, 0.0)] {
        let pack = factors(&limits, volt, 20.0).pack.to_f32();
        assert!((pack - left).abs() < 1e-3, "{volt} V leaves {pack}");
    }
    for (celsius, left) in [(20.0, 1.0), (110.0, 1.0), (120.0, 0.5), (130.0, 0.0), (999.0, 0.0)] {
        let heat = factors(&limits, 12.0, celsius).heat.to_f32();
        assert!((heat - left).abs() < 1e-3, "{celsius} C leaves {heat}");
    }
}

fn drive(limits: &Limits, state: &mut LimitState, input: LimitInput, duty: f32) -> f32 {
    let factors = limits.factors(state, input);
    let duty = Duty::new(duty).unwrap();
    limits.apply(state, factors, Command::Drive { duty }).duty().to_f32()
}

#[test]
fn the_current_settles_at_its_limit() {
    let limits = limits(LimitSettings { drive_a: Some(20.0), ..LimitSettings::default() });
    let mut state = LimitState::default();
    // A stalled motor of 0.1 ohm at 12 V: 120 A per duty, so the cap must settle at 1/6.
    let (mut duty, mut worst_late) = (0.5_f32, 0.0_f32);
    for tick in 0..2_000 {
        let current = Amp::new(duty * 120.0);
        duty = drive(&limits, &mut state, LimitInput { current, ..LimitInput::default() }, 0.5);
        if tick > 1_000 {
            worst_late = worst_late.max((duty * 120.0 - 20.0).abs());
        }
    }
    assert!(worst_late < 0.1, "{worst_late}");
}

#[test]
fn a_braking_current_takes_from_the_brake_and_not_from_the_drive() {
    let settings =
        LimitSettings { brake_a: Some(20.0), drive_a: Some(20.0), ..LimitSettings::default() };
    let limits = limits(settings);
    let mut state = LimitState::default();
    let input = LimitInput { current: Amp::new(-80.0), ..LimitInput::default() };
    let full = Command::Brake { strength: Strength::FULL };
    let mut left = Strength::FULL;
    for _ in 0..20 {
        let factors = limits.factors(&mut state, input);
        left = limits.apply(&mut state, factors, full).braking();
    }
    assert!(left < Strength::new(0.5).unwrap(), "{left:?}");
    // Driving begins with the cap that braking left, not at nothing.
    assert!(limits.factors(&mut state, input).drive_cap > Strength::from_bits(10_000));
}

#[test]
fn backward_is_capped_and_forward_is_not() {
    let limits = limits(LimitSettings::default());
    let none = LimitInput::default();
    assert_eq!(drive(&limits, &mut LimitState::default(), none, -1.0), -0.5);
    assert_eq!(drive(&limits, &mut LimitState::default(), none, 1.0), 1.0);
}

#[test]
fn an_empty_pack_waits_for_neutral_unless_told_otherwise() {
    for (pack_recovery, again) in
        [(PackRecovery::AfterNeutral, 0.0), (PackRecovery::ByVoltage, 0.5)]
    {
        let limits = limits(LimitSettings { pack_recovery, ..LimitSettings::default() });
        let mut state = LimitState::default();
        let at = |volt, demand| LimitInput {
            voltage: Volt::new(volt),
            let_go: demand == 0.0,
            ..LimitInput::default()
        };
        assert_eq!(drive(&limits, &mut state, at(12.0, 0.5), 0.5), 0.5);
        for _ in 0..99 {
            assert_eq!(drive(&limits, &mut state, at(8.9, 0.5), 0.5), 0.0);
        }
        assert_eq!(drive(&limits, &mut state, at(12.0, 0.5), 0.5), 0.5, "too short to count");
        for _ in 0..100 {
            assert_eq!(drive(&limits, &mut state, at(8.9, 0.5), 0.5), 0.0);
        }
        assert_eq!(drive(&limits, &mut state, at(12.0, 0.5), 0.5), again);
        drive(&limits, &mut state, at(12.0, 0.0), 0.0);
        assert_eq!(drive(&limits, &mut state, at(12.0, 0.5), 0.5), 0.5);
    }
}

#[test]
fn what_a_limit_gives_back_comes_back_no_faster_than_the_demand_may_rise() {
    let mut check = Check::new();
    let settings =
        LimitSettings { pack_recovery: PackRecovery::ByVoltage, ..LimitSettings::default() };
    let limits = prepared_with(settings, 4.0, &mut check);
    let (mut state, mut before) = (LimitState::default(), 0.0);
    for tick in 0..2_000_u32 {
        let volt = if (500..600).contains(&tick) { 8.0 } else { 12.0 };
        let input = LimitInput { voltage: Volt::new(volt), ..LimitInput::default() };
        let duty = drive(&limits, &mut state, input, 0.8);
        assert!(duty - before <= 0.004 + 2.0 / 65_536.0, "tick {tick}");
        before = duty;
    }
    assert_eq!(before, Duty::new(0.8).unwrap().to_f32());
}
