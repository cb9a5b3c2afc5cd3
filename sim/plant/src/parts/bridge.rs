//! The bridge, averaged over one PWM period, the winding it feeds, and the switches' heat.
//!
//! ```text
//! Drive(d)  L di/dt = d V_bus - (R + R_b) i - K w,   I_bus = d i
//! Brake(b)  L di/dt = -(R + R_b) i - b K w,          I_bus = 0
//! Coast     i = 0
//! Open      L di/dt = -sign(i) V_bus - (R + R_b) i - K w,   I_bus = -|i|
//! R_b = R_b20 (1 + a (T - 20)),   C dT/dt = R_b i^2 - (T - T_air)/R_th
//! ```
//!
//! `Open` is one period's open switches: the diodes beside them carry the current on, into the pack,
//! until it has run out. Only `switching.rs` asks for it; `Coast` takes the current as gone at once.
//!
//! Driving, the motor is shorted while it is not powered (sign-magnitude drive), so the mean voltage
//! is `d V` and a motor turning faster than `d V / K` feeds the pack. Without synchronous switching
//! a diode keeps the current from reversing. Braking shorts the windings for the share b of each
//! period: mean current `-b K w / R`, mean heat `b (K w)^2 / R`, all of it in the windings and the
//! bridge (algebra; published/bridge.rs and plant/switched_bridge.rs in tests/tests/library resolve every period against it).

use crate::rig::{BridgeData, Vehicle};

/// The bridge's switches made ready.
#[derive(Clone, Copy, Debug)]
pub struct Bridge {
    /// Whether a driven motor may feed the pack.
    pub synchronous: bool,
    resistance_ohm: f64,
    per_k: f64,
    k_per_j: f64,
    to_air_w_per_k: f64,
    air_c: f64,
}

impl Bridge {
    /// From the rig's data.
    pub fn new(data: &BridgeData, vehicle: &Vehicle) -> Self {
        Self {
            synchronous: data.synchronous,
            resistance_ohm: data.resistance_ohm,
            per_k: data.resistance_per_k,
            k_per_j: 1.0 / data.heat_j_per_k,
            to_air_w_per_k: 1.0 / data.to_air_k_per_w,
            air_c: vehicle.air_c,
        }
    }

    /// Resistance of the two switches in the path at their temperature \[ohm\].
    pub fn resistance_at(&self, bridge_c: f64) -> f64 {
        self.resistance_ohm * (1.0 + self.per_k * (bridge_c - 20.0))
    }

    /// Rate of their temperature \[K/s\] under a heat.
    pub fn heating(&self, heat_w: f64, bridge_c: f64) -> f64 {
        (heat_w - (bridge_c - self.air_c) * self.to_air_w_per_k) * self.k_per_j
    }
}

/// What the bridge does, in plain numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Action {
    /// All switches open, the current gone.
    Coast,
    /// All switches open, the current flowing on through their diodes.
    Open,
    /// Signed duty on the motor, -1 to 1.
    Drive(f64),
    /// Share of time the windings are shorted, 0 to 1.
    Brake(f64),
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
    /// What else draws from the pack \[A\].
    pub beside_a: f64,
    /// What the pack gives at the moment while a capacitor at the bridge makes up the difference \[A\];
    /// `None`: just what is drawn.
    pub feed_a: Option<f64>,
}

/// What flows.
#[derive(Clone, Copy, Debug, Default)]
pub struct Electrical {
    /// Rate of the motor current \[A/s\].
    pub current_rate: f64,
    /// Current from the pack \[A\].
    pub bus_a: f64,
    /// Current drawn, from pack and capacitor together \[A\].
    pub drawn_a: f64,
    /// Voltage at the bridge \[V\].
    pub bus_v: f64,
    /// Heat in winding and bridge together \[W\].
    pub heat_w: f64,
}

impl Circuit {
    /// Rates and flows with motor current `current_a`. A diode that would have to carry it, or what
    /// begins from nothing, backward blocks.
    pub fn flows(&self, action: Action, current_a: f64) -> Electrical {
        // Open with no current yet, what drives the motor decides which diodes are next.
        let way = if current_a == 0.0 { -self.emf_v } else { current_a }.signum();
        let flows = self.conducting(action, current_a, way);
        let blocked = match action {
            Action::Drive(duty) => {
                !self.synchronous && reverses(duty, current_a, flows.current_rate)
            }
            Action::Open => current_a == 0.0 && self.emf_v.abs() <= flows.bus_v,
            Action::Coast | Action::Brake(_) => false,
        };
        Electrical { current_rate: if blocked { 0.0 } else { flows.current_rate }, ..flows }
    }

