//! The settings of what the throttle does: its pulses, its curve, and easing off. Everything is destructured
//! whole, both ways, so that a new setting does not compile before it is here.
#![expect(
    missing_docs,
    reason = "names and units are the core's, which says what each setting means"
)]

use easeoff_core::{
    Calibration, CurveSettings, DragLaw, DragSettings, Knots, MOST_KNOTS, ModeSettings,
    PulseSettings, ReversePolicy, Shape, SlewSettings,
};

use super::choice::{
    Wrong, easeoff_curve_kind, easeoff_drag_law, easeoff_reverse_policy, easeoff_shape,
};
use super::numbers_only;

/// The most knots of a curve.
pub const EASEOFF_KNOTS: usize = 9;

const _: () = assert!(EASEOFF_KNOTS == MOST_KNOTS);

/// What counts as a signal.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_pulse {
    pub plausible_low_us: f32,
    pub plausible_high_us: f32,
    pub jump_us: f32,
    pub loss_after_ms: f32,
    pub tolerate: u8,
}

numbers_only!(PulseSettings as easeoff_pulse {
    plausible_low_us,
    plausible_high_us,
    jump_us,
    tolerate,
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
    pub soft_below_rad_s: f32,
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
        let DragSettings {
            strength,
            delay_ms,
            onset_ms,
            shape,
            follow,
            soft_below_rad_s,
            release_ms,
            law,
        } = core;
        let (law, full_a) = match law {
            DragLaw::Duty => (easeoff_drag_law::Duty.number(), 0.0),
            DragLaw::Current { full_a } => (easeoff_drag_law::Current.number(), full_a),
        };
        let shape = easeoff_shape::of(shape);
        Self {
            strength,
            delay_ms,
            onset_ms,
            follow,
            soft_below_rad_s,
            release_ms,
            full_a,
            shape,
            law,
        }
    }
}

impl easeoff_drag {
    pub(super) fn read(self, wrong: &mut Wrong) -> DragSettings {
        let Self {
            strength,
            delay_ms,
            onset_ms,
            follow,
            soft_below_rad_s,
            release_ms,
            full_a,
            shape,
            law,
        } = self;
        let by_current = wrong.pick("drag.law", law, &[("duty", false), ("current", true)]);
        let law = if by_current { DragLaw::Current { full_a } } else { DragLaw::Duty };
        let shape = wrong.pick("drag.shape", shape, &Shape::NAMED);
        DragSettings {
            strength,
            delay_ms,
            onset_ms,
            shape,
            follow,
            soft_below_rad_s,
            release_ms,
            law,
        }
    }
}
