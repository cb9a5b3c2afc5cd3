//! What the plant remembers, and how it moves on in time.

/// No field of a believable state comes near this.
const BEYOND: f64 = 1.0e8;

macro_rules! continuous {
    ($(#[$meta:meta])* $name:ident { $($(#[$doc:meta])* $field:ident,)* }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, Default, PartialEq)]
        pub struct $name {
            $($(#[$doc])* pub $field: f64,)*
        }

        impl $name {
            /// `self + h * rate`, field by field.
            pub fn plus(&self, h: f64, rate: &Self) -> Self {
                Self { $($field: self.$field + h * rate.$field,)* }
            }

            /// The name of the first field that is no number, or beyond anything a small vehicle does.
            pub fn lost_field(&self) -> Option<&'static str> {
                $(if self.$field.is_nan() || self.$field.abs() > BEYOND { return Some(stringify!($field)); })*
                None
            }
        }
    };
}

continuous! {
    /// The continuous state; the same type holds its rates of change.
    State {
        /// Mean motor current \[A\].
        current_a,
        /// Motor speed \[rad/s\].
        motor_rad_s,
        /// Wheel speed \[rad/s\].
        wheel_rad_s,
        /// Wheel angle \[rad\].
        wheel_rad,
        /// Twist of the drive line seen from the wheels: motor angle / ratio - wheel angle \[rad\].
        twist_rad,
        /// Speed of the body along the way \[m/s\].
        speed_m_s,
        /// Place of the body along the way \[m\].
        place_m,
        /// Deflection of the front tyres' bristles \[m\].
        front_bristle_m,
        /// Deflection of the rear tyres' bristles \[m\].
        rear_bristle_m,
        /// Voltage over the pack's delayed resistance, per cell \[V\].
        delayed_v,
        /// State of charge, 0 to 1.
        charge,
        /// Temperature of the winding \[degrees C\].
        winding_c,
        /// Temperature of the motor's case and magnets \[degrees C\].
        case_c,
        /// Temperature of the bridge's switches \[degrees C\].
        bridge_c,
        /// Energy from the pack's chemistry so far \[J\].
        pack_j,
        /// Heat in the pack and its leads so far \[J\].
        pack_heat_j,
        /// Heat in winding and bridge so far \[J\].
        copper_j,
        /// Work of the motor's own friction so far \[J\].
        motor_friction_j,
        /// Work against the motor's detents so far, which they give back \[J\].
        cogging_j,
        /// Energy to servo, receiver and their supply so far \[J\].
        servo_j,
        /// Loss of the gears so far \[J\].
        gears_j,
        /// Work into the shaft's twist so far, spring and damping \[J\].
        shaft_j,
        /// Work of the tyres' slip so far \[J\].
        tyre_j,
        /// Work against rolling so far \[J\].
        rolling_j,
        /// Work against the air so far \[J\].
        air_j,
        /// Work against snags so far \[J\].
        snag_j,
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
