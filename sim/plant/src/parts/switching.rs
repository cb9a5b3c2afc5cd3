//! The bridge with every PWM period resolved, to hold the averaged one against.
//!
//! In each period of length `T` the switches are `on` for its first share, `off` for the rest:
//!
//! ```text
//! Drive(d)  on: the pack across the motor    off: the motor shorted (synchronous), or shorted by a diode
//! Brake(b)  on: the motor shorted            off: all switches open, diodes carry the current on
//! Coast     all switches open
//! ```
//!
//! A capacitor at the bridge takes the pulses from the pack, whose current `I` follows with `R_pack C`:
//!
//! ```text
//! dI/dt = (I_drawn - I) / (R_pack C),   V_bus = V_open - R_pack I
//! ```
//!
//! Steps end where the switches change, and are at most a 50th of the period long.

use super::bridge::Action;
use crate::rig::BridgeData;

/// Steps per PWM period, at least.
const STEPS_PER_PERIOD: f64 = 50.0;

/// PWM made ready.
#[derive(Clone, Copy, Debug)]
pub struct Switching {
    period_s: f64,
    synchronous: bool,
    capacitance_f: f64,
}

impl Switching {
    /// With so many periods per second.
    pub fn new(periods_hz: f64, data: &BridgeData) -> Self {
        let capacitance_f = data.capacitor_uf * 1.0e-6;
        Self { period_s: 1.0 / periods_hz, synchronous: data.synchronous, capacitance_f }
    }

    /// The pack's current a stretch later, `drawn_a` flowing meanwhile.
    pub fn fed_a(&self, feed_a: f64, drawn_a: f64, pack_ohm: f64, stretch_s: f64) -> f64 {
        let left = libm::exp(-stretch_s / (pack_ohm * self.capacitance_f).max(1.0e-12));
        drawn_a + (feed_a - drawn_a) * left
    }

    /// Energy in the capacitor \[J\].
    pub fn stored_j(&self, bus_v: f64) -> f64 {
        0.5 * self.capacitance_f * bus_v * bus_v
    }

    /// The switches' next stretch: what they do, and for how long \[s\], at most `left_s`. `phase_s`
    /// is the time since the period began, and moves on.
    pub fn next(&self, phase_s: &mut f64, action: Action, left_s: f64) -> (Action, f64) {
        let (share, on, off) = self.positions(action);
        let edge_s = share * self.period_s;
        let is_on = *phase_s < edge_s;
        let end_s = if is_on { edge_s } else { self.period_s };
        let stretch_s = (end_s - *phase_s).min(self.period_s / STEPS_PER_PERIOD);
        if stretch_s < left_s {
            *phase_s += stretch_s;
        } else {
            *phase_s += left_s;
        }
        // What is left of a period after rounding is none.
        if self.period_s - *phase_s < 1.0e-9 * self.period_s {
            *phase_s = 0.0;
        }
        (if is_on { on } else { off }, stretch_s.min(left_s))
    }

    fn positions(&self, action: Action) -> (f64, Action, Action) {
        match action {
            Action::Drive(duty) => {
                let shorted =
                    if self.synchronous { Action::Brake(1.0) } else { Action::Drive(0.0) };
                (duty.abs(), Action::Drive(duty.signum()), shorted)
            }
            Action::Brake(share) => (share, Action::Brake(1.0), Action::Open),
            Action::Coast | Action::Open => (0.0, Action::Open, Action::Open),
        }
    }
}
