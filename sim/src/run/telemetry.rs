//! Recorded telemetry of a real board, read into a table.

use easeoff_board::Status;
use easeoff_core::telemetry::{Frame, FrameError, FrameReader};
use easeoff_core::{Amp, Breach, Celsius, Command, Event, Events, Mode, Trace, Volt};

use crate::digits::times;
use crate::run::columns::{CONTROLLER, Column, Table};

/// How every table written here begins.
pub const BEGINNING: &str = "sequence,tick,";

const COUNTERS: &[Column<Frame>] = &[
    Column { name: "sequence", value: |frame| frame.sequence.into() },
    Column { name: "tick", value: |frame| frame.tick.into() },
    Column { name: "status", value: |frame| frame.status.into() },
];

/// What the board measured beside pulse and speed.
const MEASURED: &[Column<Frame>] = &[
    Column { name: "bus_v", value: |frame| number(frame.voltage.map(Volt::to_f32)) },
    Column { name: "motor_a", value: |frame| number(frame.current.map(Amp::to_f32)) },
    Column { name: "temperature_c", value: |frame| number(frame.temperature.map(Celsius::to_f32)) },
];

/// What `run.csv` leaves out of the trace.
const BETWEEN: &[Column<Trace>] = &[
    Column { name: "curved_demand", value: |trace| trace.curved.to_f32().into() },
    Column { name: "brake_asked", value: |trace| trace.brake_asked.to_f32().into() },
    Column { name: "duty_asked", value: |trace| trace.duty_asked.to_f32().into() },
    Column { name: "abruptness", value: |trace| trace.abruptness.to_f32().into() },
    Column { name: "bad_samples", value: |trace| trace.bad_samples.into() },
];

/// What stands in the last columns, in words.
const WORDS: [&str; 5] = ["command", "mode_name", "breach", "events", "status_words"];

/// A recording, read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Recording {
    /// The good frames, in the order in which they came.
    pub frames: Vec<Frame>,
    /// What was wrong with others, and how often.
    pub refused: Vec<(FrameError, usize)>,
    /// How often the sequence jumps.
    pub gaps: usize,
    /// How many frames are missing in those gaps.
    pub missing: usize,
    /// How often the ticks begin anew.
    pub restarts: usize,
}

impl Recording {
    /// Reads recorded bytes; frames that are damaged or cut off are counted and left out.
    ///
    /// ```
    /// use easeoff_core::telemetry::{Frame, MOST_BYTES, encode};
    /// use easeoff_sim::run::telemetry::Recording;
    /// let mut bytes = Vec::new();
    /// for sequence in [7, 8, 11] {
    ///     let frame = Frame { sequence, ..Frame::default() };
    ///     bytes.extend(encode(&frame, &mut [0; MOST_BYTES]).unwrap());
    /// }
    /// let recording = Recording::read(&bytes);
    /// assert_eq!((recording.frames.len(), recording.gaps, recording.missing), (3, 1, 2));
    /// ```
    pub fn read(bytes: &[u8]) -> Self {
        let mut recording = Self::default();
        let mut reader = FrameReader::new();
        // One more end, so that a frame without one is told.
        for result in bytes.iter().chain(&[0]).filter_map(|byte| reader.push(*byte)) {
            match result {
                Ok(frame) => recording.add(frame),
                Err(error) => recording.refuse(error),
            }
        }
        recording
    }

    fn add(&mut self, frame: Frame) {
        if let Some(before) = self.frames.last() {
            // Both counters wrap.
            let ticks = frame.tick.wrapping_sub(before.tick).cast_signed();
            let missing = frame.sequence.wrapping_sub(before.sequence).wrapping_sub(1);
            if ticks < 0 {
                self.restarts += 1;
            } else if missing > 0 {
                self.gaps += 1;
                self.missing += usize::from(missing);
            }
        }
        self.frames.push(frame);
    }

    fn refuse(&mut self, error: FrameError) {
        match self.refused.iter_mut().find(|(known, _)| *known == error) {
            Some((_, count)) => *count += 1,
            None => self.refused.push((error, 1)),
        }
    }

