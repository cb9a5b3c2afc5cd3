//! The one place where settings become a controller.

use crate::controller::Controller;
use crate::monitor::Monitor;
use crate::settings::{Settings, allowed};
use crate::shared::error::{Check, SettingsErrors};
use crate::shared::ramp::TickRate;
use crate::stages::demand::Calibration;
use crate::stages::ease::Ease;
use crate::stages::mode::ReversePolicy;

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
