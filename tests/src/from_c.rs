//! The C programs in `tests/c`: what they are made of, and whether what they print is what the core says.

use std::collections::BTreeSet;
use std::fmt::{Debug, Display};
use std::path::{Path, PathBuf};
use std::str::FromStr;

use easeoff_core::telemetry::{Frame, FrameReader};
use easeoff_core::{
    Amp, Breach, Celsius, Command, Controller, CurveSettings, DragLaw, Event, GiveWaySettings,
    HoldSettings, Input, Knots, Microseconds, Mode, Output, RestSettings, Settings, Shape, Speed,
    StallSettings, State, TickRate, Volt, blob,
};

/// What C sees of the library.
pub const HEADER: &str = "core/c/easeoff.h";

/// The book's whole program.
pub const EXAMPLE: &str = "core/c/example/smallest.c";

/// What else the book shows.
pub const SETTINGS: &str = "core/c/example/settings.c";

/// What host and chip have in common.
pub const SOURCES: [&str; 3] = ["tests/c/story.c", "tests/c/refused.c", "tests/c/say.c"];

/// What every C compiler here is told.
pub const FLAGS: [&str; 7] =
    ["-std=c99", "-pedantic", "-Wall", "-Wextra", "-Werror", "-Icore/c", "-Itests/c"];

/// What `tests/c/refused.c` prints besides.
pub const MISTAKES: [&str; 3] = [
    "safe_state is 2; allowed is 0 to 1",
    "drag.onset_ms is -1; allowed is 0 to 10000",
    "mode.arm_ms is 150.5; it must be at least twice pulse.loss_after_ms, or silence passes for neutral",
];

/// The project's top folder, from which the paths here count.
pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// What a C program's drive came through.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Seen {
    /// Ticks compared.
    pub ticks: u32,
    /// Frames of telemetry compared.
    pub frames: u16,
    /// What the frames had to say about the board.
    pub notices: BTreeSet<u8>,
    /// The most stack that was used by the drive, and then by everything, where a chip tells it
    /// \[bytes\].
    pub stack: Vec<u32>,
    input: Input,
    outputs: Vec<Output>,
}

impl Seen {
    /// The events that never occurred.
    fn missing_events(&self) -> Vec<&'static str> {
        let seen = |event| self.outputs.iter().any(|output| output.trace.events.contains(event));
        Event::ALL.into_iter().filter(|(event, _)| !seen(*event)).map(|(_, words)| words).collect()
    }

    /// The modes in the order in which they came.
    pub fn modes(&self) -> Vec<Mode> {
        let mut modes: Vec<Mode> = self.outputs.iter().map(|output| output.trace.mode).collect();
        modes.dedup();
        modes
    }
}

/// Gives what a C program says that it gave to the library to the core, and compares what both answer.
///
/// # Errors
/// The first line at which they differ, or that cannot be understood.
pub fn compare(printed: &str) -> Result<Seen, String> {
    let mut lines = printed.lines();
    let tune =
        blob::read(&bytes(after(lines.next(), "tune")?)?).map_err(|error| error.to_string())?;
    chosen(&tune)?;
    let hz = number(after(lines.next(), "rate")?)?;
    let rate = TickRate::new(hz).ok_or(format!("rate {hz}"))?;
    let controller = tune.prepare(rate).map_err(|errors| errors.to_string())?;
    let (mut state, mut seen, mut mistakes) = (State::default(), Seen::default(), Vec::new());
    for (index, line) in lines.enumerate() {
        let reported = match line.split_once(' ') {
            Some(("tick", reported)) => tick(&controller, &mut state, &mut seen, reported),
            Some(("telemetry", reported)) => frame(&mut seen, reported),
            Some(("mistake", reported)) => {
                mistakes.push(reported);
                Ok(())
            }
            Some(("stack", reported)) => number(reported).map(|bytes| seen.stack.push(bytes)),
            _ => Err("cannot be understood".to_owned()),
        };
        reported.map_err(|error| format!("line {}, \"{line}\": {error}", index + 3))?;
    }
    same(&mistakes[..], &MISTAKES[..])?;
    // A sound core gives its monitor no reason.
    same(&seen.missing_events()[..], &["fault"])?;
    Ok(seen)
}

