//! One run: the plant and a controller, tick by tick.

mod error;
mod row;
pub mod creep;
pub mod half_throttle;
pub mod never_moved;
mod method;
pub mod columns;
pub mod controller;
pub mod events;
pub mod foreign;
pub mod sensor;
pub(crate) mod handed_over;
pub(crate) mod unbraked;
pub mod telemetry;

use std::borrow::Cow;
use std::ops::RangeInclusive;

use easeoff_core::{Command, Controller, Input, State as ControllerState};

pub use easeoff_plant::DEFAULT_STEP_S;
pub use error::RunError;
pub use method::Method;
pub use row::{Decision, Row, Seen};

use crate::files::driver::Driver;
use crate::files::scenario::Scenario;
use crate::run::controller::{Control, Fault, OWN_NAME, Own, rate};
use crate::run::sensor::{Sensed, Sensors};
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::parts::time_constant::TimeConstant;
use easeoff_plant::{Plant, PlantState, steps_in};

/// The steps that may be asked for \[us\].
pub const STEPS_US: RangeInclusive<f64> = 10.0..=1_000.0;

/// Everything recorded, one row per controller tick.
#[derive(Clone, Debug)]
pub struct Run {
    /// The rows, from time 0.
    pub rows: Vec<Row>,
    /// Time from row to row \[s\].
    pub tick_s: f64,
    /// Why it ended.
    pub end: End,
    /// Which controller drove.
    pub driven: Driven,
}

/// What is kept of the controller of a run, beside its commands.
#[derive(Clone, Debug)]
pub struct Driven {
    /// What it is called.
    pub name: String,
    /// It is another than easeoff's own.
    pub foreign: bool,
    /// The names of its own values.
    pub columns: Vec<String>,
    /// Those values, as many as there are names for each row.
    pub values: Vec<f64>,
    /// Why it answered nothing of use any more, if that is so.
    pub fault: Option<Fault>,
}

impl Default for Driven {
    /// By easeoff's own controller.
    fn default() -> Self {
        Self {
            name: OWN_NAME.into(),
            foreign: false,
            columns: Vec::new(),
            values: Vec::new(),
            fault: None,
        }
    }
}

impl Driven {
    fn by(control: &dyn Control) -> Self {
        Self { name: control.name(), columns: control.columns(), ..Self::default() }
    }

    /// Keeps what `control` said of the row that ended. It may say fewer values than it has names for.
    fn take(&mut self, control: &dyn Control) {
        self.foreign |= control.trace().is_none();
        if !self.columns.is_empty() {
            let empty = std::iter::repeat(f64::NAN);
            self.values.extend(control.values().into_iter().chain(empty).take(self.columns.len()));
        }
    }

    /// Its own values in one row.
    pub fn of_row(&self, row: usize) -> &[f64] {
        let count = self.columns.len();
        self.values.get(row * count..(row + 1) * count).unwrap_or_default()
    }
}

/// Why a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The driver's time was up.
    Duration,
    /// The rig reached the end of the course.
    Course,
}

/// A scenario made ready, stepped one controller tick at a time. The only place in which plant and
/// controller meet.
#[derive(Clone)]
pub struct Simulation<'s> {
    scenario: Cow<'s, Scenario>,
    /// The plant.
    pub plant: Plant,
    /// easeoff's own controller. Where another drives, it only reads the driver.
    own: Own,
    /// The plant's state.
    pub state: PlantState,
    step_s: f64,
    tick_s: f64,
    bus_v: f64,
    ticks: u64,
    sensors: Sensors,
    /// How many of the driver's other tunes are in force already.
    retuned: usize,
}

impl Simulation<'static> {
    /// As [`new`](Simulation::new), keeping the scenario itself.
    ///
    /// # Errors
    /// As `new`.
    pub fn owning(scenario: Scenario, step_s: f64) -> Result<Self, RunError> {
        let plant = Plant::new(&scenario.rig, &scenario.course);
        Self::made_ready(plant, Cow::Owned(scenario), step_s)
    }
}

