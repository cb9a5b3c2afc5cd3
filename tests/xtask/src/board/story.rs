//! A story: what is done to a board, and what must be seen of it.

use std::path::Path;

use serde_json::{Value, json};

use super::emulator::{Seen, play};

/// So long one thing is done.
#[derive(Clone, Copy, Debug)]
pub(super) struct Part {
    pub(super) ms: u32,
    /// Pulses of this width every 20 ms; none.
    pub(super) pulse_us: Option<f64>,
    /// The wheel turns.
    pub(super) rad_s: f64,
    /// The converter's counts for the pack's voltage.
    pub(super) counts: u16,
}

/// What must hold of what was seen.
pub(super) type Check = fn(&Seen) -> Result<(), String>;

/// What is done to a board, and what must come of it.
pub(super) struct Story {
    pub(super) name: &'static str,
    /// What is flashed over the image: addresses and bytes.
    pub(super) flash: Vec<(u32, Vec<u8>)>,
    pub(super) parts: Vec<Part>,
    /// The chip says it was restarted by its watchdog.
    pub(super) restarted: bool,
    /// The loop is made to hang at this millisecond.
    pub(super) hangs_at_ms: Option<u32>,
    pub(super) holds: Check,
}

impl Story {
    /// Plays it and looks.
    ///
    /// # Errors
    /// What did not hold.
    pub(super) fn check(&self, image: &Path) -> Result<(), String> {
        let seen = play(image, &self.reported()).map_err(|error| error.to_string())?;
        (self.holds)(&seen)
    }

    fn reported(&self) -> Value {
        let parts: Vec<Value> = self
            .parts
            .iter()
            .map(|part| {
                json!({
                    "ms": part.ms,
                    "pulse_us": part.pulse_us,
                    "rad_s": part.rad_s,
                    "counts": part.counts,
                })
            })
            .collect();
        json!({
            "flash": self.flash,
            "parts": parts,
            "restarted": self.restarted,
            "hangs_at_ms": self.hangs_at_ms,
        })
    }
}
