//! Frames over a line: what was sent is read, and damage is told.

use super::drawn::{Any, drawn, most};
use crc::{CRC_32_ISO_HDLC, Crc};
use easeoff_core::telemetry::{Frame, FrameError, FrameReader, MOST_BYTES, encode};
use easeoff_core::{
    Amp, Breach, Celsius, Command, Demand, Duty, Event, Input, Microseconds, Mode, Output, Speed,
    Strength, Trace, Volt,
};
use proptest::prelude::*;

fn sent(frame: &Frame) -> Vec<u8> {
    encode(frame, &mut [0; MOST_BYTES]).unwrap().to_vec()
}

fn seen(bytes: &[u8]) -> Vec<Result<Frame, FrameError>> {
    let mut reader = FrameReader::new();
    bytes.iter().filter_map(|byte| reader.push(*byte)).collect()
}

fn frames(seed: u64, count: usize) -> Vec<Frame> {
    let mut source = Any(seed);
    (0..count).map(|_| drawn(&mut source)).collect()
}

/// A frame with a value of its own in every place.
fn example() -> Frame {
    let mut trace = Trace {
        pulse: Some(Microseconds::from_bits(1_700 << 16)),
        bad_samples: 200,
        demand: Demand::from_bits(-1),
        curved: Demand::from_bits(2),
        slewed: Demand::from_bits(300),
        mode: Mode::Stopping,
        speed: Some(Speed::from_bits(14)),
        abruptness: Strength::from_bits(15),
        brake_level: Strength::from_bits(5),
        brake_asked: Strength::from_bits(60_000),
        added: Duty::from_bits(-7),
        duty_asked: Duty::from_bits(8),
        ..Trace::default()
    };
    trace.limits.pack = Strength::from_bits(9);
    trace.limits.heat = Strength::from_bits(10);
    trace.limits.drive_cap = Strength::from_bits(11);
    trace.limits.brake_cap = Strength::from_bits(12);
    trace.limits.stalled = true;
    trace.breach = Some(Breach::TooQuick);
    trace.events.note(Event::BadPulse, true);
    trace.events.note(Event::BrakeCurrent, true);
    let command = Command::Brake { strength: Strength::from_bits(13) };
    Frame {
        sequence: 300,
        tick: 70_000,
        status: 21,
        voltage: Some(Volt::from_bits(16)),
        current: Some(Amp::from_bits(-17)),
        temperature: Some(Celsius::from_bits(18)),
        command,
        trace,
    }
}

/// Byte stuffing undone as the paper states it: each code byte n stands before n - 1 bytes and,
/// unless it is 255 or the last, for a zero after them.
fn unstuffed(mut bytes: &[u8]) -> Vec<u8> {
    let mut plain = Vec::new();
    while let [code, rest @ ..] = bytes {
        let (run, rest) = rest.split_at(usize::from(*code) - 1);
        plain.extend(run);
        if *code != 255 && !rest.is_empty() {
            plain.push(0);
        }
        bytes = rest;
    }
    plain
}

/// Stuffed by the same rule, for short contents.
fn stuffed(plain: &[u8]) -> Vec<u8> {
    assert!(plain.len() < 254);
    let runs = plain.split(|byte| *byte == 0);
    let mut bytes: Vec<u8> = runs.flat_map(|run| [&[run.len() as u8 + 1], run].concat()).collect();
    bytes.push(0);
    bytes
}

/// Anything with the right checksum and stuffing.
fn wrapped(content: &[u8]) -> Vec<u8> {
    let sum = Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(content);
    stuffed(&[content, &sum.to_le_bytes()].concat())
}

proptest! {
    #[test]
    fn what_was_sent_is_read(seed: u64) {
        let frames = frames(seed, 20);
        let bytes: Vec<u8> = frames.iter().flat_map(sent).collect();
        prop_assert_eq!(bytes.iter().filter(|byte| **byte == 0).count(), frames.len());
        let read: Vec<Frame> = seen(&bytes).into_iter().map(Result::unwrap).collect();
        prop_assert_eq!(read, frames);
    }

    /// Noise, joined in the middle, bytes lost: whatever is read was sent, and after the noise
    /// everything is read again.
    #[test]
    fn noise_passes(
        seed: u64,
        noise in proptest::collection::vec(any::<u8>(), 0..2_000),
        skipped in 0_usize..60,
    ) {
        let frames = frames(seed, 4);
        let mut bytes: Vec<u8> = frames.iter().flat_map(sent).skip(skipped).collect();
        bytes.extend(&noise);
        bytes.push(0);
        bytes.extend(frames.iter().flat_map(sent));
        let read: Vec<Frame> = seen(&bytes).into_iter().flatten().collect();
        prop_assert!(read.iter().all(|frame| frames.contains(frame)));
        prop_assert!(read.ends_with(&frames), "{} of {}", read.len(), frames.len());
    }

    /// A strange body with the right checksum is a frame of that layout or an error, never a panic.
    #[test]
    fn a_strange_body_is_read_or_refused(strange in proptest::collection::vec(any::<u8>(), 0..120)) {
        let result = seen(&wrapped(&[&[2], &strange[..]].concat()));
        prop_assert!(matches!(result[..], [Ok(_) | Err(FrameError::Malformed)]), "{result:?}");
    }
}

