//! Every setting out of its range is refused by its name, with value and range.

use easeoff_core::{
    CurveSettings, HoldSettings, Kind, Knots, RestSettings, ReversePolicy, SETTINGS, Setting,
    Settings, SettingsErrorKind, TickRate,
};

type Set = fn(&mut Settings, f32);

fn hold(tune: &mut Settings) -> &mut HoldSettings {
    tune.hold.get_or_insert(HoldSettings::new(30.0))
}

fn rest(tune: &mut Settings) -> &mut RestSettings {
    tune.rest.get_or_insert_default()
}

/// The same settings with one number changed, in parts that are switched on.
fn with(setting: &Setting, number: f32) -> Settings {
    let mut tune = Settings::in_full();
    if setting.path.starts_with("curve.") {
        tune.curve = CurveSettings::default();
    }
    setting.set_number(&mut tune, number);
    tune
}

/// Whether the setting is told to be out of this range, with this value.
fn reported(tune: &Settings, setting: &Setting, number: f32) -> bool {
    let errors = tune.prepare(TickRate::new(1_000).unwrap()).err();
    errors.iter().flat_map(|errors| errors.iter()).any(|error| {
        let range = matches!(error.kind, SettingsErrorKind::OutOfRange { value, min, max }
            if value.to_bits() == number.to_bits() && Some([min, max]) == setting.range());
        error.parameter == setting.path && range && error.to_string().contains(setting.path)
    })
}

#[test]
fn a_number_out_of_its_range_is_refused_by_name_and_both_ends_are_not() {
    let mut numbers = 0;
    for setting in SETTINGS {
        let Some([low, high]) = setting.range() else { continue };
        numbers += 1;
        for value in [low, high] {
            let tune = with(setting, value);
            assert_eq!(setting.number(&tune), Some(value), "{}", setting.path);
            assert!(!reported(&tune, setting, value), "{} = {value}", setting.path);
        }
        let beyond = |edge: f32, by: f32| edge + by + edge * by * 0.01;
        let mut outside = vec![beyond(high, 0.1), 1.0e6, f32::INFINITY];
        outside.extend([beyond(low, -0.1), -1.0e6, f32::NAN]);
        if let Kind::Whole { .. } = setting.kind {
            // A whole number is 0 to 255, and none is NaN.
            outside = (0..=255_u8).map(f32::from).filter(|n| *n < low || *n > high).collect();
        }
        for value in outside {
            assert!(reported(&with(setting, value), setting, value), "{} = {value}", setting.path);
        }
    }
    assert!(numbers > 50, "{numbers}");
}

#[test]
fn all_mistakes_are_told_at_once() {
    let mut tune = Settings::in_full();
    let numbers =
        || SETTINGS.iter().filter(|s| s.range().is_some() && !matches!(s.kind, Kind::Whole { .. }));
    for setting in numbers() {
        setting.set_number(&mut tune, f32::NAN);
    }
    let errors = tune.prepare(TickRate::new(1_000).unwrap()).unwrap_err();
    for setting in numbers() {
        let reported = errors.iter().any(|error| error.parameter == setting.path);
        assert!(reported, "{} is not told", setting.path);
    }
}