    /// One line per good frame: counters, values in physical units, words.
    pub fn to_csv(&self) -> String {
        let mut table = Table::with_capacity(self.frames.len() * 200);
        table.names(COUNTERS).names(CONTROLLER).names(MEASURED).names(BETWEEN);
        WORDS.iter().fold(&mut table, |table, word| table.word(word)).end_row();
        for frame in &self.frames {
            let trace = &frame.trace;
            table.values(COUNTERS, frame).values(CONTROLLER, &frame.output().into());
            table.values(MEASURED, frame).values(BETWEEN, trace).word(doing(frame.command));
            table.word(words_of(&Mode::ALL, trace.mode));
            table.word(trace.breach.map_or("", |breach| words_of(&Breach::ALL, breach)));
            table.word(&events_text(trace.events));
            let status = Status::from_code(frame.status).map(|status| status.notice().words);
            table.word(status.unwrap_or("unknown status")).end_row();
        }
        table.text
    }

    /// What is not in the table, a sentence each.
    pub fn losses(&self) -> Vec<String> {
        let mut said: Vec<String> = self
            .refused
            .iter()
            .map(|(error, count)| format!("{}: {error}", times(*count)))
            .collect();
        if self.gaps > 0 {
            let (gaps, missing) = (times(self.gaps), self.missing);
            said.push(format!("{gaps}: the sequence jumps; missing frames: {missing}"));
        }
        if self.restarts > 0 {
            said.push(format!("{}: the ticks begin anew, as at power-on", times(self.restarts)));
        }
        said
    }
}

/// A missing value is an empty cell.
fn number(value: Option<f32>) -> f64 {
    value.map_or(f64::NAN, f64::from)
}

fn doing(command: Command) -> &'static str {
    match command {
        Command::Coast => "coast",
        Command::Drive { .. } => "drive",
        Command::Brake { .. } => "brake",
    }
}

