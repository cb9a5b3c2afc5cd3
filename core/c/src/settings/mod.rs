//! All settings as C sees them, and both ways between them and the core's.

mod choice;
mod drive;
mod throttle;

use easeoff_core::{SafeState, Settings};

use crate::pointer::put;
use crate::status::easeoff_status;
use choice::Wrong;

pub use choice::{
    easeoff_curve_kind, easeoff_drag_law, easeoff_pack_recovery, easeoff_reverse_policy,
    easeoff_safe_state, easeoff_shape,
};
pub use drive::{
    easeoff_give_way, easeoff_hold, easeoff_limits, easeoff_motor, easeoff_rest, easeoff_stall,
};
pub use throttle::{
    EASEOFF_KNOTS, easeoff_calibration, easeoff_curve, easeoff_drag, easeoff_mode_settings,
    easeoff_pulse, easeoff_slew,
};

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
use numbers_only;

/// All settings of a tune, in physical units. Begin with easeoff_settings_default. The book's page
/// "Controls" says what each means and its range; the names are those of the files.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
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
    /// 1: `rest` is in force. 0: the rig may creep.
    pub has_rest: u8,
    /// 1: `hold` is in force. 0: drives open loop.
    pub has_hold: u8,
}

impl From<Settings> for easeoff_settings {
    fn from(settings: Settings) -> Self {
        let Settings {
            pulse,
            calibration,
            curve,
            slew,
            mode,
            safe_state,
            drag,
            rest,
            hold,
            limits,
            motor,
        } = settings;
        Self {
            pulse: pulse.into(),
            calibration: calibration.into(),
            curve: curve.into(),
            slew: slew.into(),
            mode: mode.into(),
            drag: drag.into(),
            rest: rest.unwrap_or_default().into(),
            hold: hold.unwrap_or_default().into(),
            limits: limits.into(),
            motor: motor.into(),
            safe_state: easeoff_safe_state::of(safe_state),
            has_rest: rest.is_some().into(),
            has_hold: hold.is_some().into(),
        }
    }
}

impl easeoff_settings {
    /// As the core's, and the choices that do not exist: there the default stands instead.
    pub fn read(&self) -> (Settings, Wrong) {
        let mut wrong = Wrong::new();
        let Self {
            pulse,
            calibration,
            curve,
            slew,
            mode,
            drag,
            rest,
            hold,
            limits,
            motor,
            safe_state,
            has_rest,
            has_hold,
        } = *self;
        let settings = Settings {
            pulse: pulse.into(),
            calibration: calibration.read(&mut wrong),
            curve: curve.read(&mut wrong),
            slew: slew.into(),
            mode: mode.read(&mut wrong),
            safe_state: wrong.pick("safe_state", safe_state, &SafeState::NAMED),
            drag: drag.read(&mut wrong),
            rest: wrong.flag("has_rest", has_rest).then(|| rest.into()),
            hold: wrong.flag("has_hold", has_hold).then(|| hold.read(&mut wrong)),
            limits: limits.read(&mut wrong),
            motor: motor.read(&mut wrong),
        };
        (settings, wrong)
    }
}

/// Puts the default settings.
///
/// # Safety
/// The pointer is null or points to what it says.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_settings_default(
    settings: *mut easeoff_settings,
) -> easeoff_status {
    // SAFETY: the caller's promise.
    unsafe { put(settings, Settings::default().into()) }.into()
}
