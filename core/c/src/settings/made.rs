//! The settings as C has them. Made by `cargo xtask header` from the core's list; do not edit.
#![expect(
    missing_docs,
    reason = "names and units are the core's, which says what each setting means"
)]

use easeoff_core::{Kind, Setting, Settings};

use super::EASEOFF_KNOTS;
use super::translate::{kind, read, tell, translated};
use super::wrong::Wrong;

/// What counts as a signal.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_pulse {
    pub plausible_low_us: f32,
    pub plausible_high_us: f32,
    pub jump_us: f32,
    pub loss_after_ms: f32,
    pub tolerate: u8,
}

/// The throttle's end points.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_calibration {
    pub low_us: f32,
    pub neutral_us: f32,
    pub high_us: f32,
    pub dead_band_us: f32,
    /// 1: swaps forward and reverse.
    pub reversed: u8,
}

/// The throttle's curve.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_curve {
    /// For EASEOFF_CURVE_KIND_CUBIC.
    pub blend: f32,
    /// For EASEOFF_CURVE_KIND_KNOTS: throttle and demand, 0 to 1.
    pub knots: [[f32; 2]; EASEOFF_KNOTS],
    pub knot_count: u8,
    /// An easeoff_curve_kind.
    pub kind: u8,
}

/// The demand's rates of change.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_slew {
    pub rise_per_s: f32,
    pub ease_per_s: f32,
}

/// Arming and reversing.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_mode_settings {
    pub arm_ms: f32,
    pub rest_rad_s: f32,
    pub pause_ms: f32,
    /// An easeoff_reverse_policy.
    pub reverse: u8,
}

/// Easing off.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_drag {
    pub strength: f32,
    pub delay_ms: f32,
    pub onset_ms: f32,
    pub follow: f32,
    pub soft_below_rad_s: f32,
    pub release_ms: f32,
    /// For EASEOFF_DRAG_LAW_CURRENT.
    pub full_a: f32,
    /// An easeoff_shape.
    pub shape: u8,
    /// An easeoff_drag_law.
    pub law: u8,
}

/// Holding the place once stopped.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_rest {
    pub gain_per_rad: f32,
    pub damping_s_per_rad: f32,
    pub authority: f32,
    pub below_rad_s: f32,
}

/// Giving way to a lasting load.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_give_way {
    pub share: f32,
    pub after_ms: f32,
    pub release_ms: f32,
}

/// Holding the speed.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_hold {
    pub full_speed_rad_s: f32,
    pub feed_forward: f32,
    pub gain: f32,
    pub gain_per_s: f32,
    pub droop: f32,
    pub authority: f32,
    pub fade_ms: f32,
    /// Giving way to a lasting load, if `has_give_way`.
    pub give_way: easeoff_give_way,
    /// 1: `give_way` is in force. 0: it is off.
    pub has_give_way: u8,
}

/// Cutting the drive of wheels that stand.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_stall {
    pub below_rad_s: f32,
    pub duty: f32,
    pub after_ms: f32,
}

/// Protection.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
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
    /// Cutting the drive of wheels that stand, if `has_stall`.
    pub stall: easeoff_stall,
    pub cells: u8,
    /// An easeoff_pack_recovery.
    pub pack_recovery: u8,
    /// 1: `drive_a` is in force. 0: it is off.
    pub has_drive_a: u8,
    /// 1: `brake_a` is in force. 0: it is off.
    pub has_brake_a: u8,
    /// 1: `stall` is in force. 0: it is off.
    pub has_stall: u8,
}

/// The drive's constants.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_motor {
    pub kv_rpm_per_v: f32,
    pub gear_ratio: f32,
    pub resistance_ohm: f32,
    /// In force if `has_estimate_from_a`.
    pub estimate_from_a: f32,
    /// 1: `estimate_from_a` is in force. 0: it is off.
    pub has_estimate_from_a: u8,
}

/// All settings of a tune, in physical units. Begin with easeoff_settings_default. The book's page
/// "Controls" says what each means and its range; the names are those of the files.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_settings {
    /// What counts as a signal.
    pub pulse: easeoff_pulse,
    /// The throttle's end points.
    pub calibration: easeoff_calibration,
    /// The throttle's curve.
    pub curve: easeoff_curve,
    /// The demand's rates of change.
    pub slew: easeoff_slew,
    /// Arming and reversing.
    pub mode: easeoff_mode_settings,
    /// Easing off.
    pub drag: easeoff_drag,
    /// Holding the place once stopped, if `has_rest`.
    pub rest: easeoff_rest,
    /// Holding the speed, if `has_hold`.
    pub hold: easeoff_hold,
    /// Protection.
    pub limits: easeoff_limits,
    /// The drive's constants.
    pub motor: easeoff_motor,
    /// What to do without a signal or after a fault: an easeoff_safe_state.
    pub safe_state: u8,
    /// 1: `rest` is in force. 0: it is off.
    pub has_rest: u8,
    /// 1: `hold` is in force. 0: it is off.
    pub has_hold: u8,
}

