//! From motor to wheels: ratio, losses by direction, play, springiness.
//!
//! The shaft is a spring with play (the Modelica Standard Library's ElastoBacklash2:
//! no torque inside the gap, never a pull across it). The gears lose a share of the power on its way,
//! whichever way it goes, so a train may drive well and be hard to turn back (the Modelica Standard Library's
//! LossyGear).

use super::friction::Bristle;
use super::time_constant::TimeConstant;
use crate::rig::Gears;

/// A drive line made ready.
#[derive(Clone, Copy, Debug)]
pub struct DriveLine {
    /// Motor turns per wheel turn.
    pub ratio: f64,
    stiffness: f64,
    damping: f64,
    half_play_rad: f64,
    /// Torque the motor must give per torque that arrives, driving and driven back.
    need_driving: f64,
    need_driven_back: f64,
    /// Half the difference of both: what the direction of motion decides.
    half_loss: f64,
    per_ratio: f64,
}

impl DriveLine {
    /// From the rig's data.
    pub fn new(gears: &Gears) -> Self {
        Self {
            ratio: gears.ratio(),
            stiffness: gears.stiffness_n_m_per_rad,
            damping: gears.damping_n_m_s_per_rad,
            half_play_rad: gears.backlash_deg.to_radians() / 2.0,
            need_driving: 1.0 / gears.efficiency_driving,
            need_driven_back: gears.efficiency_driven_back,
            half_loss: (1.0 / gears.efficiency_driving - gears.efficiency_driven_back) / 2.0,
            per_ratio: 1.0 / gears.ratio(),
        }
    }

    /// Torque the shaft puts on the wheels \[N m\].
    pub fn shaft_torque(&self, twist_rad: f64, twist_rad_s: f64) -> f64 {
        let damped = self.damping * twist_rad_s;
        if twist_rad > self.half_play_rad {
            (self.stiffness * (twist_rad - self.half_play_rad) + damped).max(0.0)
        } else if twist_rad < -self.half_play_rad {
            (self.stiffness * (twist_rad + self.half_play_rad) + damped).min(0.0)
        } else {
            0.0
        }
    }

    /// How far a twist is beyond the play \[rad\]; negative within it.
    pub fn gap(&self, twist_rad: f64) -> f64 {
        twist_rad.abs() - self.half_play_rad
    }

    /// The twist on that side at which the gears have just met \[rad\].
    pub fn met(&self, twist_rad: f64) -> f64 {
        (self.half_play_rad * (1.0 + 1.0e-12)).copysign(twist_rad)
    }

    /// Torque the shaft takes from the motor \[N m\]: `T / (G eta)` driving, `T eta_b / G` driven
    /// back. Around standstill it passes from one to the other with the motor's bristle; between
    /// them the train holds still.
    pub fn motor_load(&self, shaft_n_m: f64, bristle: Bristle) -> f64 {
        let ideal = shaft_n_m * self.per_ratio;
        let mean = (self.need_driving + self.need_driven_back) / 2.0;
        ideal * mean + ideal.abs() * self.half_loss * bristle.share()
    }

    /// The dry friction that the gears' loss is at a torque, seen from the motor \[N m\].
    pub(crate) fn loss_n_m(&self, shaft_n_m: f64) -> f64 {
        (shaft_n_m * self.per_ratio).abs() * self.half_loss
    }

    /// How quickly it changes between the inertias of motor and wheels: `1/sqrt(k s)` and `1/(d s)` with
    /// `s = 1/J_w + 1/(J_m G^2)`.
    pub fn quickest(&self, motor_kg_m2: f64, wheels_kg_m2: f64) -> TimeConstant {
        let both = 1.0 / wheels_kg_m2 + 1.0 / (motor_kg_m2 * self.ratio * self.ratio);
        let spring = 1.0 / (self.stiffness * both).sqrt();
        let damped = 1.0 / (self.damping * both);
        TimeConstant { seconds: spring, of: "the drive line's spring" }
            .least(TimeConstant { seconds: damped, of: "the drive line's damping" })
    }

    /// Energy in the twisted shaft \[J\].
    pub(crate) fn spring_j(&self, twist_rad: f64) -> f64 {
        let stretch = (twist_rad.abs() - self.half_play_rad).max(0.0);
        0.5 * self.stiffness * stretch * stretch
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(efficiency_driving: f64, efficiency_driven_back: f64) -> DriveLine {
        DriveLine::new(&Gears {
            pinion_teeth: 10,
            spur_teeth: 20,
            internal_ratio: 1.0,
            efficiency_driving,
            efficiency_driven_back,
            stiffness_n_m_per_rad: 50.0,
            damping_n_m_s_per_rad: 0.5,
            backlash_deg: 2.0,
            rating_n_m: 1.0,
        })
    }

    /// Modelica Standard Library, ElastoBacklash2: zero in the gap, stiffness beyond it, and no pull while it closes.
    #[test]
    fn the_play_carries_no_torque_and_the_spring_never_pulls_across_it() {
        let line = line(1.0, 1.0);
        let half = 1.0_f64.to_radians();
        assert_eq!(line.shaft_torque(0.9 * half, 3.0), 0.0);
        assert!((line.shaft_torque(half + 0.01, 0.0) - 0.5).abs() < 1e-12);
        assert!((line.shaft_torque(-half - 0.01, 0.0) + 0.5).abs() < 1e-12);
        assert_eq!(line.shaft_torque(half + 0.001, -9.0), 0.0);
    }

    /// Modelica Standard Library, LossyGear: the lost power is the same share of what goes in, whichever way it goes.
    #[test]
    fn losses_take_their_share_in_both_directions() {
        let line = line(0.8, 0.6);
        let motor = line.motor_load(4.0, Bristle::sliding(1.0));
        assert!((motor * 2.0 * 0.8 - 4.0).abs() < 1e-3, "driving: {motor}");
        let back = line.motor_load(4.0, Bristle::sliding(-1.0));
        assert!((back * 2.0 - 4.0 * 0.6).abs() < 1e-3, "driven back: {back}");
    }
}
