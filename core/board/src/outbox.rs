//! A frame on its way out, as fast as the line takes it.

use easeoff_core::telemetry::{Frame, MOST_BYTES, encode};

/// Holds one encoded frame and hands out what is not yet sent. A tick never waits for the line: what
/// does not fit now goes next time.
///
/// ```
/// use easeoff_board::Outbox;
/// use easeoff_core::telemetry::Frame;
/// let mut outbox = Outbox::default();
/// assert!(outbox.is_empty());
/// outbox.put(&Frame::default());
/// let whole = outbox.rest().len();
/// outbox.sent(5); // the line took five bytes
/// assert_eq!(outbox.rest().len(), whole - 5);
/// ```
#[derive(Clone, Debug)]
pub struct Outbox {
    bytes: [u8; MOST_BYTES],
    from: usize,
    to: usize,
}

impl Default for Outbox {
    /// Empty.
    fn default() -> Self {
        Self { bytes: [0; MOST_BYTES], from: 0, to: 0 }
    }
}

impl Outbox {
    /// Whether all was sent.
    pub fn is_empty(&self) -> bool {
        self.from >= self.to
    }

    /// Takes a frame in the place of what is not yet sent.
    pub fn put(&mut self, frame: &Frame) {
        let length = encode(frame, &mut self.bytes).map_or(0, <[u8]>::len);
        (self.from, self.to) = (0, length);
    }

    /// What is not yet sent.
    pub fn rest(&self) -> &[u8] {
        self.bytes.get(self.from..self.to).unwrap_or_default()
    }

    /// The line took so many bytes of [`rest`](Self::rest).
    pub fn sent(&mut self, bytes: usize) {
        self.from = self.from.saturating_add(bytes).min(self.to);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_core::telemetry::FrameReader;

    #[test]
    fn a_frame_arrives_whole_through_a_narrow_line() {
        let mut outbox = Outbox::default();
        let frame = Frame { sequence: 9, tick: 70_000, status: 103, ..Frame::default() };
        outbox.put(&frame);
        let (mut reader, mut arrived) = (FrameReader::new(), None);
        while !outbox.is_empty() {
            let taken = outbox.rest().len().min(7);
            for byte in outbox.rest().iter().take(taken) {
                arrived = reader.push(*byte).or(arrived);
            }
            outbox.sent(taken);
        }
        assert_eq!(arrived, Some(Ok(frame)));
        outbox.sent(usize::MAX);
        assert!(outbox.is_empty() && outbox.rest().is_empty());
    }
}
