//! The speed hold by itself.

use super::*;
use crate::shared::error::SettingsErrorKind;
use crate::stages::slew::SlewSettings;

fn hold(settings: HoldSettings) -> Hold {
    let mut check = Check::new();
    let rate = TickRate::new(1_000).unwrap();
    let slew = SlewSettings { rise_per_s: 1_000.0, ease_per_s: 1_000.0 };
    let slew = slew.prepare(rate, &mut check);
    let hold = settings.prepare(rate, slew, &mut check);
    check.finish(hold).unwrap()
}

fn settle(hold: &Hold, demand: f32, relative_speed: f32, ticks: u32) -> HoldOutput {
    let mut state = HoldState::default();
    let speed = Speed::new(relative_speed * 30.0);
    let demand = Demand::new(demand).unwrap();
    let mut output = open_loop(Demand::ZERO);
    for _ in 0..ticks {
        output = hold.step(&mut state, demand, speed, true);
    }
    output
}

/// Two worked examples of governor droop (https://dkr.kr/Brain/droop.html, 1 and 2): a generator of
/// 180 MW with 6 % droop at 60 Hz falls to 165 MW at 60.3 Hz; one of 240 MW set to 180 MW
/// falls to 160 MW. Relative speed is the frequency, relative power the duty. With pure
/// integral action the loop settles where error = droop * added.
#[test]
fn droop_is_the_governors_droop() {
    let settings = HoldSettings {
        gain: 0.0,
        gain_per_s: 20.0,
        droop: 0.06,
        fade_ms: 0.0,
        ..HoldSettings::new(30.0)
    };
    let hold = hold(settings);
    // One unit of the error's 16 fraction bits is 1.5e-5 / 0.06 of rated power here; two of
    // them may be lost in rounding.
    let tolerance = 2.0 / 65_536.0 / 0.06;
    let first = settle(&hold, 1.0, 60.3 / 60.0, 30_000);
    assert!(
        (first.duty.to_f32() * 180.0 - 165.0).abs() < 180.0 * tolerance,
        "{}",
        first.duty.to_f32()
    );
    let second = settle(&hold, 1.0, 60.3 / 60.0, 30_000).added.to_f32();
    assert!((180.0 + second * 240.0 - 160.0).abs() < 240.0 * tolerance, "{second}");
}

#[test]
fn never_beyond_authority_and_never_against_the_demand() {
    let settings = HoldSettings { authority: 0.2, fade_ms: 0.0, ..HoldSettings::new(30.0) };
    let hold = hold(settings);
    let bogged = settle(&hold, 0.3, 0.0, 5_000);
    assert!((bogged.duty.to_f32() - 0.5).abs() < 1e-4);
    assert!(bogged.at_authority);
    let overrun = settle(&hold, 0.1, 1.0, 5_000);
    assert_eq!(overrun.duty, Duty::ZERO);
    let backward = settle(&hold, -0.3, 0.0, 5_000);
    assert!((backward.duty.to_f32() + 0.5).abs() < 1e-4);
}

#[test]
fn fades_in_from_nothing_and_out_without_a_jump() {
    let hold = hold(HoldSettings { fade_ms: 100.0, ..HoldSettings::new(30.0) });
    let mut state = HoldState::default();
    let demand = Demand::new(0.3).unwrap();
    let mut before = demand.to_f32();
    for tick in 0..400 {
        let speed = if tick < 200 { Speed::new(3.0) } else { None };
        let duty = hold.step(&mut state, demand, speed, true).duty.to_f32();
        assert!((duty - before).abs() <= 0.0101, "tick {tick}: {before} to {duty}");
        before = duty;
    }
    assert!((before - 0.3).abs() < 1e-4, "open loop in the end");
}

