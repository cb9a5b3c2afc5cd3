//! A log: what the rig was told, and what was measured, over time.

use easeoff_core::Command;

use crate::run::Row;

/// A log, read and found good. Times begin at 0.
#[derive(Clone, Debug)]
pub struct Log {
    /// Times of the rows \[s\].
    pub time_s: Vec<f64>,
    /// What the rig was told in each row, until the next.
    pub driven: Driven,
    /// What was measured.
    pub signals: Vec<Signal>,
    /// What is odd about it but no reason to refuse it.
    pub notes: Vec<String>,
}

/// What the rig was told.
#[derive(Clone, Debug)]
pub enum Driven {
    /// Commands to the bridge: the controller is left out.
    Bridge(Vec<Command>),
    /// Pulses \[us\] to the controller, where there was one.
    Pulses(Vec<Option<f64>>),
}

/// One measured column.
#[derive(Clone, Debug)]
pub struct Signal {
    /// Its name with unit.
    pub name: &'static str,
    /// Where a simulated row has the same.
    pub value: fn(&Row) -> f64,
    /// Rows that have it, and its values there.
    pub samples: Vec<(usize, f64)>,
}

/// By which column the rig is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DriveBy {
    /// The column `duty`, with `brake_share` if it is there.
    Duty,
    /// The column `pulse_us`.
    Pulse,
}

/// What a log is read for.
#[derive(Clone, Debug, Default)]
pub struct Wanted<'w> {
    /// By what the rig is driven; `None`: by the duty if the log has it.
    pub drive_by: Option<DriveBy>,
    /// The measured columns to use; empty: all usual ones that are there.
    pub signals: &'w [String],
    /// Controller ticks per second, for a log that counts ticks.
    pub tick_hz: f64,
}

impl Log {
    /// How many samples all signals have together.
    pub fn sample_count(&self) -> usize {
        self.signals.iter().map(|signal| signal.samples.len()).sum()
    }

    /// All measured values, signal by signal.
    pub fn measured(&self) -> Vec<f64> {
        self.signals.iter().flat_map(|signal| signal.samples.iter().map(|(_, y)| *y)).collect()
    }

    /// The part of a list over all samples that belongs to each signal.
    pub fn parts<'a, T>(&self, all: &'a [T]) -> Vec<&'a [T]> {
        let mut rest = all;
        self.signals
            .iter()
            .map(|signal| {
                let (part, later) = rest.split_at(signal.samples.len());
                rest = later;
                part
            })
            .collect()
    }

    /// The usual time from row to row \[s\].
    pub(crate) fn interval_s(&self) -> f64 {
        median(self.time_s.windows(2).map(|pair| pair[1] - pair[0]).collect())
    }

    /// The last row's time \[s\].
    pub fn duration_s(&self) -> f64 {
        self.time_s.last().copied().unwrap_or(0.0)
    }
}

/// The middle of the values; 0 of none.
pub(super) fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}
