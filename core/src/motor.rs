//! What the controller knows of the motor and gearing: enough to turn a speed into a back-EMF.

use fixed::types::I16F16;

use crate::error::Check;
use crate::units::{Speed, Volt, prepared};

/// Constants of the drive, as measured or as printed on the parts.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct MotorSettings {
    /// Speed constant \[rpm/V\], 10 to 20,000.
    pub kv_rpm_per_v: f32,
    /// Motor turns per wheel turn, 1 to 500.
    pub gear_ratio: f32,
    /// Resistance from bus to bus through windings and bridge, at room temperature \[ohm\],
    /// 0.001 to 50.
    pub resistance_ohm: f32,
}

impl Default for MotorSettings {
    /// 1000 rpm/V, 20:1, 0.1 ohm.
    fn default() -> Self {
        Self { kv_rpm_per_v: 1_000.0, gear_ratio: 20.0, resistance_ohm: 0.1 }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Motor {
    /// Back-EMF per wheel speed, `K G` \[V s/rad\] with `K = 60 / (2 pi kV)`.
    emf_per_speed: I16F16,
    /// \[ohm\], for stages that prepare currents into voltages.
    pub(crate) resistance_ohm: f32,
}

impl MotorSettings {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, check: &mut Check) -> Motor {
        let kv = check.range("motor.kv_rpm_per_v", self.kv_rpm_per_v, 10.0..=20_000.0);
        let ratio = check.range("motor.gear_ratio", self.gear_ratio, 1.0..=500.0);
        let ohms = check.range("motor.resistance_ohm", self.resistance_ohm, 0.001..=50.0);
        let k = 60.0 / (2.0 * core::f32::consts::PI * kv);
        Motor { emf_per_speed: prepared(k * ratio), resistance_ohm: ohms }
    }
}

impl Motor {
    /// The size of the back-EMF at a wheel speed: `K G |w|`.
    pub(crate) fn emf(&self, speed: Speed) -> Volt {
        Volt::saturate(self.emf_per_speed.saturating_mul(speed.raw().saturating_abs()))
    }
}