#[test]
fn a_loop_that_can_do_nothing_is_refused() {
    let refused = |gain, gain_per_s, droop, authority| {
        let settings =
            HoldSettings { gain, gain_per_s, droop, authority, ..HoldSettings::new(30.0) };
        let (mut check, rate) = (Check::new(), TickRate::new(1_000).unwrap());
        let slew = SlewSettings::default().prepare(rate, &mut check);
        let hold = settings.prepare(rate, slew, &mut check);
        check.finish(hold).err().map(|errors| errors[0].parameter)
    };
    assert_eq!(refused(0.0, 0.0, 0.1, 1.0), Some("hold.gain_per_s"));
    assert_eq!(refused(1.0, 1.0, 0.0, 0.0), Some("hold.authority"));
    for (gain, gain_per_s, droop, authority) in
        [(1.0, 0.0, 0.1, 1.0), (0.0, 1.0, 0.1, 1.0), (1.0, 1.0, 0.0, 1.0), (1.0, 1.0, 0.1, 0.0)]
    {
        assert_eq!(refused(gain, gain_per_s, droop, authority), None);
    }
}

/// A loop for 30 rad/s on a drive that reaches 60 halves its speed; on one that reaches 15 it adds all it may. So
/// no number is put in for one that was forgotten.
#[test]
fn a_full_speed_that_was_not_set_is_refused_with_what_to_do() {
    let prepared = |settings: HoldSettings| {
        let (mut check, rate) = (Check::new(), TickRate::new(1_000).unwrap());
        let slew = SlewSettings::default().prepare(rate, &mut check);
        let hold = settings.prepare(rate, slew, &mut check);
        check.finish(hold).err()
    };
    for value in [0.0, -0.0] {
        let errors = prepared(HoldSettings::new(value)).unwrap();
        assert_eq!((errors.len(), errors[0].parameter), (1, "hold.full_speed_rad_s"));
        assert!(matches!(errors[0].kind, SettingsErrorKind::Contradicts { rule, .. }
            if rule.starts_with("that is not set: give the wheel speed")));
    }
    assert_eq!(HoldSettings::default(), HoldSettings::new(0.0));
    assert_eq!(prepared(HoldSettings::new(1.0)), None);
}

#[test]
fn twice_the_full_speed_is_believed_and_more_is_not() {
    let hold = hold(HoldSettings::new(30.0));
    for (relative, without) in [(1.1, false), (2.0, false), (-2.0, false), (2.001, true)] {
        assert_eq!(settle(&hold, 0.5, relative, 1).without_speed, without, "{relative}");
    }
}

/// The loop may help again at the very speed asked for, and only then says that it is not at
/// its authority; before it is faded in it never says so.
#[test]
fn the_speed_asked_for_is_no_fight() {
    let hold = hold(HoldSettings {
        authority: 0.2,
        give_way: Some(GiveWaySettings::default()),
        ..HoldSettings::new(30.0)
    });
    let (mut state, demand) = (HoldState::default(), Demand::new(0.5).unwrap());
    let mut step = |speed, ticks: u32| {
        let speed = Speed::new(speed);
        (0..ticks).map(|_| hold.step(&mut state, demand, speed, true)).last().unwrap()
    };
    assert!(!step(0.0, 190).at_authority, "still fading in");
    assert!(step(0.0, 20).at_authority);
    assert!(step(0.0, 1_000).bogged);
    assert!(!step(15.0, 1).bogged);
    // The integral alone may stay at the bound when the error has gone: here it grows by 1/128
    // per tick and meets the bound exactly.
    let hold = self::hold(HoldSettings {
        gain: 0.0,
        gain_per_s: 1_000.0 / 64.0,
        authority: 0.25,
        fade_ms: 0.0,
        ..HoldSettings::new(30.0)
    });
    assert!(settle(&hold, 0.5, 0.0, 500).at_authority);
    let mut state = HoldState::default();
    for _ in 0..500 {
        hold.step(&mut state, demand, Some(Speed::ZERO), true);
    }
    let reached = hold.step(&mut state, demand, Speed::new(15.0), true);
    assert_eq!(reached.added.to_f32(), 0.25);
    assert!(!reached.at_authority);
}
