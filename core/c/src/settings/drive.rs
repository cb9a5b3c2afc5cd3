//! The settings of what drives and protects. Everything is destructured whole, both ways, so that a new setting
//! does not compile before it is here.
#![expect(
    missing_docs,
    reason = "names and units are the core's, which says what each setting means"
)]

use easeoff_core::{
    GiveWaySettings, HoldSettings, LimitSettings, MotorSettings, PackRecovery, RestSettings,
    StallSettings,
};

use super::choice::{Wrong, easeoff_pack_recovery};
use super::numbers_only;

/// Holding the place once stopped.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_rest {
    pub gain_per_rad: f32,
    pub damping_s_per_rad: f32,
    pub authority: f32,
    pub below_rad_s: f32,
}

numbers_only!(RestSettings as easeoff_rest {
    gain_per_rad,
    damping_s_per_rad,
    authority,
    below_rad_s,
});

/// Giving way to a lasting load.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_give_way {
    pub share: f32,
    pub after_ms: f32,
    pub release_ms: f32,
}

numbers_only!(GiveWaySettings as easeoff_give_way { share, after_ms, release_ms });

/// Holding the speed.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_hold {
    /// Of this drive; 0, the default, is refused.
    pub full_speed_rad_s: f32,
    pub feed_forward: f32,
    pub gain: f32,
    pub gain_per_s: f32,
    pub droop: f32,
    pub authority: f32,
    pub fade_ms: f32,
    /// Giving way, if `has_give_way`.
    pub give_way: easeoff_give_way,
    /// 1: `give_way` is in force. 0: never gives way.
    pub has_give_way: u8,
}

impl From<HoldSettings> for easeoff_hold {
    fn from(core: HoldSettings) -> Self {
        let HoldSettings {
            full_speed_rad_s,
            feed_forward,
            gain,
            gain_per_s,
            droop,
            authority,
            fade_ms,
            give_way,
        } = core;
        Self {
            full_speed_rad_s,
            feed_forward,
            gain,
            gain_per_s,
            droop,
            authority,
            fade_ms,
            give_way: give_way.unwrap_or_default().into(),
            has_give_way: give_way.is_some().into(),
        }
    }
}

impl easeoff_hold {
    pub(super) fn read(self, wrong: &mut Wrong) -> HoldSettings {
        let Self {
            full_speed_rad_s,
            feed_forward,
            gain,
            gain_per_s,
            droop,
            authority,
            fade_ms,
            give_way,
            has_give_way,
        } = self;
        HoldSettings {
            full_speed_rad_s,
            feed_forward,
            gain,
            gain_per_s,
            droop,
            authority,
            fade_ms,
            give_way: wrong.flag("hold.has_give_way", has_give_way).then(|| give_way.into()),
        }
    }
}

/// Cutting the drive of wheels that stand.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_stall {
    pub below_rad_s: f32,
    pub duty: f32,
    pub after_ms: f32,
}

numbers_only!(StallSettings as easeoff_stall { below_rad_s, duty, after_ms });

/// Protection.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_limits {
    /// In force if `has_drive_a`.
    pub drive_a: f32,
    /// In force if `has_brake_a`.
    pub brake_a: f32,
    pub full_v: f32,
    pub derate_from_v: f32,
    pub derate_to_v: f32,
    pub recover_v: f32,
    pub derate_from_c: f32,
    pub derate_to_c: f32,
    pub cool_by_c: f32,
    pub reverse: f32,
    /// In force if `has_stall`.
    pub stall: easeoff_stall,
    pub cells: u8,
    /// An easeoff_pack_recovery.
    pub pack_recovery: u8,
    /// 1: `drive_a` is in force. 0: not limited.
    pub has_drive_a: u8,
    /// 1: `brake_a` is in force. 0: not limited.
    pub has_brake_a: u8,
    /// 1: `stall` is in force. 0: never cut.
    pub has_stall: u8,
}

impl From<LimitSettings> for easeoff_limits {
    fn from(core: LimitSettings) -> Self {
        let LimitSettings {
            drive_a,
            brake_a,
            cells,
            full_v,
            derate_from_v,
            derate_to_v,
            recover_v,
            pack_recovery,
            derate_from_c,
            derate_to_c,
            cool_by_c,
            stall,
            reverse,
        } = core;
        Self {
            drive_a: drive_a.unwrap_or_default(),
            brake_a: brake_a.unwrap_or_default(),
            full_v,
            derate_from_v,
            derate_to_v,
            recover_v,
            derate_from_c,
            derate_to_c,
            cool_by_c,
            reverse,
            stall: stall.unwrap_or_default().into(),
            cells,
            pack_recovery: easeoff_pack_recovery::of(pack_recovery),
            has_drive_a: drive_a.is_some().into(),
            has_brake_a: brake_a.is_some().into(),
            has_stall: stall.is_some().into(),
        }
    }
}

impl easeoff_limits {
    pub(super) fn read(self, wrong: &mut Wrong) -> LimitSettings {
        let Self {
            drive_a,
            brake_a,
            full_v,
            derate_from_v,
            derate_to_v,
            recover_v,
            derate_from_c,
            derate_to_c,
            cool_by_c,
            reverse,
            stall,
            cells,
            pack_recovery,
            has_drive_a,
            has_brake_a,
            has_stall,
        } = self;
        LimitSettings {
            drive_a: wrong.flag("limits.has_drive_a", has_drive_a).then_some(drive_a),
            brake_a: wrong.flag("limits.has_brake_a", has_brake_a).then_some(brake_a),
            cells,
            full_v,
            derate_from_v,
            derate_to_v,
            recover_v,
            pack_recovery: wrong.pick("limits.pack_recovery", pack_recovery, &PackRecovery::NAMED),
            derate_from_c,
            derate_to_c,
            cool_by_c,
            stall: wrong.flag("limits.has_stall", has_stall).then(|| stall.into()),
            reverse,
        }
    }
}

/// The drive's constants.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_motor {
    pub kv_rpm_per_v: f32,
    pub gear_ratio: f32,
    pub resistance_ohm: f32,
    /// In force if `has_estimate_from_a`.
    pub estimate_from_a: f32,
    /// 1: `estimate_from_a` is in force. 0: no estimate.
    pub has_estimate_from_a: u8,
}

impl From<MotorSettings> for easeoff_motor {
    fn from(core: MotorSettings) -> Self {
        let MotorSettings { kv_rpm_per_v, gear_ratio, resistance_ohm, estimate_from_a } = core;
        Self {
            kv_rpm_per_v,
            gear_ratio,
            resistance_ohm,
            estimate_from_a: estimate_from_a.unwrap_or_default(),
            has_estimate_from_a: estimate_from_a.is_some().into(),
        }
    }
}

impl easeoff_motor {
    pub(super) fn read(self, wrong: &mut Wrong) -> MotorSettings {
        let Self {
            kv_rpm_per_v,
            gear_ratio,
            resistance_ohm,
            estimate_from_a,
            has_estimate_from_a: has,
        } = self;
        let has = wrong.flag("motor.has_estimate_from_a", has);
        let estimate_from_a = has.then_some(estimate_from_a);
        MotorSettings { kv_rpm_per_v, gear_ratio, resistance_ohm, estimate_from_a }
    }
}
