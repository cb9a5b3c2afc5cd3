//! The motor: torque from current, back-EMF from speed, friction from its free-running data.
//!
//! ```text
//! torque = K i - T_c z - b w (z: see `friction.rs`),   K = 60 / (2 pi kV)
//! R = R_20 (1 + 0.00393 (T - 20)),    K = K_20 (1 - 0.0011 (T - 20))
//! ```
//!
//! Copper by IEC 60028 (second hand); the magnets' falling flux is that of NdFeB
//! (a common data-sheet value, no source).

use super::friction::{Bristle, DryFriction};
use super::motor_kind::Machine;
use crate::rig::MotorData;

/// A motor made ready.
#[derive(Clone, Copy, Debug)]
pub struct Motor {
    /// Torque and EMF constant at 20 degrees C \[N m/A = V s/rad\].
    pub constant: f64,
    /// Winding resistance at 20 degrees C \[ohm\].
    pub resistance_ohm: f64,
    /// Winding inductance \[H\].
    pub inductance_h: f64,
    /// Dry friction \[N m\].
    pub friction_n_m: f64,
    /// Viscous friction \[N m s/rad\].
    pub viscous_n_m_s: f64,
    /// Rotor inertia \[kg m^2\].
    pub inertia_kg_m2: f64,
}

impl Motor {
    /// From the rig's data. The free-running torque `K I_0` is split into a dry and a viscous part.
    pub fn new(data: &MotorData) -> Self {
        let constant = data.constant();
        let free_n_m = constant * data.no_load_a;
        let drop_v = data.resistance_ohm * data.no_load_a;
        let free_rad_s = ((data.no_load_v - drop_v) / constant).max(1.0);
        Self {
            constant,
            resistance_ohm: data.resistance_ohm,
            inductance_h: data.inductance_uh * 1.0e-6,
            friction_n_m: free_n_m * (1.0 - data.viscous_share),
            viscous_n_m_s: free_n_m * data.viscous_share / free_rad_s,
            inertia_kg_m2: data.rotor_inertia_kg_m2,
        }
    }
}

impl Machine for Motor {
    fn constant_at(&self, magnet_c: f64) -> f64 {
        self.constant * (1.0 - 0.0011 * (magnet_c - 20.0))
    }

    fn resistance_at(&self, winding_c: f64) -> f64 {
        self.resistance_ohm * (1.0 + 0.00393 * (winding_c - 20.0))
    }

    fn inductance_h(&self) -> f64 {
        self.inductance_h
    }

    fn inertia_kg_m2(&self) -> f64 {
        self.inertia_kg_m2
    }

    fn friction_n_m(&self) -> f64 {
        self.friction_n_m
    }

    fn drag_n_m(&self, dry: &DryFriction, bristle: Bristle, speed_rad_s: f64) -> f64 {
        dry.against(bristle, self.friction_n_m, speed_rad_s) + self.viscous_n_m_s * speed_rad_s
    }
}