    /// The same while switches or diodes conduct; an open bridge's diodes the way of `way`, 1 or -1.
    pub(crate) fn conducting(&self, action: Action, current_a: f64, way: f64) -> Electrical {
        match action {
            Action::Coast => self.at_bus(self.beside_a),
            Action::Open => {
                // Diodes put the pack against the current.
                let fed = self.at_bus(self.beside_a - way * current_a);
                self.driven_by(-way * fed.bus_v, current_a, fed)
            }
            Action::Drive(duty) => {
                let drawn = self.at_bus(self.beside_a + duty * current_a);
                self.driven_by(duty * drawn.bus_v, current_a, drawn)
            }
            Action::Brake(share) => Electrical {
                current_rate: -(self.motor_ohm * current_a + share * self.emf_v)
                    / self.inductance_h,
                // The power the rotor gives up less what the field stores; steady, that is the mean of
                // the pulses' i^2 R: b (K w)^2 / R.
                heat_w: self.motor_ohm * current_a * current_a
                    - (1.0 - share) * current_a * self.emf_v,
                ..self.at_bus(self.beside_a)
            },
        }
    }

    /// The pack under a current.
    fn at_bus(&self, drawn_a: f64) -> Electrical {
        let bus_a = self.feed_a.unwrap_or(drawn_a);
        let bus_v = self.open_v - self.pack_ohm * bus_a;
        Electrical { bus_a, drawn_a, bus_v, ..Electrical::default() }
    }

    /// A voltage across the motor.
    fn driven_by(&self, volts: f64, current_a: f64, pack: Electrical) -> Electrical {
        Electrical {
            current_rate: (volts - self.motor_ohm * current_a - self.emf_v) / self.inductance_h,
            heat_w: self.motor_ohm * current_a * current_a,
            ..pack
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

/// Whether a current has run out against diodes within a step, in which it fell from `before_a` to
/// `current_a`.
pub(crate) fn runs_out(action: Action, synchronous: bool, before_a: f64, current_a: f64) -> bool {
    let way = match action {
        Action::Drive(duty) if !synchronous => conducts(duty, before_a),
        Action::Open => before_a.signum(),
        _ => return false,
    };
    way * before_a > 0.0 && way * current_a < 0.0
}

/// The motor current once diodes and an open bridge have done their work, `before_a` at the beginning
/// of the step: what a diode blocks and what an open bridge interrupts is gone. So is a current that
/// still drives when a partial brake comes on: it dies in a fraction of a step, and the averaged
/// brake would not let it.
pub fn settle(action: Action, synchronous: bool, emf_v: f64, before_a: f64, current_a: f64) -> f64 {
    match action {
        Action::Coast => 0.0,
        Action::Open if before_a * current_a < 0.0 => 0.0,
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
        beside_a: 0.0,
        feed_a: None,
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

    /// Open switches: the current charges the pack until it has run out, and none begins below the
    /// pack's voltage; above it the motor feeds the pack.
    #[test]
    fn diodes_feed_the_pack_and_nothing_else() {
        let flows = CIRCUIT.flows(Action::Open, -2.0);
        assert_eq!(flows.bus_a, -2.0);
        // 12 V less 6 V of the motor, less 0.2 V in the winding.
        assert!((flows.current_rate - (12.0 - 6.0 + 0.2) / 1.0e-4).abs() < 1e-6);
        assert_eq!(CIRCUIT.flows(Action::Open, 0.0).current_rate, 0.0);
        assert_eq!(settle(Action::Open, true, 6.0, -0.1, 0.2), 0.0);
        let fast = Circuit { emf_v: 15.0, ..CIRCUIT };
        assert!((fast.flows(Action::Open, 0.0).current_rate + 3.0 / 1.0e-4).abs() < 1e-6);
        assert_eq!(settle(Action::Open, true, 15.0, 0.0, -0.2), -0.2);
    }
}
