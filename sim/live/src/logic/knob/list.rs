//! The list of knobs.

use easeoff_core::{PackRecovery, ReversePolicy, SafeState, Shape};

use super::{Group, Kind, Knob};
use crate::logic::sheet::Sheet;

macro_rules! number {
    ($group:ident, $path:literal, $label:literal, |$s:ident| $field:expr) => {
        number!($group, $path, $label, |$s| $field; if |_| true)
    };
    ($group:ident, $path:literal, $label:literal, |$s:ident| $field:expr; if $heard:expr) => {
        Knob {
            path: $path,
            label: $label,
            group: Group::$group,
            kind: Kind::Number {
                get: |$s: &Sheet| $field,
                set: |$s: &mut Sheet, value| $field = value,
            },
            heard: $heard,
        }
    };
}

macro_rules! flag {
    ($group:ident, $path:literal, $label:literal, |$s:ident| $field:expr; if $heard:expr) => {
        Knob {
            path: $path,
            label: $label,
            group: Group::$group,
            kind: Kind::Flag {
                get: |$s: &Sheet| $field,
                set: |$s: &mut Sheet, value| $field = value,
            },
            heard: $heard,
        }
    };
}

macro_rules! choice {
    ($group:ident, $path:literal, $label:literal, $of:ty, |$s:ident| $field:expr) => {
        Knob {
            path: $path,
            label: $label,
            group: Group::$group,
            kind: Kind::Choice {
                get: |$s: &Sheet| {
                    <$of>::NAMED.iter().position(|(_, one)| *one == $field).unwrap_or(0)
                },
                set: |$s: &mut Sheet, index| {
                    if let Some((_, one)) = <$of>::NAMED.get(index) {
                        $field = *one;
                    }
                },
            },
            heard: |_| true,
        }
    };
}

