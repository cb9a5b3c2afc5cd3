//! What is played to host and chips: inputs as the simulator's rig measured them, and others.

use easeoff_core::{
    Amp, Celsius, Command, GiveWaySettings, HoldSettings, Input, Output, RestSettings,
    ReversePolicy, Settings, Speed, StallSettings, State, TickRate, Trace, Volt,
};
use easeoff_sim::files::demo;
use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::controller::{Control, Own, rate};
use easeoff_sim::run::{DEFAULT_STEP_S, simulate_by};
use easeoff_sim::study::compare::{hold_kinds, onset_times};
use easeoff_tape::{Head, Line, Stream, write_record};
use easeoff_tests::fuzz;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::Failure;

/// Ticks from mark to mark.
pub(super) const MARK_EVERY: u32 = 500;

/// How many tunes and sequences of inputs are drawn, and of how many bytes each is made.
const RANDOM: u64 = 8;
const RANDOM_BYTES: usize = 2_000;

/// A tune with the inputs it is played.
#[derive(Clone, Debug)]
pub(super) struct Tape {
    pub(super) name: String,
    pub(super) tune: Settings,
    pub(super) rate: TickRate,
    pub(super) inputs: Vec<Input>,
}

impl Tape {
    /// As it travels, with a mark every so many ticks.
    pub(super) fn bytes(&self, mark_every: u32) -> Result<Vec<u8>, Failure> {
        let mut bytes = Vec::new();
        let mut line = Stream::new(&[][..], &mut bytes);
        let head = Head { tune: self.tune, rate: self.rate, mark_every };
        let written = head
            .write(&mut line)
            .and_then(|()| self.inputs.iter().try_for_each(|input| write_record(&mut line, input)))
            .and_then(|()| line.write(&[easeoff_tape::END]))
            .and_then(|()| line.flush());
        drop(line);
        written.map_err(|_| "the tape could not be laid out")?;
        Ok(bytes)
    }

    /// What the core in this program makes of it.
    pub(super) fn outputs(&self) -> Result<Vec<Output>, Failure> {
        let controller = self.tune.prepare(self.rate).map_err(|errors| format!("{errors:?}"))?;
        let mut state = State::default();
        Ok(self.inputs.iter().map(|input| controller.step(&mut state, input)).collect())
    }
}

/// All tapes.
///
/// # Errors
/// None in a program that passed its tests.
pub(super) fn all() -> Result<Vec<Tape>, Failure> {
    let of = |name: &str| demo::scenario(name).ok_or(format!("the demo {name} is broken"));
    let garden = of("garden")?;
    let mut lost = garden.clone();
    lost.driver.lost_s = vec![[5.0, 5.6], [9.0, 9.08], [14.0, 15.0]];
    let mut tapes = vec![recorded("garden", &garden)?, recorded("signal lost", &lost)?];
    for (name, scenario) in onset_times(&of("let-off")?) {
        tapes.push(recorded(&format!("let-off, {name}"), &scenario)?);
    }
    for (name, scenario) in hold_kinds(&of("snag")?) {
        tapes.push(recorded(&format!("snag, {name}"), &scenario)?);
    }
    let mut back = of("snag")?;
    back.course.snags.clear();
    back.tune.mode.reverse = ReversePolicy::Direct;
    back.driver.motion = Motion::ByTime(vec![
        [0.0, 0.0],
        [0.8, 0.0],
        [1.0, 0.4],
        [2.0, -0.4],
        [3.0, 0.3],
        [4.0, -0.3],
        [5.0, 0.0],
    ]);
    back.driver.duration_s = 6.0;
    tapes.push(recorded("back and forth", &back)?);
    back.tune.mode.reverse = ReversePolicy::AfterStop;
    tapes.push(recorded("back and forth, after a stop", &back)?);
    let mut gives_way = of("snag")?;
    let give_way =
        Some(GiveWaySettings { share: 0.25, after_ms: 500.0, ..GiveWaySettings::default() });
    gives_way.tune.hold =
        Some(HoldSettings { authority: 0.15, give_way, ..gives_way.tune.hold.unwrap_or_default() });
    tapes.push(recorded("snag, giving way", &gives_way)?);
    tapes.push(limits(&tapes[0]));
    let mut draws = ChaCha8Rng::seed_from_u64(5);
    for number in 1..=RANDOM {
        tapes.push(random(number, &mut draws));
    }
    Ok(tapes)
}

/// What the board measures while the simulator runs `scenario`.
fn recorded(name: &str, scenario: &Scenario) -> Result<Tape, Failure> {
    let mut overheard = Overheard { own: Own::new(scenario)?, inputs: Vec::new() };
    simulate_by(scenario, DEFAULT_STEP_S, &mut overheard)?;
    let inputs = overheard.inputs;
    Ok(Tape { name: name.into(), tune: scenario.tune, rate: rate(scenario), inputs })
}

