//! The simulation of what a log says was driven.

use std::cmp::Reverse;

use easeoff_core::{Command, Controller};
use easeoff_plant::{Plant, steps_in};

use super::log::{Driven, Log};
use super::unknown::{Place, Unknown};
use crate::files::driver::Motion;
use crate::files::mistake::Source;
use crate::files::scenario::Scenario;
use crate::run::{Decision, Row, RunError, Simulation};

/// A step as a share of the plant's quickest time. Halving it is tried after every fit, and what that
/// changes is reported.
const STEP_SHARE: f64 = 0.9;
/// Pulses further apart than this are a lost signal \[s\].
const LOST_S: f64 = 0.1;

/// What drives the rig of a log, over and over with other numbers.
#[derive(Clone, Debug)]
pub struct Replay {
    scenario: Scenario,
    rig_source: Source,
    step_s: f64,
}

impl Replay {
    /// A scene, with the file its rig was read from. The noise of its radio and sensors is left out:
    /// the log has it already.
    pub fn new(mut scenario: Scenario, rig_source: Source, log: &Log) -> Self {
        let quickest_s = Plant::new(&scenario.rig, &scenario.course).quickest().seconds;
        let radio = &mut scenario.driver.radio;
        (radio.jitter_us, radio.missing_share) = (0.0, 0.0);
        scenario.driver.lost_s.clear();
        if let Driven::Pulses(pulses) = &log.driven {
            let pulses: Vec<[f64; 2]> =
                log.time_s.iter().zip(pulses).filter_map(|(t, us)| Some([*t, (*us)?])).collect();
            let lost = pulses.windows(2).filter(|pair| pair[1][0] - pair[0][0] > LOST_S);
            scenario.driver.lost_s = lost.map(|pair| [pair[0][0] + LOST_S, pair[1][0]]).collect();
            scenario.driver.motion = Motion::Recording(pulses);
        }
        Self { scenario, rig_source, step_s: STEP_SHARE * quickest_s }
    }

    /// The same with another step, which is rounded to divide the control tick.
    pub fn with_step(&self, step_s: f64) -> Self {
        Self { step_s, ..self.clone() }
    }

    /// The plant's step \[s\].
    pub fn step_s(&self) -> f64 {
        let tick_s = 1.0 / f64::from(self.scenario.rig.board.tick_hz);
        tick_s / f64::from(steps_in(tick_s, self.step_s))
    }

    /// What the search begins with.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// The file the rig was read from.
    pub fn rig_source(&self) -> &Source {
        &self.rig_source
    }

    /// The rig file's text with these values in it, everything else byte for byte.
    pub fn rig_text(&self, values: impl Iterator<Item = (Place, String)>) -> String {
        let mut changes: Vec<_> = values
            .filter_map(|(place, value)| match place {
                Place::Rig(span) => Some((span, value)),
                _ => None,
            })
            .collect();
        // From the end, so that the places before stay where they are.
        changes.sort_by_key(|(span, _)| Reverse(span.start));
        let mut text = self.rig_source.text.clone();
        for (span, value) in changes {
            text.replace_range(span, &value);
        }
        text
    }

    fn changed(&self, unknowns: &[Unknown], values: &[f64]) -> Scenario {
        let mut scenario = self.scenario.clone();
        let written = unknowns.iter().zip(values);
        let text = self.rig_text(
            written.clone().map(|(unknown, value)| (unknown.place.clone(), format!("{value:?}"))),
        );
        // Values stay within their ranges, so the fallback is never taken, but by two that contradict.
        if let Ok(mut rig) =
            crate::files::rig::read(&Source { name: self.rig_source.name.clone(), text })
        {
            let sensors = &mut rig.sensors;
            (sensors.noise_v, sensors.noise_a) = (0.0, 0.0);
            (sensors.adc_bits, sensors.speed_edges_per_turn) = (0, 0);
            scenario.rig = rig;
        }
        for (_, value) in written.filter(|(unknown, _)| unknown.place == Place::Rolling) {
            scenario.course.surfaces.iter_mut().for_each(|surface| surface.rolling = *value);
        }
        scenario
    }