impl<'s> Simulation<'s> {
    /// Makes a scenario ready, the rig at rest at its start.
    ///
    /// # Errors
    /// A refused tune, or a step too coarse for the motor.
    pub fn new(scenario: &'s Scenario, step_s: f64) -> Result<Self, RunError> {
        let plant = Plant::new(&scenario.rig, &scenario.course);
        Self::made_ready(plant, Cow::Borrowed(scenario), step_s)
    }

    /// As [`new`](Self::new), with the scenario's plant already made.
    ///
    /// # Errors
    /// As `new`.
    pub fn of(plant: Plant, scenario: &'s Scenario, step_s: f64) -> Result<Self, RunError> {
        Self::made_ready(plant, Cow::Borrowed(scenario), step_s)
    }

    fn made_ready(
        plant: Plant,
        scenario: Cow<'s, Scenario>,
        step_s: f64,
    ) -> Result<Self, RunError> {
        let rig = &scenario.rig;
        let own = Own::new(&scenario)?;
        let tick_s = 1.0 / f64::from(rate(&scenario).hz());
        let step_s = tick_s / f64::from(steps_in(tick_s, step_s));
        // Fourth-order Runge-Kutta is stable up to 2.78 time constants; one is accurate.
        let TimeConstant { seconds: largest_s, of: part } = plant.quickest();
        if step_s > largest_s {
            return Err(RunError::Step { step_s, largest_s, part });
        }
        let state = plant.at_rest(rig, scenario.course.start_m);
        Ok(Self {
            own,
            step_s,
            tick_s,
            bus_v: plant.flows(&state, Action::Coast).bus_v,
            plant,
            state,
            ticks: 0,
            sensors: Sensors::new(&scenario, tick_s),
            retuned: 0,
            scenario,
        })
    }

    /// Seconds per controller tick.
    pub fn tick_s(&self) -> f64 {
        self.tick_s
    }

    /// When the next tick is \[s\].
    pub fn time_s(&self) -> f64 {
        self.ticks as f64 * self.tick_s
    }

    /// What is being run.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// The driver, to go on with what it does while it drives; what it did already is past.
    pub fn driver_mut(&mut self) -> &mut Driver {
        &mut self.scenario.to_mut().driver
    }

    /// Lets `control` run for `seconds` while the rig is held where it is, as a hand would hold it: it arms,
    /// and the drag brake comes in.
    pub(crate) fn hold_still(&mut self, seconds: f64, control: &mut dyn Control) {
        let held = self.state;
        let ticks = (seconds / self.tick_s) as u64;
        for _ in 0..ticks {
            let input = self.sense();
            self.own.ask(control, &input);
            self.ticks += 1;
            self.state = held;
        }
    }

    fn sense(&mut self) -> Input {
        let Sensed { input, steer } =
            self.sensors.sense(&self.scenario, self.ticks, &self.state, self.bus_v);
        if let Some(wish) = steer {
            self.state.steer(wish);
        }
        input
    }

    /// Puts the driver's next tunes in force once they are due; `also` is told of each.
    fn retune(
        &mut self,
        time_s: f64,
        input: &Input,
        mut also: impl FnMut(&Controller),
    ) -> Result<(), RunError> {
        while let Some(next) = self.scenario.driver.retunes.get(self.retuned)
            && time_s + 1.0e-9 >= next.at_s
        {
            let prepared = next.tune.prepare(rate(&self.scenario));
            let next = prepared.map_err(|errors| RunError::Tune(Box::new(errors)))?;
            self.own.take_over(&next, input);
            also(&next);
            self.retuned += 1;
        }
        Ok(())
    }

    /// One tick: sense, decide, record, move on.
    ///
    /// # Errors
    /// When the state leaves the finite numbers.
    pub fn tick(&mut self) -> Result<Row, RunError> {
        self.tick_by(Controller::step)
    }

