//! What `step` saw and decided, in frames over a serial line.
//!
//! A frame is the format's number, then the [`Frame`] in postcard's format, then CRC-32/ISO-HDLC over
//! both, little end first; all of it byte-stuffed (COBS: Cheshire and Baker, "Consistent Overhead
//! Byte Stuffing", IEEE/ACM Transactions on Networking 7(2), 1999), so that a zero byte ends a frame
//! and stands nowhere else. A reader that joins late or lost bytes begins again at the next zero.
//!
//! ```
//! use easeoff_core::telemetry::{Frame, FrameReader, MOST_BYTES, encode};
//! let sent = Frame { sequence: 7, tick: 1_000, ..Frame::default() };
//! let mut buffer = [0; MOST_BYTES];
//! let bytes = encode(&sent, &mut buffer).unwrap();
//!
//! let mut reader = FrameReader::new();
//! let seen = bytes.iter().find_map(|byte| reader.push(*byte));
//! assert_eq!(seen, Some(Ok(sent)));
//! ```

use core::fmt;

use cobs::{CobsEncoder, DecodeResult, DecoderState, max_encoding_length};

use crate::controller::Output;
use crate::shared::input::Input;
use crate::shared::units::{Amp, Celsius, Volt};
use crate::stages::bridge::Command;
use crate::trace::Trace;
use crate::wire::checksum::{seal, unseal};

/// The layout of [`Frame`]. Raise it whenever a released one changes.
const FORMAT: u8 = 2;

/// Room for a frame with its format and checksum, before the stuffing.
const MOST_PLAIN_BYTES: usize = 160;

/// A buffer of this size holds every frame, stuffed and with the zero at its end.
pub const MOST_BYTES: usize = max_encoding_length(MOST_PLAIN_BYTES).saturating_add(1);

/// One tick, as it is sent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Frame {
    /// Counts frames and wraps; a gap is a loss on the line.
    pub sequence: u16,
    /// Ticks since power-on; wraps after 6 days at 8 kHz.
    pub tick: u32,
    /// What the board around the controller has to say, a code of its own; 0: nothing.
    pub status: u8,
    /// Bus voltage, if it was measured.
    pub voltage: Option<Volt>,
    /// Motor current, if it was measured.
    pub current: Option<Amp>,
    /// The hottest temperature, if one was measured.
    pub temperature: Option<Celsius>,
    /// What the bridge was told.
    pub command: Command,
    /// How that came about.
    pub trace: Trace,
}

impl Frame {
    /// The frame of one tick: what the step was told and what it returned.
    pub fn new(sequence: u16, tick: u32, input: &Input, output: &Output) -> Self {
        Self {
            sequence,
            tick,
            status: 0,
            voltage: input.voltage,
            current: input.current,
            temperature: input.temperature,
            command: output.command,
            trace: output.trace,
        }
    }

    /// What the tick's `step` returned.
    pub fn output(&self) -> Output {
        Output { command: self.command, trace: self.trace }
    }
}

/// Why a frame could not be written or read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrameError {
    /// The buffer to write into is too small.
    NoRoom,
    /// Bytes were lost or changed on the line.
    Damaged,
    /// More bytes without a zero than any frame has.
    Overlong,
    /// A frame of another format, sent by another build.
    OtherFormat {
        /// Its number.
        format: u8,
    },
    /// The checksum agrees, but the content is no frame of its stated format.
    Malformed,
}

impl fmt::Display for FrameError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoRoom => {
                write!(out, "the frame does not fit; a buffer of {MOST_BYTES} bytes always does")
            }
            Self::Damaged => {
                write!(out, "a frame is damaged; check line and bit rate if this happens often")
            }
            Self::Overlong => write!(
                out,
                "more bytes without an end than a frame has; check the bit rate, and that the \
                 bytes are telemetry"
            ),
            Self::OtherFormat { format } => write!(
                out,
                "a frame has format {format}, not {FORMAT}; read it with the build that sent it"
            ),
            Self::Malformed => write!(
                out,
                "a frame is whole but not laid out as its format says; read it with the build \
                 that sent it"
            ),
        }
    }
}

impl core::error::Error for FrameError {}

/// Writes `frame` to the front of `buffer`, with the zero at its end; returns what to send. At most
/// [`MOST_BYTES`].
///
/// # Errors
/// [`FrameError::NoRoom`].
pub fn encode<'b>(frame: &Frame, buffer: &'b mut [u8]) -> Result<&'b [u8], FrameError> {
    let mut plain = [0; MOST_PLAIN_BYTES];
    let used =
        postcard::to_slice(&(FORMAT, frame), &mut plain).map_err(|_| FrameError::NoRoom)?.len();
    let used = seal(&mut plain, used).ok_or(FrameError::NoRoom)?;
    let mut stuffing = CobsEncoder::new(buffer);
    stuffing.push(plain.get(..used).unwrap_or_default()).map_err(|_| FrameError::NoRoom)?;
    let end = stuffing.finalize();
    *buffer.get_mut(end).ok_or(FrameError::NoRoom)? = 0;
    buffer.get(..=end).ok_or(FrameError::NoRoom)
}

fn decode(plain: &[u8]) -> Result<Frame, FrameError> {
    let content = unseal(plain).ok_or(FrameError::Damaged)?;
    let (format, body) = content.split_first().ok_or(FrameError::Malformed)?;
    if *format != FORMAT {
        return Err(FrameError::OtherFormat { format: *format });
    }
    match postcard::take_from_bytes(body) {
        Ok((frame, [])) => Ok(frame),
        _ => Err(FrameError::Malformed),
    }
}

/// Puts frames together from single bytes, as they arrive. Bounded work per byte; one frame's worth
/// of work at a zero.
///
/// `N` is the room for one frame before the stuffing; the default takes every frame.
#[derive(Debug)]
pub struct FrameReader<const N: usize = MOST_PLAIN_BYTES> {
    plain: heapless::Vec<u8, N>,
    stuffing: DecoderState,
    /// Bytes since the last zero, good or not.
    any: bool,
    overlong: bool,
}

impl FrameReader {
    /// Room for every frame.
    pub fn new() -> Self {
        Self::default()
    }
}

impl<const N: usize> Default for FrameReader<N> {
    fn default() -> Self {
        Self {
            plain: heapless::Vec::new(),
            stuffing: DecoderState::Idle,
            any: false,
            overlong: false,
        }
    }
}

impl<const N: usize> FrameReader<N> {
    /// Takes the next byte; at a frame's end returns the frame or what is wrong with it. Zeros
    /// without anything between them are passed over.
    pub fn push(&mut self, byte: u8) -> Option<Result<Frame, FrameError>> {
        match self.stuffing.feed(byte) {
            Ok(DecodeResult::DataContinue(plain)) => {
                self.overlong |= self.plain.push(plain).is_err();
            }
            Ok(DecodeResult::NoData | DecodeResult::DataComplete) => {}
            // Ended within a run: what is there has lost its end, and the checksum would say so
            // only nearly always.
            Err(_) => self.plain.clear(),
        }
        if byte != 0 {
            self.any = true;
            return None;
        }
        if !core::mem::take(&mut self.any) {
            return None;
        }
        let result = if core::mem::take(&mut self.overlong) {
            Err(FrameError::Overlong)
        } else {
            decode(&self.plain)
        };
        self.plain.clear();
        Some(result)
    }
}
