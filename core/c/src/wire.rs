//! The tune as a blob, and telemetry.

use easeoff_core::blob;
use easeoff_core::telemetry::{self, Frame};

use crate::pointer::{bytes, fit, get, put, room};
use crate::settings::easeoff_settings;
use crate::status::easeoff_status;
use crate::stored::{easeoff_state, shared};

/// A buffer of this size holds every blob.
pub const EASEOFF_BLOB_BYTES: usize = 512;

/// A buffer of this size holds every frame of telemetry.
pub const EASEOFF_TELEMETRY_BYTES: usize = 162;

const _: () = assert!(EASEOFF_BLOB_BYTES == blob::MOST_BYTES);
const _: () = assert!(EASEOFF_TELEMETRY_BYTES == telemetry::MOST_BYTES);

/// The most of a blob that is looked at: header, the longest body, checksum.
const MOST_READ: usize = 65_547;

/// What may be a blob.
///
/// # Safety
/// That of [`bytes`].
pub(crate) unsafe fn page<'a>(blob: *const u8, length: usize) -> Result<&'a [u8], easeoff_status> {
    // SAFETY: the caller's promise.
    unsafe { bytes(blob, length.min(MOST_READ)) }
}

/// Reads the tune at the front of `blob` into `settings`. They are not checked yet: easeoff_prepare
/// does that.
///
/// # Safety
/// Pointers are null or point to what they say.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_blob_read(
    settings: *mut easeoff_settings,
    blob: *const u8,
    length: usize,
) -> easeoff_status {
    let done = || {
        fit(settings)?;
        // SAFETY: the caller's promise.
        let read = blob::read(unsafe { page(blob, length) }?)?;
        // SAFETY: the caller's promise.
        unsafe { put(settings, read.into()) }
    };
    done().into()
}

/// Writes `settings` as a blob to the front of `buffer`, and its length to `used`. They are not checked,
/// but for choices that do not exist: EASEOFF_STATUS_BAD_SETTINGS. What follows the blob in the buffer is
/// set to zero.
///
/// # Safety
/// Pointers are null or point to what they say.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_blob_write(
    settings: *const easeoff_settings,
    buffer: *mut u8,
    length: usize,
    used: *mut usize,
) -> easeoff_status {
    let done = || {
        fit(used)?;
        // SAFETY: the caller's promise; any bytes make these settings.
        let (settings, wrong) = unsafe { get(settings) }?.read();
        if !wrong.is_empty() {
            return Err(easeoff_status::BadSettings);
        }
        // SAFETY: the caller's promise.
        let written = blob::write(&settings, unsafe { room(buffer, length) }?)?;
        // SAFETY: the caller's promise.
        unsafe { put(used, written) }
    };
    done().into()
}

/// Writes what the last easeoff_step saw and decided to the front of `buffer`, as a frame for a serial
/// line, and its length to `used`. `sequence` counts the frames and wraps; `tick` counts the ticks since
/// power-on. `notice` is what the board has to say about itself, one of EASEOFF_NOTICE_READY and its like.
/// `easeoff telemetry` makes a table of what arrives.
///
/// # Safety
/// Pointers are null or point to what they say.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_telemetry(
    state: *const easeoff_state,
    sequence: u16,
    tick: u32,
    notice: u8,
    buffer: *mut u8,
    length: usize,
    used: *mut usize,
) -> easeoff_status {
    let done = || {
        fit(used)?;
        // SAFETY: the caller's promise.
        let run = unsafe { shared(state) }?;
        let frame = Frame { status: notice, ..Frame::new(sequence, tick, &run.input, &run.output) };
        // SAFETY: the caller's promise.
        let buffer = unsafe { room(buffer, length) }?;
        let sent = telemetry::encode(&frame, buffer).map_err(|_| easeoff_status::NoRoom)?;
        // SAFETY: the caller's promise.
        unsafe { put(used, sent.len()) }
    };
    done().into()
}
