//! What the fuzzers run, apart from them, so that the committed corpus is replayed by a plain test.
//!
//! Each target takes any bytes and panics when a promise is broken. Few bytes already mean a whole
//! run: what is missing reads as zero, and zero means the default.

mod bytes;
mod tune;
mod watch;

use crc::{CRC_32_ISO_HDLC, Crc};
use easeoff_core::telemetry::{self, Frame, FrameReader};
use easeoff_core::{Command, Input, Monitor, MonitorState, Settings, State, TickRate, blob};

use bytes::Bytes;
use watch::{CommandWatch, MonitorWatch};

/// As much as one run may take, so that a fuzzer gets through many.
const MOST_TICKS: usize = 5_000;

/// A target: what it is called, and what it does with any bytes.
pub type Target = (&'static str, fn(&[u8]));

/// All targets; a fuzzer and a corpus folder each.
pub const TARGETS: [Target; 5] = [
    ("step_sequence", step_sequence),
    ("settings", settings),
    ("blob", blob),
    ("telemetry", telemetry),
    ("monitor", monitor),
];

/// A tune within its stated ranges, then any stretches of pulses and sensors.
pub fn step_sequence(data: &[u8]) {
    let (tune, rate, inputs) = sequence(data);
    run(&tune, rate, inputs);
}

/// The tune, rate and inputs that [`step_sequence`] makes of any bytes.
pub fn sequence(data: &[u8]) -> (Settings, TickRate, Vec<Input>) {
    let mut bytes = Bytes::new(data);
    let (tune, rate) = (tune::ranged(&mut bytes), tune::rate(&mut bytes));
    (tune, rate, tune::inputs(&mut bytes).take(MOST_TICKS).collect())
}

/// A tune of any bit patterns: what is accepted keeps its promises like any other.
pub fn settings(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let length = bytes.word();
    let body = bytes.take(usize::from(length));
    let rate = tune::rate(&mut bytes);
    if let Ok(tune) = blob::read(&blob_around(blob::VERSION, body)) {
        run(&tune, rate, tune::inputs(&mut bytes));
    }
}

fn run(tune: &Settings, rate: TickRate, inputs: impl IntoIterator<Item = Input>) {
    let Ok(controller) = tune.prepare(rate) else { return };
    let (mut state, mut watch) = (State::default(), CommandWatch::default());
    for input in inputs.into_iter().take(MOST_TICKS) {
        let output = controller.step(&mut state, &input);
        watch.look(tune, rate, &output);
    }
}

/// Any bytes as a blob, and as the body of a whole one: read without a panic, and what is read is
/// the same when written and read again.
pub fn blob(data: &[u8]) {
    for bytes in [data, &blob_around(data.len() as u16 % 4, data)] {
        let Ok(tune) = blob::read(bytes) else { continue };
        let (mut first, mut second) = ([0; blob::MOST_BYTES], [0; blob::MOST_BYTES]);
        let used = blob::write(&tune, &mut first).unwrap();
        let again = blob::read(&first).unwrap();
        // NaN is not equal to itself: by its bytes and by its words.
        assert_eq!(blob::write(&again, &mut second), Ok(used));
        assert_eq!(first, second);
        assert_eq!(format!("{tune:?}"), format!("{again:?}"));
    }
}

/// Any bytes on the line, and any bytes in a whole frame: read without a panic, and what is read is
/// the same when sent and read again; whatever came before.
pub fn telemetry(data: &[u8]) {
    let mut reader = FrameReader::new();
    // A zero ends what the noise began.
    let line = data.iter().copied().chain([0]).chain(frame_around(data));
    let seen: Vec<Frame> = line.filter_map(|byte| reader.push(byte)).flatten().collect();
    for frame in seen {
        let mut buffer = [0; telemetry::MOST_BYTES];
        let sent = telemetry::encode(&frame, &mut buffer).unwrap();
        let again: Vec<_> = sent.iter().filter_map(|byte| reader.push(*byte)).collect();
        assert_eq!(again, [Ok(frame)]);
    }
}

/// Any commands to a monitor of any tune: nothing drives that was not armed, and the rest of what
/// the monitor promises whatever the controller does.
pub fn monitor(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let (tune, rate) = (tune::ranged(&mut bytes), tune::rate(&mut bytes));
    if tune.prepare(rate).is_err() {
        return;
    }
    let monitor = Monitor::of(&tune, rate);
    let (mut state, mut watch) = (MonitorState::default(), MonitorWatch::default());
    let mut ticks = 0;
    while !bytes.is_empty() && ticks < MOST_TICKS {
        let asked: Command = tune::command(&mut bytes);
        for input in tune::leg(&mut bytes) {
            let verdict = monitor.step(&mut state, &input, asked);
            watch.look(&tune, rate, &input, asked, &verdict);
            ticks += 1;
        }
    }
}

fn sum(content: &[u8]) -> [u8; 4] {
    Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(content).to_le_bytes()
}

/// A body with header and checksum around it, as `easeoff_core::blob` lays them out.
pub fn blob_around(version: u16, body: &[u8]) -> Vec<u8> {
    let mut bytes = b"eoT\xe5".to_vec();
    bytes.extend(version.to_le_bytes());
    bytes.extend((body.len() as u16).to_le_bytes());
    bytes.extend(body);
    bytes.extend(sum(&bytes));
    bytes
}

/// Content with format, checksum and stuffing around it, as `easeoff_core::telemetry` says. Cut to
/// what one run of the stuffing takes; a frame has less.
fn frame_around(body: &[u8]) -> Vec<u8> {
    let mut plain = vec![1];
    plain.extend(body.iter().take(200));
    plain.extend(sum(&plain));
    let runs = plain.split(|byte| *byte == 0);
    let mut bytes: Vec<u8> = runs.flat_map(|run| [&[run.len() as u8 + 1], run].concat()).collect();
    bytes.push(0);
    bytes
}
