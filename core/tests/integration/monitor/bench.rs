//! A controller, a fault and a monitor on one story.

use easeoff_core::{
    Amp, Breach, Celsius, Command, Controller, Input, Microseconds, Monitor, MonitorState, Output,
    Settings, Speed, State, TickRate, Verdict, Volt,
};

/// A stretch of a story at 1 kHz, a pulse in every tick.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Leg {
    pub(crate) ticks: u32,
    /// `None`: silence.
    pub(crate) pulse_us: Option<f32>,
    pub(crate) speed: Option<f32>,
    pub(crate) current: Option<f32>,
    pub(crate) voltage: Option<f32>,
    pub(crate) celsius: Option<f32>,
}

/// The throttle at a place, without sensors.
pub(crate) fn at(ticks: u32, pulse_us: f32) -> Leg {
    Leg { ticks, pulse_us: Some(pulse_us), ..Leg::default() }
}

/// The throttle at a place, the wheels at a speed.
pub(crate) fn rolling(ticks: u32, pulse_us: f32, speed: f32) -> Leg {
    Leg { speed: Some(speed), ..at(ticks, pulse_us) }
}

pub(crate) fn silent(ticks: u32) -> Leg {
    Leg { ticks, ..Leg::default() }
}

/// Armed, then at half throttle.
pub(crate) fn half() -> Vec<Leg> {
    vec![at(600, 1_500.0), at(500, 1_760.0)]
}

pub(crate) fn half_then(legs: &[Leg]) -> Vec<Leg> {
    [&half(), legs].concat()
}

/// The default tune, with all pulses believed at once so that stories are plain to read.
pub(crate) fn plain() -> Settings {
    let mut tune = Settings::default();
    tune.pulse.jump_us = 2_000.0;
    tune
}

fn inputs(legs: &[Leg]) -> impl Iterator<Item = Input> + '_ {
    legs.iter().flat_map(|leg| {
        let input = Input {
            pulse: leg.pulse_us.and_then(Microseconds::new),
            speed: leg.speed.and_then(Speed::new),
            current: leg.current.and_then(Amp::new),
            voltage: leg.voltage.and_then(Volt::new),
            temperature: leg.celsius.and_then(Celsius::new),
        };
        (0..leg.ticks).map(move |_| input)
    })
}

/// One tick, with what came before it.
pub(crate) struct Now<'h> {
    /// Ticks since power-on, from 0.
    pub(crate) tick: usize,
    pub(crate) input: Input,
    /// What the healthy controller does.
    pub(crate) healthy: Output,
    /// The healthy outputs of the ticks before.
    pub(crate) past: &'h [Output],
}

impl Now<'_> {
    /// The healthy command some ticks ago.
    pub(crate) fn ago(&self, ticks: usize) -> Command {
        self.past.len().checked_sub(ticks).map_or(Command::Coast, |at| self.past[at].command)
    }
}

/// Where the faulty command comes from.
pub(crate) enum Fault {
    /// The healthy one, spoilt.
    Spoilt(fn(&Now<'_>) -> Command),
    /// A controller with other settings.
    Mistuned(fn(&mut Settings)),
}

/// One seeded fault.
pub(crate) struct Case {
    pub(crate) name: &'static str,
    pub(crate) tune: Settings,
    pub(crate) story: Vec<Leg>,
    pub(crate) fault: Fault,
    /// Whether this command breaks what the tune promises, in plain terms.
    pub(crate) wrong: fn(&Now<'_>, Command) -> bool,
    pub(crate) expected: Breach,
}

impl Case {
    /// The monitor must be silent until the first wrong command, and refuse that one.
    pub(crate) fn run(&self) -> Result<(), String> {
        let rate = TickRate::new(1_000).unwrap();
        let healthy = self.tune.prepare(rate).map_err(|errors| format!("{errors:?}"))?;
        let monitor = *healthy.monitor();
        let mut other = match self.fault {
            Fault::Spoilt(_) => None,
            Fault::Mistuned(change) => {
                let mut tune = self.tune;
                change(&mut tune);
                Some(tune.prepare(rate).map_err(|errors| format!("{errors:?}"))?)
            }
        };
        let (mut state, mut other_state) = (State::default(), State::default());
        let (mut watching, mut silent) = (MonitorState::default(), MonitorState::default());
        let mut past = Vec::new();
        for (tick, input) in inputs(&self.story).enumerate() {
            let output = healthy.step(&mut state, &input);
            let now = Now { tick, input, healthy: output, past: &past };
            let command = match (&self.fault, &mut other) {
                (Fault::Spoilt(spoil), _) => spoil(&now),
                (_, Some(other)) => other.step(&mut other_state, &input).command,
                _ => output.command,
            };
            let wrong = (self.wrong)(&now, command);
            // The healthy command passes a monitor of its own.
            let alongside = monitor.step(&mut silent, &input, output.command);
            if alongside.breach.is_some() || alongside.command != output.command {
                return Err(format!("tick {tick}: the healthy {:?} is refused", output.command));
            }
            let verdict = monitor.step(&mut watching, &input, command);
            match (wrong, verdict.breach) {
                (false, None) => {}
                (true, Some(breach)) if breach == self.expected => {
                    let safe = verdict.command == Command::Coast && watching.fault();
                    return safe.then_some(()).ok_or(format!("{:?} passes", verdict.command));
                }
                (_, found) => {
                    return Err(format!(
                        "tick {tick}: {command:?} (healthy {:?}) is {}; the monitor says {found:?}",
                        output.command,
                        if wrong { "wrong" } else { "not wrong yet" },
                    ));
                }
            }
            past.push(output);
        }
        Err("the story ends before the fault shows".into())
    }
}

/// A controller and a monitor beside it, tick by tick.
pub(crate) struct Rig {
    controller: Controller,
    state: State,
    monitor: Monitor,
    watching: MonitorState,
    input: Input,
    /// The controller's last command.
    pub(crate) healthy: Command,
}

impl Rig {
    pub(crate) fn new(tune: &Settings) -> Self {
        let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
        Self {
            controller,
            state: State::default(),
            monitor: *controller.monitor(),
            watching: MonitorState::default(),
            input: Input::default(),
            healthy: Command::Coast,
        }
    }

    /// One tick as the last, with a command in place of the controller's.
    pub(crate) fn step(&mut self, spoilt: Option<Command>) -> Verdict {
        let output = self.controller.step(&mut self.state, &self.input);
        self.healthy = output.command;
        self.monitor.step(&mut self.watching, &self.input, spoilt.unwrap_or(output.command))
    }

    pub(crate) fn drive(&mut self, legs: &[Leg]) {
        for input in inputs(legs) {
            self.input = input;
            self.step(None);
        }
    }
}
