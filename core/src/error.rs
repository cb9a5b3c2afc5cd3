//! What can be wrong with settings, gathered while preparing: never one at a time, never later.

use core::fmt;
use core::ops::RangeInclusive;

/// As many mistakes as one report carries; there are fewer settings than this.
pub const MOST_ERRORS: usize = 48;

/// All mistakes found in one set of settings.
pub type SettingsErrors = heapless::Vec<SettingsError, MOST_ERRORS>;

/// One mistake in the settings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SettingsError {
    /// The setting's path, such as `drag.onset_ms`.
    pub parameter: &'static str,
    /// What is wrong with it.
    pub kind: SettingsErrorKind,
}

/// What is wrong with a setting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SettingsErrorKind {
    /// The value is outside its range, or not a finite number.
    OutOfRange {
        /// The value given.
        value: f32,
        /// The least value allowed.
        min: f32,
        /// The greatest value allowed.
        max: f32,
    },
    /// The value is in range but not together with another setting.
    Contradicts {
        /// The value given.
        value: f32,
        /// What must hold, in words.
        rule: &'static str,
    },
}

impl fmt::Display for SettingsError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.kind {
            SettingsErrorKind::OutOfRange { value, min, max } => {
                write!(out, "{} is {value}; allowed is {min} to {max}", self.parameter)
            }
            SettingsErrorKind::Contradicts { value, rule } => {
                write!(out, "{} is {value}; {rule}", self.parameter)
            }
        }
    }
}

impl core::error::Error for SettingsError {}

/// Gathers mistakes while the stages prepare themselves.
pub(crate) struct Check {
    errors: SettingsErrors,
}

impl Check {
    pub(crate) fn new() -> Self {
        Self { errors: SettingsErrors::new() }
    }

    /// Reports `value` unless it lies in `range`. Returns a usable value either way, so that the
    /// other settings can still be looked at.
    pub(crate) fn range(
        &mut self,
        parameter: &'static str,
        value: f32,
        range: RangeInclusive<f32>,
    ) -> f32 {
        if range.contains(&value) {
            return value;
        }
        let (min, max) = (*range.start(), *range.end());
        self.push(parameter, SettingsErrorKind::OutOfRange { value, min, max });
        min
    }

    /// Reports `value` unless `holds`.
    pub(crate) fn rule(
        &mut self,
        parameter: &'static str,
        value: f32,
        holds: bool,
        rule: &'static str,
    ) {
        if !holds {
            self.push(parameter, SettingsErrorKind::Contradicts { value, rule });
        }
    }

    #[expect(clippy::result_large_err, reason = "no heap to box it in; made once, at start-up")]
    pub(crate) fn finish<T>(self, prepared: T) -> Result<T, SettingsErrors> {
        if self.errors.is_empty() { Ok(prepared) } else { Err(self.errors) }
    }

    fn push(&mut self, parameter: &'static str, kind: SettingsErrorKind) {
        // A full report already says enough; the rest shows once these are mended.
        let _ = self.errors.push(SettingsError { parameter, kind });
    }
}
