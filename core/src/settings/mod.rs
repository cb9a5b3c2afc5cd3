//! All settings of a tune, and the one place where they become a controller.

mod list;
mod setting;

use crate::controller::Controller;
use crate::curve::CurveSettings;
use crate::demand::Calibration;
use crate::drag::DragSettings;
use crate::ease::Ease;
use crate::error::{Check, SettingsErrors};
use crate::hold::HoldSettings;
use crate::limits::LimitSettings;
use crate::mode::{ModeSettings, ReversePolicy};
use crate::monitor::Monitor;
use crate::motor::MotorSettings;
use crate::pulse::PulseSettings;
use crate::ramp::TickRate;
use crate::rest::RestSettings;
use crate::slew::SlewSettings;

pub use list::SETTINGS;
pub use setting::{At, Kind, Setting};
pub(crate) use setting::{allowed, find};

/// What to do without a signal, or after the monitor found a fault.
///
/// Braking stops the rig where it is, also on a slope, and then creeps as any shorted motor does.
/// Coasting spares a rig at speed a skid, but it rolls on, and downhill it rolls away.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
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
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
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
    /// What to do without a signal or after a fault.
    pub safe_state: SafeState,
    /// Easing off.
    pub drag: DragSettings,
    /// Holding the place once stopped; `None` lets it creep.
    pub rest: Option<RestSettings>,
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
    #[cold]
    #[inline(never)]
    pub fn prepare(&self, rate: TickRate) -> Result<Controller, SettingsErrors> {
        let mut check = Check::new();
        let motor = self.motor.prepare(&mut check);
        let slew = self.slew.prepare(rate, &mut check);
        // Reverse that is never allowed is also capped at nothing.
        let mut limits = self.limits;
        if self.mode.reverse == ReversePolicy::Never {
            check.range(allowed!("limits.reverse"), limits.reverse);
            limits.reverse = 0.0;
        }
        let controller = Controller {
            pulse: self.pulse.prepare(rate, &mut check),
            demand: self.calibration.prepare(&mut check),
            curve: self.curve.prepare(&mut check),
            slew,
            ease: Ease::prepare(rate),
            mode: self.mode.prepare(rate, &mut check),
            safe_state: self.safe_state,
            drag: self.drag.prepare(rate, motor, &mut check),
            rest: self.rest.map(|rest| rest.prepare(rate, &mut check)),
            hold: self.hold.map(|hold| hold.prepare(rate, slew, &mut check)),
            limits: limits.prepare(rate, slew, &mut check),
            motor,
            monitor: Monitor::of(self, rate),
        };
        self.check_together(limits.reverse, &mut check);
        check.finish(controller)
    }

    /// What no stage sees alone. `reverse`: the largest duty backward that is left.
    #[expect(clippy::float_arithmetic, reason = "checks settings; never called by step()")]
    fn check_together(&self, reverse: f32, check: &mut Check) {
        let (lowest, highest) = (self.pulse.plausible_low_us, self.pulse.plausible_high_us);
        let Calibration { low_us, neutral_us, high_us, .. } = self.calibration;
        for (parameter, value) in [
            ("calibration.low_us", low_us),
            ("calibration.neutral_us", neutral_us),
            ("calibration.high_us", high_us),
        ] {
            let within = (lowest..=highest).contains(&value);
            let rule = "it must lie between pulse.plausible_low_us and pulse.plausible_high_us, or \
                        it is never believed";
            check.rule(parameter, value, within, rule);
        }
        check.rule(
            "mode.arm_ms",
            self.mode.arm_ms,
            self.mode.arm_ms >= 2.0 * self.pulse.loss_after_ms,
            "it must be at least twice pulse.loss_after_ms, or silence passes for neutral",
        );
        if let Some(rest) = &self.rest {
            check.rule(
                "rest.authority",
                rest.authority,
                rest.authority <= reverse,
                "it must not exceed limits.reverse (0 where mode.reverse is never), or it holds one \
                 way only",
            );
        }
    }
}
