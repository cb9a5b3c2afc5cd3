//! The bridge, averaged over one PWM period, and the winding it feeds.
//!
//! ```text
//! Drive(d)  L di/dt = d V_bus - (R + R_b) i - K w,   I_bus = d i
//! Brake(b)  L di/dt = -(R + R_b) i - b K w,          I_bus = 0
//! Coast     i = 0
//! ```
//!
//! Driving, the motor is shorted while it is not powered (sign-magnitude drive), so the mean voltage
//! is `d V` and a motor turning faster than `d V / K` feeds the pack. Without synchronous switching
//! a diode keeps the current from reversing. Braking shorts the windings for the share b of each
//! period: mean current `-b K w / R`, mean heat `b (K w)^2 / R`, all of it in the windings and the
//! bridge (algebra; tests/tests/published_motor.rs resolves every period against it).

use easeoff_core::Command;

/// What the bridge does, in plain numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Action {
    /// All switches open.
    Coast,
    /// Signed duty on the motor, -1 to 1.
    Drive(f64),
    /// Share of time the windings are shorted, 0 to 1.
    Brake(f64),
}

impl From<Command> for Action {
    fn from(command: Command) -> Self {
        match command {
            Command::Coast => Self::Coast,
            Command::Drive { duty } => Self::Drive(duty.to_f32().into()),
            Command::Brake { strength } => Self::Brake(strength.to_f32().into()),
        }
    }
}

/// The electrical side at one instant.
#[derive(Clone, Copy, Debug)]
pub struct Circuit {
    /// Pack voltage behind its immediate resistance \[V\].
    pub open_v: f64,
    /// The pack's immediate resistance \[ohm\].
    pub pack_ohm: f64,
    /// Winding and bridge \[ohm\].
    pub motor_ohm: f64,
    /// Winding \[H\].
    pub inductance_h: f64,
    /// Back-EMF \[V\].
    pub emf_v: f64,
    /// Whether a driven motor may feed the pack.
    pub synchronous: bool,
}

/// What flows.
#[derive(Clone, Copy, Debug, Default)]
pub struct Electrical {
    /// Rate of the motor current \[A/s\].
    pub current_rate: f64,
    /// Current from the pack \[A\].
    pub bus_a: f64,
    /// Voltage at the bridge \[V\].
    pub bus_v: f64,
    /// Heat in winding and bridge together \[W\].
    pub heat_w: f64,
}

impl Circuit {
    /// Rates and flows with motor current `current_a`.
    pub fn flows(&self, action: Action, current_a: f64) -> Electrical {
        match action {
            Action::Coast => Electrical { bus_v: self.open_v, ..Electrical::default() },
            Action::Drive(duty) => {
                let bus_a = duty * current_a;
                let bus_v = self.open_v - self.pack_ohm * bus_a;
                let rate =
                    (duty * bus_v - self.motor_ohm * current_a - self.emf_v) / self.inductance_h;
                let heat_w = self.motor_ohm * current_a * current_a;
                let blocked = !self.synchronous && reverses(duty, current_a, rate);
                Electrical { current_rate: if blocked { 0.0 } else { rate }, bus_a, bus_v, heat_w }
            }
            Action::Brake(share) => Electrical {
                current_rate: -(self.motor_ohm * current_a + share * self.emf_v)
                    / self.inductance_h,
                bus_a: 0.0,
                bus_v: self.open_v,
                // The power the rotor gives up less what the field stores; steady, that is the mean of
                // the pulses' i^2 R: b (K w)^2 / R.
                heat_w: self.motor_ohm * current_a * current_a
                    - (1.0 - share) * current_a * self.emf_v,
            },
        }
    }
}

/// Whether a diode would have to carry current backward.
fn reverses(duty: f64, current_a: f64, rate: f64) -> bool {
    let way = conducts(duty, current_a);
    way == 0.0 || (way * current_a <= 0.0 && way * rate < 0.0)
}

/// The way a diode lets current flow: with the duty, and without one as it flows already.
fn conducts(duty: f64, current_a: f64) -> f64 {
    let leads = if duty == 0.0 { current_a } else { duty };
    if leads == 0.0 { 0.0 } else { leads.signum() }
}

/// The motor current once diodes and an open bridge have done their work, `before_a` at the beginning
/// of the step: what a diode blocks and what an open bridge interrupts is gone. So is a current that
/// still drives when a partial brake comes on: it dies in a fraction of a step, and the averaged
/// brake would not let it.
pub fn settle(action: Action, synchronous: bool, emf_v: f64, before_a: f64, current_a: f64) -> f64 {
    match action {
        Action::Coast => 0.0,
        Action::Drive(duty) if !synchronous && conducts(duty, before_a) * current_a <= 0.0 => 0.0,
        Action::Brake(share) if share < 1.0 && current_a * emf_v > 0.0 => 0.0,
        _ => current_a,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CIRCUIT: Circuit = Circuit {
        open_v: 12.0,
        pack_ohm: 0.0,
        motor_ohm: 0.1,
        inductance_h: 1.0e-4,
        emf_v: 6.0,
        synchronous: false,
    };

    #[test]
    fn a_diode_lets_no_current_reverse_in_either_direction() {
        for (duty, emf_v) in [(0.2, 6.0), (0.0, 6.0), (0.0, -6.0), (-0.2, -6.0)] {
            let circuit = Circuit { emf_v, ..CIRCUIT };
            assert_eq!(circuit.flows(Action::Drive(duty), 0.0).current_rate, 0.0, "{duty}");
        }
        assert!(CIRCUIT.flows(Action::Drive(0.9), 0.0).current_rate > 0.0);
        assert_eq!(settle(Action::Drive(0.0), false, 6.0, -1.0, 0.2), 0.0);
        assert_eq!(settle(Action::Drive(0.0), false, 6.0, -1.0, -0.2), -0.2);
        assert_eq!(settle(Action::Drive(0.3), true, 6.0, 0.0, -0.2), -0.2);
        assert_eq!(settle(Action::Brake(0.3), true, 6.0, 0.4, 0.2), 0.0);
        assert_eq!(settle(Action::Brake(0.3), true, 6.0, -0.4, -0.2), -0.2);
    }
}
