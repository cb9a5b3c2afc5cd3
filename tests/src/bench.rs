//! The simulator's motor and bridge by themselves, on an ideal supply.

use easeoff_plant::parts::bridge::{Action, Circuit, Electrical, settle};
use easeoff_plant::parts::cogging::Cogging;
use easeoff_plant::parts::friction::{Bristle, DryFriction};
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::parts::motor_kind::{Machine, MotorState};
use easeoff_plant::state::{State, rk4};

/// A motor on an ideal supply behind an ideal bridge.
#[derive(Clone, Copy, Debug)]
pub struct Bench {
    /// The motor, cold.
    pub motor: Motor,
    /// Its detents; the rotor's angle is the state's `wheel_rad`.
    pub cogging: Option<Cogging>,
    /// The supply \[V\].
    pub volts: f64,
    /// Whether a driven motor may feed the supply.
    pub synchronous: bool,
    /// A constant torque against it \[N m\].
    pub load_n_m: f64,
}

impl Bench {
    /// A motor without detents or load behind a synchronous bridge.
    pub fn of(motor: Motor, volts: f64) -> Self {
        Self { motor, cogging: None, volts, synchronous: true, load_n_m: 0.0 }
    }

    /// University of Michigan, Control Tutorials (CTMS), "DC Motor Speed":
    /// J 0.01, b 0.1, K 0.01, R 1, L 0.5; at 1 V.
    pub fn tutorial() -> Self {
        let motor = Motor {
            constant: 0.01,
            resistance_ohm: 1.0,
            inductance_h: 0.5,
            friction_n_m: 0.0,
            viscous_n_m_s: 0.1,
            inertia_kg_m2: 0.01,
        };
        Self::of(motor, 1.0)
    }

    /// K 0.05, R 0.2, J 1e-3, without friction; at 12 V.
    pub fn small(inductance_h: f64) -> Self {
        let motor = Motor {
            constant: 0.05,
            resistance_ohm: 0.2,
            inductance_h,
            friction_n_m: 0.0,
            viscous_n_m_s: 0.0,
            inertia_kg_m2: 1.0e-3,
        };
        Self::of(motor, 12.0)
    }

    /// What the bridge lets flow.
    pub fn flows(&self, action: Action, now: &State) -> Electrical {
        let circuit = Circuit {
            open_v: self.volts,
            pack_ohm: 0.0,
            motor_ohm: self.motor.resistance_ohm,
            inductance_h: self.motor.inductance_h,
            emf_v: self.motor.constant * now.motor.motor_rad_s,
            synchronous: self.synchronous,
            beside_a: 0.0,
            feed_a: None,
        };
        circuit.flows(action, now.motor.current_a)
    }

    /// Torque at the shaft, the motor's own friction and detents taken off \[N m\].
    pub fn torque(&self, now: &State) -> f64 {
        let dry = DryFriction::new(self.motor.friction_n_m, self.motor.inertia_kg_m2);
        let way = if now.motor.motor_rad_s == 0.0 { 0.0 } else { now.motor.motor_rad_s.signum() };
        let drag_n_m = self.motor.drag_n_m(&dry, Bristle::sliding(way), now.motor.motor_rad_s);
        let detents =
            self.cogging.map_or(0.0, |cog| cog.against(now.wheel_rad, now.motor.motor_rad_s));
        self.motor.constant * now.motor.current_a - drag_n_m - detents
    }

    fn rates(&self, action: Action, now: &State) -> State {
        State {
            motor: MotorState {
                current_a: self.flows(action, now).current_rate,
                motor_rad_s: (self.torque(now) - self.load_n_m) / self.motor.inertia_kg_m2,
            },
            wheel_rad: now.motor.motor_rad_s,
            ..State::default()
        }
    }

    /// One step of the simulator's method.
    pub fn step(&self, action: Action, now: &State, step_s: f64) -> State {
        let mut next = rk4(now, step_s, |now| self.rates(action, now));
        next.motor.current_a = settle(
            action,
            self.synchronous,
            self.motor.constant * next.motor.motor_rad_s,
            now.motor.current_a,
            next.motor.current_a,
        );
        next
    }

    /// The state after `seconds` in so many steps.
    pub fn run(&self, action: Action, mut now: State, seconds: f64, steps: u32) -> State {
        for _ in 0..steps {
            now = self.step(action, &now, seconds / f64::from(steps));
        }
        now
    }

    /// The state at a speed held from outside, the current settled. The current's rate is a straight
    /// line over the current, so two points of it give the zero.
    pub fn held(&self, action: Action, motor_rad_s: f64) -> State {
        let at =
            |current_a| State { motor: MotorState { current_a, motor_rad_s }, ..State::default() };
        let rate = |current_a| self.flows(action, &at(current_a)).current_rate;
        let (at_0, at_1) = (rate(0.0), rate(1.0));
        at(at_0 / (at_0 - at_1))
    }

    /// Coefficients of `s^2 + a s + b` from the rates' derivatives by current and speed.
    pub fn characteristic(&self) -> [f64; 2] {
        let rates = |current_a, motor_rad_s| {
            let motor = MotorState { current_a, motor_rad_s };
            self.rates(Action::Drive(1.0), &State { motor, ..State::default() }).motor
        };
        let (zero, by_i, by_w) = (rates(0.0, 0.0), rates(1.0, 0.0), rates(0.0, 1.0));
        let (ii, wi) = (by_i.current_a - zero.current_a, by_i.motor_rad_s - zero.motor_rad_s);
        let (iw, ww) = (by_w.current_a - zero.current_a, by_w.motor_rad_s - zero.motor_rad_s);
        [-(ii + ww), ii * ww - iw * wi]
    }
}