/// Every setting, in the order in which it is shown.
pub const KNOBS: &[Knob] = &[
    number!(EasingOff, "drag.strength", "Drag brake: final level", |s| s.base.drag.strength),
    number!(EasingOff, "drag.delay_ms", "Brake waits", |s| s.base.drag.delay_ms),
    number!(EasingOff, "drag.onset_ms", "Brake comes in over", |s| s.base.drag.onset_ms),
    choice!(EasingOff, "drag.shape", "Onset shape", Shape, |s| s.base.drag.shape),
    number!(EasingOff, "drag.follow", "Onset follows the hand", |s| s.base.drag.follow),
    number!(EasingOff, "drag.soft_below_rad_s", "Softer below", |s| s.base.drag.soft_below_rad_s),
    number!(EasingOff, "drag.release_ms", "Brake lets go over", |s| s.base.drag.release_ms),
    Knob {
        path: "drag.law",
        label: "Level means",
        group: Group::EasingOff,
        kind: Kind::Choice {
            get: |s| usize::from(s.full_a.on),
            set: |s, index| s.full_a.on = index == 1,
        },
        heard: |_| true,
    },
    number!(EasingOff, "drag.full_a", "Current at full level", |s| s.full_a.is; if |s| s.full_a.on),
    flag!(EasingOff, "rest.on", "Hold the place at rest", |s| s.rest.on; if |_| true),
    number!(EasingOff, "rest.gain_per_rad", "Rest: duty per roll", |s| s.rest.is.gain_per_rad; if |s| s.rest.on),
    number!(EasingOff, "rest.damping_s_per_rad", "Rest: damping", |s| s.rest.is.damping_s_per_rad; if |s| s.rest.on),
    number!(EasingOff, "rest.authority", "Rest: most duty", |s| s.rest.is.authority; if |s| s.rest.on),
    number!(EasingOff, "rest.below_rad_s", "Rest: slower than", |s| s.rest.is.below_rad_s; if |s| s.rest.on),
    number!(PullingAway, "curve.blend", "Curve around neutral", |s| s.blend; if |s| !s.knots.on),
    Knob {
        path: "curve.knots",
        label: "Curve by points",
        group: Group::PullingAway,
        kind: Kind::Flag { get: |s| s.knots.on, set: Sheet::by_points },
        heard: |_| true,
    },
    number!(PullingAway, "slew.rise_per_s", "Throttle may rise", |s| s.base.slew.rise_per_s),
    number!(PullingAway, "slew.ease_per_s", "Throttle may ease", |s| s.base.slew.ease_per_s),
    choice!(PullingAway, "mode.reverse", "Reverse", ReversePolicy, |s| s.base.mode.reverse),
    number!(PullingAway, "limits.reverse", "Most duty backward", |s| s.base.limits.reverse),
    number!(PullingAway, "mode.rest_rad_s", "Counts as standing below", |s| s.base.mode.rest_rad_s),
    number!(PullingAway, "mode.pause_ms", "Braking takes, unsensed", |s| s.base.mode.pause_ms),
    number!(PullingAway, "mode.arm_ms", "Rests before arming", |s| s.base.mode.arm_ms),
    flag!(HoldingSpeed, "hold.on", "Hold the speed", |s| s.hold.on; if |_| true),
    number!(HoldingSpeed, "hold.authority", "Most duty it may add", |s| s.hold.is.authority; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.full_speed_rad_s", "Speed of full throttle", |s| s.hold.is.full_speed_rad_s; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.feed_forward", "Duty per throttle", |s| s.hold.is.feed_forward; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.gain", "Gain", |s| s.hold.is.gain; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.gain_per_s", "Gain per second", |s| s.hold.is.gain_per_s; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.droop", "Droop", |s| s.hold.is.droop; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.fade_ms", "Comes and goes over", |s| s.hold.is.fade_ms; if |s| s.hold.on),
    flag!(HoldingSpeed, "hold.give_way.on", "Give way to a load", |s| s.give_way.on; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.give_way.share", "Adding more than", |s| s.give_way.is.share; if |s| s.hold.on && s.give_way.on),
    number!(HoldingSpeed, "hold.give_way.after_ms", "For longer than", |s| s.give_way.is.after_ms; if |s| s.hold.on && s.give_way.on),
    number!(HoldingSpeed, "hold.give_way.release_ms", "Takes the help away over", |s| s.give_way.is.release_ms; if |s| s.hold.on && s.give_way.on),
    flag!(Protection, "limits.drive_a.on", "Limit the driving current", |s| s.drive_a.on; if |_| true),
    number!(Protection, "limits.drive_a", "Motor current driving", |s| s.drive_a.is; if |s| s.drive_a.on),
    flag!(Protection, "limits.brake_a.on", "Limit the braking current", |s| s.brake_a.on; if |_| true),
    number!(Protection, "limits.brake_a", "Motor current braking", |s| s.brake_a.is; if |s| s.brake_a.on),
    number!(Protection, "limits.full_v", "A full cell", |s| s.base.limits.full_v),
    number!(Protection, "limits.derate_from_v", "Cell: duty fades from", |s| s
        .base
        .limits
        .derate_from_v),
    number!(Protection, "limits.derate_to_v", "Cell: nothing left at", |s| s
        .base
        .limits
        .derate_to_v),
    number!(Protection, "limits.recover_v", "Cell: counts as risen by", |s| s
        .base
        .limits
        .recover_v),
    choice!(Protection, "limits.pack_recovery", "An empty pack drives again", PackRecovery, |s| s
        .base
        .limits
        .pack_recovery),
    number!(Protection, "limits.derate_from_c", "Winding: duty fades from", |s| s
        .base
        .limits
        .derate_from_c),
    number!(Protection, "limits.derate_to_c", "Winding: nothing left at", |s| s
        .base
        .limits
        .derate_to_c),
    number!(Protection, "limits.cool_by_c", "Winding: counts as cooler by", |s| s
        .base
        .limits
        .cool_by_c),
    flag!(Protection, "limits.stall.on", "Cut the drive of wheels that stand", |s| s.stall.on; if |_| true),
    number!(Protection, "limits.stall.below_rad_s", "Stall: slower than", |s| s.stall.is.below_rad_s; if |s| s.stall.on),
    number!(Protection, "limits.stall.duty", "Stall: with more duty than", |s| s.stall.is.duty; if |s| s.stall.on),
    number!(Protection, "limits.stall.after_ms", "Stall: for longer than", |s| s.stall.is.after_ms; if |s| s.stall.on),
    choice!(Protection, "safe_state", "Without a signal", SafeState, |s| s.base.safe_state),
    number!(Throttle, "calibration.low_us", "Throttle at its far end", |s| s
        .base
        .calibration
        .low_us),
    number!(Throttle, "calibration.neutral_us", "Throttle let go", |s| s
        .base
        .calibration
        .neutral_us),
    number!(Throttle, "calibration.high_us", "Full throttle", |s| s.base.calibration.high_us),
    number!(Throttle, "calibration.dead_band_us", "Neutral within", |s| s
        .base
        .calibration
        .dead_band_us),
    flag!(Throttle, "calibration.reversed", "Throttle reversed", |s| s.base.calibration.reversed; if |_| true),
    number!(Throttle, "pulse.plausible_low_us", "Shortest pulse believed", |s| s
        .base
        .pulse
        .plausible_low_us),
    number!(Throttle, "pulse.plausible_high_us", "Longest pulse believed", |s| s
        .base
        .pulse
        .plausible_high_us),
    number!(Throttle, "pulse.jump_us", "A jump waits beyond", |s| s.base.pulse.jump_us),
    Knob {
        path: "pulse.tolerate",
        label: "Bad pulses tolerated",
        group: Group::Throttle,
        kind: Kind::Number {
            get: |s| s.base.pulse.tolerate.into(),
            set: |s, value| s.base.pulse.tolerate = value.round().clamp(0.0, 255.0) as u8,
        },
        heard: |_| true,
    },
    number!(Throttle, "pulse.loss_after_ms", "Lost after", |s| s.base.pulse.loss_after_ms),
    flag!(Throttle, "motor.estimate_from_a.on", "Estimate the speed without a sensor", |s| s.estimate_from_a.on; if |_| true),
    number!(Throttle, "motor.estimate_from_a", "Estimate from a current of", |s| s.estimate_from_a.is; if |s| s.estimate_from_a.on),
];
