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
use crate::wire::blob::was::{Was, was};

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

impl Was<CurveSettings> for CurveV1 {
    fn now(self) -> CurveSettings {
        CurveSettings::Cubic { blend: self.blend }
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
pub(super) enum DragLawV1 {
    Duty,
    Current { full_a: f32 },
}

impl Was<DragLaw> for DragLawV1 {
    fn now(self) -> DragLaw {
        match self {
            DragLawV1::Duty => DragLaw::Duty,
            DragLawV1::Current { full_a } => DragLaw::Current { full_a },
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

was!(struct SettingsV1 now Settings {
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
});