/// All that is a byte in C and not a number: it may hold what cannot be.
pub(super) const BYTES: usize = 15;

translated! {
    number "pulse.plausible_low_us" pulse.plausible_low_us;
    number "pulse.plausible_high_us" pulse.plausible_high_us;
    number "pulse.jump_us" pulse.jump_us;
    whole "pulse.tolerate" pulse.tolerate;
    number "pulse.loss_after_ms" pulse.loss_after_ms;
    number "calibration.low_us" calibration.low_us;
    number "calibration.neutral_us" calibration.neutral_us;
    number "calibration.high_us" calibration.high_us;
    number "calibration.dead_band_us" calibration.dead_band_us;
    flag "calibration.reversed" calibration.reversed;
    number "curve.blend" curve.blend;
    knots "curve.knots" curve;
    number "slew.rise_per_s" slew.rise_per_s;
    number "slew.ease_per_s" slew.ease_per_s;
    number "mode.arm_ms" mode.arm_ms;
    choice "mode.reverse" mode.reverse;
    number "mode.rest_rad_s" mode.rest_rad_s;
    number "mode.pause_ms" mode.pause_ms;
    choice "safe_state" safe_state;
    number "drag.strength" drag.strength;
    number "drag.delay_ms" drag.delay_ms;
    number "drag.onset_ms" drag.onset_ms;
    choice "drag.shape" drag.shape;
    number "drag.follow" drag.follow;
    number "drag.soft_below_rad_s" drag.soft_below_rad_s;
    number "drag.release_ms" drag.release_ms;
    choice "drag.law" drag.law;
    number "drag.full_a" drag.full_a;
    part "rest.on", "has_rest" has_rest;
    number "rest.gain_per_rad" rest.gain_per_rad;
    number "rest.damping_s_per_rad" rest.damping_s_per_rad;
    number "rest.authority" rest.authority;
    number "rest.below_rad_s" rest.below_rad_s;
    part "hold.on", "has_hold" has_hold;
    number "hold.full_speed_rad_s" hold.full_speed_rad_s;
    number "hold.feed_forward" hold.feed_forward;
    number "hold.gain" hold.gain;
    number "hold.gain_per_s" hold.gain_per_s;
    number "hold.droop" hold.droop;
    number "hold.authority" hold.authority;
    number "hold.fade_ms" hold.fade_ms;
    part "hold.give_way.on", "hold.has_give_way" hold.has_give_way;
    number "hold.give_way.share" hold.give_way.share;
    number "hold.give_way.after_ms" hold.give_way.after_ms;
    number "hold.give_way.release_ms" hold.give_way.release_ms;
    optional "limits.drive_a" limits.drive_a, "limits.has_drive_a" limits.has_drive_a;
    optional "limits.brake_a" limits.brake_a, "limits.has_brake_a" limits.has_brake_a;
    whole "limits.cells" limits.cells;
    number "limits.full_v" limits.full_v;
    number "limits.derate_from_v" limits.derate_from_v;
    number "limits.derate_to_v" limits.derate_to_v;
    number "limits.recover_v" limits.recover_v;
    choice "limits.pack_recovery" limits.pack_recovery;
    number "limits.derate_from_c" limits.derate_from_c;
    number "limits.derate_to_c" limits.derate_to_c;
    number "limits.cool_by_c" limits.cool_by_c;
    number "limits.reverse" limits.reverse;
    part "limits.stall.on", "limits.has_stall" limits.has_stall;
    number "limits.stall.below_rad_s" limits.stall.below_rad_s;
    number "limits.stall.duty" limits.stall.duty;
    number "limits.stall.after_ms" limits.stall.after_ms;
    number "motor.kv_rpm_per_v" motor.kv_rpm_per_v;
    number "motor.gear_ratio" motor.gear_ratio;
    number "motor.resistance_ohm" motor.resistance_ohm;
    optional "motor.estimate_from_a" motor.estimate_from_a, "motor.has_estimate_from_a" motor.has_estimate_from_a;
}
