//! What is wrong with settings, in words.

use core::ffi::c_char;

use easeoff_core::{SettingsError, SettingsErrorKind};

use crate::pointer::{get, room};
use crate::prepare::rate;
use crate::settings::easeoff_settings;
use crate::status::easeoff_status;

/// A buffer of this size holds every mistake's text.
pub const EASEOFF_TEXT_BYTES: usize = 256;

/// Writes what is wrong with `settings` into `text`: of all mistakes the one with this number, counted
/// from 0, as "drag.onset_ms is -1; allowed is 0 to 10000". The text ends with a zero; what does not fit
/// is cut off, and the answer is EASEOFF_STATUS_NO_ROOM. After the last mistake the text is empty and the
/// answer EASEOFF_STATUS_NO_MISTAKE.
///
/// # Safety
/// Pointers are null or point to what they say.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_mistake(
    settings: *const easeoff_settings,
    tick_hz: u32,
    number: usize,
    text: *mut c_char,
    length: usize,
) -> easeoff_status {
    let done = || {
        // SAFETY: the caller's promise.
        let text = unsafe { room(text.cast(), length) }?;
        // SAFETY: the caller's promise; any bytes make these settings.
        let settings = unsafe { get(settings) }?;
        let rate = rate(tick_hz)?;
        let (settings, wrong) = settings.read();
        let refused = settings.prepare(rate).err();
        let others = refused.iter().flat_map(|errors| errors.iter());
        let mistake = wrong.iter().chain(others).nth(number).ok_or(easeoff_status::NoMistake)?;
        tell(mistake, text)
    };
    done().into()
}

/// Leaves a zero at the end; `text` is all zero before.
fn tell(mistake: &SettingsError, text: &mut [u8]) -> Result<(), easeoff_status> {
    let (_, text) = text.split_last_mut().ok_or(easeoff_status::NoRoom)?;
    let mut text = Text(text);
    text.words(mistake.parameter)?;
    text.words(" is ")?;
    match mistake.kind {
        SettingsErrorKind::OutOfRange { value, min, max } => {
            text.number(value)?;
            text.words("; allowed is ")?;
            text.number(min)?;
            text.words(" to ")?;
            text.number(max)
        }
        SettingsErrorKind::Contradicts { value, rule } => {
            text.number(value)?;
            text.words("; ")?;
            text.words(rule)
        }
    }
}

/// What is left to write to. The mistake's own `Display` would do, but for its floats: the standard
/// library's way to write them can panic, as far as the compiler sees.
struct Text<'t>(&'t mut [u8]);

impl Text<'_> {
    fn words(&mut self, words: &str) -> Result<(), easeoff_status> {
        let room = core::mem::take(&mut self.0);
        let count = words.len().min(room.len());
        let (now, later) = room.split_at_mut_checked(count).ok_or(easeoff_status::NoRoom)?;
        for (to, from) in now.iter_mut().zip(words.bytes()) {
            *to = from;
        }
        self.0 = later;
        if count < words.len() { Err(easeoff_status::NoRoom) } else { Ok(()) }
    }

    /// A whole number without its ".0".
    fn number(&mut self, number: f32) -> Result<(), easeoff_status> {
        let mut digits = ryu::Buffer::new();
        let digits = digits.format(number);
        self.words(digits.strip_suffix(".0").unwrap_or(digits))
    }
}
