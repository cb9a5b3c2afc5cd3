//! Plays the tape that comes over the debugger's console, and counts what the steps take.
#![no_std]
#![no_main]

mod console;
mod count;

use cortex_m_rt::entry;
use cortex_m_semihosting::debug::{EXIT_FAILURE, EXIT_SUCCESS, exit};
use easeoff_core::Settings;
use easeoff_image as _;
use easeoff_tape::{Broken, play};

use console::Console;
use count::Counting;

#[entry]
fn main() -> ! {
    let played = Console::open().ok_or(Broken).and_then(|mut console| {
        let mut counting = Counting::new();
        play(&mut console, &mut counting, adjust)
    });
    exit(if played.is_ok() { EXIT_SUCCESS } else { EXIT_FAILURE });
    loop {
        cortex_m::asm::wfi();
    }
}

/// With `changed` the onset is a millisecond longer: the comparison with the host must find it.
#[expect(clippy::float_arithmetic, reason = "before the tune is prepared")]
fn adjust(tune: &mut Settings) {
    if cfg!(feature = "changed") {
        tune.drag.onset_ms += 1.0;
    }
}
