//! What comes back of a tape, and where two answers part.

use easeoff_core::telemetry::{Frame, FrameReader};
use easeoff_tape::{ACCEPTED, Counts, Line, Stream};

use super::Failure;

/// An answer, read.
#[derive(Clone, Debug)]
pub(super) struct Answer {
    /// The running checksum at each tick.
    pub(super) checksums: Vec<u32>,
    /// The frames at the marks.
    pub(super) frames: Vec<Frame>,
    pub(super) counts: Counts,
}

impl Answer {
    /// Reads the answer to a tape of `ticks` with a mark every so many of them.
    ///
    /// # Errors
    /// When it is cut or damaged.
    pub(super) fn read(bytes: &[u8], ticks: usize, mark_every: u32) -> Result<Self, Failure> {
        let mut line = Stream::new(bytes, Vec::new());
        let ended = |_| format!("the answer ends early, after {} bytes", bytes.len());
        if line.byte().map_err(ended)? != ACCEPTED {
            return Err("the tune was refused".into());
        }
        let (mut checksums, mut frames) = (Vec::new(), Vec::new());
        for tick in 0..ticks {
            checksums.push(line.long().map_err(ended)?);
            if tick % mark_every as usize == 0 {
                frames.push(frame(&mut line)?);
            }
        }
        let counts = Counts::read(&mut line).map_err(ended)?;
        Ok(Self { checksums, frames, counts })
    }

    /// The first tick at which the two differ: by the running checksum, or else by a frame.
    pub(super) fn parts_from(&self, other: &Self) -> Option<usize> {
        let checksums = self.checksums.iter().zip(&other.checksums);
        let frames = self.frames.iter().zip(&other.frames);
        checksums
            .enumerate()
            .find(|(_, (ours, theirs))| ours != theirs)
            .map(|(tick, _)| tick)
            .or_else(|| frames.into_iter().find(|(a, b)| a != b).map(|(a, _)| a.tick as usize))
    }
}

/// The frame that comes next.
pub(super) fn frame(line: &mut impl Line) -> Result<Frame, Failure> {
    let mut reader = FrameReader::new();
    loop {
        let byte = line.byte().map_err(|_| "the line ended within a frame")?;
        if let Some(frame) = reader.push(byte) {
            return Ok(frame?);
        }
    }
}
