//! The end of everything: the bridge off, and the watchdog's restart.

use stm32f4xx_hal::pac;

/// Opens the bridge and stays until the watchdog restarts the board, or for good where it does not
/// run yet.
pub(crate) fn halt() -> ! {
    cortex_m::interrupt::disable();
    #[expect(unsafe_code, reason = "whoever owned the registers is gone")]
    // SAFETY: nothing else runs any more. A compare value of 0 keeps both outputs low.
    unsafe {
        (*pac::TIM1::ptr()).ccr1().write(|w| w.bits(0));
        (*pac::TIM1::ptr()).ccr2().write(|w| w.bits(0));
    }
    loop {
        cortex_m::asm::nop();
    }
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    halt()
}
