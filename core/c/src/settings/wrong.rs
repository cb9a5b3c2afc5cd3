//! Choices: numbers in C, which may hold anything.

use easeoff_core::{SettingsError, SettingsErrorKind};

use super::made::BYTES;

/// The choices that do not exist.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrong(heapless::Vec<SettingsError, BYTES>);

impl core::ops::Deref for Wrong {
    type Target = [SettingsError];
    fn deref(&self) -> &[SettingsError] {
        &self.0
    }
}

impl Wrong {
    pub(super) fn new() -> Self {
        Self(heapless::Vec::new())
    }

    /// The choice of this number, one of `count`; nothing if there is none.
    pub(super) fn pick(
        &mut self,
        parameter: &'static str,
        number: u8,
        count: usize,
    ) -> Option<usize> {
        if usize::from(number) < count {
            return Some(number.into());
        }
        let most = u8::try_from(count.saturating_sub(1)).unwrap_or(u8::MAX);
        let (value, max) = (f32::from(number), f32::from(most));
        let kind = SettingsErrorKind::OutOfRange { value, min: 0.0, max };
        // There is room for all.
        let _ = self.0.push(SettingsError { parameter, kind });
        None
    }

    /// 0 or 1.
    pub(super) fn flag(&mut self, parameter: &'static str, number: u8) -> bool {
        self.pick(parameter, number, 2) == Some(1)
    }
}
