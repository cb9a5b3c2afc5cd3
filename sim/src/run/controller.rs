//! What sits on the board and decides: easeoff's own controller, or another in its place.
//!
//! ```
//! use easeoff_sim::run::controller::{Command, Control, Input, Strength};
//!
//! /// Brakes, whatever the driver does.
//! struct Parked;
//!
//! impl Control for Parked {
//!     fn name(&self) -> String {
//!         "parked".into()
//!     }
//!     fn step(&mut self, _: &Input) -> Command {
//!         Command::Brake { strength: Strength::FULL }
//!     }
//! }
//!
//! let scenario = easeoff_sim::files::demo::scenario("snag").unwrap();
//! let run = easeoff_sim::run::simulate_by(&scenario, 0.25e-3, &mut Parked).unwrap();
//! assert!(run.rows.iter().all(|row| row.speed_m_s().abs() < 1e-6));
//! ```

pub use easeoff_core::{Command, Duty, Input, Strength};
use easeoff_core::{Controller, Event, Events, Mode, Output, State, TickRate, Trace};

use crate::files::scenario::Scenario;
use crate::run::{Decision, RunError, Seen};

/// A controller: once per tick it is told what the board measured, and says what the bridge shall do.
pub trait Control {
    /// What it is called on pages and pictures.
    fn name(&self) -> String;

    /// One tick.
    fn step(&mut self, input: &Input) -> Command;

    /// Names of the values of its own that it wants to see in `run.csv`, with their units.
    fn columns(&self) -> Vec<String> {
        Vec::new()
    }

    /// Those values as of the last step, in the same order; NaN is an empty cell.
    fn values(&self) -> Vec<f64> {
        Vec::new()
    }

    /// easeoff's trace of the last step. Only easeoff's own controller has one; for every other the
    /// simulator reads what the driver did by the tune's calibration.
    fn trace(&self) -> Option<Trace> {
        None
    }

    /// Another tune is in force from this tick on: easeoff's controller made of it. Only easeoff's own takes
    /// it over, without a jump; every other has its own settings.
    fn take_over(&mut self, _next: &Controller, _input: &Input) {}

    /// Why it has answered nothing of use since some tick, if that is so. The bridge coasts since then.
    fn fault(&self) -> Option<Fault> {
        None
    }
}

/// A controller failed in the middle of a run.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("tick {tick}: {what}")]
pub struct Fault {
    /// The tick that it did not answer as it should; the first is 0.
    pub tick: u64,
    /// What it did instead.
    pub what: String,
}

/// Makes a controller as it is at power-on. A run begins with a new one, and so does each of the extra
/// runs that scores ask for.
pub type Make<'m> = dyn Fn(&Scenario) -> Result<Box<dyn Control>, RunError> + 'm;

/// Drives with this duty, -1 to 1; beyond that it is cut, and what is no number coasts.
pub fn drive(duty: f64) -> Command {
    Duty::new(duty.clamp(-1.0, 1.0) as f32).map_or(Command::Coast, |duty| Command::Drive { duty })
}

/// Brakes with this share of the shorted motor's current, 0 to 1; beyond that it is cut, and what is no
/// number coasts.
pub fn brake(share: f64) -> Command {
    Strength::new(share.clamp(0.0, 1.0) as f32)
        .map_or(Command::Coast, |strength| Command::Brake { strength })
}

/// What the driver does, read from the pulses by a scenario's tune, for a controller that has no reader of
/// its own.
#[derive(Clone, Debug)]
pub struct Throttle(Own);

impl Throttle {
    /// As at power-on.
    ///
    /// # Errors
    /// A refused tune.
    pub fn new(scenario: &Scenario) -> Result<Self, RunError> {
        Own::new(scenario).map(Self)
    }

    /// The throttle after the tune's curve, -1 to 1 and exactly 0 in the dead band; `None` without a
    /// signal. To be asked once in every tick.
    pub fn read(&mut self, input: &Input) -> Option<f64> {
        let Trace { pulse, curved, .. } = self.0.step_whole(input).trace;
        pulse.map(|_| curved.to_f32().into())
    }
}

/// easeoff's own controller, with a scenario's tune.
#[derive(Clone, Debug)]
pub struct Own {
    pub(crate) controller: Controller,
    pub(crate) state: State,
    output: Output,
}

/// Evaluated by the compiler.
const FALLBACK_RATE: TickRate = TickRate::new(1_000).unwrap();

/// What a board calls easeoff's controller.
pub const OWN_NAME: &str = "easeoff";

impl Own {
    /// As at power-on.
    ///
    /// # Errors
    /// A refused tune.
    pub fn new(scenario: &Scenario) -> Result<Self, RunError> {
        let controller = scenario
            .tune
            .prepare(rate(scenario))
            .map_err(|errors| RunError::Tune(Box::new(errors)))?;
        Ok(Self { controller, state: State::default(), output: Output::default() })
    }

    /// As a [`Make`].
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn make(scenario: &Scenario) -> Result<Box<dyn Control>, RunError> {
        Ok(Box::new(Self::new(scenario)?))
    }

    /// What it said last.
    pub fn command(&self) -> Command {
        self.output.command
    }

    /// One tick, with the trace.
    pub(crate) fn step_whole(&mut self, input: &Input) -> Output {
        self.output = self.controller.step(&mut self.state, input);
        self.output
    }

    /// What `other` answers, with its own trace or what can be told from outside. The pulse, the driver's demand
    /// and whether the signal was good are read by the tune, as easeoff would read them.
    pub(crate) fn ask(&mut self, other: &mut dyn Control, input: &Input) -> Decision {
        let command = other.step(input);
        if let Some(trace) = other.trace() {
            return Output { command, trace }.into();
        }
        let read = self.step_whole(input).trace;
        let mut events = Events::default();
        events.note(Event::BadPulse, read.events.contains(Event::BadPulse));
        let duty = command.duty();
        let mode = match read.mode {
            _ if duty > Duty::ZERO => Mode::Forward,
            _ if duty < Duty::ZERO => Mode::Reverse,
            // It has had as long as easeoff would have needed.
            Mode::Disarmed => Mode::Disarmed,
            _ => Mode::Neutral,
        };
        let seen = Seen { mode, speed: input.speed, events, ..read.into() };
        Decision { command, seen, trace: None }
    }
}

impl Control for Own {
    fn name(&self) -> String {
        OWN_NAME.into()
    }

    fn step(&mut self, input: &Input) -> Command {
        self.step_whole(input).command
    }

    fn take_over(&mut self, next: &Controller, input: &Input) {
        self.controller = *next;
        self.controller.take_over(&mut self.state, input);
    }

    fn trace(&self) -> Option<Trace> {
        Some(self.output.trace)
    }
}

/// How often the board asks its controller.
pub fn rate(scenario: &Scenario) -> TickRate {
    // Board files are read with the same bounds, so the fallback is never taken.
    TickRate::new(scenario.rig.board.tick_hz).unwrap_or(FALLBACK_RATE)
}