#[test]
fn a_frame_is_laid_out_as_stated() {
    // Written by hand from postcard's specification: numbers of 16 and 32 bits as base-128, signed
    // ones zigzag before. A change here needs another format number.
    let body = [
        2, // format
        0xac, 0x02, 0xf0, 0xa2, 0x04, 21, // sequence, tick, status
        1, 32, 1, 33, 1, 36, // voltage, current, temperature
        2, 26, // brake with 13
        1, 0x80, 0x80, 0xa0, 0x6a, // pulse
        0xc8, 0x01, // bad samples
        1, 4, 0xd8, 0x04, // demand, curved, slewed
        4,    // stopping
        1, 28, 30, // speed, abruptness
        10, 0xc0, 0xa9, 0x07, // brake level and asked
        13, 16, // added, duty asked
        18, 20, 22, 24, 1, // limits
        1, 4, // breach
        0x81, 0x02, // events
    ];
    let bytes = sent(&example());
    let plain = unstuffed(&bytes[..bytes.len() - 1]);
    let (content, sum) = plain.split_at(plain.len() - 4);
    assert_eq!(content, body);
    assert_eq!(sum, Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(content).to_le_bytes());
    assert_eq!(bytes, wrapped(content));
}

#[test]
fn the_largest_frame_fits_and_a_smaller_buffer_is_refused() {
    let most = most(|frame: &Frame| sent(frame).len());
    println!("the largest frame takes {most} bytes of {MOST_BYTES}");
    assert!(most > sent(&Frame::default()).len() && most <= MOST_BYTES);
    let bytes = sent(&example());
    for room in 0..bytes.len() {
        let refused = encode(&example(), &mut vec![0; room]) == Err(FrameError::NoRoom);
        assert!(refused, "in {room} bytes");
    }
    assert_eq!(encode(&example(), &mut vec![0; bytes.len()]), Ok(&bytes[..]));
}

#[test]
fn a_flipped_bit_or_a_lost_byte_costs_two_frames_at_most() {
    let frames: Vec<Frame> =
        (0..5).map(|sequence| Frame { sequence, tick: 9, ..example() }).collect();
    let good: Vec<u8> = frames.iter().flat_map(sent).collect();
    let check = |bytes: &[u8], what: &str| {
        let results = seen(bytes);
        let read: Vec<Frame> = results.iter().copied().flatten().collect();
        assert!(read.len() == 3 || read.len() == 4, "{what}: {} frames", read.len());
        assert!(read.iter().all(|frame| frames.contains(frame)), "{what}: a frame nobody sent");
        assert!(read.is_sorted_by_key(|frame| frame.sequence), "{what}");
        // All but the last, whose end may be what is missing, are told.
        if read.last() == frames.last() {
            assert!(results.contains(&Err(FrameError::Damaged)), "{what}: not told");
        }
    };
    for bit in 0..good.len() * 8 {
        let mut bytes = good.clone();
        bytes[bit / 8] ^= 1 << (bit % 8);
        check(&bytes, &format!("bit {bit}"));
    }
    for place in 0..good.len() {
        let mut bytes = good.clone();
        bytes.remove(place);
        check(&bytes, &format!("byte {place} lost"));
    }
}

#[test]
fn a_frame_without_end_is_told_once_and_left_behind() {
    for byte in [1, 2, 100, 255] {
        let mut reader = FrameReader::new();
        assert!((0..100_000).all(|_| reader.push(byte).is_none()));
        assert_eq!(reader.push(0), Some(Err(FrameError::Overlong)), "of bytes {byte}");
        assert_eq!(reader.push(0), None);
        let read = sent(&example()).into_iter().find_map(|byte| reader.push(byte));
        assert_eq!(read, Some(Ok(example())));
    }
    let mut small = FrameReader::<8>::default();
    let read = sent(&example()).into_iter().find_map(|byte| small.push(byte));
    assert_eq!(read, Some(Err(FrameError::Overlong)));
}

#[test]
fn whole_frames_of_something_else_are_refused() {
    let error = seen(&wrapped(&[1, 3, 4])).remove(0).unwrap_err();
    assert_eq!(error, FrameError::OtherFormat { format: 1 });
    assert!(error.to_string().starts_with("a frame has format 1, not 2;"), "{error}");
    assert_eq!(seen(&wrapped(&[])), [Err(FrameError::Malformed)]);
    let bytes = sent(&example());
    let plain = unstuffed(&bytes[..bytes.len() - 1]);
    let content = &plain[..plain.len() - 4];
    for strange in [[content, &[0]].concat(), content[..content.len() - 1].to_vec()] {
        assert_eq!(seen(&wrapped(&strange)), [Err(FrameError::Malformed)]);
    }
    assert_eq!(seen(&[0, 0, 0]), []);
}

#[test]
fn quantities_from_the_line_are_clamped() {
    let bytes = postcard::to_extend(&i32::MAX, Vec::new()).unwrap();
    assert_eq!(postcard::from_bytes(&bytes), Ok(Demand::HIGHEST));
    assert_eq!(postcard::from_bytes(&bytes), Ok(Strength::FULL));
    let bytes = postcard::to_extend(&i32::MIN, Vec::new()).unwrap();
    assert_eq!(postcard::from_bytes(&bytes), Ok(Duty::LOWEST));
    assert_eq!(postcard::from_bytes(&bytes), Ok(Strength::ZERO));
}

#[test]
fn a_frame_keeps_the_output_with_its_number_and_tick() {
    let example = example();
    let output = Output { command: example.command, trace: example.trace };
    let (voltage, current, temperature) = (example.voltage, example.current, example.temperature);
    let input = Input { voltage, current, temperature, ..Input::default() };
    let frame = Frame { status: 21, ..Frame::new(300, 70_000, &input, &output) };
    assert_eq!(frame, example);
    assert_eq!(frame.output(), output);
}
