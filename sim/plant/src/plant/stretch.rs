//! The plant through a stretch of time under one action of the bridge: a controller's tick, a communication
//! step.

use super::{Flows, Plant, PlantState};
use crate::parts::bridge::Action;

/// The default step \[s\]; rounded so that it divides the stretch.
pub const DEFAULT_STEP_S: f64 = 0.25e-3;

/// How many equal steps of at most `step_s` make up a stretch of time \[s\].
pub fn steps_in(seconds: f64, step_s: f64) -> u32 {
    libm::ceil(seconds / step_s - 1.0e-9).max(1.0) as u32
}

impl Plant {
    /// Moves on by `seconds` in equal steps of at most `most_step_s`, which must not be longer than
    /// [`quickest`](Self::quickest), and returns what flowed: at the beginning, when a new action takes
    /// hold. Where the bridge [switches](Self::switches), one instant of a PWM period says little, so voltage
    /// and current at the bridge and the heat of winding and bridge are means over the stretch.
    pub fn over(
        &self,
        state: &mut PlantState,
        action: Action,
        seconds: f64,
        most_step_s: f64,
    ) -> Flows {
        let from = *state;
        let mut flows = self.flows(&from, action);
        let steps = steps_in(seconds, most_step_s);
        let step_s = seconds / f64::from(steps);
        for _ in 0..steps {
            self.advance(state, action, step_s);
        }
        if self.switches() {
            self.take_means(&mut flows, &from, state, seconds);
        }
        flows
    }

    /// Puts the means over `seconds` between two states in place of what flowed at one instant.
    fn take_means(&self, flows: &mut Flows, from: &PlantState, to: &PlantState, seconds: f64) {
        let (a, b) = (&from.now, &to.now);
        flows.bus_a = self.pack.drawn_c(a.charge, b.charge) / seconds;
        let open_v = self.pack.open_v(b.charge, b.delayed_v);
        flows.bus_v = open_v - self.pack.resistance_ohm * flows.bus_a;
        [flows.winding_w, flows.bridge_w] = self.shared_w(b, (b.copper_j - a.copper_j) / seconds);
    }
}
