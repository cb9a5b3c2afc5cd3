//! Every setting out of its range is refused by its name, with value and range.

use easeoff_core::{
    CurveSettings, DragLaw, GiveWaySettings, HoldSettings, Knots, RestSettings, ReversePolicy,
    Settings, SettingsErrorKind, StallSettings, TickRate,
};

type Set = fn(&mut Settings, f32);

/// Every setting that is a number, with its range as documented.
const RANGES: [(&str, f32, f32, Set); 51] = [
    ("pulse.plausible_low_us", 500.0, 1_400.0, |t, v| t.pulse.plausible_low_us = v),
    ("pulse.plausible_high_us", 1_600.0, 2_500.0, |t, v| t.pulse.plausible_high_us = v),
    ("pulse.jump_us", 20.0, 2_000.0, |t, v| t.pulse.jump_us = v),
    ("pulse.loss_after_ms", 20.0, 500.0, |t, v| t.pulse.loss_after_ms = v),
    ("calibration.low_us", 500.0, 2_500.0, |t, v| t.calibration.low_us = v),
    ("calibration.neutral_us", 500.0, 2_500.0, |t, v| t.calibration.neutral_us = v),
    ("calibration.high_us", 500.0, 2_500.0, |t, v| t.calibration.high_us = v),
    ("calibration.dead_band_us", 2.0, 200.0, |t, v| t.calibration.dead_band_us = v),
    ("curve.blend", 0.0, 1.0, |t, v| t.curve = CurveSettings::Cubic { blend: v }),
    ("slew.rise_per_s", 0.1, 1_000.0, |t, v| t.slew.rise_per_s = v),
    ("slew.ease_per_s", 0.1, 1_000.0, |t, v| t.slew.ease_per_s = v),
    ("mode.arm_ms", 100.0, 5_000.0, |t, v| t.mode.arm_ms = v),
    ("mode.rest_rad_s", 0.1, 20.0, |t, v| t.mode.rest_rad_s = v),
    ("mode.pause_ms", 0.0, 5_000.0, |t, v| t.mode.pause_ms = v),
    ("drag.strength", 0.0, 1.0, |t, v| t.drag.strength = v),
    ("drag.delay_ms", 0.0, 5_000.0, |t, v| t.drag.delay_ms = v),
    ("drag.onset_ms", 0.0, 10_000.0, |t, v| t.drag.onset_ms = v),
    ("drag.follow", 0.0, 1.0, |t, v| t.drag.follow = v),
    ("drag.release_ms", 0.0, 2_000.0, |t, v| t.drag.release_ms = v),
    ("drag.full_a", 0.5, 500.0, |t, v| t.drag.law = DragLaw::Current { full_a: v }),
    ("rest.gain_per_rad", 0.01, 20.0, |t, v| rest(t).gain_per_rad = v),
    ("rest.damping_s_per_rad", 0.0, 1.0, |t, v| rest(t).damping_s_per_rad = v),
    ("rest.authority", 0.01, 0.5, |t, v| rest(t).authority = v),
    ("rest.below_rad_s", 0.05, 5.0, |t, v| rest(t).below_rad_s = v),
    ("hold.full_speed_rad_s", 1.0, 2_000.0, |t, v| hold(t).full_speed_rad_s = v),
    ("hold.feed_forward", 0.0, 1.0, |t, v| hold(t).feed_forward = v),
    ("hold.gain", 0.0, 20.0, |t, v| hold(t).gain = v),
    ("hold.gain_per_s", 0.0, 100.0, |t, v| hold(t).gain_per_s = v),
    ("hold.droop", 0.0, 2.0, |t, v| hold(t).droop = v),
    ("hold.authority", 0.0, 1.0, |t, v| hold(t).authority = v),
    ("hold.fade_ms", 0.0, 2_000.0, |t, v| hold(t).fade_ms = v),
    ("hold.give_way.share", 0.05, 1.0, |t, v| give_way(t).share = v),
    ("hold.give_way.after_ms", 50.0, 20_000.0, |t, v| give_way(t).after_ms = v),
    ("hold.give_way.release_ms", 0.0, 5_000.0, |t, v| give_way(t).release_ms = v),
    ("limits.drive_a", 1.0, 500.0, |t, v| t.limits.drive_a = Some(v)),
    ("limits.brake_a", 1.0, 500.0, |t, v| t.limits.brake_a = Some(v)),
    ("limits.full_v", 3.4, 4.4, |t, v| t.limits.full_v = v),
    ("limits.recover_v", 0.0, 0.5, |t, v| t.limits.recover_v = v),
    ("limits.cool_by_c", 0.0, 40.0, |t, v| t.limits.cool_by_c = v),
    ("limits.stall.below_rad_s", 0.05, 20.0, |t, v| stall(t).below_rad_s = v),
    ("limits.stall.duty", 0.0, 1.0, |t, v| stall(t).duty = v),
    ("limits.stall.after_ms", 100.0, 20_000.0, |t, v| stall(t).after_ms = v),
    ("limits.fade_from_v", 2.5, 4.2, |t, v| t.limits.fade_from_v = v),
    ("limits.fade_to_v", 2.0, 4.1, |t, v| t.limits.fade_to_v = v),
    ("limits.hot_from_c", 40.0, 200.0, |t, v| t.limits.hot_from_c = v),
    ("limits.hot_to_c", 45.0, 220.0, |t, v| t.limits.hot_to_c = v),
    ("limits.reverse", 0.0, 1.0, |t, v| t.limits.reverse = v),
    ("motor.kv_rpm_per_v", 10.0, 20_000.0, |t, v| t.motor.kv_rpm_per_v = v),
    ("motor.gear_ratio", 1.0, 500.0, |t, v| t.motor.gear_ratio = v),
    ("motor.resistance_ohm", 0.001, 50.0, |t, v| t.motor.resistance_ohm = v),
    ("motor.estimate_from_a", 0.1, 100.0, |t, v| t.motor.estimate_from_a = Some(v)),
];

