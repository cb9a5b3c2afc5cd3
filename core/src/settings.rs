//! All settings of a tune, and the one place where they become a controller.

use crate::controller::Controller;
use crate::curve::CurveSettings;
use crate::demand::Calibration;
use crate::drag::DragSettings;
use crate::error::{Check, SettingsErrors};
use crate::hold::HoldSettings;
use crate::limits::LimitSettings;
use crate::mode::ModeSettings;
use crate::motor::MotorSettings;
use crate::pulse::PulseSettings;
use crate::ramp::TickRate;
use crate::slew::SlewSettings;

/// What to do without a signal.
///
/// Braking stops the rig where it is, also on a slope, and then creeps as any shorted motor does.
/// Coasting spares a rig at speed a skid, but it rolls on, and downhill it rolls away.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
pub enum SafeState {
    /// The drag brake, as set.
    #[default]
    Drag,
    /// All switches open.
    Coast,
}

impl SafeState {
    /// All safe states with their names in files.
    pub const NAMED: [(&'static str, Self); 2] = [("drag", Self::Drag), ("coast", Self::Coast)];
}

/// All settings of a tune, in physical units.
///
/// ```
/// use easeoff_core::{Settings, TickRate};
/// let rate = TickRate::new(1_000).unwrap();
/// let mut settings = Settings::default();
/// settings.drag.onset_ms = 300.0;
/// assert!(settings.prepare(rate).is_ok());
///
/// settings.drag.onset_ms = -1.0;
/// settings.drag.strength = 1.5;
/// let errors = settings.prepare(rate).unwrap_err();
/// assert_eq!(errors.len(), 2);
/// assert_eq!(errors[0].to_string(), "drag.strength is 1.5; allowed is 0 to 1");
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Settings {
    /// What counts as a signal.
    pub pulse: PulseSettings,
    /// The throttle's end points.
    pub calibration: Calibration,
    /// The throttle's curve.
    pub curve: CurveSettings,
    /// The demand's rates of change.
    pub slew: SlewSettings,
    /// Arming and reversing.
    pub mode: ModeSettings,
    /// What to do without a signal.
    pub safe_state: SafeState,
    /// Easing off.
    pub drag: DragSettings,
    /// Holding the speed; `None` drives open loop.
    pub hold: Option<HoldSettings>,
    /// Protection.
    pub limits: LimitSettings,
    /// The drive's constants.
    pub motor: MotorSettings,
}

impl Settings {
    /// Checks every setting and makes the controller ready for `rate` ticks per second. Floats end
    /// here.
    ///
    /// # Errors
    /// All mistakes at once, each with the setting's path, value and allowed range.
    #[expect(clippy::result_large_err, reason = "no heap to box it in; made once, at start-up")]
    pub fn prepare(&self, rate: TickRate) -> Result<Controller, SettingsErrors> {
        let mut check = Check::new();
        let motor = self.motor.prepare(&mut check);
        let controller = Controller {
            pulse: self.pulse.prepare(rate, &mut check),
            demand: self.calibration.prepare(&mut check),
            curve: self.curve.prepare(&mut check),
            slew: self.slew.prepare(rate, &mut check),
            mode: self.mode.prepare(rate, &mut check),
            safe_state: self.safe_state,
            drag: self.drag.prepare(rate, motor, &mut check),
            hold: self.hold.map(|hold| hold.prepare(rate, &mut check)),
            limits: self.limits.prepare(rate, &mut check),
        };
        check.finish(controller)
    }
}
