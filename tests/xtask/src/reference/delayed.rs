//! The simulator's loop of plant and controller, with what the simulator has no use for: a delayed
//! speed, and gains that change on the way.

use std::collections::VecDeque;

use easeoff_core::{Controller, HoldSettings, Output, Speed, State, TickRate};
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::{Plant, PlantState};
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::sensor::{Sensed, Sensors};
use easeoff_sim::run::{DEFAULT_STEP_S, RunError, Simulation};

use super::Failure;

/// Plant and controller, tick by tick.
pub(crate) struct DelayedLoop<'s> {
    scenario: &'s Scenario,
    rate: TickRate,
    plant: Plant,
    controller: Controller,
    sensors: Sensors,
    /// Where it is; may be put back to where it was.
    pub(crate) moment: Moment,
    ticks: u64,
    /// Speeds measured and not yet told; as many as ticks of delay.
    under_way: VecDeque<Option<Speed>>,
}

/// What goes on from tick to tick, but for the time.
#[derive(Clone, Copy)]
pub(crate) struct Moment {
    pub(crate) plant: PlantState,
    controller: State,
    bus_v: f64,
}

impl<'s> DelayedLoop<'s> {
    pub(crate) fn new(scenario: &'s Scenario) -> Result<Self, Failure> {
        let rate = TickRate::new(scenario.rig.board.tick_hz).ok_or("no such tick rate")?;
        let plant = Plant::new(&scenario.rig, &scenario.course);
        let state = plant.at_rest(&scenario.rig, scenario.course.start_m);
        let tick_s = 1.0 / f64::from(rate.hz());
        Ok(Self {
            scenario,
            rate,
            controller: scenario.tune.prepare(rate).map_err(tune)?,
            sensors: Sensors::new(scenario, tick_s),
            moment: Moment {
                plant: state,
                controller: State::default(),
                bus_v: plant.flows(&state, Action::Coast).bus_v,
            },
            plant,
            ticks: 0,
            under_way: VecDeque::new(),
        })
    }

    /// From now on the controller hears of speeds so many ticks late, at first of the present one.
    pub(crate) fn delay(&mut self, ticks: usize) {
        let wheel_rad_s = self.motor_rad_s() / self.scenario.rig.gears.ratio();
        self.under_way = vec![Speed::new(wheel_rad_s as f32); ticks].into();
    }

    /// From now on the hold is another; what the controller remembers stays.
    pub(crate) fn retune(&mut self, hold: HoldSettings) -> Result<(), Failure> {
        let mut settings = self.scenario.tune;
        settings.hold = Some(hold);
        self.controller = settings.prepare(self.rate).map_err(tune)?;
        Ok(())
    }

    pub(crate) fn motor_rad_s(&self) -> f64 {
        self.moment.plant.now.motor.motor_rad_s
    }

    pub(crate) fn tick_s(&self) -> f64 {
        1.0 / f64::from(self.rate.hz())
    }

    pub(crate) fn tick(&mut self) -> Output {
        let tick_s = self.tick_s();
        let moment = &mut self.moment;
        let (scenario, ticks) = (self.scenario, self.ticks);
        let Sensed { mut input, steer } =
            self.sensors.sense(scenario, ticks, &moment.plant, moment.bus_v);
        if let Some(wish) = steer {
            moment.plant.steer(wish);
        }
        self.under_way.push_back(input.speed);
        input.speed = self.under_way.pop_front().flatten();
        let output = self.controller.step(&mut moment.controller, &input);
        let action = easeoff_sim::run::action(output.command);
        moment.bus_v = self.plant.over(&mut moment.plant, action, tick_s, DEFAULT_STEP_S).bus_v;
        self.ticks += 1;
        output
    }

    /// Fails unless without a delay this is the simulator's own loop, to the last bit.
    pub(crate) fn check(scenario: &'s Scenario, ticks: u32) -> Result<(), Failure> {
        let mut ours = Self::new(scenario)?;
        let mut theirs = Simulation::new(scenario, DEFAULT_STEP_S)?;
        for tick in 0..ticks {
            let same = Some(ours.tick()) == theirs.tick()?.output()
                && ours.moment.plant.now == theirs.state.now;
            if !same {
                return Err(format!("in tick {tick} this is no longer the simulator's loop").into());
            }
        }
        Ok(())
    }
}

fn tune(errors: easeoff_core::SettingsErrors) -> RunError {
    RunError::Tune(Box::new(errors))
}
