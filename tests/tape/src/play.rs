//! Plays a tape.

use crc::{CRC_32_ISO_HDLC, Crc, Digest};
use easeoff_core::telemetry::{Frame, MOST_BYTES, encode};
use easeoff_core::{Settings, State};

use crate::line::{Broken, Line};
use crate::meter::Meter;
use crate::record::{Head, read_record};

static CHECKSUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// The answer's first byte: the tune is in force.
pub const ACCEPTED: u8 = 1;

/// The answer's only byte: the tune was refused.
pub const REFUSED: u8 = 0;

/// Plays the tape that comes over `line` and answers over it, to the tape's end. `adjust` has the last
/// word about the tune.
///
/// # Errors
/// [`Broken`] when the line ends early or brings no tape.
pub fn play(
    line: &mut impl Line,
    meter: &mut impl Meter,
    adjust: impl FnOnce(&mut Settings),
) -> Result<(), Broken> {
    let mut head = Head::read(line)?;
    adjust(&mut head.tune);
    let Ok(controller) = head.tune.prepare(head.rate) else {
        line.write(&[REFUSED])?;
        return line.flush();
    };
    line.write(&[ACCEPTED])?;
    let mut state = State::default();
    let mut digest = CHECKSUM.digest();
    let (mut tick, mut to_mark) = (0_u32, 0_u32);
    while let Some(input) = read_record(line)? {
        let output = meter.step(&controller, &mut state, &input);
        let [low, high, ..] = tick.to_le_bytes();
        let frame = Frame::new(u16::from_le_bytes([low, high]), tick, &input, &output);
        note(&mut digest, &frame)?;
        line.write(&digest.clone().finalize().to_le_bytes())?;
        if to_mark == 0 {
            let mut buffer = [0; MOST_BYTES];
            line.write(encode(&frame, &mut buffer).map_err(|_| Broken)?)?;
            to_mark = head.mark_every;
        }
        to_mark = to_mark.saturating_sub(1);
        tick = tick.wrapping_add(1);
    }
    meter.counts().write(line)?;
    line.flush()
}

/// Over the frame before it has its own checksum: a CRC over bytes that end with their CRC is the
/// same whatever they are.
fn note(digest: &mut Digest<'_, u32>, frame: &Frame) -> Result<(), Broken> {
    let mut buffer = [0; MOST_BYTES];
    digest.update(postcard::to_slice(frame, &mut buffer).map_err(|_| Broken)?);
    Ok(())
}
