//! What the example of each version of the blob was written from. `cargo xtask settings` writes the latest.

use easeoff_core::{
    CurveSettings, DragLaw, GiveWaySettings, HoldSettings, Knots, PackRecovery, RestSettings,
    ReversePolicy, SafeState, Settings, Shape, StallSettings,
};

/// Version 1. Fields that came later are at their defaults.
pub(crate) fn v1_tune() -> Settings {
    let mut tune = Settings::default();
    let p = &mut tune.pulse;
    (p.plausible_low_us, p.plausible_high_us, p.loss_after_ms) = (811.0, 2_203.0, 61.0);
    let c = &mut tune.calibration;
    (c.low_us, c.neutral_us, c.high_us) = (1_013.0, 1_521.0, 1_987.0);
    (c.dead_band_us, c.reversed) = (23.5, true);
    tune.curve = CurveSettings::Cubic { blend: 0.375 };
    (tune.slew.rise_per_s, tune.slew.ease_per_s) = (3.25, 17.5);
    let m = &mut tune.mode;
    (m.arm_ms, m.reverse, m.rest_rad_s, m.pause_ms) = (701.0, ReversePolicy::Never, 1.75, 433.0);
    tune.safe_state = SafeState::Coast;
    let d = &mut tune.drag;
    (d.strength, d.delay_ms, d.onset_ms, d.release_ms) = (0.8125, 41.0, 457.0, 53.0);
    (d.shape, d.law) = (Shape::FirstOrder, DragLaw::Current { full_a: 29.5 });
    let h = tune.hold.insert(HoldSettings::new(30.0));
    (h.full_speed_rad_s, h.feed_forward, h.gain, h.gain_per_s) = (47.0, 0.9375, 1.625, 6.25);
    (h.droop, h.authority, h.fade_ms) = (0.125, 0.4375, 167.0);
    let l = &mut tune.limits;
    (l.drive_a, l.brake_a, l.cells) = (Some(61.0), Some(37.0), 2);
    (l.derate_from_v, l.derate_to_v) = (3.4375, 3.125);
    (l.derate_from_c, l.derate_to_c, l.reverse) = (97.0, 119.0, 0.6875);
    let m = &mut tune.motor;
    (m.kv_rpm_per_v, m.gear_ratio, m.resistance_ohm) = (2_203.0, 42.5, 0.03125);
    tune
}

/// Version 2: everything that can be left out is there. What came later is at its default.
pub(crate) fn v2_tune() -> Settings {
    let mut tune = v1_tune();
    (tune.pulse.jump_us, tune.pulse.tolerate) = (273.0, 7);
    tune.curve =
        CurveSettings::Knots(Knots::new(&[[0.25, 0.125], [0.75, 0.5]]).unwrap_or_default());
    tune.drag.follow = 0.625;
    tune.rest = Some(RestSettings {
        gain_per_rad: 3.5,
        damping_s_per_rad: 0.0625,
        authority: 0.1875,
        below_rad_s: 0.75,
    });
    tune.hold.get_or_insert(HoldSettings::new(30.0)).give_way =
        Some(GiveWaySettings { share: 0.375, after_ms: 811.0, release_ms: 307.0 });
    let l = &mut tune.limits;
    (l.full_v, l.recover_v, l.cool_by_c) = (4.25, 0.15625, 7.5);
    l.pack_recovery = PackRecovery::ByVoltage;
    l.stall = Some(StallSettings { below_rad_s: 0.375, duty: 0.0625, after_ms: 1_201.0 });
    tune.motor.estimate_from_a = Some(2.5);
    tune
}

/// The latest version.
pub(crate) fn latest_tune() -> Settings {
    let mut tune = v2_tune();
    tune.drag.soft_below_rad_s = 27.5;
    tune
}
