//! Numbers from a fuzzer's bytes.

/// Read from the front; past the end everything is zero.
pub(super) struct Bytes<'d>(&'d [u8]);

impl<'d> Bytes<'d> {
    pub(super) fn new(data: &'d [u8]) -> Self {
        Self(data)
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(super) fn take(&mut self, count: usize) -> &'d [u8] {
        let (taken, rest) = self.0.split_at(count.min(self.0.len()));
        self.0 = rest;
        taken
    }

    pub(super) fn byte(&mut self) -> u8 {
        self.take(1).first().copied().unwrap_or_default()
    }

    pub(super) fn word(&mut self) -> u16 {
        u16::from_le_bytes([self.byte(), self.byte()])
    }

    pub(super) fn bits(&mut self) -> i32 {
        i32::from_le_bytes([self.byte(), self.byte(), self.byte(), self.byte()])
    }

    /// 0 is `default`, 1 to 255 run from `low` to `high`.
    pub(super) fn within(&mut self, default: f32, low: f32, high: f32) -> f32 {
        match self.byte() {
            0 => default,
            part => (low + (high - low) * f32::from(part - 1) / 254.0).min(high),
        }
    }

    /// Even: nothing.
    pub(super) fn some<T>(&mut self, value: impl FnOnce(&mut Self) -> T) -> Option<T> {
        (self.byte() & 1 == 1).then(|| value(self))
    }
}
