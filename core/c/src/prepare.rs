//! A tune made ready.

use easeoff_core::{Settings, TickRate, blob};

use crate::pointer::get;
use crate::settings::easeoff_settings;
use crate::status::easeoff_status;
use crate::stored::{easeoff_controller, make, unmake};
use crate::wire;

/// Makes a tune ready for `tick_hz` ticks per second, 100 to 8,000. It takes some kilobytes of stack; see the
/// book. Whatever it answers, a tune that stood here before is gone: after anything but
/// EASEOFF_STATUS_OK nothing drives.
///
/// # Safety
/// Pointers are null or point to what they say.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_prepare(
    controller: *mut easeoff_controller,
    settings: *const easeoff_settings,
    tick_hz: u32,
) -> easeoff_status {
    // SAFETY: the caller's promise; any bytes make these settings.
    unsafe {
        prepare(controller, tick_hz, || {
            let (settings, wrong) = get(settings)?.read();
            if wrong.is_empty() { Ok(settings) } else { Err(easeoff_status::BadSettings) }
        })
    }
}

/// As easeoff_prepare, with the tune that stands at the front of `blob`. What follows it, as in a flash
/// page, is not looked at.
///
/// # Safety
/// Pointers are null or point to what they say.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_prepare_blob(
    controller: *mut easeoff_controller,
    blob: *const u8,
    length: usize,
    tick_hz: u32,
) -> easeoff_status {
    // SAFETY: the caller's promise.
    unsafe { prepare(controller, tick_hz, || Ok(blob::read(wire::page(blob, length)?)?)) }
}

/// As easeoff_prepare, with the default settings.
///
/// # Safety
/// The pointer is null or points to what it says.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_prepare_default(
    controller: *mut easeoff_controller,
    tick_hz: u32,
) -> easeoff_status {
    // SAFETY: the caller's promise.
    unsafe { prepare(controller, tick_hz, || Ok(Settings::default())) }
}

/// The rate, if it is one.
pub(crate) fn rate(tick_hz: u32) -> Result<TickRate, easeoff_status> {
    let rate = u16::try_from(tick_hz).ok().and_then(TickRate::new);
    rate.ok_or(easeoff_status::BadTickRate)
}

/// # Safety
/// The pointer is null or points to what it says.
unsafe fn prepare(
    controller: *mut easeoff_controller,
    tick_hz: u32,
    settings: impl FnOnce() -> Result<Settings, easeoff_status>,
) -> easeoff_status {
    let done = || {
        // SAFETY: the caller's promise. First of all, so that an old tune is not taken for this one.
        unsafe { unmake(controller) }?;
        let rate = rate(tick_hz)?;
        let made = settings()?.prepare(rate).map_err(|_| easeoff_status::BadSettings)?;
        // SAFETY: the caller's promise.
        unsafe { make(controller, made) }
    };
    done().into()
}
