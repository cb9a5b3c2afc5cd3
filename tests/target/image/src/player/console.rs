//! The standard input and output of the debugger as a line.
//!
//! They are opened as files: of the console itself (`:tt`) QEMU 7.2 lost bytes when more came than
//! one read took.
//!
//! Source: Arm, "Semihosting for AArch32 and AArch64", the calls `SYS_OPEN`, `SYS_READ` and
//! `SYS_WRITE`.

use core::ffi::CStr;

use cortex_m_semihosting::syscall;
use easeoff_tape::{Broken, Line};

/// Few calls into the debugger, and little memory.
const ROOM: usize = 512;

/// Modes "rb" and "wb" of `SYS_OPEN`.
const READ: usize = 1;
const WRITE: usize = 5;

pub(crate) struct Console {
    input: usize,
    output: usize,
    arrived: [u8; ROOM],
    /// What of `arrived` is not yet read.
    from: usize,
    to: usize,
    leaving: [u8; ROOM],
    used: usize,
}

fn open(path: &CStr, mode: usize) -> Option<usize> {
    #[expect(unsafe_code, reason = "a call to the debugger")]
    // SAFETY: the block is laid out as `SYS_OPEN` wants it and outlives the call.
    let handle = unsafe { syscall!(OPEN, path.as_ptr(), mode, path.count_bytes()) };
    (handle != usize::MAX).then_some(handle)
}

impl Console {
    pub(crate) fn open() -> Option<Self> {
        Some(Self {
            input: open(c"/dev/stdin", READ)?,
            output: open(c"/dev/stdout", WRITE)?,
            arrived: [0; ROOM],
            from: 0,
            to: 0,
            leaving: [0; ROOM],
            used: 0,
        })
    }

    /// Waits for at least a byte.
    fn refill(&mut self) -> Result<(), Broken> {
        self.flush()?;
        #[expect(unsafe_code, reason = "a call to the debugger")]
        // SAFETY: the debugger writes no more than the stated length.
        let missing = unsafe { syscall!(READ, self.input, self.arrived.as_mut_ptr(), ROOM) };
        (self.from, self.to) = (0, ROOM.saturating_sub(missing));
        if self.to == 0 { Err(Broken) } else { Ok(()) }
    }
}

impl Line for Console {
    fn read(&mut self, bytes: &mut [u8]) -> Result<(), Broken> {
        for byte in bytes {
            if self.from == self.to {
                self.refill()?;
            }
            *byte = self.arrived.get(self.from).copied().ok_or(Broken)?;
            self.from = self.from.saturating_add(1);
        }
        Ok(())
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), Broken> {
        for byte in bytes {
            if self.used == ROOM {
                self.flush()?;
            }
            *self.leaving.get_mut(self.used).ok_or(Broken)? = *byte;
            self.used = self.used.saturating_add(1);
        }
        Ok(())
    }

    fn flush(&mut self) -> Result<(), Broken> {
        if self.used == 0 {
            return Ok(());
        }
        #[expect(unsafe_code, reason = "a call to the debugger")]
        // SAFETY: `used` bytes of `leaving` are there to be read.
        let left = unsafe { syscall!(WRITE, self.output, self.leaving.as_ptr(), self.used) };
        self.used = 0;
        if left == 0 { Ok(()) } else { Err(Broken) }
    }
}
