//! The steering servo, the supply that feeds it from the pack, and the receiver on the same supply.
//!
//! ```text
//! I_s / I_stall = u V / V_rated - n            u: -1 to 1 by the position's error, full from a 20th of the way
//! dn/dt = (I_s / I_stall - load z) / lag,   dp/dt = n * ends per time without load
//! V = min(V_supply, V_bus - dropout), less where the current would pass the limit
//! I_bus = V (u I_s + I_idle) / (efficiency V_bus)
//! ```
//!
//! `n` is the servo motor's speed over its speed without load, `p` the position from -1 to 1, `z` the bristle of
//! dry friction in the steering. A DC motor, in shares of its own figures (algebra); the drive of the
//! motor takes `|u|` of the supply, so the supply's current is `u I_s`, and what would flow back stays in the
//! servo. Below its voltage for long enough the receiver stops, `u` is nothing and no pulses come; it is back a while
//! after the voltage is.

use crate::rig::Steering;

/// Push per error of the position: all of it from a 20th of the whole way on.
const PUSH_PER_ERROR: f64 = 10.0;
/// The voltage to which the pack may collapse in the sums \[V\].
const LEAST_BUS_V: f64 = 1.0;

/// Servo, supply and receiver made ready.
#[derive(Clone, Copy, Debug)]
pub struct Servo {
    data: Steering,
    per_rated_v: f64,
    per_lag_s: f64,
    /// Way per time at the speed without load \[1/s\].
    ends_per_s: f64,
    per_efficiency: f64,
}

/// What they do at the moment. The default is at rest in the middle, the receiver running.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ServoState {
    /// Where the steering is told to be, -1 to 1.
    pub wish: f64,
    /// Where it is, -1 to 1.
    pub position: f64,
    /// The servo motor's speed over its speed without load.
    pub speed: f64,
    /// Voltage of the supply \[V\].
    pub supply_v: f64,
    /// Current of servo and receiver \[A\].
    pub servo_a: f64,
    /// Current that the supply draws from the pack \[A\].
    pub bus_a: f64,
    /// For how long the supply has been below the receiver's voltage \[s\].
    pub low_s: f64,
    /// For how long the receiver will be gone still \[s\].
    pub gone_s: f64,
}

impl ServoState {
    /// Whether the receiver gives pulses.
    pub fn receiver_runs(&self) -> bool {
        self.gone_s <= 0.0
    }
}

impl Servo {
    /// From the rig's data.
    pub fn new(data: &Steering) -> Self {
        Self {
            data: *data,
            per_rated_v: 1.0 / data.rated_v,
            per_lag_s: 1.0 / data.lag_s,
            ends_per_s: 2.0 / data.travel_s,
            per_efficiency: 1.0 / data.efficiency,
        }
    }

    /// At rest on a pack of a voltage.
    pub fn at_rest(&self, bus_v: f64) -> ServoState {
        let mut state = ServoState::default();
        self.step(&mut state, bus_v, 0.0);
        state
    }

    /// One step of the plant, with `bus_v` at the pack's leads.
    pub fn step(&self, state: &mut ServoState, bus_v: f64, step_s: f64) {
        let data = &self.data;
        let most_v = data.supply_v.min(bus_v - data.dropout_v).max(0.0);
        let error = if state.receiver_runs() { state.wish - state.position } else { 0.0 };
        let push = (error * PUSH_PER_ERROR).clamp(-1.0, 1.0);

        // The current rises with the voltage in a straight line; at its limit the supply gives way.
        let drawn = |volts: f64| {
            let share = push * volts * self.per_rated_v - state.speed;
            (share, (push * share).max(0.0) * data.stall_a + data.idle_a)
        };
        let (mut supply_v, (mut share, mut servo_a)) = (most_v, drawn(most_v));
        if servo_a > data.limit_a {
            let none_a = drawn(0.0).1;
            supply_v = most_v * ((data.limit_a - none_a) / (servo_a - none_a)).clamp(0.0, 1.0);
            (share, servo_a) = drawn(supply_v);
        }
        (state.supply_v, state.servo_a) = (supply_v, servo_a);
        state.bus_a = supply_v * servo_a * self.per_efficiency / bus_v.max(LEAST_BUS_V);

        self.turn(state, share, step_s);
        let low = state.supply_v < data.receiver_v;
        state.low_s = if low { state.low_s + step_s } else { 0.0 };
        if low && state.low_s >= data.receiver_holds_s {
            state.gone_s = data.receiver_restart_s.max(step_s);
        } else {
            state.gone_s -= state.gone_s.min(step_s);
        }
    }

