//! The kinds of motor: what the plant asks of any of them, the state they own, and their list.
//!
//! A new kind is a file with its data made ready and a [`Machine`], and a line in [`AnyMotor`].

use enum_dispatch::enum_dispatch;

use super::friction::{Bristle, DryFriction};
use super::motor::Motor;
use super::time_constant::TimeConstant;
use crate::continuous::continuous;
use crate::rig::MotorData;

continuous! {
    /// A motor's continuous state.
    MotorState {
        /// Mean motor current \[A\].
        current_a: f64,
        /// Motor speed \[rad/s\].
        motor_rad_s: f64,
    }
}

/// A motor between bridge and drive line, as a bridge sees it: one winding with a back-EMF.
#[enum_dispatch]
pub trait Machine {
    /// Torque per current and back-EMF per speed at a magnet temperature \[N m/A = V s/rad\].
    fn constant_at(&self, magnet_c: f64) -> f64;

    /// Resistance at a winding temperature \[ohm\].
    fn resistance_at(&self, winding_c: f64) -> f64;

    /// Inductance \[H\].
    fn inductance_h(&self) -> f64;

    /// Inertia of the rotor \[kg m^2\].
    fn inertia_kg_m2(&self) -> f64;

    /// Dry friction \[N m\].
    fn friction_n_m(&self) -> f64;

    /// Torque of its own friction against its motion \[N m\].
    fn drag_n_m(&self, dry: &DryFriction, bristle: Bristle, speed_rad_s: f64) -> f64;

    /// Back-EMF \[V\].
    fn emf_v(&self, state: &MotorState, magnet_c: f64) -> f64 {
        self.constant_at(magnet_c) * state.motor_rad_s
    }

    /// Rates of its state: `J dw/dt = K i - T` for all torques `T` against the rotor \[N m\]. How the current
    /// changes \[A/s\] is the bridge's to say, which decides what conducts.
    fn rates(
        &self,
        state: &MotorState,
        current_rate: f64,
        magnet_c: f64,
        against_n_m: [f64; 3],
    ) -> MotorState {
        let torque_n_m = self.constant_at(magnet_c) * state.current_a;
        let left_n_m = against_n_m.into_iter().fold(torque_n_m, |left, against| left - against);
        MotorState { current_a: current_rate, motor_rad_s: left_n_m / self.inertia_kg_m2() }
    }

    /// Energy in the winding's field at a current \[J\].
    fn stored_j(&self, current_a: f64) -> f64 {
        0.5 * self.inductance_h() * current_a * current_a
    }

    /// How quickly its current follows with a bridge's resistance \[ohm\] in its circuit, both at 20 degrees C:
    /// `L/R`.
    fn quickest(&self, bridge_ohm: f64) -> TimeConstant {
        let seconds = self.inductance_h() / (self.resistance_at(20.0) + bridge_ohm);
        TimeConstant { seconds, of: "the motor's winding (L/R)" }
    }
}

/// The motor of a rig, of any kind.
#[enum_dispatch(Machine)]
#[derive(Clone, Copy, Debug)]
pub enum AnyMotor {
    /// With permanent magnets and a commutator.
    Motor,
}

impl AnyMotor {
    /// From the rig's data.
    pub fn new(data: &MotorData) -> Self {
        Motor::new(data).into()
    }
}
