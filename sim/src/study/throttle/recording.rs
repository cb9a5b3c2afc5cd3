//! Recorded pulses: our CSV, or a board's telemetry.

use crate::files::mistake::{Refusal, Source};
use crate::files::table::read_pairs;
use crate::run::telemetry;

/// Pulses over time.
#[derive(Clone, Debug, Default)]
pub struct Pulses {
    /// Time \[s\], never falling, and width \[us\].
    pub samples: Vec<[f64; 2]>,
    /// Where they are from.
    pub origin: Origin,
}

/// Where pulses are from.
#[derive(Clone, Debug, Default)]
pub enum Origin {
    /// Each row is a pulse as it came.
    #[default]
    Table,
    /// Each row is the pulse in force in a tick: frames of the radio, and pulses the board refused, do
    /// not show one by one.
    Telemetry {
        /// Pulses that the board refused between the first row and the last.
        refused: usize,
        /// What is missing of the telemetry, a sentence each.
        losses: Vec<String>,
    },
}

/// The header of the table.
pub(crate) const HEADER: [&str; 2] = ["time_s", "pulse_us"];

impl Pulses {
    /// Reads `time_s,pulse_us` with the ranges of a recorded hand, or telemetry, which is told by its zero
    /// bytes. `tick_hz` turns the telemetry's ticks into seconds.
    ///
    /// # Errors
    /// Every mistake in the table; telemetry without a pulse.
    pub fn read(name: &str, bytes: Vec<u8>, tick_hz: u16) -> Result<Self, Refusal> {
        if bytes.contains(&0) {
            return Self::from_telemetry(name, &bytes, tick_hz);
        }
        let text = String::from_utf8(bytes).map_err(|_| {
            Source::new(name, "").refuse(
                "it is neither a table nor telemetry",
                "give a CSV file with the header time_s,pulse_us, or the bytes a board sent",
            )
        })?;
        let samples =
            read_pairs(&Source::new(name, text), HEADER, [0.0..=3_600.0, 0.0..=30_000.0])?;
        Ok(Self { samples, origin: Origin::Table })
    }

    /// Whether each row is a frame of the radio.
    pub(crate) fn shows_frames(&self) -> bool {
        matches!(self.origin, Origin::Table)
    }

    /// From the first pulse to the last \[s\].
    pub fn span_s(&self) -> (f64, f64) {
        let ends = self.samples.first().zip(self.samples.last());
        ends.map_or((0.0, 0.0), |([from, _], [to, _])| (*from, *to))
    }

    fn from_telemetry(name: &str, bytes: &[u8], tick_hz: u16) -> Result<Self, Refusal> {
        let recording = telemetry::Recording::read(bytes);
        let mut losses = recording.losses();
        // Since the last power-on only: before it the throttle may have been another.
        let begun = recording
            .frames
            .windows(2)
            .rposition(|pair| pair[1].tick.wrapping_sub(pair[0].tick).cast_signed() < 0);
        let frames = &recording.frames[begun.map_or(0, |place| place + 1)..];
        if begun.is_some() {
            losses.push("only what came since the last power-on is looked at".into());
        }
        let Some(first) = frames.first() else {
            let what = format!("it holds no good frame of telemetry; {}", losses.join("; "));
            return Err(Source::new(name, "")
                .refuse(what, "give the bytes as the board sent them, or a table as plain text"));
        };
        let hz = f64::from(tick_hz);
        let of = |frame: &easeoff_core::telemetry::Frame| {
            let pulse = frame.trace.pulse?;
            Some([f64::from(frame.tick.wrapping_sub(first.tick)) / hz, pulse.to_f32().into()])
        };
        let samples: Vec<[f64; 2]> = frames.iter().filter_map(of).collect();
        if samples.len() < 2 {
            return Err(Source::new(name, "").refuse(
                format!("its {} frames of telemetry hold no pulse", frames.len()),
                "switch the transmitter on and record again",
            ));
        }
        let counted = |frame: &easeoff_core::telemetry::Frame| usize::from(frame.trace.bad_samples);
        let refused = frames.last().map_or(0, counted).saturating_sub(counted(first));
        Ok(Self { samples, origin: Origin::Telemetry { refused, losses } })
    }
}