    /// The simulated signals in the order of the log's samples.
    ///
    /// # Errors
    /// When a run cannot be finished.
    pub fn simulate(
        &self,
        log: &Log,
        unknowns: &[Unknown],
        values: &[f64],
    ) -> Result<Vec<f64>, RunError> {
        let scenario = self.changed(unknowns, values);
        let mut simulation = match Simulation::new(&scenario, self.step_s) {
            // Other numbers may make the plant quicker.
            Err(RunError::Step { largest_s, .. }) => {
                Simulation::new(&scenario, STEP_SHARE * largest_s)?
            }
            other => other?,
        };
        let now = &mut simulation.state.now;
        for (unknown, value) in unknowns.iter().zip(values) {
            match unknown.place {
                Place::StartSpeed => {
                    now.wheel_rad_s = *value;
                    now.motor.motor_rad_s = value * scenario.rig.gears.ratio();
                    now.speed_m_s = value * scenario.rig.wheels.radius_m;
                }
                Place::StartCelsius => (now.winding_c, now.case_c) = (*value, *value),
                Place::Rig(_) | Place::Rolling => {}
            }
        }
        let mut sampler = Sampler::new(log, simulation.tick_s());
        while !sampler.done() {
            let command = sampler.command();
            let row = simulation.tick_by(|controller, state, input| match command {
                Some(command) => Decision::from(command),
                None => Controller::step(controller, state, input).into(),
            })?;
            sampler.take(row);
        }
        Ok(sampler.columns.concat())
    }
}

/// Goes along a log as a simulation ticks.
struct Sampler<'l> {
    log: &'l Log,
    tick_s: f64,
    ticks: u64,
    /// The row of the log in force.
    row: usize,
    before: Option<Row>,
    /// The next sample of each signal.
    next: Vec<usize>,
    columns: Vec<Vec<f64>>,
}

/// Times that differ by less are the same \[s\].
const SAME_S: f64 = 1.0e-9;

impl<'l> Sampler<'l> {
    fn new(log: &'l Log, tick_s: f64) -> Self {
        let room = |signal: &super::log::Signal| Vec::with_capacity(signal.samples.len());
        Self {
            log,
            tick_s,
            ticks: 0,
            row: 0,
            before: None,
            next: vec![0; log.signals.len()],
            columns: log.signals.iter().map(room).collect(),
        }
    }

    fn done(&self) -> bool {
        self.log.signals.iter().zip(&self.next).all(|(signal, next)| *next == signal.samples.len())
    }

    /// What the bridge is told in the tick to come; `None`: what the controller says.
    fn command(&mut self) -> Option<Command> {
        let time_s = self.ticks as f64 * self.tick_s;
        let later =
            |row: usize| self.log.time_s.get(row + 1).is_some_and(|t| *t <= time_s + SAME_S);
        let mut row = self.row;
        while later(row) {
            row += 1;
        }
        self.row = row;
        match &self.log.driven {
            Driven::Bridge(commands) => commands.get(self.row).copied(),
            Driven::Pulses(_) => None,
        }
    }

    /// Values at the log's times, on a straight line between two ticks.
    fn take(&mut self, row: Row) {
        for ((signal, next), column) in
            self.log.signals.iter().zip(&mut self.next).zip(&mut self.columns)
        {
            while let Some((index, _)) = signal.samples.get(*next) {
                let time_s = self.log.time_s[*index];
                if time_s > row.time_s + SAME_S {
                    break;
                }
                let value = (signal.value)(&row);
                let back = ((row.time_s - time_s) / self.tick_s).max(0.0);
                let at = match &self.before {
                    Some(before) if back > SAME_S / self.tick_s => {
                        value + ((signal.value)(before) - value) * back
                    }
                    _ => value,
                };
                column.push(at);
                *next += 1;
            }
        }
        self.before = Some(row);
        self.ticks += 1;
    }
}
