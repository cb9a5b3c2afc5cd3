//! The parts of the settings. Everything is destructured whole, both ways, so that a new setting does
//! not compile before it is here.
#![expect(
    missing_docs,
    reason = "names and units are the core's, which says what each setting means"
)]

use easeoff_core::{
    Calibration, CurveSettings, DragLaw, DragSettings, GiveWaySettings, HoldSettings, Knots,
    LimitSettings, MOST_KNOTS, ModeSettings, MotorSettings, PackRecovery, PulseSettings,
    RestSettings, ReversePolicy, Shape, SlewSettings, StallSettings,
};

use super::choice::{
    Wrong, easeoff_curve_kind, easeoff_drag_law, easeoff_pack_recovery, easeoff_reverse_policy,
    easeoff_shape,
};

/// The most knots of a curve.
pub const EASEOFF_KNOTS: usize = 9;

const _: () = assert!(EASEOFF_KNOTS == MOST_KNOTS);

/// Both ways for parts that hold nothing but numbers.
macro_rules! numbers_only {
    ($core:ident as $ours:ident { $($field:ident),* $(,)? }) => {
        impl From<$core> for $ours {
            fn from(core: $core) -> Self {
                let $core { $($field),* } = core;
                Self { $($field),* }
            }
        }

        impl From<$ours> for $core {
            fn from(ours: $ours) -> Self {
                let $ours { $($field),* } = ours;
                Self { $($field),* }
            }
        }
    };
}

/// What counts as a signal.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_pulse {
    pub plausible_low_us: f32,
    pub plausible_high_us: f32,
    pub jump_us: f32,
    pub loss_after_ms: f32,
    pub bridge: u8,
}

numbers_only!(PulseSettings as easeoff_pulse {
    plausible_low_us,
    plausible_high_us,
    jump_us,
    bridge,
    loss_after_ms,
});

/// The throttle's end points.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_calibration {
    pub low_us: f32,
    pub neutral_us: f32,
    pub high_us: f32,
    pub dead_band_us: f32,
    /// 1: forward and reverse are swapped.
    pub reversed: u8,
}

impl From<Calibration> for easeoff_calibration {
    fn from(core: Calibration) -> Self {
        let Calibration { low_us, neutral_us, high_us, dead_band_us, reversed } = core;
        Self { low_us, neutral_us, high_us, dead_band_us, reversed: reversed.into() }
    }
}

impl easeoff_calibration {
    pub(super) fn read(self, wrong: &mut Wrong) -> Calibration {
        let Self { low_us, neutral_us, high_us, dead_band_us, reversed } = self;
        let reversed = wrong.flag("calibration.reversed", reversed);
        Calibration { low_us, neutral_us, high_us, dead_band_us, reversed }
    }
}

/// The throttle's curve.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_curve {
    /// For EASEOFF_CURVE_KIND_CUBIC.
    pub blend: f32,
    /// For EASEOFF_CURVE_KIND_KNOTS: throttle and demand, 0 to 1.
    pub knots: [[f32; 2]; EASEOFF_KNOTS],
    pub knot_count: u8,
    /// An easeoff_curve_kind.
    pub kind: u8,
}

impl From<CurveSettings> for easeoff_curve {
    fn from(core: CurveSettings) -> Self {
        let mut ours = Self {
            blend: 0.0,
            knots: [[0.0; 2]; EASEOFF_KNOTS],
            knot_count: 0,
            kind: easeoff_curve_kind::Cubic.number(),
        };
        match core {
            CurveSettings::Cubic { blend } => ours.blend = blend,
            CurveSettings::Knots(knots) => {
                ours.kind = easeoff_curve_kind::Knots.number();
                for (place, point) in ours.knots.iter_mut().zip(knots.points()) {
                    *place = *point;
                    ours.knot_count = ours.knot_count.saturating_add(1);
                }
            }
        }
        ours
    }
}

