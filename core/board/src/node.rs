//! The controller on its board: may it drive, what does it say.

use easeoff_core::blob::{self, BlobError};
use easeoff_core::telemetry::Frame;
use easeoff_core::{
    Command, Controller, DragLaw, Event, Input, Mode, Output, Settings, State, TickRate,
};

use crate::status::Status;
use crate::status_led::StatusLed;

/// Which sensors are wired; what is not is never waited for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sensed {
    /// Bus voltage.
    pub voltage: bool,
    /// Wheel speed.
    pub speed: bool,
    /// Motor current.
    pub current: bool,
    /// A temperature.
    pub temperature: bool,
}

/// What a board knows of itself at power-on.
#[derive(Clone, Copy, Debug)]
pub struct BoardFacts {
    /// Controller ticks per second.
    pub rate: TickRate,
    /// Which sensors are wired.
    pub wired: Sensed,
    /// The smaller of the PWM channels' largest duties.
    pub pwm_most: u16,
    /// Whether the PWM is fast compared with the winding's L/R, as at 16 kHz it always is; the brake then goes
    /// through [`Controller::for_fast_bridge`].
    pub fast_pwm: bool,
    /// Whether the watchdog restarted the board.
    pub watchdog_restart: bool,
}

/// The controller on its board. Whatever is wrong at power-on, it coasts and says so.
///
/// ```
/// use easeoff_board::*;
/// use easeoff_core::*;
/// let wired = Sensed { voltage: true, speed: true, current: false, temperature: false };
/// let rate = TickRate::new(1_000).unwrap();
/// let facts =
///     BoardFacts { rate, wired, pwm_most: 3_124, fast_pwm: true, watchdog_restart: false };
/// // An erased flash page.
/// let mut node = Node::boot(&[0xff; 512], &facts);
/// assert_eq!(node.tick(&Input::default()), Command::Coast);
/// assert_eq!(node.status(), Status::NoTune);
/// assert_eq!(node.frame().status, Status::NoTune.code());
/// ```
#[derive(Clone, Debug)]
pub struct Node {
    controller: Option<Controller>,
    state: State,
    facts: BoardFacts,
    /// Why it will not drive until it is powered on anew.
    halted: Option<Status>,
    has_armed: bool,
    status: Status,
    status_led: StatusLed,
    tick: u32,
    sequence: u16,
    input: Input,
    output: Output,
}

impl Node {
    /// At power-on, with the flash page that holds the tune. Takes some milliseconds on a small chip.
    pub fn boot(page: &[u8], facts: &BoardFacts) -> Self {
        let checked = tune(page, facts)
            .and_then(|settings| settings.prepare(facts.rate).map_err(|_| Status::RefusedTune));
        let (controller, halted) = match checked {
            Ok(controller) => (Some(controller), None),
            Err(status) => (None, Some(status)),
        };
        let status = halted.unwrap_or(Status::NoSignal);
        Self {
            controller,
            state: State::default(),
            facts: *facts,
            halted,
            has_armed: false,
            status,
            status_led: StatusLed::new(status.remedy()),
            tick: 0,
            sequence: 0,
            input: Input::default(),
            output: Output::default(),
        }
    }

    /// One tick: what the bridge is told.
    pub fn tick(&mut self, input: &Input) -> Command {
        self.tick = self.tick.wrapping_add(1);
        self.input = *input;
        let rests = matches!(self.output.trace.mode, Mode::Disarmed | Mode::Lost | Mode::Fault);
        if rests && self.silent() {
            // Without a pulse nothing arms.
            self.input.pulse = None;
        }
        self.output = match &self.controller {
            Some(controller) => {
                let mut output = controller.step(&mut self.state, &self.input);
                if self.facts.fast_pwm {
                    output.command = controller.for_fast_bridge(&output, self.input.voltage);
                }
                output
            }
            None => Output::default(),
        };
        self.has_armed |= self.output.trace.mode != Mode::Disarmed;
        self.status = self.halted.unwrap_or_else(|| self.running());
        self.status_led.step(self.status.remedy(), self.facts.rate);
        self.output.command
    }

    /// The bridge did not take a command: nothing more is asked of it until power is cycled. Its pins
    /// may still do what they did before; open the bridge by its enable input if it has one.
    pub fn bridge_failed(&mut self) {
        self.controller = None;
        self.halted = self.halted.or(Some(Status::BridgeFailed));
    }

    /// The most urgent thing to say.
    pub fn status(&self) -> Status {
        self.status
    }

    /// Whether the status LED is lit now.
    pub fn status_led(&self) -> bool {
        self.status_led.is_lit(self.facts.rate)
    }

    /// The last tick, for telemetry; each call counts as one frame sent.
    pub fn frame(&mut self) -> Frame {
        let frame = Frame {
            status: self.status.code(),
            ..Frame::new(self.sequence, self.tick, &self.input, &self.output)
        };
        self.sequence = self.sequence.wrapping_add(1);
        frame
    }

    /// Whether a sensor that is wired gave nothing in this tick.
    fn silent(&self) -> bool {
        let (wired, input) = (&self.facts.wired, &self.input);
        (wired.voltage && input.voltage.is_none())
            || (wired.speed && input.speed.is_none())
            || (wired.current && input.current.is_none())
            || (wired.temperature && input.temperature.is_none())
    }

    fn running(&self) -> Status {
        let trace = &self.output.trace;
        let events = trace.events;
        match trace.mode {
            Mode::Fault => Status::Fault,
            _ if self.silent() => Status::SensorSilent,
            _ if trace.pulse.is_none() => Status::NoSignal,
            Mode::Disarmed if self.facts.watchdog_restart && !self.has_armed => {
                Status::WatchdogRestart
            }
            Mode::Disarmed | Mode::Lost => Status::WaitsForNeutral,
            _ if events.contains(Event::Stalled) => Status::Stalled,
            _ if events.contains(Event::PackLow) => Status::PackLow,
            _ if events.contains(Event::Hot) => Status::Hot,
            _ => Status::Ready,
        }
    }
}

/// The tune on the page, if the board can drive by it.
fn tune(page: &[u8], facts: &BoardFacts) -> Result<Settings, Status> {
    let settings = blob::read(page).map_err(|error| match error {
        BlobError::NotATune => Status::NoTune,
        BlobError::Newer { .. } => Status::NewerTune,
        BlobError::Cut | BlobError::Damaged | BlobError::Malformed | BlobError::NoRoom => {
            Status::DamagedTune
        }
    })?;
    if lacks_a_sensor(&settings, &facts.wired) {
        return Err(Status::SensorNotWired);
    }
    if facts.pwm_most == 0 {
        return Err(Status::NoResolution);
    }
    Ok(settings)
}

/// Whether a part of the tune would be without effect for want of a sensor. Heat is left out: a tune
/// always has its limits, and many boards measure none.
fn lacks_a_sensor(tune: &Settings, wired: &Sensed) -> bool {
    let estimates = tune.motor.estimate_from_a.is_some() && wired.voltage && wired.current;
    let current_limits = tune.limits.drive_a.is_some() || tune.limits.brake_a.is_some();
    let by_current = matches!(tune.drag.law, DragLaw::Current { .. });
    !wired.voltage
        || (tune.hold.is_some() && !wired.speed && !estimates)
        || (tune.rest.is_some() && !wired.speed)
        || (current_limits && !wired.current)
        || (by_current && !wired.speed && !wired.current)
}

#[cfg(test)]
mod tests;
