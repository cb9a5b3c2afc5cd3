//! Controller and state in memory that C sets aside, opaque there.

use easeoff_core::{Controller, Input, Output, State};

use crate::pointer::{fit, get, put};
use crate::status::easeoff_status;

/// Size of a controller, in 8 bytes.
pub const EASEOFF_CONTROLLER_WORDS: usize = 96;

/// Size of a state, in 8 bytes.
pub const EASEOFF_STATE_WORDS: usize = 48;

/// A tune made ready by one of the easeoff_prepare functions; constant while running. Static, or set to
/// zero before first use; may be copied and moved, not changed.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct easeoff_controller {
    /// Not for the caller.
    pub opaque: [u64; EASEOFF_CONTROLLER_WORDS],
}

/// All that is remembered from tick to tick, made by easeoff_start. Static, or set to zero before first
/// use; may be copied and moved, not changed.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct easeoff_state {
    /// Not for the caller.
    pub opaque: [u64; EASEOFF_STATE_WORDS],
}

/// What a state remembers.
pub(crate) struct Run {
    pub(crate) state: State,
    /// Of the last tick, for telemetry and the law for a fast bridge.
    pub(crate) input: Input,
    /// Likewise.
    pub(crate) output: Output,
}

/// What stands in opaque memory once it was made.
#[repr(C)]
struct Made<T> {
    mark: u32,
    value: T,
}

/// Opaque memory: plain numbers, so that any bytes are valid.
pub(crate) trait Opaque: Sized {
    /// What is in it.
    type Value;
    /// Tells what was made from zeros and from each other.
    const MARK: u32;
    /// The answer while it is not made.
    const NOT_MADE: easeoff_status;
    /// It fits, on every target that this is built for.
    const FITS: () = assert!(
        size_of::<Made<Self::Value>>() <= size_of::<Self>()
            && align_of::<Made<Self::Value>>() <= align_of::<Self>(),
        "what is stored has outgrown the words that the header sets aside"
    );
}

impl Opaque for easeoff_controller {
    type Value = Controller;
    const MARK: u32 = 0x6561_7365;
    const NOT_MADE: easeoff_status = easeoff_status::NotPrepared;
}

impl Opaque for easeoff_state {
    type Value = Run;
    const MARK: u32 = 0x6f66_6673;
    const NOT_MADE: easeoff_status = easeoff_status::NotStarted;
}

const _: () = (easeoff_controller::FITS, easeoff_state::FITS).0;

/// Makes it of `value`.
///
/// # Safety
/// That of [`put`].
pub(crate) unsafe fn make<O: Opaque>(
    memory: *mut O,
    value: O::Value,
) -> Result<(), easeoff_status> {
    fit(memory)?;
    // SAFETY: it fits in size and alignment, by `FITS`; the rest is the caller's promise.
    unsafe { put(memory.cast(), Made { mark: O::MARK, value }) }
}

/// From here on it counts as not made.
///
/// # Safety
/// That of [`put`].
pub(crate) unsafe fn unmake<O: Opaque>(memory: *mut O) -> Result<(), easeoff_status> {
    fit(memory)?;
    // SAFETY: the mark comes first.
    unsafe { put(memory.cast::<u32>(), 0) }
}

/// Whether it was made.
///
/// # Safety
/// That of [`get`].
unsafe fn made<O: Opaque>(memory: *const O) -> Result<(), easeoff_status> {
    fit(memory)?;
    // SAFETY: the mark comes first; the rest is the caller's promise.
    let mark = unsafe { get(memory.cast::<u32>()) }?;
    if mark == O::MARK { Ok(()) } else { Err(O::NOT_MADE) }
}

/// What is in it.
///
/// # Safety
/// That of [`get`]; and nobody changed what was made, nor does during `'a`.
pub(crate) unsafe fn shared<'a, O: Opaque>(
    memory: *const O,
) -> Result<&'a O::Value, easeoff_status> {
    // SAFETY: it was made, by its mark; the rest is the caller's promise.
    unsafe {
        made(memory)?;
        Ok(&(*memory.cast::<Made<O::Value>>()).value)
    }
}

/// What is in it, to be changed.
///
/// # Safety
/// That of [`get`]; and nobody else changed what was made, nor uses it during `'a`.
pub(crate) unsafe fn exclusive<'a, O: Opaque>(
    memory: *mut O,
) -> Result<&'a mut O::Value, easeoff_status> {
    // SAFETY: it was made, by its mark; the rest is the caller's promise.
    unsafe {
        made(memory)?;
        Ok(&mut (*memory.cast::<Made<O::Value>>()).value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Memory set aside for nothing is dear on a small chip.
    #[test]
    fn not_much_is_set_aside_for_nothing() {
        let sizes = [
            (size_of::<Made<Controller>>(), size_of::<easeoff_controller>()),
            (size_of::<Made<Run>>(), size_of::<easeoff_state>()),
        ];
        for (needed, set_aside) in sizes {
            println!("{needed} of {set_aside} bytes");
            assert!(set_aside - needed < 48, "{needed} of {set_aside} bytes");
        }
    }
}