fn hold(tune: &mut Settings) -> &mut HoldSettings {
    tune.hold.get_or_insert_default()
}

fn rest(tune: &mut Settings) -> &mut RestSettings {
    tune.rest.get_or_insert_default()
}

fn give_way(tune: &mut Settings) -> &mut GiveWaySettings {
    hold(tune).give_way.get_or_insert_default()
}

fn stall(tune: &mut Settings) -> &mut StallSettings {
    tune.limits.stall.get_or_insert_default()
}

#[test]
fn a_setting_out_of_range_is_refused_by_name() {
    let rate = TickRate::new(1_000).unwrap();
    for (name, low, high, set) in RANGES {
        let beyond = |edge: f32, by: f32| edge + by + edge * by * 0.01;
        for value in [beyond(low, -0.1), beyond(high, 0.1), -1.0e6, 1.0e6, f32::NAN, f32::INFINITY]
        {
            let mut tune = Settings { hold: Some(HoldSettings::default()), ..Settings::default() };
            assert!(tune.prepare(rate).is_ok());
            set(&mut tune, value);
            let errors = tune.prepare(rate).unwrap_err();
            let told = errors.iter().any(|error| {
                let range = matches!(error.kind, SettingsErrorKind::OutOfRange { value: told, min, max }
                    if told.to_bits() == value.to_bits() && min == low && max == high);
                error.parameter == name && range && error.to_string().contains(name)
            });
            assert!(told, "{name} = {value}: {errors:?}");
        }
    }
}

/// Whole numbers cannot be NaN; their range is small enough to try.
#[test]
fn a_count_of_cells_out_of_range_is_refused_by_name() {
    let rate = TickRate::new(1_000).unwrap();
    for cells in [0_u8, 1, 14, 15, 255] {
        let mut tune = Settings::default();
        tune.limits.cells = cells;
        let refused = tune.prepare(rate).err().map(|errors| errors[0].parameter);
        let expected = (!(1..=14).contains(&cells)).then_some("limits.cells");
        assert_eq!(refused, expected, "{cells} cells");
    }
}

#[test]
fn all_mistakes_are_told_at_once() {
    let mut tune = Settings::default();
    for (_, _, _, set) in RANGES {
        set(&mut tune, f32::NAN);
    }
    let errors = tune.prepare(TickRate::new(1_000).unwrap()).unwrap_err();
    for (name, ..) in RANGES {
        assert!(errors.iter().any(|error| error.parameter == name), "{name} is not told");
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
        ("limits.fade_from_v", |t| (t.limits.full_v, t.limits.fade_from_v) = (3.6, 4.0)),
        ("limits.fade_to_v", |t| t.limits.fade_to_v = 3.4),
        ("limits.hot_to_c", |t| t.limits.hot_to_c = 105.0),
        ("curve.knots.demand", |t| {
            t.curve = CurveSettings::Knots(Knots::new(&[[0.3, 0.5], [0.5, 0.4]]).unwrap());
        }),
    ];
    for (name, set) in contradictions {
        let mut tune = Settings::default();
        set(&mut tune);
        let errors = tune.prepare(TickRate::new(1_000).unwrap()).unwrap_err();
        let told: Vec<_> = errors.iter().map(|error| (error.parameter, error.kind)).collect();
        assert!(
            matches!(told[..], [(told, SettingsErrorKind::Contradicts { .. })] if told == name),
            "{name}: {told:?}"
        );
    }
}

/// Values that are in range but not together, at the least distance that is stated and just below.
#[test]
fn settings_too_near_to_each_other_are_refused_by_name() {
    let cases: [(&str, Set, f32, f32); 5] = [
        ("limits.fade_from_v", |t, v| t.limits.fade_from_v = v, 4.1, 4.12),
        ("limits.fade_to_v", |t, v| t.limits.fade_to_v = v, 3.25, 3.26),
        ("limits.hot_to_c", |t, v| t.limits.hot_to_c = v, 115.0, 114.9),
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
            let told = errors.map(|errors| errors[0].parameter);
            let due = estimate_from_a.filter(|_| refused).map(|_| "motor.estimate_from_a");
            assert_eq!(told, due, "{resistance_ohm} ohm");
        }
    }
}
