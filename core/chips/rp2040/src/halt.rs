//! The end of everything: the bridge off, and the watchdog's restart.

use rp2040_hal::pac;

/// Opens the bridge and stays until the watchdog restarts the board, or for good where it does not
/// run yet.
pub(crate) fn halt() -> ! {
    cortex_m::interrupt::disable();
    #[expect(unsafe_code, reason = "whoever owned the register is gone")]
    // SAFETY: nothing else runs any more. A compare value of 0 keeps both outputs of the slice low;
    // stopping the slice would freeze them as they are.
    unsafe {
        (*pac::PWM::ptr()).ch(4).cc().write_with_zero(|w| w.bits(0))
    };
    loop {
        cortex_m::asm::nop();
    }
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    halt()
}