/// easeoff's controller, with all that it was told.
struct Overheard {
    own: Own,
    inputs: Vec<Input>,
}

impl Control for Overheard {
    fn name(&self) -> String {
        self.own.name()
    }

    fn step(&mut self, input: &Input) -> Command {
        self.inputs.push(*input);
        self.own.step(input)
    }

    fn trace(&self) -> Option<Trace> {
        self.own.trace()
    }
}

/// A drive on which everything comes to its limit in turn: the pack empties and recovers, motor and
/// bridge heat up, currents grow, sensors go, the wheels are stuck.
fn limits(drive: &Tape) -> Tape {
    let mut tune = drive.tune;
    tune.limits.drive_a = Some(20.0);
    tune.limits.brake_a = Some(10.0);
    tune.limits.stall = Some(StallSettings { after_ms: 400.0, ..StallSettings::default() });
    tune.rest = Some(RestSettings::default());
    tune.hold = Some(HoldSettings { authority: 0.2, ..tune.hold.unwrap_or_default() });
    tune.motor.estimate_from_a = Some(1.0);
    let cells = f32::from(tune.limits.cells);
    let count = drive.inputs.len();
    let part = |tick: usize| 8.0 * tick as f32 / count as f32;
    let inputs = drive.inputs.iter().enumerate().map(|(tick, input)| {
        let mut input = *input;
        let (eighth, within) = (part(tick) as u8, part(tick).fract());
        // Up and down again.
        let wave = 1.0 - (2.0 * within - 1.0).abs();
        match eighth {
            1 => input.voltage = Volt::new(cells * (3.6 - 0.8 * wave)),
            2 => input.temperature = Celsius::new(60.0 + 90.0 * wave),
            3 => input.current = Amp::new(60.0 * wave),
            4 => input.speed = None,
            5 => (input.speed, input.current) = (None, Amp::new(-30.0 * wave)),
            6 => input.speed = Speed::new(0.0),
            7 => (input.speed, input.current, input.temperature) = (None, None, None),
            _ => {}
        }
        input
    });
    Tape { name: "limits".into(), tune, rate: drive.rate, inputs: inputs.collect() }
}

/// The fuzzer's idea of a tune and of a sequence, from drawn bytes; the first tune that is accepted.
fn random(number: u64, draws: &mut ChaCha8Rng) -> Tape {
    loop {
        let mut bytes = vec![0; RANDOM_BYTES];
        draws.fill_bytes(&mut bytes);
        let (tune, rate, inputs) = fuzz::sequence(&bytes);
        if tune.prepare(rate).is_ok() {
            return Tape { name: format!("random {number}"), tune, rate, inputs };
        }
    }
}

#[cfg(test)]
mod tests {
    use easeoff_core::{Command, Event, Mode};
    use easeoff_tape::{ACCEPTED, Unmetered, play};

    use super::*;

    /// The tapes would compare little if they were all alike.
    #[test]
    fn the_tapes_see_every_mode_every_command_and_all_that_can_happen() {
        let tapes = all().unwrap();
        let outputs: Vec<Output> = tapes.iter().flat_map(|tape| tape.outputs().unwrap()).collect();
        for (mode, word) in Mode::ALL {
            // A sound core never gives its monitor a reason.
            let seen = outputs.iter().any(|output| output.trace.mode == mode);
            assert_eq!(seen, mode != Mode::Fault, "{word}");
        }
        for (event, words) in Event::ALL {
            let seen = outputs.iter().any(|output| output.trace.events.contains(event));
            assert_eq!(seen, event != Event::Fault, "{words}");
        }
        let seen = |wanted: fn(&Command) -> bool| outputs.iter().any(|o| wanted(&o.command));
        assert!(seen(|command| *command == Command::Coast));
        assert!(seen(|command| matches!(command, Command::Drive { .. })));
        assert!(seen(|command| matches!(command, Command::Brake { .. })));
    }

    /// What was recorded is what is played, tick by tick.
    #[test]
    fn a_tape_gives_the_outputs_of_the_core_it_was_recorded_from() {
        for tape in all().unwrap() {
            let bytes = tape.bytes(1).unwrap();
            let mut answer = Vec::new();
            play(&mut Stream::new(&bytes[..], &mut answer), &mut Unmetered, |_| {}).unwrap();
            assert_eq!(answer[0], ACCEPTED);
            let answer = super::super::answer::Answer::read(&answer, tape.inputs.len(), 1).unwrap();
            let played: Vec<Output> = answer.frames.iter().map(|frame| frame.output()).collect();
            assert!(played == tape.outputs().unwrap(), "{}", tape.name);
        }
    }
}
