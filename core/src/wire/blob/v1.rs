//! Version 1 of the tune's body: the layout as it was, field by field in its order. It never
//! changes; only the way from it to today's [`Settings`] does.

use serde::Deserialize;

use crate::limits::LimitSettings;
use crate::settings::Settings;
use crate::shared::motor::MotorSettings;
use crate::stages::curve::CurveSettings;
use crate::stages::demand::Calibration;
use crate::stages::drag::{DragLaw, DragSettings};
use crate::stages::hold::HoldSettings;
use crate::stages::mode::{ModeSettings, ReversePolicy};
use crate::stages::pulse::PulseSettings;
use crate::stages::safe_state::SafeState;
use crate::stages::shape::Shape;
use crate::stages::slew::SlewSettings;

/// A struct as it was, and its values put over the defaults of what it is now.
macro_rules! was {
    (struct $old:ident now $new:ident { $($field:ident: $kind:ty),* $(,)? }) => {
        #[derive(Deserialize)]
        struct $old {
            $($field: $kind,)*
        }

        impl From<$old> for $new {
            fn from(old: $old) -> Self {
                let mut new = Self::default();
                $(new.$field = old.$field.into();)*
                new
            }
        }
    };
    (enum $old:ident now $new:ident { $($variant:ident),* $(,)? }) => {
        #[derive(Deserialize)]
        enum $old {
            $($variant,)*
        }

        impl From<$old> for $new {
            fn from(old: $old) -> Self {
                match old {
                    $($old::$variant => Self::$variant,)*
                }
            }
        }
    };
}

was!(struct PulseV1 now PulseSettings {
    plausible_low_us: f32,
    plausible_high_us: f32,
    loss_after_ms: f32,
});
was!(struct CalibrationV1 now Calibration {
    low_us: f32,
    neutral_us: f32,
    high_us: f32,
    dead_band_us: f32,
    reversed: bool,
});

#[derive(Deserialize)]
struct CurveV1 {
    blend: f32,
}

impl From<CurveV1> for CurveSettings {
    fn from(CurveV1 { blend }: CurveV1) -> Self {
        Self::Cubic { blend }
    }
}

was!(struct SlewV1 now SlewSettings { rise_per_s: f32, ease_per_s: f32 });
was!(enum ReversePolicyV1 now ReversePolicy { Direct, AfterStop, Never });
was!(struct ModeV1 now ModeSettings {
    arm_ms: f32,
    reverse: ReversePolicyV1,
    rest_rad_s: f32,
    pause_ms: f32,
});
was!(enum SafeStateV1 now SafeState { Drag, Coast });
was!(enum ShapeV1 now Shape { Linear, Smooth, FirstOrder });

#[derive(Deserialize)]
enum DragLawV1 {
    Duty,
    Current { full_a: f32 },
}

impl From<DragLawV1> for DragLaw {
    fn from(old: DragLawV1) -> Self {
        match old {
            DragLawV1::Duty => Self::Duty,
            DragLawV1::Current { full_a } => Self::Current { full_a },
        }
    }
}

was!(struct DragV1 now DragSettings {
    strength: f32,
    delay_ms: f32,
    onset_ms: f32,
    shape: ShapeV1,
    release_ms: f32,
    law: DragLawV1,
});
was!(struct HoldV1 now HoldSettings {
    full_speed_rad_s: f32,
    feed_forward: f32,
    gain: f32,
    gain_per_s: f32,
    droop: f32,
    authority: f32,
    fade_ms: f32,
});
was!(struct LimitsV1 now LimitSettings {
    drive_a: Option<f32>,
    brake_a: Option<f32>,
    cells: u8,
    derate_from_v: f32,
    derate_to_v: f32,
    derate_from_c: f32,
    derate_to_c: f32,
    reverse: f32,
});
was!(struct MotorV1 now MotorSettings {
    kv_rpm_per_v: f32,
    gear_ratio: f32,
    resistance_ohm: f32,
});

#[derive(Deserialize)]
pub(super) struct SettingsV1 {
    pulse: PulseV1,
    calibration: CalibrationV1,
    curve: CurveV1,
    slew: SlewV1,
    mode: ModeV1,
    safe_state: SafeStateV1,
    drag: DragV1,
    hold: Option<HoldV1>,
    limits: LimitsV1,
    motor: MotorV1,
}

impl From<SettingsV1> for Settings {
    fn from(old: SettingsV1) -> Self {
        // Destructured whole, so that no field of the old layout is forgotten.
        let SettingsV1 {
            pulse,
            calibration,
            curve,
            slew,
            mode,
            safe_state,
            drag,
            hold,
            limits,
            motor,
        } = old;
        let mut new = Self::default();
        (new.pulse, new.calibration) = (pulse.into(), calibration.into());
        (new.curve, new.slew) = (curve.into(), slew.into());
        (new.mode, new.safe_state) = (mode.into(), safe_state.into());
        (new.drag, new.hold) = (drag.into(), hold.map(HoldSettings::from));
        (new.limits, new.motor) = (limits.into(), motor.into());
        new
    }
}