/// What `tests/c/story.c` chooses, by the core's names: a setting that landed in another would show.
fn chosen(tune: &Settings) -> Result<(), String> {
    let knots = Knots::new(&[[0.25, 0.125], [0.75, 0.5]]).unwrap_or_default();
    let mut due = Settings { curve: CurveSettings::Knots(knots), ..Settings::default() };
    (due.drag.onset_ms, due.drag.shape) = (450.0, Shape::Smooth);
    due.drag.law = DragLaw::Current { full_a: 15.0 };
    due.drag.soft_below_rad_s = 8.0;
    due.rest = Some(RestSettings::default());
    let give_way = GiveWaySettings { share: 0.25, after_ms: 200.0, ..Default::default() };
    due.hold =
        Some(HoldSettings { authority: 0.25, give_way: Some(give_way), ..HoldSettings::new(30.0) });
    (due.limits.drive_a, due.limits.brake_a) = (Some(20.0), Some(5.0));
    due.limits.stall = Some(StallSettings { after_ms: 400.0, ..Default::default() });
    due.motor.estimate_from_a = Some(1.5);
    same(*tune, due)
}

fn tick(
    controller: &Controller,
    state: &mut State,
    seen: &mut Seen,
    reported: &str,
) -> Result<(), String> {
    let (given, came) = reported.split_once(" | ").ok_or("no answer")?;
    let [pulse, speed, current, voltage, temperature] = words(given)?;
    let input = Input {
        pulse: value(pulse)?.and_then(Microseconds::new),
        speed: value(speed)?.and_then(Speed::new),
        current: value(current)?.and_then(Amp::new),
        voltage: value(voltage)?.and_then(Volt::new),
        temperature: value(temperature)?.and_then(Celsius::new),
    };
    let output = controller.step(state, &input);
    let [kind, raw, mode, events, breach, fast] = words(came)?;
    let (due_kind, due_raw) = match output.command {
        Command::Coast => (0, 0),
        Command::Drive { duty } => (1, duty.to_bits()),
        Command::Brake { strength } => (2, strength.to_bits()),
    };
    same((number(kind)?, number(raw)?), (due_kind, due_raw))?;
    let due_fast = match controller.for_fast_bridge(&output, input.voltage) {
        Command::Brake { strength } => strength.to_bits(),
        _ => due_raw,
    };
    same(number(fast)?, due_fast)?;
    let mode: usize = number(mode)?;
    same(Mode::ALL.get(mode).map(|(mode, _)| *mode), Some(output.trace.mode))?;
    same(number(events)?, output.trace.events.bits())?;
    let breach = number::<usize>(breach)?.checked_sub(1);
    let breach = breach.and_then(|place| Breach::ALL.get(place)).map(|(breach, _)| *breach);
    same(breach, output.trace.breach)?;
    seen.ticks += 1;
    seen.input = input;
    seen.outputs.push(output);
    Ok(())
}

fn frame(seen: &mut Seen, reported: &str) -> Result<(), String> {
    let [notice, digits] = words(reported)?;
    let status = number(notice)?;
    let mut reader = FrameReader::new();
    let read = bytes(digits)?.into_iter().find_map(|byte| reader.push(byte));
    let frame = read.ok_or("no frame")?.map_err(|error| error.to_string())?;
    let output = seen.outputs.last().ok_or("no tick yet")?;
    let due = Frame { status, ..Frame::new(seen.frames, seen.ticks - 1, &seen.input, output) };
    same(frame, due)?;
    seen.frames += 1;
    seen.notices.insert(status);
    Ok(())
}

fn same<T: PartialEq + Debug>(reported: T, due: T) -> Result<(), String> {
    if reported == due { Ok(()) } else { Err(format!("C says {reported:?}, the core {due:?}")) }
}

fn after<'l>(line: Option<&'l str>, word: &str) -> Result<&'l str, String> {
    let rest = line.and_then(|line| line.strip_prefix(word)).map(str::trim_start);
    rest.ok_or(format!("the line \"{word}\" is missing; there is {line:?}"))
}

fn words<const N: usize>(text: &str) -> Result<[&str; N], String> {
    let words: Vec<&str> = text.split(' ').collect();
    words.try_into().map_err(|_| format!("not {N} values"))
}

fn number<T: FromStr<Err: Display>>(word: &str) -> Result<T, String> {
    word.parse().map_err(|error| format!("{word}: {error}"))
}

fn value(word: &str) -> Result<Option<f32>, String> {
    if word == "-" { Ok(None) } else { number(word).map(Some) }
}

fn bytes(digits: &str) -> Result<Vec<u8>, String> {
    let byte = |at| digits.get(at..at + 2).and_then(|two| u8::from_str_radix(two, 16).ok());
    (0..digits.len()).step_by(2).map(|at| byte(at).ok_or("no bytes".into())).collect()
}
