//! What the controller knows of the motor and gearing: enough to turn a speed into a back-EMF, and
//! a duty, a voltage and a current into a speed.
//!
//! Source: algebra of the motor with one constant for torque and EMF (`Ke = Kt` in SI units, as in the
//! DC motor note of MuJoCo, section 1.1).

use fixed::types::I16F16;

use crate::settings::allowed;
use crate::shared::error::Check;
use crate::shared::units::{Amp, Duty, Speed, Volt, prepared, product};

/// Constants of the drive, as measured or as printed on the parts.
///
/// `K = 60 / (2 pi kV)` \[V s/rad\]; back-EMF at a wheel speed w: `K G |w|`; estimated wheel speed:
/// `(duty V - I R) / (K G)`.
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// tune.motor.estimate_from_a = Some(1.0);
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// controller.step_for(&mut state, &throttle(1_500.0), 600);
/// let (voltage, current) = (Volt::new(11.0), Amp::new(10.0));
/// let full = Input { voltage, current, ..throttle(2_000.0) };
/// let speed = controller.step_for(&mut state, &full, 1_000).trace.speed.unwrap();
/// let exact = (11.0 - 10.0 * 0.1) / (60.0 / (2.0 * core::f32::consts::PI * 1_000.0) * 20.0);
/// assert!((speed.to_f32() - exact).abs() < 0.01);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct MotorSettings {
    /// Speed constant \[rpm/V\], 10 to 20,000.
    pub kv_rpm_per_v: f32,
    /// Motor turns per wheel turn, 1 to 500.
    pub gear_ratio: f32,
    /// Resistance from bus to bus through windings and bridge, at room temperature \[ohm\],
    /// 0.001 to 50.
    pub resistance_ohm: f32,
    /// Without a speed sensor, estimate the speed while the motor drives with at least this
    /// current \[A\], 0.1 to 100; `None`: do not.
    pub estimate_from_a: Option<f32>,
}

impl Default for MotorSettings {
    /// 1000 rpm/V, 20:1, 0.1 ohm, no estimate.
    fn default() -> Self {
        Self { kv_rpm_per_v: 1_000.0, gear_ratio: 20.0, resistance_ohm: 0.1, estimate_from_a: None }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Motor {
    /// Back-EMF per wheel speed, `K G` \[V s/rad\] with `K = 60 / (2 pi kV)`.
    emf_per_speed: I16F16,
    /// `1 / (K G)`.
    speed_per_volt: I16F16,
    /// `R / (K G)`.
    speed_per_amp: I16F16,
    estimate_from: Option<I16F16>,
    /// \[ohm\], for stages that prepare currents into voltages.
    pub(crate) resistance_ohm: f32,
}

impl MotorSettings {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, check: &mut Check) -> Motor {
        let kv = check.range(allowed!("motor.kv_rpm_per_v"), self.kv_rpm_per_v);
        let ratio = check.range(allowed!("motor.gear_ratio"), self.gear_ratio);
        let ohms = check.range(allowed!("motor.resistance_ohm"), self.resistance_ohm);
        let from = self
            .estimate_from_a
            .map(|amps| prepared(check.range(allowed!("motor.estimate_from_a"), amps)));
        let emf_per_speed = 60.0 / (2.0 * core::f32::consts::PI * kv) * ratio;
        check.rule(
            "motor.estimate_from_a",
            self.estimate_from_a.unwrap_or_default(),
            from.is_none() || ohms / emf_per_speed < 32_000.0,
            "a motor with so little torque per ampere leaves no room for an estimate; leave it out",
        );
        Motor {
            emf_per_speed: prepared(emf_per_speed),
            speed_per_volt: prepared(1.0 / emf_per_speed),
            speed_per_amp: prepared(ohms / emf_per_speed),
            estimate_from: from,
            resistance_ohm: ohms,
        }
    }
}

impl Motor {
    /// The size of the back-EMF at a wheel speed: `K G |w|`.
    pub(crate) fn emf(&self, speed: Speed) -> Volt {
        Volt::saturate(product(self.emf_per_speed, speed.raw().saturating_abs()))
    }

    /// Wheel speed from what the motor was given: `w = (duty V - I R) / (K G)`.
    ///
    /// Valid only while the bridge pushes current the way it drives: with less than the stated
    /// current, braking or coasting, the motor's terminals are open for part of the time and
    /// `duty V` is not what they see. `None` there, and without voltage or current.
    ///
    /// The resistance is the one at room temperature. Copper gains 31 % from 20 to 100 degrees C
    /// (IEC 60028, second hand), which reads as `0.31 I R / (K G)` too fast.
    pub(crate) fn estimate(
        &self,
        duty: Duty,
        voltage: Option<Volt>,
        current: Option<Amp>,
    ) -> Option<Speed> {
        let (from, volt, amp) = (self.estimate_from?, voltage?.raw(), current?.raw());
        let forward = duty > Duty::ZERO;
        let pushed = if forward { amp } else { I16F16::ZERO.saturating_sub(amp) };
        if duty == Duty::ZERO || pushed < from {
            return None;
        }
        let driven = product(self.speed_per_volt, product(volt, duty.raw()));
        Some(Speed::saturate(driven.saturating_sub(product(self.speed_per_amp, amp))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn motor(estimate_from_a: Option<f32>) -> Motor {
        let mut check = Check::new();
        let settings = MotorSettings { estimate_from_a, ..MotorSettings::default() };
        let motor = settings.prepare(&mut check);
        check.finish(motor).unwrap()
    }

    /// The motor equation `V = I R + K w` solved for `w`, both ways round.
    #[test]
    fn the_estimate_is_the_motor_equation() {
        let motor = motor(Some(1.0));
        let kg = 60.0 / (2.0 * core::f32::consts::PI * 1_000.0) * 20.0;
        for (duty, volt, amp) in [(0.5_f32, 12.0, 8.0), (1.0, 11.1, 40.0), (-0.3, 12.0, -5.0)] {
            let ours = motor.estimate(Duty::new(duty).unwrap(), Volt::new(volt), Amp::new(amp));
            let exact = (duty * volt - amp * 0.1) / kg;
            assert!((ours.unwrap().to_f32() - exact).abs() < 2e-3, "{ours:?}, {exact}");
        }
    }

    #[test]
    fn outside_its_range_there_is_no_estimate() {
        let (half, volt) = (Duty::from_bits(32_768), Volt::new(12.0));
        let motor = motor(Some(1.0));
        assert!(motor.estimate(half, volt, Amp::new(1.0)).is_some());
        assert_eq!(motor.estimate(half, volt, Amp::new(0.99)), None);
        assert_eq!(motor.estimate(half, volt, Amp::new(-5.0)), None);
        assert_eq!(motor.estimate(Duty::from_bits(-32_768), volt, Amp::new(5.0)), None);
        assert_eq!(motor.estimate(Duty::ZERO, volt, Amp::new(5.0)), None);
        assert_eq!(motor.estimate(half, None, Amp::new(5.0)), None);
        assert_eq!(motor.estimate(half, volt, None), None);
        assert_eq!(self::motor(None).estimate(half, volt, Amp::new(5.0)), None);
    }
}
