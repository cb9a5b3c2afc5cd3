//! The tyres: one friction model for sticking, creeping and sliding.
//!
//! LuGre (Canudas de Wit, Olsson, Åström, Lischinsky, IEEE Trans. Autom. Control 40, 1995; quoted
//! from memory), per newton of normal load, `v_r` being the surface speed of the wheel less the speed
//! over ground:
//!
//! ```text
//! dz/dt = v_r - sigma_0 |v_r| z / g(v_r),   F = N (sigma_0 z + sigma_1 s dz/dt)
//! g(v_r) = mu_s + (mu_p - mu_s) s,   s = 1 / (1 + (v_r / v_s)^2)
//! ```
//!
//! The bristles' damping falls with speed as the friction does; otherwise a wheel that begins to slide fast
//! would pull with `sigma_1 v_r`, more than its friction.
//!
//! Both axles turn together, each on its own ground with its own deflection.

use super::time_constant::TimeConstant;
use super::tyre_kind::{Tyre, TyreState};
use crate::ground::Patch;
use crate::rig::Wheels;

/// Tyres made ready.
#[derive(Clone, Copy, Debug)]
pub struct Tyres {
    stiffness_per_m: f64,
    damping_s_per_m: f64,
}

/// Speed at which friction has fallen half-way from peak to sliding \[m/s\]; assumed.
const STRIBECK_M_S: f64 = 0.3;

impl Tyres {
    /// From the rig's data.
    pub fn new(wheels: &Wheels) -> Self {
        Self {
            stiffness_per_m: wheels.tyre_stiffness_per_m,
            damping_s_per_m: wheels.tyre_damping_s_per_m,
        }
    }

    /// Of one axle: force per normal load \[N/N\] forward on the body, and the rate of the deflection \[m/s\].
    pub fn grip(&self, bristle_m: f64, slip_m_s: f64, on: Patch) -> (f64, f64) {
        let relative = slip_m_s * (1.0 / STRIBECK_M_S);
        let slow = 1.0 / (1.0 + relative * relative);
        let limit = on.grip_sliding + (on.grip - on.grip_sliding) * slow;
        let rate = slip_m_s - self.stiffness_per_m * slip_m_s.abs() * bristle_m / limit;
        (self.stiffness_per_m * bristle_m + self.damping_s_per_m * slow * rate, rate)
    }
}

impl Tyre for Tyres {
    fn grips(&self, state: &TyreState, slip_m_s: f64, axles: [Patch; 2]) -> ([f64; 2], TyreState) {
        let [front, rear] = axles;
        let (front_grip, front_bristle_m) = self.grip(state.front_bristle_m, slip_m_s, front);
        let (rear_grip, rear_bristle_m) = self.grip(state.rear_bristle_m, slip_m_s, rear);
        ([front_grip, rear_grip], TyreState { front_bristle_m, rear_bristle_m })
    }

    /// `1/sqrt(sigma_0 N s)` and `1/(sigma_1 N s)`, `s` being what a force does to the slip.
    fn quickest(&self, normal_n: f64, slip_per_n_s: f64) -> TimeConstant {
        let both = normal_n * slip_per_n_s;
        let stiff = 1.0 / (self.stiffness_per_m * both).sqrt();
        let damped = 1.0 / (self.damping_s_per_m * both);
        TimeConstant { seconds: stiff, of: "the tyres' stiffness" }
            .least(TimeConstant { seconds: damped, of: "the tyres' damping" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sliding_settles_at_the_friction_limit() {
        let tyres = Tyres::new(&Wheels {
            radius_m: 0.05,
            inertia_kg_m2: 1.0e-3,
            tyre_stiffness_per_m: 200.0,
            tyre_damping_s_per_m: 0.5,
        });
        let on = Patch { grip: 0.8, grip_sliding: 0.6, rolling: 0.0 };
        for (slip, expected) in [(5.0, 0.6), (-5.0, -0.6), (0.3, 0.7)] {
            let mut bristle = 0.0;
            for _ in 0..20_000 {
                bristle += 1.0e-5 * tyres.grip(bristle, slip, on).1;
            }
            let force = tyres.grip(bristle, slip, on).0;
            assert!((force - expected).abs() < 2e-3, "{force} at {slip} m/s");
        }
    }
}