fn words_of<T: Copy + PartialEq>(all: &[(T, &'static str)], one: T) -> &'static str {
    all.iter().find(|(known, _)| *known == one).map_or("", |(_, words)| words)
}

fn events_text(events: Events) -> String {
    let words: Vec<&str> = Event::ALL
        .iter()
        .filter(|(event, _)| events.contains(*event))
        .map(|(_, words)| *words)
        .collect();
    words.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::demo::scenario;
    use crate::run::{DEFAULT_STEP_S, simulate};
    use easeoff_core::telemetry::{MOST_BYTES, encode};
    use easeoff_core::{Demand, Duty, Input, Speed, Strength};

    fn bytes(frames: &[Frame]) -> Vec<u8> {
        frames.iter().flat_map(|f| encode(f, &mut [0; MOST_BYTES]).unwrap().to_vec()).collect()
    }

    /// The same columns of a run say the same, whether it was simulated or sent.
    #[test]
    fn a_run_that_was_sent_reads_like_its_own_table() {
        let run = simulate(&scenario("garden").unwrap(), DEFAULT_STEP_S).unwrap();
        let frames: Vec<Frame> = (0_u32..)
            .zip(&run.rows)
            .map(|(tick, row)| {
                Frame::new(tick as u16, tick, &Input::default(), &row.output().unwrap())
            })
            .collect();
        let recording = Recording::read(&bytes(&frames));
        assert_eq!(recording.frames, frames);
        assert_eq!(recording.losses(), Vec::<String>::new());
        let (ours, theirs) = (recording.to_csv(), crate::run::columns::to_csv(&run.rows));
        let column = |text: &str, name: &str| -> Vec<String> {
            let place = text.lines().next().unwrap().split(',').position(|n| n == name).unwrap();
            text.lines().map(|line| line.split(',').nth(place).unwrap().to_owned()).collect()
        };
        for Column { name, .. } in CONTROLLER {
            assert_eq!(column(&ours, name), column(&theirs, name), "{name}");
        }
        assert_eq!(column(&ours, "tick").last().unwrap(), &(run.rows.len() - 1).to_string());
    }

    #[test]
    fn a_frame_becomes_one_line_in_physical_units() {
        let command = Command::Drive { duty: Duty::from_bits(-16_384) };
        let mut trace = Trace { mode: Mode::Reverse, ..Trace::default() };
        trace.speed = Speed::new(-2.5);
        trace.breach = Some(Breach::TooQuick);
        trace.added = Duty::from_bits(8_192);
        trace.duty_asked = Duty::from_bits(-32_768);
        trace.curved = Demand::from_bits(-49_152);
        trace.limits.brake_cap = Strength::from_bits(57_344);
        trace.events.note(Event::Hot, true);
        trace.events.note(Event::DriveCurrent, true);
        let frame = Frame {
            sequence: 3,
            tick: 70_000,
            status: 113,
            command,
            trace,
            voltage: Volt::new(11.5),
            ..Frame::default()
        };
        let table = Recording::read(&bytes(&[frame])).to_csv();
        assert!(table.starts_with(BEGINNING), "{table}");
        let lines: Vec<Vec<&str>> = table.lines().map(|line| line.split(',').collect()).collect();
        assert_eq!(lines.len(), 2);
        for (name, cell) in [
            ("sequence", "3"),
            ("tick", "70000"),
            ("status", "113"),
            ("bus_v", "11.5"),
            ("motor_a", ""),
            ("pulse_us", ""),
            ("duty", "-0.25"),
            ("added_duty", "0.125"),
            ("curved_demand", "-0.75"),
            ("brake_cap", "0.875"),
            ("duty_asked", "-0.5"),
            ("command", "drive"),
            ("mode_name", "reverse"),
            ("speed_used_rad_s", "-2.5"),
            ("breach", "duty grows too fast"),
            ("events", "hot; driving current limited"),
        ] {
            let place = lines[0].iter().position(|known| *known == name).unwrap();
            assert_eq!(lines[1][place], cell, "{name}");
        }
        assert_eq!(lines[0].len(), lines[1].len());
        assert_eq!(lines[1].last(), Some(&Status::Stalled.notice().words));
    }

    /// What firmware sent before the codes of today, its bytes with their words.
    const FORMER: [(u8, &str); 16] = [
        (0, "ready"),
        (11, "no tune is stored"),
        (12, "the tune is newer than the firmware"),
        (13, "the tune is cut off or damaged"),
        (14, "the tune's values are refused"),
        (15, "the tune needs a sensor that is not wired"),
        (21, "a PWM channel's largest duty is 0"),
        (22, "the bridge's pins failed"),
        (23, "restarted by the watchdog"),
        (24, "a wired sensor does not answer"),
        (31, "no throttle signal"),
        (32, "waits for the throttle at neutral"),
        (33, "the monitor refused a command"),
        (34, "the wheels were stationary too long with power applied"),
        (41, "pack low"),
        (42, "hot"),
    ];

    #[test]
    fn every_status_is_read_by_its_code_and_by_its_former_one() {
        let said = |status: u8| {
            let frame = Frame { status, ..Frame::default() };
            let table = Recording::read(&bytes(&[frame])).to_csv();
            let line = table.lines().nth(1).unwrap().to_owned();
            assert_eq!(line.split(',').nth(2), Some(&*status.to_string()), "as it was sent");
            line.split(',').next_back().unwrap().to_owned()
        };
        assert_eq!(FORMER.len(), Status::ALL.len());
        for (status, (former_code, words)) in Status::ALL.iter().zip(FORMER) {
            assert_eq!(said(former_code), words);
            assert_eq!(said(status.code()), words);
        }
        assert_eq!(said(99), "unknown status");
    }

    #[test]
    fn losses_are_counted_and_told() {
        let frame = |sequence, tick| Frame { sequence, tick, ..Frame::default() };
        let mut recorded = vec![9, 9, 0];
        recorded.extend(bytes(&[frame(65_534, 5), frame(2, 9), frame(0, 0), frame(3, 30)]));
        recorded.extend([1, 2]);
        let recording = Recording::read(&recorded);
        assert_eq!(recording.frames.len(), 4);
        assert_eq!(
            recording.losses(),
            [
                "2 times: a frame is damaged; check line and bit rate if this happens often",
                "2 times: the sequence jumps; missing frames: 5",
                "once: the ticks begin anew, as at power-on",
            ]
        );
        assert_eq!(Recording::read(&[]), Recording::default());
    }
}
