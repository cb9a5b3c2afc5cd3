//! The plant's continuous state, and how it moves on in time.

use crate::continuous::{Continuous, continuous};
use crate::parts::motor_kind::MotorState;
use crate::parts::tyre_kind::TyreState;

continuous! {
    /// The continuous state; the same type holds its rates of change.
    State {
        /// The motor's.
        motor: MotorState,
        /// Wheel speed \[rad/s\].
        wheel_rad_s: f64,
        /// Wheel angle \[rad\].
        wheel_rad: f64,
        /// Twist of the drive line seen from the wheels: motor angle / ratio - wheel angle \[rad\].
        twist_rad: f64,
        /// Speed of the body along the way \[m/s\].
        speed_m_s: f64,
        /// Place of the body along the way \[m\].
        place_m: f64,
        /// The tyres'.
        tyres: TyreState,
        /// Voltage over the pack's delayed resistance, per cell \[V\].
        delayed_v: f64,
        /// State of charge, 0 to 1.
        charge: f64,
        /// Temperature of the winding \[degrees C\].
        winding_c: f64,
        /// Temperature of the motor's case and magnets \[degrees C\].
        case_c: f64,
        /// Temperature of the bridge's switches \[degrees C\].
        bridge_c: f64,
        /// Energy from the pack's chemistry so far \[J\].
        pack_j: f64,
        /// Heat in the pack and its leads so far \[J\].
        pack_heat_j: f64,
        /// Heat in winding and bridge so far \[J\].
        copper_j: f64,
        /// Work of the motor's own friction so far \[J\].
        motor_friction_j: f64,
        /// Work against the motor's detents so far, which they give back \[J\].
        cogging_j: f64,
        /// Energy to servo, receiver and their supply so far \[J\].
        servo_j: f64,
        /// Loss of the gears so far \[J\].
        gears_j: f64,
        /// Work into the shaft's twist so far, spring and damping \[J\].
        shaft_j: f64,
        /// Work of the tyres' slip so far \[J\].
        tyre_j: f64,
        /// Work against rolling so far \[J\].
        rolling_j: f64,
        /// Work against the air so far \[J\].
        air_j: f64,
        /// Work against snags so far \[J\].
        snag_j: f64,
    }
}

impl State {
    /// The name of the first field that is no number, or beyond anything a small vehicle does.
    pub fn lost_field(&self) -> Option<&'static str> {
        self.lost("the state")
    }
}

/// One classical Runge-Kutta step of length `h` with the derivative `rates`.
pub fn rk4(state: &State, h: f64, rates: impl Fn(&State) -> State) -> State {
    let k1 = rates(state);
    let k2 = rates(&state.plus(h / 2.0, &k1));
    let k3 = rates(&state.plus(h / 2.0, &k2));
    let k4 = rates(&state.plus(h, &k3));
    let slope = k1.plus(2.0, &k2).plus(2.0, &k3).plus(1.0, &k4);
    state.plus(h / 6.0, &slope)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A mass on a spring, in two of the fields: halving the step must cut the error sixteenfold.
    #[test]
    fn the_order_is_four() {
        let rates =
            |s: &State| State { place_m: s.speed_m_s, speed_m_s: -s.place_m, ..State::default() };
        let error = |steps: u32| {
            let mut state = State { place_m: 1.0, ..State::default() };
            let h = 2.0 / f64::from(steps);
            for _ in 0..steps {
                state = rk4(&state, h, rates);
            }
            (state.place_m - libm::cos(2.0)).abs()
        };
        let ratio = error(20) / error(40);
        assert!((14.0..18.0).contains(&ratio), "{ratio}");
    }
}
