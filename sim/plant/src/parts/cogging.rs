//! Cogging: the detents in which a motor's magnets hold its rotor.
//!
//! ```text
//! torque = -A f sin(N theta),   f = 1 / (1 + (N w / 2000 rad/s)^4)
//! ```
//!
//! The first harmonic only; at angle 0 the rotor rests in a detent. The faster detents pass the less
//! they move the rotor, and above 2000 rad/s, which the default step no longer resolves, they are faded out.

use super::time_constant::TimeConstant;
use crate::rig::MotorData;

/// Detents that pass faster are faded out \[rad/s\].
const FADES_AT_RAD_S: f64 = 2_000.0;

/// A motor's detents made ready.
#[derive(Clone, Copy, Debug)]
pub struct Cogging {
    /// Torque at most \[N m\].
    pub most_n_m: f64,
    per_turn: f64,
}

impl Cogging {
    /// From the rig's data.
    pub fn new(data: &MotorData) -> Self {
        Self { most_n_m: data.cogging_n_m, per_turn: f64::from(data.cogging_per_turn) }
    }

    /// Torque against the rotor's forward motion at an angle and a speed \[N m\].
    pub fn against(&self, motor_rad: f64, motor_rad_s: f64) -> f64 {
        if self.most_n_m == 0.0 {
            return 0.0;
        }
        let passing = self.per_turn * motor_rad_s / FADES_AT_RAD_S;
        let fade = 1.0 / (1.0 + passing * passing * passing * passing);
        self.most_n_m * fade * libm::sin(self.per_turn * motor_rad)
    }

    /// How quickly a rotor swings where they are stiffest.
    pub fn quickest(&self, inertia_kg_m2: f64) -> TimeConstant {
        let stiffness = self.most_n_m * self.per_turn;
        let seconds = 1.0 / (stiffness / inertia_kg_m2).sqrt();
        TimeConstant { seconds, of: "the motor's detents (sqrt(J / (N A)))" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Turned slowly the detents give back what they took, and hold with their full torque between.
    #[test]
    fn detents_give_back_what_they_take() {
        let cogging = Cogging { most_n_m: 0.01, per_turn: 12.0 };
        let turn = std::f64::consts::TAU / 12.0;
        let at = |part: f64, speed: f64| cogging.against(turn * part, speed);
        let round: Vec<f64> = (0..1_000).map(|i| at(f64::from(i) / 1_000.0, 0.0)).collect();
        assert!(round.iter().sum::<f64>().abs() < 1e-9);
        assert!((at(0.25, 0.0) - 0.01).abs() < 1e-9, "a quarter of the way it pulls back");
        assert!((at(0.75, 0.0) + 0.01).abs() < 1e-9, "and from three quarters on");
        // 100 rad/s pass at 1200 rad/s, 1000 rad/s at 12,000 rad/s.
        assert!(at(0.25, 100.0) > 0.88 * 0.01);
        assert!(at(0.25, 1_000.0) < 0.001 * 0.01);
    }
}
