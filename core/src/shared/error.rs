//! What can be wrong with settings, gathered while preparing: never one at a time, never later.

use core::fmt;

/// As many mistakes as one report carries: one for every setting, and some of a curve's knots.
pub const MOST_ERRORS: usize = 64;

/// All mistakes found in one set of settings, one or more.
#[derive(Clone, Debug, PartialEq)]
pub struct SettingsErrors(heapless::Vec<SettingsError, MOST_ERRORS>);

impl core::ops::Deref for SettingsErrors {
    type Target = [SettingsError];
    fn deref(&self) -> &[SettingsError] {
        &self.0
    }
}

/// One line each.
impl fmt::Display for SettingsErrors {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, error) in self.iter().enumerate() {
            let separator = if index == 0 { "" } else { "\n" };
            write!(out, "{separator}{error}")?;
        }
        Ok(())
    }
}

impl core::error::Error for SettingsErrors {}

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

/// What is allowed of a number.
pub(crate) struct Allowed {
    parameter: &'static str,
    pub(crate) range: [f32; 2],
}

impl Allowed {
    /// The setting's path, its least value and its greatest.
    pub(crate) const fn new(parameter: &'static str, range: [f32; 2]) -> Self {
        Self { parameter, range }
    }
}

/// Gathers mistakes while the stages prepare themselves.
pub(crate) struct Check {
    errors: heapless::Vec<SettingsError, MOST_ERRORS>,
}

impl Check {
    pub(crate) fn new() -> Self {
        Self { errors: heapless::Vec::new() }
    }

    /// Reports `value` unless it is allowed. Returns a usable value either way, so that the other
    /// settings can still be looked at.
    #[inline(never)]
    pub(crate) fn range(&mut self, allowed: &'static Allowed, value: f32) -> f32 {
        let Allowed { parameter, range: [min, max] } = *allowed;
        if (min..=max).contains(&value) {
            return value;
        }
        self.push(parameter, SettingsErrorKind::OutOfRange { value, min, max });
        min
    }

    /// Reports `value` unless `holds`, or unless it was out of its range anyway.
    #[inline(never)]
    pub(crate) fn rule(
        &mut self,
        parameter: &'static str,
        value: f32,
        holds: bool,
        rule: &'static str,
    ) {
        let reported = self.errors.iter().any(|error| error.parameter == parameter);
        if !holds && !reported {
            self.push(parameter, SettingsErrorKind::Contradicts { value, rule });
        }
    }

    #[expect(clippy::result_large_err, reason = "no heap to box it in; made once, at start-up")]
    pub(crate) fn finish<T>(self, prepared: T) -> Result<T, SettingsErrors> {
        if self.errors.is_empty() { Ok(prepared) } else { Err(SettingsErrors(self.errors)) }
    }

    fn push(&mut self, parameter: &'static str, kind: SettingsErrorKind) {
        // A full report already says enough; the rest shows once these are mended.
        let _ = self.errors.push(SettingsError { parameter, kind });
    }
}
