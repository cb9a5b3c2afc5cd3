//! Heat: winding, case, air.
//!
//! ```text
//! C_w dT_w/dt = P - (T_w - T_c)/R_wc,   C_c dT_c/dt = (T_w - T_c)/R_wc - (T_c - T_air)/R_ca
//! ```

use crate::rig::{MotorData, Vehicle};

/// The motor's heat path made ready.
#[derive(Clone, Copy, Debug)]
pub struct HeatPath {
    winding_k_per_j: f64,
    winding_to_case_w_per_k: f64,
    case_k_per_j: f64,
    case_to_air_w_per_k: f64,
    air_c: f64,
}

impl HeatPath {
    /// From the rig's data.
    pub fn new(motor: &MotorData, vehicle: &Vehicle) -> Self {
        Self {
            winding_k_per_j: 1.0 / motor.winding_j_per_k,
            winding_to_case_w_per_k: 1.0 / motor.winding_to_case_k_per_w,
            case_k_per_j: 1.0 / motor.case_j_per_k,
            case_to_air_w_per_k: 1.0 / motor.case_to_air_k_per_w,
            air_c: vehicle.air_c,
        }
    }

    /// Rates of the winding's and the case's temperature \[K/s\] under a heat in the winding.
    pub fn rates(&self, heat_w: f64, winding_c: f64, case_c: f64) -> (f64, f64) {
        let across = (winding_c - case_c) * self.winding_to_case_w_per_k;
        let away = (case_c - self.air_c) * self.case_to_air_w_per_k;
        ((heat_w - across) * self.winding_k_per_j, (across - away) * self.case_k_per_j)
    }
}
