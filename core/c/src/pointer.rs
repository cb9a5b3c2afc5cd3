//! Pointers from C: what can be told of them is checked, the rest is the caller's promise.

use core::slice;

use crate::status::easeoff_status;

/// Neither null nor misaligned.
pub(crate) fn fit<T>(pointer: *const T) -> Result<(), easeoff_status> {
    if pointer.is_null() {
        Err(easeoff_status::Null)
    } else if !pointer.is_aligned() {
        Err(easeoff_status::Misaligned)
    } else {
        Ok(())
    }
}

/// A copy of what stands there.
///
/// # Safety
/// A pointer that is [`fit`] points to a `T` that C has filled. Any bytes must make a `T`.
pub(crate) unsafe fn get<T: Copy>(pointer: *const T) -> Result<T, easeoff_status> {
    fit(pointer)?;
    // SAFETY: fit, and the caller's promise.
    Ok(unsafe { pointer.read() })
}

/// Puts `value` there, whatever stood there.
///
/// # Safety
/// A pointer that is [`fit`] points to room for a `T`.
pub(crate) unsafe fn put<T>(pointer: *mut T, value: T) -> Result<(), easeoff_status> {
    fit(pointer)?;
    // SAFETY: fit, and the caller's promise.
    unsafe { pointer.write(value) };
    Ok(())
}

/// `length` bytes to read.
///
/// # Safety
/// A pointer that is not null points to so many bytes, which nobody changes during `'a`.
pub(crate) unsafe fn bytes<'a>(
    pointer: *const u8,
    length: usize,
) -> Result<&'a [u8], easeoff_status> {
    fit(pointer)?;
    // SAFETY: not null, and the caller's promise.
    Ok(unsafe { slice::from_raw_parts(pointer, length) })
}

/// `length` bytes to write, all zero.
///
/// # Safety
/// A pointer that is not null points to room for so many bytes, which nobody else uses during `'a`.
pub(crate) unsafe fn room<'a>(
    pointer: *mut u8,
    length: usize,
) -> Result<&'a mut [u8], easeoff_status> {
    fit(pointer)?;
    // SAFETY: not null, and the caller's promise. What C has never written to is filled first.
    unsafe {
        pointer.write_bytes(0, length);
        Ok(slice::from_raw_parts_mut(pointer, length))
    }
}
