//! Version 2 of the tune's body: as `v1.rs` is of the first. What had not changed since then is read as there.

use serde::Deserialize;

use super::v1::{CalibrationV1, DragLawV1, ModeV1, SafeStateV1, ShapeV1, SlewV1};
use crate::limits::stall::StallSettings;
use crate::limits::{LimitSettings, PackRecovery};
use crate::settings::Settings;
use crate::shared::motor::MotorSettings;
use crate::stages::curve::{CurveSettings, Knots};
use crate::stages::drag::DragSettings;
use crate::stages::give_way::GiveWaySettings;
use crate::stages::hold::HoldSettings;
use crate::stages::pulse::PulseSettings;
use crate::stages::rest::RestSettings;
use crate::wire::blob::was::{Was, was};

was!(struct PulseV2 now PulseSettings {
    plausible_low_us: f32,
    plausible_high_us: f32,
    jump_us: f32,
    tolerate: u8,
    loss_after_ms: f32,
});

#[derive(Deserialize)]
enum CurveV2 {
    Cubic { blend: f32 },
    // Its points travel as a list of pairs, whatever holds them.
    Knots(Knots),
}

impl Was<CurveSettings> for CurveV2 {
    fn now(self) -> CurveSettings {
        match self {
            CurveV2::Cubic { blend } => CurveSettings::Cubic { blend },
            CurveV2::Knots(knots) => CurveSettings::Knots(knots),
        }
    }
}

was!(struct DragV2 now DragSettings {
    strength: f32,
    delay_ms: f32,
    onset_ms: f32,
    shape: ShapeV1,
    follow: f32,
    release_ms: f32,
    law: DragLawV1,
});
was!(struct RestV2 now RestSettings {
    gain_per_rad: f32,
    damping_s_per_rad: f32,
    authority: f32,
    below_rad_s: f32,
});
was!(struct GiveWayV2 now GiveWaySettings { share: f32, after_ms: f32, release_ms: f32 });
was!(struct HoldV2 now HoldSettings {
    full_speed_rad_s: f32,
    feed_forward: f32,
    gain: f32,
    gain_per_s: f32,
    droop: f32,
    authority: f32,
    fade_ms: f32,
    give_way: Option<GiveWayV2>,
});
was!(enum PackRecoveryV2 now PackRecovery { AfterNeutral, ByVoltage });
was!(struct StallV2 now StallSettings { below_rad_s: f32, duty: f32, after_ms: f32 });
was!(struct LimitsV2 now LimitSettings {
    drive_a: Option<f32>,
    brake_a: Option<f32>,
    cells: u8,
    full_v: f32,
    derate_from_v: f32,
    derate_to_v: f32,
    recover_v: f32,
    pack_recovery: PackRecoveryV2,
    derate_from_c: f32,
    derate_to_c: f32,
    cool_by_c: f32,
    stall: Option<StallV2>,
    reverse: f32,
});
was!(struct MotorV2 now MotorSettings {
    kv_rpm_per_v: f32,
    gear_ratio: f32,
    resistance_ohm: f32,
    estimate_from_a: Option<f32>,
});

was!(struct SettingsV2 now Settings {
    pulse: PulseV2,
    calibration: CalibrationV1,
    curve: CurveV2,
    slew: SlewV1,
    mode: ModeV1,
    safe_state: SafeStateV1,
    drag: DragV2,
    rest: Option<RestV2>,
    hold: Option<HoldV2>,
    limits: LimitsV2,
    motor: MotorV2,
});