    /// As [`tick`](Self::tick), with `step` in the place of [`Controller::step`]: to look at what it
    /// is given, or to let a chip answer.
    ///
    /// # Errors
    /// As `tick`.
    pub fn tick_by<D: Into<Decision>>(
        &mut self,
        step: impl FnOnce(&Controller, &mut ControllerState, &Input) -> D,
    ) -> Result<Row, RunError> {
        let (time_s, input) = (self.time_s(), self.sense());
        self.retune(time_s, &input, |_| {})?;
        let decision = step(&self.own.controller, &mut self.own.state, &input).into();
        self.advance(time_s, &input, decision)
    }

    /// As [`tick`](Self::tick), with another controller.
    ///
    /// # Errors
    /// As `tick`.
    pub(crate) fn tick_with(&mut self, control: &mut dyn Control) -> Result<Row, RunError> {
        let (time_s, input) = (self.time_s(), self.sense());
        self.retune(time_s, &input, |next| control.take_over(next, &input))?;
        let decision = self.own.ask(control, &input);
        self.advance(time_s, &input, decision)
    }

    fn advance(&mut self, time_s: f64, input: &Input, decision: Decision) -> Result<Row, RunError> {
        // The averaged bridge gives every share the current it stands for.
        let resolved = self.plant.switches() && self.scenario.rig.board.fast_bridge_law;
        let action = action(if resolved {
            decision.for_fast_bridge(&self.own.controller, input)
        } else {
            decision.command
        });
        let plant = self.state;
        let flows = self.plant.over(&mut self.state, action, self.tick_s, self.step_s);
        let Decision { command, seen, trace } = decision;
        let row = Row { time_s, plant, flows, command, seen, trace };
        self.bus_v = row.flows.bus_v;
        self.ticks += 1;
        match self.state.now.lost_field() {
            None => Ok(row),
            Some(field) => {
                Err(RunError::Diverged { time_s, field, place_m: row.plant.now.place_m })
            }
        }
    }

    /// Ticks until the driver's time is up or the course ends, driven by `control`.
    ///
    /// # Errors
    /// As `tick`.
    pub(crate) fn finish(mut self, control: &mut dyn Control) -> Result<Run, RunError> {
        let count = (self.scenario.driver.duration_s / self.tick_s()).round() as usize;
        let end_m = self.plant.ground.end_m();
        let mut rows = Vec::with_capacity(count);
        let mut driven = Driven::by(control);
        let mut end = End::Duration;
        for _ in 0..count {
            let row = self.tick_with(control)?;
            let over = row.plant.now.place_m > end_m;
            rows.push(row);
            driven.take(control);
            if over {
                end = End::Course;
                break;
            }
        }
        driven.fault = control.fault();
        Ok(Run { rows, tick_s: self.tick_s(), end, driven })
    }
}

/// What the bridge does on a command.
pub fn action(command: Command) -> Action {
    match command {
        Command::Coast => Action::Coast,
        Command::Drive { duty } => Action::Drive(duty.to_f32().into()),
        Command::Brake { strength } => Action::Brake(strength.to_f32().into()),
    }
}

/// Runs a scenario to its end.
///
/// # Errors
/// See [`RunError`]; nothing is returned of a run that diverged.
///
/// ```
/// let scenario = easeoff_sim::files::demo::scenario("garden").unwrap();
/// let run = easeoff_sim::run::simulate(&scenario, easeoff_sim::run::DEFAULT_STEP_S).unwrap();
/// assert!(run.rows.len() > 1_000);
/// ```
pub fn simulate(scenario: &Scenario, step_s: f64) -> Result<Run, RunError> {
    simulate_by(scenario, step_s, &mut Own::new(scenario)?)
}

/// As [`simulate`], with another controller.
///
/// # Errors
/// As `simulate`.
pub fn simulate_by(
    scenario: &Scenario,
    step_s: f64,
    control: &mut dyn Control,
) -> Result<Run, RunError> {
    Simulation::new(scenario, step_s)?.finish(control)
}