impl easeoff_curve {
    pub(super) fn read(self, wrong: &mut Wrong) -> CurveSettings {
        let Self { blend, knots, knot_count, kind } = self;
        if !wrong.pick("curve.kind", kind, &[("cubic", false), ("knots", true)]) {
            return CurveSettings::Cubic { blend };
        }
        let points = knots.get(..usize::from(knot_count)).and_then(Knots::new);
        if points.is_none() {
            wrong.note("curve.knot_count", knot_count, EASEOFF_KNOTS.saturating_add(1));
        }
        CurveSettings::Knots(points.unwrap_or_default())
    }
}

/// The demand's rates of change.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_slew {
    pub rise_per_s: f32,
    pub ease_per_s: f32,
}

numbers_only!(SlewSettings as easeoff_slew { rise_per_s, ease_per_s });

/// Arming and reversing.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_mode_settings {
    pub arm_ms: f32,
    pub rest_rad_s: f32,
    pub pause_ms: f32,
    /// An easeoff_reverse_policy.
    pub reverse: u8,
}

impl From<ModeSettings> for easeoff_mode_settings {
    fn from(core: ModeSettings) -> Self {
        let ModeSettings { arm_ms, reverse, rest_rad_s, pause_ms } = core;
        Self { arm_ms, rest_rad_s, pause_ms, reverse: easeoff_reverse_policy::of(reverse) }
    }
}

impl easeoff_mode_settings {
    pub(super) fn read(self, wrong: &mut Wrong) -> ModeSettings {
        let Self { arm_ms, rest_rad_s, pause_ms, reverse } = self;
        let reverse = wrong.pick("mode.reverse", reverse, &ReversePolicy::NAMED);
        ModeSettings { arm_ms, reverse, rest_rad_s, pause_ms }
    }
}

/// Easing off.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_drag {
    pub strength: f32,
    pub delay_ms: f32,
    pub onset_ms: f32,
    pub follow: f32,
    pub release_ms: f32,
    /// For EASEOFF_DRAG_LAW_CURRENT.
    pub full_a: f32,
    /// An easeoff_shape.
    pub shape: u8,
    /// An easeoff_drag_law.
    pub law: u8,
}

impl From<DragSettings> for easeoff_drag {
    fn from(core: DragSettings) -> Self {
        let DragSettings { strength, delay_ms, onset_ms, shape, follow, release_ms, law } = core;
        let (law, full_a) = match law {
            DragLaw::Share => (easeoff_drag_law::Share.number(), 0.0),
            DragLaw::Current { full_a } => (easeoff_drag_law::Current.number(), full_a),
        };
        let shape = easeoff_shape::of(shape);
        Self { strength, delay_ms, onset_ms, follow, release_ms, full_a, shape, law }
    }
}

impl easeoff_drag {
    pub(super) fn read(self, wrong: &mut Wrong) -> DragSettings {
        let Self { strength, delay_ms, onset_ms, follow, release_ms, full_a, shape, law } = self;
        let by_current = wrong.pick("drag.law", law, &[("share", false), ("current", true)]);
        let law = if by_current { DragLaw::Current { full_a } } else { DragLaw::Share };
        let shape = wrong.pick("drag.shape", shape, &Shape::NAMED);
        DragSettings { strength, delay_ms, onset_ms, shape, follow, release_ms, law }
    }
}

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
    pub fade_from_v: f32,
    pub fade_to_v: f32,
    pub recover_v: f32,
    pub hot_from_c: f32,
    pub hot_to_c: f32,
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
            fade_from_v,
            fade_to_v,
            recover_v,
            pack_recovery,
            hot_from_c,
            hot_to_c,
            cool_by_c,
            stall,
            reverse,
        } = core;
        Self {
            drive_a: drive_a.unwrap_or_default(),
            brake_a: brake_a.unwrap_or_default(),
            full_v,
            fade_from_v,
            fade_to_v,
            recover_v,
            hot_from_c,
            hot_to_c,
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
            fade_from_v,
            fade_to_v,
            recover_v,
            hot_from_c,
            hot_to_c,
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
            fade_from_v,
            fade_to_v,
            recover_v,
            pack_recovery: wrong.pick("limits.pack_recovery", pack_recovery, &PackRecovery::NAMED),
            hot_from_c,
            hot_to_c,
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