/// Settings that are each in range but not together.
#[test]
fn contradictions_are_refused_by_name() {
    type Contradiction = (&'static str, fn(&mut Settings));
    let contradictions: [Contradiction; 12] = [
        ("calibration.low_us", |t| t.calibration.low_us = 1_600.0),
        ("calibration.high_us", |t| t.calibration.high_us = 1_400.0),
        ("calibration.high_us", |t| t.calibration.high_us = 2_300.0),
        ("mode.arm_ms", |t| (t.mode.arm_ms, t.pulse.loss_after_ms) = (300.0, 151.0)),
        ("rest.authority", |t| (rest(t).authority, t.limits.reverse) = (0.2, 0.19)),
        ("rest.authority", |t| {
            (rest(t).authority, t.mode.reverse) = (0.01, ReversePolicy::Never);
        }),
        ("hold.authority", |t| (hold(t).authority, hold(t).droop) = (0.0, 0.0)),
        ("hold.gain_per_s", |t| (hold(t).gain, hold(t).gain_per_s) = (0.0, 0.0)),
        ("limits.derate_from_v", |t| (t.limits.full_v, t.limits.derate_from_v) = (3.6, 4.0)),
        ("limits.derate_to_v", |t| t.limits.derate_to_v = 3.4),
        ("limits.derate_to_c", |t| t.limits.derate_to_c = 105.0),
        ("curve.knots.demand", |t| {
            t.curve = CurveSettings::Knots(Knots::new(&[[0.3, 0.5], [0.5, 0.4]]).unwrap());
        }),
    ];
    for (name, set) in contradictions {
        let mut tune = Settings::default();
        set(&mut tune);
        let errors = tune.prepare(TickRate::new(1_000).unwrap()).unwrap_err();
        let reported: Vec<_> = errors.iter().map(|error| (error.parameter, error.kind)).collect();
        assert!(
            matches!(reported[..], [(reported, SettingsErrorKind::Contradicts { .. })] if reported == name),
            "{name}: {reported:?}"
        );
    }
}

/// Values that are in range but not together, at the least distance that is stated and just below.
#[test]
fn settings_too_near_to_each_other_are_refused_by_name() {
    let cases: [(&str, Set, f32, f32); 5] = [
        ("limits.derate_from_v", |t, v| t.limits.derate_from_v = v, 4.1, 4.12),
        ("limits.derate_to_v", |t, v| t.limits.derate_to_v = v, 3.25, 3.26),
        ("limits.derate_to_c", |t, v| t.limits.derate_to_c = v, 115.0, 114.9),
        // Neutral is 1500 us, the dead band 20 us.
        ("calibration.high_us", |t, v| t.calibration.high_us = v, 1_570.0, 1_569.9),
        ("calibration.low_us", |t, v| t.calibration.low_us = v, 1_430.0, 1_430.1),
    ];
    let rate = TickRate::new(1_000).unwrap();
    for (name, set, near, nearer) in cases {
        let refused = |value| {
            let mut tune = Settings::default();
            set(&mut tune, value);
            tune.prepare(rate).err()
        };
        assert_eq!(refused(near), None, "{name} = {near}");
        let errors = refused(nearer).unwrap();
        assert_eq!((errors.len(), errors[0].parameter), (1, name));
        assert!(
            matches!(errors[0].kind, SettingsErrorKind::Contradicts { value, .. } if value == nearer)
        );
    }
}

/// One message per mistake: what is out of its range is not also told to contradict.
#[test]
fn a_mistake_is_told_once() {
    let mut tune = Settings::default();
    (tune.calibration.high_us, tune.drag.strength) = (f32::NAN, 2.0);
    let errors = tune.prepare(TickRate::new(1_000).unwrap()).unwrap_err();
    assert_eq!(
        errors.to_string(),
        "calibration.high_us is NaN; allowed is 500 to 2500\ndrag.strength is 2; allowed is 0 to 1"
    );
}

/// `R / (K G)` beyond 32,000 rad/s per ampere leaves the core's numbers no room.
#[test]
fn an_estimate_without_room_is_refused() {
    let mut tune = Settings::default();
    (tune.motor.kv_rpm_per_v, tune.motor.gear_ratio) = (20_000.0, 1.0);
    for (resistance_ohm, refused) in [(15.0, false), (15.5, true), (50.0, true)] {
        tune.motor.resistance_ohm = resistance_ohm;
        for estimate_from_a in [None, Some(1.0)] {
            tune.motor.estimate_from_a = estimate_from_a;
            let errors = tune.prepare(TickRate::new(1_000).unwrap()).err();
            let reported = errors.map(|errors| errors[0].parameter);
            let due = estimate_from_a.filter(|_| refused).map(|_| "motor.estimate_from_a");
            assert_eq!(reported, due, "{resistance_ohm} ohm");
        }
    }
}
