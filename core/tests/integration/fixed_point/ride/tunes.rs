//! Three tunes that between them choose everything.

use easeoff_core::{
    CurveSettings, DragLaw, GiveWaySettings, HoldSettings, Knots, PackRecovery, RestSettings,
    ReversePolicy, SafeState, Settings, Shape, StallSettings,
};

/// Everything that can be switched on is.
pub(crate) fn all_on() -> Settings {
    let mut tune = Settings {
        curve: CurveSettings::Cubic { blend: 0.4 },
        rest: Some(RestSettings::default()),
        hold: Some(HoldSettings {
            full_speed_rad_s: 60.0,
            droop: 0.1,
            authority: 0.4,
            give_way: Some(GiveWaySettings { share: 0.15, ..GiveWaySettings::default() }),
            ..HoldSettings::default()
        }),
        ..Settings::default()
    };
    // No whole multiples of each other: a demand that eases to exactly zero does so at the same tick.
    (tune.slew.rise_per_s, tune.slew.ease_per_s) = (3.7, 19.0);
    tune.drag.delay_ms = 60.0;
    tune.drag.release_ms = 37.0;
    (tune.drag.follow, tune.drag.soft_below_rad_s) = (0.5, 25.0);
    tune.drag.shape = Shape::FirstOrder;
    tune.drag.law = DragLaw::Current { full_a: 10.0 };
    tune.limits.drive_a = Some(25.0);
    tune.limits.brake_a = Some(8.0);
    tune.limits.stall = Some(StallSettings::default());
    tune.motor.estimate_from_a = Some(1.0);
    tune
}

/// The other choice wherever there is one.
pub(crate) fn other_choices() -> Settings {
    let mut tune = Settings {
        curve: CurveSettings::Knots(Knots::new(&[[0.3, 0.1], [0.6, 0.35], [0.9, 0.8]]).unwrap()),
        safe_state: SafeState::Coast,
        hold: Some(HoldSettings {
            full_speed_rad_s: 70.0,
            feed_forward: 0.6,
            ..HoldSettings::default()
        }),
        ..Settings::default()
    };
    tune.calibration.reversed = true;
    (tune.slew.rise_per_s, tune.slew.ease_per_s) = (3.1, 13.0);
    tune.mode.reverse = ReversePolicy::Direct;
    (tune.drag.strength, tune.drag.shape, tune.drag.release_ms) = (0.07, Shape::Smooth, 150.0);
    tune.drag.soft_below_rad_s = 12.0;
    tune.limits.pack_recovery = PackRecovery::ByVoltage;
    (tune.limits.drive_a, tune.limits.brake_a) = (Some(12.0), Some(6.0));
    (tune.limits.recover_v, tune.limits.cool_by_c) = (0.2, 12.0);
    tune
}

/// As little as there can be.
pub(crate) fn open_loop() -> Settings {
    let mut tune = Settings::default();
    (tune.slew.rise_per_s, tune.slew.ease_per_s) = (3.1, 13.0);
    tune.mode.reverse = ReversePolicy::Never;
    (tune.drag.law, tune.drag.strength) = (DragLaw::Current { full_a: 6.0 }, 0.7);
    tune
}
