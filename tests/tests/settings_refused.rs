//! Every setting out of its range is refused by its name, with value and range.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::float_arithmetic,
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::float_cmp,
    clippy::unwrap_used,
    missing_docs,
    reason = "tests compute and panic"
)]

use easeoff_core::{DragLaw, HoldSettings, Settings, SettingsErrorKind, TickRate};

type Set = fn(&mut Settings, f32);

/// Every setting that is a number, with its range as documented.
const RANGES: [(&str, f32, f32, Set); 35] = [
    ("pulse.plausible_low_us", 500.0, 1_400.0, |t, v| t.pulse.plausible_low_us = v),
    ("pulse.plausible_high_us", 1_600.0, 2_500.0, |t, v| t.pulse.plausible_high_us = v),
    ("pulse.loss_after_ms", 20.0, 500.0, |t, v| t.pulse.loss_after_ms = v),
    ("calibration.low_us", 500.0, 2_500.0, |t, v| t.calibration.low_us = v),
    ("calibration.neutral_us", 500.0, 2_500.0, |t, v| t.calibration.neutral_us = v),
    ("calibration.high_us", 500.0, 2_500.0, |t, v| t.calibration.high_us = v),
    ("calibration.dead_band_us", 2.0, 200.0, |t, v| t.calibration.dead_band_us = v),
    ("curve.blend", 0.0, 1.0, |t, v| t.curve.blend = v),
    ("slew.rise_per_s", 0.1, 1_000.0, |t, v| t.slew.rise_per_s = v),
    ("slew.ease_per_s", 0.1, 1_000.0, |t, v| t.slew.ease_per_s = v),
    ("mode.arm_ms", 100.0, 5_000.0, |t, v| t.mode.arm_ms = v),
    ("mode.rest_rad_s", 0.1, 20.0, |t, v| t.mode.rest_rad_s = v),
    ("mode.pause_ms", 0.0, 5_000.0, |t, v| t.mode.pause_ms = v),
    ("drag.strength", 0.0, 1.0, |t, v| t.drag.strength = v),
    ("drag.delay_ms", 0.0, 5_000.0, |t, v| t.drag.delay_ms = v),
    ("drag.onset_ms", 0.0, 10_000.0, |t, v| t.drag.onset_ms = v),
    ("drag.release_ms", 0.0, 2_000.0, |t, v| t.drag.release_ms = v),
    ("drag.full_a", 0.5, 500.0, |t, v| t.drag.law = DragLaw::Current { full_a: v }),
    ("hold.full_speed_rad_s", 1.0, 2_000.0, |t, v| hold(t).full_speed_rad_s = v),
    ("hold.feed_forward", 0.0, 1.0, |t, v| hold(t).feed_forward = v),
    ("hold.gain", 0.0, 20.0, |t, v| hold(t).gain = v),
    ("hold.gain_per_s", 0.0, 100.0, |t, v| hold(t).gain_per_s = v),
    ("hold.droop", 0.0, 2.0, |t, v| hold(t).droop = v),
    ("hold.authority", 0.0, 1.0, |t, v| hold(t).authority = v),
    ("hold.fade_ms", 0.0, 2_000.0, |t, v| hold(t).fade_ms = v),
    ("limits.drive_a", 1.0, 500.0, |t, v| t.limits.drive_a = Some(v)),
    ("limits.brake_a", 1.0, 500.0, |t, v| t.limits.brake_a = Some(v)),
    ("limits.fade_from_v", 2.5, 4.2, |t, v| t.limits.fade_from_v = v),
    ("limits.fade_to_v", 2.0, 4.1, |t, v| t.limits.fade_to_v = v),
    ("limits.hot_from_c", 40.0, 200.0, |t, v| t.limits.hot_from_c = v),
    ("limits.hot_to_c", 45.0, 220.0, |t, v| t.limits.hot_to_c = v),
    ("limits.reverse", 0.0, 1.0, |t, v| t.limits.reverse = v),
    ("motor.kv_rpm_per_v", 10.0, 20_000.0, |t, v| t.motor.kv_rpm_per_v = v),
    ("motor.gear_ratio", 1.0, 500.0, |t, v| t.motor.gear_ratio = v),
    ("motor.resistance_ohm", 0.001, 50.0, |t, v| t.motor.resistance_ohm = v),
];

fn hold(tune: &mut Settings) -> &mut HoldSettings {
    tune.hold.get_or_insert_default()
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
