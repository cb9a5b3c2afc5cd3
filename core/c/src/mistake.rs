//! What is wrong with settings, in words.

use core::ffi::c_char;
use core::fmt::{self, Write};

use easeoff_core::SettingsError;

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
        tell(mistake, text).map_err(|_| easeoff_status::NoRoom)
    };
    done().into()
}

/// Leaves a zero at the end; `text` is all zero before.
fn tell(mistake: &SettingsError, text: &mut [u8]) -> fmt::Result {
    let (_, text) = text.split_last_mut().ok_or(fmt::Error)?;
    write!(Text(text), "{mistake}")
}

/// What is left to write to.
struct Text<'t>(&'t mut [u8]);

impl Write for Text<'_> {
    fn write_str(&mut self, words: &str) -> fmt::Result {
        let room = core::mem::take(&mut self.0);
        let count = words.len().min(room.len());
        let (now, later) = room.split_at_mut_checked(count).ok_or(fmt::Error)?;
        for (to, from) in now.iter_mut().zip(words.bytes()) {
            *to = from;
        }
        self.0 = later;
        if count < words.len() { Err(fmt::Error) } else { Ok(()) }
    }
}