    /// The motor's torque as a share of its torque held fast turns the steering against its friction.
    fn turn(&self, state: &mut ServoState, torque: f64, step_s: f64) {
        let lags = step_s * self.per_lag_s;
        let free = state.speed + torque * lags;
        let most = self.data.load * lags;
        // Dry friction takes what it can of the speed, and no more.
        state.speed = free - free.clamp(-most, most);
        let moved = state.position + state.speed * step_s * self.ends_per_s;
        state.position = moved.clamp(-1.0, 1.0);
        if state.position != moved {
            state.speed = 0.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn data() -> Steering {
        Steering {
            supply_v: 6.0,
            dropout_v: 0.5,
            limit_a: 10.0,
            efficiency: 0.8,
            receiver_v: 3.5,
            receiver_holds_s: 0.0,
            receiver_restart_s: 0.5,
            idle_a: 0.1,
            stall_a: 2.0,
            rated_v: 6.0,
            travel_s: 0.2,
            lag_s: 0.02,
            load: 0.0,
        }
    }

    const STEP_S: f64 = 0.25e-3;

    fn after(servo: &Servo, state: &mut ServoState, bus_v: f64, seconds: f64) {
        for _ in 0..(seconds / STEP_S).round() as u32 {
            servo.step(state, bus_v, STEP_S);
        }
    }

    /// Algebra of a DC motor: held fast it draws its stall current at its voltage, and the pack gives
    /// that power over efficiency and pack voltage.
    #[test]
    fn held_fast_it_draws_its_stall_current() {
        let servo = Servo::new(&Steering { load: 5.0, ..data() });
        let mut state = servo.at_rest(11.0);
        state.wish = 1.0;
        after(&servo, &mut state, 11.0, 0.1);
        assert_eq!(state.position, 0.0);
        assert!((state.servo_a - 2.1).abs() < 1e-9, "{}", state.servo_a);
        assert!((state.bus_a - 6.0 * 2.1 / (0.8 * 11.0)).abs() < 1e-9);
        // On a pack that only gives 5 V the current falls in proportion.
        after(&servo, &mut state, 5.0, 0.1);
        assert!((state.supply_v - 4.5).abs() < 1e-9);
        assert!((state.servo_a - (2.0 * 4.5 / 6.0 + 0.1)).abs() < 1e-9);
    }

    /// Free, a DC motor with the time constant `lag` takes nearly `lag` longer than at full speed all the
    /// way: `x(t) = t - lag (1 - e^(-t / lag))` ends for `t` = way + lag.
    #[test]
    fn free_it_travels_in_its_time() {
        let servo = Servo::new(&data());
        let mut state = ServoState { position: -1.0, wish: 2.0, ..servo.at_rest(11.0) };
        after(&servo, &mut state, 11.0, 0.215);
        assert!(state.position < 1.0, "{}", state.position);
        after(&servo, &mut state, 11.0, 0.01);
        assert_eq!(state.position, 1.0);
        // With a load of a fifth of its torque it runs at four fifths of its speed.
        let servo = Servo::new(&Steering { load: 0.2, travel_s: 2.0, ..data() });
        let mut state = ServoState { position: -1.0, wish: 1.0, ..servo.at_rest(11.0) };
        after(&servo, &mut state, 11.0, 0.5);
        assert!((state.speed - 0.8).abs() < 1e-6, "{}", state.speed);
        assert!((state.servo_a - (0.2 * 2.0 + 0.1)).abs() < 1e-6, "{}", state.servo_a);
    }

    /// Beyond its limit the supply's voltage falls until the current is at the limit.
    #[test]
    fn the_supply_gives_way_at_its_limit_and_the_receiver_goes() {
        let servo = Servo::new(&Steering { load: 5.0, limit_a: 1.1, ..data() });
        let mut state = servo.at_rest(11.0);
        state.wish = 1.0;
        servo.step(&mut state, 11.0, STEP_S);
        assert!((state.servo_a - 1.1).abs() < 1e-9);
        assert!((state.supply_v - 3.0).abs() < 1e-9, "{}", state.supply_v);
        assert!(!state.receiver_runs());
        // Without a signal the servo lets go, the voltage is back, and half a second later the receiver.
        after(&servo, &mut state, 11.0, 0.49);
        assert_eq!(state.supply_v, 6.0);
        assert!(!state.receiver_runs());
        state.wish = 0.0;
        after(&servo, &mut state, 11.0, 0.02);
        assert!(state.receiver_runs());
    }
}
