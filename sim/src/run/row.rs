//! One row of a run: what the plant was, what its controller decided, what flowed then.

use easeoff_core::{
    Command, Controller, Demand, Events, Input, Microseconds, Mode, Output, Speed, Trace,
};
use easeoff_plant::{Flows, PlantState};

/// One tick of a run.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// Time \[s\].
    pub time_s: f64,
    /// Plant state at the tick.
    pub plant: PlantState,
    /// Flows under the command of this tick.
    pub flows: Flows,
    /// What the bridge is told.
    pub command: Command,
    /// What is known of every controller.
    pub seen: Seen,
    /// What easeoff's own controller tells of itself; `None` where another drove.
    pub trace: Option<Trace>,
}

impl Row {
    /// Speed of the body \[m/s\].
    pub fn speed_m_s(&self) -> f64 {
        self.plant.now.speed_m_s
    }

    /// Speed of the wheels' surface \[m/s\], what a driver sees of a snagged rig.
    pub fn wheel_speed_m_s(&self) -> f64 {
        self.speed_m_s() + self.flows.slip_m_s
    }

    /// Acceleration of the body \[m/s^2\].
    pub fn acceleration(&self) -> f64 {
        self.flows.rates.speed_m_s
    }

    /// What the bridge is told: duty, or the brake's share below 0.
    pub fn commanded(&self) -> f64 {
        f64::from(self.command.duty().to_f32()) - f64::from(self.command.braking().to_f32())
    }

    /// The controller's mode.
    pub fn mode(&self) -> Mode {
        self.seen.mode
    }

    /// What easeoff's own controller answered.
    pub fn output(&self) -> Option<Output> {
        Some(Output { command: self.command, trace: self.trace? })
    }

    /// What the controller decided.
    pub(crate) fn decision(&self) -> Decision {
        Decision { command: self.command, seen: self.seen, trace: self.trace }
    }
}

/// What is known of every controller: easeoff's own tells it, of another it is read from outside.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Seen {
    /// The pulse in force.
    pub pulse: Option<Microseconds>,
    /// Bad pulses in a row.
    pub bad_samples: u16,
    /// The driver's demand.
    pub demand: Demand,
    /// Its mode, or what its commands look like.
    pub mode: Mode,
    /// The speed it goes by, or is told.
    pub speed: Option<Speed>,
    /// Events of the tick; of another controller only bad pulses.
    pub events: Events,
}

impl From<Trace> for Seen {
    fn from(trace: Trace) -> Self {
        let Trace { pulse, bad_samples, demand, mode, speed, events, .. } = trace;
        Self { pulse, bad_samples, demand, mode, speed, events }
    }
}

/// What a controller decided in one tick.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Decision {
    /// What the bridge is told.
    pub command: Command,
    /// What is known of every controller.
    pub seen: Seen,
    /// What easeoff's own tells of itself.
    pub trace: Option<Trace>,
}

impl Decision {
    /// The command for a bridge whose every period is resolved, by the law of `controller` for a fast PWM.
    pub(super) fn for_fast_bridge(&self, controller: &Controller, input: &Input) -> Command {
        // Of all that a trace has the law reads the speed alone.
        let trace = Trace { speed: self.seen.speed, ..Trace::default() };
        controller.for_fast_bridge(&Output { command: self.command, trace }, input.voltage)
    }
}

impl From<Output> for Decision {
    /// By easeoff's own controller.
    fn from(output: Output) -> Self {
        let Output { command, trace } = output;
        Self { command, seen: trace.into(), trace: Some(trace) }
    }
}

impl From<Command> for Decision {
    /// By nobody: a command that was recorded, or is tried.
    fn from(command: Command) -> Self {
        Self { command, ..Self::default() }
    }
}
